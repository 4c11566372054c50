//! The keys that say in which system a raster or a cloud stands.
//!
//! Source: OGC 19-008 (GeoTIFF 1.1), annex D: numbers of the keys.

use std::collections::BTreeMap;

const MODEL_TYPE: u16 = 1024;
const RASTER_TYPE: u16 = 1025;
const CITATIONS: [u16; 3] = [3073, 1026, 2049];
const GEOGRAPHIC_SYSTEM: u16 = 2048;
const PROJECTED_SYSTEM: u16 = 3072;
const VERTICAL_UNIT: u16 = 4099;
/// The place of the tag with texts.
const TEXTS: u16 = 34737;

/// What a geographic model is, and a raster whose values belong to nodes.
const GEOGRAPHIC: u16 = 2;
const VALUES_AT_NODES: u16 = 2;

/// Values of geo keys: numbers and texts by key.
#[derive(Debug, Clone, PartialEq, Default)]
pub(in crate::io::read) struct GeoKeys {
    numbers: BTreeMap<u16, u16>,
    texts: BTreeMap<u16, String>,
}

impl GeoKeys {
    /// From the directory (four words a key, the first four about itself) and the texts it points into. Of a key that
    /// stands there twice the first counts.
    pub(in crate::io::read) fn new(words: &[u16], texts: &str) -> Self {
        let mut keys = Self::default();
        for entry in words.get(4..).unwrap_or_default().chunks_exact(4) {
            let (key, place, count, value) = (entry[0], entry[1], usize::from(entry[2]), entry[3]);
            if place == 0 {
                keys.numbers.entry(key).or_insert(value);
            } else if place == TEXTS {
                let text = texts.get(usize::from(value)..).map(|rest| rest.get(..count).unwrap_or(rest));
                let text = text.unwrap_or_default().trim_end_matches(['|', '\0', ' ']).to_owned();
                keys.texts.entry(key).or_insert(text);
            }
        }
        keys
    }

    /// With the system of another image of the same file, where these keys name none; whether values are nodes each says for itself.
    pub(in crate::io::read) fn in_system_of(mut self, first: &Self) -> Self {
        if !self.numbers.contains_key(&MODEL_TYPE) {
            let numbers = first.numbers.iter().filter(|(key, _)| **key != RASTER_TYPE);
            for (&key, &value) in numbers {
                self.numbers.entry(key).or_insert(value);
            }
            for (&key, text) in &first.texts {
                self.texts.entry(key).or_insert_with(|| text.clone());
            }
        }
        self
    }

    /// True when coordinates are longitude and latitude.
    pub(in crate::io::read) fn is_geographic(&self) -> bool {
        self.numbers.get(&MODEL_TYPE) == Some(&GEOGRAPHIC)
    }

    /// True when values belong to nodes, false when to the middles of cells, which is the default.
    pub(in crate::io::read) fn values_are_nodes(&self) -> bool {
        self.numbers.get(&RASTER_TYPE) == Some(&VALUES_AT_NODES)
    }

    /// The code of the projected system, or of the geographic one where there is none; 32767 is a system of the file's own,
    /// without a code.
    pub(in crate::io::read) fn code(&self) -> Option<String> {
        let system = self.numbers.get(&PROJECTED_SYSTEM).or_else(|| self.numbers.get(&GEOGRAPHIC_SYSTEM));
        system.filter(|code| (1024..32767).contains(*code)).map(|code| format!("EPSG:{code}"))
    }

    /// The definition of a projected system of the file's own, where a citation holds one as WKT.
    pub(in crate::io::read) fn definition(&self) -> Option<&str> {
        CITATIONS.iter().filter_map(|key| self.texts.get(key)).find_map(|text| {
            let start = ["PROJCS[", "PROJCRS["].iter().find_map(|word| text.find(word))?;
            Some(&text[start..])
        })
    }

    /// The code of the unit of heights (9001 metre, 9002 foot, 9003 US survey foot).
    pub(in crate::io::read) fn vertical_unit(&self) -> Option<u16> {
        self.numbers.get(&VERTICAL_UNIT).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::GeoKeys;

    #[test]
    fn codes_texts_and_the_first_of_two() {
        let words = [1, 1, 0, 4, 1024, 0, 1, 1, 3072, 0, 1, 32755, 3072, 0, 1, 2154, 3073, 34737, 6, 3];
        let keys = GeoKeys::new(&words, "ab|PROJCS[x]|");
        assert_eq!(keys.code().as_deref(), Some("EPSG:32755"));
        assert_eq!(keys.definition(), None, "cut where the key says");
        assert!(!keys.is_geographic() && !keys.values_are_nodes());
        // A system of the file's own on a known datum is not in degrees.
        let own = [1, 1, 0, 4, 2048, 0, 1, 4152, 3072, 0, 1, 32767, 1025, 0, 1, 2, 3073, 34737, 10, 3];
        let keys = GeoKeys::new(&own, "ab|PROJCS[x]|");
        assert_eq!((keys.code(), keys.definition()), (None, Some("PROJCS[x]")));
        assert!(keys.values_are_nodes());
    }

    #[test]
    fn keys_that_point_nowhere_are_empty() {
        let keys = GeoKeys::new(&[1, 1, 0, 9, 3073, 34737, 900, 900, 3072], "short");
        assert_eq!((keys.code(), keys.definition()), (None, None));
        assert_eq!(GeoKeys::new(&[], ""), GeoKeys::default());
    }
}

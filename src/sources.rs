//! Every published document that a number, a formula or a format comes from.
//!
//! Invariant: an entry is cited where it is used, as `sources::NAME` or by its id in a comment, and listed in
//! `docs/sources.md`; `tests/architecture.rs` holds both. A number without an entry is marked "common practice, no
//! source" where it stands.

/// How well a document is known to us.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The passage was read in the document itself.
    Read,
    /// The passage was read in another text that quotes it.
    Secondary,
    /// Known, but the passage was not at hand when it was used.
    FromMemory,
}

impl Standing {
    /// In words, as `docs/sources.md` writes it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Secondary => "secondary",
            Self::FromMemory => "from memory",
        }
    }
}

/// A published document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Short stable name, lower case with hyphens, unique.
    pub id: &'static str,
    /// Its title, with edition, part or section.
    pub title: &'static str,
    /// Author or publisher.
    pub publisher: &'static str,
    /// Year of the edition.
    pub year: u16,
    /// What is taken from it.
    pub used_for: &'static str,
    /// How well it is known.
    pub standing: Standing,
}

macro_rules! sources {
    ($($(#[$doc:meta])* $name:ident = $id:literal, $title:literal, $publisher:literal, $year:literal, $used_for:literal, $standing:ident;)*) => {
        $(
            $(#[$doc])*
            pub const $name: Source = Source {
                id: $id,
                title: $title,
                publisher: $publisher,
                year: $year,
                used_for: $used_for,
                standing: Standing::$standing,
            };
        )*

        /// All entries, in the order of this file.
        pub const ALL: &[(&str, Source)] = &[$((stringify!($name), $name)),*];
    };
}

sources! {
    /// The international foot.
    SP_811 = "sp-811", "Special Publication 811, Guide for the Use of the International System of Units, appendix B",
        "NIST", 2008, "the international foot, 0.3048 m exactly", FromMemory;
    /// The US survey foot and its end.
    SURVEY_FOOT_NOTICE = "85-fr-62698", "Deprecation of the United States (U.S.) Survey Foot, 85 FR 62698",
        "NIST and NOAA, Federal Register", 2020, "the US survey foot, 1200/3937 m exactly", Read;
    /// Worked examples of map projections.
    GUIDANCE_7_2 = "iogp-373-7-2", "Geomatics guidance note 7 part 2, Coordinate conversions and transformations",
        "IOGP", 2024, "check values of projections", Secondary;
    /// Test points for map projections.
    GIGS = "gigs", "Report 430, Geospatial integrity of geoscience software, test dataset 2.1", "IOGP", 2022,
        "check values of projections in metres and US survey feet", Read;
    /// Fix quality codes of receivers.
    NMEA_GGA = "nmea-gga", "NMEA 0183, sentence GGA, field 6, as read in public decoders", "NMEA", 2018,
        "which quality number means fixed, float or coarse", Secondary;
    /// GeoJSON.
    RFC_7946 = "rfc-7946", "RFC 7946, The GeoJSON Format", "IETF", 2016,
        "longitude and latitude in WGS 84, ring direction, what a third coordinate means", Read;
    /// GeoPackage.
    GEOPACKAGE = "ogc-12-128", "12-128r19, GeoPackage Encoding Standard 1.4", "OGC", 2024,
        "tables, geometry header, spatial index", FromMemory;
    /// LandXML.
    LANDXML = "landxml-1.2", "LandXML 1.2 schema", "LandXML.org", 2008,
        "surfaces, alignments and points, text order north east elevation", Read;
    /// KML.
    KML = "ogc-12-007", "12-007r2, OGC KML 2.3", "OGC", 2015, "stakes for a map on a telephone", FromMemory;
    /// LAS.
    LAS = "las-1.4", "LAS Specification 1.4 R15", "ASPRS", 2019, "ground is class 2", FromMemory;
    /// Swell and shrinkage factors.
    FM_5_434 = "fm-5-434", "FM 5-434, Earthmoving Operations, table 1-1", "US Department of the Army", 2000,
        "bank, loose and compacted volumes of sand, loam and clay", FromMemory;
    /// Settlement of rolled fill.
    CODE_378 = "nrcs-378", "Conservation Practice Standard 378, Pond", "USDA NRCS", 2015,
        "at least 5 % settlement of rolled fill", FromMemory;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_unique_and_plain() {
        let mut ids: Vec<&str> = ALL.iter().map(|(_, source)| source.id).collect();
        ids.sort_unstable();
        let count = ids.len();
        ids.dedup();
        assert_eq!(ids.len(), count, "an id stands twice");
        for id in ids {
            assert!(
                id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "-.".contains(c)),
                "id `{id}` is not lower case with hyphens"
            );
        }
    }
}

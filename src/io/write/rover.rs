//! Points for a rover: short name, northing, easting, design elevation, short description; no header, no quotes.
//!
//! Data collectors differ in what they swallow, so the file keeps to what all of them read: names of at most 8 letters
//! and digits, descriptions of at most 16 plain characters without commas, one point a line (common practice, no
//! source). Coordinates in the job's frame and unit.

use super::{WriteError, atomic};
use crate::frame::SiteFrame;
use crate::geom::Point;
use crate::units;
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;

/// Most characters of a point's name.
pub const NAME_LENGTH: usize = 8;
/// Most characters of a description.
pub const DESCRIPTION_LENGTH: usize = 16;

/// A point to walk to.
#[derive(Debug, Clone, PartialEq)]
pub struct RoverPoint {
    /// Its name.
    pub id: String,
    /// Where, local metres.
    pub place: Point,
    /// Design elevation, metres.
    pub elevation: f64,
    /// What it is.
    pub description: String,
}

/// Writes the points in their order. A name that would be cut to one already there gets a number at its end.
///
/// # Errors
/// [`WriteError::File`].
pub fn write(path: &Path, points: &[RoverPoint], frame: &SiteFrame) -> Result<(), WriteError> {
    let mut names = BTreeSet::new();
    let mut text = String::new();
    for point in points {
        let (easting, northing) = frame.to_frame(point.place);
        let elevation = frame.elevation_to_frame(point.elevation);
        let _ = writeln!(
            text,
            "{},{},{},{},{}",
            short_name(&point.id, &mut names),
            units::metres(northing, 3),
            units::metres(easting, 3),
            units::metres(elevation, 3),
            short_description(&point.description)
        );
    }
    atomic::write(path, text.as_bytes())
}

fn short_name(id: &str, taken: &mut BTreeSet<String>) -> String {
    let kept: String = id.chars().filter(char::is_ascii_alphanumeric).collect();
    let mut name: String = kept.chars().take(NAME_LENGTH).collect();
    let mut count = 1;
    while name.is_empty() || !taken.insert(name.clone()) {
        let number = count.to_string();
        name = kept.chars().take(NAME_LENGTH - number.len()).collect::<String>() + &number;
        count += 1;
    }
    name
}

fn short_description(text: &str) -> String {
    let plain = text.chars().map(|c| if c.is_ascii_graphic() && c != ',' && c != '"' { c } else { ' ' });
    let plain: String = plain.collect();
    let joined = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    if joined.len() <= DESCRIPTION_LENGTH {
        return joined;
    }
    // Whole words, as long as two are left: what the point is and of which work.
    let cut = &joined[..DESCRIPTION_LENGTH];
    let whole = if joined.as_bytes()[DESCRIPTION_LENGTH] == b' ' {
        cut
    } else {
        cut.rsplit_once(' ').map_or("", |kept| kept.0)
    };
    if whole.contains(' ') { whole.to_owned() } else { cut.trim_end().to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::LengthUnit;

    #[test]
    fn names_and_descriptions_are_what_every_collector_reads() {
        let frame = SiteFrame {
            crs: "local".into(),
            name: "site grid".into(),
            height: String::new(),
            unit: LengthUnit::Metres,
            origin: Point::new(1000.0, 2000.0),
            combined_factor: 1.0,
        };
        let point = |id: &str, description: &str| RoverPoint {
            id: id.into(),
            place: Point::new(1.5, 2.25),
            elevation: 431.25,
            description: description.into(),
        };
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("rover-sill.csv");
        let points = [
            point("U040", "CUT 0.42, bed"),
            point("upper-swale-1", "sill"),
            point("upper-swale-2", "a long word or two \u{e9}"),
            point("D040", "crest house drain"),
            point("D041", "bed northern-boundary-drain"),
        ];
        write(&path, &points, &frame).unwrap();
        assert_eq!(
            std::fs::read_to_string(path).unwrap(),
            "U040,2002.250,1001.500,431.250,CUT 0.42 bed\nupperswa,2002.250,1001.500,431.250,sill\n\
             uppersw1,2002.250,1001.500,431.250,a long word or\n\
             D040,2002.250,1001.500,431.250,crest house\nD041,2002.250,1001.500,431.250,bed northern-bou\n"
        );
    }
}

//! The names and places of a run's own lists, `stakes.csv` and `asbuilt-shots.csv`.
//!
//! Columns are found by their titles: the name is the first, `easting_` and `northing_` are in the frame's unit, `kind` (of a
//! stake) or `code` (of a shot to take) says what a staff there stands on.

use super::ReadError;
use crate::asbuilt::NamedPlace;
use crate::frame::SiteFrame;
use crate::stakeout::StakeKind;
use crate::survey::Role;

const ACCEPTED: &str = "a list as a run leaves it, with a name, an easting and a northing on each line";

/// Reads a list.
///
/// # Errors
/// [`ReadError`] when it is none of a run's own.
pub fn parse(bytes: &[u8], name: &str, frame: &SiteFrame) -> Result<Vec<NamedPlace>, ReadError> {
    let mut reader = csv::Reader::from_reader(bytes);
    let fault = |line: u64, column: u64, found: String| ReadError::Fault {
        path: name.to_owned(),
        line,
        column,
        found,
        accepted: ACCEPTED.to_owned(),
    };
    let titles = reader.headers().map_err(|error| fault(1, 0, error.to_string()))?.clone();
    let starting = |start: &str| titles.iter().position(|title| title.starts_with(start));
    let (Some(easting), Some(northing)) = (starting("easting_"), starting("northing_")) else {
        return Err(fault(1, 0, "a header without easting and northing".to_owned()));
    };
    let (kind, code) = (starting("kind"), starting("code"));
    let mut places = Vec::new();
    for row in reader.records() {
        let row = row.map_err(|error| fault(error.position().map_or(0, csv::Position::line), 0, error.to_string()))?;
        let line = row.position().map_or(0, csv::Position::line);
        let number = |at: usize| {
            let text = row.get(at).unwrap_or_default();
            text.parse::<f64>()
                .ok()
                .filter(|value| value.is_finite())
                .ok_or_else(|| fault(line, at as u64 + 1, format!("`{text}`")))
        };
        let word = |at: Option<usize>| at.and_then(|at| row.get(at));
        let stake = match word(kind) {
            Some("line") => Some(StakeKind::Line),
            Some("offset") => Some(StakeKind::Offset),
            Some("sill") => Some(StakeKind::Sill),
            Some("crest") => Some(StakeKind::Crest),
            _ => None,
        };
        let role =
            stake.map(NamedPlace::role_at).or_else(|| word(code).and_then(Role::from_name)).unwrap_or(Role::Built);
        places.push(NamedPlace {
            name: row.get(0).unwrap_or_default().to_owned(),
            place: frame.to_local(number(easting)?, number(northing)?),
            role,
        });
    }
    Ok(places)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;
    use crate::units::LengthUnit;

    fn frame(unit: LengthUnit) -> SiteFrame {
        SiteFrame {
            crs: "local".into(),
            name: "site grid".into(),
            height: "site datum".into(),
            unit,
            origin: Point::new(100.0, 200.0),
            combined_factor: 1.0,
        }
    }

    #[test]
    fn both_lists_give_names_places_and_what_stands_there() {
        let stakes = "stake,works,kind,station_m,easting_m,northing_m\nU000,upper,line,0,110.0,220.5\nUS1,upper,sill,1,111.0,221.0\nO020,upper,offset,20,1.0,2.0\n";
        let read = parse(stakes.as_bytes(), "stakes.csv", &frame(LengthUnit::Metres)).unwrap();
        assert_eq!(read[0], NamedPlace { name: "U000".into(), place: Point::new(10.0, 20.5), role: Role::Built });
        assert_eq!((read[1].role, read[2].role), (Role::Sill, Role::Ground));
        let shots = "shot,part,easting_ft,northing_ft,code\nUAC000,crest,1000.000,1000.000,crest\nUAT1,section,1000,1000,built\n";
        let read = parse(shots.as_bytes(), "asbuilt-shots.csv", &frame(LengthUnit::Feet)).unwrap();
        assert!(read[0].place.distance(Point::new(204.8, 104.8)) < 1e-9, "{:?}", read[0]);
        assert_eq!((read[0].role, read[1].role), (Role::Crest, Role::Built));
    }

    #[test]
    fn anything_else_is_refused_with_its_place() {
        let frame = frame(LengthUnit::Metres);
        let told = |text: &str| parse(text.as_bytes(), "stakes.csv", &frame).unwrap_err().to_string();
        assert!(told("a,b\n1,2\n").contains("stakes.csv:1"), "{}", told("a,b\n1,2\n"));
        let text = told("stake,easting_m,northing_m\nU0,1,2\nU1,x,2\n");
        assert!(text.contains("stakes.csv:3:2") && text.contains("`x`"), "{text}");
        assert!(told("stake,easting_m,northing_m\nU0,1\n").contains("stakes.csv:2"));
    }
}

//! The elevation at which a work stands full, found on the ground from what was asked for.

use super::WorksError;
use super::wanted::{Thing, ThingHeight, WaterLevel};
use super::work::{Kind, Subject};
use crate::geom::Point;
use crate::notes::Note;
use crate::surface::Locator;
use crate::units::Elevation;

/// The level asked for, and a note that says what it comes from.
pub(super) fn find(
    asked: &WaterLevel,
    natural: &Locator<'_>,
    works: &Subject,
    notes: &mut Vec<Note>,
) -> Result<Elevation, WorksError> {
    let full = if works.kind == Kind::Dam { "full supply" } else { "the water level" };
    let (level, from) = match asked {
        WaterLevel::Elevation(level) => return Ok(*level),
        WaterLevel::Through { place, what, shot_elevation } => {
            let ground = ground_at(*place, what, natural, works)?;
            let beside = shot_elevation.map_or_else(String::new, |z| format!(" (the shot itself reads {z:.3} m)"));
            (ground, format!("the ground at {what}, {ground:.3} m{beside}"))
        }
        WaterLevel::Off { above, thing } => {
            let stands = height_of(thing, natural, works)?;
            let (above, level) = (above.in_metres(), stands + above.in_metres());
            let side = if above < 0.0 { "below" } else { "above" };
            let ground = match (&thing.height, thing.place.and_then(|place| natural.elevation(place))) {
                (ThingHeight::Known(_), Some(ground)) => format!(" (the ground there stands at {ground:.3} m)"),
                _ => String::new(),
            };
            let what = &thing.what;
            (level, format!("{level:.3} m, {:.3} m {side} {what} at {stands:.3} m{ground}", above.abs()))
        }
    };
    notes.push(Note::new("works::water-level", format!("{works}: {full} is {from}")));
    Ok(Elevation::metres(level))
}

fn height_of(thing: &Thing, natural: &Locator<'_>, works: &Subject) -> Result<f64, WorksError> {
    match (&thing.height, thing.place) {
        (ThingHeight::Known(elevation), _) => Ok(elevation.in_metres()),
        (ThingHeight::Level(level), _) => Ok(find(level, natural, works, &mut Vec::new())?.in_metres()),
        (ThingHeight::Ground, Some(place)) => ground_at(place, &thing.what, natural, works),
        (ThingHeight::Ground, None) => Err(off(&thing.what, works)),
    }
}

fn ground_at(place: Point, what: &str, natural: &Locator<'_>, works: &Subject) -> Result<f64, WorksError> {
    natural.elevation(place).ok_or_else(|| off(what, works))
}

fn off(what: &str, works: &Subject) -> WorksError {
    WorksError::PlaceOffSurvey { works: works.clone(), what: what.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::super::tests::hillside;
    use super::*;
    use crate::units::Length;

    /// A hillside that falls 4 % to the south, 430 m at y = 0.
    fn found(asked: &WaterLevel, kind: Kind) -> Result<(f64, String), WorksError> {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let mut notes = Vec::new();
        let level = find(asked, &ground.locator(), &Subject::new(kind, "upper"), &mut notes)?;
        Ok((level.in_metres(), notes.pop().map(|note| note.text).unwrap_or_default()))
    }

    fn off(above: f64, height: ThingHeight, place: Option<Point>) -> WaterLevel {
        let thing = Thing { what: "shot day1.csv:41".to_owned(), place, height };
        WaterLevel::Off { above: Length::metres(above), thing }
    }

    #[test]
    fn a_level_below_a_thing_is_measured_from_the_thing_and_not_from_the_ground_under_it() {
        let trough = Some(Point::new(50.0, 50.0));
        let (level, said) =
            found(&off(-0.3, ThingHeight::Known(Elevation::metres(432.65)), trough), Kind::Swale).unwrap();
        assert!((level - 432.35).abs() < 1e-12);
        assert_eq!(
            said,
            "swale `upper`: the water level is 432.350 m, 0.300 m below shot day1.csv:41 at 432.650 m (the ground there stands at 432.000 m)"
        );
        // The thing may stand off the survey: its height is known all the same.
        let far = Some(Point::new(900.0, 50.0));
        let (level, said) = found(&off(0.5, ThingHeight::Known(Elevation::metres(431.0)), far), Kind::Dam).unwrap();
        assert_eq!(level, 431.5);
        assert_eq!(said, "dam `upper`: full supply is 431.500 m, 0.500 m above shot day1.csv:41 at 431.000 m");
    }

    #[test]
    fn a_level_below_the_ground_or_another_work_follows_them() {
        let place = Some(Point::new(50.0, 50.0));
        assert!((found(&off(-1.0, ThingHeight::Ground, place), Kind::Swale).unwrap().0 - 431.0).abs() < 1e-9);
        let upper = off(-0.4, ThingHeight::Ground, place);
        let lower = off(-1.2, ThingHeight::Level(Box::new(upper)), place);
        assert!((found(&lower, Kind::Swale).unwrap().0 - 430.4).abs() < 1e-9);
        let far = Some(Point::new(900.0, 50.0));
        assert!(matches!(
            found(&off(-1.0, ThingHeight::Ground, far), Kind::Swale),
            Err(WorksError::PlaceOffSurvey { .. })
        ));
    }
}

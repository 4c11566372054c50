//! The elevation at which a work stands full, found on the ground from what was asked for.
//!
//! A level that is to catch so much ground is looked for from the top down in even steps, and between the first step that does and
//! the one before it by halving, to a millimetre. It is the highest of those looked at: where a line catches enough only within
//! less than a step, that is passed over.

use super::WorksError;
use super::line::{Room, trace};
use super::reach::reach;
use super::spacing;
use super::trial::{self, Level};
use super::wanted::{SwaleLevel, SwaleWanted, Thing, ThingHeight, WaterLevel};
use super::work::{Kind, Subject};
use crate::geom::{Point, Polyline};
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::{Catchment, Drainage, Locator};
use crate::units::{Area, Elevation};

/// Steps from the highest ground to the lowest in which a line that catches enough is looked for.
const STEPS: i64 = 64;

/// The water level of a swale, and a note that says what it comes from.
pub(super) fn of_swale(
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
    notes: &mut Vec<Note>,
) -> Result<Level, WorksError> {
    let works = Subject::new(Kind::Swale, &wanted.name);
    let level = match &wanted.water_level {
        SwaleLevel::From(level) => find(level, ground, natural, &works, notes)?,
        SwaleLevel::ToCatch { area, .. } => to_catch(*area, ground, natural, wanted, notes)?,
        SwaleLevel::Below { spacing, upper } => {
            let level = of_swale(ground, natural, upper, &mut Vec::new())?.level;
            spacing::below(*spacing, (upper, level), ground, natural, wanted, notes)?
        }
        SwaleLevel::Place(asked) => return trial::place(asked, ground, natural, wanted, notes),
    };
    Ok(Level { level, trials: Vec::new() })
}

/// The highest level at which the line of a swale catches so much ground.
fn to_catch(
    area: Area,
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
    notes: &mut Vec<Note>,
) -> Result<Elevation, WorksError> {
    let (asked, swale) = (area.in_square_metres(), wanted.name.clone());
    let (drainage, reach) = (Drainage::new(natural), reach(wanted)?);
    let caught = |millimetres: i64| -> Option<(Polyline, Catchment)> {
        let line =
            trace(ground, natural, wanted, metres(millimetres), (reach, Room::AtEnds), &mut Vec::new()).ok()?.line;
        let catchment = drainage.to_line(&line);
        Some((line, catchment))
    };
    let Some((lowest, highest)) = ground.tin.elevation_range() else {
        return Err(WorksError::CannotCatch { swale, wanted: asked, most: 0.0, level: f64::NAN });
    };
    #[expect(clippy::cast_possible_truncation, reason = "millimetres of an elevation")]
    let (bottom, top) = ((lowest * 1000.0).ceil() as i64, (highest * 1000.0).floor() as i64);
    let (mut most, mut most_at) = (0.0, top);
    let mut found = None;
    for step in 1..=STEPS {
        let (before, level) = (top - (top - bottom) * (step - 1) / STEPS, top - (top - bottom) * step / STEPS);
        let Some((line, catchment)) = caught(level) else { continue };
        if catchment.area >= asked {
            found = Some((before, level, line, catchment));
            break;
        }
        if catchment.area > most {
            (most, most_at) = (catchment.area, level);
        }
    }
    let Some((mut above, mut level, mut line, mut catchment)) = found else {
        return Err(WorksError::CannotCatch { swale, wanted: asked, most, level: metres(most_at) });
    };
    while above - level > 1 {
        let middle = i64::midpoint(above, level);
        match caught(middle) {
            Some(higher) if higher.1.area >= asked => (level, (line, catchment)) = (middle, higher),
            _ => above = middle,
        }
    }
    let level = metres(level);
    let hollows = drainage.to_hollows_above(level);
    let hollows = if hollows >= 1.0 {
        format!("; {hollows:.0} m2 of ground above this level drain into hollows and are not counted")
    } else {
        String::new()
    };
    let open = if catchment.open >= 1.0 {
        format!(
            "; more may come in over the edge of the survey, {:.0} m wide across the flow: what lies beyond is not known",
            catchment.open
        )
    } else {
        "; all of it lies within the survey".to_owned()
    };
    let near = wanted.water_level.place().map_or_else(String::new, |near| {
        let foot = line.foot(near);
        let (away, station) = (foot.point.distance(near), foot.station);
        format!("; the place said as `near` lies {away:.1} m from it, at its station {station:.1} m")
    });
    notes.push(Note::new(
        "works::to-catch",
        format!(
            "swale `{swale}`: the water level {level:.3} m is the highest at which its line catches {asked:.0} m2: {:.1} m long, it takes {:.0} m2 of surveyed ground, by steepest descent over the triangles{open}{hollows}{near}",
            line.length(),
            catchment.area
        ),
    ));
    Ok(Elevation::metres(level))
}

#[expect(clippy::cast_precision_loss, reason = "millimetres of an elevation")]
fn metres(millimetres: i64) -> f64 {
    millimetres as f64 / 1000.0
}

/// The level asked for, and a note that says what it comes from.
pub(super) fn find(
    asked: &WaterLevel,
    ground: &Ground,
    natural: &Locator<'_>,
    works: &Subject,
    notes: &mut Vec<Note>,
) -> Result<Elevation, WorksError> {
    let full = if works.kind == Kind::Dam { "full supply" } else { "the water level" };
    let (level, from) = match asked {
        WaterLevel::Elevation(level) => return Ok(*level),
        WaterLevel::Through { place, what, shot_elevation } => {
            let ground = ground_at(*place, what, (ground, natural), works)?;
            let beside = shot_elevation.map_or_else(String::new, |z| format!(" (the shot itself reads {z:.3} m)"));
            (ground, format!("the ground at {what}, {ground:.3} m{beside}"))
        }
        WaterLevel::Off { above, thing } => {
            let stands = height_of(thing, ground, natural, works)?;
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

fn height_of(thing: &Thing, ground: &Ground, natural: &Locator<'_>, works: &Subject) -> Result<f64, WorksError> {
    let untold = &mut Vec::new();
    match (&thing.height, thing.place) {
        (ThingHeight::Known(elevation), _) => Ok(elevation.in_metres()),
        (ThingHeight::Level(level), _) => Ok(find(level, ground, natural, works, untold)?.in_metres()),
        (ThingHeight::Swale(swale), _) => Ok(of_swale(ground, natural, swale, untold)?.level.in_metres()),
        (ThingHeight::Ground, Some(place)) => ground_at(place, &thing.what, (ground, natural), works),
        (ThingHeight::Ground, None) => Err(off(&thing.what, works, "off the survey".to_owned())),
    }
}

fn ground_at(
    place: Point,
    what: &str,
    (ground, natural): (&Ground, &Locator<'_>),
    works: &Subject,
) -> Result<f64, WorksError> {
    natural.elevation(place).ok_or_else(|| off(what, works, ground.beyond(place)))
}

fn off(what: &str, works: &Subject, beyond: String) -> WorksError {
    WorksError::PlaceOffSurvey { works: works.clone(), what: what.to_owned(), beyond }
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
        let level = find(asked, &ground, &ground.locator(), &Subject::new(kind, "upper"), &mut notes)?;
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

    fn to_catch(area: f64, between: Option<(Point, Point)>, ground: &Ground) -> Result<(f64, String), WorksError> {
        let asked = SwaleWanted {
            water_level: SwaleLevel::ToCatch { area: Area::square_metres(area), near: None },
            between,
            ..super::super::tests::wanted()
        };
        let mut notes = Vec::new();
        let level = of_swale(ground, &ground.locator(), &asked, &mut notes)?;
        Ok((level.level.in_metres(), notes.pop().unwrap().text))
    }

    /// A line of 80 m on a hillside of 4 % takes 80 m x the way up to the rim: 2000 m2 lie above it 25 m below the rim, at 433 m.
    #[test]
    fn a_level_to_catch_an_area_is_the_highest_that_does() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let between = Some((Point::new(60.0, 75.0), Point::new(140.0, 75.0)));
        let (level, said) = to_catch(2000.0, between, &ground).unwrap();
        assert!((433.0 - level) < 0.0011 && level <= 433.0, "{level}");
        assert!(said.contains("it takes 200") && said.contains("80 m wide across the flow"), "{said}");
        let error = to_catch(9000.0, between, &ground).unwrap_err();
        let WorksError::CannotCatch { most, .. } = error else { panic!("{error}") };
        assert!(most > 6000.0 && most < 8000.0, "{most}: the section leaves some metres of the survey below the line");
    }

    #[test]
    fn the_place_that_a_line_is_to_be_near_is_told_with_its_distance() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let asked = SwaleWanted {
            water_level: SwaleLevel::ToCatch { area: Area::square_metres(2000.0), near: Some(Point::new(100.0, 63.0)) },
            between: Some((Point::new(60.0, 75.0), Point::new(140.0, 75.0))),
            ..super::super::tests::wanted()
        };
        let mut notes = Vec::new();
        of_swale(&ground, &ground.locator(), &asked, &mut notes).unwrap();
        // The line lies at y = 75, as the test above has it.
        let said = &notes.last().unwrap().text;
        assert!(said.contains("the place said as `near` lies 12.0 m from it, at its station 4"), "{said}");
    }

    /// A ring round a hill takes all inside it: pi r^2, less what the chords of the triangles cut off; and nothing from outside.
    #[test]
    fn a_ring_round_a_hill_catches_what_is_inside_it() {
        let ground = hillside(4, |x, y| 440.0 - 0.1 * (x - 100.0).hypot(y - 50.0));
        let (level, said) = to_catch(std::f64::consts::PI * 400.0, None, &ground).unwrap();
        assert!((level - 438.0).abs() < 0.05, "{level}");
        assert!(said.ends_with("all of it lies within the survey"), "{said}");
    }

    /// What a valley brings counts: sides of 5 % and a valley of 2 %, so 20 m either side of it take far more than a strip.
    #[test]
    fn a_line_across_a_valley_is_set_higher_for_what_the_valley_brings() {
        let ground = hillside(10, |x, y| 430.0 + 0.02 * y + 0.05 * (x - 100.0).abs());
        let between = Some((Point::new(80.0, 10.0), Point::new(120.0, 10.0)));
        // At the line through (100, 60), as the drainage's own test reckons it, on a valley that the nudged grid frays a little.
        let (level, said) = to_catch(14_440.0, between, &ground).unwrap();
        assert!((level - 431.2).abs() < 0.1, "{level}: {said}");
    }
}

//! Where in the pipeline file the thing stands that cannot be made: a design's error, told at the key that asks for it.

use super::PipelineError;
use super::config::{DamAsked, Fault, PipelineFile, PitAsked, Span, SwaleAsked};
use crate::notes::Cancelled;
use crate::works::{Entry, WorksError};

/// A design that cannot be made, told at the key of the pipeline file that asks for it.
pub(super) fn works_fault(file: &PipelineFile, error: &WorksError) -> PipelineError {
    let Some((code, name)) = error.code_and_work() else { return PipelineError::Cancelled(Cancelled) };
    let swale = file.swales.iter().find(|asked| asked.name.value == name).map(|asked| key_of(asked, error));
    let pit = || file.pits.iter().find(|asked| asked.name.value == name).map(|asked| key_of_pit(asked, error));
    let dam = || file.dams.iter().find(|asked| asked.name.value == name).map(|asked| key_of_dam(asked, error));
    let line =
        || file.fall_lines.iter().find(|asked| asked.name.value == name).and_then(|asked| asked.from.span.clone());
    let span = swale.or_else(pit).or_else(dam).or_else(line).unwrap_or_default();
    let fault = Fault::new(code, span, error.to_string());
    let fault = match file.swales.iter().find(|asked| asked.name.value == name).and_then(|asked| room_for(asked, error))
    {
        Some(help) => fault.help(help),
        None => fault,
    };
    file.fault(fault).into()
}

/// How many of a set have room, where one of it has none.
fn room_for(asked: &SwaleAsked, error: &WorksError) -> Option<String> {
    let (set, _) = (asked.set.as_ref()?, asked.set_at.as_ref()?);
    let number: u32 = asked.name.value.strip_prefix(&format!("{set}-"))?.parse().ok()?;
    let above = number.checked_sub(1)?;
    match error {
        WorksError::CutsEarlierWork { .. } | WorksError::FillsEarlierDig { .. } => {
            Some("the spacing of `down-slope` leaves no room for channel and berm between two of the set".to_owned())
        }
        WorksError::WaterLevelOffGround { .. }
        | WorksError::NoRoomBelow { .. }
        | WorksError::NoRoomAcross { .. }
        | WorksError::NoLineInRegion { .. }
        | WorksError::LineTooShort { .. } => Some(format!("above it the slope has room for {above} of the set")),
        _ => None,
    }
}

/// Where in the file the thing stands that cannot be dammed.
fn key_of_dam(asked: &DamAsked, error: &WorksError) -> Span {
    let span = match error {
        WorksError::WaterLevelOff { .. } | WorksError::ReservoirLeaks { .. } => asked.full_supply.span.clone(),
        WorksError::PlaceOffSurvey { .. } | WorksError::NoAbutment { .. } => asked.axis.span.clone(),
        WorksError::HeadOverRise { .. }
        | WorksError::SpillwayOnWall { .. }
        | WorksError::SpillwayTooNear { .. }
        | WorksError::SillOnFill { .. }
        | WorksError::LowRidge { .. }
        | WorksError::NoWayOut { .. }
        | WorksError::SillNotReached { .. }
        | WorksError::Weir { .. } => asked.spillway.as_ref().and_then(|spillway| spillway.at.span.clone()),
        _ => None,
    };
    span.or_else(|| asked.name.span.clone()).unwrap_or_default()
}

/// Where in the file the thing stands that cannot be dug.
fn key_of_pit(asked: &PitAsked, error: &WorksError) -> Span {
    let span = match error {
        WorksError::FloorAboveGround { .. }
        | WorksError::CannotHold { .. }
        | WorksError::CannotYield { .. }
        | WorksError::NoEarlierWork { .. }
        | WorksError::NothingToYield { .. } => asked.depth.span.clone(),
        WorksError::BadFloor { .. }
        | WorksError::NoRoomForPit { .. }
        | WorksError::PlaceOffSurvey { .. }
        | WorksError::LeavesSurvey { .. } => asked.floor.span.clone(),
        WorksError::RampTooSteep { .. } => asked.ramp.as_ref().and_then(|ramp| ramp.span.clone()),
        WorksError::WaterLevelOff { .. } => asked.water_at.clone(),
        WorksError::HeadOverRim { .. }
        | WorksError::NoSpillwayThere { .. }
        | WorksError::SillOnFill { .. }
        | WorksError::NoWayOut { .. }
        | WorksError::SillNotReached { .. }
        | WorksError::Weir { .. } => asked.spillway.as_ref().and_then(|spillway| spillway.at.span.clone()),
        _ => None,
    };
    span.or_else(|| asked.name.span.clone()).unwrap_or_default()
}

/// Where in the file the thing stands that cannot be.
fn key_of(asked: &SwaleAsked, error: &WorksError) -> Span {
    let name = asked.name.span.clone();
    let limit = asked
        .within
        .as_ref()
        .and_then(|within| within.span.clone())
        .or_else(|| asked.between.as_ref().and_then(|between| between.span.clone()));
    let set = asked.set_at.clone();
    let span = match error {
        WorksError::CutsEarlierWork { .. } | WorksError::FillsEarlierDig { .. } => set.or(name),
        WorksError::CannotHold { .. } => asked.depth_at.clone().or(name),
        WorksError::NoRoomForLine { .. } => asked.obstacles.as_ref().and_then(|stays| stays.span.clone()).or(name),
        WorksError::WaterLevelOffGround { .. }
        | WorksError::NoRoomBelow { .. }
        | WorksError::PlaceOffSurvey { .. }
        | WorksError::CannotCatch { .. }
        | WorksError::NoSuchPlace { .. }
        | WorksError::TooManyPlaces { .. } => asked.water_level.span.clone(),
        WorksError::NoLineInRegion { .. } | WorksError::LineTooShort { .. } => limit.or(name),
        WorksError::PartDoesNotFit { entry, .. }
        | WorksError::SillDoesNotFit { entry, .. }
        | WorksError::BatterNeverMeets { entry, .. } => {
            let found = match *entry {
                Entry::Section => None,
                Entry::Change(number) => asked.changes.get(number).and_then(|change| change.span.clone()),
                Entry::Crossing(number) => asked.crossings.get(number).and_then(|crossing| crossing.span.clone()),
                Entry::Sill(number) => asked.spillways.get(number).and_then(|spillway| spillway.at.span.clone()),
            };
            found.or(name)
        }
        WorksError::Weir { .. } => asked.spillways.first().and_then(|spillway| spillway.at.span.clone()).or(name),
        _ => name,
    };
    span.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pipeline::config::read;
    use std::path::Path;

    const FILE: &str = r#"format = 1
[site]
name = "Kestrel Flat"
crs  = "EPSG:32755"
[survey]
shots = ["day1.csv"]
[[swale]]
name        = "hill"
water-level = { elevation = "431 m" }
down-slope  = { swales = 4, drop = "1.2 m" }
depth       = { to-hold = "300 m3" }
obstacles   = "trees.geojson"
"#;

    fn told(error: &WorksError) -> (String, Option<String>) {
        let file = read(Path::new("site.toml"), FILE).unwrap();
        let PipelineError::File(faults) = works_fault(&file, error) else { panic!("{error}") };
        let fault = &faults.faults[0];
        (
            FILE.lines().nth(usize::try_from(fault.line).unwrap() - 1).unwrap().split(' ').next().unwrap().to_owned(),
            fault.help.clone(),
        )
    }

    fn off_ground(swale: &str) -> WorksError {
        WorksError::WaterLevelOffGround { swale: swale.to_owned(), water_level: 427.4, lowest: 429.0, highest: 440.0 }
    }

    /// The level of a set's first swale is its own, that of the others comes from the spacing; what is wrong with a depth or with what
    /// must stay is told there.
    #[test]
    fn what_cannot_be_is_told_at_the_key_that_asks_for_it() {
        assert_eq!(told(&off_ground("hill-1")), ("water-level".to_owned(), None));
        let (key, help) = told(&off_ground("hill-4"));
        assert_eq!(
            (key.as_str(), help.as_deref()),
            ("down-slope", Some("above it the slope has room for 3 of the set"))
        );
        let works = crate::works::Subject { kind: crate::works::Kind::Swale, name: "hill-2".to_owned() };
        let cannot = WorksError::CannotHold { works, wanted: 300.0, held: 80.0, depth: 5.0 };
        assert_eq!(told(&cannot).0, "depth");
        let blocked =
            WorksError::NoRoomForLine { swale: "hill-1".to_owned(), water_level: 431.0, clear: 8.9, clearance: 3.0 };
        assert_eq!(told(&blocked).0, "obstacles");
    }
}

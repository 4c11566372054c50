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
    file.fault(Fault::new(code, span, error.to_string())).into()
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
    let span = match error {
        WorksError::WaterLevelOffGround { .. }
        | WorksError::PlaceOffSurvey { .. }
        | WorksError::CannotCatch { .. }
        | WorksError::NoRoomBelow { .. }
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

//! From what the pipeline file asks for to what the works are designed from, once the survey is known.

use super::config::{Fault, PipelineFile, PlaceAsked, SillAsked, Span, SpillwayAsked, SwaleAsked, WaterLevelAsked};
use super::{PipelineError, foreign};
use crate::frame::SiteFrame;
use crate::geom::Polygon;
use crate::io::read::Shape;
use crate::survey::Survey;
use crate::works::{SillLength, SpillwayPlace, SpillwayWanted, SwaleWanted, WaterLevel, WorksError};

/// All swales; what cannot be found is told at once for all of them.
pub(super) fn swales(file: &PipelineFile, survey: &Survey) -> Result<Vec<SwaleWanted>, PipelineError> {
    let mut wanted = Vec::new();
    let mut faults = Vec::new();
    for asked in &file.swales {
        match swale(file, asked, survey) {
            Ok(swale) => wanted.push(swale),
            Err(PipelineError::File(found)) => faults.extend(found.faults),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() { Ok(wanted) } else { Err(file.faults(faults).into()) }
}

fn swale(file: &PipelineFile, asked: &SwaleAsked, survey: &Survey) -> Result<SwaleWanted, PipelineError> {
    let frame = &survey.frame;
    let within = asked.within.as_ref().map(|name| region(file, name, frame)).transpose()?;
    let between = asked.between.as_ref().map(|places| {
        let [first, last] = places.value.map(|(easting, northing)| frame.to_local(easting, northing));
        (first, last)
    });
    let earth = &file.earth;
    Ok(SwaleWanted {
        name: asked.name.value.clone(),
        water_level: water_level(file, asked, survey)?,
        line_edge: asked.line_edge,
        within,
        between,
        bottom_width: asked.bottom_width,
        depth: asked.depth,
        to_hold: asked.to_hold,
        uphill_batter: asked.uphill_batter,
        downhill_batter: asked.downhill_batter,
        berm: asked.berm,
        ledge: asked.ledge,
        freeboard: asked.freeboard,
        bend_radius: asked.bend_radius,
        ends: asked.ends,
        tolerance: asked.tolerance,
        spillways: asked.spillways.iter().map(|spillway| spillway_wanted(spillway, frame)).collect(),
        topsoil: earth.topsoil,
        soil: earth.soil.clone(),
        placement: earth.placement,
        settlement: earth.settlement,
    })
}

fn water_level(file: &PipelineFile, asked: &SwaleAsked, survey: &Survey) -> Result<WaterLevel, PipelineError> {
    Ok(match &asked.water_level.value {
        WaterLevelAsked::Elevation(elevation) => WaterLevel::Elevation(*elevation),
        WaterLevelAsked::Through(easting, northing) => WaterLevel::Through {
            place: survey.frame.to_local(*easting, *northing),
            what: format!("the place E {easting} N {northing}"),
            shot_elevation: None,
        },
        WaterLevelAsked::AtShot(name) => {
            let shot = survey
                .find_shot(name)
                .map_err(|error| file.fault_at(&asked.water_level, "pipeline::no-such-shot", &error.to_string()))?;
            WaterLevel::Through {
                place: shot.place,
                what: format!("shot {}:{}", survey.file_of(shot), shot.id),
                shot_elevation: Some(shot.elevation),
            }
        }
    })
}

/// The one polygon of a map file.
pub(super) fn region(
    file: &PipelineFile,
    name: &super::config::Located<String>,
    frame: &SiteFrame,
) -> Result<Polygon, PipelineError> {
    let shapes = foreign::shapes(&file.beside(&name.value), frame)
        .map_err(|error| file.fault_at(name, "pipeline::unreadable-region", &error.to_string()))?
        .value;
    let regions: Vec<Polygon> = shapes.iter().filter_map(Shape::as_polygon).collect();
    <[Polygon; 1]>::try_from(regions).map(|[region]| region).map_err(|found| {
        let message = format!("`{}` must hold one polygon, found {}", name.value, found.len());
        file.fault_at(name, "pipeline::no-region", &message).into()
    })
}

fn spillway_wanted(asked: &SpillwayAsked, frame: &SiteFrame) -> SpillwayWanted {
    SpillwayWanted {
        at: match asked.at.value {
            PlaceAsked::First => SpillwayPlace::First,
            PlaceAsked::Last => SpillwayPlace::Last,
            PlaceAsked::Station(station) => SpillwayPlace::Station(station),
            PlaceAsked::Through(easting, northing) => SpillwayPlace::Through(frame.to_local(easting, northing)),
        },
        sill_length: match asked.sill {
            SillAsked::Length(length) => SillLength::Length(length),
            SillAsked::ForFlow(flow) => SillLength::ForFlow(flow),
        },
        sill_breadth: asked.sill_breadth,
        head: asked.head,
        flow: asked.flow,
        exit_fall: asked.exit_fall,
    }
}

/// A design that cannot be made, told at the key of the pipeline file that asks for it.
pub(super) fn works_fault(file: &PipelineFile, error: &WorksError) -> PipelineError {
    let (code, name) = match error {
        WorksError::Cancelled(cancelled) => return PipelineError::Cancelled(*cancelled),
        WorksError::WaterLevelOffGround { swale, .. } => ("works::water-level-off-ground", swale),
        WorksError::PlaceOffSurvey { swale, .. } => ("works::place-off-survey", swale),
        WorksError::NoLineInRegion { swale, .. } => ("works::no-line-in-region", swale),
        WorksError::LineTooShort { swale, .. } => ("works::line-too-short", swale),
        WorksError::CannotHold { swale, .. } => ("works::cannot-hold", swale),
        WorksError::BatterNeverMeets { swale, .. } => ("works::batter-never-meets", swale),
        WorksError::SillDoesNotFit { swale, .. } => ("works::sill-does-not-fit", swale),
        WorksError::CutsEarlierWork { swale, .. } => ("works::cuts-earlier-work", swale),
        WorksError::Weir { swale, .. } => ("works::weir", swale),
        WorksError::LeavesSurvey { swale, .. } => ("works::leaves-survey", swale),
        WorksError::NeverMeetsGround { swale, .. } => ("works::never-meets-ground", swale),
        WorksError::Compose { swale, .. } => ("works::compose", swale),
        WorksError::Shape { swale, .. } => ("works::shape", swale),
    };
    let span = file.swales.iter().find(|asked| asked.name.value == *name).map_or(0..0, |asked| key_of(asked, error));
    file.fault(Fault::new(code, span, error.to_string())).into()
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
        WorksError::WaterLevelOffGround { .. } | WorksError::PlaceOffSurvey { .. } => asked.water_level.span.clone(),
        WorksError::NoLineInRegion { .. } | WorksError::LineTooShort { .. } => limit.or(name),
        WorksError::SillDoesNotFit { .. } | WorksError::Weir { .. } => {
            asked.spillways.first().and_then(|spillway| spillway.at.span.clone()).or(name)
        }
        _ => name,
    };
    span.unwrap_or_default()
}

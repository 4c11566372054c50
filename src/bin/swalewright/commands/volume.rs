//! `swalewright volume`

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::PathBuf;
use swalewright::geom::Polygon;
use swalewright::notes::Noted;
use swalewright::pipeline::{self, OpenSurface, PipelineError, PointOptions};
use swalewright::surface;
use swalewright::units::Elevation;

pub(super) struct Asked {
    pub(super) from: String,
    pub(super) to: Option<String>,
    pub(super) within: Option<PathBuf>,
    pub(super) below: Option<Elevation>,
    pub(super) at: Option<(f64, f64)>,
}

pub(super) fn run(asked: &Asked, points: &PointOptions, told: &Told) -> Result<Exit, PipelineError> {
    let mut from = pipeline::open_surface(&asked.from, points, None)?;
    match (&asked.to, asked.below) {
        (Some(to), _) => {
            let mut to = pipeline::open_surface(to, points, Some(&from.value.frame))?;
            pipeline::part_cells_alike(&mut from.value, &mut to.value);
            between(asked, &from, &to, told)
        }
        (None, Some(level)) => water(asked, &from, level, told),
        (None, None) => Err(PipelineError::Fault { what: "neither TO nor --below".to_owned() }),
    }
}

fn between(
    asked: &Asked,
    from: &Noted<OpenSurface>,
    to: &Noted<OpenSurface>,
    told: &Told,
) -> Result<Exit, PipelineError> {
    let within: Option<Polygon> =
        asked.within.as_ref().map(|path| pipeline::open_region(path, &from.value.frame)).transpose()?;
    let found = surface::cut_and_fill(&from.value.tin, &to.value.tin, within.as_ref());
    if found.area <= 0.0 {
        let both = asked.to.as_deref().unwrap_or_default();
        return Err(match &asked.within {
            Some(polygon) if surface::cut_and_fill(&from.value.tin, &to.value.tin, None).area > 0.0 => {
                unusable(&polygon.display().to_string(), "this polygon lies nowhere on both surfaces".to_owned())
            }
            _ => unusable(both, format!("this surface and {} do not overlap: there is nothing to compare", asked.from)),
        });
    }
    let notes: Vec<_> = from.notes.iter().chain(&to.notes).cloned().collect();
    told.notes(&notes);
    let json = json!({
        "cut_m3": found.cut,
        "fill_m3": found.fill,
        "net_m3": found.fill - found.cut,
        "cut_area_m2": found.cut_area,
        "fill_area_m2": found.fill_area,
        "area_m2": found.area,
        "area_left_out_m2": found.area_left_out,
        "from": from.value.kind,
        "to": to.value.kind,
        "frame": from.value.frame,
        "notes": notes,
    });
    let lines = [
        format!("cut   {:.3} m3 over {:.1} m2 (TO below FROM)", found.cut, found.cut_area),
        format!("fill  {:.3} m3 over {:.1} m2 (TO above FROM)", found.fill, found.fill_area),
        format!("net   {:+.3} m3 (fill minus cut)", found.fill - found.cut),
        format!("compared over {:.1} m2, where both surfaces are; {:.1} m2 left out", found.area, found.area_left_out),
    ];
    told.result(&json, &lines);
    Ok(Exit::Done)
}

fn water(asked: &Asked, open: &Noted<OpenSurface>, level: Elevation, told: &Told) -> Result<Exit, PipelineError> {
    let (tin, frame) = (&open.value.tin, &open.value.frame);
    let level_m = level.in_metres();
    let or_hole = if surface::holes(tin).is_empty() { "" } else { " or that of a hole in it" };
    let Some((easting, northing)) = asked.at else {
        told.notes(&open.notes);
        let (held, all) = (surface::standing(tin, level_m), surface::below(tin, level_m));
        let (more_volume, more_area) = ((all.volume - held.volume).max(0.0), (all.area - held.area).max(0.0));
        let json = json!({
            "water_level_m": level_m,
            "area_m2": held.area,
            "volume_m3": held.volume,
            "draining_area_m2": more_area,
            "draining_volume_m3": more_volume,
            "frame": frame,
            "notes": open.notes,
        });
        let mut lines = vec![format!(
            "below {level_m:.3} m: {:.3} m3 over {:.1} m2, all hollows together, none above its spill",
            held.volume, held.area
        )];
        if more_area > 0.05 {
            lines.push(format!(
                "a further {more_volume:.3} m3 over {more_area:.1} m2 lies below that elevation and does not hold water: \
                 it runs off over the survey's edge{or_hole}"
            ));
        }
        told.result(&json, &lines);
        return Ok(Exit::Done);
    };
    let place = frame.to_local(easting, northing);
    let found = surface::hollow(tin, place, level_m)
        .ok_or_else(|| unusable(&asked.from, format!("the place {easting},{northing} lies off this surface")))?;
    told.notes(&open.notes);
    let water = &found.pool;
    let unit = frame.unit.suffix();
    let spills = water.spill < level_m;
    let spill_place = water.spill_place.map(|place| frame.to_frame(place.plan()));
    let json = json!({
        "water_level_m": water.level,
        "asked_level_m": level_m,
        "ground_m": found.ground,
        "area_m2": water.area,
        "volume_m3": water.volume,
        "hollow": !found.drains,
        "spill_m": water.spill,
        format!("spill_easting_{unit}"): spill_place.map(|(easting, _)| easting),
        format!("spill_northing_{unit}"): spill_place.map(|(_, northing)| northing),
        "spills_below_asked_level": spills,
        "frame": frame,
        "notes": open.notes,
    });
    let holds =
        |level: f64| format!("to {level:.3} m the hollow there holds {:.3} m3 over {:.1} m2", water.volume, water.area);
    let lines = match spill_place {
        _ if found.drains => vec![format!(
            "not a hollow: the ground there stands at {:.3} m, and water on it runs off to the edge of the survey{or_hole}",
            found.ground
        )],
        _ if found.ground >= level_m => vec![format!(
            "no water there: the ground at this place stands at {:.3} m, not below {level_m:.3} m",
            found.ground
        )],
        Some((easting, northing)) if spills => vec![
            holds(water.level),
            format!("there it spills, at E {easting:.3} N {northing:.3}: it does not hold water to {level_m:.3} m"),
        ],
        _ => vec![holds(water.level), format!("it would spill at {:.3} m", water.spill)],
    };
    told.result(&json, &lines);
    Ok(Exit::Done)
}

fn unusable(what: &str, why: String) -> PipelineError {
    PipelineError::Unreadable { path: what.into(), why }
}

//! `swalewright volume`

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::PathBuf;
use swalewright::geom::Polygon;
use swalewright::notes::Noted;
use swalewright::pipeline::{self, OpenSurface, PipelineError, PointOptions};
use swalewright::surface::{below, cut_and_fill, pool};
use swalewright::units::Elevation;

pub(super) struct Asked {
    pub(super) from: String,
    pub(super) to: Option<String>,
    pub(super) within: Option<PathBuf>,
    pub(super) below: Option<Elevation>,
    pub(super) at: Option<(f64, f64)>,
}

pub(super) fn run(asked: &Asked, points: &PointOptions, told: &Told) -> Result<Exit, PipelineError> {
    let from = pipeline::open_surface(&asked.from, points, None)?;
    match (&asked.to, asked.below) {
        (Some(to), _) => {
            let to = pipeline::open_surface(to, points, Some(&from.value.frame))?;
            between(asked, &from, &to, told)
        }
        (None, Some(level)) => {
            water(asked, &from, level, told);
            Ok(Exit::Done)
        }
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
    let found = cut_and_fill(&from.value.tin, &to.value.tin, within.as_ref());
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

fn water(asked: &Asked, surface: &Noted<OpenSurface>, level: Elevation, told: &Told) {
    let (tin, frame) = (&surface.value.tin, &surface.value.frame);
    told.notes(&surface.notes);
    let level_m = level.in_metres();
    let Some((easting, northing)) = asked.at else {
        let found = below(tin, level_m);
        let json = json!({
            "water_level_m": level_m, "area_m2": found.area, "volume_m3": found.volume, "notes": surface.notes,
        });
        let lines =
            [format!("below {level_m:.3} m: {:.3} m3 over {:.1} m2, all hollows together", found.volume, found.area)];
        told.result(&json, &lines);
        return;
    };
    let found = pool(tin, &[frame.to_local(easting, northing)], level_m);
    let spills = found.spill < level_m;
    let json = json!({
        "water_level_m": level_m,
        "area_m2": found.area,
        "volume_m3": found.volume,
        "spill_m": found.spill,
        "spills_below_water_level": spills,
        "notes": surface.notes,
    });
    let mut lines =
        vec![format!("below {level_m:.3} m in the hollow there: {:.3} m3 over {:.1} m2", found.volume, found.area)];
    if let (true, Some(place)) = (spills, found.spill_place) {
        let (easting, northing) = frame.to_frame(place.plan());
        lines.push(format!(
            "the hollow spills at {:.3} m, at E {easting:.3} N {northing:.3}: it does not hold water to {level_m:.3} m",
            found.spill
        ));
    }
    told.result(&json, &lines);
}

//! `ground/`: the triangulated ground as a map and as LandXML, and its figures.

use super::{Left, json, maps, number};
use crate::io::write::geopackage;
use crate::io::write::landxml;
use crate::notes::Note;
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use serde_json::json as object;
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let ground = values.ground()?;
    let context = values.context()?;
    let tin = &ground.value.tin;
    geopackage::write(&folder.join("ground.gpkg"), &maps::ground(&ground.value), context)?;
    let surface = landxml::Surface { name: "ground", description: "natural ground as surveyed", tin };
    let content = landxml::Content { project: &values.file.site.name, surfaces: &[surface], ..Default::default() };
    landxml::write(&folder.join("ground.landxml"), &content, context)?;
    let figures = ground.value.figures();
    json(
        &folder.join("ground.json"),
        &object!({
            "points": figures.points,
            "triangles": figures.triangles,
            "plan_area_m2": number(figures.plan_area_m2),
            "lowest_m": number(figures.lowest_m),
            "highest_m": number(figures.highest_m),
            "mean_slope_percent": number(figures.mean_slope_percent),
            "spacing_m": number(figures.spacing_m),
            "breakline_length_m": number(figures.breakline_length_m),
        }),
    )?;
    let mut notes = ground.notes.clone();
    if values.file.ground.classified {
        notes.extend(match values.cloud_ground()? {
            Some(found) => found.write(folder)?,
            None => vec![Note::new(
                "cloud::none-classified",
                "`classified` asks for clouds whose ground was found here, and there are none".to_owned(),
            )],
        });
    }
    Ok(Left {
        summary: format!(
            "{} points, {} triangles, {:.2} ha, {:.2} to {:.2} m, mean slope {:.1} %, spacing {:.1} m",
            figures.points,
            figures.triangles,
            figures.plan_area_m2 / 10_000.0,
            figures.lowest_m,
            figures.highest_m,
            figures.mean_slope_percent,
            figures.spacing_m
        ),
        notes,
        ..Left::default()
    })
}

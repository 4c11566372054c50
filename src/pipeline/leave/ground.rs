//! `ground/`: the triangulated ground as a map and as LandXML, and its figures.

use super::{Left, json, maps, number};
use crate::io::write::geopackage;
use crate::io::write::landxml;
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
    let (points, triangles, area) = (tin.vertices().len(), tin.triangles().len(), tin.plan_area());
    let (lowest, highest) = tin.elevation_range().unwrap_or_default();
    json(
        &folder.join("ground.json"),
        &object!({
            "points": points,
            "triangles": triangles,
            "plan_area_m2": number(area),
            "lowest_m": number(lowest),
            "highest_m": number(highest),
            "median_spacing_m": number(ground.value.spacing),
        }),
    )?;
    Ok(Left {
        summary: format!(
            "{points} points, {triangles} triangles, {:.2} ha, {lowest:.2} to {highest:.2} m, spacing {:.1} m",
            area / 10_000.0,
            ground.value.spacing
        ),
        notes: ground.notes.clone(),
        ..Left::default()
    })
}

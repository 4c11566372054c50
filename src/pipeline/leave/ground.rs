//! `ground/`: the triangulated ground whole, as a map and as LandXML, and its figures.

use super::{Left, json, maps, number};
use crate::ground::GroundError;
use crate::io::write::{geopackage, landxml, tin};
use crate::notes::Note;
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use crate::surface::{ContourLine, Thinned, Tin, contours_every, thin};
use serde_json::json as object;
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let ground = values.ground()?;
    let context = values.context()?;
    let tin = &ground.value.tin;
    tin::write(&folder.join("ground.tin"), tin, &context.frame)?;
    let exported = exported(tin, values.file.ground.export_bound.in_metres())?;
    let outward = exported.as_ref().map_or(tin, |thin| &thin.tin);
    let mut layers = maps::ground(outward);
    let contours = values.file.ground.contours.map(|interval| contours(outward, interval.in_metres()));
    layers.extend(contours.iter().flatten().map(|lines| maps::contours(lines)));
    geopackage::write(&folder.join("ground.gpkg"), &layers, context)?;
    let surface = landxml::Surface { name: "ground", description: "natural ground as surveyed", tin: outward };
    let content = landxml::Content { project: &values.file.site.name, surfaces: &[surface], ..Default::default() };
    landxml::write(&folder.join("ground.landxml"), &content, context)?;
    let figures = ground.value.figures();
    json(
        &folder.join("ground.json"),
        object!({
            "points": figures.points,
            "triangles": figures.triangles,
            "plan_area_m2": number(figures.plan_area_m2),
            "lowest_m": number(figures.lowest_m),
            "highest_m": number(figures.highest_m),
            "mean_slope_percent": number(figures.mean_slope_percent),
            "spacing_m": number(figures.spacing_m),
            "breakline_length_m": number(figures.breakline_length_m),
            "holes": figures.holes,
            "holes_area_m2": number(figures.holes_area_m2),
            "export": exported.as_ref().map(|thin| object!({
                "points": thin.tin.vertices().len(),
                "triangles": thin.tin.triangles().len(),
                "bound_m": number(values.file.ground.export_bound.in_metres()),
                "worst_m": number(thin.worst),
            })),
        }),
        &context.frame,
    )?;
    let told = exported.as_ref().map(|thin| export_note(thin, tin)).into_iter().chain(contours.and_then(Result::err));
    let mut notes = [ground.notes.clone(), told.collect()].concat();
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

/// Most levels of contours in a map. A choice of this program.
const MOST_LEVELS: f64 = 2_000.0;

/// Contour lines at every multiple of an interval, or why there are none.
fn contours(tin: &Tin, interval: f64) -> Result<Vec<(f64, Vec<ContourLine>)>, Note> {
    let (low, high) = tin.elevation_range().unwrap_or_default();
    let levels = (high - low) / interval;
    if levels > MOST_LEVELS {
        let text = format!(
            "no contours: {interval} m apart there would be {levels:.0} levels between {low:.2} and {high:.2} m, at most {MOST_LEVELS} \
             are drawn"
        );
        return Err(Note::new("ground::too-many-contours", text));
    }
    Ok(contours_every(tin, interval))
}

/// Triangles that maps and LandXML hold; programs that read them take no more with ease. A choice of this program.
const MOST_EXPORTED: usize = 200_000;

/// What goes into maps and LandXML of a surface that is too large for them.
fn exported(tin: &Tin, bound: f64) -> Result<Option<Thinned>, PipelineError> {
    if tin.triangles().len() <= MOST_EXPORTED {
        return Ok(None);
    }
    Ok(Some(thin(tin, bound).map_err(GroundError::Surface)?))
}

fn export_note(thin: &Thinned, full: &Tin) -> Note {
    let text = format!(
        "ground.gpkg and ground.landxml hold the ground thinned from {} to {} triangles, nowhere more than {:.1} mm off it \
         (`export-bound`); ground.tin holds all of it",
        full.triangles().len(),
        thin.tin.triangles().len(),
        1000.0 * thin.worst
    );
    Note::new("ground::export-thinned", text)
}

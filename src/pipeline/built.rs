//! The as-built check of a run's folder against a book of shots.

use super::open::surface_of_run;
use super::{Manifest, PipelineError, PointOptions};
use crate::asbuilt::{self, Design, GradeCheck, GradeSettings};
use crate::frame;
use crate::io::read::points;
use crate::notes::Noted;
use crate::survey::{self, Settings};
use crate::units::Length;
use std::path::Path;

/// Checks the shots of a file against the works that a run left.
///
/// # Errors
/// [`PipelineError`] when the folder is no whole run, or the file cannot be read.
pub fn check_built(
    works: &Path,
    book: &Path,
    tolerance: Option<Length>,
    options: &PointOptions,
) -> Result<Noted<GradeCheck>, PipelineError> {
    let manifest = Manifest::open(works)?;
    let design = design(&manifest)?;
    let surface = surface_of_run(&manifest, "works/works.landxml", &manifest.frame)?;
    let asked = &manifest.pipeline;

    let own = options.crs.as_deref().map(frame::resolve).transpose()?;
    if let Some(own) = own.filter(|own| own.crs != manifest.frame.crs) {
        let why = format!(
            "it stands in {} ({}), the works in {} ({}): convert it first",
            own.crs, own.name, manifest.frame.crs, manifest.frame.name
        );
        return Err(PipelineError::Unreadable { path: book.to_owned(), why });
    }
    let file = points::read(book, &options.file())?;
    let judged = Settings {
        roles: options.over(asked.survey.settings.roles.clone()),
        keep: Vec::new(),
        ..asked.survey.settings.clone()
    };
    let mut notes = Vec::new();
    let shots = survey::check(&[file], &judged, &manifest.frame)?.drain_into(&mut notes);
    let settings = asked.asbuilt.as_ref().map_or_else(GradeSettings::default, |asbuilt| asbuilt.settings);
    let settings = tolerance.map_or(settings, |tolerance| settings.with_tolerance(tolerance));
    let check = asbuilt::check(&design, Some(&surface), &shots, &settings, asked.site.units).drain_into(&mut notes);
    Ok(Noted { value: check, notes })
}

fn design(manifest: &Manifest) -> Result<Design, PipelineError> {
    let name = "works/works.json";
    let damaged =
        |error: serde_json::Error| PipelineError::Damaged { path: manifest.folder.join(name), why: error.to_string() };
    let mut works: serde_json::Value = serde_json::from_slice(&manifest.read(name)?).map_err(damaged)?;
    serde_json::from_value(works["design"].take()).map_err(damaged)
}

//! The as-built check of a run's folder against a book of shots.

use super::open::surface_of_run;
use super::{Manifest, PipelineError, PointOptions, bring};
use crate::asbuilt::{self, Design, GradeCheck, GradeSettings};
use crate::frame::{self, SiteFrame};
use crate::io::read::points;
use crate::notes::Noted;
use crate::survey::{self, FitReport, PointFile, Settings, Survey};
use crate::units::{Length, ReadingUnits};
use std::path::Path;

/// A check of what was built, and how it is to be told.
#[derive(Debug, Clone, PartialEq)]
pub struct BuiltCheck {
    /// The answer.
    pub check: GradeCheck,
    /// The units that people on this site read.
    pub units: ReadingUnits,
    /// Where its tolerances come from.
    pub standing: &'static str,
}

/// Checks the shots of a file against the works that a run left.
///
/// # Errors
/// [`PipelineError`] when the folder is no whole run, or the file cannot be read.
pub fn check_built(
    works: &Path,
    book: &Path,
    tolerance: Option<Length>,
    options: &PointOptions,
) -> Result<Noted<BuiltCheck>, PipelineError> {
    let manifest = Manifest::open(works)?;
    let design = design(&manifest)?;
    let (surface, _) = surface_of_run(&manifest, "works/works.tin", Some(&manifest.frame))?;
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
    let own = &asked.survey.settings;
    let judged = Settings { roles: options.over(own.roles.clone()), ..own.clone() };
    let mut notes = Vec::new();
    let fit = fit_of(&manifest)?;
    let definition = if manifest.frame.is_local() {
        frame::FrameDefinition::local(manifest.frame.unit)
    } else {
        frame::resolve(&manifest.frame.crs)?
    };
    let files = bring::later_files(asked, vec![file], &definition, fit.as_ref())?.drain_into(&mut notes);
    let shots = survey_of_built(&files, &judged, &manifest.frame)?.drain_into(&mut notes);
    let settings = asked.asbuilt.as_ref().map_or_else(GradeSettings::default, |asbuilt| asbuilt.settings);
    let settings = tolerance.map_or(settings, |tolerance| settings.with_tolerance(tolerance));
    let standing = match (tolerance, &asked.asbuilt) {
        (Some(_), _) => "as said with --tolerance",
        (None, Some(_)) => "as the run's pipeline file has them; its defaults are common practice, no source",
        (None, None) => "common practice, no source",
    };
    let check = asbuilt::check(&design, Some(&surface), &shots, &settings, asked.site.units).drain_into(&mut notes);
    Ok(Noted { value: BuiltCheck { check, units: asked.site.units, standing }, notes })
}

/// Checks as-built files by the site's code table and limits; nothing is put back among them. Whether they are checked on
/// marks is told by the as-built check, which knows the site's marks: these files hold none.
pub(super) fn survey_of_built(
    files: &[PointFile],
    settings: &Settings,
    frame: &SiteFrame,
) -> Result<Noted<Survey>, PipelineError> {
    let settings = Settings { keep: Vec::new(), ..settings.clone() };
    let mut found = survey::check(files, &settings, frame)?;
    found.notes.retain(|note| !note.code.starts_with("survey::check") && note.code != "survey::not-checked");
    Ok(found)
}

/// The fit to known marks that the survey was given.
fn fit_of(manifest: &Manifest) -> Result<Option<FitReport>, PipelineError> {
    let name = "survey/survey.json";
    if manifest.pipeline.survey.bring.fit.is_none() {
        return Ok(None);
    }
    let damaged =
        |error: serde_json::Error| PipelineError::Damaged { path: manifest.folder.join(name), why: error.to_string() };
    let mut survey: serde_json::Value = serde_json::from_slice(&manifest.read(name)?).map_err(damaged)?;
    serde_json::from_value(survey["fit"].take()).map_err(damaged)
}

fn design(manifest: &Manifest) -> Result<Design, PipelineError> {
    let name = "works/works.json";
    let damaged =
        |error: serde_json::Error| PipelineError::Damaged { path: manifest.folder.join(name), why: error.to_string() };
    let mut works: serde_json::Value = serde_json::from_slice(&manifest.read(name)?).map_err(damaged)?;
    serde_json::from_value(works["design"].take()).map_err(damaged)
}

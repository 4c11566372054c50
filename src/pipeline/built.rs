//! The as-built check of a run's folder against a book: shots, or the readings of a level.

use super::open::surface_of_run;
use super::{Manifest, PipelineError, PointOptions, bring};
use crate::asbuilt::{self, Design, GradeCheck, GradeSettings, Mark, Measured, NamedPlace};
use crate::frame::{self, SiteFrame};
use crate::io::read::points::{self, FileSettings};
use crate::io::read::{level_book, named};
use crate::notes::{Note, Noted, Place};
use crate::survey::{self, FitReport, LevelRun, LevelSettings, PointFile, Settings, Survey};
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
    /// The site's frame.
    pub frame: SiteFrame,
}

/// Checks a book of shots, or a level book, against the works that a run left.
///
/// # Errors
/// [`PipelineError`] when the folder is no whole run, or the book cannot be read.
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
    let settings = asked.asbuilt.as_ref().map_or_else(GradeSettings::default, |asbuilt| asbuilt.settings);
    let settings = settings.asked_every(&asked.stakes);
    let settings = tolerance.map_or(settings, |tolerance| settings.with_tolerance(tolerance));
    let standing = match (tolerance, &asked.asbuilt) {
        (Some(_), _) => "as said with --tolerance",
        (None, Some(_)) => "as the run's pipeline file has them; its defaults are common practice, no source",
        (None, None) => "common practice, no source",
    };

    let mut notes = Vec::new();
    let (shots, levels, names) = if level_book::is_one_at(book) {
        let names = names_of_run(&manifest)?;
        let run = levelled(book, &options.file(), &manifest.frame, &design.marks, &settings)?.drain_into(&mut notes);
        known_names(book, &run, &names)?;
        (Survey::empty(manifest.frame.clone()), vec![run], names)
    } else {
        (shots(&manifest, book, options)?.drain_into(&mut notes), Vec::new(), Vec::new())
    };
    let measured = Measured { survey: &shots, levels: &levels, names: &names };
    let check = asbuilt::check(&design, Some(&surface), &measured, &settings, asked.site.units).drain_into(&mut notes);
    Ok(Noted { value: BuiltCheck { check, units: asked.site.units, standing, frame: manifest.frame.clone() }, notes })
}

fn shots(manifest: &Manifest, book: &Path, options: &PointOptions) -> Result<Noted<Survey>, PipelineError> {
    let asked = &manifest.pipeline;
    let own = options.crs.as_deref().map(frame::resolve).transpose()?;
    if let Some(own) = own.filter(|own| own.crs != manifest.frame.crs) {
        let why = format!(
            "it stands in {} ({}), the works in {} ({}): convert it first",
            own.crs, own.name, manifest.frame.crs, manifest.frame.name
        );
        return Err(PipelineError::Unreadable { path: book.to_owned(), why });
    }
    let file = points::read_measured(book, &options.file())?;
    let own = &asked.survey.settings;
    let judged = Settings { roles: options.over(own.roles.clone()), ..own.clone() };
    let mut notes = Vec::new();
    let fit = fit_of(manifest)?;
    let definition = if manifest.frame.is_local() {
        frame::FrameDefinition::local(manifest.frame.unit)
    } else {
        frame::resolve(&manifest.frame.crs)?
    };
    let files = bring::later_files(asked, vec![file], &definition, fit.as_ref())?.drain_into(&mut notes);
    let shots = survey_of_built(&files, &judged, &manifest.frame)?.drain_into(&mut notes);
    Ok(Noted { value: shots, notes })
}

/// Reads a level book and reduces it on the site's marks. Without a unit of its own it is in the frame's.
pub(super) fn levelled(
    book: &Path,
    file: &FileSettings,
    frame: &SiteFrame,
    marks: &[Mark],
    settings: &GradeSettings,
) -> Result<Noted<LevelRun>, PipelineError> {
    let mut book = level_book::read(book, file)?;
    if book.unit.is_none() {
        book.unit = Some(frame.unit);
        let text = format!(
            "no unit said in the level book: its readings are taken to be in the site's, {}",
            frame.unit.name()
        );
        let place = Place::File { file: book.name.clone(), line: 0, column: 0 };
        book.notes.push(Note::new("levels::unit-assumed", text).at(place));
    }
    let marks = marks.iter().map(|mark| (mark.name.clone(), mark.elevation_m)).collect();
    let settings = LevelSettings { marks, reading_sigma: settings.staff_sigma_m, ..LevelSettings::default() };
    Ok(survey::reduce_levels(&book, &settings)?)
}

/// The names of the stakes and of the as-built shots that a run left.
fn names_of_run(manifest: &Manifest) -> Result<Vec<NamedPlace>, PipelineError> {
    let mut names = Vec::new();
    for list in ["stakes/stakes.csv", "stakes/asbuilt-shots.csv"] {
        names.extend(named::parse(&manifest.read(list)?, list, &manifest.frame)?);
    }
    Ok(names)
}

/// Refuses a book of which no station is a name of the run: it belongs to another design, or has names of its own.
pub(super) fn known_names(book: &Path, run: &LevelRun, names: &[NamedPlace]) -> Result<(), PipelineError> {
    let known = |station: &str| names.iter().any(|named| named.name.eq_ignore_ascii_case(station.trim()));
    if run.points.iter().any(|point| known(&point.station)) {
        return Ok(());
    }
    let list = |all: Vec<&str>| {
        let shown: Vec<String> = all.iter().take(4).map(|name| format!("`{name}`")).collect();
        shown.join(", ")
    };
    let why = format!(
        "no station of this level book is a name of the run: found {}; accepted are the names in stakes/stakes.csv and \
         stakes/asbuilt-shots.csv, such as {}",
        list(run.points.iter().map(|point| point.station.as_str()).collect()),
        list(names.iter().rev().map(|named| named.name.as_str()).collect())
    );
    Err(PipelineError::Unreadable { path: book.to_owned(), why })
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

//! What each stage leaves in its folder.
//!
//! Invariant: every file follows from the stage's values and the site's date alone; numbers in JSON are metres, square
//! metres and cubic metres with the unit in the key, whatever the frame's unit.

mod asbuilt;
mod drain_figures;
mod earth;
mod ground;
mod maps;
mod sheets;
mod stakes;
mod survey;
mod test_pits;
mod unstable;
mod unsure;
mod works;
mod works_figures;
mod works_tables;

use super::rounded::{number, rounded};
use super::values::Values;
use super::{PipelineError, Stage};
use crate::frame::SiteFrame;
use crate::io::write::{MapContext, atomic};
use crate::notes::Note;
use serde_json::Value as Json;
use std::path::Path;

/// What a stage tells of its folder.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Left {
    /// One line of figures for a person.
    pub(super) summary: String,
    /// Its notes.
    pub(super) notes: Vec<Note>,
    /// Checks that were asked for and failed.
    pub(super) failed: Vec<String>,
    /// What the manifest must know without computing it again.
    pub(super) facts: Json,
}

/// Computes a stage and fills its folder.
pub(super) fn stage(stage: Stage, values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    match stage {
        Stage::Survey => survey::leave(values, folder),
        Stage::Ground => ground::leave(values, folder),
        Stage::Works => works::leave(values, folder),
        Stage::Earth => earth::leave(values, folder),
        Stage::Stakes => stakes::leave(values, folder),
        Stage::Sheets => sheets::leave(values, folder),
        Stage::AsBuilt => asbuilt::leave(values, folder),
    }
}

/// Writes JSON for people and programs. Places that it holds in local metres are so from the frame's origin.
fn json(path: &Path, mut value: Json, frame: &SiteFrame) -> Result<(), PipelineError> {
    value["frame"] = serde_json::to_value(frame).map_err(|error| PipelineError::Fault { what: error.to_string() })?;
    let text = serde_json::to_string_pretty(&rounded(value))
        .map_err(|error| PipelineError::Fault { what: error.to_string() })?;
    Ok(atomic::write(path, (text + "\n").as_bytes())?)
}

/// The files of maps that hold places in longitude and latitude are left out on a site grid, with a note.
fn no_lonlat_note(context: &MapContext, what: &str) -> Option<Note> {
    context.projector.is_none().then(|| {
        Note::new(
            "pipeline::no-longitude-and-latitude",
            format!("the site's frame is a local grid: {what} need longitude and latitude and are not written"),
        )
    })
}

//! Map files and surfaces of other programs, by their ending.

use super::PipelineError;
use crate::frame::SiteFrame;
use crate::io::read::Shape;
use crate::notes::Noted;
use crate::surface::Tin;
use std::path::Path;

fn not_yet(path: &Path) -> PipelineError {
    PipelineError::Unreadable { path: path.to_owned(), why: "this version cannot read it yet".to_owned() }
}

/// The shapes of a map file in the local frame.
pub(super) fn shapes(path: &Path, _frame: &SiteFrame) -> Result<Vec<Shape>, PipelineError> {
    Err(not_yet(path))
}

/// The frame that a LandXML file names.
pub(super) fn frame(path: &Path) -> Result<Noted<SiteFrame>, PipelineError> {
    Err(not_yet(path))
}

/// The surface of a LandXML file in the local frame.
pub(super) fn surface(path: &Path, _frame: &SiteFrame) -> Result<Noted<Tin>, PipelineError> {
    Err(not_yet(path))
}

//! LandXML 1.0 to 1.2: TIN surfaces and alignments, all lengths in metres on our side.
//!
//! The schema does not see what makes a surface wrong, so this does: point ids are unique, every face names three
//! different points that are there, no face is without area, no edge has three faces, no face lies over another (by more
//! than rounding to the millimetre). Breakline sides of faces are kept, invisible faces left out. Points are written
//! `northing easting elevation`. Elevations are in metres unless `elevationUnit` says otherwise, even among feet (the schema's
//! default, told as a note); `feet` beside US survey feet are taken as US survey feet, since the schema has no other
//! word for them. Arcs become chords within 5 mm; spirals are refused.

mod content;
mod parse;
pub(super) mod points;

pub use content::{Alignment, LandXml, Surface};

use super::ReadError;
use crate::notes::Noted;
use content::FORMAT;
use std::path::Path;

/// Reads a file.
///
/// # Errors
/// [`ReadError::Open`], [`ReadError::Empty`], [`ReadError::Format`] when it is no XML, and [`ReadError::Fault`] with the
/// line where its content is wrong.
pub fn read(path: &Path) -> Result<Noted<LandXml>, ReadError> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|source| ReadError::Open { path: name.clone(), source })?;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(ReadError::Empty { path: name, accepted: FORMAT });
    }
    parse::parse(&String::from_utf8_lossy(bytes), &name)
}

#[cfg(test)]
mod tests;

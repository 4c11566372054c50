//! Point files: one shot a line, row or feature, in whatever format, order and dialect the crew sends it.
//!
//! Invariant: every line that is neither blank nor a comment nor the header becomes a record, or reading ends with one
//! message that names the file and the place in it. What had to be guessed is told in the file's notes.

mod columns;
pub(in crate::io::read) mod dialect;
mod error;
mod record;
mod settings;
mod source;
mod table;
mod text;
mod words;

pub use columns::check_said;
pub use error::{PointFileError, Spot};
pub use settings::{Confidence, FileSettings};
pub(super) use source::is_workbook;
pub use source::{is_points, part_of, read, read_measured};

pub(super) use columns::{is_place, known_title};
pub(super) use dialect::{decode, fields};
pub(super) use error::letters;
pub(super) use table::{Header, Row, Table};

use crate::survey::PointFile;

/// Reads a text point file that is already in memory.
///
/// # Errors
/// [`PointFileError`] with the place of the first fault.
pub fn parse(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    text::table(bytes, name, settings)?.into_file(settings)
}

#[cfg(test)]
mod tests;

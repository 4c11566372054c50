//! The epochs of a log as shots: averaged where the rover stood, or each by itself, as the user asks.

use super::points::PointFileError;
use crate::survey::{Epochs, Format, Record, occupations};

/// The epochs of a log as shots, and what was made of them in words.
pub(super) fn from_epochs(
    mut epochs: Vec<Record>,
    asked: Epochs,
    name: &str,
    format: Format,
) -> Result<(Vec<Record>, Option<String>), PointFileError> {
    let count = epochs.len();
    if asked == Epochs::Every {
        for (index, epoch) in epochs.iter_mut().enumerate() {
            epoch.id = (index + 1).to_string();
        }
        return Ok((epochs, Some(format!("every one of {count} epochs is a shot"))));
    }
    let found = occupations(&epochs);
    if found.records.is_empty() {
        let why = format!(
            "the rover of this {} never stood still (within 50 mm for a second and three epochs) in {count} epochs: \
             to take every epoch as a shot say epochs = \"every\" (--epochs every)",
            format.name()
        );
        return Err(PointFileError::Lacks { file: name.to_owned(), why });
    }
    let told = format!(
        "{count} epochs: {} shots where the rover stood still, {} epochs on the move left out",
        found.records.len(),
        found.moving
    );
    Ok((found.records, Some(told)))
}

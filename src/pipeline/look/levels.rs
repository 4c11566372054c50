//! What is in a level book: its readings as heights.

use super::{Drawable, Look, SHOWN};
use crate::io::read::level_book;
use crate::notes::Note;
use crate::pipeline::{PipelineError, PointOptions};
use crate::survey::{self, LevelSettings};
use serde_json::json;
use std::path::Path;

/// A level book, reduced on the elevations that stand in it; without one, on its first station as zero.
///
/// # Errors
/// [`PipelineError`] when it cannot be read or reduced.
pub(super) fn look(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    let mut book = level_book::read(path, &options.file())?;
    let own = book.rows.first().is_some_and(|row| row.elevation.is_some() || row.collimation.is_some());
    let mut notes = Vec::new();
    if let Some(first) = book.rows.first_mut().filter(|_| !own) {
        first.elevation = Some(0.0);
        let text = format!("the elevation of `{}` does not stand in the book: it is taken as zero here", first.station);
        notes.push(Note::new("levels::start-as-zero", text));
    }
    let run = survey::reduce_levels(&book, &LevelSettings::default())?.drain_into(&mut notes);
    let json =
        json!({ "kind": "level-book", "file": run.file, "points": run.points.len(), "levels": run, "notes": notes });
    let shown = run.points.iter().take(SHOWN).map(|point| {
        format!("  {}: {:.3} m, sigma {:.1} mm", point.station, point.elevation_m, point.sigma_m * 1000.0)
    });
    let mut lines = vec![format!("{}: a level book, {} readings reduced", run.file, run.points.len())];
    lines.extend(shown);
    if run.points.len() > SHOWN {
        lines.push(format!("  and {} more", run.points.len() - SHOWN));
    }
    Ok(Look { json, lines, notes, drawable: Drawable::Nothing("a level book has heights and no places") })
}

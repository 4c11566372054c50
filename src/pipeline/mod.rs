//! The pipeline file, the stages in order, what is skipped, and the manifest of a run.
//!
//! Invariant: `run.json` stands in an output folder only while every file it lists is there with the hash it gives; a
//! stage's folder is swapped whole; nothing but `run-log.json` depends on the clock. A stage is skipped when its key is
//! the one it was made with and its files are as it left them. The key covers the program's version, the stage's
//! settings as resolved, the bytes of its input files and the keys of the stages before it.

mod blame;
mod bring;
mod built;
mod clouds;
pub mod config;
mod error;
mod fingerprint;
mod folder;
mod foreign;
mod inputs;
mod leave;
mod line;
mod look;
mod manifest;
mod open;
mod record;
mod resolve;
mod rounded;
mod run;
mod stage;
mod values;

pub use built::{BuiltCheck, check_built};
pub use error::{Fatality, PipelineError};
pub use look::{Drawable, Look, look, look_at};
pub use manifest::{MANIFEST, Manifest};
pub use open::{OnContour, OpenSurface, PointOptions, on_contour, open_region, open_surface, part_cells_alike};
pub use rounded::rounded;
pub use run::{Outcome, RunOptions, run};
pub use stage::Stage;

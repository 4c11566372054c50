//! The checked survey: shots in one frame with their roles, what was set aside and why.
//!
//! Invariant: every line of every point file is either a kept shot or a set-aside row with a reason; nothing is dropped
//! silently. Shots keep the file, line and point number they came with.

mod between_files;
mod bring;
mod candidate;
mod check;
mod clock;
mod error;
mod field;
mod figures;
mod file;
mod find;
mod gate;
mod leave_out;
mod levels;
mod look;
mod marks;
mod neighbours;
mod order;
mod repeats;
mod roles;
mod settings;
mod shot;
mod sigma;
mod signatures;
mod standing;
mod strings;
mod surroundings;

pub use bring::{
    Bringing, Brought, FitAsked, FitReport, Fitting, HeightReport, InclinedPlane, PlanReport, bring, geoid_parts,
};
pub use candidate::middle;
pub use check::{check, check_told};
pub use clock::{Moment, day_number};
pub use error::SurveyError;
pub use field::GroundField;
pub use figures::SurveyFigures;
pub use file::{Column, ColumnsFrom, Delimiter, Format, HeightsAre, PointFile, Position, Record};
pub use levels::{
    Closure, LevelBook, LevelError, LevelKind, LevelLimit, LevelPoint, LevelRow, LevelRun, LevelSettings,
    reduce as reduce_levels,
};
pub use look::{CodeLook, Extent, FileLook, FixCounts, Look, Looked, RoleFrom, look};
pub use repeats::Repeats;
pub use roles::{CodeRead, Figure, Meaning, Roles};
pub use settings::Settings;
pub use shot::{AmongNeighbours, CheckAt, CheckShot, Fix, Quality, Role, Scatter, SetAside, Setup, Shot, Survey, Tilt};
pub use standing::{Epochs, Occupations, occupations, step};

use find::same_file;

/// The first few of a list, and how many more there are.
fn list_some(list: &[String], most: usize) -> String {
    let shown = list[..list.len().min(most)].join(", ");
    match list.len().saturating_sub(most) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

#[cfg(test)]
mod signature_tests;
#[cfg(test)]
mod tests;

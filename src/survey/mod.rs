//! The checked survey: shots in one frame with their roles, what was set aside and why.
//!
//! Invariant: every line of every point file is either a kept shot or a set-aside row with a reason; nothing is dropped
//! silently. Shots keep the file, line and point number they came with.

mod error;
mod file;
mod roles;
mod settings;
mod shot;

pub use error::SurveyError;
pub use file::{Column, ColumnsFrom, Delimiter, PointFile, Position, Record};
pub use roles::{CodeRead, Figure, Roles};
pub use settings::Settings;
pub use shot::{CheckAt, CheckShot, Fix, Quality, Role, SetAside, Shot, Survey};

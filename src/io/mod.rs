//! The only place with file access: [`read`] brings files in, [`write`](mod@write) takes results out, one file a format.
//!
//! Invariant: coordinates are in the local frame, metres, on our side of this door, and in the site frame's own unit or
//! in longitude and latitude on the other; a file is written whole or not at all.

pub mod feature;
pub mod read;
mod reason;
mod tin_layout;
pub mod write;

pub use feature::{Column, ColumnKind, Feature, Geometry, GeometryKind, Layer, Value};
pub(crate) use reason::of_library;
pub use reason::reason;

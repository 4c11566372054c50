//! Writers: one file a format.
//!
//! Invariant: a file is written whole or not at all, and its bytes depend on nothing but what it holds: no clock, no
//! hash order, no machine.

pub mod atomic;
mod cell;
pub mod cloud;
mod context;
pub mod csv;
mod error;
pub mod geojson;
pub mod geopackage;
pub mod kml;
pub mod landxml;
mod packed_index;
mod ring;
pub mod rover;
pub mod tables;
pub mod tin;
mod xml;

pub use context::MapContext;
pub use error::WriteError;

//! Readers: one file a format.
//!
//! Invariant: a reader gives everything in a file or one error that names the file, the place in it, what was found and
//! what is accepted. Memory is bounded by what is really in the file, never by what a header claims.

pub mod cloud;
mod epochs;
mod error;
pub mod geoid;
pub mod geojson;
pub mod geopackage;
mod geotiff;
pub mod grid;
pub mod landxml;
pub mod level_book;
pub mod named;
mod nmea;
mod placing;
pub mod points;
mod position_log;
mod shape;
mod spreadsheet;
pub mod tin;

pub use error::ReadError;
pub use shape::Shape;

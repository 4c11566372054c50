//! Writers: one file a format.
//!
//! Invariant: a file is written whole or not at all, and its bytes depend on nothing but what it holds: no clock, no
//! hash order, no machine.

pub mod atomic;
mod error;

pub use error::WriteError;

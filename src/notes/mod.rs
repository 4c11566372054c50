//! What the library tells beside its results: notes, events, and the wish to stop.
//!
//! Invariant: the library never prints and never reads the terminal. A warning travels as a [`Note`] in a [`Noted`]
//! value; progress travels as an [`Event`] to a [`Reporter`], which may also ask the work to stop.

mod event;
mod note;
mod work;

pub use event::{Cancelled, Event, Recorder, Reporter, Silent};
pub use note::{Note, Noted, Place, Tidings};
pub use work::{each, each_told, in_blocks};

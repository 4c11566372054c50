//! The three states of earth and how one becomes another.
//!
//! Invariant: bank (in place), loose (in the bucket) and placed (in the fill) volumes are three types and convert only
//! through a [`Soil`] and a [`Placement`]; there is no `From`. Factors carry their source.

mod placement;
mod volume;

pub use placement::{Placement, Soil};
pub use volume::{BankVolume, LooseVolume, PlacedVolume};

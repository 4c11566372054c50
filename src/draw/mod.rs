//! Drawings: one scene in paper millimetres for every format, and the builders of plan, section, profile and stake.
//!
//! Invariant: the same input draws the same bytes; every text from the field is data and is escaped on the way out;
//! meaning is in hatching, line style and shape, so a grey print says all that a screen does.

mod figures;
mod scene;
mod svg;
mod words;

pub use figures::{FeetStyle, Figures};
pub use scene::{Anchor, Fill, Hatch, Item, Pen, Scene, Shape, Spot, Text};
pub use svg::{escape, svg};
pub use words::{Region, Words};

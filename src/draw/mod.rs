//! Drawings: one scene in paper millimetres for every format, and the builders of plan, section, profile and stake.
//!
//! Invariant: the same input draws the same bytes; every text from the field is data and is escaped on the way out;
//! meaning is in hatching, line style and shape, so a grey print says all that a screen does.

mod base;
mod cloud_plan;
mod crossing;
mod cut;
mod drain;
#[cfg(test)]
pub(crate) mod hillside;
mod labels;
mod plan;
mod profile;
mod scene;
mod section;
mod spillway;
mod stake;
mod survey_plan;
mod svg;
mod view;
mod wall;
mod words;

pub use cloud_plan::{cloud_plan, surface_plan};
pub use crossing::crossing_sections;
pub use cut::pit_sections;
pub use drain::{drain_profile, drain_section};
pub use plan::{PlanInput, plan_pieces, service_runs, site_plan, spillway_plan};
pub use profile::{ground_section, long_section};
pub use scene::{Anchor, Fill, Hatch, Item, Pen, Scene, Shape, Spot, Text};
pub use section::{batter_words, capital, sill_section, typical_sections};
pub use spillway::{outlet_profile, outlet_section};
pub use stake::{StakeFaces, stake_drawing};
pub use survey_plan::survey_plan;
pub use svg::{escape, svg};
pub use wall::{wall_profile, wall_section};
pub use words::{Region, Words};

//! swalewright: from field shots to stakes for water-harvesting earthworks.

pub mod asbuilt;
pub mod draw;
pub mod earth;
pub mod frame;
pub mod geom;
pub mod ground;
pub mod io;
pub mod notes;
pub mod pipeline;
pub mod sheet;
pub mod soil;
pub mod sources;
pub mod stakeout;
pub mod stats;
pub mod surface;
pub mod survey;
pub mod units;
pub mod water;
pub mod works;

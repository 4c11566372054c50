//! The site's frame: its horizontal system, its unit, and the local frame that the library computes in.
//!
//! Invariant: local = (frame coordinate in metres) - origin, and the origin is whole hundreds of metres, so that going
//! there and back changes nothing that three decimals can show. PROJ stands behind the conversions to longitude and
//! latitude and is never allowed to guess: no approximate ("ballpark") change of datum, no place outside the frame's
//! area of use, no heights.

mod definition;
mod ellipsoid;
mod error;
pub mod fit;
mod geoid;
mod grid_factor;
mod projector;
mod site;

pub use definition::{AreaOfUse, FrameDefinition, resolve};
pub use ellipsoid::Ellipsoid;
pub use error::FrameError;
pub use geoid::{GeoidGrid, Geoids, GridLayout};
pub use grid_factor::{GridFactor, grid_factor};
pub use projector::{Geographic, Projector};
pub use site::{HEIGHT_NOT_SAID, SiteFrame};

//! One surface laid on another, only where it belongs: raising a berm or a wall, digging a channel or a pond.
//!
//! The result is the roof (or the bowl) inside its footprint and the surface everywhere else. The footprint is every
//! connected part of {roof above surface} that a seed touches; a second hump beyond a gully is left alone. Where the two
//! differ by less than [`SAME`] they count as the same and the surface rules.
//!
//! Method, in three steps that each end on the lattice: (1) the edges of both surfaces, as far as they can matter, are
//! noded and triangulated, so that the difference is linear in each triangle ([`arrangement`]); (2) a flood over the
//! positive parts from the seeds gives the footprint and its rim, the daylight line ([`footprint`]); (3) the surface's
//! triangles that the footprint touches, and one ring round them, are made anew from the surface's edges outside, the
//! roof's creases inside and the daylight line, and sewn in by vertex ([`stitch`]). The greatest difference between the
//! result and the exact envelope is measured and told.

mod arrangement;
mod footprint;
mod heights;
mod reach;
mod stitch;

use super::{Tin, TinError};
use crate::geom::{Point, Point3, Polygon};
use arrangement::Arrangement;
use footprint::Footprint;

/// Surfaces closer than this count as one, metres. Ten lattice steps: a vertex may stand half a step off the edge it
/// belongs to, so heights of faces that are the same by design differ by a step's worth of slope, and a little more
/// after each piece laid on.
const SAME: f64 = 1e-5;

/// A surface after something was laid on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Composed {
    /// The whole surface.
    pub tin: Tin,
    /// Where it changed. Empty when the seeds touch no part of the roof that lies above the surface.
    pub footprint: Vec<Polygon>,
    /// The rims of the footprint on the surface, closed (the first vertex is not repeated): for each polygon its outer
    /// ring, then its holes.
    pub daylight: Vec<Vec<Point3>>,
    /// The greatest measured difference between the result and the exact envelope, metres.
    pub largest_difference: f64,
}

/// Why one surface could not be laid on another. Places are local metres.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ComposeError {
    /// No seed lies on both surfaces.
    #[error("the design surface and the ground have no place in common at x {x:.3}, y {y:.3} (local metres)")]
    NothingThere {
        /// Place of the first seed.
        x: f64,
        /// Place of the first seed.
        y: f64,
    },
    /// The roof or bowl ends before it meets the surface.
    #[error(
        "the design surface ends at x {x:.3}, y {y:.3} (local metres) before it meets the ground: extend its sides"
    )]
    RoofTooShort {
        /// Where.
        x: f64,
        /// Where.
        y: f64,
    },
    /// The footprint reaches the rim of the surface.
    #[error("the work reaches the edge of the surveyed ground at x {x:.3}, y {y:.3} (local metres)")]
    LeavesSurvey {
        /// Where.
        x: f64,
        /// Where.
        y: f64,
    },
    /// The meshes could not be joined.
    #[error(transparent)]
    Mesh(#[from] TinError),
}

/// Which way the second surface changes the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Up,
    Down,
}

/// Raises the surface to the roof in every connected part of {roof above surface} that a seed touches.
///
/// Both surfaces stand on the lattice. The roof must reach below the surface all round: extend its sides far enough.
/// Where it is nowhere above the surface at a seed, nothing changes and the footprint is empty.
///
/// # Errors
/// [`ComposeError`] with the place.
pub fn raise(surface: &Tin, roof: &Tin, seeds: &[Point]) -> Result<Composed, ComposeError> {
    compose(surface, roof, seeds, Way::Up)
}

/// Lowers the surface to the bowl in every connected part of {bowl below surface} that a seed touches; otherwise as
/// [`raise`].
///
/// # Errors
/// [`ComposeError`] with the place.
pub fn dig(surface: &Tin, bowl: &Tin, seeds: &[Point]) -> Result<Composed, ComposeError> {
    compose(surface, bowl, seeds, Way::Down)
}

/// How far the roof lies on its own side of the surface.
fn difference([surface, roof]: [f64; 2], way: Way) -> f64 {
    match way {
        Way::Up => roof - surface,
        Way::Down => surface - roof,
    }
}

fn compose(surface: &Tin, roof: &Tin, seeds: &[Point], way: Way) -> Result<Composed, ComposeError> {
    let unchanged =
        || Composed { tin: surface.clone(), footprint: Vec::new(), daylight: Vec::new(), largest_difference: 0.0 };
    let Some(&first) = seeds.first() else { return Ok(unchanged()) };
    let arrangement =
        Arrangement::new(surface, roof, seeds, way)?.ok_or(ComposeError::NothingThere { x: first.x, y: first.y })?;
    let footprint = Footprint::new(&arrangement, seeds)?;
    if footprint.is_empty() {
        return Ok(unchanged());
    }
    stitch::stitch(surface, &arrangement, &footprint)
}

#[cfg(test)]
#[path = "compose_tests.rs"]
mod tests;

//! The ground from a survey: a constrained TIN with its breaklines and boundary.

use crate::frame::SiteFrame;
use crate::surface::Tin;

/// Natural ground as surveyed, in the local frame of its site.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// The triangulated surface.
    pub tin: Tin,
    /// The frame its local coordinates belong to.
    pub frame: SiteFrame,
    /// Median distance between neighbouring points, metres.
    pub spacing: f64,
}

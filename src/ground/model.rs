//! The ground and what can be asked of it.

use crate::frame::SiteFrame;
use crate::geom::{Point, Point3, Polyline};
use crate::surface::{ContourLine, Locator, ProfilePoint, Tin, contour, profile};

/// Natural ground as surveyed, in the local frame of its site.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// The triangulated surface.
    pub tin: Tin,
    /// The frame its local coordinates belong to.
    pub frame: SiteFrame,
    /// Median length of the edges between neighbouring points off the breaklines, metres.
    pub spacing: f64,
}

/// The ground in figures, for `ground.json` and the screen.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct GroundFigures {
    /// Vertices.
    pub points: usize,
    /// Triangles.
    pub triangles: usize,
    /// Area in plan.
    pub plan_area_m2: f64,
    /// Lowest vertex.
    pub lowest_m: f64,
    /// Highest vertex.
    pub highest_m: f64,
    /// Mean slope, weighted by plan area, percent.
    pub mean_slope_percent: f64,
    /// Median distance between neighbouring points.
    pub spacing_m: f64,
    /// Length of the edges that are breaklines.
    pub breakline_length_m: f64,
}

impl Ground {
    /// Answers elevation and slope at many places; make it once.
    #[must_use]
    pub fn locator(&self) -> Locator<'_> {
        Locator::new(&self.tin)
    }

    /// Slope at a place in metres of rise per metre, in the steepest direction; `None` outside. For many places use
    /// [`Self::locator`].
    #[must_use]
    pub fn slope(&self, place: Point) -> Option<f64> {
        self.locator().gradient(place).map(crate::geom::Vector::length)
    }

    /// The contour lines at an elevation in metres, higher ground on their left.
    #[must_use]
    pub fn contour(&self, level: f64) -> Vec<ContourLine> {
        contour(&self.tin, level)
    }

    /// The ground along a line: a point wherever it bends or crosses an edge of the surface.
    #[must_use]
    pub fn profile(&self, line: &Polyline) -> Vec<ProfilePoint> {
        profile(&self.locator(), line)
    }

    /// The ground in figures.
    #[must_use]
    pub fn figures(&self) -> GroundFigures {
        let (lowest, highest) = self.tin.elevation_range().unwrap_or_default();
        let (mut area, mut sloped, mut breaks) = (0.0, 0.0, 0.0);
        for t in self.tin.ids() {
            let corners = self.tin.corners(t);
            let [a, b, c] = corners.map(Point3::plan);
            let plan = (b - a).cross(c - a) / 2.0;
            area += plan;
            sloped += plan * crate::surface::gradient(corners).length();
            for k in 0..3 {
                if self.tin.is_break(t, k) {
                    // An edge inside belongs to two triangles.
                    let share = if self.tin.neighbour(t, k).is_some() { 0.5 } else { 1.0 };
                    breaks += share * corners[k].plan().distance(corners[(k + 1) % 3].plan());
                }
            }
        }
        GroundFigures {
            points: self.tin.vertices().len(),
            triangles: self.tin.triangles().len(),
            plan_area_m2: self.tin.plan_area(),
            lowest_m: lowest,
            highest_m: highest,
            mean_slope_percent: if area > 0.0 { 100.0 * sloped / area } else { 0.0 },
            spacing_m: self.spacing,
            breakline_length_m: breaks,
        }
    }
}

//! The ground and what can be asked of it.

use crate::frame::SiteFrame;
use crate::geom::{Point, Point3, Polyline, Vector, area_of_ring, segments_cross};
use crate::surface::{
    ContourLine, Locator, ProfilePoint, Stage, Tin, below, contour, contours_every, holes, profile, rims,
};

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

/// The nearest place on a breakline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnBreakline {
    /// How far it is in plan, metres.
    pub distance: f64,
    /// The place, with the breakline's elevation.
    pub foot: Point3,
}

/// The way that a slope falls, radians clockwise from north (0 to 2 pi), from its gradient; `None` when it is level.
#[must_use]
pub fn aspect(gradient: Vector) -> Option<f64> {
    let down = -gradient;
    (down.length() > 0.0).then(|| down.x.atan2(down.y).rem_euclid(std::f64::consts::TAU))
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
    /// Holes inside.
    pub holes: usize,
    /// Their area.
    pub holes_area_m2: f64,
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
        self.locator().gradient(place).map(Vector::length)
    }

    /// Elevation at a place, metres; `None` outside. For many places use [`Self::locator`], along a path its
    /// [`Walker`](crate::surface::Walker).
    #[must_use]
    pub fn elevation(&self, place: Point) -> Option<f64> {
        self.locator().elevation(place)
    }

    /// The way that the ground falls at a place, radians clockwise from north (0 to 2 pi); `None` outside and where it is
    /// level.
    #[must_use]
    pub fn aspect(&self, place: Point) -> Option<f64> {
        self.locator().gradient(place).and_then(aspect)
    }

    /// The contour lines at an elevation in metres, higher ground on their left.
    #[must_use]
    pub fn contour(&self, level: f64) -> Vec<ContourLine> {
        contour(&self.tin, level)
    }

    /// The contour lines at every whole multiple of an interval in metres (above zero), from the lowest.
    ///
    /// # Panics
    /// When the interval is not above zero: the caller's fault.
    #[must_use]
    pub fn contours(&self, interval: f64) -> Vec<(f64, Vec<ContourLine>)> {
        contours_every(&self.tin, interval)
    }

    /// The ground along a line: a point wherever it bends or crosses an edge of the surface.
    #[must_use]
    pub fn profile(&self, line: &Polyline) -> Vec<ProfilePoint> {
        profile(&self.locator(), line)
    }

    /// The ground across a line at a station, from `left` metres on its left to `right` metres on its right; `None` when
    /// the section has no length.
    #[must_use]
    pub fn section(&self, line: &Polyline, station: f64, left: f64, right: f64) -> Option<Vec<ProfilePoint>> {
        let (middle, along) = (line.at(station), line.direction(station));
        let across = Polyline::new(vec![middle + along.left() * left, middle + along.left() * -right])?;
        Some(self.profile(&across))
    }

    /// Plan area, square metres, and volume, cubic metres, between the ground and an elevation above it, wherever that is;
    /// what drains is counted too (see [`standing`](crate::surface::standing) for what stands).
    #[must_use]
    pub fn below(&self, level: f64) -> Stage {
        below(&self.tin, level)
    }

    /// The nearest place on a breakline; `None` without breaklines.
    #[must_use]
    pub fn nearest_breakline(&self, place: Point) -> Option<OnBreakline> {
        let edges = self.tin.ids().flat_map(|t| (0..3).map(move |k| (t, k))).filter(|&(t, k)| self.tin.is_break(t, k));
        let feet = edges.map(|(t, k)| {
            let corners = self.tin.corners(t);
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let along = b.plan() - a.plan();
            let part = ((place - a.plan()).dot(along) / along.dot(along)).clamp(0.0, 1.0);
            let foot = a.plan().towards(b.plan(), part).at(a.z + part * (b.z - a.z));
            OnBreakline { distance: foot.plan().distance(place), foot }
        });
        feet.min_by(|p, q| p.distance.total_cmp(&q.distance))
    }

    /// Stations at which a line crosses a breakline to which the ground falls from both sides, as a gully's flow line: steeper
    /// than 2 % towards it on either, so that a kink in a slope is none.
    #[must_use]
    pub fn folds_across(&self, line: &Polyline) -> Vec<f64> {
        const LEAST: f64 = 0.02;
        let towards = |t, from: Point, to: Point| {
            let corners = self.tin.corners(t);
            let along = to - from;
            let inward = Vector::new(-along.y, along.x) * (1.0 / along.length());
            let middle = (corners[0].plan() - from) + (corners[1].plan() - from) + (corners[2].plan() - from);
            crate::surface::gradient(corners).dot(inward) * inward.dot(middle).signum()
        };
        let mut stations = Vec::new();
        for t in self.tin.ids() {
            for k in (0..3).filter(|&k| self.tin.is_break(t, k)) {
                let Some(beyond) = self.tin.neighbour(t, k).filter(|&beyond| t < beyond) else { continue };
                let corners = self.tin.corners(t);
                let (from, to) = (corners[k].plan(), corners[(k + 1) % 3].plan());
                if towards(t, from, to) < LEAST || towards(beyond, from, to) < LEAST {
                    continue;
                }
                let pieces = line.points().windows(2).zip(line.stations());
                stations.extend(pieces.filter(|(piece, _)| segments_cross(piece[0], piece[1], from, to)).map(
                    |(piece, station)| {
                        let (along, edge) = (piece[1] - piece[0], to - from);
                        station + along.length() * (from - piece[0]).cross(edge) / along.cross(edge)
                    },
                ));
            }
        }
        stations.sort_unstable_by(f64::total_cmp);
        stations
    }

    /// What the nearest rim of the ground is, in words: the edge of the survey, or a hole with its area.
    #[must_use]
    pub fn edge_near(&self, place: Point) -> String {
        let away = |ring: &[Point]| {
            let closed = Polyline::new(ring.iter().chain(ring.first()).copied().collect());
            closed.map_or(f64::INFINITY, |rim| rim.foot(place).point.distance(place))
        };
        let nearest = rims(&self.tin).into_iter().min_by(|a, b| away(a).total_cmp(&away(b)));
        match nearest.map(|ring| area_of_ring(&ring)) {
            Some(area) if area < 0.0 => format!("a hole of {:.0} m2 in the ground", -area),
            _ => "the edge of the survey".to_owned(),
        }
    }

    /// Where a place without ground lies, in words: in a hole, with its area, or off the survey.
    #[must_use]
    pub fn beyond(&self, place: Point) -> String {
        let around = |ring: &Vec<Point>| area_of_ring(ring) < 0.0 && crate::geom::contains(ring, place);
        match rims(&self.tin).iter().find(|ring| around(ring)) {
            Some(ring) => format!("in a hole of {:.0} m2 in the ground", -area_of_ring(ring)),
            None => "off the survey".to_owned(),
        }
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
        let holes = holes(&self.tin);
        GroundFigures {
            points: self.tin.vertices().len(),
            triangles: self.tin.triangles().len(),
            plan_area_m2: self.tin.plan_area(),
            lowest_m: lowest,
            highest_m: highest,
            mean_slope_percent: if area > 0.0 { 100.0 * sloped / area } else { 0.0 },
            spacing_m: self.spacing,
            breakline_length_m: breaks,
            holes: holes.len(),
            holes_area_m2: holes.iter().map(|hole| hole.area).sum(),
        }
    }
}

#[cfg(test)]
impl Ground {
    /// Ground through points, on a site grid, for tests.
    pub(crate) fn of_points(points: &[crate::geom::Point3]) -> Self {
        let tin = crate::surface::triangulate(points, &[]).expect("points of a ground").tin;
        Self { tin, frame: SiteFrame::site_grid(), spacing: 10.0 }
    }
}

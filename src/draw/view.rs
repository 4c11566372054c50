//! From ground metres to paper millimetres: a window of the site at a round scale, and clipping to it.
//!
//! Invariant: north is up, both directions have one scale, and nothing is drawn outside the window.

use super::scene::{Fill, Pen, Scene, Spot};
use crate::geom::{Bounds, Point, Polygon};

/// Round scales, one to so many.
const SCALES: [f64; 16] = [
    50.0, 100.0, 200.0, 250.0, 500.0, 750.0, 1000.0, 1500.0, 2000.0, 2500.0, 4000.0, 5000.0, 7500.0, 10_000.0,
    20_000.0, 50_000.0,
];

/// A window of the ground on the paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    /// What of the ground is seen, local metres.
    pub(super) window: Bounds,
    /// The paper is this many times smaller than the ground.
    pub(super) one_to: f64,
    /// Lower left corner of the window on the paper.
    pub(super) corner: Spot,
}

impl View {
    /// The largest round scale at which `wanted` fits a box `width` wide and at most `height` high, its lower left
    /// corner at `corner`. The window is grown to the box's width and to at least `least_height`.
    pub(super) fn fit(wanted: Bounds, corner: Spot, width: f64, least_height: f64, height: f64) -> Self {
        let fits =
            |one_to: f64| wanted.width() * 1000.0 / one_to <= width && wanted.height() * 1000.0 / one_to <= height;
        let one_to = SCALES.into_iter().find(|&one_to| fits(one_to)).unwrap_or_else(|| {
            let least = (wanted.width() / width).max(wanted.height() / height) * 1000.0;
            (least / 50_000.0).ceil() * 50_000.0
        });
        let grow = |low: f64, high: f64, to: f64| {
            let more = ((to * one_to / 1000.0) - (high - low)).max(0.0) / 2.0;
            (low - more, high + more)
        };
        let (west, east) = grow(wanted.low.x, wanted.high.x, width);
        let (south, north) = grow(wanted.low.y, wanted.high.y, least_height);
        Self { window: Bounds { low: Point::new(west, south), high: Point::new(east, north) }, one_to, corner }
    }

    /// Millimetres of paper for one metre of ground.
    pub(super) fn millimetres_a_metre(&self) -> f64 {
        1000.0 / self.one_to
    }

    /// Width of the window on the paper.
    pub(super) fn width(&self) -> f64 {
        self.window.width() * self.millimetres_a_metre()
    }

    /// Height of the window on the paper.
    pub(super) fn height(&self) -> f64 {
        self.window.height() * self.millimetres_a_metre()
    }

    /// Where a place stands on the paper.
    pub(super) fn spot(&self, place: Point) -> Spot {
        let step = place - self.window.low;
        let scale = self.millimetres_a_metre();
        self.corner.moved(step.x * scale, step.y * scale)
    }

    /// The place on the ground that lies at a spot of the paper.
    pub(super) fn place(&self, spot: Spot) -> Point {
        let metres = 1.0 / self.millimetres_a_metre();
        let low = self.window.low;
        Point::new(low.x + (spot.x - self.corner.x) * metres, low.y + (spot.y - self.corner.y) * metres)
    }

    /// True when the place is in the window.
    pub(super) fn shows(&self, place: Point) -> bool {
        self.window.contains(place)
    }

    /// The pieces of a line that the window shows, on the paper.
    pub(super) fn pieces(&self, points: &[Point], closed: bool) -> Vec<Vec<Spot>> {
        clip_line(points, closed, self.window)
            .into_iter()
            .map(|piece| piece.into_iter().map(|p| self.spot(p)).collect())
            .collect()
    }

    /// Draws what the window shows of a line.
    pub(super) fn line(&self, scene: &mut Scene, points: &[Point], closed: bool, pen: Pen) {
        for piece in self.pieces(points, closed) {
            scene.line(piece, pen);
        }
    }

    /// Draws what the window shows of an area.
    pub(super) fn area(&self, scene: &mut Scene, polygon: &Polygon, fill: Option<Fill>, outline: Option<Pen>) {
        let ring = |ring: &Vec<Point>| -> Vec<Spot> {
            clip_ring(ring, self.window).into_iter().map(|p| self.spot(p)).collect()
        };
        let rings = std::iter::once(&polygon.outer).chain(&polygon.holes).map(ring).collect();
        scene.area(rings, fill, None);
        // The outline is clipped as a line, so that the window's edge is not drawn as an edge of the work.
        if let Some(pen) = outline {
            for ring in std::iter::once(&polygon.outer).chain(&polygon.holes) {
                self.line(scene, ring, true, pen);
            }
        }
    }
}

/// The pieces of a line inside a box.
fn clip_line(points: &[Point], closed: bool, window: Bounds) -> Vec<Vec<Point>> {
    let mut pieces: Vec<Vec<Point>> = Vec::new();
    let last = if closed && points.len() > 1 { points.len() } else { points.len().saturating_sub(1) };
    for i in 0..last {
        let Some((from, to)) = clip_segment(points[i], points[(i + 1) % points.len()], window) else { continue };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&from) => piece.push(to),
            _ => pieces.push(vec![from, to]),
        }
    }
    pieces
}

/// The part of a segment inside a box (Liang and Barsky's parametric clip, 1984, from memory).
fn clip_segment(a: Point, b: Point, window: Bounds) -> Option<(Point, Point)> {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    let edges =
        [(-dx, a.x - window.low.x), (dx, window.high.x - a.x), (-dy, a.y - window.low.y), (dy, window.high.y - a.y)];
    for (towards, room) in edges {
        if towards == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if towards < 0.0 {
            enter = enter.max(room / towards);
        } else {
            leave = leave.min(room / towards);
        }
    }
    if enter >= leave {
        return None;
    }
    let from = if enter == 0.0 { a } else { a.towards(b, enter) };
    let to = if leave == 1.0 { b } else { a.towards(b, leave) };
    Some((from, to))
}

/// The part of a ring inside a box, edge by edge of the box (Sutherland and Hodgman, 1974, from memory). A ring that
/// leaves and returns keeps a seam along the box's edge, which an even-odd fill does not show.
fn clip_ring(ring: &[Point], window: Bounds) -> Vec<Point> {
    type Inside = fn(Point, Bounds) -> f64;
    let edges: [Inside; 4] = [|p, w| p.x - w.low.x, |p, w| w.high.x - p.x, |p, w| p.y - w.low.y, |p, w| w.high.y - p.y];
    let mut ring = ring.to_vec();
    for inside in edges {
        let mut kept = Vec::with_capacity(ring.len() + 4);
        for (i, &here) in ring.iter().enumerate() {
            let next = ring[(i + 1) % ring.len()];
            let (a, b) = (inside(here, window), inside(next, window));
            if a >= 0.0 {
                kept.push(here);
            }
            if (a >= 0.0) != (b >= 0.0) {
                kept.push(here.towards(next, a / (a - b)));
            }
        }
        ring = kept;
    }
    ring
}

/// A round step (1, 2 or 5 times a power of ten) that cuts `span` into at most `most` parts.
pub(super) fn round_step(span: f64, most: f64) -> f64 {
    let least = span / most;
    let power = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|&step| step >= least * 0.999_999).unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::area_of_ring;

    const BOX: Bounds = Bounds { low: Point::new(0.0, 0.0), high: Point::new(10.0, 10.0) };

    #[test]
    fn a_line_through_the_window_keeps_its_inside() {
        let line = [Point::new(-5.0, 5.0), Point::new(5.0, 5.0), Point::new(5.0, 15.0), Point::new(8.0, 5.0)];
        let pieces = clip_line(&line, false, BOX);
        assert_eq!(pieces.len(), 2);
        assert_eq!(pieces[0], [Point::new(0.0, 5.0), Point::new(5.0, 5.0), Point::new(5.0, 10.0)]);
        assert_eq!(pieces[1].last(), Some(&Point::new(8.0, 5.0)));
    }

    #[test]
    fn a_ring_over_the_corner_keeps_its_quarter() {
        let ring = [Point::new(5.0, 5.0), Point::new(15.0, 5.0), Point::new(15.0, 15.0), Point::new(5.0, 15.0)];
        assert!((area_of_ring(&clip_ring(&ring, BOX)).abs() - 25.0).abs() < 1e-12);
        assert!(clip_ring(&[Point::new(20.0, 0.0), Point::new(30.0, 0.0), Point::new(30.0, 9.0)], BOX).is_empty());
    }

    #[test]
    fn a_view_takes_the_largest_round_scale_and_north_is_up() {
        let wanted = Bounds { low: Point::new(0.0, 0.0), high: Point::new(90.0, 40.0) };
        let view = View::fit(wanted, Spot::new(0.0, 0.0), 190.0, 50.0, 200.0);
        assert_eq!(view.one_to, 500.0);
        assert!((view.width() - 190.0).abs() < 1e-9);
        assert!(view.spot(Point::new(0.0, 40.0)).y > view.spot(Point::new(0.0, 0.0)).y);
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(round_step(95.0, 10.0), 10.0);
        assert_eq!(round_step(190.0, 10.0), 20.0);
        assert!((round_step(0.9, 10.0) - 0.1).abs() < 1e-12);
    }
}

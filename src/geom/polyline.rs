//! A polyline with station along it and offset to its left.
//!
//! Invariant: at least two vertices, no two neighbours the same, so stations strictly increase. Units: metres.

use super::{Bounds, Point, Vector};

/// A line of straight pieces with the station of each vertex.
#[derive(Debug, Clone, PartialEq)]
pub struct Polyline {
    points: Vec<Point>,
    stations: Vec<f64>,
}

/// The nearest place on a line to some point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    /// Distance along the line, metres.
    pub station: f64,
    /// Distance from the line, positive to the left, metres.
    pub offset: f64,
    /// The place on the line.
    pub point: Point,
}

impl Polyline {
    /// A line through points; neighbours in the same place are joined. `None` when fewer than two places are left.
    #[must_use]
    pub fn new(points: Vec<Point>) -> Option<Self> {
        let mut points = points;
        points.dedup();
        if points.len() < 2 {
            return None;
        }
        let mut stations = Vec::with_capacity(points.len());
        let mut station = 0.0;
        stations.push(station);
        for pair in points.windows(2) {
            station += pair[0].distance(pair[1]);
            stations.push(station);
        }
        Some(Self { points, stations })
    }

    /// The vertices.
    #[must_use]
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// The station of each vertex, metres.
    #[must_use]
    pub fn stations(&self) -> &[f64] {
        &self.stations
    }

    /// Its length, metres.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.stations[self.stations.len() - 1]
    }

    /// The first vertex.
    #[must_use]
    pub fn first(&self) -> Point {
        self.points[0]
    }

    /// The last vertex.
    #[must_use]
    pub fn last(&self) -> Point {
        self.points[self.points.len() - 1]
    }

    /// The box around it.
    ///
    /// # Panics
    /// Never: a polyline has vertices.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        Bounds::around(self.points.iter().copied()).unwrap_or(Bounds { low: self.first(), high: self.first() })
    }

    /// The piece that holds a station (clamped to the line).
    fn piece(&self, station: f64) -> usize {
        self.stations.partition_point(|&s| s <= station).clamp(1, self.points.len() - 1) - 1
    }

    /// The place at a station; beyond the ends it goes straight on.
    #[must_use]
    pub fn at(&self, station: f64) -> Point {
        let i = self.piece(station);
        let part = (station - self.stations[i]) / (self.stations[i + 1] - self.stations[i]);
        self.points[i].towards(self.points[i + 1], part)
    }

    /// The unit direction at a station: the piece's own, or at a vertex the mean of both pieces.
    #[must_use]
    pub fn direction(&self, station: f64) -> Vector {
        let i = self.piece(station);
        let here = (self.points[i + 1] - self.points[i]).unit();
        if i > 0 && station <= self.stations[i] {
            let before = (self.points[i] - self.points[i - 1]).unit();
            return (before + here).unit();
        }
        here
    }

    /// The place at a station and an offset to the left.
    #[must_use]
    pub fn at_offset(&self, station: f64, offset: f64) -> Point {
        self.at(station) + self.direction(station).left() * offset
    }

    /// The nearest place on the line; beyond the ends the end itself.
    #[must_use]
    pub fn foot(&self, point: Point) -> Foot {
        let mut best: Option<(f64, Foot)> = None;
        for (i, pair) in self.points.windows(2).enumerate() {
            let along = pair[1] - pair[0];
            let length = self.stations[i + 1] - self.stations[i];
            let part = ((point - pair[0]).dot(along) / (length * length)).clamp(0.0, 1.0);
            let place = pair[0].towards(pair[1], part);
            let distance = place.distance(point);
            if best.is_none_or(|(least, _)| distance < least) {
                let sign = if along.cross(point - pair[0]) >= 0.0 { 1.0 } else { -1.0 };
                let foot = Foot { station: self.stations[i] + part * length, offset: sign * distance, point: place };
                best = Some((distance, foot));
            }
        }
        best.map_or(Foot { station: 0.0, offset: 0.0, point: self.first() }, |(_, foot)| foot)
    }

    /// The part between two stations, clamped to the line; `None` when it has no length.
    #[must_use]
    pub fn between(&self, from: f64, to: f64) -> Option<Self> {
        let (from, to) = (from.max(0.0), to.min(self.length()));
        if to <= from {
            return None;
        }
        let mut points = vec![self.at(from)];
        points.extend(
            self.stations.iter().zip(&self.points).filter(|&(&s, _)| s > from && s < to).map(|(_, &point)| point),
        );
        points.push(self.at(to));
        Self::new(points)
    }

    /// The value at a station between values at its vertices, in a straight line between two of them.
    ///
    /// # Panics
    /// When there are not as many values as vertices: the caller's fault.
    #[must_use]
    pub fn interpolated(&self, values: &[f64], station: f64) -> f64 {
        let stations = self.stations();
        assert_eq!(values.len(), stations.len(), "a value a vertex");
        let after = stations.partition_point(|&s| s < station).clamp(1, stations.len() - 1);
        let (from, to) = (stations[after - 1], stations[after]);
        let part = ((station - from) / (to - from)).clamp(0.0, 1.0);
        values[after - 1] + part * (values[after] - values[after - 1])
    }

    /// The same line the other way round.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let mut points = self.points.clone();
        points.reverse();
        let length = self.length();
        let stations = self.stations.iter().rev().map(|s| length - s).collect();
        Self { points, stations }
    }

    /// The same line with places between its own, so that no piece is longer than `step`.
    ///
    /// # Panics
    /// When `step` is not above zero.
    #[must_use]
    pub fn with_steps(&self, step: f64) -> Self {
        assert!(step > 0.0, "a step must be above zero, got {step}");
        let mut points = vec![self.first()];
        for pair in self.points.windows(2) {
            let pieces = (pair[0].distance(pair[1]) / step).ceil().max(1.0);
            let mut k = 1.0;
            while k < pieces {
                points.push(pair[0].towards(pair[1], k / pieces));
                k += 1.0;
            }
            points.push(pair[1]);
        }
        Self::new(points).unwrap_or_else(|| self.clone())
    }

    /// Points at even steps of at most `spacing`, both ends kept.
    ///
    /// # Panics
    /// When `spacing` is not above zero.
    #[must_use]
    pub fn resampled(&self, spacing: f64) -> Self {
        assert!(spacing > 0.0, "spacing must be above zero, got {spacing}");
        let steps = (self.length() / spacing).ceil().max(1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a count of steps, bounded by the line's length"
        )]
        let count = steps as usize;
        let points = (0..=count)
            .map(|i| {
                if i == count {
                    self.last()
                } else {
                    #[expect(clippy::cast_precision_loss, reason = "a small count")]
                    let share = i as f64 / steps;
                    self.at(self.length() * share)
                }
            })
            .collect();
        Self::new(points).unwrap_or_else(|| self.clone())
    }

    /// The least radius of the circle through three following vertices, metres, and the station of the middle one;
    /// infinite for a straight line.
    #[must_use]
    pub fn least_radius(&self) -> (f64, f64) {
        self.points.windows(3).enumerate().fold((f64::INFINITY, 0.0), |least, (i, trio)| {
            let radius = radius_through(trio[0], trio[1], trio[2]);
            if radius < least.0 { (radius, self.stations[i + 1]) } else { least }
        })
    }
}

/// Radius of the circle through three places; infinite when they stand in line.
pub(crate) fn radius_through(a: Point, b: Point, c: Point) -> f64 {
    let doubled_area = (b - a).cross(c - a).abs();
    if doubled_area == 0.0 {
        return f64::INFINITY;
    }
    a.distance(b) * b.distance(c) * c.distance(a) / (2.0 * doubled_area)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn station_and_offset_of_a_corner() {
        let line = Polyline::new(vec![Point::new(0.0, 0.0), Point::new(10.0, 0.0), Point::new(10.0, 5.0)]).unwrap();
        assert_eq!(line.length(), 15.0);
        let foot = line.foot(Point::new(4.0, 2.0));
        assert_eq!((foot.station, foot.offset), (4.0, 2.0));
        let foot = line.foot(Point::new(12.0, 3.0));
        assert_eq!((foot.station, foot.offset), (13.0, -2.0));
        assert_eq!(line.at_offset(4.0, 2.0), Point::new(4.0, 2.0));
        assert_eq!(line.at(20.0), Point::new(10.0, 10.0), "goes straight on");
    }

    #[test]
    fn least_radius_of_a_circle() {
        let points = (0..=90).map(|i| f64::from(i).to_radians()).map(|t| Point::new(7.0 * t.cos(), 7.0 * t.sin()));
        let (radius, _) = Polyline::new(points.collect()).unwrap().least_radius();
        assert!((radius - 7.0).abs() < 1e-9);
    }
}

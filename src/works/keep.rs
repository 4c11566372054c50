//! Where a line may not run: round what must stay, and beyond the region it was given.
//!
//! Invariant: a place that nothing pushes is inside the region and clear of every obstacle by the distance asked for.

use crate::geom::{Point, Polygon, Polyline, Vector};

/// How far off a place must be that is pushed, metres: a push of nothing says nothing.
const LEAST: f64 = 1e-6;

/// Pushes less than this are not worth another round, metres.
const HAIR: f64 = 0.02;

/// What a line keeps clear of.
#[derive(Debug, Clone, Default)]
pub(super) struct Keep {
    obstacles: Vec<Polygon>,
    /// Metres between a line and an obstacle.
    clear: f64,
    region: Option<Polygon>,
}

/// When a way round an obstacle is too far off a line's level, and which part of the line is kept then.
#[derive(Debug, Clone, Copy)]
pub(super) struct Parting {
    /// Farthest that a way round may be off the level, metres.
    pub most: f64,
    /// True for the part that the line begins with, false for the longest.
    pub first: bool,
}

impl Parting {
    /// The part of a line that is kept: the longest run of places that are not near an obstacle, or the first.
    fn taken(self, points: &[Point], near: impl Fn(Point) -> bool) -> Option<Polyline> {
        let runs = points.split(|&place| near(place)).filter_map(|run| Polyline::new(run.to_vec()));
        if self.first {
            return runs.into_iter().next();
        }
        runs.reduce(|longest, run| if run.length() > longest.length() { run } else { longest })
    }
}

/// A line led round what must stay.
#[derive(Debug, Clone)]
pub(super) struct Led {
    pub line: Polyline,
    /// What was cut off each end that stood too near, metres.
    pub cut: [f64; 2],
    /// The obstacles that it ends before.
    pub blocked: Vec<Blocked>,
}

/// An obstacle that a line ends before.
#[derive(Debug, Clone, Copy)]
pub(super) struct Blocked {
    /// The end of the line before it.
    pub at: Point,
    /// How far off its level the best way round would be, metres; infinite where it leaves the survey.
    pub off: f64,
    /// Metres of line that are left out.
    pub left: f64,
}

impl Keep {
    pub(super) fn new(obstacles: &[Polygon], clear: f64, region: Option<&Polygon>) -> Self {
        Self { obstacles: obstacles.to_vec(), clear, region: region.cloned() }
    }

    /// The way out for a place that is too near to an obstacle or beyond the region; `None` for one that is not.
    pub(super) fn push(&self, place: Point) -> Option<Vector> {
        let mut push = Vector { x: 0.0, y: 0.0 };
        for obstacle in &self.obstacles {
            push = push + self.off(obstacle, place).unwrap_or(Vector { x: 0.0, y: 0.0 });
        }
        if let Some(region) = self.region.as_ref().filter(|region| !region.contains(place)) {
            push = push + (nearest(region, place).0 - place);
        }
        (push.length() > LEAST).then_some(push)
    }

    /// Which of some places are pushed by more than a hair.
    pub(super) fn pushed(&self, places: &[Point]) -> Vec<usize> {
        let hair = |push: Vector| push.length() > HAIR;
        places.iter().enumerate().filter(|&(_, &place)| self.push(place).is_some_and(hair)).map(|(i, _)| i).collect()
    }

    /// How far the worst of some places is pushed, metres.
    pub(super) fn farthest(&self, places: &[Point]) -> f64 {
        places.iter().filter_map(|&place| self.push(place)).map(Vector::length).fold(0.0, f64::max)
    }

    /// True where a line that runs here may be led round an obstacle: one stands within its distance and so much more.
    pub(super) fn beside(&self, place: Point, more: f64) -> bool {
        self.obstacles
            .iter()
            .any(|obstacle| nearest(obstacle, place).1 <= self.clear + more || obstacle.contains(place))
    }

    /// The way off an obstacle.
    fn off(&self, obstacle: &Polygon, place: Point) -> Option<Vector> {
        let inside = obstacle.contains(place);
        let bounds = obstacle.bounds()?.grown(self.clear);
        if !bounds.contains(place) {
            return None;
        }
        let (edge, distance) = nearest(obstacle, place);
        let outward = if inside { edge - place } else { place - edge };
        let missing = if inside { self.clear + distance } else { self.clear - distance };
        (missing > 0.0).then(|| outward.unit() * missing)
    }

    /// Metres kept between a line and an obstacle.
    pub(super) const fn clear(&self) -> f64 {
        self.clear
    }

    /// A line led round each obstacle that it comes too near to, on the side where it leaves its way least; ends that stand
    /// too near are cut off, and where no way round is good enough the line ends before the obstacle. `off` is how far a place
    /// is off the line's level, infinite where a line cannot run. `None` when nothing is left.
    pub(super) fn led_round(
        &self,
        line: &Polyline,
        step: f64,
        off: impl Fn(Point) -> f64,
        parting: Parting,
    ) -> Option<Led> {
        let mut led = Led { line: line.resampled(step), cut: [0.0; 2], blocked: Vec::new() };
        for obstacle in &self.obstacles {
            let near = |place: Point| self.off(obstacle, place).is_some();
            let points = led.line.points();
            let first = points.iter().position(|&p| !near(p))?;
            let last = points.iter().rposition(|&p| !near(p))?;
            let stations = led.line.stations();
            led.cut[0] += stations[first];
            led.cut[1] += led.line.length() - stations[last];
            let points = &points[first..=last];
            let (Some(enters), Some(leaves)) =
                (points.iter().position(|&p| near(p)), points.iter().rposition(|&p| near(p)))
            else {
                led.line = Polyline::new(points.to_vec())?;
                continue;
            };
            let round = self.round(obstacle);
            let (from, to) = (points[enters.saturating_sub(1)], points[(leaves + 1).min(points.len() - 1)]);
            let at = |place: Point| {
                let distance = |&(_, p): &(usize, &Point)| p.distance(place);
                round.iter().enumerate().min_by(|a, b| distance(a).total_cmp(&distance(b))).map_or(0, |(k, _)| k)
            };
            let (start, end, count) = (at(from), at(to), round.len());
            let way = |forward: bool| -> Vec<Point> {
                let mut way = vec![round[start]];
                let mut k = start;
                while k != end {
                    k = if forward { (k + 1) % count } else { (k + count - 1) % count };
                    way.push(round[k]);
                }
                way
            };
            let cost = |way: &[Point]| way.iter().map(|&p| off(p)).sum::<f64>();
            let (one, other) = (way(true), way(false));
            let chosen = if cost(&one) <= cost(&other) { one } else { other };
            let worst = chosen.iter().map(|&p| off(p)).fold(0.0, f64::max);
            if worst > parting.most {
                let kept = parting.taken(points, near)?;
                let held = [kept.first() == points[0], kept.last() == points[points.len() - 1]];
                let (at, left) = (if held[1] { kept.first() } else { kept.last() }, led.line.length() - kept.length());
                // What was cut off an end that goes altogether is in what is left out.
                led.cut = [0, 1].map(|end| if held[end] { led.cut[end] } else { 0.0 });
                led.blocked.push(Blocked { at, off: worst, left });
                led.line = kept;
                continue;
            }
            let round = points[..enters].iter().chain(&chosen).chain(&points[leaves + 1..]).copied().collect();
            led.line = Polyline::new(round)?;
        }
        Some(led)
    }

    /// A ring round the hull of an obstacle at the distance to keep, with a vertex about every half metre.
    fn round(&self, obstacle: &Polygon) -> Vec<Point> {
        let ring = &obstacle.outer;
        let middle = ring.iter().fold(Vector { x: 0.0, y: 0.0 }, |sum, &p| sum + (p - Point::new(0.0, 0.0)))
            * (1.0 / ring.len() as f64);
        let middle = Point::new(middle.x, middle.y);
        let reach = ring.iter().map(|p| p.distance(middle)).fold(0.0, f64::max) + self.clear;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps round a ring")]
        let count = ((std::f64::consts::TAU * reach / 0.5).ceil() as usize).clamp(16, 720);
        // Seen from its middle the hull's edge is the farthest of all its corners that way.
        (0..count)
            .map(|k| {
                let turn = std::f64::consts::TAU * k as f64 / count as f64;
                let way = Vector { x: turn.cos(), y: turn.sin() };
                let mut far = 0.0;
                while far < 2.0 * reach {
                    let place = middle + way * far;
                    let Some(missing) = self.off(obstacle, place).map(Vector::length) else { break };
                    far += missing.max(0.01);
                }
                middle + way * far
            })
            .collect()
    }
}

/// The nearest place on a polygon's rings, and how far it is.
pub(super) fn nearest(polygon: &Polygon, place: Point) -> (Point, f64) {
    let rings = std::iter::once(&polygon.outer).chain(&polygon.holes);
    let edges = rings.flat_map(|ring| (0..ring.len()).map(move |k| (ring[k], ring[(k + 1) % ring.len()])));
    let feet = edges.map(|(a, b)| {
        let along = b - a;
        let part = ((place - a).dot(along) / along.dot(along).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        a.towards(b, part)
    });
    feet.map(|foot| (foot, foot.distance(place))).min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((place, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(west: f64, south: f64, side: f64) -> Polygon {
        let (east, north) = (west + side, south + side);
        Polygon::simple(vec![
            Point::new(west, south),
            Point::new(east, south),
            Point::new(east, north),
            Point::new(west, north),
        ])
    }

    #[test]
    fn a_place_is_pushed_off_an_obstacle_and_back_into_the_region() {
        let region = square(-50.0, -50.0, 100.0);
        let keep = Keep::new(&[square(0.0, 0.0, 2.0)], 3.0, Some(&region));
        assert_eq!(keep.push(Point::new(-10.0, 1.0)), None);
        assert_eq!(keep.push(Point::new(-2.0, 1.0)), Some(Vector { x: -1.0, y: 0.0 }));
        assert_eq!(keep.push(Point::new(0.5, 1.0)), Some(Vector { x: -3.5, y: 0.0 }));
        assert_eq!(keep.push(Point::new(53.0, 1.0)), Some(Vector { x: -3.0, y: 0.0 }));
    }

    #[test]
    fn a_line_is_led_round_on_the_side_that_costs_less_and_cut_at_its_ends() {
        let line = Polyline::new(vec![Point::new(-40.0, 0.0), Point::new(40.0, 0.0)]).unwrap();
        let keep = Keep::new(&[square(-1.0, -1.5, 2.0), square(38.0, -1.0, 2.0)], 3.0, None);
        let parting = Parting { most: 10.0, first: false };
        let led = keep.led_round(&line, 0.5, |p| (p.y - 0.1).abs(), parting).unwrap();
        assert!((led.cut[1] - 5.0).abs() < 0.51 && led.cut[0] == 0.0 && led.blocked.is_empty(), "{led:?}");
        let led = led.line;
        assert!(led.points().iter().all(|&p| keep.push(p).is_none_or(|push| push.length() < 0.05)), "keeps clear");
        assert!(led.points().iter().all(|p| p.y > -0.5), "the north is nearer");
        assert!(keep.beside(Point::new(-5.0, 0.0), 2.0) && !keep.beside(Point::new(15.0, 0.0), 2.0));
        assert!(led.points().iter().any(|p| p.y > 3.0));
        assert!(led.last().x < 35.01, "{:?}", led.last());
    }

    /// A fence across the line from y = -30 to 40: the way round its near end is 33 m off. Where that is too far the longer part of
    /// the line is kept, or the one that it begins with, and what is left out is told.
    #[test]
    fn a_line_ends_before_what_it_cannot_be_led_round() {
        let line = Polyline::new(vec![Point::new(-40.0, 0.0), Point::new(60.0, 0.0)]).unwrap();
        let fence = Polygon::simple(
            [(-1.0, -30.0), (1.0, -30.0), (1.0, 40.0), (-1.0, 40.0)].map(|(x, y)| Point::new(x, y)).to_vec(),
        );
        let keep = Keep::new(&[fence], 3.0, None);
        let led = |most: f64, first: bool| keep.led_round(&line, 0.5, |p| p.y.abs(), Parting { most, first }).unwrap();
        let round = led(50.0, false);
        assert!(round.blocked.is_empty() && round.line.length() > 150.0, "{round:?}");
        let (longest, first) = (led(5.0, false), led(5.0, true));
        assert!((longest.line.first().x - 4.0).abs() < 0.51 && longest.line.last().x == 60.0, "{:?}", longest.line);
        assert!((first.line.last().x + 4.0).abs() < 0.51 && first.line.first().x == -40.0, "{:?}", first.line);
        let [blocked] = longest.blocked[..] else { panic!("{longest:?}") };
        assert!((blocked.off - 33.0).abs() < 0.1 && (blocked.left - 44.0).abs() < 0.6, "{blocked:?}");
        assert_eq!((blocked.at, first.blocked[0].at), (longest.line.first(), first.line.last()));
    }
}

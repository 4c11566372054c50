//! Where a pit is dug for the fill of a work: the rectangle beside it with the shortest haul.
//!
//! Haul is volume times straight distance, from every part of the floor to every part of the fill, cubic metres times
//! metres. Middles are tried on a square grid in the order of their own haul; at each, several shapes and turns. Since the
//! mean distance from a rectangle to a place is no less than that from its middle, the search ends, sure of its best, where
//! the next middle's haul alone is more. A floor is sized so that it yields what is wanted at the depth asked for, on the
//! ground that it lies on; the depth is then solved on the true surfaces as of every pit.
//!
//! Invariant: the rim, as estimated and again as dug, keeps its distance from every work before it, from their spillways'
//! water and from obstacles, and lies inside the region and the survey.

use super::{Pit, PitWanted};
use crate::geom::{Bounds, Point, Polygon, Vector};
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::{Locator, Tin};
use crate::units::Length;
use crate::works::WorksError;
use crate::works::line::at;
use crate::works::outlet::nearest;
use crate::works::work::{SitePlan, Subject};
use std::collections::BTreeMap;

/// Steps between the middles that are tried, metres.
pub(super) const STEP: f64 = 2.0;
/// How far beyond the fill and its clearance middles are tried, metres.
const FARTHEST: f64 = 150.0;
/// Lengths over widths that are tried, and turns against the line of the work, degrees.
const SHAPES: [f64; 4] = [1.0, 1.5, 2.0, 3.0];
const TURNS: u32 = 12;
const DEGREES: f64 = 15.0;
/// Places along a side, and steps along a rim, at which it is held clear, metres.
const RIM_STEP: f64 = 2.0;
/// Cells of the fill, and the squares in which they are taken together, metres.
const CELL: f64 = 1.0;
const BIN: f64 = 6.0;
/// A floor is so much larger than the frustum on the mean ground asks for, so that the true pit is no deeper than wanted.
const SPARE: f64 = 1.03;
/// How many rectangles, the best first, are made on the true surfaces before the search is given up.
pub(super) const TRIALS: usize = 12;
/// Sides whose top is further out than this meet no ground, metres.
const SIDE_FARTHEST: f64 = 60.0;

/// A floor that the program places.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// The earlier work for whose fill it is dug.
    pub work: String,
    /// Where the pit may lie; `None` for anywhere on the survey.
    pub within: Option<Polygon>,
    /// Kept free between its rim and every work, their water, and obstacles.
    pub clear: Length,
    /// How deep below the lowest ground over the floor it is to be about.
    pub deep: Length,
    /// What must stay.
    pub obstacles: Vec<Polygon>,
}

/// How a placed floor compares.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The work for whose fill it is dug.
    pub beside: String,
    /// Its middle.
    pub middle: Point,
    /// Volume times straight distance to the fill, cubic metres times metres.
    pub haul: f64,
    /// Mean straight distance.
    pub mean: Length,
    /// The best other place, further off than this pit is long, and its haul.
    pub runner_up: Option<(Point, f64)>,
    /// How many middles were tried, and how many of them had room.
    pub tried: (usize, usize),
}

impl Placed {
    /// Where it lies and how it compares, in words.
    pub(super) fn note(&self, works: &Subject, pit: &Pit, ground: &Ground) -> Note {
        let place = |place: Point| {
            let (easting, northing) = ground.frame.to_frame(place);
            format!("E {easting:.1} N {northing:.1}")
        };
        let corners = &pit.floor.outer;
        let sides = [corners[0].distance(corners[1]), corners[1].distance(corners[2])];
        let (long, wide) = (sides[0].max(sides[1]), sides[0].min(sides[1]));
        let other = self.runner_up.map_or_else(
            || "no other place has room".to_owned(),
            |(other, haul)| {
                format!(
                    "the next best other place, about {}, {haul:.0} m3 m, {:.0} % more",
                    place(other),
                    100.0 * (haul / self.haul - 1.0)
                )
            },
        );
        at(
            ground,
            self.middle,
            Note::new(
                "works::pit-placed",
                format!(
                    "{works}: placed beside `{}`, a floor of {long:.1} by {wide:.1} m about {}: volume times straight distance to the fill is {:.0} m3 m, {:.1} m on the mean; {other}. {} middles {STEP} m apart were tried, {} of them had room",
                    self.beside,
                    place(self.middle),
                    self.haul,
                    self.mean.in_metres(),
                    self.tried.0,
                    self.tried.1
                ),
            ),
        )
    }
}

/// A rectangle that has room.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub floor: Vec<Point>,
    pub middle: Point,
    pub long: f64,
    pub haul: f64,
}

/// What was found, the best first.
pub(super) struct Found {
    pub candidates: Vec<Candidate>,
    /// Volume that is hauled.
    pub volume: f64,
    pub tried: (usize, usize),
}

impl Found {
    /// How the `chosen` rectangle compares.
    pub(super) fn placed(&self, chosen: usize, beside: &Beside) -> Placed {
        let best = &self.candidates[chosen];
        let other = runner_up(&self.candidates[chosen..]);
        Placed {
            beside: beside.work.clone(),
            middle: best.middle,
            haul: best.haul,
            mean: Length::metres(best.haul / self.volume),
            runner_up: other.map(|other| (other.middle, other.haul)),
            tried: self.tried,
        }
    }
}

/// Why a rectangle has no room; counted, so that a refusal can say.
#[derive(Debug, Clone, Copy, Default)]
struct Blocked {
    survey: usize,
    region: usize,
    works: usize,
    obstacles: usize,
}

/// What a pit is placed by.
pub(super) struct Search<'a> {
    pub ground: &'a Ground,
    pub before: &'a Tin,
    pub plan: &'a SitePlan,
    pub wanted: &'a PitWanted,
    pub beside: &'a Beside,
    /// Bank earth that it is to yield, cubic metres.
    pub bank: f64,
}

impl Search<'_> {
    fn subject(&self) -> Subject {
        Subject::new(self.wanted.kind(), &self.wanted.name)
    }

    /// The fill in cells, each with its share of the haul.
    fn fill(&self) -> Result<(Vec<(Point, f64)>, Vector), WorksError> {
        let missing = || {
            let earlier: Vec<&str> = self.plan.shared().map(|work| work.name).collect();
            WorksError::NoEarlierWork {
                works: self.subject(),
                named: self.beside.work.clone(),
                earlier: if earlier.is_empty() { "none".to_owned() } else { earlier.join(", ") },
            }
        };
        let index = self.plan.shared().position(|work| work.name == self.beside.work).ok_or_else(missing)?;
        let work = self.plan.works[index].shared();
        let before = index.checked_sub(1).map_or(&self.ground.tin, |earlier| &self.plan.surfaces[earlier]);
        let (before, after) = (Locator::new(before), Locator::new(&self.plan.surfaces[index]));
        let mut cells: BTreeMap<(i64, i64), (Point, f64)> = BTreeMap::new();
        let bounds = Bounds::around(work.fill_footprint.iter().flat_map(|polygon| polygon.outer.iter().copied()));
        for place in bounds.iter().flat_map(|&bounds| grid(bounds, CELL)) {
            let high = before.elevation(place).zip(after.elevation(place)).map_or(0.0, |(low, high)| high - low);
            if high > 0.0 {
                // Neighbours stand for each other in their common middle: the haul feels no more than their spread.
                #[expect(clippy::cast_possible_truncation, reason = "metres of a site")]
                let bin = [place.x, place.y].map(|metres| (metres / BIN).floor() as i64);
                let (middle, sum) = cells.entry((bin[0], bin[1])).or_insert((place, 0.0));
                *sum += high;
                *middle = middle.towards(place, high / *sum);
            }
        }
        let mut cells: Vec<(Point, f64)> = cells.into_values().collect();
        let total: f64 = cells.iter().map(|cell| cell.1).sum();
        if total <= 0.0 {
            return Err(WorksError::NothingToYield { works: self.subject(), named: self.beside.work.clone() });
        }
        cells.iter_mut().for_each(|cell| cell.1 *= self.bank / total);
        let along = work.line.last() - work.line.first();
        let along = if along.length() > 1e-6 { along.unit() } else { work.line.direction(0.0) };
        Ok((cells, along))
    }

    /// The rectangles with room, the shortest haul first.
    pub(super) fn find(&self) -> Result<Found, WorksError> {
        let (fill, along) = self.fill()?;
        let haul = |from: Point| fill.iter().map(|&(place, share)| share * place.distance(from)).sum::<f64>();
        let natural = Locator::new(self.before);
        let around = Bounds::around(fill.iter().map(|cell| cell.0)).map(|bounds| bounds.grown(FARTHEST));
        let mut middles: Vec<(f64, Point)> = around
            .iter()
            .flat_map(|&bounds| grid(bounds, STEP))
            .filter(|&place| natural.elevation(place).is_some())
            .filter(|&place| self.beside.within.as_ref().is_none_or(|region| region.contains(place)))
            .map(|place| (haul(place), place))
            .collect();
        middles.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.x.total_cmp(&b.1.x)).then(a.1.y.total_cmp(&b.1.y)));
        let (mut kept, mut blocked): (Vec<Candidate>, Blocked) = (Vec::new(), Blocked::default());
        let (mut tried, mut with_room) = (0, 0);
        let areas: Vec<Polygon> =
            self.plan.shared().flat_map(|work| work.footprints().cloned().collect::<Vec<_>>()).collect();
        for (least, middle) in middles {
            // A rectangle about this middle hauls no less; best and runner-up may be bettered until then.
            if runner_up(&kept).is_some_and(|other| least > other.haul) {
                break;
            }
            tried += 1;
            let Some(side) = self.side_of_square(&natural, middle) else {
                blocked.survey += 1;
                continue;
            };
            // A circle as wide as the floor lies in every rectangle: where that has no room, none has.
            let free = nearest(&areas, middle) - self.beside.clear.in_metres();
            let mut best: Option<Candidate> = None;
            for shape in SHAPES {
                let (long, wide) = (side * f64::sqrt(shape), side / f64::sqrt(shape));
                let turns = if shape == 1.0 { TURNS / 2 } else { TURNS };
                if free < wide / 2.0 {
                    blocked.works += turns as usize;
                    continue;
                }
                for turn in 0..turns {
                    let (sin, cos) = (f64::from(turn) * DEGREES).to_radians().sin_cos();
                    let ahead = along * cos + along.left() * sin;
                    let floor = rectangle(middle, ahead, long, wide);
                    let total = places(middle, ahead, long, wide).map(haul).sum::<f64>() / 25.0;
                    if best.as_ref().is_some_and(|best| total >= best.haul) {
                        continue;
                    }
                    let clear = self.beside.clear.in_metres();
                    if floor.iter().any(|&corner| nearest(&areas, corner) < clear) {
                        blocked.works += 1;
                    } else if self.has_room(&natural, &floor, &mut blocked) {
                        best = Some(Candidate { floor, middle, long, haul: total });
                    }
                }
            }
            if let Some(best) = best {
                with_room += 1;
                let at = kept.partition_point(|other| other.haul <= best.haul);
                kept.insert(at, best);
            }
        }
        if kept.is_empty() {
            return Err(self.no_room(tried, blocked));
        }
        Ok(Found { candidates: kept, volume: self.bank, tried: (tried, with_room) })
    }

    fn no_room(&self, tried: usize, blocked: Blocked) -> WorksError {
        let Blocked { survey, region, works, obstacles } = blocked;
        let clear = self.beside.clear.in_metres();
        WorksError::NoRoomForPit {
            works: self.subject(),
            beside: self.beside.work.clone(),
            bank: self.bank,
            why: format!(
                "of {tried} places within {FARTHEST:.0} m, {STEP:.0} m apart, none has room {:.1} m deep: rectangles reached past the survey {survey} times, past the region {region}, to within {clear:.1} m of works and their water {works}, of obstacles {obstacles}; survey more, widen the region, dig deeper or keep less clear",
                self.beside.deep.in_metres()
            ),
        }
    }

    /// Refuses where every rectangle, once dug, comes nearer than was asked.
    pub(super) fn too_near(&self) -> WorksError {
        let (clear, deep) = (self.beside.clear.in_metres(), self.beside.deep.in_metres());
        WorksError::NoRoomForPit {
            works: self.subject(),
            beside: self.beside.work.clone(),
            bank: self.bank,
            why: format!(
                "the best {TRIALS} rectangles about {deep:.1} m deep, once dug, come nearer than {clear:.1} m to works, water or obstacles, or leave the region: keep a little less clear, or say its place"
            ),
        }
    }

    fn batter(&self) -> f64 {
        let batters = self.wanted.batters.iter().map(|batter| batter.in_horizontal_per_vertical());
        batters.fold(0.0, f64::max)
    }

    /// Side of the square floor about a place that yields what is wanted at the depth asked for, by the frustum on the mean
    /// ground over it; `None` off the survey.
    fn side_of_square(&self, natural: &Locator<'_>, middle: Point) -> Option<f64> {
        let (topsoil, s) = (self.wanted.topsoil.in_metres(), self.batter());
        let yields = |side: f64| {
            let mut heights = Vec::with_capacity(25);
            for place in places(middle, Vector::new(1.0, 0.0), side * 1.25, side * 1.25) {
                heights.push(natural.elevation(place)?);
            }
            let lowest = heights.iter().copied().fold(f64::INFINITY, f64::min);
            let mean = heights.iter().sum::<f64>() / 25.0;
            let deep = (mean - lowest + self.beside.deep.in_metres() - topsoil).max(0.0);
            Some(deep * (side * side + 2.0 * side * s * deep + 4.0 / 3.0 * s * s * deep * deep))
        };
        let (mut low, mut high) = (1.0, 2.0);
        let wanted = self.bank * SPARE;
        while yields(high)? < wanted {
            (low, high) = (high, high * 1.5);
        }
        for _ in 0..20 {
            let side = f64::midpoint(low, high);
            if yields(side)? < wanted { low = side } else { high = side }
        }
        Some(high)
    }

    /// Is there room for a pit with this floor.
    fn has_room(&self, natural: &Locator<'_>, floor: &[Point], blocked: &mut Blocked) -> bool {
        let mut lowest = f64::INFINITY;
        for place in floor.iter().copied().chain([floor[0].towards(floor[2], 0.5)]) {
            let Some(z) = natural.elevation(place) else {
                blocked.survey += 1;
                return false;
            };
            lowest = lowest.min(z);
        }
        let Some(rim) = self.rim(natural, floor, lowest - self.beside.deep.in_metres()) else {
            blocked.survey += 1;
            return false;
        };
        self.is_clear(&rim, blocked)
    }

    /// Does a rim lie inside the region, and clear of all that it must keep from.
    fn is_clear(&self, rim: &[Point], blocked: &mut Blocked) -> bool {
        let clear = self.beside.clear.in_metres();
        if self.beside.within.as_ref().is_some_and(|region| rim.iter().any(|&place| !region.contains(place))) {
            blocked.region += 1;
            return false;
        }
        let pit = [Polygon::simple(rim.to_vec())];
        let near = |place: Point| nearest(&pit, place) < clear;
        let reaches = |region: &Polygon| {
            rim.iter().any(|&place| nearest(std::slice::from_ref(region), place) < clear)
                || region.outer.iter().any(|&corner| near(corner))
        };
        let to_works = self.plan.shared().any(|work| {
            let water = work.spillways.iter().filter_map(|spillway| spillway.exit.as_ref());
            let mut places = water.flat_map(crate::geom::Polyline::points);
            work.footprints().any(reaches) || places.any(|&place| near(place))
        });
        if to_works {
            blocked.works += 1;
            return false;
        }
        if self.beside.obstacles.iter().any(reaches) {
            blocked.obstacles += 1;
            return false;
        }
        true
    }

    /// Does the rim of a pit as dug keep what it was placed by.
    pub(super) fn keeps(&self, rim: &[Point]) -> bool {
        self.is_clear(rim, &mut Blocked::default())
    }

    /// The rim about a floor: where its sides meet the ground; `None` off the survey.
    fn rim(&self, natural: &Locator<'_>, floor: &[Point], level: f64) -> Option<Vec<Point>> {
        let batter = self.batter();
        let top = |from: Point, out: Vector, slope: f64| {
            let mut run = 0.0;
            loop {
                let missing = natural.elevation(from + out * run)? - (level + run / slope);
                if missing <= 0.0 {
                    return Some(from + out * run);
                }
                if run > SIDE_FARTHEST {
                    return None;
                }
                run += 0.25_f64.max(missing * slope * 0.5);
            }
        };
        let mut rim = Vec::new();
        for k in 0..4 {
            let (a, b, before) = (floor[k], floor[(k + 1) % 4], floor[(k + 3) % 4]);
            let out = (b - a).unit().left() * -1.0;
            let out_before = (a - before).unit().left() * -1.0;
            // A mitred corner is as far out as the root of two asks for.
            rim.push(top(a, (out + out_before).unit(), batter * std::f64::consts::SQRT_2)?);
            let steps = (a.distance(b) / RIM_STEP).ceil().max(1.0);
            let mut step = 1.0;
            while step < steps {
                rim.push(top(a.towards(b, step / steps), out, batter)?);
                step += 1.0;
            }
        }
        Some(rim)
    }
}

/// Places on a square grid over bounds, on whole steps from its corner.
fn grid(bounds: Bounds, step: f64) -> impl Iterator<Item = Point> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of cells, never below zero")]
    let count = |length: f64| (length / step).floor().max(0.0) as u32;
    let (columns, rows) = (count(bounds.high.x - bounds.low.x), count(bounds.high.y - bounds.low.y));
    let at = move |i: u32, j: u32| {
        Point::new(bounds.low.x + step * (f64::from(i) + 0.5), bounds.low.y + step * (f64::from(j) + 0.5))
    };
    (0..columns).flat_map(move |i| (0..rows).map(move |j| at(i, j)))
}

/// The corners of a rectangle, anticlockwise.
fn rectangle(middle: Point, ahead: Vector, long: f64, wide: f64) -> Vec<Point> {
    let (out, aside) = (ahead * (long / 2.0), ahead.left() * (wide / 2.0));
    [out - aside, out + aside, aside - out, out * -1.0 - aside].map(|step| middle + step).to_vec()
}

/// The middles of its 5 by 5 equal parts.
fn places(middle: Point, ahead: Vector, long: f64, wide: f64) -> impl Iterator<Item = Point> {
    let share = |k: u32| (f64::from(k) + 0.5) / 5.0 - 0.5;
    (0..25).map(move |k| middle + ahead * (long * share(k / 5)) + ahead.left() * (wide * share(k % 5)))
}

/// The best place that is no neighbour of the best, so that the best has a runner-up.
fn runner_up(kept: &[Candidate]) -> Option<&Candidate> {
    let best = kept.first()?;
    kept.iter().find(|other| other.middle.distance(best.middle) >= best.long)
}

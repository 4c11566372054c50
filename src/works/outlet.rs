//! The cut of a spillway through natural ground beside a wall or a pond's rim: approach, level sill, return channel.
//!
//! The floor is as wide as the sill is long. From the sill it falls both ways: back into the water, so that nothing before
//! the sill holds the water up, and down to where natural ground falls away from it on its whole width. Each way runs
//! straight from the sill, bends once, and runs straight on; of all bends that keep clear of the wall, in steps of 5
//! degrees after some lengths of straight run, the one that takes least earth is taken.
//!
//! Invariant: the sill is level over its length and breadth; the cut and the water below it keep [`CLEAR`] and
//! [`CLEAR_WATER`] from every fill, channel and water below [`CLEAR`] from the work's own dig, or the design is refused.

use super::WorksError;
use super::apply::{Laid, Owner, lay, outline};
use super::below::way_below;
use super::plan::Outlet;
use super::strip::{Profile, Sense};
use super::unsurveyed::{self, unsurveyed};
use super::work::Subject;
use crate::geom::{Point, Polygon, Polyline, Vector, contains};
use crate::ground::Ground;
use crate::surface::{Drainage, Locator, Tin, cut_and_fill};
use crate::units::{Length, Volume};

/// Least distance between the cut and a fill, metres; common practice, no source.
pub(super) const CLEAR: f64 = 2.0;
/// Least distance between a fill and the water that runs on below the channel, metres; common practice, no source.
pub(super) const CLEAR_WATER: f64 = 5.0;
/// Steps along a way, metres, and how far a way is followed.
const STEP: f64 = 1.0;
const FARTHEST: f64 = 200.0;
/// Places across the floor whose ground is looked at.
const ACROSS: u32 = 8;
/// Bends tried, in degrees, towards the wall and away from it, and the step between them.
pub(super) const TOWARDS: u32 = 120;
pub(super) const AWAY: u32 = 60;
const DEGREES: u32 = 5;
/// Straight runs before the bend that are tried, metres.
const LEADS: [f64; 5] = [LEAST_LEAD, 4.0, 8.0, 16.0, 32.0];
/// No bend stands nearer to the sill, or its mitre would reach into it.
const LEAST_LEAD: f64 = 1.0;
/// How much further out than asked a spillway is tried where no way is clear of what it must keep from, metres.
pub(super) const FURTHER: [f64; 6] = [0.25, 1.0, 2.0, 4.0, 8.0, 14.0];
/// Half the angle that a chord of a bend stands for, 5 degrees or less, radians.
const CHORD: f64 = 2.5 * std::f64::consts::PI / 180.0;
/// Share of its reach that the inside of a bend keeps free, at least.
const INSIDE: f64 = 0.08;
/// How far the water below is followed, metres.
pub(super) const BELOW: f64 = 60.0;
/// Steps in which the top of a side is looked for, metres, and how far.
const SIDE_STEP: f64 = 0.25;
const SIDE_FARTHEST: f64 = 60.0;

/// Where a spillway is cut, and through what.
pub(super) struct Place<'a> {
    pub works: Subject,
    pub ground: &'a Ground,
    /// The ground that it is cut through, with the work's own dig where it has one.
    pub natural: &'a Locator<'a>,
    /// Fill that it keeps clear of.
    pub fills: &'a [Polygon],
    /// The work's own dig, which its channel and the water below keep clear of.
    pub dig: &'a [Polygon],
    /// Greatest bend against the outward direction, and with it, degrees.
    pub bends: [u32; 2],
    /// Is a place under the water that it lets out.
    pub in_water: &'a dyn Fn(Point) -> bool,
    /// Middle of the sill.
    pub centre: Point,
    /// Along the sill, away from the wall.
    pub outward: Vector,
    /// The way that the water runs over it.
    pub flow: Vector,
    pub level: f64,
    /// The sill's length along the lip, and its breadth along the flow.
    pub length: f64,
    pub breadth: f64,
    pub batter: f64,
    pub approach_fall: f64,
    pub exit_fall: f64,
    /// Depth of the design flow in the channel.
    pub depth: f64,
}

/// One way from the sill.
#[derive(Debug, Clone)]
struct Way {
    path: Polyline,
    /// Where it is out of the ground on its whole width, and where its low side first no longer holds the water.
    end: f64,
    first: (f64, Point),
    /// Estimate of what is dug, cubic metres.
    earth: f64,
    /// Greatest height of a side over the floor.
    highest: f64,
    /// Nearest that the water below comes to a fill.
    clear_water: f64,
}

/// Why a way is none, the worst first.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Blocked {
    /// It ends in the open, not in the water.
    NotInWater,
    OffSurvey(Point),
    /// Still so deep after [`FARTHEST`].
    Deep(f64, Point),
    /// Its cut comes so near to a fill.
    Near(f64, Point),
    /// Its channel, or the water below it, comes so near to the work's own dig.
    BackIn(f64, Point),
    /// The water below it comes so near to a fill.
    WaterNear(f64, Point),
    /// Another way takes less earth.
    Dearer,
}

impl Blocked {
    const fn rank(&self) -> u8 {
        match self {
            Self::Dearer => 0,
            Self::NotInWater => 1,
            Self::OffSurvey(_) => 2,
            Self::Deep(..) => 3,
            Self::Near(..) => 4,
            Self::BackIn(..) => 5,
            Self::WaterNear(..) => 6,
        }
    }
}

impl Place<'_> {
    /// Half the floor.
    fn half(&self) -> f64 {
        self.length / 2.0
    }

    fn nearest_fill(&self, place: Point) -> f64 {
        nearest(self.fills, place)
    }

    /// How far out from an edge of the floor its side meets the ground: nothing where the edge stands over it.
    fn side(&self, edge: Point, out: Vector, floor: f64) -> Option<f64> {
        let (mut run, mut last) = (0.0, None);
        loop {
            let ground = self.natural.elevation(edge + out * run)?;
            let missing: f64 = ground - (floor + run / self.batter);
            if missing <= 0.0 {
                // Between the last place under the ground and the first over it: a step would say too much, and a way
                // that bends would seem to take less earth than one that does not.
                let between = |(before, over): (f64, f64)| before + (run - before) * over / (over - missing);
                return Some(last.map_or(run, between));
            }
            if run > SIDE_FARTHEST {
                return None;
            }
            last = Some((run, missing));
            run += SIDE_STEP.max(missing * self.batter * 0.5);
        }
    }

    /// Least and greatest natural ground minus sill over the sill; `None` off the survey.
    pub(super) fn above_sill(&self) -> Option<(f64, f64)> {
        let mut all = (f64::INFINITY, f64::NEG_INFINITY);
        for place in self.sill_places() {
            let d = self.natural.elevation(place)? - self.level;
            all = (all.0.min(d), all.1.max(d));
        }
        Some(all)
    }

    /// Places all over the sill.
    fn sill_places(&self) -> impl Iterator<Item = Point> {
        let along = (self.length / 0.25).ceil().max(1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a sill")]
        let count = along as usize;
        (0..=count).flat_map(move |i| {
            let here = self.centre + self.outward * (self.length * (i as f64 / along - 0.5));
            (-2..=2).map(move |j| here + self.flow * (self.breadth * f64::from(j) / 4.0))
        })
    }

    /// Told where ground under the sill or beside it is not known.
    pub(super) fn sill_off_survey(&self) -> WorksError {
        WorksError::PlaceOffSurvey {
            works: self.works.clone(),
            what: "part of its spillway's sill".to_owned(),
            beyond: unsurveyed(self.ground, self.natural, self.sill_places()),
        }
    }

    /// How near the cut at the sill comes to a fill on its inner side; `None` off the survey.
    pub(super) fn clear_at_sill(&self) -> Option<f64> {
        let mut least = f64::INFINITY;
        for j in -1..=1 {
            let edge = self.centre + self.outward * -self.half() + self.flow * (self.breadth * f64::from(j) / 2.0);
            let run = self.side(edge, self.outward * -1.0, self.level)?;
            least = least.min(self.nearest_fill(edge + self.outward * -run));
        }
        Some(least)
    }

    /// Lowest ground between a place and the cut at the sill's middle, and where.
    pub(super) fn ridge(&self, from: Point) -> Option<(f64, Point)> {
        let edge = self.centre + self.outward * -self.half();
        let inward = self.outward * -1.0;
        let top = edge + inward * self.side(edge, inward, self.level)?;
        let steps = (from.distance(top) / 0.25).ceil().max(1.0);
        let mut lowest: Option<(f64, Point)> = None;
        let mut k = 0.0;
        while k <= steps {
            let place = from.towards(top, k / steps);
            let ground = self.natural.elevation(place)?;
            if lowest.is_none_or(|(z, _)| ground < z) {
                lowest = Some((ground, place));
            }
            k += 1.0;
        }
        lowest
    }

    /// The path that leaves a place in a direction, runs straight for a while, bends once by an angle (positive to the left)
    /// and runs straight on.
    fn path((from, heading): (Point, Vector), lead: f64, turn: f64, radius: f64) -> Option<Polyline> {
        let (mut here, mut ahead) = (from + heading * lead, heading);
        let mut points = vec![from, here];
        let chords = (turn.abs() / 5.0_f64.to_radians()).ceil();
        let mut k = 0.0;
        while k < chords {
            let step = turn / chords;
            let (half_sin, half_cos) = (step / 2.0).sin_cos();
            let chord = ahead * half_cos + ahead.left() * half_sin;
            here = here + chord * (2.0 * radius * half_sin.abs());
            let (sin, cos) = step.sin_cos();
            ahead = ahead * cos + ahead.left() * sin;
            points.push(here);
            k += 1.0;
        }
        points.push(here + ahead * FARTHEST);
        Polyline::new(points)
    }

    /// Follows a path from the sill to where its floor is out of the ground; of a return channel the water below it too.
    fn follow(
        &self,
        path: &Polyline,
        (fall, chord): (f64, f64),
        returns: Option<&Drainage<'_>>,
        cheapest: f64,
    ) -> Result<Way, Blocked> {
        let half = self.half();
        let (mut earth, mut highest) = (0.0, 0.0_f64);
        let mut first = None;
        let mut station = 0.0;
        loop {
            let floor = self.level - fall * station;
            let (here, left) = (path.at(station), path.direction(station).left());
            let mut above = (f64::NEG_INFINITY, 0.0);
            for k in 0..=ACROSS {
                let place = here + left * (half * (2.0 * f64::from(k) / f64::from(ACROSS) - 1.0));
                let ground = self.natural.elevation(place).ok_or(Blocked::OffSurvey(place))?;
                above = (above.0.max(ground - floor), above.1 + (ground - floor).max(0.0) / f64::from(ACROSS + 1));
            }
            for sign in [-1.0, 1.0] {
                let (edge, out) = (here + left * (half * sign), left * sign);
                let run = self.side(edge, out, floor).ok_or(Blocked::OffSurvey(edge))?;
                let top = edge + out * run;
                highest = highest.max(run / self.batter);
                earth += run * run / self.batter / 2.0 * STEP;
                let clear = self.nearest_fill(top);
                if clear < CLEAR {
                    return Err(Blocked::Near(clear, top));
                }
                let clear = if returns.is_some() { nearest(self.dig, top) } else { f64::INFINITY };
                if clear < CLEAR {
                    return Err(Blocked::BackIn(clear, top));
                }
                let bank = self.natural.elevation(edge).ok_or(Blocked::OffSurvey(edge))? - floor;
                if first.is_none() && bank < returns.map_or(0.0, |_| self.depth) {
                    first = Some((station, edge));
                }
            }
            earth += above.1 * 2.0 * half * STEP;
            if earth > cheapest {
                return Err(Blocked::Dearer);
            }
            if above.0 <= 0.0 {
                break;
            }
            if station > FARTHEST - STEP {
                return Err(Blocked::Deep(above.0, here));
            }
            station += STEP;
        }
        let end = not_short(path, station + STEP / 2.0, chord);
        let last = path.at(end);
        let mut clear_water = f64::INFINITY;
        let first = first.unwrap_or((end, last));
        if let Some(drainage) = returns {
            let left = path.direction(end).left();
            for from in [first.1, last + left * -half, last, last + left * half] {
                let way = way_below(drainage, from, BELOW).path;
                for &place in way.as_ref().map_or(&[from][..], Polyline::points) {
                    let clear = self.nearest_fill(place);
                    if clear < CLEAR_WATER {
                        return Err(Blocked::WaterNear(clear, place));
                    }
                    clear_water = clear_water.min(clear);
                    let clear = nearest(self.dig, place);
                    if clear < CLEAR {
                        return Err(Blocked::BackIn(clear, place));
                    }
                }
            }
        } else if !(self.in_water)(last) {
            return Err(Blocked::NotInWater);
        }
        let path = path.between(0.0, end).ok_or(Blocked::NotInWater)?;
        Ok(Way { path, end, first, earth, highest, clear_water })
    }

    /// The way that takes least earth.
    fn cheapest(
        &self,
        heading: Vector,
        fall: f64,
        returns: Option<&Drainage<'_>>,
        radius: f64,
    ) -> Result<Way, Blocked> {
        let from = self.centre + heading * (self.breadth / 2.0);
        // A turn to the left is one towards the wall where the wall lies there.
        let wall = if heading.left().dot(self.outward) > 0.0 { -1.0 } else { 1.0 };
        let [towards, away] = self.bends;
        let turns = LEADS.into_iter().flat_map(|lead| {
            (0..=towards.max(away) / DEGREES).flat_map(move |k| {
                let degrees = f64::from(k * DEGREES);
                let within = |most: u32| k * DEGREES <= most;
                let away = (k > 0 && within(away)).then_some(-degrees);
                // A way that does not bend is the same after any lead.
                let same = k == 0 && lead > LEAST_LEAD;
                [Some(degrees).filter(|_| within(towards) && !same), away]
                    .into_iter()
                    .flatten()
                    .map(move |degrees| (lead, degrees))
            })
        });
        let chord = 2.0 * radius * CHORD.sin();
        let mut best: Option<Way> = None;
        let mut worst = Blocked::Dearer;
        for (lead, degrees) in turns {
            let Some(path) = Self::path((from, heading), lead, wall * degrees.to_radians(), radius) else { continue };
            let limit = best.as_ref().map_or(f64::INFINITY, |way| way.earth);
            match self.follow(&path, (fall, chord), returns, limit) {
                Ok(way) => best = Some(way),
                Err(blocked) if blocked.rank() > worst.rank() => worst = blocked,
                Err(_) => {}
            }
        }
        best.ok_or(worst)
    }

    fn refused(&self, what: &'static str, blocked: Blocked) -> WorksError {
        let at = |place: Point| {
            let (easting, northing) = self.ground.frame.to_frame(place);
            format!("at E {easting:.2} N {northing:.2}")
        };
        let why = match blocked {
            Blocked::NotInWater | Blocked::Dearer => "no way reaches the water; move it".to_owned(),
            Blocked::OffSurvey(place) => {
                format!("every way ends {}: survey there, or move it", unsurveyed::at(self.ground, place))
            }
            Blocked::Deep(deep, place) => format!(
                "the floor lies {deep:.2} m deep still after {FARTHEST:.0} m, {}: let it fall less, or move it",
                at(place)
            ),
            Blocked::Near(clear, place) => format!(
                "its cut comes within {clear:.1} m of fill {}, and {CLEAR} m are kept: move it away from there",
                at(place)
            ),
            Blocked::BackIn(clear, place) => format!(
                "it or the water below it comes within {clear:.1} m of the work's own dig {}, and {CLEAR} m are kept, or it runs back in: move it to where the ground falls away from the water",
                at(place)
            ),
            Blocked::WaterNear(clear, place) => format!(
                "the water below it runs within {clear:.1} m of fill {}, and {CLEAR_WATER} m are kept: move it away from there, or to another side",
                at(place)
            ),
        };
        WorksError::NoWayOut { works: self.works.clone(), what, why }
    }

    /// Plans the cut and digs it into a surface.
    pub(super) fn cut(&self, surface: &Tin, owner: Owner<'_>) -> Result<(Outlet, Tin), WorksError> {
        let (half, mut height) = (self.half(), 1.0_f64);
        let drainage = Drainage::new(self.natural);
        // The inside of a bend must not fold under the side's reach, which is known when the way is.
        let (approach, back) = loop {
            let outer = half + self.batter * height;
            let radius = outer + 1.0_f64.max(INSIDE * outer);
            let approach = self
                .cheapest(self.flow * -1.0, self.approach_fall, None, radius)
                .map_err(|blocked| self.refused("approach", blocked))?;
            let back = self
                .cheapest(self.flow, self.exit_fall, Some(&drainage), radius)
                .map_err(|blocked| self.refused("return channel", blocked))?;
            let needed = approach.highest.max(back.highest) * 1.05 + 0.3;
            if needed <= height || height > 20.0 {
                break (approach, back);
            }
            height = needed;
        };
        let points = approach.path.reversed().points().iter().chain(back.path.points()).copied().collect();
        let axis = Polyline::new(points).ok_or_else(|| self.refused("return channel", Blocked::Dearer))?;
        let sill = (approach.end, approach.end + self.breadth);
        let fallen = |station: f64| {
            self.approach_fall * (sill.0 - station).max(0.0) + self.exit_fall * (station - sill.1).max(0.0)
        };
        let levels: Vec<f64> = axis.stations().iter().map(|&station| self.level - fallen(station)).collect();
        let profile = Profile { rounded: false, ..Profile::even(Sense::Bowl, half, self.batter, height) };
        let Laid { tin, footprint, .. } = lay(surface, &axis, &levels, &profile, owner)?;
        let footprint = outline(&footprint);
        let clear = footprint
            .iter()
            .flat_map(|polygon| &polygon.outer)
            .map(|&place| self.nearest_fill(place))
            .fold(f64::INFINITY, f64::min);
        let outlet = Outlet {
            bank: Volume::cubic_metres(cut_and_fill(surface, &tin, None).cut),
            levels,
            sill,
            width: Length::metres(self.length),
            batter: crate::units::Batter::horizontal_per_vertical(self.batter),
            holds_to: sill.1 + back.first.0,
            leaves: back.first.1,
            deepest: Length::metres(approach.highest.max(back.highest)),
            clear: clear.is_finite().then(|| Length::metres(clear)),
            clear_water: back.clear_water.is_finite().then(|| Length::metres(back.clear_water)),
            footprint,
            run: None,
            approach_loss: Length::ZERO,
            below: None,
            cover: crate::water::channel::Cover::default(),
            axis,
        };
        Ok((outlet, tin))
    }
}

/// Where a way ends: not so soon after a corner of its bend that the sides of the last piece fold over each other.
fn not_short(path: &Polyline, end: f64, chord: f64) -> f64 {
    let corner = path.stations().iter().rposition(|&station| station <= end).unwrap_or(0);
    let next = path.stations().get(corner + 1).copied().unwrap_or(end);
    if corner == 0 { end } else { end.max((path.stations()[corner] + chord).min(next)) }
}

/// Distance from a place to the nearest of some regions, none inside one.
pub(super) fn nearest(regions: &[Polygon], place: Point) -> f64 {
    let distance = |region: &Polygon| {
        // The nearest place of a rim without building anything: this is asked at every step of every way.
        let rim = region.outer.iter().zip(region.outer.iter().cycle().skip(1));
        let to_rim = rim.map(|(&a, &b)| to_segment(place, a, b)).fold(f64::INFINITY, f64::min);
        if contains(&region.outer, place) { 0.0 } else { to_rim }
    };
    regions.iter().map(distance).fold(f64::INFINITY, f64::min)
}

/// Distance from a place to a straight piece.
fn to_segment(place: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let part = ((place - a).dot(along) / along.dot(along).max(1e-12)).clamp(0.0, 1.0);
    a.towards(b, part).distance(place)
}

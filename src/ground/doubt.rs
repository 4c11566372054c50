//! Where the ground between shots could hide more than a tolerance, and where to shoot more.
//!
//! The standard error of the ground is asked for in the middle of every triangle: shots far apart on curved or rough
//! ground leave it large, close ones or smooth ground small. A place is in doubt when 1.96 of it exceed the tolerance.
//!
//! In a gap, where an empty circle is wider than the shots stand apart elsewhere, smooth ground round it says little of what is
//! inside, and one triangle spans what shots would have bent. There the error is what the survey's own shots show: discs
//! as wide are taken out of it elsewhere, and how far the estimate is then off at their middles counts (cross-validation by blocks;
//! Roberts et al. 2017), and so does how far the triangle stands off the estimate.

use super::Ground;
use crate::geom::{Point, Point3, Polyline, Vector, snap_point};
use crate::notes::each;
use crate::surface::{Locator, TriangleId, rims};
use crate::survey::{GroundField, Role, Settings, Survey};
use std::collections::BTreeMap;

/// Half the width of a 95 % interval in standard errors.
const WIDTH: f64 = 1.96;
/// Triangles beyond which nobody asks: a shot list has thousands, a cloud millions and no need of it.
const MOST: usize = 20_000;
/// A circle without shots of a radius of more spacings than this is a gap; common practice, no source.
const GAP: f64 = 1.5;
/// A circle without shots of a radius of more spacings than this is told whatever the shots round it say; common practice, no
/// source.
const UNSEEN: f64 = 2.0;
/// Discs taken out of the survey at most, and fewest that tell something.
const DISCS: usize = 120;
const FEWEST_DISCS: usize = 12;

/// A triangle whose middle is not known to the tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Which.
    pub triangle: TriangleId,
    /// Its middle, metres.
    pub middle: Point,
    /// Half the width of the 95 % interval of the ground there, metres.
    pub hides: f64,
}

impl Doubt {
    /// Standard error of the ground there, metres.
    #[must_use]
    pub fn standard_error(&self) -> f64 {
        self.hides / WIDTH
    }
}

/// The triangles in doubt, largest first; `None` when the ground is too large to ask, or made of a cloud.
#[must_use]
pub fn doubts(ground: &Ground, survey: &Survey, settings: &Settings, tolerance: f64) -> Option<Vec<Doubt>> {
    if ground.tin.triangles().len() > MOST || !survey.cloud.is_empty() {
        return None;
    }
    let in_gap = in_gaps(ground);
    let asked = unsettled(ground, survey, tolerance, &in_gap);
    let places: Vec<Point> = asked.iter().map(|(_, place)| *place).collect();
    let field = survey.field(settings);
    let estimates = field.at_each(&places);
    let mut gaps: Option<Gaps<'_>> = None;
    let mut found: Vec<Doubt> = asked
        .into_iter()
        .zip(estimates)
        .filter_map(|((triangle, middle), estimate)| {
            let estimate = estimate?;
            let error = if in_gap[triangle.0 as usize] {
                let corners = ground.tin.corners(triangle);
                let stands = corners.iter().map(|corner| corner.z).sum::<f64>() / 3.0;
                let away = corners.iter().map(|corner| corner.plan().distance(middle)).fold(f64::INFINITY, f64::min);
                let gaps = gaps.get_or_insert_with(|| Gaps::new(ground, survey, &field));
                let elsewhere = gaps.error(away).unwrap_or(0.0);
                estimate.standard_error.max(elsewhere).hypot(stands - estimate.height)
            } else {
                estimate.standard_error
            };
            Some(Doubt { triangle, middle, hides: WIDTH * error })
        })
        .filter(|doubt| doubt.hides > tolerance)
        .collect();
    found.sort_by(|a, b| b.hides.total_cmp(&a.hides).then(a.triangle.0.cmp(&b.triangle.0)));
    Some(found)
}

/// The triangles of which the corners do not tell that they are known to the tolerance, with their middles.
fn unsettled(ground: &Ground, survey: &Survey, tolerance: f64, in_gap: &[bool]) -> Vec<(TriangleId, Point)> {
    let bounds = Bounds::new(ground, survey);
    let settled =
        |id: TriangleId, middle: Point| bounds.of(ground, id, middle).is_some_and(|error| WIDTH * error <= tolerance);
    let all = ground.tin.ids().map(|id| (id, middle(ground, id)));
    all.filter(|&(id, middle)| in_gap[id.0 as usize] || !settled(id, middle)).collect()
}

/// The circle through a triangle's corners, which is empty: its middle, where that lies on the ground, and its radius.
fn empty_circle(ground: &Ground, locator: &Locator<'_>, id: TriangleId) -> Option<(Point, f64)> {
    let [a, b, c] = ground.tin.corners(id).map(Point3::plan);
    let (ab, ac) = (b - a, c - a);
    let (bb, cc, twice) = (ab.dot(ab), ac.dot(ac), 2.0 * ab.cross(ac));
    let to = Vector { x: (ac.y * bb - ab.y * cc) / twice, y: (ab.x * cc - ac.x * bb) / twice };
    locator.elevation(a + to).map(|_| (a + to, to.length()))
}

/// Of each triangle: whether the circle through its corners is wide and has its middle inside the survey.
fn in_gaps(ground: &Ground) -> Vec<bool> {
    let locator = ground.locator();
    let wide = |id| empty_circle(ground, &locator, id).is_some_and(|(_, radius)| radius > GAP * ground.spacing);
    ground.tin.ids().map(wide).collect()
}

/// A place with no shot near, though nothing puts the ground there in doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unseen {
    /// Its middle, metres.
    pub middle: Point,
    /// No shot stands nearer to it, metres.
    pub radius: f64,
}

/// The widest circle inside the survey that nobody shot and no doubt reaches: on even ground even a wide gap may be known to the
/// tolerance by all that the shots tell, and yet nobody looked. None where it is no wider than gaps commonly are.
#[must_use]
pub fn unseen(ground: &Ground, doubts: &[Doubt]) -> Option<Unseen> {
    let locator = ground.locator();
    let wide = |&(_, radius): &(Point, f64)| radius > UNSEEN * ground.spacing;
    let told = |&(middle, radius): &(Point, f64)| doubts.iter().all(|doubt| doubt.middle.distance(middle) > radius);
    let circles = ground.tin.ids().filter_map(|id| empty_circle(ground, &locator, id)).filter(wide).filter(told);
    circles.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(middle, radius)| Unseen { middle, radius })
}

/// What discs without shots hide in a survey.
struct Gaps<'a> {
    field: &'a GroundField,
    /// Shots on the ground, each with its distance from the rim.
    shots: Vec<(usize, f64)>,
    /// Steps of the radius, metres.
    step: f64,
    /// By steps of the radius.
    known: BTreeMap<usize, Option<f64>>,
}

impl<'a> Gaps<'a> {
    fn new(ground: &Ground, survey: &Survey, field: &'a GroundField) -> Self {
        let rims: Vec<Polyline> = rims(&ground.tin)
            .into_iter()
            .filter_map(|ring| Polyline::new(ring.iter().chain(ring.first()).copied().collect()))
            .collect();
        let from_rim =
            |place: Point| rims.iter().map(|rim| rim.foot(place).point.distance(place)).fold(f64::INFINITY, f64::min);
        let open = survey.shots.iter().enumerate().filter(|(_, shot)| shot.role == Role::Ground);
        let shots = open.map(|(i, shot)| (i, from_rim(shot.place))).collect();
        Self { field, shots, step: (ground.spacing / 4.0).max(0.1), known: BTreeMap::new() }
    }

    /// Root of the mean square by which the ground is off in the middle of a disc of that radius; `None` where the survey is
    /// too small to take enough of them out inside its rim.
    fn error(&mut self, radius: f64) -> Option<f64> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few steps")]
        let steps = (radius / self.step).round() as usize;
        let (field, shots, step) = (self.field, &self.shots, self.step);
        *self.known.entry(steps).or_insert_with(|| {
            let radius = step * steps as f64;
            let inside: Vec<usize> = shots.iter().filter(|shot| shot.1 > radius).map(|shot| shot.0).collect();
            let sample: Vec<usize> = inside.iter().copied().step_by(inside.len().div_ceil(DISCS).max(1)).collect();
            let off = each(sample.len(), |k| {
                Some(field.off_without(sample[k], radius)?.powi(2) - field.shot(sample[k]).variance)
            });
            let off: Vec<f64> = off.into_iter().flatten().collect();
            (off.len() >= FEWEST_DISCS).then(|| (off.iter().sum::<f64>() / off.len() as f64).max(0.0).sqrt())
        })
    }
}

fn middle(ground: &Ground, id: TriangleId) -> Point {
    let [a, b, c] = ground.tin.corners(id).map(Point3::plan);
    Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)
}

/// How much wider than at its corners' own judges a triangle may be; common practice, no source.
const ROOM: f64 = 1.5;

/// What the standard error in the middle of a triangle stays below, told from its corners: each is a shot whose neighbours
/// alone know the ground there so well, over at least the distance to the nearest of them. The middle has shots about as
/// near, and the corners themselves among them; where it is farther from them the error grows with the distance, by no more than
/// its power of two and a half (the smoothest field that is thought of). The corners' own heights can make the ground there
/// look rougher than their neighbours did, and those who judge shots take the worst of their neighbours as none: the margin that errors
/// at shots have for blunder limits and [`ROOM`] leave room for that (tests/blunders.rs asks every triangle).
struct Bounds {
    /// Of each vertex: the error without itself, infinite where nobody knows, and the length of its shortest edge.
    vertices: Vec<(f64, f64)>,
}

impl Bounds {
    fn new(ground: &Ground, survey: &Survey) -> Self {
        let key = |place: Point| (place.x.to_bits(), place.y.to_bits());
        let known: BTreeMap<(u64, u64), f64> = survey
            .shots
            .iter()
            .zip(&survey.neighbours)
            .filter_map(|(shot, among)| Some((key(snap_point(shot.place)), (*among)?.ground)))
            .collect();
        let error = |vertex: &Point3| known.get(&key(vertex.plan())).copied().unwrap_or(f64::INFINITY);
        let mut vertices: Vec<(f64, f64)> =
            ground.tin.vertices().iter().map(|vertex| (error(vertex), f64::INFINITY)).collect();
        for triangle in ground.tin.triangles() {
            for k in 0..3 {
                let [a, b] = [triangle[k], triangle[(k + 1) % 3]].map(|v| v as usize);
                let length = ground.tin.vertices()[a].plan().distance(ground.tin.vertices()[b].plan());
                for end in [a, b] {
                    vertices[end].1 = vertices[end].1.min(length);
                }
            }
        }
        Self { vertices }
    }

    fn of(&self, ground: &Ground, id: TriangleId, middle: Point) -> Option<f64> {
        let away = ground.tin.corners(id).map(|corner| corner.plan().distance(middle));
        let away = away.into_iter().fold(f64::INFINITY, f64::min);
        let corners = ground.tin.triangles()[id.0 as usize].map(|v| self.vertices[v as usize]);
        let error = corners.map(|(error, nearest)| ROOM * error * (away / nearest).max(1.0).powf(2.5));
        Some(error.into_iter().fold(0.0, f64::max)).filter(|error| error.is_finite())
    }
}

/// Where to shoot: the middles of the worst triangles, none within half the spacing of a worse one.
#[must_use]
pub fn shoot_here(doubts: &[Doubt], spacing: f64) -> Vec<Doubt> {
    let mut chosen: Vec<Doubt> = Vec::new();
    for doubt in doubts {
        if chosen.iter().all(|other| other.middle.distance(doubt.middle) > spacing / 2.0) {
            chosen.push(*doubt);
        }
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::super::fitted::tests::survey;
    use super::*;
    use crate::ground::{GroundSettings, build};
    use crate::survey::AmongNeighbours;

    /// Hilly ground with a patch of 60 m left out: shooting the places that are asked for, at their true heights, settles most of what
    /// was in doubt, and all but a remnant when it is done again.
    #[test]
    fn the_places_asked_for_settle_the_doubt() {
        let height = |x: f64, y: f64| 430.0 + 0.03 * y + 1.5 * (x / 17.0).sin() * (y / 15.0).cos();
        let mut survey = survey(height, &[]);
        survey.shots.retain(|shot| shot.place.distance(Point::new(100.0, 60.0)) > 30.0);
        let settings = Settings::default();
        let asked = |survey: &Survey| {
            let ground = build(survey, &GroundSettings::default()).unwrap().value;
            let area = |doubt: &Doubt| {
                let [a, b, c] = ground.tin.corners(doubt.triangle).map(Point3::plan);
                (b - a).cross(c - a) / 2.0
            };
            let in_patch = |doubt: &&Doubt| doubt.middle.distance(Point::new(100.0, 60.0)) < 25.0;
            let found = doubts(&ground, survey, &settings, 0.25).unwrap();
            let worst = found.iter().filter(in_patch).map(|doubt| doubt.hides).fold(0.0, f64::max);
            (shoot_here(&found, ground.spacing), worst, found.iter().filter(in_patch).map(area).sum::<f64>())
        };
        let (places, worst, area) = asked(&survey);
        assert!(worst > 0.5 && area > 500.0, "{worst} {area}");
        for (i, one) in places.iter().enumerate() {
            assert!(places[..i].iter().all(|other| other.middle.distance(one.middle) > 4.0));
            assert!(i == 0 || places[i - 1].hides >= one.hides, "the worst first");
        }
        let shoot = |survey: &mut Survey, places: Vec<Doubt>| {
            for doubt in places {
                let mut shot = survey.shots[0].clone();
                shot.place = snap_point(doubt.middle);
                shot.elevation = height(shot.place.x, shot.place.y);
                survey.shots.push(shot);
            }
        };
        shoot(&mut survey, places);
        let (places, second_worst, second_area) = asked(&survey);
        assert!(
            second_worst < 0.6 * worst && second_area < 0.4 * area,
            "{second_worst} of {worst}, {second_area} of {area}"
        );
        shoot(&mut survey, places);
        let (_, last_worst, last_area) = asked(&survey);
        assert!(last_area < 0.05 * area, "{last_worst} of {worst}, {last_area} of {area}");
    }

    /// An even slope on which nobody shot a patch of 60 m, and low waves beyond: the shots round the patch know of no waves, but the
    /// patch is wide enough to hide them. Where no waves are nothing is made up.
    #[test]
    fn the_middle_of_an_empty_patch_is_as_unsure_as_the_survey_is_elsewhere_without_its_shots() {
        let patch = Point::new(60.0, 60.0);
        let asked = |rise: f64| {
            let waves = |x: f64, y: f64| if x > 110.0 { rise * (x / 4.0).sin() * (y / 5.0).cos() } else { 0.0 };
            let mut survey = survey(|x, y| 430.0 + 0.03 * y + waves(x, y), &[]);
            survey.shots.retain(|shot| shot.place.distance(patch) > 30.0);
            let ground = build(&survey, &GroundSettings::default()).unwrap().value;
            let found = doubts(&ground, &survey, &Settings::default(), 0.10).unwrap();
            let inside = |doubt: &&Doubt| doubt.middle.distance(patch) < 25.0;
            let beside = |doubt: &&Doubt| doubt.middle.x < 90.0 && doubt.middle.distance(patch) > 32.0;
            assert_eq!(found.iter().filter(beside).count(), 0, "{found:?}");
            let listed = shoot_here(&found, ground.spacing).iter().any(|place| place.middle.distance(patch) < 15.0);
            (found.iter().filter(inside).map(|doubt| doubt.hides).fold(0.0, f64::max), listed)
        };
        // The waves' root of the mean square is half their rise where they are, over about half the ground.
        let (hides, listed) = asked(0.3);
        assert!(listed && (0.10..0.60).contains(&hides), "{hides}");
        assert_eq!(asked(0.0), (0.0, false));
    }

    /// Even ground all over, and nobody shot a patch of 76 m: no doubt by what the shots tell, so the gap itself is told. It is not where
    /// the map marks it, nor where fewer than three shots each way are missing.
    #[test]
    fn a_gap_in_even_ground_is_told_as_one() {
        let patch = Point::new(100.0, 60.0);
        let asked = |radius: f64, rise: f64| {
            let waves = |x: f64, y: f64| rise * (x / 17.0).sin() * (y / 15.0).cos();
            let mut survey = survey(|x, y| 430.0 + 0.03 * y + waves(x, y), &[]);
            survey.shots.retain(|shot| shot.place.distance(patch) > radius);
            let ground = build(&survey, &GroundSettings::default()).unwrap().value;
            let found = doubts(&ground, &survey, &Settings::default(), 0.10).unwrap();
            (unseen(&ground, &found), found.len(), ground.spacing)
        };
        let (gap, doubts, spacing) = asked(38.0, 0.0);
        let gap = gap.unwrap();
        assert!(doubts == 0 && gap.middle.distance(patch) < spacing, "{gap:?}");
        assert!((37.0..38.0 + 1.5 * spacing).contains(&gap.radius), "{gap:?} of {spacing}");
        assert_eq!(asked(1.2 * spacing, 0.0).0, None);
        let (gap, doubts, _) = asked(38.0, 1.5);
        assert!(gap.is_none() && doubts > 0, "{gap:?}");
    }

    /// Shots stand where they were shot, vertices on the lattice: the corners' shots are found all the same.
    #[test]
    fn only_triangles_that_their_corners_leave_open_are_asked() {
        let mut survey = survey(|x, y| 0.02 * x + 0.01 * y, &[]);
        survey.shots.iter_mut().for_each(|shot| shot.place.x += 1e-7);
        survey.neighbours = vec![Some(AmongNeighbours { off: 0.0, sigma: 0.02, ground: 0.010 }); survey.shots.len()];
        let ground = build(&survey, &GroundSettings::default()).unwrap().value;
        assert_eq!(unsettled(&ground, &survey, 0.10, &in_gaps(&ground)).len(), 0);
        survey.neighbours[10 * 21 + 5].as_mut().unwrap().ground = 0.060;
        let open = unsettled(&ground, &survey, 0.10, &in_gaps(&ground));
        assert!((4..=8).contains(&open.len()), "those round the one shot: {}", open.len());
        survey.neighbours[3] = None;
        assert!(
            unsettled(&ground, &survey, 0.10, &in_gaps(&ground)).len() > open.len(),
            "nobody vouches for a shot that was not judged"
        );
    }
}

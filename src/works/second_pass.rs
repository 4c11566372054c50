//! Where to shoot along a new line before it is staked: shots of a first survey do not prove a sill.
//!
//! The line is walked in steps of half the survey's spacing, 10 m at most, with a shot on it and one at either side, so that
//! the ground under the line and its fall across it are both known there; along a sill every 2 m. Common practice, no
//! source. How often each place on the line is to be shot follows from the standard error there: after `n` shots of standard
//! deviation `s` it is `1 / sqrt(1 / error^2 + n / s^2)` (weights of independent observations). The shots on the line carry the code `line`, those beside it `ground`, which every code table reads back.

use super::fall_line::FallLine;
use super::limits::sill_tolerance;
use super::plan::{ContourCheck, ContourStation, Swale};
use super::work::SitePlan;
use crate::geom::{Point, Polyline};
use crate::ground::Ground;
use crate::units::Length;

/// Longest and shortest step along the line, metres.
const STEP: (f64, f64) = (10.0, 2.0);
/// Step along a sill, metres.
const STEP_ON_SILL: f64 = 2.0;
/// How far beside the line, metres.
const BESIDE: f64 = 3.0;
/// Places nearer than this along the line are one, metres.
const SAME: f64 = 0.5;

/// A shot to take along a new line.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotToTake {
    /// A short name, unique on the site.
    pub id: String,
    /// The work.
    pub works: String,
    /// Metres along its line.
    pub station: f64,
    /// Metres from its line, positive to its left: of a swale uphill.
    pub offset: f64,
    /// Where, local metres.
    pub place: Point,
    /// The ground as known so far; `None` off the survey.
    pub predicted_ground: Option<f64>,
    /// Field code to give it.
    pub code: &'static str,
    /// Standard error of the ground there as known so far; `None` beside the line and where it is not known.
    pub sigma: Option<f64>,
    /// How often to shoot it, set up anew each time, so that the line (on a sill the sill) is proven level there.
    pub times: u32,
}

/// A line that is walked.
struct Walked<'a> {
    name: &'a str,
    line: &'a Polyline,
    check: &'a ContourCheck,
    /// The sills on it.
    sills: Vec<(f64, f64)>,
    /// How level natural ground must be known on those.
    sill: f64,
}

impl<'a> From<&'a Swale> for Walked<'a> {
    fn from(swale: &'a Swale) -> Self {
        // The shallowest water over any sill asks for the most level one.
        let head = swale.spillways.iter().map(|spillway| spillway.head).reduce(Length::min).unwrap_or(swale.crest.head);
        let sills = swale.spillways.iter().map(|spillway| (spillway.from.in_metres(), spillway.to.in_metres()));
        Self {
            name: &swale.wanted.name,
            line: &swale.line,
            check: &swale.contour,
            sills: sills.collect(),
            sill: sill_tolerance(head).in_metres(),
        }
    }
}

impl<'a> From<&'a FallLine> for Walked<'a> {
    fn from(line: &'a FallLine) -> Self {
        let (sills, sill) = (Vec::new(), line.check.tolerance);
        Self { name: &line.wanted.name, line: &line.line, check: &line.check, sills, sill }
    }
}

/// The shots of a second pass along every swale of a plan and every line of constant fall, in the order they are walked.
#[must_use]
pub fn second_pass(ground: &Ground, plan: &SitePlan, fall_lines: &[FallLine]) -> Vec<ShotToTake> {
    let locator = ground.locator();
    let mut shots = Vec::new();
    for walked in plan.swales().map(Walked::from).chain(fall_lines.iter().map(Walked::from)) {
        for station in stations(walked.line, &walked.sills, ground.spacing / 2.0) {
            let known = nearest(&walked.check.stations, station);
            let times = known.map_or(1, |known| times(&walked, known));
            for (offset, code) in [(BESIDE, "ground"), (0.0, "line"), (-BESIDE, "ground")] {
                let place = walked.line.at_offset(station, offset);
                shots.push(ShotToTake {
                    id: format!("W{:03}", shots.len() + 1),
                    works: walked.name.to_owned(),
                    station,
                    offset,
                    place,
                    predicted_ground: locator.elevation(place),
                    code,
                    sigma: known.filter(|_| offset == 0.0).and_then(|known| known.sigma),
                    times: if offset == 0.0 { times } else { 1 },
                });
            }
        }
    }
    shots
}

/// The checked station nearest to one.
fn nearest(stations: &[ContourStation], station: f64) -> Option<&ContourStation> {
    let after = stations.partition_point(|known| known.station < station);
    let beside = [after.checked_sub(1), Some(after)].into_iter().flatten().filter_map(|k| stations.get(k));
    beside.min_by(|a, b| (a.station - station).abs().total_cmp(&(b.station - station).abs()))
}

/// Shots that prove the ground at a station: as near to its level as the line must be, on a sill as level as the sill.
fn times(walked: &Walked<'_>, known: &ContourStation) -> u32 {
    let Walked { sills, check, sill, .. } = walked;
    let on_a_sill = sills.iter().any(|&(from, to)| known.station > from - SAME && known.station < to + SAME);
    let tolerance = if on_a_sill { sill.min(check.tolerance) } else { check.tolerance };
    let shot = check.proof.shot_sigma.unwrap_or(0.0);
    // On a sill the ground is cut to the level, so what counts there is how well it is known.
    let known = ContourStation { deviation: if on_a_sill { 0.0 } else { known.deviation }, ..*known };
    known.shots_to_prove(tolerance, shot).max(1)
}

/// Even steps over the line with both its ends, finer along the sills with both their ends.
fn stations(line: &Polyline, sills: &[(f64, f64)], step: f64) -> Vec<f64> {
    let even = |from: f64, to: f64, step: f64| {
        let count = ((to - from) / step).ceil().max(1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a line's length over a step of 2 m"
        )]
        (0..=count as u32).map(move |i| from + (to - from) * f64::from(i) / count).collect::<Vec<_>>()
    };
    let on_a_sill = |station: f64| sills.iter().any(|&(from, to)| station > from - SAME && station < to + SAME);
    let mut all = even(0.0, line.length(), step.clamp(STEP.1, STEP.0));
    all.retain(|&station| !on_a_sill(station));
    all.extend(sills.iter().flat_map(|&(from, to)| even(from, to, STEP_ON_SILL)));
    all.sort_by(f64::total_cmp);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(length: f64) -> Polyline {
        Polyline::new(vec![Point::new(0.0, 0.0), Point::new(length, 0.0)]).unwrap()
    }

    #[test]
    fn steps_are_even_and_reach_both_ends() {
        assert_eq!(stations(&line(40.0), &[], 10.0), [0.0, 10.0, 20.0, 30.0, 40.0]);
        assert_eq!(stations(&line(25.0), &[], 50.0).len(), 4, "three steps of at most 10 m");
        assert_eq!(stations(&line(6.0), &[], 0.1).len(), 4, "no step under 2 m");
    }

    #[test]
    fn a_sill_is_shot_every_two_metres_and_at_its_ends() {
        let found = stations(&line(40.0), &[(17.0, 23.0)], 10.0);
        assert_eq!(found, [0.0, 10.0, 17.0, 19.0, 21.0, 23.0, 30.0, 40.0]);
    }

    /// A line of constant fall is walked as a swale is, in steps of half the spacing with a shot at either side.
    #[test]
    fn a_line_of_constant_fall_is_walked() {
        let (ground, plan) = crate::works::drain::tests::drained(true);
        let lines: Vec<FallLine> = plan.drains().map(|drain| drain.line.clone()).collect();
        let found = second_pass(&ground, &plan, &lines);
        // 60 m in steps of 5 m: 13 stations, three shots each.
        assert_eq!(found.len(), 39);
        let on_line: Vec<&ShotToTake> = found.iter().filter(|shot| shot.code == "line").collect();
        assert_eq!((on_line.len(), on_line[0].station), (13, 0.0));
        assert!(on_line.iter().all(|shot| shot.offset == 0.0 && shot.works == "drain"));
        assert!(second_pass(&ground, &plan, &[]).is_empty());
    }
}

//! One part along its length: level or not, and which stretches are out.
//!
//! Level is a straight line fitted along the part with both ends inside the tolerance at 95 %: pooling its shots, it
//! sees what no single shot can. What the line leaves is waviness, told apart. A stretch is out of tolerance when the
//! mean of its shots is, at a level so strict (Bonferroni: 5 % shared among all runs of neighbouring shots that were
//! tried) that a part built true has one named in fewer than one check of twenty. What shots
//! share (a level's backsight) is added to every half width unpooled.

use super::grade::{Extreme, Part, PartCheck, Stretch, Trend, TrendEnd};
use super::matching::{Matched, judge};
use super::settings::Tolerance;
use crate::stats::Verdict;
use crate::stats::{Line, end_error as shots_error, fit_weighted_line, mean, normal_quantile, student_quantile};

/// Longest run of neighbouring shots tried as one stretch.
const LONGEST_RUN: usize = 15;

/// Checks one part whose shots are all of one piece.
pub(super) fn check_part(works: &str, part: Part, piece: usize, shots: &[&Matched]) -> Option<PartCheck> {
    let mut shots = shots.to_vec();
    shots.sort_by(|a, b| a.along.total_cmp(&b.along).then_with(|| a.check.shot.cmp(&b.check.shot)));
    let tolerance = shots.first()?.check.tolerance;
    let differences: Vec<f64> = shots.iter().map(|shot| shot.check.difference_m).collect();
    let at = |shot: &&&Matched| Extreme { station_m: shot.check.station_m, difference_m: shot.check.difference_m };
    let by_height = |a: &&&Matched, b: &&&Matched| a.check.difference_m.total_cmp(&b.check.difference_m);
    let lowest = shots.iter().min_by(by_height).map(|shot| at(&shot))?;
    let highest = shots.iter().max_by(by_height).map(|shot| at(&shot))?;
    let failing = failing_stretches(&shots, tolerance);
    let trend = trend(&shots);
    let ends = trend.as_ref().map(|(line, error)| {
        [shots[0].along, shots[shots.len() - 1].along].map(|x| TrendEnd {
            difference_m: line.at(x),
            half_width_m: (error * line.standard_error_at(x)).hypot(normal_quantile(0.975) * shared(&shots)),
        })
    });
    let level = match ends {
        Some(ends) => ends.iter().map(|end| judge(end.difference_m, end.half_width_m, tolerance)).max()?,
        None => pooled(&shots, tolerance),
    };
    let verdict = if failing.is_empty() { level } else { Verdict::Fail };
    let stations = || shots.iter().map(|shot| shot.check.station_m);
    let sigma = mean(&shots.iter().map(|shot| shot.check.own_sigma()).collect::<Vec<_>>())?;
    Some(PartCheck {
        works: works.to_owned(),
        part,
        piece,
        from_m: stations().fold(f64::INFINITY, f64::min),
        to_m: stations().fold(f64::NEG_INFINITY, f64::max),
        shots: shots.len(),
        tolerance,
        mean_m: mean(&differences)?,
        lowest,
        highest,
        spread_m: highest.difference_m - lowest.difference_m,
        trend: trend.as_ref().map(|(line, _)| Trend {
            along_m: line.mean_x,
            difference_m: line.mean_y,
            slope_m_per_m: line.slope,
            slope_error_m_per_m: line.variance_slope.sqrt(),
        }),
        ends,
        waviness_m: trend.as_ref().and_then(|(line, _)| line.spread).map_or(0.0, |spread| {
            // The weighted spread is about one when shots scatter as they should.
            sigma * (spread * spread - 1.0).max(0.0).sqrt()
        }),
        failing,
        verdict,
        shots_needed: (verdict == Verdict::CannotTell).then(|| more_shots(&shots, ends, sigma, tolerance)).flatten(),
    })
}

/// The fitted line and by how much to multiply its standard errors for 95 %: the normal deviate, or, when the shots
/// scatter more than they should, Student's times that scatter.
fn trend(shots: &[&Matched]) -> Option<(Line, f64)> {
    let list = |f: fn(&Matched) -> f64| shots.iter().map(|shot| f(shot)).collect::<Vec<_>>();
    let line = fit_weighted_line(
        &list(|shot| shot.along),
        &list(|shot| shot.check.difference_m),
        &list(|shot| shot.check.own_sigma().powi(-2)),
    )?;
    let error = match line.spread {
        Some(spread) if spread > 1.0 => spread * student_quantile(0.975, (line.points - 2) as f64),
        _ => normal_quantile(0.975),
    };
    Some((line, error))
}

/// The verdict of shots in one place: their mean.
fn pooled(shots: &[&Matched], tolerance: Tolerance) -> Verdict {
    let (value, error) = mean_of(shots);
    judge(value, normal_quantile(0.975) * error, tolerance)
}

/// Mean difference and its standard error.
fn mean_of(shots: &[&Matched]) -> (f64, f64) {
    let weight_of = |shot: &&Matched| shot.check.own_sigma().powi(-2);
    let weight: f64 = shots.iter().map(weight_of).sum();
    let sum: f64 = shots.iter().map(|shot| shot.check.difference_m * weight_of(shot)).sum();
    (sum / weight, weight.recip().sqrt().hypot(shared(shots)))
}

/// Standard deviation of what shots share.
fn shared(shots: &[&Matched]) -> f64 {
    shots.iter().map(|shot| shot.check.shared_m).fold(0.0, f64::max)
}

/// Runs of neighbouring shots out of tolerance, the most certain first taken, then what is left on either side.
fn failing_stretches(shots: &[&Matched], tolerance: Tolerance) -> Vec<Stretch> {
    let n = shots.len();
    let runs: usize = (1..=n.min(LONGEST_RUN)).map(|length| n - length + 1).sum();
    if runs == 0 {
        return Vec::new();
    }
    // Either side of the tolerance may be broken, so the 5 % are shared among twice the runs.
    let limit = normal_quantile(1.0 - 0.05 / (2 * runs) as f64);
    let mut found = Vec::new();
    search(shots, 0, n, tolerance, limit, &mut found);
    found.sort_by_key(|&(from, _)| from);
    // Runs that touch on the same side are one stretch.
    let mut joined: Vec<(usize, usize)> = Vec::new();
    for (from, to) in found {
        match joined.last_mut() {
            Some(last) if last.1 == from && same_side(shots, *last, (from, to)) => last.1 = to,
            _ => joined.push((from, to)),
        }
    }
    joined.into_iter().map(|(from, to)| stretch(shots, from, to)).collect()
}

fn same_side(shots: &[&Matched], a: (usize, usize), b: (usize, usize)) -> bool {
    (mean_of(&shots[a.0..a.1]).0 < 0.0) == (mean_of(&shots[b.0..b.1]).0 < 0.0)
}

fn search(
    shots: &[&Matched],
    from: usize,
    to: usize,
    tolerance: Tolerance,
    limit: f64,
    found: &mut Vec<(usize, usize)>,
) {
    let mut best: Option<(f64, usize, usize)> = None;
    for start in from..to {
        for end in start + 1..=to.min(start + LONGEST_RUN) {
            let (value, error) = mean_of(&shots[start..end]);
            let certainty = tolerance.excess(value) / error;
            if certainty > limit && best.is_none_or(|(most, _, _)| certainty > most) {
                best = Some((certainty, start, end));
            }
        }
    }
    if let Some((_, start, end)) = best {
        search(shots, from, start, tolerance, limit, found);
        found.push((start, end));
        search(shots, end, to, tolerance, limit, found);
    }
}

fn stretch(shots: &[&Matched], from: usize, to: usize) -> Stretch {
    let station = |i: usize| shots[i].check.station_m;
    let first = if from == 0 { station(0) } else { f64::midpoint(station(from - 1), station(from)) };
    let last = if to == shots.len() { station(to - 1) } else { f64::midpoint(station(to - 1), station(to)) };
    let (mean_m, standard_error_m) = mean_of(&shots[from..to]);
    Stretch { from_m: first.min(last), to_m: first.max(last), shots: to - from, mean_m, standard_error_m }
}

/// How many shots would prove a part that these leave open: as many as a true part needs, and more where its ends lie
/// nearer to a bound. `None` where more shots would not help: an end lies on a bound or beyond it by what is known, or the
/// number is no greater than what was shot already.
fn more_shots(shots: &[&Matched], ends: Option<[TrendEnd; 2]>, sigma: f64, tolerance: Tolerance) -> Option<usize> {
    let width = tolerance.below_m + tolerance.above_m;
    let unpooled = normal_quantile(0.975) * shared(shots);
    let scatter = ends.map_or(sigma, |ends| {
        // What the half widths say of a shot's scatter, greater than sigma where the surface is wavy.
        let error = shots_error(shots.len()) * normal_quantile(0.975);
        let pooled = |end: &TrendEnd| (end.half_width_m.powi(2) - unpooled.powi(2)).max(0.0).sqrt();
        ends.iter().map(|end| pooled(end) / error).fold(sigma, f64::max)
    });
    let inside = match ends {
        Some(ends) => ends.iter().map(|end| -tolerance.excess(end.difference_m)).fold(f64::INFINITY, f64::min),
        None => -tolerance.excess(mean_of(shots).0),
    };
    // The ends are known to about one standard error only: less room than that is no room to build a number on.
    let room = inside.min(width / 2.0 * normal_quantile(0.975) / (normal_quantile(0.975) + 1.0));
    let enough = |n: usize| (normal_quantile(0.975) * scatter * shots_error(n)).hypot(unpooled) <= room;
    (room > 0.0).then(|| (3..1_000).find(|&n| enough(n))).flatten().filter(|&n| n > shots.len())
}

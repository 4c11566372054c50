//! Does a bed that leads water fall all the way as it was shot: every shot may lie within its tolerance, and water still stand.
//!
//! Water stands over a shot as deep as the highest shot further along is above it. That is told where it is more than the two
//! shots' own scatter makes likely (95 %), and such a bed does not pass; it fails where that holds for all pairs of its shots
//! together.

use super::design::Design;
use super::grade::{Checked, Part, PartCheck, PutRight, PutRightAction};
use super::matching::Matched;
use crate::notes::{Note, Place};
use crate::stats::{NORMAL_95, Verdict, normal_quantile};

/// A hump in the bed of a work, and where the water that it holds stands deepest.
pub(super) struct Rise {
    works: String,
    depth: f64,
    /// Stations of the place it stands at and of the one that holds it.
    low: f64,
    high: f64,
    /// Between the two, the first shot that stands over the low one: its station, and how far.
    begins: (f64, f64),
    /// It rises whatever chance made of all its shots.
    surely: bool,
}

/// The humps in the bed of each work that leads water.
pub(super) fn rises(design: &Design, matched: &[Matched]) -> Vec<Rise> {
    let works = design.works.iter().enumerate().filter(|(_, work)| work.leads_water);
    works.flat_map(|(index, work)| humps(&work.name, index, matched)).collect()
}

/// Every shot that is higher than all further along holds what stands behind it, back to the next that is higher than it.
fn humps(name: &str, index: usize, matched: &[Matched]) -> Vec<Rise> {
    let of_bed = matched.iter().filter(|shot| shot.work == index && shot.check.part == Part::Bed);
    let mut bed: Vec<_> = of_bed.map(|shot| &shot.check).collect();
    bed.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let pairs = (bed.len() * bed.len().saturating_sub(1)) as f64 / 2.0;
    let mut found: Vec<Rise> = Vec::new();
    let Some(mut holds) = bed.len().checked_sub(1) else { return found };
    let mut deepest: Option<Rise> = None;
    for i in (0..bed.len()).rev() {
        let (shot, holder) = (bed[i], bed[holds]);
        if shot.measured_m > holder.measured_m {
            found.extend(deepest.take());
            holds = i;
            continue;
        }
        let depth = holder.measured_m - shot.measured_m;
        let sigma = shot.sigma_m.hypot(holder.sigma_m);
        if depth > NORMAL_95 * sigma && deepest.as_ref().is_none_or(|found| depth > found.depth) {
            let surely = depth > normal_quantile(1.0 - 0.025 / pairs.max(1.0)) * sigma;
            let over = |at: usize| bed[at].measured_m - shot.measured_m;
            let first = (i + 1..=holds).find(|&at| over(at) > 0.0).unwrap_or(holds);
            let (low, high, begins) = (shot.station_m, holder.station_m, (bed[first].station_m, over(first)));
            deepest = Some(Rise { works: name.to_owned(), depth, low, high, begins, surely });
        }
    }
    found.extend(deepest);
    found.reverse();
    found
}

/// A bed that rises does not pass; one that surely does fails, and what holds the water is to be lowered.
pub(super) fn hold_against(rises: &[Rise], checked: &Checked, parts: &mut [PartCheck], put_right: &mut Vec<PutRight>) {
    if !matches!(checked, Checked::Checked { .. }) {
        return;
    }
    for rise in rises {
        for part in parts.iter_mut().filter(|part| part.part == Part::Bed && part.works == rise.works) {
            part.verdict = part.verdict.max(if rise.surely { Verdict::Fail } else { Verdict::CannotTell });
        }
        let lowered = put_right.iter().any(|job| {
            job.works == rise.works
                && job.part == Part::Bed
                && job.action == PutRightAction::Lower
                && (job.from_m..=job.to_m).contains(&rise.high)
        });
        if rise.surely && !lowered {
            put_right.push(PutRight {
                works: rise.works.clone(),
                part: Part::Bed,
                from_m: rise.begins.0,
                to_m: rise.high,
                action: PutRightAction::Lower,
                by_from_m: rise.begins.1,
                by_to_m: rise.depth,
            });
        }
    }
}

/// What is told of it.
pub(super) fn note(rise: &Rise) -> Note {
    let Rise { works, depth, low, high, .. } = rise;
    let text = format!(
        "as shot the bed of `{works}` does not fall all the way: at station {high:.1} m it lies {:.0} mm higher than at {low:.1} m, and water stands so deep there; take the hump off, whatever each shot is off its own level",
        1000.0 * depth
    );
    Note::new("asbuilt::bed-rises", text).at(Place::Station { works: works.clone(), station_m: *low })
}

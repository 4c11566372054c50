//! Every shot against what its neighbours say of its place without it.
//!
//! A shot's step is its height minus the estimate of its neighbours, in standard deviations of that difference (noise of
//! the shot and uncertainty of the ground between shots; `stats::Field`). The deviations are widened until the survey's
//! own steps have the spread of normal ones, for real ground has more banks and hollows than a random field. The largest
//! step goes first whose absence lets its neighbours agree best, the others are judged again without it, so that one blunder neither hides nor
//! accuses another. Two that lean on each other are tried out together. What was set aside is tried again at the end and
//! put back when its neighbours, as finally chosen, agree with it. What is off by less than chance could do in ten thousand
//! shots is used and told; what is off by more, of these too, is set aside. Three and more in a row that stand off the same way are
//! a bank, a gully or a run of false fixes: told, not set aside.
//!
//! The limits are common practice, no source, and set by trials on real ground (docs/accuracy.md holds the rates).

use super::surroundings::{Part, Surroundings};
use crate::geom::Point;
use crate::notes::{Cancelled, Reporter, each};
use crate::stats::normal_quantile;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

/// Standard deviations from which a shot is told as off its neighbours, and does not vote on others.
pub(super) const LIMIT: f64 = 2.7;
/// The same of a vertex of a breakline, which only ten others judge.
const LIMIT_ALONG: f64 = 3.4;
/// From which it is set aside: chance alone takes one good shot in ten thousand so far.
pub(super) const ASIDE: f64 = 4.0;
/// From which it is looked at more closely.
const TRY: f64 = 2.5;
/// Standard deviations that the worse of a pair must be off without the other; the other must be off too.
const PAIR: f64 = 4.0;
/// From which a shot may be one of a pair, and what both must be off together: each makes the ground look rough to the
/// other, and pulls what is said of it after itself.
const HALF_OF_A_PAIR: f64 = 1.2;
const PAIR_SUM: f64 = 3.0;
/// Neighbours that are looked at when one of several goes first.
const NEXT: usize = 8;
/// How many shots the usual roughness counts for beside those next to a shot.
const USUAL: f64 = 8.0;
const ROUGHNESS_FROM: usize = 10;
/// What a neighbour's squared step counts for at most when local roughness is told.
const MOST: f64 = 16.0;
/// What one squared step counts for at most when it is told how much better neighbours agree.
const HEALED: f64 = 25.0;
/// The farthest of these do not count, for they may be blunders themselves.
const FARTHEST: usize = 1;
/// The nearest neighbours of a blunder, whose own steps it spoils.
const ASTRAY: usize = 4;
/// Share of the shots that may be blunders when it is told how wide steps usually are.
const SUSPECTS: f64 = 0.015;
/// The vertices of lines are a hundred or so: chance puts more blunders among them than their share, by so many standard
/// deviations of a Poisson count. Each would widen the steps of all.
const SUSPECTS_ALONG: f64 = 2.0;
/// A step this many spacings away belongs to a run; so many more make one.
const RUN_REACH: f64 = 2.5;
const RUN: usize = 2;
/// Shares of its own step that another shot must be off, at least and at most, to be of its run: a bank lifts its shots alike.
const ALIKE: RangeInclusive<f64> = 0.67..=2.0;
/// What the widening that a survey's own steps show is multiplied with where shots are judged: its outermost steps are few,
/// and may be missing.
const MARGIN: f64 = 1.6;
/// Shots that the widening of the ground between shots is told from, at most.
const BETWEEN: usize = 1000;
/// Widening that is thought right before the survey is seen, and how many shots that counts for.
const WIDENING: (f64, f64) = (1.1, 100.0);

/// How a shot leans from its neighbours.
#[derive(Debug, Clone)]
struct Lean {
    /// Its height minus the neighbours' estimate, metres.
    off: f64,
    /// Standard deviation of that, before widening.
    sigma: f64,
    /// Variance of the ground's estimate over that of the shot's noise.
    unsure: f64,
    near: Vec<usize>,
}

/// What it is like without a shot.
#[derive(Debug, Clone, Copy)]
struct Absence {
    /// It is off what the others say.
    off: bool,
    /// By how much the squared steps of it and its neighbours fall.
    gain: f64,
}

/// A shot among its neighbours, as told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    pub(super) index: usize,
    /// Its height minus the neighbours' estimate, metres.
    pub(super) off: f64,
    /// Standard deviation of that, metres.
    pub(super) sigma: f64,
    /// Variance of the ground's estimate over that of the shot's noise.
    pub(super) unsure: f64,
    /// Standard error of the ground's estimate, metres.
    pub(super) ground: f64,
}

/// What leaving out found.
#[derive(Debug, Clone, Default)]
pub(super) struct LeftOut {
    /// Every shot that could be judged, in file order.
    pub(super) steps: Vec<Step>,
    /// Indices of those that are off and to be set aside.
    pub(super) off: Vec<usize>,
    /// Indices of those that are off by less: used, and told.
    pub(super) doubtful: Vec<usize>,
    /// Indices of those that are off together with others.
    pub(super) together: Vec<usize>,
    /// What standard errors of the ground between shots are to be multiplied with: without the margin that limits for
    /// blunders have.
    pub(super) widening: f64,
}

/// Judges every ground shot by its neighbours. Those to keep in any case are never off; one that its neighbours
/// contradict does not judge them, or it would cast out the next ones.
pub(super) fn leave_out(
    surroundings: &Surroundings,
    keep: &[bool],
    reporter: &dyn Reporter,
) -> Result<LeftOut, Cancelled> {
    let mut trial = Trial {
        surroundings,
        keep,
        used: vec![true; keep.len()],
        leans: vec![None; keep.len()],
        widening: [WIDENING.0; 2],
        reporter,
    };
    let every: Vec<usize> = surroundings.judged().map(|(i, _)| i).collect();
    trial.judge(&every);
    // Widening from all, blunders among them; then twice from what is left.
    for _ in 0..3 {
        trial.widen();
        trial.singles()?;
    }
    trial.pairs()?;
    trial.put_back();
    Ok(trial.found())
}

struct Trial<'a> {
    surroundings: &'a Surroundings,
    keep: &'a [bool],
    used: Vec<bool>,
    leans: Vec<Option<Lean>>,
    /// Of the ground and of lines.
    widening: [f64; 2],
    reporter: &'a dyn Reporter,
}

impl Trial<'_> {
    fn lean(&self, i: usize, used: &[bool]) -> Option<Lean> {
        let (estimate, near) = self.surroundings.estimate(i, used)?;
        let shot = self.surroundings.shot(i);
        Some(Lean {
            off: shot.height - estimate.height,
            sigma: estimate.deviation_of(shot.variance),
            unsure: estimate.standard_error.powi(2) / (estimate.noise * shot.variance),
            near,
        })
    }

    fn judge(&mut self, indices: &[usize]) {
        let leans = each(indices.len(), |k| self.lean(indices[k], &self.used));
        indices.iter().zip(leans).for_each(|(&i, lean)| self.leans[i] = lean);
    }

    /// Those that could be judged, in file order.
    fn judged(&self) -> impl Iterator<Item = (usize, &Lean)> {
        self.leans.iter().enumerate().filter_map(|(i, lean)| Some((i, lean.as_ref()?)))
    }

    fn out(&self) -> Vec<usize> {
        (0..self.used.len()).filter(|&i| !self.used[i]).collect()
    }

    fn limit(&self, i: usize) -> f64 {
        [LIMIT, LIMIT_ALONG][self.kind(i)]
    }

    fn wide(&self, i: usize) -> f64 {
        self.widening[self.kind(i)]
    }

    fn kind(&self, i: usize) -> usize {
        usize::from(self.surroundings.part(i) != Some(Part::Ground))
    }

    /// Signed step in widened standard deviations; nothing for a shot that cannot be judged.
    fn step_of(&self, i: usize, lean: &Lean) -> f64 {
        lean.off / (lean.sigma * self.wide(i))
    }

    fn step(&self, i: usize) -> f64 {
        self.leans[i].as_ref().map_or(0.0, |lean| self.step_of(i, lean))
    }

    /// Widens until the outer steps are as far out as normal ones; more where they are farther out than the inner ones
    /// would have them.
    fn widen(&mut self) {
        for kind in 0..2 {
            let of_kind = self.judged().filter(|&(i, _)| self.used[i] && self.kind(i) == kind);
            let steps = of_kind.map(|(i, lean)| (i, (lean.off / lean.sigma).abs(), lean.near.as_slice())).collect();
            self.widening[kind] = widening(sound(steps, [0.0, SUSPECTS_ALONG][kind]), MARGIN);
        }
    }

    /// How much wider the ground between shots is than the shots that are used say when none of them is mistrusted.
    fn between(&self) -> f64 {
        let used: Vec<usize> = self.surroundings.on_open_ground().filter(|&i| self.used[i]).collect();
        let sample: Vec<usize> = used.iter().copied().step_by(used.len().div_ceil(BETWEEN).max(1)).collect();
        let said = each(sample.len(), |k| self.surroundings.trusting(sample[k], &self.used));
        let steps = sample.iter().zip(&said).filter_map(|(&i, said)| {
            let (estimate, near) = said.as_ref()?;
            let shot = self.surroundings.shot(i);
            let step = (shot.height - estimate.height) / estimate.deviation_of(shot.variance);
            Some((i, step.abs(), near.as_slice()))
        });
        widening(sound(steps.collect(), 0.0), 1.0)
    }

    /// Local roughness: how much farther out the neighbours' own steps are than normal ones; the farthest does not count,
    /// for it may be a blunder.
    fn roughness(near: &[usize], steps: impl Fn(usize) -> f64) -> f64 {
        let mut squares: Vec<f64> = near.iter().take(ROUGHNESS_FROM).map(|&j| steps(j).powi(2).min(MOST)).collect();
        squares.sort_by(f64::total_cmp);
        squares.truncate(squares.len().saturating_sub(FARTHEST));
        ((USUAL + squares.iter().sum::<f64>()) / (USUAL + squares.len() as f64)).max(1.0).sqrt()
    }

    /// Takes out one after the other what is off. Of several near each other the one goes first without which the others
    /// agree best, for a blunder pulls the steps of sound neighbours beyond its own where the ground is known better there.
    fn singles(&mut self) -> Result<(), Cancelled> {
        let mut tried: Vec<Option<Absence>> = vec![None; self.used.len()];
        for _ in 0..40 {
            self.reporter.checkpoint()?;
            let open = |i: usize| self.used[i] && self.step(i).abs() > TRY;
            let asked: Vec<usize> = self.judged().map(|(i, _)| i).filter(|&i| open(i) && tried[i].is_none()).collect();
            let absences = each(asked.len(), |k| self.absence(asked[k]));
            asked.into_iter().zip(absences).for_each(|(i, absence)| tried[i] = Some(absence));
            let gain = |i: usize| tried[i].filter(|absence| open(i) && absence.off).map(|absence| absence.gain);
            let gone: Vec<usize> = self
                .judged()
                .filter(|(i, lean)| {
                    let beaten =
                        |own: f64| lean.near.iter().take(NEXT).any(|&j| gain(j).is_some_and(|other| other > own));
                    gain(*i).is_some_and(|own| !beaten(own))
                })
                .map(|(i, _)| i)
                .collect();
            if gone.is_empty() {
                break;
            }
            self.take_out(&gone).into_iter().for_each(|i| tried[i] = None);
        }
        Ok(())
    }

    /// What it is like without a shot: is it off by its neighbours' own roughness then, and how much better do they agree.
    fn absence(&self, i: usize) -> Absence {
        let mut without = self.used.clone();
        without[i] = false;
        let nothing = Absence { off: false, gain: 0.0 };
        let Some(alone) = self.lean(i, &without) else { return nothing };
        let again: BTreeMap<usize, f64> = alone
            .near
            .iter()
            .take(ROUGHNESS_FROM)
            .map(|&j| (j, self.lean(j, &without).map_or(0.0, |lean| self.step_of(j, &lean))))
            .collect();
        let step = self.step_of(i, &alone).abs();
        let rough = Self::roughness(&alone.near, |j| again.get(&j).copied().unwrap_or(0.0));
        let healed = again.iter().map(|(&j, step)| self.step(j).powi(2).min(HEALED) - step.powi(2).min(HEALED));
        Absence { off: step > self.limit(i) * rough, gain: step.powi(2).min(HEALED) + healed.sum::<f64>() }
    }

    /// Takes shots out of use and judges again those that they stood near; gives these.
    fn take_out(&mut self, gone: &[usize]) -> Vec<usize> {
        let mut is_gone = vec![false; self.used.len()];
        gone.iter().for_each(|&i| (self.used[i], is_gone[i]) = (false, true));
        let near = |lean: &Lean| lean.near.iter().any(|&j| is_gone[j]);
        let touched: Vec<usize> = self.judged().filter(|&(i, lean)| is_gone[i] || near(lean)).map(|(i, _)| i).collect();
        self.judge(&touched);
        touched
    }

    /// Two that lean on each other: both off when both are out.
    fn pairs(&mut self) -> Result<(), Cancelled> {
        for _ in 0..4 {
            self.reporter.checkpoint()?;
            let half = |i: usize| self.used[i] && self.step(i).abs() > HALF_OF_A_PAIR;
            let mut asked: Vec<[usize; 2]> = Vec::new();
            for (i, lean) in self.judged().filter(|&(i, _)| half(i)) {
                let beside = |j: usize| self.leans[j].as_ref().is_some_and(|lean| lean.near.contains(&i));
                let together = |j: usize| self.step(i).abs() + self.step(j).abs() > PAIR_SUM;
                let partners = lean.near.iter().filter(|&&j| half(j) && together(j) && (i < j || !beside(j)));
                asked.extend(partners.map(|&j| [i, j]));
            }
            let worth = each(asked.len(), |k| {
                let mut without = self.used.clone();
                asked[k].iter().for_each(|&i| without[i] = false);
                let steps = asked[k].map(|i| self.lean(i, &without).map_or(0.0, |lean| self.step_of(i, &lean).abs()));
                let off = steps[0].min(steps[1]) > LIMIT && steps[0].max(steps[1]) > PAIR;
                off.then_some(steps[0] + steps[1])
            });
            let mut found: Vec<(f64, [usize; 2])> =
                worth.into_iter().zip(asked).filter_map(|(worth, pair)| Some((worth?, pair))).collect();
            found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let mut gone: Vec<usize> = Vec::new();
            for (_, pair) in found {
                if !pair.iter().any(|i| gone.contains(i)) {
                    gone.extend(pair);
                }
            }
            if gone.is_empty() {
                break;
            }
            self.take_out(&gone);
            self.singles()?;
        }
        Ok(())
    }

    /// Puts back what its neighbours, as they now are, agree with.
    fn put_back(&mut self) {
        for _ in 0..5 {
            let out = self.out();
            let beside = |i: &usize| self.leans[*i].iter().flat_map(|lean| lean.near.iter().take(ROUGHNESS_FROM));
            let near: BTreeSet<usize> = out.iter().flat_map(beside).chain(&out).copied().collect();
            // A breakline shot near by that is not judged stays unjudged.
            let near = near.into_iter().filter(|&i| self.surroundings.part(i).is_some());
            self.judge(&near.collect::<Vec<_>>());
            let back: Vec<usize> = out
                .into_iter()
                .filter(|&i| {
                    let rough =
                        self.leans[i].as_ref().map_or(1.0, |lean| Self::roughness(&lean.near, |j| self.step(j)));
                    self.step(i).abs() <= self.limit(i) * rough
                })
                .collect();
            if back.is_empty() {
                break;
            }
            back.iter().for_each(|&i| self.used[i] = true);
        }
    }

    fn found(mut self) -> LeftOut {
        let widening = self.between();
        let (in_any_case, out): (Vec<usize>, Vec<usize>) = self.out().into_iter().partition(|&i| self.keep[i]);
        let place = |i: usize| self.surroundings.shot(i).place;
        let off = |i: usize| self.leans[i].as_ref().map_or(0.0, |lean| lean.off);
        let standing: Vec<(usize, Point, f64)> = out.iter().map(|&i| (i, place(i), off(i))).collect();
        let together = in_runs(standing, RUN_REACH * self.surroundings.spacing());
        let off: Vec<usize> = out.iter().copied().filter(|i| !together.contains(i)).collect();
        let far: BTreeSet<usize> = self
            .steps()
            .into_iter()
            .filter(|step| (step.off / step.sigma).abs() > ASIDE)
            .map(|step| step.index)
            .collect();
        let (mut off, mut doubtful): (Vec<usize>, Vec<usize>) = off.into_iter().partition(|i| far.contains(i));
        // How shots stand among those that are kept: what is only doubtful is one of them, and so is what is no longer far off
        // with these in use. The own step of each stays as found.
        let mut steps: BTreeMap<usize, Step> = self.steps().into_iter().map(|step| (step.index, step)).collect();
        loop {
            let kept: BTreeSet<usize> = doubtful.iter().chain(&together).chain(&in_any_case).copied().collect();
            self.take_back(&kept);
            let among: BTreeMap<usize, Step> = self.steps().into_iter().map(|step| (step.index, step)).collect();
            let far = |i: &usize| among.get(i).is_some_and(|step| (step.off / step.sigma).abs() > ASIDE);
            let (still, back): (Vec<usize>, Vec<usize>) = off.into_iter().partition(far);
            off = still;
            if back.is_empty() {
                steps.extend(among.into_iter().filter(|(i, _)| !kept.contains(i)));
                break;
            }
            doubtful.extend(back);
        }
        doubtful.sort_unstable();
        LeftOut { steps: steps.into_values().collect(), off, doubtful, together, widening }
    }

    fn steps(&self) -> Vec<Step> {
        let step = |(index, lean): (usize, &Lean)| {
            let sigma = lean.sigma * self.wide(index) * Self::roughness(&lean.near, |j| self.step(j));
            Step {
                index,
                off: lean.off,
                sigma,
                unsure: lean.unsure,
                ground: sigma * (lean.unsure / (1.0 + lean.unsure)).sqrt(),
            }
        };
        self.judged().map(step).collect()
    }

    /// Uses shots again and judges those that they are near enough to.
    fn take_back(&mut self, back: &BTreeSet<usize>) {
        if back.is_empty() {
            return;
        }
        back.iter().for_each(|&i| self.used[i] = true);
        let touched: Vec<usize> = self
            .judged()
            .filter(|(i, lean)| self.surroundings.whom(*i, &self.used) != lean.near)
            .map(|(i, _)| i)
            .collect();
        self.judge(&touched);
    }
}

/// Which of the shots that are off, each with its place and by how much, stand in a run: with company near by that is off
/// alike, and that stands in a run itself. A blunder has no part in what others are off for.
fn in_runs(mut off: Vec<(usize, Point, f64)>, reach: f64) -> Vec<usize> {
    loop {
        let in_company = |&(i, place, up): &(usize, Point, f64)| {
            let beside = off
                .iter()
                .filter(|&&(j, there, other)| j != i && place.distance(there) < reach && ALIKE.contains(&(other / up)));
            beside.count() >= RUN
        };
        let left: Vec<(usize, Point, f64)> = off.iter().copied().filter(in_company).collect();
        if left.len() == off.len() {
            return left.into_iter().map(|(i, ..)| i).collect();
        }
        off = left;
    }
}

/// The steps of shots, each with its neighbours, without the farthest and without those beside one of these. The farthest are
/// the usual share of blunders and so many standard deviations of that count more.
fn sound(mut steps: Vec<(usize, f64, &[usize])>, more: f64) -> Vec<f64> {
    steps.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let usual = SUSPECTS * steps.len() as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of the shots")]
    let suspects = (usual + more * usual.sqrt()).ceil() as usize;
    let suspected: BTreeSet<usize> = steps.iter().take(suspects).map(|step| step.0).collect();
    let led_astray = |near: &[usize]| near.iter().take(ASTRAY).any(|j| suspected.contains(j));
    steps.iter().skip(suspects).filter(|step| !led_astray(step.2)).map(|step| step.1).collect()
}

/// Widening that a survey's raw steps ask for, with such a margin.
fn widening(mut steps: Vec<f64>, margin: f64) -> f64 {
    let count = steps.len() as f64;
    if steps.is_empty() {
        return WIDENING.0;
    }
    steps.sort_by(f64::total_cmp);
    let share = |share: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a rank among the steps")]
        let at = ((count - 1.0) * share).round() as usize;
        steps[at] / normal_quantile(f64::midpoint(1.0, share))
    };
    let (outer, inner) = (share(0.97), share(0.68));
    let own = (outer * (outer / inner.max(1e-9)).max(1.0).powf(0.6)).clamp(0.8, 2.5);
    (count * own * margin + WIDENING.1 * WIDENING.0) / (count + WIDENING.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(off: &[f64]) -> Vec<usize> {
        in_runs(off.iter().enumerate().map(|(i, &up)| (i, Point::new(4.0 * i as f64, 0.0), up)).collect(), 13.0)
    }

    /// Each of a run must be in it to the others too: one between others that are off by far more or less is alone.
    #[test]
    fn a_run_is_of_shots_that_keep_each_other_company() {
        assert_eq!(run(&[-0.40, -0.45, -0.50]), [0, 1, 2]);
        // The first has two beside it that are 1.75 and 0.75 times as far off; neither has two itself.
        assert_eq!(run(&[-0.40, -0.70, -0.30]), [0_usize; 0]);
        // Nor is a bank's company that of a shot that is off the other way.
        assert_eq!(run(&[-0.40, -0.45, -0.50, 0.45]), [0, 1, 2]);
    }

    /// Five blunders among the hundred vertices of lines, which chance may do, hardly widen what is told of the sound ones.
    #[test]
    fn several_blunders_on_lines_hardly_widen_their_steps() {
        let normal = (0..95).map(|i| normal_quantile(0.5 + (f64::from(i) + 0.5) / 190.0));
        let told = |steps: &[f64], more: f64| {
            widening(sound(steps.iter().enumerate().map(|(i, &step)| (i, step, [].as_slice())).collect(), more), 1.0)
        };
        let clean: Vec<f64> = normal.collect();
        let spoiled: Vec<f64> = clean.iter().copied().chain([8.0; 5]).collect();
        assert!(told(&spoiled, SUSPECTS_ALONG) < 1.15 * told(&clean, SUSPECTS_ALONG));
        assert!(told(&spoiled, 0.0) > 1.25 * told(&clean, 0.0), "the usual share lets three of them count");
    }
}

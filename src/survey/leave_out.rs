//! Every shot against what its neighbours say of its place without it.
//!
//! A shot's step is its height minus the estimate of its neighbours, in standard deviations of that difference (noise of
//! the shot and uncertainty of the ground between shots; `stats::Field`). The deviations are widened until the survey's
//! own steps have the spread of normal ones, for real ground has more banks and hollows than a random field. The largest
//! step of a neighbourhood goes first, the others are judged again without it, so that one blunder neither hides nor
//! accuses another. Two that lean on each other are tried out together. What was set aside is tried again at the end and
//! put back when its neighbours, as finally chosen, agree with it. What is off by less than chance could do in ten thousand
//! shots is used and told; what is off by more is set aside. Three and more in a row that stand off the same way are
//! a bank, a gully or a run of false fixes: told, not set aside.
//!
//! The limits are common practice, no source, and set by trials on real ground (docs/accuracy.md holds the rates).

use super::candidate::Candidate;
use super::surroundings::{Part, Surroundings};
use crate::stats::normal_quantile;
use std::collections::{BTreeMap, BTreeSet};

/// Standard deviations from which a shot is told as off its neighbours, and does not vote on others.
const LIMIT: f64 = 3.0;
/// From which it is set aside: chance alone takes one good shot in ten thousand so far.
pub(super) const ASIDE: f64 = 4.0;
/// From which it is looked at more closely.
const TRY: f64 = 2.7;
/// Standard deviations that the worse of a pair must be off without the other; the other must be off too.
const PAIR: f64 = 4.5;
/// From which a shot may be one of a pair.
const HALF_OF_A_PAIR: f64 = 1.2;
/// Neighbours that a pair is looked for among, and that local roughness is told from.
const NEXT: usize = 8;
const ROUGHNESS_FROM: usize = 10;
/// What a neighbour's squared step counts for at most when local roughness is told.
const MOST: f64 = 16.0;
/// A step this many spacings away belongs to a run; so many more make one.
const RUN_REACH: f64 = 2.5;
const RUN: usize = 2;
/// What the widening that a survey's own steps show is multiplied with: its outermost steps are few, and may be missing.
const MARGIN: f64 = 1.1;
/// Widening that is thought right before the survey is seen, and how many shots that counts for.
const WIDENING: (f64, f64) = (1.1, 100.0);

/// A shot among its neighbours.
#[derive(Debug, Clone)]
struct Standing {
    /// Its height minus the neighbours' estimate, metres.
    off: f64,
    /// Standard deviation of that, before widening.
    sigma: f64,
    /// Variance of the ground's estimate over that of the shot's noise.
    unsure: f64,
    near: Vec<usize>,
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
    /// What standard errors of the ground were multiplied with.
    pub(super) widening: f64,
}

/// Judges every ground shot by its neighbours. Those to keep in any case vote and are never off.
pub(super) fn leave_out(all: &[Candidate], surroundings: &Surroundings<'_>, variances: &[f64]) -> LeftOut {
    let mut trial = Trial {
        all,
        parts: surroundings.judged().collect(),
        used: vec![true; all.len()],
        standings: BTreeMap::new(),
        widening: [WIDENING.0; 2],
        variances,
        surroundings,
    };
    let every: Vec<usize> = trial.parts.keys().copied().collect();
    trial.judge(&every);
    // Widening from all, blunders among them; then twice from what is left.
    for _ in 0..3 {
        trial.widen();
        trial.singles();
    }
    trial.pairs();
    trial.put_back();
    trial.found()
}

struct Trial<'a> {
    all: &'a [Candidate],
    surroundings: &'a Surroundings<'a>,
    variances: &'a [f64],
    parts: BTreeMap<usize, Part>,
    used: Vec<bool>,
    standings: BTreeMap<usize, Standing>,
    /// Of the ground and of lines.
    widening: [f64; 2],
}

impl Trial<'_> {
    fn standing(&self, i: usize, used: &[bool]) -> Option<Standing> {
        let (estimate, near) = self.surroundings.estimate(i, used)?;
        Some(Standing {
            off: self.all[i].shot.elevation - estimate.height,
            sigma: estimate.deviation_of(self.variances[i]),
            unsure: estimate.standard_error.powi(2) / (estimate.noise * self.variances[i]),
            near,
        })
    }

    fn judge(&mut self, indices: &[usize]) {
        for &i in indices {
            match self.standing(i, &self.used) {
                Some(standing) => self.standings.insert(i, standing),
                None => self.standings.remove(&i),
            };
        }
    }

    fn wide(&self, i: usize) -> f64 {
        self.widening[usize::from(self.parts.get(&i) != Some(&Part::Ground))]
    }

    /// Signed step in widened standard deviations; nothing for a shot that cannot be judged.
    fn step_of(&self, i: usize, standing: &Standing) -> f64 {
        standing.off / (standing.sigma * self.wide(i))
    }

    fn step(&self, i: usize) -> f64 {
        self.standings.get(&i).map_or(0.0, |standing| self.step_of(i, standing))
    }

    /// Widens until the outer steps are as far out as normal ones; more where they are farther out than the inner ones
    /// would have them.
    fn widen(&mut self) {
        for kind in 0..2 {
            let raw: Vec<f64> = self
                .standings
                .iter()
                .filter(|(i, _)| self.used[**i] && usize::from(self.parts[i] != Part::Ground) == kind)
                .map(|(_, standing)| (standing.off / standing.sigma).abs())
                .collect();
            self.widening[kind] = widening(raw);
        }
    }

    /// Local roughness: how much farther out the neighbours' own steps are than normal ones; the farthest does not count,
    /// for it may be a blunder.
    fn roughness(near: &[usize], steps: impl Fn(usize) -> f64) -> f64 {
        let mut squares: Vec<f64> = near.iter().take(ROUGHNESS_FROM).map(|&j| steps(j).powi(2).min(MOST)).collect();
        squares.sort_by(f64::total_cmp);
        squares.pop();
        let usual = NEXT as f64;
        ((usual + squares.iter().sum::<f64>()) / (usual + squares.len() as f64)).max(1.0).sqrt()
    }

    /// Takes out one after the other what is off, each tried out with its neighbours judged again without it.
    fn singles(&mut self) {
        let mut excused: BTreeSet<usize> = BTreeSet::new();
        for round in 0..40 {
            let open = |i: &usize| self.used[*i] && !excused.contains(i) && !self.all[*i].keep;
            let worst: Vec<usize> = self
                .standings
                .keys()
                .copied()
                .filter(|i| open(i) && self.step(*i).abs() > TRY)
                .filter(|&i| {
                    let worse = |j: &usize| open(j) && self.step(*j).abs() > self.step(i).abs();
                    !self.standings[&i].near.iter().take(NEXT).any(worse)
                })
                .collect();
            if worst.is_empty() {
                break;
            }
            let mut without = self.used.clone();
            worst.iter().for_each(|&i| without[i] = false);
            let mut gone = Vec::new();
            for &i in &worst {
                if self.off_without(i, &without) {
                    gone.push(i);
                } else {
                    excused.insert(i);
                }
            }
            self.take_out(&gone, round < 8, &mut excused);
        }
    }

    /// True when a shot is off while those in question are out, by its neighbours' own roughness then.
    fn off_without(&self, i: usize, used: &[bool]) -> bool {
        let Some(alone) = self.standing(i, used) else { return false };
        let again: BTreeMap<usize, f64> = alone
            .near
            .iter()
            .take(ROUGHNESS_FROM)
            .map(|&j| (j, self.standing(j, used).map_or(0.0, |standing| self.step_of(j, &standing))))
            .collect();
        self.step_of(i, &alone).abs() > LIMIT * Self::roughness(&alone.near, |j| again.get(&j).copied().unwrap_or(0.0))
    }

    fn take_out(&mut self, gone: &[usize], ask_again: bool, excused: &mut BTreeSet<usize>) {
        gone.iter().for_each(|&i| self.used[i] = false);
        let touched: Vec<usize> = self
            .standings
            .iter()
            .filter(|(i, standing)| gone.contains(i) || standing.near.iter().any(|j| gone.contains(j)))
            .map(|(&i, _)| i)
            .collect();
        if ask_again {
            touched.iter().for_each(|i| {
                excused.remove(i);
            });
        }
        self.judge(&touched);
    }

    /// Two that lean on each other: both off when both are out.
    fn pairs(&mut self) {
        for _ in 0..4 {
            let half = |i: usize| self.used[i] && !self.all[i].keep && self.step(i).abs() > HALF_OF_A_PAIR;
            let next = |i: usize| self.standings.get(&i).map_or(&[][..], |s| &s.near[..s.near.len().min(NEXT)]);
            let mut found: Vec<(f64, [usize; 2])> = Vec::new();
            for &i in self.standings.keys().filter(|i| half(**i)) {
                for &j in next(i).iter().filter(|&&j| half(j) && (i < j || !next(j).contains(&i))) {
                    let mut without = self.used.clone();
                    (without[i], without[j]) = (false, false);
                    let steps = [i, j].map(|k| self.standing(k, &without).map_or(0.0, |s| self.step_of(k, &s).abs()));
                    if steps[0].min(steps[1]) > LIMIT && steps[0].max(steps[1]) > PAIR {
                        found.push((steps[0] + steps[1], [i, j]));
                    }
                }
            }
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
            self.take_out(&gone, false, &mut BTreeSet::new());
            self.singles();
        }
    }

    /// Puts back what its neighbours, as they now are, agree with.
    fn put_back(&mut self) {
        for _ in 0..5 {
            let out: Vec<usize> = self.parts.keys().copied().filter(|&i| !self.used[i]).collect();
            let near: BTreeSet<usize> = out
                .iter()
                .flat_map(|i| self.standings.get(i).into_iter().flat_map(|s| s.near.iter().take(ROUGHNESS_FROM)))
                .chain(&out)
                .copied()
                .collect();
            self.judge(&near.into_iter().collect::<Vec<_>>());
            let back: Vec<usize> = out
                .into_iter()
                .filter(|&i| {
                    let rough = self.standings.get(&i).map_or(1.0, |s| Self::roughness(&s.near, |j| self.step(j)));
                    self.step(i).abs() <= LIMIT * rough
                })
                .collect();
            if back.is_empty() {
                break;
            }
            back.iter().for_each(|&i| self.used[i] = true);
        }
    }

    fn found(mut self) -> LeftOut {
        let out: Vec<usize> = self.parts.keys().copied().filter(|&i| !self.used[i]).collect();
        let in_a_run = |i: usize| {
            let beside = out.iter().filter(|&&j| {
                let near =
                    self.all[i].shot.place.distance(self.all[j].shot.place) < RUN_REACH * self.surroundings.spacing;
                j != i && near && self.step(i) * self.step(j) > 0.0
            });
            beside.count() >= RUN
        };
        let (together, off): (Vec<usize>, Vec<usize>) = out.iter().copied().partition(|&i| in_a_run(i));
        let far: BTreeSet<usize> = self
            .steps()
            .into_iter()
            .filter(|step| (step.off / step.sigma).abs() > ASIDE)
            .map(|step| step.index)
            .collect();
        let (off, doubtful): (Vec<usize>, Vec<usize>) = off.into_iter().partition(|i| far.contains(i));
        // How shots stand among those that are kept: what is only doubtful is one of them. Its own step stays as found.
        let mut steps: BTreeMap<usize, Step> = self.steps().into_iter().map(|step| (step.index, step)).collect();
        let kept: Vec<usize> = doubtful.iter().chain(&together).copied().collect();
        self.take_back(&kept);
        for step in self.steps().into_iter().filter(|step| !kept.contains(&step.index)) {
            steps.insert(step.index, step);
        }
        LeftOut { steps: steps.into_values().collect(), off, doubtful, together, widening: self.widening[0] }
    }

    fn steps(&self) -> Vec<Step> {
        let step = |(&index, standing): (&usize, &Standing)| {
            let sigma = standing.sigma * self.wide(index) * Self::roughness(&standing.near, |j| self.step(j));
            Step { index, off: standing.off, sigma, unsure: standing.unsure }
        };
        self.standings.iter().map(step).collect()
    }

    /// Uses shots again and judges those that they are near enough to.
    fn take_back(&mut self, back: &[usize]) {
        back.iter().for_each(|&i| self.used[i] = true);
        let near = |i: usize| {
            let reach = |s: &Standing| {
                s.near.iter().map(|&j| self.all[j].shot.place.distance(self.all[i].shot.place)).fold(0.0, f64::max)
            };
            let reach = self.standings.get(&i).map_or(0.0, reach);
            back.iter().any(|&j| self.all[j].shot.place.distance(self.all[i].shot.place) < reach)
        };
        let touched: Vec<usize> = self.standings.keys().copied().filter(|&i| near(i)).collect();
        self.judge(&touched);
    }
}

/// Widening that a survey's raw steps ask for.
fn widening(mut steps: Vec<f64>) -> f64 {
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
    (count * own * MARGIN + WIDENING.1 * WIDENING.0) / (count + WIDENING.1)
}

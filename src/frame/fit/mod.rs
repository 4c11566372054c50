//! Fitting a survey to known marks: in plan by a similarity, in height by a shift or a plane.
//!
//! Invariant: a mark is called checked only where the others would show an error in it (its redundancy number says so),
//! and a blunder is named only where enough spare observations remain without it. One mark is left out at a time, the
//! one with the largest standardised residual first, and the rest is fitted anew.
//! Source: C. D. Ghilani, Adjustment Computations, on the two-dimensional conformal transformation; for the tests see
//! [`stats`](crate::stats).

mod height;
mod plan;

pub use height::{HeightChange, HeightFit, HeightModel, HeightPair, fit_heights};
pub use plan::{PlanChange, PlanFit, PlanModel, PlanPair, fit_plan};

use crate::stats::{Adjustment, CHECKED_FROM, critical_w};

/// Error probability of the test of one residual, two-sided: 0.1 %, critical value 3.29 (Baarda 1968).
pub const ALPHA: f64 = 0.001;

/// With this probability the least blunder that is called visible is found (Baarda 1968).
pub const POWER: f64 = 0.80;

/// So many observations must be spare once a mark is left out; else the rest could not contradict the choice.
const SPARE_AFTER: usize = 2;

/// What a fit makes of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// The other marks would show an error in it, and show none.
    Checked,
    /// The other marks would hardly show an error in it.
    NotChecked,
    /// Its residual is too large, but the marks are too few to say which of them is wrong.
    Doubtful,
    /// It disagrees with the others and takes no part in the fit.
    LeftOut,
}

/// A mark in a fit.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct MarkTest {
    /// The mark's name.
    pub mark: String,
    /// Fitted minus given, metres: easting and northing of a fit in plan, elevation of one in height.
    pub residual_m: Vec<f64>,
    /// Least redundancy number of its coordinates, 0 to 1; zero for a mark that was left out.
    pub redundancy: f64,
    /// Baarda's w of largest size among its coordinates; `None` where nothing checks it.
    pub w: Option<f64>,
    /// Pope's tau of largest size among its coordinates; `None` where nothing checks it or nothing is spare.
    pub tau: Option<f64>,
    /// The smallest blunder in it that would be found, metres (0.1 % error, 80 % power); `None` where nothing checks it.
    pub detectable_m: Option<f64>,
    /// What the fit makes of it.
    pub standing: Standing,
}

/// Why marks cannot be fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FitError {
    /// Fewer marks than the fit has unknowns for.
    #[error("{what} needs {needed} marks that the survey observed, found {found}")]
    TooFewMarks {
        /// Which fit.
        what: &'static str,
        /// Marks it needs.
        needed: usize,
        /// Marks there are.
        found: usize,
    },
    /// The marks stand in one place, or on one line where a plane is asked for.
    #[error("{what} is not determined by where the marks stand: {why}")]
    NotDetermined {
        /// Which fit.
        what: &'static str,
        /// What is wrong with their places.
        why: &'static str,
    },
}

impl FitError {
    /// Stable name of the fault, for programs to recognise.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::TooFewMarks { .. } => "fit::too-few-marks",
            Self::NotDetermined { .. } => "fit::not-determined",
        }
    }
}

/// One fit of the marks that take part, mark after mark in the order of `used`.
struct Step<T> {
    adjusted: Adjustment,
    change: T,
}

/// A fit after marks were left out.
struct Settled<T> {
    step: Step<T>,
    /// Indices of the marks that took part.
    used: Vec<usize>,
    /// Indices of those left out, first to last.
    left_out: Vec<usize>,
}

/// Fits all marks, then leaves out the worst one while its residual is too large and enough remain. Each mark has
/// `each` observations.
fn settle<T>(
    count: usize,
    each: usize,
    fit: impl Fn(&[usize]) -> Result<Step<T>, FitError>,
) -> Result<Settled<T>, FitError> {
    let mut used: Vec<usize> = (0..count).collect();
    let mut left_out = Vec::new();
    let mut step = fit(&used)?;
    while let Some((worst, w)) = step.adjusted.worst() {
        if w.abs() <= critical_w(ALPHA, 1) || step.adjusted.degrees < each + SPARE_AFTER {
            break;
        }
        let without: Vec<usize> = used.iter().copied().filter(|mark| *mark != used[worst / each]).collect();
        // Without it the rest may stand on one line: then it stays and is doubted.
        let Ok(next) = fit(&without) else { break };
        left_out.push(used[worst / each]);
        (used, step) = (without, next);
    }
    Ok(Settled { step, used, left_out })
}

impl<T> Settled<T> {
    /// Every mark in the order given; `misfit` is fitted minus given of a mark.
    fn tests(&self, names: &[&str], misfit: impl Fn(&T, usize) -> Vec<f64>) -> Vec<MarkTest> {
        let test = |(mark, name): (usize, &&str)| {
            let residual_m = misfit(&self.step.change, mark);
            let Some(at) = self.used.iter().position(|used| *used == mark) else {
                return MarkTest {
                    mark: (*name).to_owned(),
                    residual_m,
                    redundancy: 0.0,
                    w: None,
                    tau: None,
                    detectable_m: None,
                    standing: Standing::LeftOut,
                };
            };
            let adjusted = &self.step.adjusted;
            let own = at * residual_m.len()..(at + 1) * residual_m.len();
            let largest = |of: &dyn Fn(usize) -> Option<f64>| {
                own.clone().filter_map(of).max_by(|a: &f64, b: &f64| a.abs().total_cmp(&b.abs()))
            };
            let redundancy = own.clone().map(|i| adjusted.redundancy[i]).fold(1.0, f64::min);
            let w = largest(&|i| adjusted.w(i));
            let standing = if w.is_some_and(|w| w.abs() > critical_w(ALPHA, 1)) {
                Standing::Doubtful
            } else if redundancy < CHECKED_FROM {
                Standing::NotChecked
            } else {
                Standing::Checked
            };
            // A coordinate that nothing checks hides any blunder, whatever its neighbour shows.
            let all: Option<Vec<f64>> = own.clone().map(|i| adjusted.minimal_detectable(i, ALPHA, POWER)).collect();
            MarkTest {
                mark: (*name).to_owned(),
                residual_m,
                redundancy,
                w,
                tau: largest(&|i| adjusted.tau(i)),
                detectable_m: all.and_then(|all| all.into_iter().max_by(f64::total_cmp)),
                standing,
            }
        };
        names.iter().enumerate().map(test).collect()
    }
}

#[cfg(test)]
mod tests;

//! Is one observation a blunder: standardised residuals against their critical values, and what could not be seen.
//!
//! Two tests. Where the standard deviations are known, `w = v / (sigma sqrt(r))` is normal (Baarda's data snooping). Where
//! they are estimated from the same residuals, `tau = v / (s0 sigma sqrt(r))` (Pope) cannot exceed the root of the
//! degrees of freedom, and its critical value comes from Student's t with one degree less. With one degree every tau is
//! one, so the test says nothing; that is `None` here. The largest of several residuals is looked at, so the error
//! probability is shared among them.
//! Source: Baarda 1968 and Pope 1976, as public lecture notes and papers quote them.

use super::{Adjustment, normal_quantile, student_quantile};

/// An observation with a lower redundancy number than this is not counted as checked by the others: less than a third
/// of an error in it shows in its own residual. Common practice, no source for the number.
pub const CHECKED_FROM: f64 = 0.3;

/// Below this an observation has no residual of its own to be tested; what stands there is rounding.
const NO_REDUNDANCY: f64 = 1e-6;

impl Adjustment {
    /// Baarda's w of an observation, for standard deviations that are known; `None` where nothing checks it.
    #[must_use]
    pub fn w(&self, i: usize) -> Option<f64> {
        let redundancy = self.redundancy[i];
        (redundancy > NO_REDUNDANCY).then(|| self.residuals[i] / (self.sigmas[i] * redundancy.sqrt()))
    }

    /// Pope's tau of an observation, for standard deviations known only relative to each other; `None` where nothing
    /// checks it or nothing is spare.
    #[must_use]
    pub fn tau(&self, i: usize) -> Option<f64> {
        let unit = self.unit_sigma.filter(|unit| *unit > 0.0)?;
        Some(self.w(i)? / unit)
    }

    /// The observation whose standardised residual is largest, with it.
    #[must_use]
    pub fn worst(&self) -> Option<(usize, f64)> {
        let standardised = (0..self.residuals.len()).filter_map(|i| Some((i, self.w(i)?)));
        standardised.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
    }

    /// The smallest error of an observation that the w test finds with probability `power`, in the observation's unit;
    /// `None` where nothing checks it.
    #[must_use]
    pub fn minimal_detectable(&self, i: usize, alpha: f64, power: f64) -> Option<f64> {
        let redundancy = self.redundancy[i];
        let shift = critical_w(alpha, 1) + normal_quantile(power);
        (redundancy > NO_REDUNDANCY).then(|| shift * self.sigmas[i] / redundancy.sqrt())
    }
}

/// Two-sided critical value of w at error probability `alpha`, shared among `among` residuals.
///
/// # Panics
/// When `alpha` is not between zero and one or `among` is zero: callers pass constants and counts.
#[must_use]
pub fn critical_w(alpha: f64, among: usize) -> f64 {
    normal_quantile(1.0 - alpha / (2.0 * among as f64))
}

/// Two-sided critical value of tau at error probability `alpha`, shared among `among` residuals. `None` with fewer than
/// two degrees of freedom: tau is then one whatever was observed.
///
/// # Panics
/// As [`critical_w`].
#[must_use]
pub fn critical_tau(alpha: f64, among: usize, degrees: usize) -> Option<f64> {
    if degrees < 2 {
        return None;
    }
    let degrees = degrees as f64;
    let t = student_quantile(1.0 - alpha / (2.0 * among as f64), degrees - 1.0);
    Some(t * degrees.sqrt() / (degrees - 1.0 + t * t).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::Observations;

    /// Baarda 1968: two-sided 0.1 % gives 3.29, and with 80 % power the shift is 4.13 standard deviations.
    #[test]
    fn critical_values_of_data_snooping() {
        assert!((critical_w(0.001, 1) - 3.2905).abs() < 1e-4);
        assert!((critical_w(0.001, 1) + normal_quantile(0.80) - 4.13).abs() < 5e-3);
        assert!(critical_w(0.05, 6) > critical_w(0.05, 1));
    }

    /// Pope 1976, two-sided 5 %: values recomputed with scipy; six residuals with three spare share the probability.
    #[test]
    fn critical_values_of_tau() {
        for (degrees, tau) in [(2, 1.4099), (3, 1.6454), (4, 1.7567), (17, 1.9308)] {
            assert!((critical_tau(0.05, 1, degrees).unwrap() - tau).abs() < 1e-4, "{degrees} degrees");
            assert!(critical_tau(0.05, 1, degrees).unwrap() <= f64::sqrt(degrees as f64));
        }
        assert!((critical_tau(0.05, 6, 3).unwrap() - 1.7176).abs() < 1e-4);
        assert_eq!((critical_tau(0.05, 4, 1), critical_tau(0.05, 4, 0)), (None, None));
    }

    /// NIST/SEMATECH e-Handbook 1.3.5.17.1 (Grubbs' test), from memory: G = 2.4687, one-sided 5 % critical value 2.032.
    /// For one sample tau is Grubbs' G times sqrt(n / (n - 1)), and its one-sided critical value that of twice alpha.
    #[test]
    fn grubbs_is_tau_of_a_mean() {
        let mut sample = Observations::of(1);
        for value in [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57] {
            sample.push(&[1.0], value, 1.0);
        }
        let found = sample.adjust().unwrap();
        let (worst, _) = found.worst().unwrap();
        assert_eq!(worst, 7);
        let (count, degrees) = (8.0_f64, 7.0_f64);
        let shrink = (degrees / count).sqrt();
        assert!((found.tau(7).unwrap().abs() * shrink - 2.4687).abs() < 1e-4);
        let critical = critical_tau(2.0 * 0.05, 8, 7).unwrap() * shrink;
        assert!((critical - 2.032).abs() < 1e-3, "{critical}");
    }

    #[test]
    fn with_one_spare_observation_tau_is_one_whatever_was_seen() {
        for blunder in [0.001, 5.0] {
            let mut line = Observations::of(2);
            for (x, y) in [(0.0, 0.0), (1.0, 1.0 + blunder), (2.0, 2.0)] {
                line.push(&[1.0, x], y, 0.01);
            }
            let found = line.adjust().unwrap();
            for i in 0..3 {
                assert!((found.tau(i).unwrap().abs() - 1.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn nothing_checks_an_observation_that_stands_alone() {
        let mut two = Observations::of(2);
        two.push(&[1.0, 0.0], 5.0, 0.01);
        two.push(&[0.0, 1.0], 7.0, 0.01);
        two.push(&[0.0, 1.0], 7.1, 0.01);
        let found = two.adjust().unwrap();
        assert_eq!((found.w(0), found.tau(0), found.minimal_detectable(0, 0.001, 0.8)), (None, None, None));
        // Two readings of one thing: redundancy one half each.
        let seen = found.minimal_detectable(1, 0.001, 0.8).unwrap();
        assert!((seen - 4.132_15 * 0.01 * f64::sqrt(2.0)).abs() < 1e-5, "{seen}");
    }
}

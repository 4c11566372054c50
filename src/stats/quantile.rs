//! Quantiles of the normal and of Student's distribution, from `statrs`, held here against published tables.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// The normal deviate that a share `p` of the distribution lies below.
///
/// # Panics
/// When `p` is not between zero and one: callers pass constants or shares that they formed.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    assert!(p > 0.0 && p < 1.0, "a share must lie between 0 and 1, got {p}");
    Normal::standard().inverse_cdf(p)
}

/// Student's t that a share `p` of the distribution with `degrees` of freedom lies below.
///
/// # Panics
/// When `p` is not between zero and one or `degrees` is not above zero.
#[must_use]
pub fn student_quantile(p: f64, degrees: f64) -> f64 {
    assert!(p > 0.0 && p < 1.0, "a share must lie between 0 and 1, got {p}");
    let student = StudentsT::new(0.0, 1.0, degrees).expect("degrees of freedom above zero");
    student.inverse_cdf(p)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Wichura's own check values (AS 241, 1988): from memory, agreeing with tables of the normal distribution.
    #[test]
    fn normal_quantiles_of_the_tables() {
        assert!((normal_quantile(0.25) + 0.674_489_750_196_081_7).abs() < 1e-12);
        assert!((normal_quantile(0.001) + 3.090_232_306_167_814).abs() < 1e-12);
        assert!((normal_quantile(1e-20) + 9.262_340_089_798_408).abs() < 1e-9);
        assert!((normal_quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-12);
        assert_eq!(normal_quantile(0.5), 0.0);
    }

    /// NIST/SEMATECH e-Handbook 1.3.6.7.2, table of Student's t, three decimals; from memory.
    #[test]
    fn student_quantiles_of_the_tables() {
        for (p, degrees, t) in [
            (0.975, 1.0, 12.706),
            (0.975, 2.0, 4.303),
            (0.975, 5.0, 2.571),
            (0.975, 10.0, 2.228),
            (0.975, 30.0, 2.042),
            (0.95, 6.0, 1.943),
            (0.99, 20.0, 2.528),
            (0.995, 100.0, 2.626),
        ] {
            assert!((student_quantile(p, degrees) - t).abs() < 6e-4, "p {p}, {degrees} degrees");
        }
    }

    /// Closed forms: one degree is Cauchy's distribution, two have (2p-1) sqrt(2 / (4p(1-p))).
    #[test]
    fn student_quantiles_in_closed_form() {
        for p in [0.6, 0.75, 0.9, 0.975, 0.999] {
            let cauchy = (std::f64::consts::PI * (p - 0.5)).tan();
            assert!((student_quantile(p, 1.0) / cauchy - 1.0).abs() < 1e-9, "{p}");
            let two = (2.0 * p - 1.0) * (2.0 / (4.0 * p * (1.0 - p))).sqrt();
            assert!((student_quantile(p, 2.0) / two - 1.0).abs() < 1e-9, "{p}");
            assert!((student_quantile(p, 1e4) - normal_quantile(p)).abs() < 1e-3, "{p}");
            assert!((student_quantile(1.0 - p, 5.0) + student_quantile(p, 5.0)).abs() < 1e-9);
        }
    }
}

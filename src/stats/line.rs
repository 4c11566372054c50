//! The straight line of least squares with its covariance.
//!
//! Fitted about the weighted mean of the abscissae, where intercept and slope are uncorrelated; the covariance is that
//! of the ordinates' known variances (weights one over variance), and the residual spread is given apart.

use super::quantile::normal_quantile;
use super::sample::weighted_mean;

/// A fitted line `y = mean_y + slope (x - mean_x)`.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Line {
    /// Where the line is known best.
    pub mean_x: f64,
    /// Its value there.
    pub mean_y: f64,
    /// Its slope.
    pub slope: f64,
    /// Variance of `mean_y`, for the given variances.
    pub variance_mean: f64,
    /// Variance of `slope`, for the given variances.
    pub variance_slope: f64,
    /// Root of the weighted sum of squared residuals over its degrees of freedom: about one when the variances are
    /// right; for an unweighted fit the residual standard deviation. `None` with two points.
    pub spread: Option<f64>,
    /// Number of points.
    pub points: usize,
}

impl Line {
    /// Its value at `x`.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.mean_y + self.slope * (x - self.mean_x)
    }

    /// Standard error of its value at `x`, for the given variances.
    #[must_use]
    pub fn standard_error_at(&self, x: f64) -> f64 {
        let away = x - self.mean_x;
        (self.variance_mean + self.variance_slope * away * away).sqrt()
    }
}

/// The line through points of equal variance one; multiply its errors by the standard deviation of a point. `None`
/// with fewer than two different abscissae.
#[must_use]
pub fn fit_line(x: &[f64], y: &[f64]) -> Option<Line> {
    fit_weighted_line(x, y, &vec![1.0; x.len()])
}

/// The line through points whose ordinates have variance one over `weights`. `None` with fewer than two different
/// abscissae, or when the lists differ in length.
#[must_use]
pub fn fit_weighted_line(x: &[f64], y: &[f64], weights: &[f64]) -> Option<Line> {
    if x.len() != y.len() || x.len() != weights.len() || x.len() < 2 {
        return None;
    }
    let (mean_x, mean_y) = (weighted_mean(x, weights)?, weighted_mean(y, weights)?);
    let total: f64 = weights.iter().sum();
    let about = |f: &dyn Fn(usize) -> f64| (0..x.len()).map(|i| weights[i] * f(i)).sum::<f64>();
    let sxx = about(&|i| (x[i] - mean_x) * (x[i] - mean_x));
    if sxx <= 0.0 {
        return None;
    }
    let slope = about(&|i| (x[i] - mean_x) * (y[i] - mean_y)) / sxx;
    let residual = |i: usize| y[i] - mean_y - slope * (x[i] - mean_x);
    let spread = (x.len() > 2).then(|| (about(&|i| residual(i) * residual(i)) / (x.len() - 2) as f64).sqrt());
    Some(Line { mean_x, mean_y, slope, variance_mean: 1.0 / total, variance_slope: 1.0 / sxx, spread, points: x.len() })
}

/// Standard error at either end of a line fitted to `points` evenly spaced ordinates of standard deviation one:
/// sqrt((4n - 2) / (n (n + 1))), about 2 / sqrt(n).
#[must_use]
pub fn end_error(points: usize) -> f64 {
    let n = points as f64;
    ((4.0 * n - 2.0) / (n * (n + 1.0))).sqrt()
}

/// Evenly spaced points of standard deviation `sigma` that prove a true line to lie within `room` either way, more often
/// than not.
///
/// It is proven when both fitted ends, correlated by about -1/2, fall inside the room less 1.96 standard errors; an even
/// chance of that needs about one standard error of room at each end. So room = (1.96 + 1.0) standard errors: some 35
/// points for 15 mm at 15 mm. `None` when there is no room, or 10,000 points do not do.
#[must_use]
pub fn points_to_prove(sigma: f64, room: f64) -> Option<usize> {
    let enough = |n: &usize| (normal_quantile(0.975) + 1.0) * sigma * end_error(*n) <= room;
    (room > 0.0).then(|| (3..10_000).find(enough)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: a line through exact points, and the error at the ends of n even steps,
    /// sqrt((4n - 2) / (n (n + 1))).
    #[test]
    fn an_exact_line_and_its_error_at_the_ends() {
        let x: Vec<f64> = (0..35).map(f64::from).collect();
        let y: Vec<f64> = x.iter().map(|x| 0.25 - 0.125 * x).collect();
        let line = fit_line(&x, &y).unwrap();
        assert!((line.at(0.0) - 0.25).abs() < 1e-14 && (line.slope + 0.125).abs() < 1e-14);
        assert!(line.spread.unwrap() < 1e-14);
        let n = 35.0;
        let expected = f64::sqrt((4.0 * n - 2.0) / (n * (n + 1.0)));
        for end in [0.0, 34.0] {
            assert!((line.standard_error_at(end) - expected).abs() < 1e-14);
        }
    }

    /// Anscombe's first quartet (Anscombe 1973, The American Statistician 27:17-21): y = 3.00 + 0.500 x, residual
    /// sum of squares 13.75 (spread 1.237 with 9 degrees), standard error of the slope 0.118.
    #[test]
    fn anscombe_first_set() {
        let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let y = [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68];
        let line = fit_line(&x, &y).unwrap();
        assert!((line.at(0.0) - 3.00).abs() < 5e-3 && (line.slope - 0.500).abs() < 5e-4);
        let spread = line.spread.unwrap();
        assert!((spread * spread * 9.0 - 13.75).abs() < 0.02);
        assert!((spread * line.variance_slope.sqrt() - 0.118).abs() < 5e-4);
    }

    #[test]
    fn weights_count_as_repeats() {
        let repeated = fit_line(&[0.0, 1.0, 1.0, 3.0], &[1.0, 2.0, 2.0, 2.5]).unwrap();
        let weighted = fit_weighted_line(&[0.0, 1.0, 3.0], &[1.0, 2.0, 2.5], &[1.0, 2.0, 1.0]).unwrap();
        assert!((repeated.at(2.0) - weighted.at(2.0)).abs() < 1e-14);
        assert!((repeated.standard_error_at(2.0) - weighted.standard_error_at(2.0)).abs() < 1e-14);
    }

    #[test]
    fn one_place_has_no_line() {
        assert_eq!(fit_line(&[2.0, 2.0, 2.0], &[1.0, 2.0, 3.0]), None);
        assert_eq!(fit_line(&[2.0], &[1.0]), None);
    }
}

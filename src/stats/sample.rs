//! Mean, spread and their robust partners.

use crate::geom::CompensatedSum;

fn sum(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().collect::<CompensatedSum>().total()
}

/// Arithmetic mean; `None` without values.
#[must_use]
pub fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| sum(values.iter().copied()) / values.len() as f64)
}

/// Mean of values with weights; `None` when the weights do not add up to more than zero.
#[must_use]
pub fn weighted_mean(values: &[f64], weights: &[f64]) -> Option<f64> {
    let total = sum(weights.iter().copied());
    (total > 0.0).then(|| sum(values.iter().zip(weights).map(|(value, weight)| value * weight)) / total)
}

/// Sample standard deviation, divisor n - 1; `None` with fewer than two values.
#[must_use]
pub fn standard_deviation(values: &[f64]) -> Option<f64> {
    let centre = mean(values)?;
    (values.len() > 1).then(|| {
        (sum(values.iter().map(|value| (value - centre) * (value - centre))) / (values.len() - 1) as f64).sqrt()
    })
}

/// Root mean square about zero, divisor n; `None` without values.
#[must_use]
pub fn root_mean_square(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| (sum(values.iter().map(|value| value * value)) / values.len() as f64).sqrt())
}

/// The middle value, or the mean of the two middle ones; `None` without values.
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    match sorted.len() {
        0 => None,
        n if n % 2 == 1 => Some(sorted[middle]),
        _ => Some(f64::midpoint(sorted[middle - 1], sorted[middle])),
    }
}

/// Median absolute deviation from the median, times 1.4826 so that it estimates the standard deviation of a normal
/// sample (NMAD of Hoehle and Hoehle 2009, ISPRS J. Photogramm. 64:398-406); `None` without values.
#[must_use]
pub fn mad(values: &[f64]) -> Option<f64> {
    let centre = median(values)?;
    let away: Vec<f64> = values.iter().map(|value| (value - centre).abs()).collect();
    median(&away).map(|spread| 1.4826 * spread)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1 (Grubbs' test); figures from memory, recomputed.
    #[test]
    fn nist_grubbs_statistic() {
        let masses = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
        let statistic = (245.57 - mean(&masses).unwrap()) / standard_deviation(&masses).unwrap();
        assert!((statistic - 2.4687).abs() < 1e-4, "{statistic}");
        // The critical value from Student's t: (n-1)/sqrt(n) sqrt(t^2/(n-2+t^2)), t at 0.05/n with n-2 degrees.
        let n = masses.len() as f64;
        let t = crate::stats::student_quantile(1.0 - 0.05 / n, n - 2.0);
        let critical = (n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt();
        assert!((critical - 2.032).abs() < 5e-4, "{critical}");
        // One wild value moves the mean by kilograms and the robust pair hardly at all.
        assert!((median(&masses).unwrap() - 201.37).abs() < 1e-9);
        assert!(mad(&masses).unwrap() < 2.0 && standard_deviation(&masses).unwrap() > 15.0);
    }

    /// ASPRS Positional Accuracy Standards for Digital Geospatial Data, edition 1 (2014), Annex D; from memory,
    /// recomputed. The spread divides by n - 1, the root mean square by n.
    #[test]
    fn asprs_annex_d() {
        let columns = [
            ([-0.140, -0.100, 0.017, -0.070, 0.130], -0.033, 0.108, 0.102),
            ([-0.070, -0.100, -0.070, 0.150, 0.120], 0.006, 0.119, 0.106),
            ([-0.071, 0.010, 0.102, -0.100, 0.087], 0.006, 0.091, 0.081),
        ];
        for (residuals, centre, spread, rms) in columns {
            assert!((mean(&residuals).unwrap() - centre).abs() < 6e-4);
            assert!((standard_deviation(&residuals).unwrap() - spread).abs() < 6e-4);
            assert!((root_mean_square(&residuals).unwrap() - rms).abs() < 6e-4);
        }
        let vertical = root_mean_square(&columns[2].0).unwrap();
        assert!((crate::stats::normal_quantile(0.975) * vertical - 0.160).abs() < 6e-4);
    }

    #[test]
    fn too_few_values_give_nothing() {
        assert_eq!(mean(&[]), None);
        assert_eq!(median(&[]), None);
        assert_eq!(standard_deviation(&[1.0]), None);
        assert_eq!(weighted_mean(&[1.0], &[0.0]), None);
        assert_eq!(median(&[3.0, 1.0, 2.0, 10.0]), Some(2.5));
        assert_eq!(weighted_mean(&[1.0, 4.0], &[2.0, 1.0]), Some(2.0));
    }
}

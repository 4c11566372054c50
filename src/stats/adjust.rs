//! Weighted least squares: parameters with their covariance, residuals with their redundancy.
//!
//! Invariant: columns are scaled to one length and the system is solved by orthogonal (Householder) factors, never by
//! normal equations, so that the digits of the observations are kept; callers centre coordinates first. A system that
//! does not determine its parameters gives `None`.
//! Source: the estimates themselves are held against NIST's certified regression data; for redundancy numbers see
//! [`blunder`](super::blunder).

use nalgebra::{DMatrix, DVector};

/// A parameter whose column has less than this share of its length outside the span of the columns before it is not
/// determined. Sound networks stay above a millionth.
const RANK: f64 = 1e-10;

/// Observations of linear functions of the parameters.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Observations {
    parameters: usize,
    rows: Vec<f64>,
    values: Vec<f64>,
    sigmas: Vec<f64>,
}

impl Observations {
    /// No observations yet of so many parameters.
    #[must_use]
    pub const fn of(parameters: usize) -> Self {
        Self { parameters, rows: Vec::new(), values: Vec::new(), sigmas: Vec::new() }
    }

    /// Adds the observation `value` of `sum(row[j] * parameter[j])` with its standard deviation.
    ///
    /// # Panics
    /// When the row has another number of factors than there are parameters, or the standard deviation is not above
    /// zero: our fault.
    pub fn push(&mut self, row: &[f64], value: f64, sigma: f64) {
        assert_eq!(row.len(), self.parameters, "one factor a parameter");
        assert!(sigma > 0.0, "a standard deviation must be above zero, got {sigma}");
        self.rows.extend_from_slice(row);
        self.values.push(value);
        self.sigmas.push(sigma);
    }

    /// Number of observations.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.values.len()
    }

    /// True without observations.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// Adjusts them. `None` with fewer observations than parameters, or when they do not determine every parameter.
    #[must_use]
    pub fn adjust(&self) -> Option<Adjustment> {
        let (count, parameters) = (self.len(), self.parameters);
        if parameters == 0 || count < parameters {
            return None;
        }
        let weighted = DMatrix::from_fn(count, parameters, |i, j| self.rows[i * parameters + j] / self.sigmas[i]);
        let lengths: Vec<f64> = weighted.column_iter().map(|column| column.norm()).collect();
        if lengths.iter().any(|length| !length.is_finite() || *length <= 0.0) {
            return None;
        }
        let scaled = DMatrix::from_fn(count, parameters, |i, j| weighted[(i, j)] / lengths[j]);
        let seen = DVector::from_fn(count, |i, _| self.values[i] / self.sigmas[i]);
        let factors = scaled.qr();
        let (q, r) = (factors.q(), factors.r());
        if (0..parameters).any(|j| r[(j, j)].abs() < RANK) {
            return None;
        }
        let solved = r.solve_upper_triangular(&(q.transpose() * &seen))?;
        let inverse = r.solve_upper_triangular(&DMatrix::identity(parameters, parameters))?;
        let cofactor = &inverse * inverse.transpose();
        let parameter: Vec<f64> = (0..parameters).map(|j| solved[j] / lengths[j]).collect();
        let covariance =
            (0..parameters).map(|i| (0..parameters).map(|j| cofactor[(i, j)] / lengths[i] / lengths[j]).collect());
        let residuals: Vec<f64> = (0..count)
            .map(|i| {
                let row = &self.rows[i * parameters..(i + 1) * parameters];
                row.iter().zip(&parameter).map(|(factor, value)| factor * value).sum::<f64>() - self.values[i]
            })
            .collect();
        // One minus the leverage: what of an error in an observation shows in its own residual.
        let redundancy = (0..count).map(|i| (1.0 - q.row(i).norm_squared()).clamp(0.0, 1.0)).collect();
        let degrees = count - parameters;
        let square: f64 = residuals.iter().zip(&self.sigmas).map(|(v, sigma)| (v / sigma) * (v / sigma)).sum();
        Some(Adjustment {
            covariance: covariance.collect(),
            parameters: parameter,
            residuals,
            redundancy,
            sigmas: self.sigmas.clone(),
            degrees,
            unit_sigma: (degrees > 0).then(|| (square / degrees as f64).sqrt()),
        })
    }
}

/// Adjusted observations.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjustment {
    /// The parameters.
    pub parameters: Vec<f64>,
    /// Their covariance for the given standard deviations; times `unit_sigma` squared where these are only relative.
    pub covariance: Vec<Vec<f64>>,
    /// Adjusted minus observed, one an observation.
    pub residuals: Vec<f64>,
    /// Redundancy number of each observation, 0 to 1; they add up to `degrees`.
    pub redundancy: Vec<f64>,
    /// The given standard deviations.
    pub sigmas: Vec<f64>,
    /// Observations more than parameters.
    pub degrees: usize,
    /// Standard deviation of an observation of unit weight, about one when the given ones are right; `None` without
    /// spare observations.
    pub unit_sigma: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `NIST StRD`, linear regression, "Longley" (1967): certified values from memory. The columns differ in size by five
    /// powers of ten and are nearly dependent.
    #[test]
    fn longley() {
        const DATA: [[f64; 7]; 16] = [
            [60323.0, 83.0, 234_289.0, 2356.0, 1590.0, 107_608.0, 1947.0],
            [61122.0, 88.5, 259_426.0, 2325.0, 1456.0, 108_632.0, 1948.0],
            [60171.0, 88.2, 258_054.0, 3682.0, 1616.0, 109_773.0, 1949.0],
            [61187.0, 89.5, 284_599.0, 3351.0, 1650.0, 110_929.0, 1950.0],
            [63221.0, 96.2, 328_975.0, 2099.0, 3099.0, 112_075.0, 1951.0],
            [63639.0, 98.1, 346_999.0, 1932.0, 3594.0, 113_270.0, 1952.0],
            [64989.0, 99.0, 365_385.0, 1870.0, 3547.0, 115_094.0, 1953.0],
            [63761.0, 100.0, 363_112.0, 3578.0, 3350.0, 116_219.0, 1954.0],
            [66019.0, 101.2, 397_469.0, 2904.0, 3048.0, 117_388.0, 1955.0],
            [67857.0, 104.6, 419_180.0, 2822.0, 2857.0, 118_734.0, 1956.0],
            [68169.0, 108.4, 442_769.0, 2936.0, 2798.0, 120_445.0, 1957.0],
            [66513.0, 110.8, 444_546.0, 4681.0, 2637.0, 121_950.0, 1958.0],
            [68655.0, 112.6, 482_704.0, 3813.0, 2552.0, 123_366.0, 1959.0],
            [69564.0, 114.2, 502_601.0, 3931.0, 2514.0, 125_368.0, 1960.0],
            [69331.0, 115.7, 518_173.0, 4806.0, 2572.0, 127_852.0, 1961.0],
            [70551.0, 116.9, 554_894.0, 4007.0, 2827.0, 130_081.0, 1962.0],
        ];
        let mut observations = Observations::of(7);
        for [y, x @ ..] in DATA {
            observations.push(&[1.0, x[0], x[1], x[2], x[3], x[4], x[5]], y, 1.0);
        }
        let found = observations.adjust().unwrap();
        let certified = [
            -3_482_258.634_595_82,
            15.061_872_271_373_3,
            -0.035_819_179_292_591_0,
            -2.020_229_803_816_83,
            -1.033_226_867_173_59,
            -0.051_104_105_653_580_7,
            1_829.151_464_613_55,
        ];
        for (value, certified) in found.parameters.iter().zip(certified) {
            assert!((value / certified - 1.0).abs() < 1e-9, "{value} against {certified}");
        }
        let sigma = found.unit_sigma.unwrap();
        assert!((sigma / 304.854_073_561_965 - 1.0).abs() < 1e-10, "{sigma}");
        let error = |j: usize| sigma * found.covariance[j][j].sqrt();
        assert!((error(0) / 890_420.383_607_373 - 1.0).abs() < 1e-9, "{}", error(0));
        assert!((error(1) / 84.914_925_774_766_9 - 1.0).abs() < 1e-9, "{}", error(1));
        assert_eq!(found.degrees, 9);
    }

    /// Closed form: the mean of n values has redundancy 1 - w / sum w each, and variance 1 / sum w.
    #[test]
    fn a_weighted_mean() {
        let mut observations = Observations::of(1);
        for (value, sigma) in [(10.0, 0.5), (12.0, 1.0), (11.0, 0.25)] {
            observations.push(&[1.0], value, sigma);
        }
        let found = observations.adjust().unwrap();
        assert!((found.parameters[0] - (40.0 + 12.0 + 176.0) / 21.0).abs() < 1e-12);
        assert!((found.covariance[0][0] - 1.0 / 21.0).abs() < 1e-14);
        for (redundancy, weight) in found.redundancy.iter().zip([4.0, 1.0, 16.0]) {
            assert!((redundancy - (1.0 - weight / 21.0)).abs() < 1e-12);
        }
        assert!((found.redundancy.iter().sum::<f64>() - 2.0).abs() < 1e-12);
    }

    #[test]
    fn what_is_not_determined_has_no_answer() {
        let mut line = Observations::of(2);
        for y in [1.0, 2.0, 3.0] {
            line.push(&[1.0, 5.0], y, 1.0);
        }
        assert_eq!(line.adjust(), None);
        assert_eq!(Observations::of(2).adjust(), None);
        let mut exact = Observations::of(1);
        exact.push(&[2.0], 3.0, 1.0);
        let exact = exact.adjust().unwrap();
        assert_eq!((exact.parameters[0], exact.degrees, exact.unit_sigma), (1.5, 0, None));
        assert!(exact.redundancy[0] < 1e-12);
    }
}

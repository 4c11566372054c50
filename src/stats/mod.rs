//! Means, spreads, straight lines, least squares with tests for blunders, and quantiles with known accuracy.
//!
//! Invariant: no function guesses; too few values give `None`.

mod adjust;
mod blunder;
mod kriging;
mod line;
mod off_plane;
mod quantile;
mod sample;
mod verdict;

pub use adjust::{Adjustment, Observations};
pub use blunder::{CHECKED_FROM, critical_tau, critical_w};
pub use kriging::{Estimate, Evidence, FEWEST as FEWEST_AROUND, Field, Measured, Smoothness};
pub use line::{Line, end_error, fit_line, fit_weighted_line, points_to_prove};
pub use quantile::{normal_quantile, student_quantile};
pub use sample::{mad, mean, median, root_mean_square, standard_deviation, weighted_mean};
pub use verdict::{NORMAL_95, Verdict};

#[cfg(test)]
mod kriging_tests;

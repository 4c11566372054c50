//! Means, spreads, straight lines and quantiles with known accuracy.
//!
//! Invariant: no function guesses; too few values give `None`.

mod line;
mod quantile;
mod sample;

pub use line::{Line, fit_line, fit_weighted_line};
pub use quantile::{normal_quantile, student_quantile};
pub use sample::{mad, mean, median, root_mean_square, standard_deviation, weighted_mean};

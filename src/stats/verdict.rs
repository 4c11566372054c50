//! Within a tolerance or not, as sure as measurements are.

/// Standard deviations to either side that hold 95 % of a normal error.
pub const NORMAL_95: f64 = 1.96;

/// Within tolerance, out of it, or not to be told from these shots; the better before the worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// In tolerance at 95 %.
    Pass,
    /// The shots' scatter is too large for either answer.
    CannotTell,
    /// Out of tolerance at 95 %.
    Fail,
}

impl Verdict {
    /// Of a difference with a standard deviation against what is allowed both ways.
    #[must_use]
    pub fn of(difference: f64, sigma: f64, tolerance: f64) -> Self {
        let room = NORMAL_95 * sigma;
        if difference.abs() + room <= tolerance {
            Self::Pass
        } else if difference.abs() - room > tolerance {
            Self::Fail
        } else {
            Self::CannotTell
        }
    }

    /// As it is written: `pass`, `cannot-tell`, `fail`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::CannotTell => "cannot-tell",
            Self::Fail => "fail",
        }
    }
}

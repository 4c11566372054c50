//! Two slopes that never mix: the fall along a line and the batter of a side.

use std::fmt;

/// How much a line falls for its length (metres a metre); positive falls in the direction of the line.
#[derive(Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Fall(f64);

impl Fall {
    /// From metres of fall a metre.
    ///
    /// # Panics
    /// When the number is not finite.
    #[must_use]
    pub fn ratio(value: f64) -> Self {
        assert!(value.is_finite(), "Fall must be finite, got {value}");
        Self(value)
    }

    /// From per cent.
    #[must_use]
    pub fn percent(value: f64) -> Self {
        Self::ratio(value / 100.0)
    }

    /// Metres of fall a metre.
    #[must_use]
    pub const fn in_ratio(self) -> f64 {
        self.0
    }

    /// In per cent.
    #[must_use]
    pub fn in_percent(self) -> f64 {
        self.0 * 100.0
    }
}

impl fmt::Debug for Fall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", self.in_percent())
    }
}

/// The side slope of earth: horizontal for one vertical, so 2:1 is 2 m out for 1 m up. Always above zero.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
pub struct Batter(f64);

impl Batter {
    /// From horizontal per vertical.
    ///
    /// # Panics
    /// When the number is not finite or not above zero: readers check that before.
    #[must_use]
    pub fn horizontal_per_vertical(value: f64) -> Self {
        assert!(value.is_finite() && value > 0.0, "Batter must be above zero, got {value}");
        Self(value)
    }

    /// Horizontal for one vertical.
    #[must_use]
    pub const fn in_horizontal_per_vertical(self) -> f64 {
        self.0
    }
}

impl fmt::Debug for Batter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}H:1V", self.0)
    }
}

//! Positions on a scale rather than amounts: elevation above the site's datum, station along a line.
//!
//! Invariant: two elevations subtract to a [`Length`] and an elevation moves by a [`Length`]; adding two
//! elevations does not compile.
//!
//! ```compile_fail
//! use swalewright::units::Elevation;
//! let nonsense = Elevation::metres(431.0) + Elevation::metres(2.0);
//! ```

use super::Length;
use std::fmt;
use std::ops::{Add, Sub};

macro_rules! position {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From metres.
            ///
            /// # Panics
            /// When the number is not finite: every reader checks that before, so it is our fault.
            #[must_use]
            pub fn metres(value: f64) -> Self {
                assert!(value.is_finite(), concat!(stringify!($name), " must be finite, got {}"), value);
                Self(value)
            }

            /// In metres.
            #[must_use]
            pub const fn in_metres(self) -> f64 {
                self.0
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!(stringify!($name), " {} m"), self.0)
            }
        }

        impl Sub for $name {
            type Output = Length;
            fn sub(self, other: Self) -> Length {
                Length::metres(self.0 - other.0)
            }
        }

        impl Add<Length> for $name {
            type Output = Self;
            fn add(self, rise: Length) -> Self {
                Self(self.0 + rise.in_metres())
            }
        }

        impl Sub<Length> for $name {
            type Output = Self;
            fn sub(self, drop: Length) -> Self {
                Self(self.0 - drop.in_metres())
            }
        }
    };
}

position!(
    /// A height above the site's datum, metres inside.
    Elevation
);
position!(
    /// A distance along a line from its start, metres inside.
    Station
);

//! Bank, loose and placed volumes in cubic metres: three types that do not mix.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Sub};

macro_rules! earth_volume {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, PartialOrd, Default, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// From cubic metres in this state.
            ///
            /// # Panics
            /// When the number is not finite.
            #[must_use]
            pub fn cubic_metres(value: f64) -> Self {
                assert!(value.is_finite(), concat!(stringify!($name), " must be finite, got {}"), value);
                Self(value)
            }

            /// Cubic metres in this state.
            #[must_use]
            pub const fn in_cubic_metres(self) -> f64 {
                self.0
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!("{} ", $unit), self.0)
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                Self(parts.map(|part| part.0).sum())
            }
        }
    };
}

earth_volume!(
    /// Earth in its natural place: what is dug, and what is paid for.
    BankVolume, "m3 bank"
);
earth_volume!(
    /// Earth loosened, in a bucket or a heap.
    LooseVolume, "m3 loose"
);
earth_volume!(
    /// Earth placed in a fill, tipped, track-walked or rolled.
    PlacedVolume, "m3 placed"
);

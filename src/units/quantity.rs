//! Length, area, volume and flow: a private number in SI, named constructors, only sensible operators.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $constructor:ident, $getter:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, PartialOrd, Default, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);

            #[doc = concat!("From a number of ", $unit, ".")]
            ///
            /// # Panics
            /// When the number is not finite: every reader checks that before, so it is our fault.
            #[must_use]
            pub fn $constructor(value: f64) -> Self {
                assert!(value.is_finite(), concat!(stringify!($name), " must be finite, got {}"), value);
                Self(value)
            }

            #[doc = concat!("The number of ", $unit, ".")]
            #[must_use]
            pub const fn $getter(self) -> f64 {
                self.0
            }

            /// Without its sign.
            #[must_use]
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// The greater of two.
            #[must_use]
            pub const fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            /// The lesser of two.
            #[must_use]
            pub const fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
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

        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                Self(parts.map(|part| part.0).sum())
            }
        }
    };
}

quantity!(
    /// A length, a height above something, a depth: metres inside.
    Length, metres, in_metres, "m"
);
quantity!(
    /// An area in plan: square metres inside.
    Area, square_metres, in_square_metres, "m2"
);
quantity!(
    /// A volume of water or of space; earth has its own three volumes in [`crate::soil`]. Cubic metres inside.
    Volume, cubic_metres, in_cubic_metres, "m3"
);
quantity!(
    /// A flow of water: cubic metres a second inside.
    Flow, cubic_metres_per_second, in_cubic_metres_per_second, "m3/s"
);
quantity!(
    /// How fast rain falls: metres of water a second inside.
    RainRate, metres_per_second, in_metres_per_second, "m/s"
);

impl RainRate {
    /// The number of millimetres an hour, as it is read.
    #[must_use]
    pub const fn in_millimetres_per_hour(self) -> f64 {
        self.0 * 3.6e6
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area(self.0 * other.0)
    }
}

impl Mul<Length> for Area {
    type Output = Volume;
    fn mul(self, other: Length) -> Volume {
        Volume(self.0 * other.0)
    }
}

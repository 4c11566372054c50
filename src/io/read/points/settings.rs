//! What the user says of a point file; everything else the file must say itself.

use crate::survey::{Delimiter, Epochs};
use crate::units::LengthUnit;

/// What the stated standard deviations of a file are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Confidence {
    /// One standard deviation; in plan the root of the sum of both axes' squares.
    #[default]
    OneSigma,
    /// 95 % figures: 1.960 sigma in height; in plan the radius that holds 95 %, 1.7308 times the radial sigma.
    NinetyFive,
    /// Two standard deviations.
    TwoSigma,
}

impl Confidence {
    /// Its names as settings write them.
    pub const NAMES: [(&'static str, Self); 3] =
        [("one-sigma", Self::OneSigma), ("95-percent", Self::NinetyFive), ("two-sigma", Self::TwoSigma)];

    /// Sigmas in a stated figure along one axis. 1.959964 is the quantile of the normal distribution.
    pub(super) const fn along_an_axis(self) -> f64 {
        match self {
            Self::OneSigma => 1.0,
            Self::NinetyFive => 1.959_963_984_540_054,
            Self::TwoSigma => 2.0,
        }
    }

    /// Radial sigmas in a stated figure in plan: of two equal normal axes 95 % lie within sqrt(ln 20) = 1.7308 of them.
    pub(super) fn in_plan(self) -> f64 {
        match self {
            Self::NinetyFive => 20.0_f64.ln().sqrt(),
            other => other.along_an_axis(),
        }
    }
}

/// What the user says of a point file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileSettings {
    /// How the user names the file; its path when not given.
    pub name: Option<String>,
    /// The columns in order, such as `point, easting, northing, elevation, code`; with the characters that each takes
    /// (`point 1-8, northing 9-20`) the file has a fixed width.
    pub columns: Option<String>,
    /// What stands between the fields.
    pub delimiter: Option<Delimiter>,
    /// The unit of coordinates, elevations, sigmas and antenna heights.
    pub unit: Option<LengthUnit>,
    /// True when numbers are written with a decimal comma.
    pub decimal_comma: bool,
    /// What the stated sigmas are, where the titles do not say.
    pub sigmas: Option<Confidence>,
    /// What is made of the epochs of a log.
    pub epochs: Epochs,
}

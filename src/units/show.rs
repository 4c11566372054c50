//! Numbers for people: one unit system a sheet, decimals said by the caller.

use super::{Area, Flow, Length, METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT, RainRate, Volume};

/// How people on this site read a length (`[site] units`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ReadingUnits {
    /// Metres, square metres, cubic metres.
    #[default]
    Metric,
    /// International feet, cubic yards.
    Feet,
    /// US survey feet, cubic yards.
    UsSurveyFeet,
}

impl ReadingUnits {
    const fn metres_in_one(self) -> f64 {
        match self {
            Self::Metric => 1.0,
            Self::Feet => METRES_PER_FOOT,
            Self::UsSurveyFeet => METRES_PER_US_SURVEY_FOOT,
        }
    }

    /// The length's number in these units.
    #[must_use]
    pub fn length_number(self, length: Length) -> f64 {
        length.in_metres() / self.metres_in_one()
    }

    /// Short name of the length unit: `m` or `ft`.
    #[must_use]
    pub const fn length_unit(self) -> &'static str {
        match self {
            Self::Metric => "m",
            Self::Feet | Self::UsSurveyFeet => "ft",
        }
    }

    /// A length with its unit.
    #[must_use]
    pub fn length(self, length: Length, decimals: usize) -> String {
        format!("{:.decimals$} {}", tidy(self.length_number(length), decimals), self.length_unit())
    }

    /// What is allowed, as [`Self::small`] but never rounded up, so that nobody is let off further than the check lets him.
    #[must_use]
    pub fn allowed(self, length: Length) -> String {
        let steps = match self {
            Self::Metric => 1000.0,
            _ => self.length_number(Length::metres(1.0)) * 100.0,
        };
        // A thousandth of a step is noise: of floating point, and between the two feet.
        let whole = (length.in_metres() * steps + 1e-3).floor();
        self.small(if whole < 1.0 { length } else { Length::metres(whole / steps) })
    }

    /// A small height with its unit: whole millimetres, or hundredths of a foot.
    #[must_use]
    pub fn small(self, length: Length) -> String {
        match self {
            Self::Metric => format!("{:.0} mm", tidy(length.in_metres() * 1000.0, 0)),
            _ => self.length(length, 2),
        }
    }

    /// An area with its unit, to whole square metres or square feet.
    #[must_use]
    pub fn area(self, area: Area) -> String {
        let one = self.metres_in_one();
        let unit = match self {
            Self::Metric => "m2",
            _ => "ft2",
        };
        format!("{:.0} {unit}", tidy(area.in_square_metres() / (one * one), 0))
    }

    /// A volume with its unit: cubic metres, or cubic yards where people read feet.
    #[must_use]
    pub fn volume(self, volume: Volume) -> String {
        match self {
            Self::Metric => format!("{:.1} m3", tidy(volume.in_cubic_metres(), 1)),
            _ => format!("{:.1} yd3", tidy(volume.in_cubic_metres() / (3.0 * self.metres_in_one()).powi(3), 1)),
        }
    }

    /// How fast rain falls, with its unit.
    #[must_use]
    pub fn rain(self, rate: RainRate) -> String {
        match self {
            Self::Metric => format!("{:.1} mm/h", rate.in_millimetres_per_hour()),
            _ => format!("{:.2} in/h", rate.in_millimetres_per_hour() / 25.4),
        }
    }

    /// A flow with its unit.
    #[must_use]
    pub fn flow(self, flow: Flow) -> String {
        match self {
            Self::Metric => format!("{:.3} m3/s", flow.in_cubic_metres_per_second()),
            _ => format!("{:.2} ft3/s", flow.in_cubic_metres_per_second() / self.metres_in_one().powi(3)),
        }
    }
}

/// Metres to a number of decimals, never `-0.00`.
#[must_use]
pub fn metres(value: f64, decimals: usize) -> String {
    format!("{:.decimals$}", tidy(value, decimals))
}

/// Feet and tenths from metres, never `-0.0`.
#[must_use]
pub fn feet_and_tenths(metres: f64) -> String {
    format!("{:.1}", tidy(metres / METRES_PER_FOOT, 1))
}

/// A value that prints as zero at this many decimals becomes plain zero, so no sheet shows `-0.00`.
fn tidy(value: f64, decimals: usize) -> f64 {
    let half = 0.5 / 10f64.powi(i32::try_from(decimals).unwrap_or(i32::MAX));
    if value.abs() < half { 0.0 } else { value }
}

//! Numbers as a sheet shows them: one unit system, few decimals, no minus sign where a word says it.
//!
//! Invariant: metres to 0.01 and a sill to 0.005; feet to 0.1 and a sill to 0.01, or feet and inches to 1/2 and a sill
//! to 1/4, what a staff reads to 1 mm, 0.01 ft or 1/16 in, never both kinds on one sheet. What rounds to nothing is shown as plain nothing.

use super::{Area, Elevation, Length, ReadingUnits, Volume};

/// How feet are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FeetStyle {
    /// Decimal feet.
    #[default]
    Tenths,
    /// Feet, inches and parts of an inch.
    FeetAndInches,
}

/// How numbers are written on one sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct Figures {
    /// The unit system.
    pub units: ReadingUnits,
    /// How feet are written, when they are.
    pub feet: FeetStyle,
}

impl Figures {
    /// True when lengths are in feet and inches.
    #[must_use]
    pub fn in_inches(self) -> bool {
        self.units != ReadingUnits::Metric && self.feet == FeetStyle::FeetAndInches
    }

    /// The size of a length without its sign, to the sheet's usual step: `0.42`, `1.4`, `1' 4 1/2"`.
    #[must_use]
    pub fn size(self, metres: f64) -> String {
        let size = self.number(metres).abs();
        if self.in_inches() {
            feet_and_inches(size, 2.0)
        } else if self.units == ReadingUnits::Metric {
            format!("{size:.2}")
        } else {
            format!("{size:.1}")
        }
    }

    /// A size rounded up to the sheet's usual step, for what may never be low: an operator who builds to the number
    /// must not end up below what was meant. A tenth of a step is let go, or a number would grow by its own noise.
    #[must_use]
    pub fn size_up(self, metres: f64) -> String {
        self.size(self.steps(metres, |steps| (steps - SLACK).ceil()))
    }

    /// A size rounded down in the same way.
    #[must_use]
    pub fn size_down(self, metres: f64) -> String {
        self.size(self.steps(metres, |steps| (steps + SLACK).floor()))
    }

    /// A size in metres brought to whole steps of the sheet.
    fn steps(self, metres: f64, round: impl Fn(f64) -> f64) -> f64 {
        let step = match (self.units, self.in_inches()) {
            (ReadingUnits::Metric, _) => 0.01,
            (_, true) => 1.0 / 24.0,
            (_, false) => 0.1,
        };
        round(self.number(metres).abs() / step).max(0.0) * step * self.metres_in_one()
    }

    /// The size of a height at a sill, in finer steps: `0.415`, `1.36`, `1' 4 1/4"`.
    #[must_use]
    pub fn fine(self, metres: f64) -> String {
        let size = self.number(metres).abs();
        if self.in_inches() {
            feet_and_inches(size, 4.0)
        } else if self.units == ReadingUnits::Metric {
            format!("{:.3}", (size / 0.005).round() * 0.005)
        } else {
            format!("{size:.2}")
        }
    }

    /// What something is at most, with its unit: rounded up in the finer steps, and under one of them in smaller ones
    /// (`0.5 mm`, `0.002 ft`, `0.02"`). Never nothing, for nothing is measured to nothing.
    #[must_use]
    pub fn at_most(self, metres: f64) -> String {
        let steps = (self.number(metres).abs() / self.fine_step() - SLACK).ceil();
        if self.number(metres).abs() < self.fine_step() {
            return self.small(metres, |parts| (parts - SLACK).ceil().max(1.0));
        }
        self.with_unit(self.fine(steps * self.fine_step() * self.metres_in_one()))
    }

    /// What is allowed, with its unit: rounded down in the finer steps, so that nobody is let off further than the check
    /// lets him; under one of them in smaller ones, never nothing unless nothing is allowed.
    #[must_use]
    pub fn allowed(self, metres: f64) -> String {
        let steps = (self.number(metres).abs() / self.fine_step() + NOISE).floor();
        if steps < 1.0 && metres != 0.0 {
            return self.small(metres, |parts| (parts + NOISE).floor().max(1.0));
        }
        self.with_unit(self.fine(steps * self.fine_step() * self.metres_in_one()))
    }

    /// What is added to a staff's reading or taken off it, with its unit, as fine as a staff is read: a millimetre, a
    /// hundredth of a foot, a sixteenth of an inch.
    #[must_use]
    pub fn reading(self, metres: f64) -> String {
        let size = self.number(metres).abs();
        self.with_unit(match (self.units, self.in_inches()) {
            (ReadingUnits::Metric, _) => format!("{size:.3}"),
            (_, true) => feet_and_inches(size, 16.0),
            (_, false) => format!("{size:.2}"),
        })
    }

    /// The finer step in the sheet's unit.
    fn fine_step(self) -> f64 {
        match (self.units, self.in_inches()) {
            (ReadingUnits::Metric, _) => 0.005,
            (_, true) => 1.0 / 48.0,
            (_, false) => 0.01,
        }
    }

    /// A size under the finer step, in steps of 0.1 mm, 0.001 ft or 0.01 in.
    fn small(self, metres: f64, round: impl Fn(f64) -> f64) -> String {
        let size = self.number(metres).abs();
        match (self.units, self.in_inches()) {
            (ReadingUnits::Metric, _) => format!("{:.1} mm", round(size * 1e4) / 10.0),
            (_, true) => format!("{:.2}\"", round(size * 1200.0) / 100.0),
            (_, false) => format!("{:.3} {}", round(size * 1000.0) / 1000.0, self.unit()),
        }
    }

    /// True when the length shows as nothing at the usual step.
    #[must_use]
    pub fn shows_as_nothing(self, metres: f64) -> bool {
        let nothing = self.size(0.0);
        self.size(metres) == nothing
    }

    /// A length with its unit.
    #[must_use]
    pub fn length(self, length: Length) -> String {
        self.with_unit(self.size(length.in_metres()))
    }

    /// A number that is written already, with the unit that it lacks.
    #[must_use]
    pub fn with_unit(self, written: String) -> String {
        if self.in_inches() { written } else { format!("{written} {}", self.unit()) }
    }

    /// A height against the sill: a size and ABOVE or BELOW, or plain 0.
    #[must_use]
    pub fn against_sill(self, above: Length) -> String {
        if self.shows_as_nothing(above.in_metres()) {
            return "0".to_owned();
        }
        let word = if above > Length::ZERO { "ABOVE" } else { "BELOW" };
        format!("{} {word}", self.size(above.in_metres()))
    }

    /// The height of a crest against the sill, never rounded down.
    #[must_use]
    pub fn crest_against_sill(self, above: Length) -> String {
        if above > Length::ZERO && !self.shows_as_nothing(above.in_metres()) {
            format!("{} ABOVE", self.size_up(above.in_metres()))
        } else {
            self.against_sill(above)
        }
    }

    /// An elevation above the site's datum: three decimals of a metre, two of a foot.
    #[must_use]
    pub fn elevation(self, elevation: Elevation) -> String {
        let number = self.number(elevation.in_metres());
        if self.units == ReadingUnits::Metric { format!("{number:.3}") } else { format!("{number:.2}") }
    }

    /// A distance along a line: whole, or with one decimal when it is not.
    #[must_use]
    pub fn station(self, metres: f64) -> String {
        let text = format!("{:.1}", self.number(metres).max(0.0));
        text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
    }

    /// A volume of earth, whole cubic metres or cubic yards; one decimal under ten.
    #[must_use]
    pub fn earth(self, cubic_metres: f64) -> String {
        let (size, unit) = match self.units {
            ReadingUnits::Metric => (cubic_metres, "m³"),
            _ => (cubic_metres / self.metres_in_one().powi(3) / 27.0, "yd³"),
        };
        let decimals = usize::from(size.abs() < 9.95);
        format!("{:.decimals$} {unit}", size.abs())
    }

    /// A volume of water to two figures.
    #[must_use]
    pub fn water(self, volume: Volume) -> String {
        let (size, unit) = match self.units {
            ReadingUnits::Metric => (volume.in_cubic_metres(), "m³"),
            _ => (volume.in_cubic_metres() / self.metres_in_one().powi(3), "ft³"),
        };
        format!("{} {unit}", two_figures(size))
    }

    /// An area, whole.
    #[must_use]
    pub fn area(self, area: Area) -> String {
        self.units.area(area).replace("m2", "m²").replace("ft2", "ft²")
    }

    /// The unit of a length.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        self.units.length_unit()
    }

    /// A length's number in the sheet's unit, unrounded.
    #[must_use]
    pub fn number(self, metres: f64) -> f64 {
        self.units.length_number(Length::metres(metres))
    }

    /// Metres in one unit of the sheet.
    #[must_use]
    pub fn metres_in_one(self) -> f64 {
        1.0 / self.number(1.0)
    }
}

/// Share of a step by which a number may be rounded against its safe side.
const SLACK: f64 = 0.1;
/// Share of a step that is noise: 0.05 m is ten steps of 5 mm to floating point, and a hundredth of a foot is one of either foot.
const NOISE: f64 = 1e-3;

/// Feet, inches and parts of an inch: `1' 4 1/2"`, `7"`, `3' 0"`.
fn feet_and_inches(feet: f64, parts: f64) -> String {
    let steps = (feet * 12.0 * parts).round();
    let (whole_inches, part) = ((steps / parts).floor(), steps % parts);
    let (feet, inches) = ((whole_inches / 12.0).floor(), whole_inches % 12.0);
    // Halves, quarters or sixteenths, in their lowest terms.
    let (mut above, mut below) = (part, parts);
    while above > 0.0 && above % 2.0 == 0.0 {
        (above, below) = (above / 2.0, below / 2.0);
    }
    let part = if above > 0.0 { format!(" {above}/{below}") } else { String::new() };
    match (feet, inches) {
        (feet, inches) if feet > 0.0 => format!("{feet}' {inches}{part}\""),
        (_, 0.0) if !part.is_empty() => format!("{}\"", part.trim_start()),
        (_, inches) => format!("{inches}{part}\""),
    }
}

/// A number to two figures, in plain digits.
fn two_figures(value: f64) -> String {
    if value.abs() < 1e-9 {
        return "0".to_owned();
    }
    let step = |value: f64| 10f64.powf(value.abs().log10().floor() - 1.0);
    let rounded = (value / step(value)).round() * step(value);
    // Rounding may have added a figure: 9.96 becomes 10, whose step is one.
    let step = step(rounded * (1.0 + 1e-12));
    match step {
        step if step >= 1.0 => format!("{rounded:.0}"),
        step if step >= 0.1 => format!("{rounded:.1}"),
        _ => format!("{rounded:.2}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const METRIC: Figures = Figures { units: ReadingUnits::Metric, feet: FeetStyle::Tenths };
    const TENTHS: Figures = Figures { units: ReadingUnits::Feet, feet: FeetStyle::Tenths };
    const INCHES: Figures = Figures { units: ReadingUnits::Feet, feet: FeetStyle::FeetAndInches };

    #[test]
    fn metres_to_a_hundredth_and_a_sill_to_five_millimetres() {
        assert_eq!(METRIC.size(-0.4149), "0.41");
        assert_eq!(METRIC.fine(0.4131), "0.415");
        assert_eq!(METRIC.fine(-0.0024), "0.000");
    }

    /// The sheet and the check name one tolerance alike, in feet of either kind.
    #[test]
    fn what_is_allowed_is_one_number_on_sheet_and_check() {
        for units in [ReadingUnits::Feet, ReadingUnits::UsSurveyFeet] {
            let sheet = Figures { units, feet: FeetStyle::Tenths };
            // A tenth of 0.3 ft, and 0.2 m, which is 0.656 ft.
            for (metres, says) in [(0.3 * 0.3048 / 10.0, "0.03 ft"), (0.2, "0.65 ft"), (0.05, "0.16 ft")] {
                assert_eq!([sheet.allowed(metres), units.allowed(Length::metres(metres))], [says; 2], "{units:?}");
            }
        }
        assert_eq!(ReadingUnits::Metric.allowed(Length::metres(0.01)), "10 mm");
        assert_eq!(ReadingUnits::Metric.allowed(Length::metres(0.0099)), "9 mm");
    }

    #[test]
    fn feet_as_tenths_or_as_inches() {
        // 0.4191 m is 1.375 ft exactly, 1 ft 4 1/2 in.
        assert_eq!(TENTHS.size(0.4191), "1.4");
        assert_eq!(TENTHS.fine(0.42), "1.38");
        assert_eq!(INCHES.size(0.4191), "1' 4 1/2\"");
        assert_eq!(INCHES.size(0.3048), "1' 0\"");
        assert_eq!(INCHES.fine(0.0254 * 7.25), "7 1/4\"");
        assert_eq!(INCHES.size(0.0127), "1/2\"");
        assert_eq!(INCHES.size(0.0), "0\"");
        // A hair under two feet rounds up through the foot, not to 1' 12".
        assert_eq!(INCHES.size(0.6095), "2' 0\"");
    }

    #[test]
    fn what_may_never_be_low_is_rounded_up() {
        assert_eq!(METRIC.size_up(0.4604), "0.46");
        assert_eq!(METRIC.size_up(0.4621), "0.47");
        assert_eq!(METRIC.size_down(0.4689), "0.46");
        assert_eq!(METRIC.size_down(0.4695), "0.47");
        // 0.4721 m are 1.549 ft: 1.5 would be 15 mm low.
        assert_eq!(TENTHS.size_up(0.4721), "1.6");
        // 18.2 in.
        assert_eq!(INCHES.size_up(0.0254 * 18.2), "1' 6 1/2\"");
        assert_eq!(INCHES.size_up(0.0254 * 18.04), "1' 6\"");
        assert_eq!(METRIC.crest_against_sill(Length::metres(0.4621)), "0.47 ABOVE");
    }

    #[test]
    fn a_bound_is_never_nothing_and_never_less_than_it_is() {
        assert_eq!(METRIC.at_most(-0.0001), "0.1 mm");
        assert_eq!(METRIC.at_most(0.0005), "0.5 mm");
        assert_eq!(METRIC.at_most(0.0061), "0.010 m");
        assert_eq!(METRIC.at_most(0.005), "0.005 m");
        assert_eq!(TENTHS.at_most(0.0), "0.001 ft");
        // 0.001 m are 0.0394 in.
        assert_eq!(INCHES.at_most(0.001), "0.04\"");
        assert_eq!(INCHES.at_most(0.0254 * 0.3), "1/2\"");
    }

    #[test]
    fn nobody_is_let_off_further_than_is_allowed() {
        // 10 mm are 0.394 in and 0.0328 ft: half an inch would be 12.7 mm.
        assert_eq!(INCHES.allowed(0.010), "1/4\"");
        assert_eq!(TENTHS.allowed(0.010), "0.03 ft");
        assert_eq!(METRIC.allowed(0.010), "0.010 m");
        assert_eq!(METRIC.allowed(0.0149), "0.010 m");
        // 50 mm are 1.969 in.
        assert_eq!(INCHES.allowed(0.050), "1 3/4\"");
        assert_eq!(METRIC.allowed(0.050), "0.050 m");
        // Less than a step is not nothing.
        assert_eq!(METRIC.allowed(0.003), "3.0 mm");
        assert_eq!(INCHES.allowed(0.005), "0.19\"");
        assert_eq!(TENTHS.allowed(0.003), "0.009 ft");
        assert_eq!(METRIC.allowed(0.0), "0.000 m");
    }

    #[test]
    fn a_staff_is_read_as_fine_as_it_is_divided() {
        assert_eq!(METRIC.reading(-1.7894), "1.789 m");
        assert_eq!(TENTHS.reading(1.7894), "5.87 ft");
        // 1.7894 m are 70.449 in, 5 ft 10.449 in: seven sixteenths are 0.4375.
        assert_eq!(INCHES.reading(1.7894), "5' 10 7/16\"");
        assert_eq!(INCHES.reading(0.0254 * 4.0 / 16.0), "1/4\"");
    }

    #[test]
    fn above_and_below_are_words() {
        assert_eq!(METRIC.against_sill(Length::metres(-0.6)), "0.60 BELOW");
        assert_eq!(METRIC.against_sill(Length::metres(0.45)), "0.45 ABOVE");
        assert_eq!(METRIC.against_sill(Length::metres(-0.004)), "0");
    }

    #[test]
    fn water_to_two_figures() {
        assert_eq!(METRIC.water(Volume::cubic_metres(123.4)), "120 m³");
        assert_eq!(METRIC.water(Volume::cubic_metres(9.96)), "10 m³");
        assert_eq!(METRIC.water(Volume::cubic_metres(0.42)), "0.42 m³");
        assert_eq!(METRIC.water(Volume::ZERO), "0 m³");
    }
}

//! A number with its unit, from text: `"0.6 m"`, `"2 ft"`, `"3:1"`, `"0.25 m3/s"`, `"600 m3"`, `"0.5 %"`.
//!
//! A bare number where a unit is due is an error that names the accepted units.

use super::{
    Area, Batter, Elevation, Fall, Flow, Length, METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT, RainRate, Volume,
};

/// Why a quantity could not be read. Each message says what was found and what is accepted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ParseError {
    /// The number carries no unit.
    #[error("`{found}` has no unit: write it with one of {accepted}, such as `{example}`")]
    NoUnit {
        /// The text as found.
        found: String,
        /// The units that are accepted.
        accepted: &'static str,
        /// A right one.
        example: &'static str,
    },
    /// The unit is not one of the accepted ones.
    #[error("`{found}` has the unit `{unit}`: accepted are {accepted}, such as `{example}`")]
    UnknownUnit {
        /// The text as found.
        found: String,
        /// The unit in it.
        unit: String,
        /// The units that are accepted.
        accepted: &'static str,
        /// A right one.
        example: &'static str,
    },
    /// There is no number at the front.
    #[error("`{found}` is not a number with a unit: write it like `{example}`")]
    NotANumber {
        /// The text as found.
        found: String,
        /// A right one.
        example: &'static str,
    },
    /// The number is finite but cannot be meant (a batter of zero, a percentage beyond reason).
    #[error("`{found}` is out of range: {why}")]
    OutOfRange {
        /// The text as found.
        found: String,
        /// The bound that it breaks.
        why: &'static str,
    },
}

struct Kind {
    accepted: &'static str,
    example: &'static str,
    factor: fn(&str) -> Option<f64>,
}

fn split(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|&(at, c)| {
            let exponent = (c == 'e' || c == 'E')
                && at > 0
                && text[at + 1..].starts_with(|next: char| next.is_ascii_digit() || next == '-' || next == '+');
            let sign = (c == '-' || c == '+') && (at == 0 || text[..at].ends_with(['e', 'E']));
            !(c.is_ascii_digit() || c == '.' || exponent || sign)
        })
        .map_or(text.len(), |(at, _)| at);
    let value: f64 = text[..end].parse().ok()?;
    value.is_finite().then_some((value, text[end..].trim()))
}

fn read(text: &str, kind: &Kind) -> Result<f64, ParseError> {
    let found = || text.trim().to_owned();
    let (value, unit) = split(text).ok_or_else(|| ParseError::NotANumber { found: found(), example: kind.example })?;
    if unit.is_empty() {
        return Err(ParseError::NoUnit { found: found(), accepted: kind.accepted, example: kind.example });
    }
    let factor = (kind.factor)(unit).ok_or_else(|| ParseError::UnknownUnit {
        found: found(),
        unit: unit.to_owned(),
        accepted: kind.accepted,
        example: kind.example,
    })?;
    Ok(value * factor)
}

fn length_factor(unit: &str) -> Option<f64> {
    Some(match unit {
        "m" | "metre" | "metres" | "meter" | "meters" => 1.0,
        "mm" => 0.001,
        "cm" => 0.01,
        "km" => 1000.0,
        "ft" | "foot" | "feet" => METRES_PER_FOOT,
        "in" | "inch" | "inches" => METRES_PER_FOOT / 12.0,
        "usft" | "us-survey-feet" => METRES_PER_US_SURVEY_FOOT,
        _ => return None,
    })
}

/// A length: `mm`, `cm`, `m`, `km`, `in`, `ft`, `usft`.
///
/// # Errors
/// When there is no number, no unit or an unknown one.
///
/// ```
/// let depth = swalewright::units::parse_length("2 ft").unwrap();
/// assert_eq!(depth.in_metres(), 0.6096);
/// ```
pub fn parse_length(text: &str) -> Result<Length, ParseError> {
    let kind = Kind { accepted: "mm, cm, m, km, in, ft, usft", example: "0.6 m", factor: length_factor };
    read(text, &kind).map(Length::metres)
}

/// An elevation above the site's datum: the units of a length.
///
/// # Errors
/// As [`parse_length`].
pub fn parse_elevation(text: &str) -> Result<Elevation, ParseError> {
    let kind = Kind { accepted: "m, ft, usft", example: "431.25 m", factor: length_factor };
    read(text, &kind).map(Elevation::metres)
}

/// An area: `m2`, `ha`, `ft2`, `ac`.
///
/// # Errors
/// When there is no number, no unit or an unknown one.
pub fn parse_area(text: &str) -> Result<Area, ParseError> {
    let factor = |unit: &str| {
        Some(match unit {
            "m2" | "m²" => 1.0,
            "ha" => 10_000.0,
            "ft2" | "ft²" => METRES_PER_FOOT * METRES_PER_FOOT,
            "ac" | "acre" | "acres" => 43_560.0 * METRES_PER_FOOT * METRES_PER_FOOT,
            _ => return None,
        })
    };
    read(text, &Kind { accepted: "m2, ha, ft2, ac", example: "3.5 ha", factor }).map(Area::square_metres)
}

/// A volume of water or space: `m3`, `L`, `ML`, `ft3`, `yd3`, `ac-ft`.
///
/// # Errors
/// When there is no number, no unit or an unknown one.
pub fn parse_volume(text: &str) -> Result<Volume, ParseError> {
    let factor = |unit: &str| {
        let cubic_foot = METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT;
        Some(match unit {
            "m3" | "m³" => 1.0,
            "L" | "l" => 0.001,
            "ML" => 1000.0,
            "ft3" | "ft³" => cubic_foot,
            "yd3" | "yd³" => 27.0 * cubic_foot,
            "ac-ft" => 43_560.0 * cubic_foot,
            _ => return None,
        })
    };
    read(text, &Kind { accepted: "m3, L, ML, ft3, yd3, ac-ft", example: "600 m3", factor }).map(Volume::cubic_metres)
}

/// A flow: `m3/s`, `L/s`, `ft3/s` (also `cfs`).
///
/// # Errors
/// When there is no number, no unit or an unknown one.
pub fn parse_flow(text: &str) -> Result<Flow, ParseError> {
    let factor = |unit: &str| {
        Some(match unit {
            "m3/s" | "m³/s" => 1.0,
            "L/s" | "l/s" => 0.001,
            "ft3/s" | "cfs" => METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT,
            _ => return None,
        })
    };
    read(text, &Kind { accepted: "m3/s, L/s, ft3/s", example: "0.25 m3/s", factor }).map(Flow::cubic_metres_per_second)
}

/// How fast rain falls: `mm/h`, `in/h`.
///
/// # Errors
/// When there is no number, no unit or an unknown one.
pub fn parse_rain_rate(text: &str) -> Result<RainRate, ParseError> {
    let factor = |unit: &str| {
        Some(match unit {
            "mm/h" | "mm/hr" => 1e-3 / 3600.0,
            "in/h" | "in/hr" => METRES_PER_FOOT / 12.0 / 3600.0,
            _ => return None,
        })
    };
    read(text, &Kind { accepted: "mm/h, in/h", example: "80 mm/h", factor }).map(RainRate::metres_per_second)
}

/// Memory in bytes: `MB`, `GB` (a million, a thousand million bytes).
///
/// # Errors
/// When there is no number, no unit or an unknown one.
pub fn parse_memory(text: &str) -> Result<f64, ParseError> {
    let factor = |unit: &str| match unit {
        "MB" => Some(1e6),
        "GB" => Some(1e9),
        _ => None,
    };
    read(text, &Kind { accepted: "MB, GB", example: "4 GB", factor })
}

/// A share: `"12 %"` gives 0.12.
///
/// # Errors
/// When there is no number or no per cent sign.
pub fn parse_percent(text: &str) -> Result<f64, ParseError> {
    let factor = |unit: &str| (unit == "%").then_some(0.01);
    read(text, &Kind { accepted: "%", example: "12 %", factor })
}

/// A slope too small for a percentage, as rise over run: `arcsec`, `ppm`, `mm/km`.
///
/// # Errors
/// When there is no number, no unit or an unknown one.
pub fn parse_small_slope(text: &str) -> Result<f64, ParseError> {
    let factor = |unit: &str| match unit {
        "arcsec" => Some((1.0_f64 / 3600.0).to_radians()),
        "ppm" | "mm/km" => Some(1e-6),
        _ => None,
    };
    read(text, &Kind { accepted: "arcsec, ppm, mm/km", example: "-0.210 arcsec", factor })
}

/// A bearing on the grid, clockwise from north, in radians: `"30 deg"`.
///
/// # Errors
/// When there is no number, no unit or an unknown one.
pub fn parse_bearing(text: &str) -> Result<f64, ParseError> {
    let factor = |unit: &str| match unit {
        "deg" => Some(1.0_f64.to_radians()),
        "gon" => Some(0.9_f64.to_radians()),
        _ => None,
    };
    read(text, &Kind { accepted: "deg, gon", example: "30 deg", factor })
}

/// A fall along a line: `"0.5 %"` or `"1 in 200"`.
///
/// # Errors
/// When it is neither.
pub fn parse_fall(text: &str) -> Result<Fall, ParseError> {
    let example = "0.5 %";
    if let Some((one, run)) = text.split_once(" in ") {
        let one: f64 =
            one.trim().parse().map_err(|_| ParseError::NotANumber { found: text.trim().to_owned(), example })?;
        let run: f64 =
            run.trim().parse().map_err(|_| ParseError::NotANumber { found: text.trim().to_owned(), example })?;
        if !(one.is_finite() && run.is_finite() && run > 0.0) {
            return Err(ParseError::OutOfRange {
                found: text.trim().to_owned(),
                why: "a fall is written as 1 in 200, both numbers above zero",
            });
        }
        return Ok(Fall::ratio(one / run));
    }
    let factor = |unit: &str| match unit {
        "%" => Some(0.01),
        "m/m" => Some(1.0),
        "mm/m" => Some(0.001),
        _ => None,
    };
    read(text, &Kind { accepted: "%, mm/m, m/m, or `1 in 200`", example, factor }).map(Fall::ratio)
}

/// A batter, horizontal to vertical: `"2:1"`, `"2.5H:1V"`.
///
/// # Errors
/// When it is not two numbers with a colon, or not above zero.
pub fn parse_batter(text: &str) -> Result<Batter, ParseError> {
    let example = "2:1";
    let not_a_batter = || ParseError::NotANumber { found: text.trim().to_owned(), example };
    let (horizontal, vertical) = text.split_once(':').ok_or_else(not_a_batter)?;
    let number = |part: &str, letter: char| -> Option<f64> {
        let part = part.trim();
        part.strip_suffix([letter, letter.to_ascii_lowercase()]).unwrap_or(part).trim().parse().ok()
    };
    let horizontal = number(horizontal, 'H').ok_or_else(not_a_batter)?;
    let vertical = number(vertical, 'V').ok_or_else(not_a_batter)?;
    let ratio = horizontal / vertical;
    if ratio.is_finite() && ratio > 0.0 && vertical > 0.0 {
        Ok(Batter::horizontal_per_vertical(ratio))
    } else {
        Err(ParseError::OutOfRange {
            found: text.trim().to_owned(),
            why: "a batter is horizontal:vertical, both above zero",
        })
    }
}

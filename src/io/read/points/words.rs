//! Words and numbers in the fields of a point file.

use crate::survey::{Fix, Tilt};

/// A number, with a decimal comma where the user says so.
pub(super) fn parse_number(text: &str, decimal_comma: bool) -> Option<f64> {
    if decimal_comma && text.contains(',') {
        return (text.matches(',').count() == 1 && !text.contains('.')).then(|| text.replace(',', ".").parse().ok())?;
    }
    text.parse().ok()
}

/// True when a field reads as a number.
pub(super) fn is_number(text: &str, decimal_comma: bool) -> bool {
    parse_number(text, decimal_comma).is_some()
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to be zero or more; saturates")]
pub(super) fn whole_number(value: f64) -> u32 {
    value.round() as u32
}

/// Reads the kind of solution: words, or the numbers of NMEA 0183 GGA (4 fixed, 5 float; 1, 2, 3 and 6 coarse).
/// `None` for a word that is not known; an empty field is [`Fix::Unknown`].
pub(super) fn read_fix(text: &str) -> Option<Fix> {
    let word: String = text.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase();
    Some(match word.as_str() {
        "" | "unknown" | "na" => Fix::Unknown,
        "fixed" | "fix" | "rtkfixed" | "rtkfix" | "fixedrtk" | "integer" | "int" | "4" | "networkfixed"
        | "rtnfixed" | "rtk" | "l1fixed" | "narrowint" => Fix::Fixed,
        "float" | "rtkfloat" | "floatrtk" | "flt" | "5" | "networkfloat" => Fix::Float,
        "single" | "autonomous" | "auto" | "dgps" | "dgnss" | "differential" | "sbas" | "standalone" | "code"
        | "none" | "nofix" | "invalid" | "estimated" | "ppp" | "spp" | "0" | "1" | "2" | "3" | "6" | "7" | "8" => {
            Fix::Coarse
        }
        _ => return None,
    })
}

/// Reads a tilt column: words for yes and no, or degrees off plumb. `None` when it says neither.
pub(super) fn read_tilt(text: &str, decimal_comma: bool) -> Option<Tilt> {
    match text.trim().to_lowercase().as_str() {
        "yes" | "y" | "on" | "true" | "used" | "applied" => Some(Tilt::Used),
        "no" | "n" | "off" | "false" | "none" | "not used" => Some(Tilt::NotUsed),
        number => parse_number(number, decimal_comma)
            .filter(|degrees| degrees.is_finite())
            .map(|degrees| Tilt::Angle(degrees.to_radians())),
    }
}

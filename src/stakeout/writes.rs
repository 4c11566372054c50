//! What is written on a stake: one word and one number, and where it counts from.

use super::stake::{Action, Target};
use crate::units::{Length, ReadingUnits};

/// Cut and fill smaller than this are on grade, metres.
const ON_GRADE: f64 = 0.005;

impl Action {
    /// From the ground or mark to the design elevation.
    #[must_use]
    pub fn between(mark: f64, design: f64) -> Self {
        let up = design - mark;
        if up.abs() <= ON_GRADE {
            Self::OnGrade
        } else if up < 0.0 {
            Self::Cut(-up)
        } else {
            Self::Fill(up)
        }
    }
}

impl Target {
    /// As it is written on a stake.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bed => "BED",
            Self::Sill => "SILL",
            Self::Crest => "CREST",
            Self::WaterLevel => "WATER LEVEL",
        }
    }
}

/// `CUT 0.62 TO BED 3.0 DOWNHILL`, `FILL 0.31 TO CREST HERE`, `ON GRADE FOR SILL HERE`. Heights to a hundredth, a sill
/// in metres to half a centimetre; in feet, tenths and hundredths of a foot.
#[must_use]
pub fn words(action: Option<Action>, target: Target, away: f64, uphill: bool, units: ReadingUnits) -> String {
    let place = if away < 0.05 {
        "HERE".to_owned()
    } else {
        let distance = units.length_number(Length::metres(away));
        format!("{distance:.1} {}", if uphill { "UPHILL" } else { "DOWNHILL" })
    };
    let height = |metres: f64| {
        let number = units.length_number(Length::metres(metres));
        match (target, action) {
            (Target::Sill, _) if units == ReadingUnits::Metric => format!("{:.3}", (number / 0.005).round() * 0.005),
            // A crest is never low: more fill, less cut. A tenth of a step is let go, or it would grow by its noise.
            (Target::Crest, Some(Action::Fill(_))) => format!("{:.2}", (number * 100.0 - 0.1).ceil() / 100.0),
            (Target::Crest, Some(Action::Cut(_))) => format!("{:.2}", (number * 100.0 + 0.1).floor() / 100.0),
            _ => format!("{number:.2}"),
        }
    };
    let target = target.word();
    match action {
        Some(Action::Cut(down)) => format!("CUT {} TO {target} {place}", height(down)),
        Some(Action::Fill(up)) => format!("FILL {} TO {target} {place}", height(up)),
        Some(Action::OnGrade) => format!("ON GRADE FOR {target} {place}"),
        None => format!("{target} {place}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_word_and_one_number() {
        let metric = ReadingUnits::Metric;
        assert_eq!(words(Some(Action::Cut(0.624)), Target::Bed, 3.04, false, metric), "CUT 0.62 TO BED 3.0 DOWNHILL");
        assert_eq!(words(Some(Action::Fill(0.31)), Target::Crest, 0.0, false, metric), "FILL 0.31 TO CREST HERE");
        assert_eq!(
            words(Some(Action::Cut(0.0233)), Target::Sill, 5.0, false, metric),
            "CUT 0.025 TO SILL 5.0 DOWNHILL"
        );
        assert_eq!(words(Some(Action::OnGrade), Target::Sill, 0.0, true, metric), "ON GRADE FOR SILL HERE");
        assert_eq!(words(None, Target::Bed, 1.8, true, metric), "BED 1.8 UPHILL");
        let feet = ReadingUnits::Feet;
        assert_eq!(words(Some(Action::Cut(0.3048)), Target::Bed, 1.524, false, feet), "CUT 1.00 TO BED 5.0 DOWNHILL");
    }

    #[test]
    fn a_crest_is_never_written_low() {
        let metric = ReadingUnits::Metric;
        assert_eq!(words(Some(Action::Fill(0.581)), Target::Crest, 0.0, true, metric), "FILL 0.58 TO CREST HERE");
        assert_eq!(words(Some(Action::Fill(0.583)), Target::Crest, 0.0, true, metric), "FILL 0.59 TO CREST HERE");
        assert_eq!(words(Some(Action::Cut(0.118)), Target::Crest, 0.0, true, metric), "CUT 0.11 TO CREST HERE");
        assert_eq!(words(Some(Action::Fill(0.583)), Target::Bed, 0.0, true, metric), "FILL 0.58 TO BED HERE");
    }

    #[test]
    fn action_never_has_a_sign() {
        assert_eq!(Action::between(100.0, 99.0), Action::Cut(1.0));
        assert_eq!(Action::between(100.0, 101.0), Action::Fill(1.0));
        assert_eq!(Action::between(100.0, 100.004), Action::OnGrade);
    }
}

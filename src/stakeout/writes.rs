//! What is written on a stake: one word and one number, and where it counts from.

use super::stake::{Action, Target, Way};
use crate::units::Figures;

/// Cut and fill smaller than this are on grade, metres.
const ON_GRADE: f64 = 0.005;
const ON_GRADE_WORDS: &str = "ON GRADE";

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

/// What to do, as one word and one number: `CUT 0.62`, `FILL 0.31`, `ON GRADE`, also where the number would show as
/// nothing. A sill is written in the finer steps of the sheet, and a crest never low: more fill, less cut.
#[must_use]
pub fn amount(action: Action, target: Target, figures: Figures) -> String {
    let (word, metres, up) = match action {
        Action::OnGrade => return ON_GRADE_WORDS.to_owned(),
        Action::Cut(metres) => ("CUT", metres, false),
        Action::Fill(metres) => ("FILL", metres, true),
    };
    let size = |metres: f64| match target {
        Target::Sill => figures.fine(metres),
        Target::Crest if up => figures.size_up(metres),
        Target::Crest => figures.size_down(metres),
        Target::Bed | Target::WaterLevel => figures.size(metres),
    };
    let written = size(metres);
    if written == size(0.0) { ON_GRADE_WORDS.to_owned() } else { format!("{word} {written}") }
}

/// `CUT 0.62 TO BED 3.00 DOWNHILL`, `FILL 0.31 TO CREST HERE`, `ON GRADE FOR SILL HERE`: the numbers as the sheet writes
/// them.
#[must_use]
pub fn words(action: Option<Action>, target: Target, away: f64, way: Way, figures: Figures) -> String {
    let place = if away < 0.05 || figures.shows_as_nothing(away) {
        "HERE".to_owned()
    } else {
        format!("{} {}", figures.size(away), way.name().to_uppercase())
    };
    let name = target.word();
    match action.map(|action| amount(action, target, figures)) {
        Some(amount) if amount == ON_GRADE_WORDS => format!("{amount} FOR {name} {place}"),
        Some(amount) => format!("{amount} TO {name} {place}"),
        None => format!("{name} {place}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{FeetStyle, ReadingUnits};

    #[test]
    fn one_word_and_one_number() {
        let metric = Figures::default();
        assert_eq!(
            words(Some(Action::Cut(0.624)), Target::Bed, 3.04, Way::Downhill, metric),
            "CUT 0.62 TO BED 3.04 DOWNHILL"
        );
        assert_eq!(
            words(Some(Action::Fill(0.31)), Target::Crest, 0.0, Way::Downhill, metric),
            "FILL 0.31 TO CREST HERE"
        );
        assert_eq!(
            words(Some(Action::Cut(0.0233)), Target::Sill, 5.0, Way::Downhill, metric),
            "CUT 0.025 TO SILL 5.00 DOWNHILL"
        );
        assert_eq!(words(Some(Action::OnGrade), Target::Sill, 0.0, Way::Uphill, metric), "ON GRADE FOR SILL HERE");
        assert_eq!(words(None, Target::Bed, 1.8, Way::Uphill, metric), "BED 1.80 UPHILL");
        assert_eq!(words(Some(Action::Cut(0.0049)), Target::Bed, 0.0, Way::Uphill, metric), "ON GRADE FOR BED HERE");
    }

    #[test]
    fn feet_are_written_one_way() {
        let figures = |feet| Figures { units: ReadingUnits::Feet, feet };
        let says = |feet| words(Some(Action::Cut(0.4191)), Target::Bed, 1.524, Way::Downhill, figures(feet));
        // 0.4191 m is 1.375 ft, 1 ft 4 1/2 in; 1.524 m is 5 ft.
        assert_eq!(says(FeetStyle::Tenths), "CUT 1.4 TO BED 5.0 DOWNHILL");
        assert_eq!(says(FeetStyle::FeetAndInches), "CUT 1' 4 1/2\" TO BED 5' 0\" DOWNHILL");
        let sill = |feet| words(Some(Action::Fill(0.0254)), Target::Sill, 0.0, Way::Downhill, figures(feet));
        assert_eq!(sill(FeetStyle::Tenths), "FILL 0.08 TO SILL HERE");
        assert_eq!(sill(FeetStyle::FeetAndInches), "FILL 1\" TO SILL HERE");
    }

    #[test]
    fn a_crest_is_never_written_low() {
        let metric = Figures::default();
        assert_eq!(
            words(Some(Action::Fill(0.581)), Target::Crest, 0.0, Way::Uphill, metric),
            "FILL 0.58 TO CREST HERE"
        );
        assert_eq!(
            words(Some(Action::Fill(0.583)), Target::Crest, 0.0, Way::Uphill, metric),
            "FILL 0.59 TO CREST HERE"
        );
        assert_eq!(words(Some(Action::Cut(0.118)), Target::Crest, 0.0, Way::Uphill, metric), "CUT 0.11 TO CREST HERE");
        assert_eq!(words(Some(Action::Fill(0.583)), Target::Bed, 0.0, Way::Uphill, metric), "FILL 0.58 TO BED HERE");
    }

    #[test]
    fn action_never_has_a_sign() {
        assert_eq!(Action::between(100.0, 99.0), Action::Cut(1.0));
        assert_eq!(Action::between(100.0, 101.0), Action::Fill(1.0));
        assert_eq!(Action::between(100.0, 100.004), Action::OnGrade);
    }
}

//! Levels of a work against its own nought, and the words for lengths, units and placing that every kind of work shares.

use super::html::Html;
use super::input::DigSheetInput;
use crate::asbuilt::Tolerance;
use crate::soil::Placement;
use crate::units::{Elevation, Figures, Length, ReadingUnits};
use crate::works::Kind;

/// A long distance, to the whole unit.
pub(super) fn about(input: &DigSheetInput, length: Length) -> String {
    format!("{:.0} {}", input.figures.number(length.in_metres()), input.figures.unit())
}

/// How fill is put down.
pub(super) fn placement_words(placement: Placement, layers: &str) -> String {
    match placement {
        Placement::Tipped => "tipped and shaped".to_owned(),
        Placement::TrackWalked => format!("in level {layers}, each walked over with the tracks"),
        Placement::LayeredRolled => format!("in level {layers}, each rolled"),
    }
}

/// What the as-built check allows, never rounded further than it lets.
pub(super) fn allowed_words(figures: Figures, tolerance: Tolerance) -> String {
    let (below, above) = (figures.allowed(tolerance.below_m), figures.allowed(tolerance.above_m));
    if tolerance.below_m == 0.0 {
        format!("never low, up to {above} high")
    } else if tolerance.below_m == tolerance.above_m {
        format!("{below} either way")
    } else {
        format!("up to {below} low or {above} high")
    }
}

/// The unit in words.
pub(super) fn unit_words(input: &DigSheetInput) -> &'static str {
    match (input.figures.units, input.figures.in_inches()) {
        (ReadingUnits::Metric, _) => "metres",
        (_, true) => "feet and inches",
        (ReadingUnits::Feet, _) => "feet and tenths of a foot (not inches)",
        (ReadingUnits::UsSurveyFeet, _) => "US survey feet and tenths of a foot (not inches)",
    }
}

/// What stands as nought of a work's levels.
pub(super) const fn zero_words(kind: Kind) -> &'static str {
    match kind {
        Kind::Swale => "the sill",
        Kind::Pond | Kind::Dam => "its full level",
        Kind::Borrow => "the lowest place of its rim",
        Kind::Drain => "the upper end of its bed",
    }
}

/// The same, as a staff is read on it.
pub(super) const fn zero_mark(kind: Kind) -> &'static str {
    match kind {
        Kind::Swale => "SILL",
        Kind::Pond | Kind::Dam => "FULL LEVEL",
        Kind::Borrow => "LOWEST RIM",
        Kind::Drain => "UPPER END OF BED",
    }
}

/// One level of a work: its name and height large, what the staff reads on it, its elevation.
pub(super) fn level_row(
    input: &DigSheetInput,
    (name, says): (&str, String),
    zero: &str,
    above: Length,
    size: &str,
    elevation: Elevation,
) -> Vec<String> {
    let figures = input.figures;
    let staff = if figures.shows_as_nothing(above.in_metres()) {
        format!("the {zero} reading")
    } else if above > Length::ZERO {
        format!("{zero} reading less {size}")
    } else {
        format!("{zero} reading and {size} more")
    };
    let elevation = format!("{} {}", input.words().elevation_short, figures.elevation(elevation));
    vec![name.to_owned(), says, staff, elevation]
}

/// The table of levels; elevations in decimals of a foot do not stand in one table with inches.
pub(super) fn level_table(
    html: &mut Html,
    input: &DigSheetInput,
    mut rows: Vec<Vec<String>>,
    elevations: &[(&str, Elevation)],
) {
    let (figures, words) = (input.figures, input.words());
    if figures.in_inches() {
        rows.iter_mut().for_each(|row| row.truncate(3));
    }
    html.table("levels", &[], &rows);
    if figures.in_inches() {
        let all =
            elevations.iter().map(|&(name, z)| format!("{name} {} {}", words.elevation_short, figures.elevation(z)));
        html.paragraph("", &format!("For the surveyor, in decimal feet: {}.", all.collect::<Vec<_>>().join(", ")));
    }
}

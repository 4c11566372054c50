//! Limits that works are warned at, by the note of a design and by the sheet alike.
//!
//! Invariant: these only warn; what they warn of is designed as asked.

use crate::units::{Length, METRES_PER_FOOT};

/// Slope across the line above which contour works are unusual, share (contour works are usual on 2 to 10 %: grade banks
/// 2-10 %, contour bunds 2-6 %, secondary transcriptions of extension texts).
pub const STEEP: f64 = 0.10;
/// Slope above which soaking water into the ground may start a slide, share; common practice, no source.
pub const SLIDES: f64 = 0.15;
/// Fall of a drain's bed below which it is hardly built falling all the way and silts up, share; common practice, no source.
pub const FLAT_BED: f64 = 0.002;
/// Sides steeper than this, horizontal to one vertical, may slump in soil that nobody has proven; common practice, no
/// source.
pub const LEAST_BATTER: f64 = 1.5;
/// Height of a cut face from which there must be a way out, metres: 4 ft of 29 CFR 1926.651, from memory, as metric rules
/// round it.
pub const WAY_OUT: f64 = 1.2;
/// Height of a cut face from which nobody goes in unsupported, metres: 5 ft of 29 CFR 1926.652, from memory, as metric
/// rules round it.
pub const NO_ENTRY: f64 = 1.5;
/// A face this close under a limit counts as reaching it, metres: dug ground is not drawn ground.
pub const NEARLY: f64 = 0.05;
/// What a sill may be off its level: the lesser of 15 mm and a tenth of the head over it; common practice, no source.
#[must_use]
pub fn sill_tolerance(head: Length) -> Length {
    let tenth = head * 0.1;
    if tenth > Length::ZERO { tenth.min(Length::metres(0.015)) } else { Length::metres(0.015) }
}
/// Width of fill that a machine can be driven on, metres: the machine and a metre; common practice, no source.
pub const DRIVEN: f64 = 3.0;
/// Ramps that farm vehicles drive are no steeper than this, horizontal to one vertical; common practice, no source.
pub const DRIVEN_RAMP: f64 = 8.0;
/// Sides of a pond steeper than this, horizontal to one vertical, are warned of (NRCS Code 378, Colorado edition of an
/// excavated pond: no steeper than 2:1).
pub const POND_SIDE: f64 = 2.0;
/// A ramp for stock, or a side that one can walk out of, is no steeper than this (NRCS Code 378, Colorado edition: 4:1 down
/// to low water).
pub const RAMP: f64 = 4.0;
/// Sides of a wall are no steeper than this, horizontal to one vertical, on the water side, on the dry side and together,
/// when it has settled (NRCS Code 378, Colorado edition, page 378-3).
pub const UPSTREAM: f64 = 2.5;
/// The dry side.
pub const DOWNSTREAM: f64 = 2.0;
/// Both together.
pub const COMBINED_BATTERS: f64 = 5.0;
/// Settled crest above flood and waves, metres: 1 ft of NRCS Code 378, Colorado edition.
pub const LEAST_FREEBOARD: f64 = 0.30;
/// Height up to which crest widths of farm ponds are published, metres: 25 ft of NRCS Code 378, Colorado edition.
pub const HIGH_WALL: f64 = 25.0 * METRES_PER_FOOT;
/// Height in feet times storage in acre-feet from which NRCS Code 378 is not valid (Maryland edition).
pub const LOW_HAZARD: f64 = 3000.0;

/// Crest widths for heights up to so many feet: 8, 10 and 12 ft for 15, 20 and 25 ft (NRCS Code 378, Colorado edition, table
/// 1, from 10 ft up), 6 ft up to 6 ft (a Wisconsin conservation leaflet); between 6 and 10 ft the 8 ft of the next class.
const CRESTS: [(f64, f64); 4] = [(6.0, 6.0), (15.0, 8.0), (20.0, 10.0), (25.0, 12.0)];
/// Beyond the table: the width for 25 to 35 ft of NRCS Code 378, from memory.
const WIDEST_CREST: f64 = 14.0;

/// The published crest width for the height of a wall.
#[must_use]
pub fn crest_width(height: Length) -> Length {
    let feet = height.in_metres() / METRES_PER_FOOT;
    let width = CRESTS.iter().find(|class| feet <= class.0 + 1e-9).map_or(WIDEST_CREST, |class| class.1);
    Length::metres(width * METRES_PER_FOOT)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crest_widths_are_those_published() {
        let feet = |height: f64| crest_width(Length::metres(height * METRES_PER_FOOT)).in_metres() / METRES_PER_FOOT;
        let found = [4.0, 6.0, 8.0, 12.0, 15.0, 18.0, 24.0, 30.0].map(|height| feet(height).round());
        assert_eq!(found, [6.0, 6.0, 8.0, 8.0, 8.0, 10.0, 12.0, 14.0]);
    }
}

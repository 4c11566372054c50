//! A berm whose batter is solved, on a plane.

use super::tests::{hillside, wanted};
use super::*;
use crate::notes::Silent;
use crate::surface::cut_and_fill;
use crate::units::{Batter, Length};

fn to_balance(crest: f64) -> Berm {
    Berm::ToBalance { crest: Length::metres(crest), batter: Batter::horizontal_per_vertical(2.0) }
}

#[test]
fn a_solved_batter_takes_the_cut_within_a_thousandth() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let made = design(&ground, &[SwaleWanted { berm: to_balance(1.0), ..wanted() }], &Silent).unwrap();
    let (swale, surface) = (made.value.swale(0), &made.value.surfaces[0]);
    let volumes = cut_and_fill(&ground.tin, surface, None);
    let bank = cut_and_fill(&ground.tin.raised_by(-0.1), surface, None).cut;
    let needed = (volumes.fill + 0.1 * volumes.fill_area) / wanted().soil.placed_per_bank;
    assert!((needed / bank - 1.0).abs() < 1.1e-3, "bank {bank} needed {needed}");
    // The crest stays at head, freeboard and settlement.
    let over = (swale.crest.built - swale.crest.built_required()).in_metres();
    assert!(over.abs() < 0.011, "{over}");
    // By the section alone, for a crest h above the lip's ground with sides m on a fall f, seat and all: the same batter but for
    // the ends and the sill.
    let batter = swale.section.berm_batter.in_horizontal_per_vertical();
    let crest = (swale.crest.built - swale.water_level).in_metres();
    let area = |m: f64| {
        let h = crest + 0.04 * 0.4;
        let outer = h + 0.04 * (m * h + 1.0);
        let toe = m * outer / (1.0 - 0.04 * m);
        // Under the crest from the inner toe to its outer edge, and the outer side.
        let fill = m * h * h / 2.0 + h + 0.04 * (m * h + 1.0).powi(2) / 2.0 + outer * toe / 2.0;
        (fill, m * h + 1.0 + toe)
    };
    // The channel below the water level and the triangle above it, without its topsoil.
    let top = 3.6 / 0.92;
    let dug = 1.44 + 3.6 * 0.04 * top / 2.0 - 0.1 * top;
    let (fill, seat) = area(batter);
    let taken = (fill + 0.1 * seat) / wanted().soil.placed_per_bank;
    assert!((taken / dug - 1.0).abs() < 0.1, "section takes {taken} of {dug} at {batter}");
    assert!(
        made.notes
            .iter()
            .any(|note| note.code == "works::batter-to-balance" && note.text.contains("takes what the ditch gives"))
    );
}

#[test]
fn a_batter_that_cannot_balance_stands_at_its_limit_and_is_told() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let notes = |asked: SwaleWanted| {
        let made = design(&ground, &[asked], &Silent).unwrap();
        let batter = made.value.swale(0).section.berm_batter.in_horizontal_per_vertical();
        let note = made.notes.iter().find(|note| note.code == "works::batter-to-balance").unwrap();
        (batter, note.text.clone())
    };
    let shallow = SwaleWanted { berm: to_balance(2.0), depth: Length::metres(0.3), ..wanted() };
    let (batter, told) = notes(shallow);
    assert!((batter - 1.5).abs() < 1e-9 && told.contains("the steepest that are tried"), "{batter}: {told}");
}

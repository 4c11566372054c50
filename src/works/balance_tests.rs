//! A berm whose batter is solved, on a plane.

use super::tests::{hillside, wanted};
use super::*;
use crate::geom::{Point, Polygon};
use crate::notes::Silent;
use crate::surface::cut_and_fill;
use crate::surface::sound::assert_sound;
use crate::units::{Batter, Length, Station};

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
    assert!((-1e-9..1e-6).contains(&over), "{over}");
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

/// A channel 3 m wide over the middle third: with one crest its earth goes along the line, with a crest that follows most of it
/// stays abreast.
#[test]
fn a_crest_that_follows_the_cut_moves_less_along_the_line() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let change = |from: f64, width: f64| SectionChange {
        width: Some(Length::metres(width)),
        ..SectionChange::at(Station::metres(from), Length::metres(5.0))
    };
    let changes = vec![change(60.0, 3.0), change(120.0, 1.2)];
    let asked = SwaleWanted { changes, follow: Some(Length::metres(15.0)), ..wanted() };
    let made = design(&ground, std::slice::from_ref(&asked), &Silent).unwrap();
    let (swale, surface) = (made.value.swale(0), &made.value.surfaces[0]);
    assert_sound(surface);
    let haul = swale.haul.unwrap();
    assert!(haul.following < 0.5 * haul.level, "{haul:?}");
    // Never below what is needed, and high over the wide channel.
    assert!(swale.crest.built >= swale.crest.built_required());
    let required = swale.crest.built_required();
    assert!(swale.crest_levels.iter().flatten().all(|&z| z >= required.in_metres() - 1e-9));
    let at = |station: f64| swale.crest_at(swale.line.at(station)).in_metres();
    assert!(at(90.0) > at(30.0) + 0.1 && at(90.0) > at(160.0) + 0.1, "{} {} {}", at(30.0), at(90.0), at(160.0));
    // The surface stands at those levels along the crest.
    let locator = Locator::new(surface);
    for (axis, levels) in swale.crest_axes.iter().zip(&swale.crest_levels) {
        for along in [0.3, 0.5, 0.7].map(|share| share * axis.length()) {
            let built = locator.elevation(axis.at(along)).unwrap();
            assert!((built - axis.interpolated(levels, along)).abs() < 2e-3, "{along}");
        }
    }
    // The whole still balances, within a step of the crest.
    let volumes = cut_and_fill(&ground.tin, surface, None);
    let bank = cut_and_fill(&ground.tin.raised_by(-0.1), surface, None).cut;
    let needed = (volumes.fill + 0.1 * volumes.fill_area) / wanted().soil.placed_per_bank;
    assert!((bank - needed).abs() < 0.006 * volumes.fill_area, "bank {bank} needed {needed}");
    // Both moments again from the finished surfaces, in strips of a metre over all of both ends.
    let level = design(&ground, &[SwaleWanted { follow: None, ..asked }], &Silent).unwrap().value;
    assert!(level.swale(0).crest_levels.is_empty() && level.swale(0).haul.is_none());
    let close = |found: f64, surface: &Tin| {
        let moment = moved(&ground, surface, swale.line.first().x, swale.line.last().x);
        assert!((found / moment - 1.0).abs() < 0.012, "{found} {moment}");
    };
    close(haul.level, &level.surfaces[0]);
    close(haul.following, surface);
    let told = made.notes.iter().find(|note| note.code == "works::crest-follows").unwrap();
    assert!(told.text.contains("each peg has its own level"), "{}", told.text);
}

/// The area under the mass-haul curve of a line that runs east, from the finished surface: what lies left over in strips of a
/// metre, from before the first of the works to behind the last. What is left in all counts as spread evenly along the line.
fn moved(ground: &Ground, surface: &Tin, first: f64, last: f64) -> f64 {
    let stripped = ground.tin.raised_by(-0.1);
    let (mut passed, mut curve) = (0.0, Vec::new());
    for k in 0..200 {
        let (west, east) = (f64::from(k), f64::from(k + 1));
        let strip = [(west, 0.0), (east, 0.0), (east, 100.0), (west, 100.0)].map(|(x, y)| Point::new(x, y)).to_vec();
        let strip = Polygon::simple(strip);
        let whole = cut_and_fill(&ground.tin, surface, Some(&strip));
        let taken = (whole.fill + 0.1 * whole.fill_area) / wanted().soil.placed_per_bank;
        passed += cut_and_fill(&stripped, surface, Some(&strip)).cut - taken;
        curve.push((east, passed));
    }
    let even = |(east, passed): &(f64, f64)| passed - curve[199].1 * ((east - first) / (last - first)).clamp(0.0, 1.0);
    let curve: Vec<f64> = std::iter::once(0.0).chain(curve.iter().map(even)).collect();
    curve.windows(2).map(|pair| f64::midpoint(pair[0].abs(), pair[1].abs())).sum()
}

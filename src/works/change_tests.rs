//! A section that changes along the line, on a plane, in closed form.

use super::tests::{hillside, wanted};
use super::*;
use crate::geom::{Point, Polygon};
use crate::notes::Silent;
use crate::surface::sound::assert_sound;
use crate::surface::{cut_and_fill, triangulate};
use crate::units::{Batter, Length, Station};

/// The fall of the plane; the line at 432 m runs east at y = 50.
const FALL: f64 = 0.04;

fn plane() -> Ground {
    hillside(10, |_, y| 430.0 + FALL * y)
}

fn change(from: f64, over: f64) -> SectionChange {
    SectionChange::at(Station::metres(from), Length::metres(over))
}

fn designed(changes: Vec<SectionChange>) -> (SitePlan, Ground) {
    let ground = plane();
    let made = design(&ground, &[SwaleWanted { changes, ..wanted() }], &Silent).unwrap().value;
    assert_sound(&made.surfaces[0]);
    (made, ground)
}

/// The place at a station and an offset.
fn place(made: &SitePlan, station: f64, offset: f64) -> Point {
    made.swale(0).line.at_offset(station, offset)
}

/// The plane uphill of the line between two stations.
fn stretch(made: &SitePlan, from: f64, to: f64, width: f64) -> Polygon {
    let corners = [(from, 0.0), (to, 0.0), (to, width), (from, width)];
    Polygon::simple(corners.map(|(station, offset)| place(made, station, offset)).to_vec())
}

/// Cut uphill of the line between two stations, cubic metres.
fn cut(made: &SitePlan, ground: &Ground, from: f64, to: f64) -> f64 {
    cut_and_fill(&ground.tin, &made.surfaces[0], Some(&stretch(made, from, to, 10.0))).cut
}

/// Area of a channel whose lip is natural ground, by the shoelace: lip, bed and the uphill edge where the batter meets the
/// plane.
fn area(width: f64, depth: f64, up: f64, down: f64) -> f64 {
    let (near, far) = (down * depth, down * depth + width);
    let top = (far + up * depth) / (1.0 - up * FALL);
    let ring = [(0.0, 0.0), (near, -depth), (far, -depth), (top, FALL * top)];
    let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
    pairs.map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>().abs() / 2.0
}

#[test]
fn a_ramp_of_width_and_depth_is_its_prismoid() {
    let wider =
        SectionChange { width: Some(Length::metres(2.4)), depth: Some(Length::metres(0.9)), ..change(60.0, 20.0) };
    let (made, ground) = designed(vec![wider]);
    let swale = made.swale(0);
    let [first, middle, last] = [(1.2, 0.6), (1.8, 0.75), (2.4, 0.9)].map(|(w, d)| area(w, d, 2.0, 2.0));
    // Every size runs evenly, so an area across is of the second degree and the prismoidal formula is exact.
    let prismoid = 20.0 / 6.0 * (first + 4.0 * middle + last);
    let close = |found: f64, closed: f64| assert!((found / closed - 1.0).abs() < 2e-5, "{found} {closed}");
    close(cut(&made, &ground, 60.0, 80.0), prismoid);
    close(cut(&made, &ground, 40.0, 60.0), 20.0 * first);
    close(cut(&made, &ground, 80.0, 100.0), 20.0 * last);
    // The lip stays on the line, and the bed lies where the section says.
    let surface = Locator::new(&made.surfaces[0]);
    for (station, depth, bed) in [(50.0, 0.6, 1.8), (70.0, 0.75, 2.4), (90.0, 0.9, 3.0)] {
        let level = |offset: f64| surface.elevation(place(&made, station, offset)).unwrap() - 432.0;
        assert!(level(0.0).abs() < 1e-5);
        assert!((level(bed) + depth).abs() < 1e-5, "{}", level(bed));
        let section = swale.section_at(Station::metres(station));
        assert!((section.bed_offset.in_metres() - bed).abs() < 1e-9);
        assert!((section.bed.in_metres() - 432.0 + depth).abs() < 1e-9);
        assert!((swale.bed_at(place(&made, station, bed)).in_metres() - 432.0 + depth).abs() < 1e-5);
    }
    assert!((swale.lowest_bed().in_metres() - 431.1).abs() < 1e-9);
    assert!(swale.storage.at_sill && swale.ends.iter().all(|end| end.closed));
}

#[test]
fn a_ramp_of_batters_is_laid_in_facets_near_its_sides() {
    let three = Batter::horizontal_per_vertical(3.0);
    let flatter = SectionChange { uphill_batter: Some(three), downhill_batter: Some(three), ..change(60.0, 20.0) };
    let (made, ground) = designed(vec![flatter]);
    // By Simpson's rule over many pieces of what stands across.
    let pieces = 200_u32;
    let across = |k: u32| {
        let batter = 2.0 + f64::from(k) / f64::from(2 * pieces);
        area(1.2, 0.6, batter, batter)
    };
    let step = 20.0 / f64::from(pieces);
    let whole: f64 =
        (0..pieces).map(|k| step / 6.0 * (across(2 * k) + 4.0 * across(2 * k + 1) + across(2 * k + 2))).sum();
    let found = cut(&made, &ground, 60.0, 80.0);
    assert!((found / whole - 1.0).abs() < 2e-3, "{found} {whole}");
    let surface = Locator::new(&made.surfaces[0]);
    for station in [61.3, 66.6, 70.0, 77.7] {
        let batter = 2.0 + (station - 60.0) / 20.0;
        // Half way up the uphill side.
        let offset = batter * 0.6 + 1.2 + batter * 0.3;
        let level = surface.elevation(place(&made, station, offset)).unwrap() - 432.0;
        assert!((level + 0.3).abs() < 0.006, "at {station}: {level}");
    }
}

#[test]
fn a_parabola_changes_width_and_depth() {
    let ground = plane();
    let wider =
        SectionChange { width: Some(Length::metres(4.0)), depth: Some(Length::metres(0.8)), ..change(60.0, 20.0) };
    let shape = ChannelShape::Parabola { top_width: Length::metres(3.0) };
    let asked = SwaleWanted { shape, changes: vec![wider], ..wanted() };
    let made = design(&ground, &[asked], &Silent).unwrap().value;
    assert_sound(&made.surfaces[0]);
    let lid = triangulate(
        &[(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)].map(|(x, y)| Point::new(x, y).at(432.0)),
        &[],
    );
    let below = |from: f64, to: f64| {
        cut_and_fill(&lid.as_ref().unwrap().tin, &made.surfaces[0], Some(&stretch(&made, from, to, 4.0))).cut
    };
    // 2/3 w d, less what the chords take: 1 / n^2 of a quarter of it, n the chords a side for 0.8 m (seven).
    let held = |w: f64, d: f64| 2.0 / 3.0 * w * d * (1.0 - 0.25 / 49.0);
    let close = |found: f64, closed: f64| assert!((found / closed - 1.0).abs() < 5e-3, "{found} {closed}");
    close(below(40.0, 60.0), 20.0 * held(3.0, 0.6));
    close(below(85.0, 100.0), 15.0 * held(4.0, 0.8));
    close(below(60.0, 80.0), 20.0 / 6.0 * (held(3.0, 0.6) + 4.0 * held(3.5, 0.7) + held(4.0, 0.8)));
}

#[test]
fn a_crest_grows_wide_and_the_berm_still_takes_the_cut() {
    let wide = SectionChange {
        crest: Some(Length::metres(2.0)),
        berm_batter: Some(Batter::horizontal_per_vertical(3.0)),
        depth: Some(Length::metres(0.9)),
        ..change(60.0, 15.0)
    };
    let (made, ground) = designed(vec![wide]);
    let (swale, surface) = (made.swale(0), &made.surfaces[0]);
    let volumes = cut_and_fill(&ground.tin, surface, None);
    let bank = cut_and_fill(&ground.tin.raised_by(-0.1), surface, None).cut;
    let needed = (volumes.fill + 0.1 * volumes.fill_area) / wanted().soil.placed_per_bank;
    assert!((bank - needed).abs() < 0.006 * volumes.fill_area, "bank {bank} needed {needed}");
    // The crest is level across its width on both sides of the change.
    let built = swale.crest.built.in_metres();
    let locator = Locator::new(surface);
    for (station, half) in [(40.0, 0.3), (90.0, 1.0)] {
        let crest = swale.section_at(Station::metres(station)).crest_offset.in_metres();
        for offset in [crest - half + 0.01, crest, crest + half - 0.01] {
            let level = locator.elevation(place(&made, station, offset)).unwrap();
            assert!((level - built).abs() < 1e-4, "at {station}, {offset}: {level}");
        }
        let beyond = locator.elevation(place(&made, station, crest - half - 0.1)).unwrap();
        assert!(built - beyond > 0.03);
    }
}

/// A step of 0.2 m with a face of 2:1 is a prismoid 0.4 m long between two level beds.
#[test]
fn a_bed_steps_down_and_up_again_under_one_water() {
    let step = |from: f64, down: f64| SectionChange { step_down: Some(Length::metres(down)), ..change(from, 0.4) };
    let (made, ground) = designed(vec![step(60.0, 0.2), step(90.0, -0.3)]);
    let swale = made.swale(0);
    let at = |depth: f64| area(1.2, depth, 2.0, 2.0);
    let prismoid = |from: f64, to: f64| 0.4 / 6.0 * (at(from) + 4.0 * at(f64::midpoint(from, to)) + at(to));
    let closed = 20.0 * at(0.6) + prismoid(0.6, 0.8) + 29.6 * at(0.8) + prismoid(0.8, 0.5) + 19.6 * at(0.5);
    let found = cut(&made, &ground, 40.0, 110.0);
    assert!((found / closed - 1.0).abs() < 2e-5, "{found} {closed}");
    // Three level beds, one water that stands to the sill.
    let depths: Vec<f64> = [50.0, 75.0, 100.0]
        .map(|station| {
            let bed = swale.section_at(Station::metres(station)).bed_offset.in_metres();
            432.0 - swale.bed_at(place(&made, station, bed)).in_metres()
        })
        .to_vec();
    for (found, closed) in depths.iter().zip([0.6, 0.8, 0.5]) {
        assert!((found - closed).abs() < 1e-6, "{depths:?}");
    }
    assert!(swale.storage.at_sill);
}

#[test]
fn changes_that_cannot_be_are_told() {
    let ground = plane();
    let fails = |changes: Vec<SectionChange>| {
        let made = design(&ground, &[SwaleWanted { changes, ..wanted() }], &Silent);
        made.err().map_or_else(String::new, |error| error.to_string())
    };
    let deeper = |from: f64, over: f64| SectionChange { depth: Some(Length::metres(0.9)), ..change(from, over) };
    assert!(fails(vec![deeper(500.0, 10.0)]).contains("the line ends at"));
    assert!(fails(vec![deeper(50.0, 10.0), deeper(55.0, 10.0)]).contains("where the change before it ends"));
    assert!(fails(vec![deeper(50.0, 0.0)]).contains("needs a length"));
    let up = SectionChange { step_down: Some(Length::metres(-0.7)), ..change(50.0, 10.0) };
    assert!(fails(vec![up]).contains("the bed would lie 0.10 m above the water level"));
    // The sill stands at the last end.
    assert!(fails(vec![deeper(175.0, 10.0)]).contains("a sill and the ends of the berm beside it"));
    let flat = SectionChange { uphill_batter: Some(Batter::horizontal_per_vertical(30.0)), ..change(50.0, 10.0) };
    assert!(matches!(
        design(&ground, &[SwaleWanted { changes: vec![flat], ..wanted() }], &Silent).unwrap_err(),
        WorksError::BatterNeverMeets { .. }
    ));
}

//! Ends that are left open as overflows, on a plane.

use super::outlet::nearest;
use super::tests::{hillside, wanted};
use super::*;
use crate::geom::Point;
use crate::notes::{Noted, Silent};
use crate::surface::pool;
use crate::surface::sound::assert_sound;
use crate::units::{Flow, Length};

fn designed(ends: Ends, places: &[SpillwayPlace]) -> Result<Noted<SitePlan>, WorksError> {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let usual = wanted().spillways[0].clone();
    let spillways = places.iter().map(|at| SpillwayWanted { at: at.clone(), ..usual.clone() }).collect();
    design(&ground, &[SwaleWanted { ends, spillways, ..wanted() }], &Silent)
}

const LAST: Ends = Ends { first: EndShape::TurnUp, last: EndShape::Overflow };

#[test]
fn an_end_left_open_holds_to_its_sill_and_has_no_berm_beyond_it() {
    let made = designed(LAST, &[SpillwayPlace::Last]).unwrap();
    let swale = made.value.swale(0);
    assert_sound(&made.value.surfaces[0]);
    let [first, last] = swale.ends;
    assert!(first.closed && !first.overflow && last.overflow && !last.closed);
    assert_eq!(swale.crest_axes.len(), 1);
    // The sill runs to the end of the bed, and nothing is filled along it or beyond.
    let sill = &swale.spillways[0];
    let bed_end = swale.line.foot(swale.bed_axis.last()).station;
    assert!((sill.to.in_metres() - bed_end).abs() < 1e-6, "{} {bed_end}", sill.to.in_metres());
    let beyond = swale.fill_footprint.iter().flat_map(|polygon| &polygon.outer).map(|&p| swale.line.foot(p).station);
    // Beside the sill the berm's round end comes down to its level where the sill begins; downhill of it a little further.
    assert!(beyond.fold(0.0, f64::max) < sill.from.in_metres() + 0.5);
    // The water stands to the sill, and leaves at the sill or at natural ground of its level beside it.
    assert!(swale.storage.at_sill, "{:?}", swale.storage);
    assert!(swale.line.foot(swale.storage.spill_place).station > sill.from.in_metres() - 0.5, "{:?}", swale.storage);
    let over = pool(&made.value.surfaces[0], swale.bed_axis.points(), 432.05);
    assert!(over.spill < 432.001, "{}", over.spill);
    // Capacity by the broad-crested formula, c 1.5: 6 m at 0.1 m.
    let flow = sill.flow.unwrap().in_cubic_metres_per_second();
    assert!((flow - 1.5 * 6.0 * 0.1_f64.powf(1.5)).abs() < 1e-3, "{flow}");
    let note = made.notes.iter().find(|note| note.code == "works::end-overflow").unwrap();
    assert!(
        note.text.contains("last end is left open at its sill: 6.0 m of it pass 0.285 m3/s at 0.10 m"),
        "{}",
        note.text
    );
    assert!(made.notes.iter().all(|note| note.code != "works::end-open"));
    // An end that turns up costs length of bed and earth for the berm.
    let turned = designed(Ends::default(), &[SpillwayPlace::Last]).unwrap().value;
    assert!(swale.bed_axis.length() > turned.swale(0).bed_axis.length() + 1.0);
}

#[test]
fn a_sill_at_an_open_end_is_sized_for_its_flow_and_both_ends_may_be_open() {
    let ends = Ends { first: EndShape::Overflow, last: EndShape::Overflow };
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let usual = wanted().spillways[0].clone();
    let sill = |at: SpillwayPlace, flow: f64| SpillwayWanted {
        at,
        sill_length: SillLength::ForFlow(Flow::cubic_metres_per_second(flow)),
        head: Some(Length::metres(0.1)),
        ..usual.clone()
    };
    let spillways = vec![sill(SpillwayPlace::First, 0.2), sill(SpillwayPlace::Last, 0.3)];
    let made = design(&ground, &[SwaleWanted { ends, spillways, ..wanted() }], &Silent).unwrap().value;
    let swale = made.swale(0);
    assert_eq!(swale.crest_axes.len(), 1);
    assert!(swale.ends.iter().all(|end| end.overflow) && swale.storage.at_sill);
    let lengths: Vec<f64> = swale.spillways.iter().map(|s| s.sill_length.in_metres()).collect();
    // q / (c h^1.5).
    // Ends of any length, first and last.
    let odd = [1.7, 3.3, 5.0, 6.1]
        .map(|metres| SpillwayWanted { at: SpillwayPlace::First, ..SpillwayWanted::usual(Length::metres(metres)) });
    for spillway in odd {
        let open = Ends { first: EndShape::Overflow, last: EndShape::TurnUp };
        let made = design(&ground, &[SwaleWanted { ends: open, spillways: vec![spillway], ..wanted() }], &Silent);
        assert!(made.is_ok_and(|made| made.value.swale(0).storage.at_sill));
    }
    for (length, flow) in lengths.iter().zip([0.2, 0.3]) {
        assert!((length - flow / (1.5 * 0.1_f64.powf(1.5))).abs() < 0.05, "{lengths:?}");
    }
}

#[test]
fn an_open_end_without_a_sill_is_refused() {
    for places in [vec![], vec![SpillwayPlace::First]] {
        let error = designed(LAST, &places).err().map_or_else(String::new, |error| error.to_string());
        assert!(error.contains("its last end is left open as an overflow, and no sill stands there"), "{error}");
    }
}

/// Stations run with uphill on the left whichever way `between` names its ends: what is called last stays the second place.
#[test]
fn an_end_keeps_the_name_that_between_gives_it() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let usual = wanted().spillways[0].clone();
    for (from, to) in [(20.0, 180.0), (180.0, 20.0)] {
        let [first, last] = [from, to].map(|x| crate::geom::Point::new(x, 50.0));
        let spillways = vec![SpillwayWanted { at: SpillwayPlace::Last, ..usual.clone() }];
        let asked = SwaleWanted { ends: LAST, spillways, between: Some((first, last)), ..wanted() };
        let made = design(&ground, &[asked], &Silent).unwrap();
        let swale = made.value.swale(0);
        let (open, turned): (Vec<End>, Vec<End>) = swale.ends.iter().copied().partition(|end| end.overflow);
        let ([open], [turned]) = (&open[..], &turned[..]) else { panic!("one end is open: {:?}", swale.ends) };
        assert_eq!((open.name, turned.name), (LineEnd::Last, LineEnd::First), "from {from} to {to}");
        assert!((open.place.x - to).abs() < 20.0 && (turned.place.x - from).abs() < 20.0, "{:?}", swale.ends);
        let told = made.notes.iter().find(|note| note.code == "works::end-overflow").unwrap();
        assert!(told.text.contains("the berm's last end is left open"), "from {from}: {}", told.text);
    }
}

/// Between the rounded end of the channel and the berm that turns uphill beyond it the ledge is left, whatever the bed's width: on
/// a plane where both meet the ground within a hand of each other's contour.
#[test]
fn a_ledge_is_left_round_the_end_of_the_channel() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    for width in [0.8, 1.2, 2.4] {
        let shape = ChannelShape::Trapezoid { bottom_width: Length::metres(width) };
        let mut asked = SwaleWanted { shape, ledge: Length::metres(0.5), ..wanted() };
        asked.spillways[0].at = SpillwayPlace::Through(Point::new(100.0, 50.0));
        let plan = design(&ground, &[asked], &Silent).unwrap().value;
        let swale = plan.swale(0);
        let [first, last] = [swale.line.first().x, swale.line.last().x];
        let ends =
            swale.fill_footprint.iter().flat_map(|area| &area.outer).filter(|p| p.x < first + 4.0 || p.x > last - 4.0);
        let least = ends.map(|&p| nearest(&swale.cut_footprint, p)).fold(f64::INFINITY, f64::min);
        assert!(least > 0.5 && least < 0.85, "{width}: {least}");
    }
}

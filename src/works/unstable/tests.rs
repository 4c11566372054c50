//! Shapes apart, and works beside unstable ground on a closed-form hillside.

use super::ground::Shape;
use super::*;
use crate::geom::{Point, Polygon};
use crate::notes::{Noted, Silent};
use crate::units::Length;
use crate::works::tests::{hillside, wanted};
use crate::works::{SitePlan, design};

fn round((x, y): (f64, f64), radius: f64) -> UnstableArea {
    UnstableArea::Round(Point::new(x, y), Length::metres(radius))
}

fn square(low: (f64, f64), side: f64) -> Polygon {
    let (x, y) = low;
    Polygon::simple(
        [(x, y), (x + side, y), (x + side, y + side), (x, y + side)].map(|(x, y)| Point::new(x, y)).to_vec(),
    )
}

/// A swale along y = 50 on 4 %, uphill to the north, with one unstable ground.
fn told(kind: Unstable, area: UnstableArea, clearance: f64) -> Noted<SitePlan> {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let mut plan = design(&ground, &[wanted()], &Silent).unwrap();
    let marked = UnstableGround { name: "old".to_owned(), kind, area, clearance: Length::metres(clearance) };
    tell_unstable(&mut plan, &ground, vec![marked]);
    plan
}

fn away(plan: &Noted<SitePlan>, by: Approach) -> Option<f64> {
    plan.value.near_unstable.iter().find(|near| near.by == by).map(|near| near.away.in_metres())
}

#[test]
fn shapes_are_as_far_apart_as_they_are() {
    let area = square((0.0, 0.0), 10.0);
    let outlines = UnstableArea::Outlines(vec![square((13.0, 14.0), 5.0), square((100.0, 0.0), 1.0)]);
    // Corner to corner, 3 and 4: 5 m.
    let (far, place) = outlines.nearest(&Shape::Area(&area.outer)).unwrap();
    assert_eq!((far, place), (5.0, Point::new(10.0, 10.0)));
    // A line past a corner, nearest between its own points.
    let line = [Point::new(0.0, 20.0), Point::new(40.0, 20.0)];
    assert!((outlines.nearest(&Shape::Line(&line)).unwrap().0 - 1.0).abs() < 1e-12);
    // Through, with no corner of either inside the other.
    let across = [Point::new(15.0, 0.0), Point::new(15.0, 40.0)];
    assert_eq!(outlines.nearest(&Shape::Line(&across)).unwrap().0, 0.0);
    let disc = round((0.0, 17.0), 3.0);
    assert!((disc.nearest(&Shape::Area(&area.outer)).unwrap().0 - 4.0).abs() < 1e-12);
    assert_eq!(round((5.0, 5.0), 1.0).nearest(&Shape::Area(&area.outer)).unwrap().0, 0.0, "inside");
}

#[test]
fn what_comes_near_is_told_with_its_distance_and_what_it_means() {
    // 30 m uphill of the line, 5 m round. The dig's edge meets the slope at 1.2 + 1.2 + (0.6 + 4 % of it) x 2 uphill.
    let plan = told(Unstable::Slip, round((100.0, 80.0), 5.0), 25.0);
    let edge = (0.6 + 0.04 * 2.4) * 2.0 / (1.0 - 0.08) + 2.4;
    let dig = away(&plan, Approach::Dig).unwrap();
    assert!((dig - (25.0 - edge)).abs() < 0.02, "{dig} {edge}");
    let near = &plan.value.near_unstable[0];
    assert!((near.place.x - 100.0).abs() < 1.0, "{near:?}");
    // The water ends where the batter meets its level.
    let water = away(&plan, Approach::Water).unwrap();
    assert!((water - (25.0 - 3.6)).abs() < 0.05, "{water}");
    let note = plan.notes.iter().find(|note| note.code == "works::near-unstable-ground").unwrap();
    assert!(
        note.text.contains("swale `upper`, slip `old`: its dig comes within ")
            && note.text.contains("(a dig can take away what holds a slip up)"),
        "{}",
        note.text
    );
    let caution = format!("upper: UNSTABLE GROUND: slip old: dig {dig:.1} m away, water {water:.1} m away");
    assert!(plan.value.cautions().contains(&caution), "{:?}", plan.value.cautions());
    // One metre less of clearance than there is, and nothing is told of it.
    let clear = told(Unstable::Slip, round((100.0, 80.0), 5.0), dig - 1.0);
    assert!(clear.value.near_unstable.is_empty() && clear.value.cautions().is_empty());
}

#[test]
fn water_that_is_led_onto_a_slip_is_told() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let exit = {
        let plan = design(&ground, &[wanted()], &Silent).unwrap().value;
        let exit = plan.swale(0).spillways[0].exit.clone().unwrap();
        exit.at(exit.length() / 2.0)
    };
    let plan = told(Unstable::Slip, UnstableArea::Outlines(vec![square((exit.x - 1.0, exit.y - 1.0), 2.0)]), 3.0);
    assert_eq!(away(&plan, Approach::Outflow), Some(0.0));
    assert!(
        plan.value.cautions().iter().any(|says| says == "upper: UNSTABLE GROUND: slip old: water from its sill ON IT")
    );
    // A berm on soft ground: the fill and nothing else lies on it.
    let soft = told(Unstable::Soft, UnstableArea::Outlines(vec![square((98.0, 46.0), 2.0)]), 0.1);
    assert_eq!(away(&soft, Approach::Fill), Some(0.0));
    assert_eq!(away(&soft, Approach::Dig), None);
    let says = &soft.notes.iter().find(|note| note.code == "works::near-unstable-ground").unwrap().text;
    assert!(
        says.contains("soft ground `old`: its fill lies on it at station")
            && says.contains("(fill on soft ground sinks and spreads"),
        "{says}"
    );
}

/// The water of a drain runs on from its lower end: straight down the slope over a slip 10 m below it.
#[test]
fn the_water_from_the_end_of_a_drain_is_told() {
    let (ground, value) = crate::works::drain::tests::drained(true);
    let way = value.drains().next().unwrap().below.clone().unwrap();
    assert!((way.last().x - way.first().x).abs() < 0.1 && way.last().y < way.first().y - 20.0);
    let mut plan = Noted { value, notes: Vec::new() };
    let area = UnstableArea::Round(way.at(10.0), Length::metres(2.0));
    let marked = UnstableGround { name: "old".to_owned(), kind: Unstable::Slip, area, clearance: Length::metres(3.0) };
    tell_unstable(&mut plan, &ground, vec![marked]);
    assert_eq!(away(&plan, Approach::End), Some(0.0));
    assert!(away(&plan, Approach::Water).is_none(), "it holds none");
    let told = &plan.notes[0].text;
    assert!(
        told.contains("drain `drain`, slip `old`") && told.contains("its water from its lower end lies on it"),
        "{told}"
    );
}

/// On the survey in part or whole it is not said to be off it, far off it is, and no work is told to be near.
#[test]
fn unstable_ground_off_the_survey_is_told() {
    let off = |area| {
        let plan = told(Unstable::Soft, area, 25.0);
        plan.notes.iter().any(|note| note.code == "works::unstable-off-survey")
    };
    assert!(off(round((5000.0, 5000.0), 10.0)));
    assert!(off(UnstableArea::Outlines(vec![square((5000.0, 50.0), 10.0)])));
    assert!(!off(round((100.0, 80.0), 5.0)) && !off(round((0.0, 50.0), 20.0)));
    // All of the survey lies inside it.
    assert!(!off(UnstableArea::Outlines(vec![square((-5000.0, -5000.0), 10000.0)])));
}

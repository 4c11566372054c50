//! Lines that cannot run as traced get an answer: they end before the survey's edge or before what blocks them, and say so.

use super::tests::{hillside, wanted};
use super::*;
use crate::geom::{Point, Polygon};
use crate::notes::Silent;
use crate::units::{Elevation, Length};

/// A swale on 200 m by 100 m, with the codes of its notes.
fn designed(height: impl Fn(f64, f64) -> f64, level: f64, asked: SwaleWanted) -> (plan::Swale, Vec<String>) {
    let ground = hillside(10, height);
    let asked = SwaleWanted { water_level: WaterLevel::Elevation(Elevation::metres(level)).into(), ..asked };
    let made = design(&ground, &[asked], &Silent).unwrap();
    let codes = made.notes.iter().map(|note| note.code.clone().into()).collect();
    (made.value.swales().next().unwrap().clone(), codes)
}

fn told(codes: &[String], code: &str) -> bool {
    codes.iter().any(|told| told == code)
}

/// The contour comes within 3 m of the survey's edge about x = 100 and keeps 45 m from it elsewhere: the section has no room there.
#[test]
fn a_line_that_comes_too_near_to_the_edge_between_its_ends_is_ended_before_that() {
    let swells = |x: f64, y: f64| 430.0 + 0.04 * (y - 42.5 * (-((x - 100.0) / 25.0).powi(2)).exp());
    let (swale, codes) = designed(swells, 432.2, wanted());
    assert!(told(&codes, "works::line-parted") && told(&codes, "works::end-moved-back"), "{codes:?}");
    let (first, last) = (swale.line.first(), swale.line.last());
    assert!(first.x.max(last.x) < 100.0 || first.x.min(last.x) > 100.0, "{first:?} {last:?}");
    assert!((60.0..115.0).contains(&swale.line.length()), "{}", swale.line.length());
}

/// 2.5 m deep its berm is far higher than is guessed before it is designed, and would reach the edge beyond both ends.
#[test]
fn a_berm_that_would_reach_the_edge_ends_its_line_sooner() {
    let plane = |_: f64, y: f64| 430.0 + 0.04 * y;
    let (shallow, _) = designed(plane, 432.0, wanted());
    let (deep, codes) = designed(plane, 432.0, SwaleWanted { depth: Length::metres(2.5), ..wanted() });
    assert!(told(&codes, "works::end-moved-back") && !told(&codes, "works::line-parted"), "{codes:?}");
    assert!(deep.line.length() < shallow.line.length() - 4.0 && deep.line.length() > 120.0, "{}", deep.line.length());
}

/// A fence from edge to edge at x = 80: the longer side of it is dug, 3 m and the works' own reach away.
#[test]
fn a_fence_across_the_whole_survey_ends_the_line_before_it() {
    let ring = [(79.0, -10.0), (81.0, -10.0), (81.0, 110.0), (79.0, 110.0)].map(|(x, y)| Point::new(x, y));
    let fence = Polygon::simple(ring.to_vec());
    let asked = SwaleWanted { obstacles: vec![fence], clearance: Length::metres(3.0), ..wanted() };
    let (swale, codes) = designed(|_, y| 430.0 + 0.04 * y, 432.0, asked);
    assert!(told(&codes, "works::blocked"), "{codes:?}");
    let nearest = swale.cut_footprint.iter().chain(&swale.fill_footprint).flat_map(|polygon| &polygon.outer);
    let nearest = nearest.map(|place| place.x).fold(f64::INFINITY, f64::min);
    assert!((84.0..95.0).contains(&nearest) && swale.line.length() > 90.0, "{nearest} {}", swale.line.length());
    assert!(swale.contour.worst.abs() < 0.01, "{}", swale.contour.worst);
}

//! The estimated ground on closed forms: planes, a bank, blunders, and what lies beyond its reach.

use super::*;
use crate::frame::SiteFrame;
use crate::ground::{GroundSettings, build};
use crate::survey::{Quality, Role, Setup, Shot};
use crate::units::Length;

fn frame() -> SiteFrame {
    SiteFrame::site_grid()
}

fn settings() -> Settings {
    Settings { vertical_sigma: Length::metres(0.015), roughness: Length::metres(0.0), ..Settings::default() }
}

/// Shots on a nudged grid of 10 m over 200 m by 120 m, and breaklines.
pub(crate) fn survey(height: impl Fn(f64, f64) -> f64, breaklines: &[Vec<Point3>]) -> Survey {
    let mut survey = Survey::empty(frame());
    survey.files.push("day.csv".to_owned());
    let grid = (0..21 * 13_i32).map(|i| {
        let nudge = |k: i32| f64::from((i * 7 + k * 13) % 5) * 0.3 - 0.6;
        let (x, y) = (f64::from(i % 21) * 10.0 + nudge(1), f64::from(i / 21) * 10.0 + nudge(2));
        (Point3::new(x, y, height(x, y)), Role::Ground)
    });
    let edges = breaklines.iter().flatten().map(|&place| (place, Role::Breakline));
    for (place, role) in grid.chain(edges) {
        survey.shots.push(Shot {
            id: (survey.shots.len() + 1).to_string(),
            file: 0,
            line: survey.shots.len() as u64 + 1,
            place: snap_point(place.plan()),
            elevation: place.z,
            ellipsoid_height: None,
            code: role.name().to_owned(),
            role,
            quality: Quality::default(),
            time: None,
            setup: Setup::default(),
        });
    }
    let mut next = 21 * 13;
    for line in breaklines {
        let count = u32::try_from(line.len()).unwrap();
        survey.breaklines.push((next..next + count).collect());
        next += count;
    }
    survey
}

fn line(y: f64) -> Polyline {
    Polyline::new(vec![Point::new(30.0, y), Point::new(170.0, y)]).unwrap()
}

fn fitted(survey: &Survey, line: &Polyline, reach: f64) -> (Ground, Fitted) {
    let ground = build(survey, &GroundSettings::default()).unwrap().value;
    let fitted = Fitter::new(&ground, survey, &settings()).unwrap().near(std::slice::from_ref(line), reach).unwrap();
    (ground, fitted)
}

#[test]
fn a_plane_comes_back_and_is_surer_than_a_shot() {
    let plane = |x: f64, y: f64| 430.0 + 0.01 * x + 0.04 * y;
    let (bare, fitted) = fitted(&survey(plane, &[]), &line(60.0), 15.0);
    let locator = fitted.ground.locator();
    assert!(fitted.ground.tin.vertices().len() > bare.tin.vertices().len() + 200, "nodes between the shots");
    assert!((fitted.ground.tin.plan_area() - bare.tin.plan_area()).abs() < 1e-6);
    for k in 0..140 {
        let place = Point::new(30.0 + f64::from(k), 52.0 + f64::from(k % 17));
        let z = locator.elevation(place).unwrap();
        assert!((z - plane(place.x, place.y)).abs() < 2e-3, "{z}");
        let error = fitted.standard_error(&locator, place).unwrap();
        assert!(error > 0.001 && error < 0.015, "{error}");
    }
    assert_eq!(fitted.shot_sigma, 0.015);
    assert_eq!(fitted.standard_error(&locator, Point::new(100.0, 110.0)), None, "beyond its reach nothing is said");
}

#[test]
fn beyond_its_reach_the_ground_is_that_of_the_shots() {
    let waves = |x: f64, y: f64| 430.0 + 0.04 * y + 0.2 * (x / 9.0).sin();
    let (bare, fitted) = fitted(&survey(waves, &[]), &line(60.0), 12.0);
    let (before, after) = (bare.locator(), fitted.ground.locator());
    for place in [Point::new(50.0, 5.0), Point::new(150.0, 112.0), Point::new(95.0, 20.0)] {
        assert_eq!(before.elevation(place), after.elevation(place));
    }
}

#[test]
fn a_shot_is_moved_by_three_of_its_sigmas_at_most_and_the_rest_is_doubt() {
    // One shot stands 90 mm high: six of its sigmas.
    let high = |x: f64, y: f64| 430.0 + 0.04 * y + if (x - 100.0).hypot(y - 60.0) < 2.0 { 0.09 } else { 0.0 };
    let survey = survey(high, &[]);
    let (bare, fitted) = fitted(&survey, &line(60.0), 15.0);
    let moved = |v: &Point3| {
        let after = fitted.ground.tin.vertices().iter().find(|w| w.plan() == v.plan()).unwrap();
        after.z - v.z
    };
    let worst = bare.tin.vertices().iter().map(|v| moved(v).abs()).fold(0.0, f64::max);
    assert!(worst <= 0.045 + 1e-9, "{worst}");
}

#[test]
fn nothing_is_smoothed_across_a_bank() {
    // A face 1 m high along y = 60, its top and toe half a metre apart, both coded.
    let bank = |_: f64, y: f64| 430.0 + 0.02 * y + if y > 60.0 { 1.0 } else { 0.0 };
    let edge = |y: f64| (0..21).map(|i| Point3::new(f64::from(i) * 10.0 + 0.7, y, bank(0.0, y))).collect();
    let survey = survey(bank, &[edge(60.25), edge(59.75)]);
    let (bare, fitted) = fitted(&survey, &line(60.0), 15.0);
    let locator = fitted.ground.locator();
    for k in 0..120 {
        let x = 40.0 + f64::from(k);
        for y in [56.0, 58.5, 61.5, 64.0] {
            let z = locator.elevation(Point::new(x, y)).unwrap();
            assert!((z - bank(x, y)).abs() < 0.02, "{z} at {x} {y}, not {}", bank(x, y));
        }
    }
    // Shots on the edges stay as they were taken.
    for v in bare.tin.vertices().iter().filter(|v| ((v.y - 60.0).abs() - 0.25).abs() < 1e-5) {
        assert!(fitted.ground.tin.vertices().contains(v));
    }
}

#[test]
fn a_cloud_is_not_estimated() {
    let mut survey = survey(|_, y| 430.0 + 0.04 * y, &[]);
    let ground = build(&survey, &GroundSettings::default()).unwrap().value;
    survey.cloud = vec![Point3::new(1.0, 1.0, 430.0)];
    assert!(Fitter::new(&ground, &survey, &settings()).is_none());
}

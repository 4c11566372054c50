//! Tests of the ground: what shapes it, what is told.

use super::*;
use crate::frame::{FrameDefinition, SiteFrame};
use crate::geom::{Point, Polygon, Polyline};
use crate::notes::{Noted, Place};
use crate::survey::{Quality, Role, Setup, Shot, Survey};
use crate::units::{Length, LengthUnit};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn frame() -> SiteFrame {
    FrameDefinition::local(LengthUnit::Metres).site_frame((412_000.0, 6_187_000.0), None)
}

fn shot(survey: &mut Survey, x: f64, y: f64, z: f64, role: Role) -> u32 {
    let index = u32::try_from(survey.shots.len()).unwrap();
    survey.shots.push(Shot {
        id: (index + 1).to_string(),
        file: 0,
        line: u64::from(index) + 1,
        place: Point::new(x, y),
        elevation: z,
        code: role.name().into(),
        role,
        quality: Quality::default(),
        time: None,
        setup: Setup::default(),
        ellipsoid_height: None,
    });
    index
}

fn survey() -> Survey {
    let mut survey = Survey::empty(frame());
    survey.files.push("day1.csv".to_owned());
    survey
}

fn plane(x: f64, y: f64) -> f64 {
    430.0 + 0.02 * x - 0.05 * y
}

/// A grid of shots on the plane, `side` by `side` at 10 m, moved about by up to `jitter`.
fn grid(side: i32, jitter: f64) -> Survey {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let mut survey = survey();
    for (row, column) in (0..side).flat_map(|row| (0..side).map(move |column| (row, column))) {
        let mut off = || if jitter > 0.0 { random.random_range(-jitter..jitter) } else { 0.0 };
        let (x, y) = (f64::from(column) * 10.0 + off(), f64::from(row) * 10.0 + off());
        shot(&mut survey, x, y, plane(x, y), Role::Ground);
    }
    survey
}

fn built(survey: &Survey) -> Noted<Ground> {
    build(survey, &GroundSettings::default()).unwrap()
}

fn codes(noted: &Noted<Ground>) -> Vec<&str> {
    noted.notes.iter().map(|note| note.code.as_str()).collect()
}

#[test]
fn a_plane_is_answered_exactly() {
    let ground = built(&grid(8, 3.0)).value;
    let locator = ground.locator();
    for (x, y) in [(20.0, 20.0), (33.3, 41.7), (50.0, 12.5)] {
        assert!((locator.elevation(Point::new(x, y)).unwrap() - plane(x, y)).abs() < 2e-6);
    }
    let slope = 0.02_f64.hypot(0.05);
    assert!((ground.slope(Point::new(33.3, 41.7)).unwrap() - slope).abs() < 1e-6);
    assert_eq!(ground.slope(Point::new(500.0, 0.0)), None);
    assert!((ground.figures().mean_slope_percent - 100.0 * slope).abs() < 1e-4);
    let contour = ground.contour(429.0);
    assert_eq!(contour.len(), 1);
    for point in &contour[0].points {
        assert!((plane(point.x, point.y) - 429.0).abs() < 2e-6);
    }
    let line = Polyline::new(vec![Point::new(10.0, 10.0), Point::new(60.0, 55.0)]).unwrap();
    let profile = ground.profile(&line);
    assert!(profile.len() > 8);
    for point in profile {
        assert!((point.elevation.unwrap() - plane(point.place.x, point.place.y)).abs() < 2e-6);
    }
}

#[test]
fn only_shots_of_the_ground_shape_it() {
    let mut survey = grid(5, 0.0);
    for role in [Role::Mark, Role::Check, Role::Service, Role::KeepOut, Role::Sill, Role::Crest, Role::Bed, Role::Built]
    {
        shot(&mut survey, 15.0, 15.0, 500.0, role);
    }
    assert_eq!(built(&survey).value.figures().points, 25);
    for role in [Role::Line, Role::Water, Role::Boundary] {
        let mut survey = grid(5, 0.0);
        shot(&mut survey, 15.0, 15.0, 440.0, role);
        assert_eq!(built(&survey).value.locator().elevation(Point::new(15.0, 15.0)), Some(440.0), "{role:?}");
    }
    let mut none = self::survey();
    shot(&mut none, 0.0, 0.0, 1.0, Role::Mark);
    let error = build(&none, &GroundSettings::default()).unwrap_err();
    assert_eq!(error, GroundError::NoGroundShots { shots: 1 });
    let error = build(&grid(1, 0.0), &GroundSettings::default()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the ground shots make no surface: a surface needs at least three points in different places, found 1"
    );
}

#[test]
fn breaklines_are_edges_of_the_ground() {
    let mut survey = grid(8, 2.0);
    let line: Vec<u32> =
        (0..4).map(|i| shot(&mut survey, 12.0 + 14.0 * f64::from(i), 33.0, 425.0, Role::Breakline)).collect();
    survey.breaklines.push(line);
    let ground = built(&survey).value;
    assert!((ground.figures().breakline_length_m - 42.0).abs() < 1e-5);
    for station in [15.0, 30.0, 41.0] {
        assert!((ground.locator().elevation(Point::new(station, 33.0)).unwrap() - 425.0).abs() < 1e-6);
    }
}

#[test]
fn repeats_crossings_and_passages_are_told() {
    let mut survey = grid(6, 0.0);
    shot(&mut survey, 20.01, 20.0, plane(20.0, 20.0) + 0.06, Role::Ground);
    let a = [(5.0, 25.0, 430.0), (45.0, 25.0, 430.0)].map(|(x, y, z)| shot(&mut survey, x, y, z, Role::Breakline));
    let b = [(25.0, 5.0, 431.0), (25.0, 45.0, 431.0)].map(|(x, y, z)| shot(&mut survey, x, y, z, Role::Breakline));
    let c = [(5.0, 40.0, 428.0), (44.0, 40.0, 428.0)].map(|(x, y, z)| shot(&mut survey, x, y, z, Role::Breakline));
    survey.breaklines = [a, b, c].map(|line| line.to_vec()).to_vec();
    let noted = built(&survey);
    let text = |code: &str| -> Vec<&str> {
        noted.notes.iter().filter(|note| note.code == code).map(|note| note.text.as_str()).collect()
    };
    assert_eq!(
        text("ground::merged"),
        ["1 shots nearer than 20 mm to another became one point with it; their elevations differ by up to 0.060 m"]
    );
    assert_eq!(noted.value.locator().elevation(Point::new(20.0, 20.0)), Some(plane(20.0, 20.0) + 0.03));
    let crossings = text("ground::breaklines-cross");
    assert_eq!(crossings.len(), 2);
    assert!(
        crossings[0].starts_with("the breakline from day1.csv:38 crosses the one from day1.csv:40"),
        "{crossings:?}"
    );
    assert!(crossings[0].contains("differ by 1.00 m"));
    let passages = text("ground::breakline-through-shot");
    assert_eq!(passages.len(), 4, "{passages:?}");
    assert!(passages.iter().any(|text| text.contains("passes through day1.csv:26")), "{passages:?}");
}

/// The default trims slivers off the rim and leaves open ground alone, also beside breaklines shot every metre.
#[test]
fn the_default_longest_edge_leaves_open_ground() {
    for dense in [false, true] {
        let mut survey = grid(24, 3.0);
        if dense {
            for x in [51.0, 121.0] {
                let line = (0..231).map(|i| shot(&mut survey, x, f64::from(i), 431.0, Role::Breakline)).collect();
                survey.breaklines.push(line);
            }
        }
        let whole =
            crate::surface::triangulate(&survey.shots.iter().map(Shot::point).collect::<Vec<_>>(), &survey.breaklines);
        let whole = whole.unwrap().tin.plan_area();
        let ground = built(&survey).value;
        assert!((9.0..13.0).contains(&ground.spacing), "spacing {}", ground.spacing);
        let lost = 1.0 - ground.tin.plan_area() / whole;
        // Shots moved by 3 m leave slivers of about 1.5 m along a rim of 920 m.
        assert!((0.0..0.04).contains(&lost), "lost {lost}");
        for (x, y) in
            (2..22).flat_map(|x| (2..22).map(move |y| (f64::from(x) * 10.0 + 0.5, f64::from(y) * 10.0 + 0.25)))
        {
            assert!(ground.locator().elevation(Point::new(x, y)).is_some(), "a hole at {x} {y}");
        }
    }
}

/// Shots strewn at random, one in 100 m2: of their hull the default takes off the rim alone.
#[test]
fn the_default_longest_edge_suits_random_shots_too() {
    let mut random = ChaCha8Rng::seed_from_u64(3);
    let mut survey = survey();
    for _ in 0..3000 {
        let (x, y) = (random.random_range(0.0..550.0), random.random_range(0.0..550.0));
        shot(&mut survey, x, y, plane(x, y), Role::Ground);
    }
    let ground = built(&survey).value;
    let locator = ground.locator();
    for (x, y) in (4..51).flat_map(|x| (4..51).map(move |y| (f64::from(x) * 10.0, f64::from(y) * 10.0))) {
        assert!(locator.elevation(Point::new(x, y)).is_some(), "a hole at {x} {y}");
    }
    assert!(ground.tin.plan_area() > 0.95 * 550.0 * 550.0, "{}", ground.tin.plan_area());
}

/// Shots 10 m apart with five by five of them missing, a breakline across. With a bound of 15 m the gap is a square of 60 m but for
/// its corners, where three shots stand 10 and 14 m apart.
#[test]
fn a_gap_is_a_hole_when_asked_and_told_with_place_area_and_breakline() {
    let mut survey = grid(16, 0.0);
    let inside = |at: f64| (45.0..95.0).contains(&at);
    survey.shots.retain(|shot| !(inside(shot.place.x) && inside(shot.place.y)));
    let line = [(40.0, 71.0), (60.0, 71.0), (80.0, 71.0), (100.0, 71.0)];
    let line = line.map(|(x, y)| shot(&mut survey, x, y, plane(x, y), Role::Breakline)).to_vec();
    survey.breaklines.push(line);
    let settings = GroundSettings { longest_edge: Some(Length::metres(15.0)), ..GroundSettings::default() };
    let filled = build(&survey, &settings).unwrap();
    assert!(!codes(&filled).contains(&"ground::hole"));
    assert_eq!((filled.value.figures().holes, filled.value.figures().plan_area_m2), (0, 22_500.0));
    let noted = build(&survey, &GroundSettings { gaps_are_holes: true, ..settings }).unwrap();
    let ground = &noted.value;
    let figures = ground.figures();
    assert!((figures.holes, figures.holes_area_m2) == (1, 3400.0) && figures.plan_area_m2 == 19_100.0, "{figures:?}");
    let told: Vec<_> = noted.notes.iter().filter(|note| note.code == "ground::hole").collect();
    let [note] = told[..] else { panic!("{:?}", noted.notes) };
    assert!(note.text.contains("a gap of 3400.0 m2 between points more than 15.0 m apart"), "{}", note.text);
    assert!(note.text.contains("60.0 m of breakline"), "{}", note.text);
    let Some(Place::Ground { easting, northing }) = note.place else { panic!("{note:?}") };
    let place = ground.frame.to_local(easting, northing);
    assert!(inside(place.x) && inside(place.y) && ground.elevation(place).is_none(), "{place:?}");
    assert_eq!(ground.edge_near(Point::new(55.0, 100.5)), "a hole of 3400 m2 in the ground");
    assert_eq!(ground.edge_near(Point::new(1.0, 70.0)), "the edge of the survey");
    assert_eq!(ground.beyond(place), "in a hole of 3400 m2 in the ground");
    assert_eq!(ground.beyond(Point::new(-20.0, 70.0)), "off the survey");
    // Contours end at the hole and go on behind it.
    assert!(filled.value.contour(427.95).len() == 1 && ground.contour(427.95).len() == 2);
}

#[test]
fn the_boundary_cuts_and_the_said_one_beats_the_shot_one() {
    let mut survey = grid(6, 0.0);
    let corners = [(10.0, 10.0), (40.0, 10.0), (40.0, 40.0), (10.0, 40.0)];
    survey.boundary = corners.map(|(x, y)| shot(&mut survey, x, y, plane(x, y), Role::Boundary)).to_vec();
    assert!((built(&survey).value.tin.plan_area() - 900.0).abs() < 1e-6);
    let square = |low: f64, high: f64| {
        Polygon::simple([(low, low), (high, low), (high, high), (low, high)].map(|(x, y)| Point::new(x, y)).to_vec())
    };
    let with =
        |boundary: Polygon| build(&survey, &GroundSettings { boundary: Some(boundary), ..GroundSettings::default() });
    assert!((with(square(0.0, 50.0)).unwrap().value.tin.plan_area() - 2500.0).abs() < 1e-6);
    assert_eq!(with(square(900.0, 950.0)).unwrap_err().code(), "ground::all-trimmed");
    let tight = GroundSettings { longest_edge: Some(Length::metres(5.0)), ..GroundSettings::default() };
    assert_eq!(build(&grid(6, 0.0), &tight).unwrap_err().code(), "ground::all-trimmed");
}

#[test]
fn a_cloud_joins_the_shots() {
    let mut survey = grid(3, 0.0);
    survey.cloud = vec![Point::new(5.0, 5.0).at(437.0), Point::new(10.0, 10.0).at(999.0)];
    let noted = built(&survey);
    assert_eq!(noted.value.locator().elevation(Point::new(5.0, 5.0)), Some(437.0));
    assert!(codes(&noted).contains(&"ground::cloud-gives-way"), "the one on a shot");
    assert!(codes(&noted).contains(&"ground::cloud-offset-unknown"));
    assert_eq!(noted.value.locator().elevation(Point::new(10.0, 10.0)), Some(plane(10.0, 10.0)));
}

#[test]
fn a_cloud_that_stands_too_high_is_told_and_corrected_when_asked() {
    let mut random = ChaCha8Rng::seed_from_u64(12);
    let mut survey = grid(8, 0.0);
    survey.cloud = (0..20_000)
        .map(|_| {
            let (x, y) = (random.random_range(0.0..70.0), random.random_range(0.0..70.0));
            Point::new(x, y).at(plane(x, y) + 0.12)
        })
        .collect();
    let noted = built(&survey);
    let text = |noted: &Noted<Ground>| {
        noted.notes.iter().find(|note| note.code == "ground::cloud-offset").map(|note| note.text.clone()).unwrap()
    };
    assert!(text(&noted).starts_with("the cloud stands 120 mm above the shots"), "{}", text(&noted));
    let far = Point::new(35.0, 35.0);
    let off = |ground: &Ground| ground.locator().elevation(far).unwrap() - plane(far.x, far.y);
    assert!((off(&noted.value) - 0.12).abs() < 1e-6);
    // Shots rule where they stand and a metre round them.
    let at_shot = |ground: &Ground, x: f64| ground.locator().elevation(Point::new(x, 30.0)).unwrap() - plane(x, 30.0);
    assert!(at_shot(&noted.value, 30.0).abs() < 1e-6);
    assert!(at_shot(&noted.value, 30.4) < 0.06 && at_shot(&noted.value, 32.0) > 0.119);
    let corrected = build(&survey, &GroundSettings { correct_cloud: true, ..GroundSettings::default() }).unwrap();
    assert!(text(&corrected).ends_with("the cloud is corrected by it"));
    assert!(off(&corrected.value).abs() < 1e-6);
    // A plane needs its rim alone.
    let thin = GroundSettings { correct_cloud: true, thin_to: Some(Length::metres(0.01)), ..GroundSettings::default() };
    let thin = build(&survey, &thin).unwrap();
    assert!(codes(&thin).contains(&"ground::thinned"));
    assert!(thin.value.figures().points < corrected.value.figures().points / 10);
    assert!(off(&thin.value).abs() < 0.01);
}

#[test]
fn the_same_survey_makes_the_same_ground() {
    assert_eq!(built(&grid(12, 3.0)), built(&grid(12, 3.0)));
}

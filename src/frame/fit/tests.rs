//! A published similarity, a vertical fit with a planted blunder, and what few marks cannot tell.

use super::*;
use crate::geom::Point;

/// A mark's name, its place as surveyed and as given.
type Row<'a> = (&'a str, (f64, f64), (f64, f64));

fn plan(rows: &[Row<'_>]) -> Vec<PlanPair> {
    let pair = |(mark, from, to): &Row<'_>| PlanPair {
        mark: (*mark).to_owned(),
        surveyed: Point::new(from.0, from.1),
        given: Point::new(to.0, to.1),
    };
    rows.iter().map(pair).collect()
}

fn heights(rows: &[(f64, f64, f64)]) -> Vec<HeightPair> {
    let pair = |(i, (x, y, change)): (usize, &(f64, f64, f64))| HeightPair {
        mark: format!("B{}", i + 1),
        place: Point::new(412_000.0 + x, 6_187_000.0 + y),
        surveyed: 431.0,
        given: 431.0 + change,
    };
    rows.iter().enumerate().map(pair).collect()
}

fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "found {found}, wanted {wanted} within {tolerance}");
}

fn ghilani() -> Vec<PlanPair> {
    plan(&[
        ("A", (121.622, -128.066), (1_049_422.40, 51_089.20)),
        ("B", (141.228, 187.718), (1_049_413.95, 49_659.30)),
        ("C", (175.802, 135.728), (1_049_244.95, 49_884.95)),
    ])
}

/// Ghilani, Adjustment Computations, chapter 18, example 18.1: parameters, residuals and transformed points as printed.
#[test]
fn published_similarity() {
    let fit = fit_plan(&ghilani(), PlanModel::Similarity, 1.0).unwrap();
    let change = fit.change;
    near(change.a, -4.512_49, 5e-6);
    near(change.b, -0.253_71, 5e-6);
    let zero = change.apply(Point::new(0.0, 0.0));
    near(zero.x, 1_050_003.715, 5e-3);
    near(zero.y, 50_542.131, 5e-3);
    near(change.scale(), 4.519_62, 5e-6);
    near(change.turn().to_degrees() + 360.0, 183.0 + 13.0 / 60.0 + 5.0 / 3600.0, 0.1 / 3600.0);
    near(fit.unit_sigma.unwrap(), 0.1398, 1e-4);
    for ((mark, east, north, redundancy), found) in
        [("A", 0.004, -0.029, 0.022), ("B", 0.101, -0.077, 0.411), ("C", -0.105, 0.106, 0.567)].iter().zip(&fit.marks)
    {
        assert_eq!(found.mark, *mark);
        near(found.residual_m[0], *east, 1e-3);
        near(found.residual_m[1], *north, 1e-3);
        near(found.redundancy, *redundancy, 5e-4);
    }
    for ((x, y), (east, north)) in [
        ((174.148, -120.262), (1_049_187.361, 51_040.629)),
        ((513.520, -192.130), (1_047_637.713, 51_278.829)),
        ((754.444, -67.706), (1_046_582.113, 50_656.241)),
        ((972.788, 120.994), (1_045_644.713, 49_749.336)),
    ] {
        let found = change.apply(Point::new(x, y));
        near(found.x, east, 1e-3);
        near(found.y, north, 1e-3);
    }
}

/// In the published example mark A hangs alone at one end: nearly all of a blunder in it would go into the turn and
/// scale. It must not be called checked, whatever its residual.
#[test]
fn a_small_residual_is_no_check() {
    let fit = fit_plan(&ghilani(), PlanModel::Similarity, 0.15).unwrap();
    let standings: Vec<Standing> = fit.marks.iter().map(|mark| mark.standing).collect();
    assert_eq!(standings, [Standing::NotChecked, Standing::Checked, Standing::Checked]);
    // 4.13 standard deviations over the root of the redundancy: 4.2 m in A, 0.97 m in B.
    near(fit.marks[0].detectable_m.unwrap(), 4.13 * 0.15 / 0.0222_f64.sqrt(), 0.05);
    near(fit.marks[1].detectable_m.unwrap(), 4.13 * 0.15 / 0.411_f64.sqrt(), 0.005);
}

const SIX: [(f64, f64, f64); 6] = [
    (0.0, 0.0, -0.512),
    (400.0, 20.0, -0.500),
    (380.0, 310.0, -0.470),
    (10.0, 300.0, -0.383),
    (200.0, 150.0, -0.489),
    (390.0, 160.0, -0.481),
];

/// Our own example, its plane computed in exact fractions, w and tau with scipy: six bench marks, 0.100 m too much in the fourth, 15 mm standard deviation.
#[test]
fn a_blunder_of_100_mm_in_one_of_six_bench_marks_is_found() {
    let pairs = heights(&SIX);
    let all = step_of_all(&pairs);
    near(all.change.shift, -0.4725, 5e-5);
    near(all.change.tilt_east * 1e6, -95.579_771, 1e-6);
    near(all.change.tilt_north * 1e6, 271.578_995, 1e-6);
    near(all.adjusted.unit_sigma.unwrap() * 15.0, 30.869_139, 1e-6);
    for (i, w) in [2.39, -2.59, 2.46, -3.56, 1.29, -0.47].into_iter().enumerate() {
        near(all.adjusted.w(i).unwrap(), w, 1e-2);
        let visible = all.adjusted.minimal_detectable(i, ALPHA, POWER).unwrap();
        assert!((0.068..=0.1175).contains(&visible), "{visible}");
    }
    near(all.adjusted.tau(3).unwrap(), -1.727, 1e-3);
    assert!(all.adjusted.tau(3).unwrap().abs() > crate::stats::critical_tau(0.05, 6, 3).unwrap());

    let fit = fit_heights(&pairs, HeightModel::Plane, 0.015).unwrap();
    near(fit.change.shift, -0.4904, 1e-9);
    near(fit.change.at(all.change.about), -0.488_539_583, 1e-9);
    near(fit.change.tilt_east * 1e6, 27.172_035, 1e-6);
    near(fit.change.tilt_north * 1e6, 106.604_180, 1e-6);
    near(fit.unit_sigma.unwrap() * 15.0, 2.762_766, 1e-6);
    assert_eq!(fit.degrees, 2);
    assert_eq!(fit.marks[3].standing, Standing::LeftOut);
    // The mark's own given elevation is too high by the blunder, so the fitted one lies below it.
    near(fit.marks[3].residual_m[0], -0.100, 0.01);
    assert!(fit.marks.iter().filter(|mark| mark.standing == Standing::LeftOut).count() == 1);
}

fn step_of_all(pairs: &[HeightPair]) -> Step<HeightChange> {
    let all: Vec<usize> = (0..pairs.len()).collect();
    height::step(pairs, &all, HeightModel::Plane, 0.015).unwrap()
}

/// Half the blunder: within what even six bench marks can hide, and the fit says how much that is.
#[test]
fn a_blunder_of_40_mm_hides_among_six_bench_marks() {
    let mut rows = SIX;
    rows[3].2 -= 0.060;
    let fit = fit_heights(&heights(&rows), HeightModel::Plane, 0.015).unwrap();
    assert!(fit.marks.iter().all(|mark| mark.standing != Standing::LeftOut));
    assert!(fit.marks.iter().all(|mark| mark.detectable_m.unwrap() > 0.065));
}

#[test]
fn few_marks_can_be_doubted_but_not_named() {
    // Four bench marks and a plane: one spare, so all standardised residuals are one size.
    let four = heights(&[(0.0, 0.0, 0.5), (400.0, 0.0, 0.5), (400.0, 300.0, 0.5), (0.0, 300.0, 0.9)]);
    let fit = fit_heights(&four, HeightModel::Plane, 0.015).unwrap();
    assert!(fit.marks.iter().all(|mark| mark.standing == Standing::Doubtful), "{:?}", fit.marks);
    // Three: nothing spare, nothing checked, whatever is wrong.
    let three = fit_heights(&four[1..], HeightModel::Plane, 0.015).unwrap();
    assert_eq!((three.degrees, three.unit_sigma), (0, None));
    for mark in &three.marks {
        assert_eq!((mark.standing, mark.w, mark.tau, mark.detectable_m), (Standing::NotChecked, None, None, None));
    }
    // Two marks and a turn at a fixed scale: the distance between them is the one thing that is checked.
    let two = plan(&[("A", (0.0, 0.0), (1000.0, 2000.0)), ("B", (100.0, 0.0), (1000.0, 2100.02))]);
    let fit = fit_plan(&two, PlanModel::Turn { scale: 1.0 }, 0.015).unwrap();
    assert_eq!(fit.degrees, 1);
    near(fit.change.turn().to_degrees(), 90.0, 1e-9);
    assert!(fit.marks.iter().all(|mark| mark.standing == Standing::NotChecked));
}

/// Planted truth: turned, scaled and shifted marks at national-grid coordinates come back exactly, by every model that
/// can hold them.
#[test]
fn a_planted_change_comes_back() {
    let (turn, scale) = (0.3_f64, 0.9996);
    let place = |x: f64, y: f64| {
        (412_350.0 + scale * (turn.cos() * x - turn.sin() * y), 6_187_220.0 + scale * (turn.sin() * x + turn.cos() * y))
    };
    let rows: Vec<Row<'_>> =
        [("A", 5000.0, 5000.0), ("B", 5400.0, 5010.0), ("C", 5380.0, 5350.0), ("D", 5020.0, 5300.0)]
            .into_iter()
            .map(|(mark, x, y)| (mark, (x, y), place(x, y)))
            .collect();
    for model in [PlanModel::Similarity, PlanModel::Turn { scale }] {
        let fit = fit_plan(&plan(&rows), model, 0.015).unwrap();
        near(fit.change.turn(), turn, 1e-11);
        near(fit.change.scale(), scale, 1e-11);
        let back = fit.change.apply(Point::new(5100.0, 4900.0));
        near(back.x, place(5100.0, 4900.0).0, 1e-7);
        near(back.y, place(5100.0, 4900.0).1, 1e-7);
    }
    // Fixed to one, the scale of 0.9996 shows as residuals of up to 0.1 m.
    let wrong = fit_plan(&plan(&rows), PlanModel::Turn { scale: 1.0 }, 0.1).unwrap();
    let largest = wrong.marks.iter().flat_map(|mark| &mark.residual_m).fold(0.0, |m: f64, v| m.max(v.abs()));
    assert!((0.05..0.15).contains(&largest), "{largest}");
}

/// EPSG 5166 as 373-7-2 quotes the method (parameters read, answer from memory and recomputed): the similarity with a
/// turn of 1.56504 seconds.
#[test]
fn published_similarity_parameters() {
    let (scale, turn) = (1.000_001_550_4, (1.565_04_f64 / 3600.0).to_radians());
    let change = PlanChange {
        a: scale * turn.cos(),
        b: -scale * turn.sin(),
        from: Point::new(0.0, 0.0),
        to: Point::new(-129.549, -208.185),
    };
    let found = change.apply(Point::new(300_000.0, 4_500_000.0));
    near(found.x, 299_905.060, 1e-3);
    near(found.y, 4_499_796.515, 1e-3);
}

/// A blunder in one of five control marks is named; two are, one after the other, in one of eight.
#[test]
fn one_blunder_at_a_time() {
    let mut pairs: Vec<PlanPair> = (0..8)
        .map(|i| {
            let angle = f64::from(i) * 0.785;
            let (x, y) = (300.0 * angle.cos(), 200.0 * angle.sin());
            let given = Point::new(5000.0 + x + 0.004 * f64::from(i % 3), 8000.0 + y - 0.003 * f64::from(i % 2));
            PlanPair { mark: format!("M{i}"), surveyed: Point::new(x, y), given }
        })
        .collect();
    pairs[2].given.x += 0.40;
    pairs[5].given.y -= 0.25;
    let fit = fit_plan(&pairs, PlanModel::Turn { scale: 1.0 }, 0.015).unwrap();
    let out: Vec<&str> =
        fit.marks.iter().filter(|mark| mark.standing == Standing::LeftOut).map(|mark| mark.mark.as_str()).collect();
    assert_eq!(out, ["M2", "M5"]);
    near(fit.marks[2].residual_m[0], -0.40, 0.02);
    near(fit.marks[5].residual_m[1], 0.25, 0.02);
}

#[test]
fn marks_that_cannot_be_fitted() {
    let told = |error: FitError| error.to_string();
    let one = plan(&[("A", (0.0, 0.0), (1.0, 1.0))]);
    assert!(told(fit_plan(&one, PlanModel::Similarity, 0.015).unwrap_err()).contains("needs 2 marks"));
    assert!(fit_plan(&one, PlanModel::Shift, 0.015).is_ok());
    let same = plan(&[("A", (5.0, 5.0), (1.0, 1.0)), ("B", (5.0, 5.0), (1.0, 1.0))]);
    for model in [PlanModel::Similarity, PlanModel::Turn { scale: 1.0 }] {
        assert!(told(fit_plan(&same, model, 0.015).unwrap_err()).contains("one place"));
    }
    let line = heights(&[(0.0, 0.0, 0.1), (100.0, 50.0, 0.1), (200.0, 100.0, 0.1), (400.0, 200.0, 0.1)]);
    assert!(told(fit_heights(&line, HeightModel::Plane, 0.015).unwrap_err()).contains("one line"));
    let shift = fit_heights(&line, HeightModel::Shift, 0.015).unwrap();
    near(shift.change.at(Point::new(0.0, 0.0)), 0.1, 1e-12);
}

/// Closed form: a shift from n marks is known to sigma over the root of n, everywhere.
#[test]
fn standard_error_of_the_change() {
    let fit = fit_heights(&heights(&SIX[..3]), HeightModel::Shift, 0.015).unwrap();
    near(fit.standard_error_at(Point::new(0.0, 0.0)), 0.015 / 3.0_f64.sqrt(), 1e-12);
    let plane = fit_heights(&heights(&SIX[..3]), HeightModel::Plane, 0.015).unwrap();
    near(plane.standard_error_at(plane.change.about), 0.015 / 3.0_f64.sqrt(), 1e-12);
    let far = Point::new(plane.change.about.x + 2000.0, plane.change.about.y);
    assert!(plane.standard_error_at(far) > 0.1, "a tilt carried two kilometres on");
}

/// A change that a run wrote, each number rounded to a millionth, moves a place a kilometre off by no more than the
/// rounding of its origin.
#[test]
fn a_change_keeps_its_meaning_when_written_rounded() {
    fn rounded(value: serde_json::Value) -> serde_json::Value {
        match value {
            serde_json::Value::Number(n) => serde_json::json!((n.as_f64().unwrap() * 1e6).round() / 1e6),
            serde_json::Value::Object(keys) => keys.into_iter().map(|(key, value)| (key, rounded(value))).collect(),
            other => other,
        }
    }
    let plan = PlanChange {
        a: 0.999_63 * 0.008_7_f64.cos(),
        b: 0.999_63 * 0.008_7_f64.sin(),
        from: Point::new(412_030.0, 6_187_010.0),
        to: Point::new(412_000.0, 6_187_000.0),
    };
    let back: PlanChange = serde_json::from_value(rounded(serde_json::to_value(plan).unwrap())).unwrap();
    let far = Point::new(413_030.0, 6_188_010.0);
    assert!(back.apply(far).distance(plan.apply(far)) < 2e-6);
    let height =
        HeightChange { shift: -2.4, tilt_east: 27.172_035e-6, tilt_north: 106.604_180e-6, about: Point::new(0.0, 0.0) };
    let back: HeightChange = serde_json::from_value(rounded(serde_json::to_value(height).unwrap())).unwrap();
    assert!((back.at(Point::new(1000.0, 1000.0)) - height.at(Point::new(1000.0, 1000.0))).abs() < 1e-8);
}

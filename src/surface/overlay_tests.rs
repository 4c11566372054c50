//! Tests of cut and fill: solids in closed form, and properties on random surfaces.

use super::super::examples::square;
use super::*;

#[track_caller]
fn near(found: f64, wanted: f64, scale: f64) {
    assert!((found - wanted).abs() <= 1e-9 * scale.abs(), "found {found}, wanted {wanted}");
}

#[test]
fn a_box_on_a_plane() {
    let ground = square(7, 30.0, |p| 100.0 + 0.1 * p.x - 0.03 * p.y);
    let lid = square(11, 30.0, |p| 102.0 + 0.1 * p.x - 0.03 * p.y);
    let found = cut_and_fill(&ground, &lid, None);
    near(found.fill, 1800.0, 1800.0);
    near(found.fill_area, 900.0, 900.0);
    near(found.area, 900.0, 900.0);
    assert_eq!((found.cut, found.cut_area, found.area_left_out), (0.0, 0.0, 0.0));
    let back = cut_and_fill(&lid, &ground, None);
    near(back.cut, 1800.0, 1800.0);
}

#[test]
fn two_crossing_planes() {
    // Difference 0.2 (x - 10) over 30 x 30: cut 30 * 0.2 * 10^2/2, fill 30 * 0.2 * 20^2/2.
    let ground = square(9, 30.0, |p| 50.0 + 0.05 * p.y);
    let plane = square(14, 30.0, |p| 50.0 + 0.05 * p.y + 0.2 * (p.x - 10.0));
    let found = cut_and_fill(&ground, &plane, None);
    near(found.cut, 300.0, 1500.0);
    near(found.fill, 1200.0, 1500.0);
    near(found.cut_area, 300.0, 900.0);
    near(found.fill_area, 600.0, 900.0);
}

//! The hidden ground of Kestrel Flat, an invented farm: one formula, so that everything made from its shots can be held
//! against the truth.
//!
//! The site has its own axes: `u` runs along the hill, `v` up it, metres from its south-west corner, turned 14 degrees
//! clockwise against the grid. The hill falls towards `v = 0`, by 3.7 % at the foot and 5.4 % at the top, and carries
//! waves of 120 m that bend its contour lines. On it lie
//! - a gully along `u = 258`, from nothing at `v = 195` to 1.3 m deep at the foot, with straight sides 4 m wide;
//! - a track on a bank across the lower hill, 7 m wide, 0.7 m above the hill at its outer edge, with a 2 m face below it;
//! - rough ground in the upper west: humps of 33 m length, which is three times the shot spacing, 0.12 m high.

use std::f64::consts::TAU;

/// Grid place of the site's south-west corner: WGS 84 / UTM zone 55S, metres.
pub(crate) const CORNER: (f64, f64) = (412_080.0, 6_187_110.0);
/// Extent of the survey along `u` and `v`, metres.
pub(crate) const EXTENT: (f64, f64) = (285.0, 235.0);
/// Half the width of the gully.
pub(crate) const GULLY_HALF_WIDTH: f64 = 4.0;
/// Where the gully begins, counted up the hill.
pub(crate) const GULLY_HEAD: f64 = 195.0;
/// The track's bank ends here along `u`.
pub(crate) const TRACK_END: f64 = 236.0;
/// From the track's outer edge back to where its bank begins.
pub(crate) const TRACK_WIDTH: f64 = 7.0;
/// Horizontal width of the bank's face below the track.
pub(crate) const TRACK_FACE: f64 = 2.0;

const TURN: f64 = -14.0 * TAU / 360.0;

/// Easting and northing of a place on the site's axes.
pub(crate) fn to_grid(u: f64, v: f64) -> (f64, f64) {
    let (sin, cos) = TURN.sin_cos();
    (CORNER.0 + u * cos - v * sin, CORNER.1 + u * sin + v * cos)
}

/// Place on the site's axes of an easting and northing.
pub(crate) fn to_site(easting: f64, northing: f64) -> (f64, f64) {
    let (sin, cos) = TURN.sin_cos();
    let (e, n) = (easting - CORNER.0, northing - CORNER.1);
    (e * cos + n * sin, n * cos - e * sin)
}

/// True ground at a place on the site's axes, metres above the site's datum.
pub(crate) fn ground(u: f64, v: f64) -> f64 {
    hill(u, v) + humps(u, v) + track(u, v) - gully(u, v)
}

/// The middle of the gully at a place up the hill.
pub(crate) fn gully_middle(v: f64) -> f64 {
    258.0 + 6.0 * (v / 40.0).sin()
}

/// The outer edge of the track at a place along the hill.
pub(crate) fn track_edge(u: f64) -> f64 {
    46.0 + 0.06 * u
}

fn hill(u: f64, v: f64) -> f64 {
    let wave = |length: f64, direction: f64, at: f64| {
        let (sin, cos) = direction.to_radians().sin_cos();
        (TAU * (u * cos + v * sin) / length + at).cos()
    };
    425.0 + 0.037 * v + 0.000_036 * v * v + 0.22 * wave(120.0, 20.0, 0.7) + 0.08 * wave(120.0, 75.0, 2.1)
}

fn humps(u: f64, v: f64) -> f64 {
    // Full height inside, nothing outside, without a kink between.
    let window = |x: f64, from: f64, to: f64| smooth((x - from) / 12.0) * smooth((to - x) / 12.0);
    let strength = window(u, 25.0, 135.0) * window(v, 183.0, 260.0);
    0.12 * strength * (TAU * u / 33.0).sin() * (TAU * v / 33.0).cos()
}

fn track(u: f64, v: f64) -> f64 {
    // Straight up from the back to the outer edge, then straight down to the toe.
    let below_edge = track_edge(u) - v;
    let reach = if below_edge > 0.0 { TRACK_FACE } else { TRACK_WIDTH };
    0.7 * (1.0 - below_edge.abs() / reach).max(0.0) * smooth((TRACK_END - u) / 12.0)
}

fn gully(u: f64, v: f64) -> f64 {
    let depth = 1.3 * (1.0 - v / GULLY_HEAD).clamp(0.0, 1.0);
    depth * (1.0 - (u - gully_middle(v)).abs() / GULLY_HALF_WIDTH).max(0.0)
}

/// 0 below 0, 1 above 1, without a kink.
fn smooth(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

//! Is a line truly on contour: natural ground against an elevation, station by station.

use super::fair::Even;
use super::plan::{ContourCheck, ContourStation, Proof};
use crate::geom::{CompensatedSum, Point, Polyline};
use crate::surface::{Locator, profile};

/// Checks a line against an elevation, or against the length-weighted mean of the ground along it when `level` is
/// `None`. Stations are the line's vertices and every edge of the surface that it crosses, so that no extreme between
/// vertices is missed. Returns the elevation used; `None` when the line lies nowhere on the surface.
#[must_use]
pub fn contour_check(
    line: &Polyline,
    ground: &Locator<'_>,
    level: Option<f64>,
    tolerance: f64,
) -> Option<(f64, ContourCheck)> {
    let level = match level {
        Some(level) => level,
        None => weighted_mean(&known(line, ground), |_, z| z)?,
    };
    Some((level, even_check(line, ground, level.into(), tolerance)?))
}

/// Checks a line against an elevation that is even from its first end to its last.
pub(super) fn even_check(line: &Polyline, ground: &Locator<'_>, level: Even, tolerance: f64) -> Option<ContourCheck> {
    let known = known(line, ground);
    let off = |station: f64, z: f64| z - level.at(line, station);
    let stations: Vec<ContourStation> = known
        .iter()
        .map(|&(station, place, z)| ContourStation {
            station,
            place,
            ground: z,
            deviation: off(station, z),
            sigma: None,
            tin: z,
        })
        .collect();
    let worst =
        stations.iter().map(|s| s.deviation).fold(0.0, |worst: f64, d| if d.abs() > worst.abs() { d } else { worst });
    let rms = weighted_mean(&known, |station, z| off(station, z).powi(2))?.sqrt();
    let least_radius = line.least_radius();
    Some(ContourCheck { stations, worst, rms, tolerance, least_radius, proof: Proof::default() })
}

/// Station, place and elevation wherever the line has ground under it.
fn known(line: &Polyline, ground: &Locator<'_>) -> Vec<(f64, Point, f64)> {
    let points = profile(ground, line).into_iter();
    points.filter_map(|point| point.elevation.map(|z| (point.station, point.place, z))).collect()
}

/// Mean of a function of station and elevation along the line, each piece weighted by its length (trapezoid rule).
fn weighted_mean(known: &[(f64, Point, f64)], of: impl Fn(f64, f64) -> f64) -> Option<f64> {
    let (mut sum, mut length) = (CompensatedSum::default(), CompensatedSum::default());
    for pair in known.windows(2) {
        let step = pair[1].0 - pair[0].0;
        sum.add(step * (of(pair[0].0, pair[0].2) + of(pair[1].0, pair[1].2)) / 2.0);
        length.add(step);
    }
    (length.total() > 0.0).then(|| sum.total() / length.total())
}

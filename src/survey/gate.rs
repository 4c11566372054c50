//! What the file itself says against a shot: no fixed solution, sigma, PDOP or age of corrections above
//! the limit, impossible values.

use super::candidate::Candidate;
use super::{Fix, Settings};
use crate::stats::{mad, median};
use crate::units::Length;

/// Sets aside what fails on its own line or against the middle of all.
pub(super) fn gate(all: &mut [Candidate], settings: &Settings) {
    for candidate in all.iter_mut() {
        let quality = candidate.shot.quality;
        match quality.fix {
            Fix::Float => candidate.set_aside("not fixed", "float".to_owned()),
            Fix::Coarse => candidate.set_aside("not fixed", "code or autonomous".to_owned()),
            Fix::Fixed | Fix::Unknown => {}
        }
        if let Some(pdop) = quality.pdop.filter(|&pdop| pdop > settings.pdop_limit) {
            candidate.set_aside("PDOP above the limit", format!("{pdop:.1}, limit {:.1}", settings.pdop_limit));
        }
        if let Some(age) = quality.age.filter(|&age| age > settings.age_limit) {
            candidate.set_aside("corrections too old", format!("{age:.0} s, limit {:.0} s", settings.age_limit));
        }
        let sides = [
            ("vertical", quality.vertical_sigma, settings.vertical_limit),
            ("horizontal", quality.horizontal_sigma, settings.horizontal_limit),
        ];
        for (side, sigma, limit) in sides {
            if let Some(sigma) = sigma.filter(|&sigma| Length::metres(sigma) > limit) {
                let value = format!("{side} {sigma:.3} m, limit {:.3} m", limit.in_metres());
                candidate.set_aside("sigma above the limit", value);
            }
        }
    }
    impossible_elevations(all);
    far_away(all);
}

/// An elevation of exactly zero amid others, or hundreds of metres off the middle.
fn impossible_elevations(all: &mut [Candidate]) {
    let elevations: Vec<f64> = all.iter().filter(|c| c.stands()).map(|c| c.shot.elevation).collect();
    let (Some(middle), Some(spread)) = (median(&elevations), mad(&elevations)) else { return };
    // Farm relief stays within a few hundred metres; common practice, no source.
    let absurd = (50.0 * spread).max(500.0);
    let zero_is_absurd = middle.abs() > (10.0 * spread).max(5.0);
    for candidate in all.iter_mut().filter(|c| c.stands()) {
        let elevation = candidate.shot.elevation;
        if (elevation - middle).abs() > absurd || (elevation == 0.0 && zero_is_absurd) {
            let value = format!("elevation {elevation:.3} m, median {middle:.3} m");
            candidate.set_aside("impossible elevation", value);
        }
    }
}

/// A place many times farther from the middle than nearly all others: a swapped pair, a digit too many, a shot at the
/// office. Ten times the distance that nine in ten lie within, and at least a kilometre; common practice, no source.
fn far_away(all: &mut [Candidate]) {
    let of = |part: fn(&Candidate) -> f64| -> Vec<f64> { all.iter().filter(|c| c.stands()).map(part).collect() };
    let (Some(x), Some(y)) = (median(&of(|c| c.shot.place.x)), median(&of(|c| c.shot.place.y))) else { return };
    let distance = |c: &Candidate| (c.shot.place.x - x).hypot(c.shot.place.y - y);
    let mut distances: Vec<f64> = all.iter().filter(|c| c.stands()).map(distance).collect();
    distances.sort_by(f64::total_cmp);
    let most = distances[(distances.len() - 1) * 9 / 10];
    let limit = (10.0 * most).max(1000.0);
    for candidate in all.iter_mut().filter(|c| c.stands()) {
        let far = distance(candidate);
        if far > limit {
            candidate.set_aside("far outside the survey", format!("{far:.0} m from the middle, limit {limit:.0} m"));
        }
    }
}

//! Does one file stand off another: a base set "here" again on the second day moves everything by the same step.
//!
//! Height: every ground shot of one file that stands among shots of the other is held against what those say of its place.
//! The middle difference is the offset; its standard error counts four neighbouring differences as one, for they lean on
//! the same shots. Plan: check shots on known marks tell it, and shots of one place in both files; the ground does not.

use super::candidate::{Candidate, name_of};
use super::surroundings::Surroundings;
use super::{CheckShot, Fix, list_some};
use crate::geom::Point;
use crate::notes::{Note, Place, each};
use crate::stats::{mad, mean, median};

/// Fewest places that speak for an offset.
const FEWEST: usize = 8;
/// Differences that count as one.
const LEAN: f64 = 4.0;
/// Offsets below this are not told: within what a base and its height are good for, metres.
const SMALLEST: f64 = 0.03;
/// Steps of a pole that surveyors use, metres.
const POLE_STEPS: [f64; 7] = [0.1, 0.2, 0.3048, 0.5, 1.0, 1.8, 2.0];

/// How far the heights of one file stand above another's.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub(super) struct Offset {
    /// The file that is compared, and the one it is held against, as indices.
    pub(super) files: (u32, u32),
    /// Up, metres.
    pub(super) up: f64,
    /// Standard error of that.
    pub(super) sigma: f64,
    /// Places that speak for it.
    pub(super) places: usize,
}

/// The offset of every file against each before it where they overlap.
pub(super) fn offsets(all: &[Candidate], files: usize, surroundings: &Surroundings) -> Vec<Offset> {
    let mut found = Vec::new();
    for file in 0..u32::try_from(files).unwrap_or(u32::MAX) {
        for before in 0..file {
            let used: Vec<bool> = all.iter().map(|c| c.shot.file == before).collect();
            let own: Vec<usize> = surroundings.on_open_ground().filter(|&i| all[i].shot.file == file).collect();
            let differences = each(own.len(), |k| among(own[k], all, &used, surroundings));
            let differences: Vec<f64> = differences.into_iter().flatten().collect();
            if let (Some(up), Some(spread), true) =
                (median(&differences), mad(&differences), differences.len() >= FEWEST)
            {
                let places = differences.len();
                // The median of normal differences is 1.25 times as unsure as their mean.
                let sigma = 1.25 * spread / (places as f64 / LEAN).sqrt();
                found.push(Offset { files: (file, before), up, sigma, places });
            }
        }
    }
    found
}

/// A shot's height minus what the other file says; `None` unless that file stands all round it and near.
fn among(i: usize, all: &[Candidate], used: &[bool], surroundings: &Surroundings) -> Option<f64> {
    let near = surroundings.nearest_used(i, used);
    let here = all[i].shot.place;
    let steps: Vec<Point> = near.iter().map(|&j| all[j].shot.place - here).map(|s| Point::new(s.x, s.y)).collect();
    let close = steps.iter().filter(|s| s.x.hypot(s.y) < 3.0 * surroundings.spacing()).count() > 2;
    let mut bearings: Vec<f64> = steps.iter().map(|s| s.y.atan2(s.x)).collect();
    bearings.sort_by(f64::total_cmp);
    let gap = bearings.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
    let last = bearings.last()? - bearings.first()?;
    let gap = gap.max(std::f64::consts::TAU - last);
    if !close || gap > 0.9 * std::f64::consts::PI {
        return None;
    }
    let (estimate, _) = surroundings.estimate(i, used)?;
    Some(all[i].shot.elevation - estimate.height)
}

/// Tells offsets that are no chance.
pub(super) fn tell_offsets(offsets: &[Offset], files: &[String], notes: &mut Vec<Note>) {
    for offset in offsets.iter().filter(|o| o.up.abs() > (3.0 * o.sigma).max(SMALLEST)) {
        let (file, before) = (&files[offset.files.0 as usize], &files[offset.files.1 as usize]);
        let text = format!(
            "{file} stands {:+.3} m off {before} in height (standard error {:.3} m, {} places where they overlap){}: one of \
             them has a wrong base or pole height; check shots say which. To move this one: {{ file = \"{file}\", shift = \
             [\"0 m\", \"0 m\", \"{:.3} m\"] }}",
            offset.up,
            offset.sigma,
            offset.places,
            pole_step(offset.up, offset.sigma),
            -offset.up
        );
        notes.push(Note::new("survey::files-disagree", text).at(whole(file)));
    }
}

/// Tells files whose check shots are all off by the same step, and what step would put them right.
pub(super) fn tell_checks(all: &[Candidate], checks: &[CheckShot], files: &[String], notes: &mut Vec<Note>) {
    for (index, file) in files.iter().enumerate() {
        let own: Vec<&CheckShot> = checks.iter().filter(|check| check.file == *file).collect();
        let sides = [
            own.iter().map(|c| c.easting_m).collect::<Vec<_>>(),
            own.iter().map(|c| c.northing_m).collect(),
            own.iter().map(|c| c.elevation_m).collect(),
        ];
        let (Some(east), Some(north), Some(up)) = (mean(&sides[0]), mean(&sides[1]), mean(&sides[2])) else { continue };
        if own.len() < 2 || own.iter().any(|check| check.within) {
            continue;
        }
        let spread = sides
            .iter()
            .map(|side| {
                side.iter().copied().fold(f64::NEG_INFINITY, f64::max)
                    - side.iter().copied().fold(f64::INFINITY, f64::min)
            })
            .fold(0.0, f64::max);
        // Twice what a check shot may be off by itself: two checks of 20 mm each.
        if spread > 0.08 {
            continue;
        }
        let middle = middle_of(all, index);
        let feet = 2e-6;
        let trap = (east / middle.x / feet, north / middle.y / feet);
        let why = if (trap.0.abs() - 1.0).abs() < 0.2 && (trap.1 - trap.0).abs() < 0.2 {
            ": 2 millionths of the coordinates, so its feet are of the other kind (international or US survey feet)"
                .to_owned()
        } else if up.abs() > 5.0 && east.hypot(north) < 0.1 {
            ": as much as a geoid separation, so its heights may be above the ellipsoid".to_owned()
        } else if east.hypot(north) < 0.05 {
            pole_step(up, spread / 2.0)
        } else {
            ": a base on another place or with other coordinates".to_owned()
        };
        let text = format!(
            "{file}: all {} check shots are off the same way, by E {east:+.3} N {north:+.3} up {up:+.3} m (they differ by \
             {spread:.3} m){why}. To move the whole file: {{ file = \"{file}\", shift = [\"{:.3} m\", \"{:.3} m\", \"{:.3} m\"] }}",
            own.len(),
            -east,
            -north,
            -up
        );
        notes.push(Note::new("survey::file-shifted", text).at(whole(file)));
    }
}

fn middle_of(all: &[Candidate], file: usize) -> Point {
    let of = |part: fn(&Candidate) -> f64| {
        median(&all.iter().filter(|c| c.shot.file as usize == file).map(part).collect::<Vec<_>>()).unwrap_or(1.0)
    };
    Point::new(of(|c| c.grid.x), of(|c| c.grid.y))
}

/// Words for an offset that a wrong pole height would make.
pub(super) fn pole_step(up: f64, sigma: f64) -> String {
    if sigma > 0.02 {
        return String::new();
    }
    let near = POLE_STEPS.into_iter().find(|step| (up.abs() - step).abs() < (2.0 * sigma).clamp(0.008, 0.02));
    near.map_or_else(String::new, |step| format!(", as a pole height wrong by {step} m would make it"))
}

/// Tells runs of one file that stand off their neighbours by the same step one after another.
pub(super) fn tell_runs(all: &[Candidate], off: &[(usize, f64, f64)], names: &[String], notes: &mut Vec<Note>) {
    let mut runs: Vec<Vec<(usize, f64, f64)>> = Vec::new();
    for &shot in off {
        let follows = runs.last().and_then(|run| run.last()).is_some_and(|&(before, up, sigma)| {
            shot.0 == before + 1
                && all[shot.0].shot.file == all[before].shot.file
                && (shot.1 - up).abs() < 2.0 * sigma.hypot(shot.2)
        });
        if follows && let Some(run) = runs.last_mut() {
            run.push(shot);
        } else {
            runs.push(vec![shot]);
        }
    }
    for run in runs.iter().filter(|run| run.len() > 1) {
        let ups: Vec<f64> = run.iter().map(|shot| shot.1).collect();
        let up = mean(&ups).unwrap_or_default();
        let sigma = run[0].2 / (run.len() as f64).sqrt();
        let nearest = POLE_STEPS.into_iter().find(|step| (up.abs() - step).abs() < 2.0 * sigma);
        let why = nearest.map_or_else(
            || "a base or pole height that changed".to_owned(),
            |step| format!("a pole height wrong by {step} m"),
        );
        let list: Vec<String> = run.iter().map(|shot| name_of(&all[shot.0], names)).collect();
        let text = format!(
            "{} follow each other and all stand {up:+.2} m (+- {sigma:.2} m) off their neighbours: {why} would make it so",
            list_some(&list, 6)
        );
        notes.push(Note::new("survey::run-off", text));
    }
}

/// Tells fixed shots whose stated sigma is small and which stand off all the same.
pub(super) fn tell_false_fixes(all: &[Candidate], off: &[(usize, f64, f64)], names: &[String], notes: &mut Vec<Note>) {
    let stated = |i: usize| all[i].shot.quality.vertical_sigma.filter(|_| all[i].shot.quality.fix == Fix::Fixed);
    let list: Vec<String> = off
        .iter()
        .filter_map(|&(i, up, _)| {
            let sigma = stated(i).filter(|sigma| up.abs() > 10.0 * sigma)?;
            Some(format!("{} ({up:+.2} m, stated {sigma:.3} m)", name_of(&all[i], names)))
        })
        .collect();
    if !list.is_empty() {
        let text = format!(
            "stored as fixed with a small sigma, and off their neighbours by more than ten of it: {}; a false fix, which the \
             receiver cannot know of",
            list_some(&list, 6)
        );
        notes.push(Note::new("survey::false-fix", text));
    }
}

fn whole(file: &str) -> Place {
    Place::File { file: file.to_owned(), line: 0, column: 0 }
}

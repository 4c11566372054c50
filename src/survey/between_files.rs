//! Does one file stand off another: a base set "here" again on the second day moves everything by the same step.
//!
//! Height: every ground shot of one file that stands among shots of the other is held against what those say of its place.
//! The middle difference is the offset; its standard error counts four neighbouring differences as one, for they lean on
//! the same shots. Plan: check shots on marks tell it, known ones and those that both files shot; else the ground does, where
//! its slope turns: a file that stands d off in plan stands -slope . d off in height, so slope and difference together
//! give d by least squares, with its standard error.

use super::candidate::Candidate;
use super::signatures::Facts;
use super::surroundings::Surroundings;
use super::{CheckShot, Role, Settings, list_some};
use crate::geom::{Point, Vector};
use crate::notes::{Note, Place, each};
use crate::stats::{Observations, mad, mean, median};
use std::collections::BTreeMap;

/// Fewest places that speak for an offset.
const FEWEST: usize = 8;
/// Differences that count as one.
const LEAN: f64 = 4.0;
/// Offsets below this are not told: within what a base and its height are good for, metres.
const SMALLEST: f64 = 0.03;
/// Offsets in plan below this are not told, metres: the ground tells them roughly only.
const SMALLEST_IN_PLAN: f64 = 0.15;
/// A difference so many middle deviations off the fit takes no part in it.
const OUTLYING: f64 = 4.0;
/// Chi square with two degrees of freedom, 0.1 %: -2 ln 0.001.
const CHANCE: f64 = 13.816;

/// How far one file stands off another.
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
    /// East and north with their standard errors, where the ground shows that it is no chance.
    pub(super) plan: Option<[(f64, f64); 2]>,
}

/// The offset of every file against each before it where they overlap.
pub(super) fn offsets(all: &[Candidate], files: usize, surroundings: &Surroundings) -> Vec<Offset> {
    let mut found = Vec::new();
    for file in 0..u32::try_from(files).unwrap_or(u32::MAX) {
        for before in 0..file {
            let used: Vec<bool> = all.iter().map(|c| c.shot.file == before).collect();
            let own: Vec<usize> = surroundings.on_open_ground().filter(|&i| all[i].shot.file == file).collect();
            let seen = each(own.len(), |k| among(own[k], all, &used, surroundings));
            found.extend(offset((file, before), &seen.into_iter().flatten().collect::<Vec<Seen>>()));
        }
    }
    found
}

/// The offset that the differences speak for.
fn offset(files: (u32, u32), seen: &[Seen]) -> Option<Offset> {
    let differences: Vec<f64> = seen.iter().map(|seen| seen.up).collect();
    let (up, spread) = (median(&differences)?, mad(&differences)?);
    if seen.len() < FEWEST {
        return None;
    }
    // The median of normal differences is 1.25 times as unsure as their mean.
    let sigma = 1.25 * spread / (seen.len() as f64 / LEAN).sqrt();
    let in_height = Offset { files, up, sigma, places: seen.len(), plan: None };
    Some(in_space(seen, in_height).unwrap_or(in_height))
}

/// The offset with its part in plan; `None` where the ground does not tell it from nothing.
fn in_space(seen: &[Seen], in_height: Offset) -> Option<Offset> {
    let mut used: Vec<&Seen> = seen.iter().collect();
    for _ in 0..10 {
        let mut observed = Observations::of(3);
        used.iter().for_each(|seen| observed.push(&[1.0, -seen.slope.x, -seen.slope.y], seen.up, 1.0));
        let adjusted = observed.adjust().filter(|_| used.len() >= FEWEST)?;
        let misfit = |seen: &Seen| {
            let [up, east, north] = [0, 1, 2].map(|at| adjusted.parameters[at]);
            seen.up - (up - seen.slope.x * east - seen.slope.y * north)
        };
        let spread = mad(&used.iter().map(|seen| misfit(seen)).collect::<Vec<_>>())?;
        let kept: Vec<&Seen> = seen.iter().filter(|seen| misfit(seen).abs() <= OUTLYING * spread.max(1e-4)).collect();
        let same = kept.len() == used.len() && kept.iter().zip(&used).all(|(a, b)| std::ptr::eq(*a, *b));
        if !same {
            used = kept;
            continue;
        }
        let variance = LEAN * adjusted.unit_sigma?.powi(2);
        let [up, east, north] = [0, 1, 2].map(|at| adjusted.parameters[at]);
        let cofactor = |i: usize, j: usize| adjusted.covariance[i][j] * variance;
        let determinant = cofactor(1, 1) * cofactor(2, 2) - cofactor(1, 2) * cofactor(2, 1);
        let square = (east * east * cofactor(2, 2) - 2.0 * east * north * cofactor(1, 2)
            + north * north * cofactor(1, 1))
            / determinant;
        let told = square > CHANCE && east.hypot(north) > SMALLEST_IN_PLAN;
        return told.then(|| Offset {
            up,
            sigma: cofactor(0, 0).sqrt(),
            plan: Some([(east, cofactor(1, 1).sqrt()), (north, cofactor(2, 2).sqrt())]),
            ..in_height
        });
    }
    None
}

/// What one shot shows of its file's offset.
#[derive(Debug, Clone, Copy)]
struct Seen {
    /// Its height minus what the other file says.
    up: f64,
    /// The ground's slope there by the other file: rise to the east and to the north.
    slope: Vector,
}

/// A shot's height minus what the other file says; `None` unless that file stands all round it and near.
fn among(i: usize, all: &[Candidate], used: &[bool], surroundings: &Surroundings) -> Option<Seen> {
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
    let mut plane = Observations::of(3);
    near.iter().zip(&steps).for_each(|(&j, step)| plane.push(&[1.0, step.x, step.y], all[j].shot.elevation, 1.0));
    let plane = plane.adjust()?;
    Some(Seen {
        up: all[i].shot.elevation - estimate.height,
        slope: Vector::new(plane.parameters[1], plane.parameters[2]),
    })
}

/// Tells offsets that are no chance.
pub(super) fn tell_offsets(offsets: &[Offset], facts: &Facts, files: &[String], notes: &mut Vec<Note>) {
    for offset in offsets {
        let high = offset.up.abs() > (3.0 * offset.sigma).max(SMALLEST);
        let (file, before) = (&files[offset.files.0 as usize], &files[offset.files.1 as usize]);
        let shown = match offset.plan {
            Some([(east, east_error), (north, north_error)]) => format!(
                "E {east:+.2} N {north:+.2} up {:+.3} m off {before} (standard errors {east_error:.2}, {north_error:.2}, {:.3} m, by the \
                 ground at {} places where they overlap): a base on another place or with other coordinates",
                offset.up, offset.sigma, offset.places
            ),
            None if high => format!(
                "{:+.3} m off {before} in height (standard error {:.3} m, {} places where they overlap){}: one of them has a \
                 wrong base or pole height",
                offset.up,
                offset.sigma,
                offset.places,
                facts.words(offset.files.0, offset.up, offset.sigma)
            ),
            None => continue,
        };
        let [east, north] = offset.plan.map_or([0.0, 0.0], |plan| plan.map(|(step, _)| step));
        let text = format!(
            "{file} stands {shown}; check shots say which. To move this one: {}",
            shift(file, [east, north, offset.up])
        );
        notes.push(Note::new("survey::files-disagree", text).at(whole(file)));
    }
}

/// The entry that moves a whole file back by what it is off.
fn shift(file: &str, off: [f64; 3]) -> String {
    let back = off.map(|step| {
        let text = format!("{:.3}", -step);
        if text == "-0.000" { "0 m".to_owned() } else { format!("{text} m") }
    });
    let [east, north, up] = back.map(|text| text.replace("0.000 m", "0 m"));
    format!("{{ file = \"{file}\", shift = [\"{east}\", \"{north}\", \"{up}\"] }}")
}

/// Marks without a known place that two files shot: they tell how far the files stand off each other, in all three
/// directions.
pub(super) fn tell_common(
    all: &[Candidate],
    checks: &[CheckShot],
    files: &[String],
    settings: &Settings,
    notes: &mut Vec<Note>,
) {
    let mut places: BTreeMap<(u32, String), Vec<(Point, f64)>> = BTreeMap::new();
    for candidate in all.iter().filter(|c| c.stands() && c.shot.role == Role::Check) {
        let shot = &candidate.shot;
        let known = checks.iter().any(|check| check.line == shot.line && check.file == files[shot.file as usize]);
        let name = candidate.read.rest.split_whitespace().next();
        let name = name.map_or_else(|| format!("{}{}", candidate.read.word, candidate.read.number), str::to_lowercase);
        let bare = candidate.read.rest.is_empty() && candidate.read.number.is_empty();
        if !known && !bare {
            places.entry((shot.file, name)).or_default().push((shot.place, shot.elevation));
        }
    }
    let middle = |shots: &[(Point, f64)]| {
        let of = |part: fn(&(Point, f64)) -> f64| mean(&shots.iter().map(part).collect::<Vec<_>>());
        Some([of(|(place, _)| place.x)?, of(|(place, _)| place.y)?, of(|(_, up)| *up)?])
    };
    for (file, name) in files.iter().enumerate() {
        for (earlier, before) in files.iter().enumerate().take(file) {
            let of = |index: usize, mark: &str| {
                let key = (u32::try_from(index).unwrap_or(u32::MAX), mark.to_owned());
                places.get(&key).and_then(|shots| middle(shots))
            };
            let common: Vec<(&str, [f64; 3])> = places
                .keys()
                .filter(|(index, _)| *index as usize == file)
                .filter_map(|(_, mark)| {
                    let (here, there) = (of(file, mark)?, of(earlier, mark)?);
                    Some((mark.as_str(), [0, 1, 2].map(|axis| here[axis] - there[axis])))
                })
                .collect();
            if common.is_empty() {
                continue;
            }
            let marks: Vec<String> = common.iter().map(|(mark, _)| (*mark).to_owned()).collect();
            let off =
                [0, 1, 2].map(|axis| mean(&common.iter().map(|(_, d)| d[axis]).collect::<Vec<_>>()).unwrap_or(0.0));
            let spread =
                common.iter().flat_map(|(_, d)| [0, 1, 2].map(|axis| (d[axis] - off[axis]).abs())).fold(0.0, f64::max);
            let shown = format!("E {:+.3} N {:+.3} up {:+.3} m", off[0], off[1], off[2]);
            let within = off[0].hypot(off[1]) <= settings.check_horizontal.in_metres()
                && off[2].abs() <= settings.check_vertical.in_metres();
            let list = list_some(&marks, 6);
            notes.push(if within {
                let text = format!("{name} agrees with {before} on {list} ({shown}), whose true place is not known");
                Note::good("survey::files-agree", text).at(whole(name))
            } else {
                let text = format!(
                    "{name} stands {shown} off {before} on {list}, which both shot (they differ by up to {spread:.3} m): a base on \
                     another place or with other coordinates, in one of them. To move this one: {}",
                    shift(name, off)
                );
                Note::new("survey::files-disagree", text).at(whole(name))
            });
        }
    }
}

/// Tells files whose check shots are all off by the same step, and what step would put them right.
pub(super) fn tell_checks(
    all: &[Candidate],
    checks: &[CheckShot],
    facts: &Facts,
    files: &[String],
    notes: &mut Vec<Note>,
) {
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
        } else if east.hypot(north) < 0.1 {
            facts.words(u32::try_from(index).unwrap_or(u32::MAX), up, spread / 2.0)
        } else {
            ": a base on another place or with other coordinates".to_owned()
        };
        let text = format!(
            "{file}: all {} check shots are off the same way, by E {east:+.3} N {north:+.3} up {up:+.3} m (they differ by \
             {spread:.3} m){why}. To move the whole file: {}",
            own.len(),
            shift(file, [east, north, up])
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

fn whole(file: &str) -> Place {
    Place::File { file: file.to_owned(), line: 0, column: 0 }
}

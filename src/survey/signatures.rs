//! What a blunder looks like: steps that a pole, an antenna or a geoid makes; shots with easting and northing exchanged or in
//! feet; the same shot twice; runs by one step; fixes that were none.
//!
//! Invariant: nothing here sets a shot aside or puts one back. A likeness is told beside what the other tests found, and only
//! where it explains the shot within what its neighbours know.

use super::candidate::{Candidate, name_of};
use super::leave_out::LeftOut;
use super::{Fix, Role, list_some};
use crate::frame::SiteFrame;
use crate::geom::Point;
use crate::notes::Note;
use crate::stats::{Observations, mean, median};
use std::collections::BTreeMap;

/// Steps of a pole that surveyors use, metres.
const POLE_STEPS: [f64; 7] = [0.1, 0.2, 0.3048, 0.5, 1.0, 1.8, 2.0];
/// An antenna's reference point lies so far below its phase centre, metres (common practice, no source).
const PHASE_CENTRE: std::ops::RangeInclusive<f64> = 0.03..=0.12;
/// Geoid separations on land, metres, by size: smaller ones cannot be told from other steps (common practice, no source).
const SEPARATION: std::ops::RangeInclusive<f64> = 5.0..=110.0;

/// What files say that tells one step from another.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Facts {
    /// Ellipsoidal height minus elevation, the middle one of all shots that give both, metres.
    separation: Option<f64>,
    /// Antenna (pole) height by file, the middle one, metres.
    antennas: BTreeMap<u32, f64>,
}

impl Facts {
    /// What the shots say.
    pub(super) fn of(all: &[Candidate]) -> Self {
        let separations: Vec<f64> = all
            .iter()
            .filter(|c| c.stands())
            .filter_map(|c| Some(c.shot.ellipsoid_height? - c.shot.elevation))
            .filter(|separation| SEPARATION.contains(&separation.abs()))
            .collect();
        let mut antennas: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
        for shot in all.iter().map(|c| &c.shot) {
            if let Some(height) = shot.quality.antenna_height.filter(|height| *height > 0.0) {
                antennas.entry(shot.file).or_default().push(height);
            }
        }
        let antennas = antennas.into_iter().filter_map(|(file, heights)| Some((file, median(&heights)?))).collect();
        Self { separation: median(&separations), antennas }
    }

    /// Words for a step in height of a file or of shots of it, with its standard error; empty where it is like nothing.
    pub(super) fn words(&self, file: u32, up: f64, sigma: f64) -> String {
        if sigma > 0.05 {
            return String::new();
        }
        let near = |step: f64| (up.abs() - step).abs() < (2.0 * sigma).clamp(0.008, 0.02);
        if let Some(height) = self.antennas.get(&file).filter(|height| near(**height)) {
            let what =
                if up > 0.0 { "not taken off: heights of the antenna, not of the tip" } else { "taken off twice" };
            return format!(", as much as the pole height of {height:.3} m that the file gives, so it was {what}");
        }
        // Elevation is height above the ellipsoid less the separation N (h = H + N): not taken off it leaves N, added in its place twice
        // N, taken off an elevation minus N.
        if let Some(separation) = self.separation {
            let like = [
                (1.0, "as much as", "above the ellipsoid"),
                (2.0, "twice as much as", "made with the geoid height of the wrong sign, added and not taken off"),
                (-1.0, "as much below as", "elevations already when a geoid height was taken off them"),
            ];
            let found = like.into_iter().find(|&(times, ..): &(f64, &str, &str)| {
                near((times * separation).abs()) && up * times * separation > 0.0
            });
            if let Some((_, much, what)) = found {
                return format!(
                    ", {much} ellipsoidal heights stand off elevations here ({separation:+.2} m), so they may be {what}"
                );
            }
        }
        if let Some(step) = POLE_STEPS.into_iter().find(|step| near(*step)).filter(|_| sigma <= 0.02) {
            return format!(", as a pole height wrong by {step} m would make it");
        }
        if SEPARATION.contains(&up.abs()) {
            return ", as much as a geoid separation, so its heights may be above the ellipsoid".to_owned();
        }
        if PHASE_CENTRE.contains(&up.abs()) && sigma <= 0.01 {
            return ", as an antenna makes it whose reference point and phase centre were taken for each other (3 to 12 cm)"
                .to_owned();
        }
        String::new()
    }
}

/// Tells what the shots off their neighbours, and those set aside before, look like.
pub(super) fn tell(
    found: &LeftOut,
    facts: &Facts,
    all: &[Candidate],
    names: &[String],
    frame: &SiteFrame,
    notes: &mut Vec<Note>,
) {
    let out = |i: usize| [&found.off, &found.doubtful, &found.together].into_iter().any(|list| list.contains(&i));
    let off: Vec<(usize, f64, f64)> =
        found.steps.iter().filter(|step| out(step.index)).map(|step| (step.index, step.off, step.sigma)).collect();
    tell_runs(all, &off, facts, names, notes);
    tell_false_fixes(all, &off, names, notes);
    let aside = (0..all.len()).filter(|&i| !all[i].stands() || found.off.contains(&i));
    tell_likenesses(all, aside, found, names, frame, notes);
    tell_identical(all, names, notes);
}

/// Tells runs of one file that stand off their neighbours by the same step one after another.
fn tell_runs(all: &[Candidate], off: &[(usize, f64, f64)], facts: &Facts, names: &[String], notes: &mut Vec<Note>) {
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
        let words = facts.words(all[run[0].0].shot.file, up, sigma);
        let why = match nearest {
            _ if !words.is_empty() => words,
            Some(step) => format!(", as a pole height wrong by {step} m would make it"),
            None => ": a base or pole height that changed would make it so".to_owned(),
        };
        let list: Vec<String> = run.iter().map(|shot| name_of(&all[shot.0], names)).collect();
        let text = format!(
            "{} follow each other and all stand {up:+.2} m (+- {sigma:.2} m) off their neighbours{why}",
            list_some(&list, 6)
        );
        notes.push(Note::new("survey::run-off", text));
    }
}

/// Tells fixed shots whose stated sigma is small and which stand off all the same.
fn tell_false_fixes(all: &[Candidate], off: &[(usize, f64, f64)], names: &[String], notes: &mut Vec<Note>) {
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

/// A way in which a shot was written down wrong, and where it would stand if it were so.
struct Likeness {
    what: &'static str,
    easting: f64,
    northing: f64,
    elevation: f64,
}

/// Feet per metre, and the other way round.
const FOOT: f64 = 0.3048;

fn likenesses(grid: Point, elevation: f64) -> [Likeness; 5] {
    let as_it = |what, (easting, northing, elevation)| Likeness { what, easting, northing, elevation };
    let (e, n, z) = (grid.x, grid.y, elevation);
    [
        as_it("easting and northing exchanged", (n, e, z)),
        as_it("a shot in feet among metres", (e * FOOT, n * FOOT, z * FOOT)),
        as_it("a shot in metres among feet", (e / FOOT, n / FOOT, z / FOOT)),
        as_it("an elevation in feet among metres", (e, n, z * FOOT)),
        as_it("an elevation in metres among feet", (e, n, z / FOOT)),
    ]
}

/// Tells shots that would stand among their neighbours if they were written down wrong in one of the usual ways.
fn tell_likenesses(
    all: &[Candidate],
    aside: impl Iterator<Item = usize>,
    found: &LeftOut,
    names: &[String],
    frame: &SiteFrame,
    notes: &mut Vec<Note>,
) {
    let sound: Vec<(Point, f64)> = all
        .iter()
        .enumerate()
        .filter(|(i, c)| c.stands() && c.shot.role.is_ground() && !found.off.contains(i))
        .map(|(_, c)| (c.shot.place, c.shot.elevation))
        .collect();
    let mut told: BTreeMap<&'static str, Vec<String>> = BTreeMap::new();
    for candidate in aside.map(|i| &all[i]).filter(|c| c.grid != Point::new(0.0, 0.0)) {
        let fits = |like: &Likeness| {
            let place = frame.from_grid_metres(like.easting, like.northing);
            let moved =
                place.distance(candidate.shot.place) > 1.0 || (like.elevation - candidate.shot.elevation).abs() > 1.0;
            moved && stands_among(&sound, place, like.elevation)
        };
        if let Some(like) = likenesses(candidate.grid, candidate.shot.elevation).into_iter().find(fits) {
            told.entry(like.what).or_default().push(name_of(candidate, names));
        }
    }
    for (what, shots) in told {
        let text = format!(
            "{}: {what}; so read, {} among the ground shots. Put it right in the file, or leave it set aside",
            list_some(&shots, 6),
            if shots.len() == 1 { "it stands" } else { "they stand" }
        );
        notes.push(Note::new("survey::looks-like", text));
    }
}

/// Neighbours that a plane is laid through.
const AROUND: usize = 8;

/// True where a place and height lie on the plane through the nearest shots, as well as those do themselves.
fn stands_among(sound: &[(Point, f64)], place: Point, elevation: f64) -> bool {
    let mut near: Vec<(f64, &(Point, f64))> = sound.iter().map(|shot| (shot.0.distance(place), shot)).collect();
    if near.len() < AROUND {
        return false;
    }
    near.select_nth_unstable_by(AROUND - 1, |a, b| a.0.total_cmp(&b.0));
    near.truncate(AROUND);
    let reach = near.iter().map(|(distance, _)| *distance).fold(0.0, f64::max);
    let nearest = near.iter().map(|(distance, _)| *distance).fold(f64::INFINITY, f64::min);
    let mut plane = Observations::of(3);
    for (_, (at, height)) in &near {
        plane.push(&[1.0, at.x - place.x, at.y - place.y], *height, 1.0);
    }
    let Some(plane) = plane.adjust() else { return false };
    let usual = plane.unit_sigma.unwrap_or(0.0).max(0.05);
    // Outside the shots the plane is a guess: as near as they are to each other, or not at all.
    let spacing = median(&near.iter().map(|(_, (at, _))| spacing_at(sound, *at)).collect::<Vec<_>>()).unwrap_or(reach);
    nearest <= 2.0 * spacing.max(0.5) && (elevation - plane.parameters[0]).abs() <= 5.0 * usual
}

/// Distance from a shot to the nearest other.
fn spacing_at(sound: &[(Point, f64)], at: Point) -> f64 {
    sound.iter().map(|(other, _)| other.distance(at)).filter(|distance| *distance > 0.0).fold(f64::INFINITY, f64::min)
}

/// Tells shots whose coordinates are the very same to the last digit: a receiver that hung, a shot stored twice, a file
/// joined twice.
fn tell_identical(all: &[Candidate], names: &[String], notes: &mut Vec<Note>) {
    let mut places: BTreeMap<[u64; 3], Vec<usize>> = BTreeMap::new();
    for (i, candidate) in all.iter().enumerate().filter(|(_, c)| c.stands() && c.shot.role != Role::Mark) {
        let shot = &candidate.shot;
        places.entry([shot.place.x, shot.place.y, shot.elevation].map(f64::to_bits)).or_default().push(i);
    }
    let same: Vec<&Vec<usize>> = places.values().filter(|shots| shots.len() > 1).collect();
    if same.is_empty() {
        return;
    }
    let mut groups: Vec<String> = same
        .iter()
        .map(|shots| shots.iter().map(|&i| name_of(&all[i], names)).collect::<Vec<_>>().join(" = "))
        .collect();
    groups.sort();
    let text = format!(
        "shots with the very same coordinates, to the last digit: {}; a receiver that hung, a shot stored twice or a file that \
         holds another's shots again: they count as one place, and not as repeats",
        list_some(&groups, 6)
    );
    notes.push(Note::new("survey::identical", text));
}

//! The shots to take after the dig, so that the as-built check can answer.
//!
//! Defaults are common practice, no source: the sill every 1 m or as close as its proof needs, crest and bed every 10 m, a cross section every 50 m. The
//! codes are the plain role names, which every code table reads back.

use super::along::steps;
use super::asked::Asked;
use super::settings::StakeSettings;
use crate::geom::{Point, Polyline};
use crate::notes::{Note, Place};
use crate::stats::points_to_prove;
use crate::surface::Locator;
use crate::units::{Elevation, Station};
use crate::water::weir;
use crate::works::{Section, Shared, Spillway, Swale};

/// More shots than this are not asked for on one sill; common practice, no source.
pub const MOST_SHOTS: usize = 60;
/// Shots closer than this tread on each other, metres; common practice, no source.
const CLOSEST: f64 = 0.1;
/// Standard deviation of a staff reading by level or laser on a short sight, metres; common practice, no source.
const LEVEL_SIGMA: f64 = 0.003;
/// Cross sections stand at least this far from the ends of the bed, metres.
const CLEAR_OF_END: f64 = 3.0;

/// Shots of one swale; `designed` gives the elevations of cross sections.
pub(super) fn as_built_shots(
    swale: &Swale,
    designed: Option<&Locator<'_>>,
    settings: &StakeSettings,
    asked: &mut Asked<'_>,
) {
    for spillway in &swale.spillways {
        for place in evenly(&spillway.lip, sill_shots(spillway, settings).count) {
            asked.add("sill", "S", "sill", place, spillway.sill.in_metres());
        }
    }
    for axis in &swale.crest_axes {
        for place in every(axis, settings.as_built_interval.in_metres()) {
            asked.add("crest", "C", "crest", place, swale.crest_at(place).in_metres());
        }
    }
    for crossing in &swale.crossings {
        let [uphill, downhill] = crossing.top();
        for place in [uphill, uphill.towards(downhill, 0.5), downhill] {
            asked.add("crest", "C", "crest", place, crossing.level().in_metres());
        }
    }
    for piece in swale.bed_pieces() {
        for place in every(&piece, settings.as_built_interval.in_metres()) {
            asked.add("bed", "B", "bed", place, swale.bed_at(place).in_metres());
        }
    }
    let Some(designed) = designed else { return };
    for station in section_stations(swale, settings.as_built_section.in_metres()) {
        let section = swale.section_at(Station::metres(station));
        let offsets =
            [section.top_offset, section.bed_offset, section.lip_offset, section.crest_offset, section.toe_offset];
        for offset in offsets {
            let place = swale.line.at_offset(station, offset.in_metres());
            // Off the surface there is nothing to compare with.
            if let Some(elevation) = designed.elevation(place) {
                asked.add("section", "T", code_at(swale.crest_at(place), &section, elevation), place, elevation);
            }
        }
    }
}

/// How many shots prove a sill, and whether they must be taken with a level or a laser.
pub(super) struct SillShots {
    /// To take.
    pub(super) count: usize,
    /// True when the rover's would be too many to ask for.
    pub(super) needs_a_level: bool,
    /// How many the rover's would be; `None` when no number would do.
    pub(super) with_the_rover: Option<usize>,
    /// What a sill must lie within, either way, metres.
    pub(super) tolerance: f64,
}

/// As many as prove a true sill to its tolerance by the scatter of a shot, none farther apart than asked. Where the rover
/// would need more of them than anyone takes, or too close, a level or a laser is asked for, and as many as it needs.
pub(super) fn sill_shots(spillway: &Spillway, settings: &StakeSettings) -> SillShots {
    let length = spillway.lip.length();
    let spaced = steps(0.0, length, settings.as_built_sill.in_metres()).len();
    let tolerance = settings.sill_tolerance.unwrap_or_else(|| weir::sill_tolerance(spillway.head)).in_metres();
    let roughness = settings.built_roughness.in_metres();
    let needed = |sigma: f64| points_to_prove(sigma.hypot(roughness), tolerance);
    let rover = needed(settings.shot_sigma.in_metres());
    match rover {
        Some(count) if count <= MOST_SHOTS && length / count as f64 >= CLOSEST => {
            SillShots { count: count.max(spaced), needs_a_level: false, with_the_rover: rover, tolerance }
        }
        _ => {
            let count = needed(LEVEL_SIGMA).map_or(spaced, |count| count.min(MOST_SHOTS).max(spaced));
            SillShots { count, needs_a_level: true, with_the_rover: rover, tolerance }
        }
    }
}

/// Told where shots with the rover cannot prove a sill.
pub(super) fn proof_note(works: Shared<'_>, spillway: &Spillway, settings: &StakeSettings) -> Option<Note> {
    let (several, works) = (works.spillways.len() > 1, works.name);
    let shots = sill_shots(spillway, settings);
    if !shots.needs_a_level {
        return None;
    }
    let rover = match shots.with_the_rover {
        Some(count) => format!("would take {count} of them"),
        None => "cannot be done with them".to_owned(),
    };
    let text = format!(
        "the sill of `{works}` must lie within {:.0} mm: to prove that by shots of {:.0} mm sigma {rover}; take the {} that \
         are asked for with a level or a laser",
        shots.tolerance * 1000.0,
        settings.shot_sigma.in_metres().hypot(settings.built_roughness.in_metres()) * 1000.0,
        shots.count
    );
    let station_m = f64::midpoint(spillway.from.in_metres(), spillway.to.in_metres());
    let place = Place::Station { works: works.to_owned(), station_m };
    Some(Note::new("stakeout::sill-needs-a-level", text)).map(|note| if several { note.at(place) } else { note })
}

/// Stations of cross sections: where the channel has its full section, clear of its ends.
fn section_stations(swale: &Swale, step: f64) -> Vec<f64> {
    let [first, last] = [swale.bed_axis.first(), swale.bed_axis.last()].map(|end| swale.line.foot(end).station);
    let (from, to) = (first + CLEAR_OF_END, last - CLEAR_OF_END);
    if from >= to {
        return vec![f64::midpoint(first, last)];
    }
    let mut stations = steps(from, to, step);
    // Where a change ends the new section stands for the first time.
    stations.extend(swale.wanted.changes.iter().map(|c| c.to().in_metres()).filter(|s| (from..=to).contains(s)));
    let undug = |station: f64| {
        let beside = |end: Station, out: f64| end.in_metres() + out * CLEAR_OF_END;
        swale.crossings.iter().any(|c| station > beside(c.undug.0, -1.0) && station < beside(c.undug.1, 1.0))
    };
    stations.retain(|&station| !undug(station));
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|later, earlier| *later - *earlier < CLEAR_OF_END);
    stations
}

/// A shot of a section that stands on crest or bed is coded so; the rest is on batters and ledge.
fn code_at(crest: Elevation, section: &Section, elevation: f64) -> &'static str {
    let is = |level: f64| (elevation - level).abs() < 0.005;
    if is(crest.in_metres()) {
        "crest"
    } else if is(section.bed.in_metres()) {
        "bed"
    } else {
        "built"
    }
}

fn every(line: &Polyline, step: f64) -> Vec<Point> {
    steps(0.0, line.length(), step).into_iter().map(|along| line.at(along)).collect()
}

pub(super) fn evenly(line: &Polyline, count: usize) -> Vec<Point> {
    let step = line.length() / (count.max(2) - 1) as f64;
    (0..count).map(|i| line.at(step * i as f64)).collect()
}

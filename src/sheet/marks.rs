//! Marks: which one the laser's staff stands on, which one proves it, and which will not live through the dig.

use super::input::DigSheetInput;
use crate::geom::Point;
use crate::survey::{Role, Shot};
use crate::units::Elevation;
use crate::works::{Shared, lost_in_the_dig};

/// A mark and how far it stands from a place, metres.
#[derive(Debug, Clone, Copy)]
pub(super) struct MarkNear<'a> {
    /// The shot that gives it.
    pub(super) shot: &'a Shot,
    /// Metres from the place.
    pub(super) away: f64,
    /// Which way it lies from the place, degrees clockwise from the frame's north, under 360.
    pub(super) bearing: f64,
    /// True when the works come too near to it.
    pub(super) doomed: bool,
}

/// Every mark once, by name, the first shot of each.
pub(super) fn marks<'a>(input: &DigSheetInput<'a>) -> Vec<&'a Shot> {
    let mut marks: Vec<&Shot> = Vec::new();
    for shot in input.survey.shots.iter().filter(|shot| shot.role == Role::Mark) {
        if marks.iter().all(|mark| mark.id != shot.id) {
            marks.push(shot);
        }
    }
    marks
}

/// Marks by their distance from a place, those that live through the dig first.
pub(super) fn nearest<'a>(input: &DigSheetInput<'a>, place: Point) -> Vec<MarkNear<'a>> {
    let mut near: Vec<MarkNear> = marks(input)
        .into_iter()
        .map(|shot| {
            let way = shot.place - place;
            let bearing = way.x.atan2(way.y).to_degrees().rem_euclid(360.0);
            MarkNear { shot, away: shot.place.distance(place), bearing, doomed: doomed(input, shot.place) }
        })
        .collect();
    near.sort_by(|a, b| a.doomed.cmp(&b.doomed).then(a.away.total_cmp(&b.away)));
    near
}

/// Heights that a staff reads from one set-up, metres: staffs are 3 m to 5 m long, and neither end is always in the beam.
/// Common practice, no source.
const STAFF_SPAN: f64 = 4.0;

/// The marks that a level is carried from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Chosen<'a> {
    /// The staff stands on it first.
    pub(super) staff: &'a MarkNear<'a>,
    /// True when it and the level it gives are read from one set-up.
    pub(super) in_one: bool,
    /// The next one that is read from the same set-up, if there is one.
    pub(super) proof: Option<&'a MarkNear<'a>>,
}

/// Picks the nearest mark from which a level is read with one staff, and the nearest other that proves it from the same
/// set-up; `None` without marks. `near` is in the order that they are wanted.
pub(super) fn staff_and_proof<'a>(near: &'a [MarkNear<'a>], level: Elevation) -> Option<Chosen<'a>> {
    let level = level.in_metres();
    let spans = |heights: &[f64]| {
        let (low, high) =
            heights.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &z| (low.min(z), high.max(z)));
        high - low <= STAFF_SPAN
    };
    let read = near.iter().find(|mark| spans(&[mark.shot.elevation, level]));
    let staff = read.or_else(|| near.first())?;
    let with_level = read.map_or(staff.shot.elevation, |_| level);
    let proof = near
        .iter()
        .find(|mark| mark.shot.id != staff.shot.id && spans(&[mark.shot.elevation, staff.shot.elevation, with_level]));
    Some(Chosen { staff, in_one: read.is_some(), proof })
}

/// Where the laser is wanted: the middle of the first sill, else the middle of the line.
pub(super) fn sill_place(work: Shared<'_>) -> Point {
    work.spillways.first().map_or_else(|| work.line.at(work.line.length() / 2.0), |s| s.lip.at(s.lip.length() / 2.0))
}

/// True when a place stands in the works or their haul, or too near to them to live.
pub(super) fn doomed(input: &DigSheetInput, place: Point) -> bool {
    lost_in_the_dig(input.plan, place)
}

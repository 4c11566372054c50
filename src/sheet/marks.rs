//! Marks: which one the laser's staff stands on, and which will not live through the dig.

use super::input::DigSheetInput;
use crate::geom::Point;
use crate::survey::{Role, Shot};
use crate::works::{CLEAR_OF_WORKS, Shared, clear_of};

/// A mark and how far it stands from a place, metres.
#[derive(Debug, Clone, Copy)]
pub(super) struct MarkNear<'a> {
    /// The shot that gives it.
    pub(super) shot: &'a Shot,
    /// Metres from the place.
    pub(super) away: f64,
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
        .map(|shot| MarkNear { shot, away: shot.place.distance(place), doomed: doomed(input, shot.place) })
        .collect();
    near.sort_by(|a, b| a.doomed.cmp(&b.doomed).then(a.away.total_cmp(&b.away)));
    near
}

/// Where the laser is wanted: the middle of the first sill, else the middle of the line.
pub(super) fn sill_place(work: Shared<'_>) -> Point {
    work.spillways.first().map_or_else(|| work.line.at(work.line.length() / 2.0), |s| s.lip.at(s.lip.length() / 2.0))
}

/// True when a place stands in the works or within [`CLEAR_OF_WORKS`] of them.
pub(super) fn doomed(input: &DigSheetInput, place: Point) -> bool {
    input.plan.shared().any(|work| clear_of(work, place) < CLEAR_OF_WORKS)
}

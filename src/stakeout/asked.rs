//! The as-built shots of one work as they are asked for: each gets its station and its name.

use super::ids::Names;
use super::stake::AsBuiltShot;
use crate::geom::Point;
use crate::works::Shared;

/// The shots asked for of one work.
pub(super) struct Asked<'a> {
    pub(super) work: Shared<'a>,
    /// With which its names begin.
    pub(super) letter: &'a str,
    pub(super) ids: &'a mut Names,
    pub(super) shots: &'a mut Vec<AsBuiltShot>,
}

impl Asked<'_> {
    /// Asks for one more, at its station along the work's line.
    pub(super) fn add(&mut self, part: &'static str, series: &str, code: &str, place: Point, design_elevation: f64) {
        let station = self.work.line.foot(place).station;
        self.shots.push(AsBuiltShot {
            id: self.ids.give(&format!("{}A{series}", self.letter), station),
            works: self.work.name.to_owned(),
            part,
            station,
            place,
            design_elevation,
            code: code.to_owned(),
        });
    }
}

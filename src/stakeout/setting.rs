//! One work being staked: from a place and what it names to the stake with its name and words.

use super::along::{stations, with};
use super::ids::Names;
use super::settings::StakeSettings;
use super::stake::{Action, Stake, StakeKind, Target, Way};
use super::writes::words;
use crate::geom::Point;
use crate::surface::Locator;
use crate::works::{Shared, Work};

/// Closer to the line than this a stake stands on it, metres.
const ON_LINE: f64 = 0.05;

/// One work being staked.
pub(super) struct Setting<'a> {
    pub(super) work: Shared<'a>,
    /// What lies to the left of its line, and to the right.
    pub(super) sides: [Way; 2],
    pub(super) natural: &'a Locator<'a>,
    pub(super) settings: &'a StakeSettings,
    pub(super) ids: &'a mut Names,
    pub(super) letter: &'a str,
}

/// The two sides of a work's line.
pub(super) const fn sides(work: &Work) -> [Way; 2] {
    match work {
        Work::Drain(drain) if !drain.uphill_on_left => [Way::Downhill, Way::Uphill],
        Work::Swale(_) | Work::Drain(_) => [Way::Uphill, Way::Downhill],
        Work::Pit(_) => [Way::Outwards, Way::Inwards],
        Work::Dam(_) => [Way::WaterSide, Way::DrySide],
    }
}

/// Where a stake stands and what it names, before it has a name and words.
pub(super) struct Spot {
    pub(super) kind: StakeKind,
    pub(super) station: f64,
    pub(super) place: Point,
    pub(super) target: Target,
    /// The nearest place of the target.
    pub(super) at: Point,
    pub(super) design: f64,
    /// The way to it, where that is not across the line.
    pub(super) way: Option<Way>,
}

impl Setting<'_> {
    pub(super) fn stake(&mut self, spot: &Spot) -> Stake {
        let series = match spot.kind {
            StakeKind::Line => "",
            StakeKind::Offset => "X",
            StakeKind::Sill => "S",
            StakeKind::Crest => "C",
            StakeKind::Toe => "T",
            StakeKind::Channel => "W",
        };
        let foot = self.work.line.foot(spot.place);
        let predicted_ground = self.natural.elevation(spot.place);
        let action = predicted_ground.map(|ground| Action::between(ground, spot.design));
        let away = spot.place.distance(spot.at);
        let across = self.sides[usize::from(self.work.line.foot(spot.at).offset <= foot.offset)];
        let way = spot.way.unwrap_or(across);
        Stake {
            id: self.ids.give(&format!("{}{series}", self.letter), spot.station),
            works: self.work.name.to_owned(),
            kind: spot.kind,
            station: spot.station,
            side: self.side(foot.offset),
            offset: foot.offset,
            place: spot.place,
            predicted_ground,
            mark_elevation: None,
            refers_to: spot.target,
            away,
            way,
            design_elevation: spot.design,
            action,
            writes: words(action, spot.target, away, way, self.settings.figures),
        }
    }

    fn side(&self, offset: f64) -> &'static str {
        if offset.abs() < ON_LINE {
            "on line"
        } else if offset > 0.0 {
            self.sides[0].side()
        } else {
            self.sides[1].side()
        }
    }

    /// The line's stations, with those at which its section changes; the sills' own are added to them for offset stakes.
    pub(super) fn stations(&self, changes: &[f64]) -> Vec<f64> {
        let (s, line) = (self.settings, self.work.line);
        let even = stations(line, s.interval.in_metres(), s.bend_interval.in_metres(), s.bend_radius.in_metres());
        with(even, changes, line.length())
    }
}

//! The key of a plan.
//!
//! Invariant: it names what its own view shows, and nothing else.

use super::input::{PlanInput, stake_shape, survey_lines};
use crate::draw::base::{BERM, BREAKLINE, CONTOUR, CONTOUR_LINE, CUT, EXIT, Key, OBSTACLE, SERVICE, SILL, UNSTABLE};
use crate::draw::cut::{FLOOR, WATER};
use crate::draw::scene::{Pen, Shape};
use crate::draw::view::View;
use crate::geom::{Polygon, Polyline};
use crate::stakeout::{Stake, StakeKind};
use crate::survey::Role;
use crate::works::drain::Drain;
use crate::works::{Kind, clear_of};

/// The key: only what the view shows.
pub(super) fn keys(input: &PlanInput, view: &View) -> Vec<Key> {
    let words = input.words;
    let shows = |polygons: &[Polygon]| polygons.iter().flat_map(|p| &p.outer).any(|&p| view.shows(p));
    let mut keys = Vec::new();
    if input.plan.shared().any(|work| shows(work.cut_footprint)) {
        keys.push(Key::Area(CUT, "dig".to_owned()));
    }
    if input.plan.shared().any(|work| shows(work.fill_footprint)) {
        let wall = input.plan.shared().any(|work| work.kind == Kind::Dam);
        keys.push(Key::Area(BERM, if wall { "fill" } else { "berm" }.to_owned()));
    }
    let has = |kinds: &[Kind]| input.plan.shared().any(|work| kinds.contains(&work.kind));
    let line = match (has(&[Kind::Swale]), has(&[Kind::Drain])) {
        (true, true) => Some("contour line, line of a drain"),
        (true, false) => Some("contour line"),
        (false, true) => Some("line of the drain"),
        (false, false) => None,
    };
    keys.extend(line.map(|line| Key::Line(CONTOUR_LINE, line.to_owned())));
    if has(&[Kind::Dam]) {
        if line.is_none() {
            keys.push(Key::Line(CONTOUR_LINE, "middle of the crest".to_owned()));
        }
        keys.push(Key::Line(WATER, "water when full".to_owned()));
    }
    if has(&[Kind::Pond, Kind::Borrow]) {
        keys.push(Key::Line(FLOOR, "floor, ramp".to_owned()));
    }
    keys.push(Key::Line(CONTOUR, "natural ground".to_owned()));
    let spillways = || input.plan.shared().flat_map(|work| work.spillways);
    let sills = spillways().any(|spillway| spillway.lip.points().iter().any(|&p| view.shows(p)));
    if sills {
        keys.push(Key::Line(Pen { width: 1.6, ..SILL }, "sill".to_owned()));
    }
    let runs_out = |drain: &Drain| {
        let ways = drain.run_out.iter().map(|out| &out.axis).chain(&drain.below);
        ways.flat_map(Polyline::points).any(|&p| view.shows(p))
    };
    if sills && spillways().any(|spillway| spillway.exit.is_some()) || input.plan.drains().any(runs_out) {
        keys.push(Key::Line(EXIT, "water runs off".to_owned()));
    }
    if survey_lines(input.survey).iter().flatten().any(|&p| view.shows(p)) {
        keys.push(Key::Line(BREAKLINE, "breakline".to_owned()));
    }
    let shots = || input.survey.shots.iter().filter(|shot| view.shows(shot.place));
    if shots().any(|shot| shot.role == Role::Service) {
        keys.push(Key::Line(SERVICE, "service".to_owned()));
    }
    if shots().any(|shot| shot.role == Role::Mark) {
        keys.push(Key::Mark(Shape::Triangle, "mark".to_owned()));
    }
    let unstable = input.plan.unstable.iter().flat_map(|ground| ground.area.outlines()).collect::<Vec<_>>();
    if shows(&unstable) {
        keys.push(Key::Area(UNSTABLE, "unstable ground".to_owned()));
    }
    if input.plan.obstacles().iter().any(|outline| outline.outer.iter().any(|&p| view.shows(p))) {
        keys.push(Key::Line(OBSTACLE, "obstacle, kept clear".to_owned()));
    }
    if input.plan.test_pits.iter().any(|pit| view.shows(pit.place)) {
        keys.push(Key::Mark(Shape::Pit, "test pit, its depth".to_owned()));
    }
    let (offset, on_line) = match has(&[Kind::Pond, Kind::Borrow, Kind::Dam]) {
        false => ("uphill", "on the line"),
        true if line.is_some() => ("offset", "on line or rim"),
        true => ("outside", "on the rim"),
    };
    let offsets = || input.stakes.stakes.iter().filter(|s| s.kind == StakeKind::Offset && view.shows(s.place));
    let stays = |stake: &&Stake| input.plan.named(&stake.works).is_none_or(|work| clear_of(work, stake.place) > 0.0);
    let offset = match (offsets().all(|s| stays(&s)), offsets().any(|s| stays(&s))) {
        (true, _) => format!("{offset}, stays"),
        (false, true) => format!("{offset}, not all stay"),
        (false, false) => format!("{offset}, goes in the dig"),
    };
    let offset = offset.as_str();
    let channel = match (has(&[Kind::Drain]), spillways().any(|spillway| spillway.outlet.is_some())) {
        (true, false) => "in the drain's run-out",
        (true, true) => "in a spillway's cut or a run-out",
        (false, _) => "in the spillway's cut",
    };
    for (kind, what) in [
        (StakeKind::Offset, offset),
        (StakeKind::Line, on_line),
        (StakeKind::Sill, "on the sill"),
        (StakeKind::Crest, "on the crest"),
        (StakeKind::Toe, "at the foot"),
        (StakeKind::Channel, channel),
    ] {
        if input.stakes.stakes.iter().any(|stake| stake.kind == kind && view.shows(stake.place)) {
            keys.push(Key::Mark(stake_shape(kind), format!("{} {what}", words.stake)));
        }
    }
    keys
}

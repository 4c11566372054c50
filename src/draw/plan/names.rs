//! What is named on a plan: marks, services, works, sills, where water leaves first, stakes.
//!
//! Invariant: a name that finds no room is counted on the board and drawn nowhere; one that had to move away from its
//! mark is tied to it.

use super::input::{PlanInput, service_runs};
use crate::draw::base::{FINE, TWELVE_POINT};
use crate::draw::labels::{LabelBoard, around, away_from, middle_of};
use crate::draw::scene::{Scene, Shape, Spot, Text};
use crate::draw::view::View;
use crate::geom::{Point, Polygon};
use crate::stakeout::{Stake, StakeKind};
use crate::survey::Role;
use crate::works::{Kind, SitePlan, clear_of};

/// Which stakes are named on a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Names {
    /// None: an overview.
    None,
    /// All but those on sills, which stand too close.
    NotSills,
    /// All.
    All,
}

/// Marks, places to keep out of, test pits with their depth and services: drawn, and named first of all labels.
pub(super) fn marks(scene: &mut Scene, input: &PlanInput, view: &View, board: &mut LabelBoard, texts: &mut Vec<Text>) {
    let survey = input.survey;
    let mut name = |at: Spot, says: String, board: &mut LabelBoard| {
        let text = Text::new(at, TWELVE_POINT, says).bold();
        texts.extend(board.place(around(at, 2.6, 20.0, &text)));
    };
    for shot in survey.shots.iter().filter(|shot| view.shows(shot.place)) {
        let (shape, says) = match shot.role {
            Role::Mark => (Shape::Triangle, shot.id.clone()),
            Role::KeepOut => (Shape::Cross, "KEEP OUT".to_owned()),
            _ => continue,
        };
        let at = view.spot(shot.place);
        scene.mark(at, shape, 4.0);
        board.keep_mark(at, 4.0);
        name(at, says, board);
    }
    for ground in &input.plan.unstable {
        let outlines = ground.area.outlines();
        let middle = outlines.iter().filter_map(Polygon::bounds).map(|b| b.low.towards(b.high, 0.5));
        if let Some(at) = middle.filter(|&at| view.shows(at)).map(|at| view.spot(at)).next() {
            name(at, format!("{} {}", ground.kind.words().to_uppercase(), ground.name), board);
        }
    }
    for pit in input.plan.test_pits.iter().filter(|pit| view.shows(pit.place)) {
        let at = view.spot(pit.place);
        scene.mark(at, Shape::Pit, 3.4);
        board.keep_mark(at, 3.4);
        name(at, format!("{} {}", pit.name, input.figures.length(pit.depth)), board);
    }
    for (code, run) in service_runs(&survey.shots) {
        if let Some(&place) = run.iter().find(|&&place| view.shows(place)) {
            name(view.spot(place), format!("SERVICE {code}"), board);
        }
    }
}

/// Names of the works, sills with their lengths, and the place where water leaves when that is not the sill.
pub(super) fn work_labels(input: &PlanInput, view: &View, board: &mut LabelBoard, texts: &mut Vec<Text>) {
    for crossing in input.plan.swales().flat_map(|swale| &swale.crossings) {
        let at = crossing.top()[0].towards(crossing.top()[1], 0.5);
        if view.shows(at) {
            let text = Text::new(view.spot(at), TWELVE_POINT, "CROSSING").bold();
            texts.extend(board.place(around(text.at, 4.0, 90.0, &text)));
        }
    }
    for work in input.plan.shared() {
        for spillway in work.spillways {
            let at = spillway.lip.at(spillway.lip.length() / 2.0);
            if view.shows(at) {
                let says = format!("SILL {}", input.figures.length(spillway.sill_length));
                let spot = view.spot(at);
                let downhill = spillway.lip.direction(spillway.lip.length() / 2.0).left() * -1.0;
                let lean = downhill.y.atan2(downhill.x).to_degrees();
                texts.extend(board.place(around(spot, 4.0, lean, &Text::new(spot, 5.0, says).bold())));
            }
        }
        if let Some(pool) = work.pool
            && let storage = pool.storage
            && !storage.at_sill
            && work.kind != Kind::Dam
            && view.shows(storage.spill_place)
        {
            let spot = view.spot(storage.spill_place);
            let text = match work.kind {
                // Over its sill, past higher ground beyond: no other way out.
                Kind::Swale if storage.spill > pool.water_level => Text::new(spot, TWELVE_POINT, "water leaves"),
                Kind::Swale => Text::new(spot, TWELVE_POINT, "SPILLS HERE FIRST").bold(),
                Kind::Pond | Kind::Borrow | Kind::Dam | Kind::Drain => {
                    Text::new(spot, TWELVE_POINT, "RUNS OVER HERE").bold()
                }
            };
            texts.extend(board.place(around(spot, 3.0, -90.0, &text)));
        }
        let middle = work.line.length() / 2.0;
        for share in [1.0, 0.7, 1.3, 0.4, 1.6] {
            let at = work.line.at(middle * share);
            if !view.shows(at) {
                continue;
            }
            let uphill = work.line.direction(middle * share).left();
            let spot = view.spot(at);
            let text = Text::new(spot, 5.6, work.name).bold();
            let reach = 7.0 * view.millimetres_a_metre();
            let ways = around(spot, reach, uphill.y.atan2(uphill.x).to_degrees(), &text);
            let own = |text: &Text| no_other_is_nearer(input.plan, work.name, view.place(middle_of(text)));
            if let Some(text) = board.place(ways.into_iter().filter(own)) {
                texts.push(text);
                break;
            }
            board.left_out -= 1;
        }
    }
}

/// True where a name reads as that of its own work: no other is nearer to the place.
fn no_other_is_nearer(plan: &SitePlan, name: &str, place: Point) -> bool {
    let own = plan.named(name).map_or(0.0, |work| clear_of(work, place));
    plan.shared().all(|other| other.name == name || clear_of(other, place) >= own)
}

pub(super) fn name_stakes(
    scene: &mut Scene,
    input: &PlanInput,
    view: &View,
    names: Names,
    board: &mut LabelBoard,
    texts: &mut Vec<Text>,
) {
    let shown = |stake: &&Stake| view.shows(stake.place) && (names == Names::All || stake.kind != StakeKind::Sill);
    let mut stakes: Vec<&Stake> = input.stakes.stakes.iter().filter(shown).collect();
    // Those that stay through the dig first.
    stakes.sort_by_key(|stake| match stake.kind {
        StakeKind::Sill => 0,
        StakeKind::Offset => 1,
        StakeKind::Crest | StakeKind::Toe | StakeKind::Channel => 2,
        StakeKind::Line => 3,
    });
    for stake in stakes {
        let spot = view.spot(stake.place);
        let lean = input.plan.named(&stake.works).map_or(90.0, |work| {
            let line = work.line;
            let foot = line.foot(stake.place);
            let uphill = line.direction(foot.station).left();
            let degrees = uphill.y.atan2(uphill.x).to_degrees();
            if foot.offset < -0.3 || (stake.kind == StakeKind::Line) { degrees + 180.0 } else { degrees }
        });
        let text = Text::new(spot, TWELVE_POINT, stake.id.as_str());
        if let Some(text) = board.place(around(spot, 2.0, lean, &text)) {
            // A name that had to move away, or that stands nearer to another mark, is tied to its own.
            let own = away_from(&text, spot);
            let others = input.stakes.stakes.iter().filter(|other| other.id != stake.id && view.shows(other.place));
            let nearest = others.map(|other| away_from(&text, view.spot(other.place))).fold(f64::INFINITY, f64::min);
            if text.at.distance(spot) > 5.5 || nearest < own + 0.3 {
                scene.straight(spot, text.at.moved(0.0, 0.28 * text.size), FINE);
            }
            texts.push(text);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::hillside::hillside;
    use crate::works::Work;

    #[test]
    fn a_name_does_not_stand_nearer_to_another_work() {
        let mut site = hillside(110.0);
        let Work::Swale(first) = site.plan.works[0].clone() else { panic!("a swale") };
        let mut other = first.clone();
        other.wanted.name = "other".to_owned();
        let moved = |area: &Polygon| Polygon::simple(area.outer.iter().map(|p| Point::new(p.x, p.y + 40.0)).collect());
        other.cut_footprint = first.cut_footprint.iter().map(moved).collect();
        other.fill_footprint = first.fill_footprint.iter().map(moved).collect();
        site.plan.works.push(Work::Swale(other));
        let on = first.line.at(first.line.length() / 2.0);
        for (north, upper, another) in
            [(0.0, true, false), (5.0, true, false), (40.0, false, true), (60.0, false, true)]
        {
            let place = Point::new(on.x, on.y + north);
            assert_eq!(no_other_is_nearer(&site.plan, "upper", place), upper, "{north}");
            assert_eq!(no_other_is_nearer(&site.plan, "other", place), another, "{north}");
        }
    }
}

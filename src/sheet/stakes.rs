//! The stake table, and what is written on this job's stakes.
//!
//! Invariant: one word and one number say what to do; neither a minus sign nor a nought is ever written as an amount.

use super::html::Html;
use super::input::{DigSheetInput, StakeSides};
use super::{levels, told};
use crate::draw::{StakeFaces, capital, stake_drawing};
use crate::stakeout::{Action, Stake, StakeKind, Target, amount};
use crate::units::{Elevation, Figures, Length};
use crate::works::{Kind, Shared, clear_of};

/// What to do from a stake's ground or mark to its target: `CUT 0.42`, `FILL 0.31`, `ON GRADE`; `SHOOT IT` when the
/// ground is not known there.
pub(super) fn action_words(stake: &Stake, figures: Figures) -> String {
    stake.action.map_or_else(|| "SHOOT IT".to_owned(), |action| amount(action, stake.refers_to, figures))
}

/// A target's height against the sill, a crest's never rounded down.
fn against_sill(target: Target, above: Length, figures: Figures) -> String {
    match target {
        Target::Crest => figures.crest_against_sill(above),
        _ => figures.against_sill(above),
    }
}

/// How far it is to the target, and which way.
fn away_words(stake: &Stake, figures: Figures) -> String {
    if figures.shows_as_nothing(stake.away) {
        return "here".to_owned();
    }
    format!("{} {}", figures.size(stake.away), stake.way.name())
}

/// The series of a kind of work: which stakes, whether only those that live through the dig or only those that do not,
/// and what they are called.
fn series(kind: Kind, stakes: &str) -> Vec<(StakeKind, Option<bool>, String)> {
    match kind {
        Kind::Swale => vec![
            (StakeKind::Offset, Some(true), format!("uphill of the line; these {stakes} stay")),
            (StakeKind::Offset, Some(false), "uphill of the line, in the dig or under the berm; these go".to_owned()),
            (StakeKind::Sill, None, "on the sill".to_owned()),
            (StakeKind::Line, None, "on the contour line; the dig takes these".to_owned()),
            (StakeKind::Crest, None, "on the crest of the berm".to_owned()),
            (StakeKind::Toe, None, "where the ramps of a crossing begin; the corners of its top are among the crest's".to_owned()),
        ],
        Kind::Pond | Kind::Borrow => vec![
            (StakeKind::Offset, Some(true), format!("outside the rim; these {stakes} stay")),
            (StakeKind::Offset, Some(false), "outside the rim, in other works; these go".to_owned()),
            (StakeKind::Line, None, "on the rim, where ground is broken, and at the head of a ramp".to_owned()),
        ],
        Kind::Drain => vec![
            (StakeKind::Offset, Some(true), format!("uphill of the line; these {stakes} stay")),
            (StakeKind::Offset, Some(false), "uphill of the line, in the dig or in other works; these go".to_owned()),
            (StakeKind::Line, None, "on the line; the dig takes these".to_owned()),
            (StakeKind::Crest, None, "on the crest of the berm, each with its own level to build to".to_owned()),
            (StakeKind::Channel, None, "on the middle of the run-out below its end; dug first".to_owned()),
        ],
        Kind::Dam => vec![
            (StakeKind::Offset, Some(true), format!("on the line of the crest beyond its ends; these {stakes} stay")),
            (
                StakeKind::Offset,
                Some(false),
                "on the line of the crest beyond its ends, in the works; these go".to_owned(),
            ),
            (StakeKind::Sill, None, "on the sill of the spillway; dug first".to_owned()),
            (
                StakeKind::Channel,
                None,
                "of the spillway's cut, counted from the start of its approach: on the middle of its floor, and where its sides meet the ground"
                    .to_owned(),
            ),
            (StakeKind::Toe, None, "at the feet of the wall, where the fill ends".to_owned()),
            (StakeKind::Crest, None, "on the middle of the crest, each with its own level to build to".to_owned()),
        ],
    }
}

/// The tables of stakes, work by work and series by series.
pub(super) fn stake_tables(html: &mut Html, input: &DigSheetInput) {
    let (figures, words) = (input.figures, input.words());
    html.heading(2, &format!("{} and what they say", capital(words.stakes)));
    let from_mark = input.stakes.stakes.iter().any(|stake| stake.mark_elevation.is_some());
    html.paragraph(
        "",
        &if from_mark {
            format!("CUT and FILL are from the mark on the {} to the level of its target.", words.stake)
        } else {
            format!(
                "CUT and FILL are from natural ground as surveyed, before any {} stands. Shoot the {} once they are in: \
                 the final numbers are from the line on each {}.",
                words.stake, words.stakes, words.stake
            )
        },
    );
    html.paragraph(
        "",
        &format!(
            "CUT: go down by that much. FILL: go up by that much. {}Numbers in {}.",
            if input.plan.swales().count() > 0 { "BED of a channel: Away is to the middle of the bed. " } else { "" },
            levels::unit_words(input)
        ),
    );
    let away = if figures.in_inches() { "Away".to_owned() } else { format!("Away, {}", figures.unit()) };
    let station = capital(words.station);
    let stake_word = capital(words.stake);
    told::stakes_in_danger(html, input);
    for work in input.plan.shared() {
        for (kind, lives, title) in series(work.kind, words.stakes) {
            let of_kind = |stake: &&Stake| {
                stake.works == work.name
                    && stake.kind == kind
                    && lives.is_none_or(|lives| lives == (clear_of(work, stake.place) > 0.0))
            };
            let rows: Vec<Vec<String>> =
                input.stakes.stakes.iter().filter(of_kind).map(|stake| row(input, work, stake)).collect();
            if rows.is_empty() {
                continue;
            }
            html.heading(3, &format!("{}: {title}", work.name));
            let target = format!("Target, against {}", levels::zero_words(work.kind));
            let head = [stake_word.as_str(), &station, "Is for", &away, "Do", &target];
            html.table("stakes", &head, &rows);
        }
    }
    let strangers: Vec<Vec<String>> = input
        .stakes
        .stakes
        .iter()
        .filter(|stake| input.plan.named(&stake.works).is_none())
        .map(|stake| {
            vec![
                stake.id.clone(),
                figures.station(stake.station),
                stake.refers_to.word().to_owned(),
                away_words(stake, figures),
                action_words(stake, figures),
            ]
        })
        .collect();
    if !strangers.is_empty() {
        html.heading(3, "Others");
        html.table("stakes", &[stake_word.as_str(), &station, "Is for", &away, "Do"], &strangers);
    }
}

fn row(input: &DigSheetInput, work: Shared<'_>, stake: &Stake) -> Vec<String> {
    let figures = input.figures;
    let target = Elevation::metres(stake.design_elevation) - work.zero;
    vec![
        stake.id.clone(),
        figures.station(stake.station),
        stake.refers_to.word().to_owned(),
        away_words(stake, figures),
        action_words(stake, figures),
        against_sill(stake.refers_to, target, figures),
    ]
}

/// A drawing of this job's stake with the words of a real one on it.
pub(super) fn stake_sample(html: &mut Html, input: &DigSheetInput) {
    let (figures, words) = (input.figures, input.words());
    let stakes = &input.stakes.stakes;
    // One that stays, with something to do some way off, shows most.
    let tells = |stake: &&Stake| matches!(stake.action, Some(Action::Cut(_) | Action::Fill(_)));
    let lives = |stake: &Stake| input.plan.shared().all(|work| clear_of(work, stake.place) > 0.0);
    let stays = |stake: &&Stake| stake.kind == StakeKind::Offset && tells(stake) && lives(stake);
    let sample = stakes.iter().filter(stays).find(|stake| stake.refers_to == Target::Bed && stake.away > 0.5);
    let Some(stake) = sample.or_else(|| stakes.iter().find(stays)).or_else(|| stakes.first()) else { return };
    let work = input.plan.named(&stake.works);
    let bed_of_swale =
        stake.refers_to == Target::Bed && work.is_some_and(|work| matches!(work.kind, Kind::Swale | Kind::Drain));
    let target = if bed_of_swale { "MIDDLE OF BED" } else { stake.refers_to.word() };
    let what_to_do = vec![
        target.to_owned(),
        action_words(stake, figures),
        match away_words(stake, figures).as_str() {
            "here" => "here".to_owned(),
            away => format!("go {away}"),
        },
    ];
    let sill = work.map_or(Elevation::metres(stake.design_elevation), |work| work.zero);
    let which = vec![
        stake.id.clone(),
        format!("{} {}", words.station_short, figures.station(stake.station)),
        against_sill(stake.refers_to, Elevation::metres(stake.design_elevation) - sill, figures),
    ];
    let (towards_works, away) = match input.stake_sides {
        StakeSides::WorkTowards => (what_to_do, which),
        StakeSides::WorkAway => (which, what_to_do),
    };
    html.heading(2, &format!("This job's {}", words.stake));
    html.drawing(&stake_drawing(&StakeFaces {
        towards_works,
        away,
        measured_from: "from this line".to_owned(),
        stake: words.stake,
    }));
    let offset = Length::metres(stake.offset.abs());
    html.paragraph(
        "",
        &format!(
            "{} {} stands {} {} {}. The number is from the line across the {} to the level of {}; \
             the way to {} is measured level, not along the slope.",
            capital(words.stake),
            stake.id,
            figures.length(offset),
            stake.side,
            match work.map(|work| work.kind) {
                None | Some(Kind::Swale) => "of the contour line",
                Some(Kind::Pond | Kind::Borrow) => "the rim",
                Some(Kind::Dam) => "of the crest's middle",
                Some(Kind::Drain) => "of the drain's line",
            },
            words.stake,
            stake.refers_to.word(),
            if bed_of_swale { "its middle" } else { "it" }
        ),
    );
}

//! Unstable ground near the works, in the crew's words.

use super::input::DigSheetInput;
use crate::units::Length;
use crate::works::{NearUnstable, Unstable};

/// Said of a work that comes near to unstable ground; it stands with the work.
pub(super) fn warnings(input: &DigSheetInput, name: &str) -> Vec<String> {
    let figures = input.figures;
    let one = |near: &NearUnstable| {
        let away = match near.away {
            away if away > Length::ZERO => format!("{} away", figures.with_unit(figures.size_down(away.in_metres()))),
            _ => "ON IT".to_owned(),
        };
        let (by, means) = (near.by.words(), near.kind.means(near.by));
        let station = figures.station(near.station.in_metres());
        format!("{by} {away} at {} {station} ({means})", input.words().station)
    };
    let of_one = |parts: &[NearUnstable]| {
        let named = parts.first().map_or_else(String::new, |near| format!("{} \"{}\"", near.kind.words(), near.ground));
        let parts: Vec<String> = parts.iter().map(one).collect();
        format!(
            "UNSTABLE GROUND: {named}: {}. Not begun there before someone licensed to judge it has done so.",
            parts.join("; ")
        )
    };
    input.plan.unstable_near(name).map(of_one).collect()
}

/// What to watch on a site with unstable ground; nothing where none is marked.
pub(super) fn caution(input: &DigSheetInput) -> Option<String> {
    if input.plan.unstable.is_empty() {
        return None;
    }
    let named: Vec<String> =
        input.plan.unstable.iter().map(|ground| format!("{} \"{}\"", ground.kind.words(), ground.name)).collect();
    let slips = input.plan.unstable.iter().any(|ground| ground.kind == Unstable::Slip);
    let cracks = if slips { " New cracks, a bulge or leaning posts: everybody out from below, and call." } else { "" };
    Some(format!(
        "Unstable ground: {}, as marked and drawn; there may be more. No heaps, machines or water parked on it or above it.{cracks} Local law and someone licensed to judge such ground come before this sheet.",
        named.join(", ")
    ))
}

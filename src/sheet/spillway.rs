//! What to build: the spillway of a dam or pond in words, and what is open about it.

use super::input::DigSheetInput;
use super::levels::about;
use crate::asbuilt::Tolerance;
use crate::draw::batter_words;
use crate::units::Length;
use crate::water::weir;
use crate::works::{Outlet, Spillway};

/// What stops the dig until somebody who may answers for it.
pub(super) fn warnings(input: &DigSheetInput, spillway: &Spillway) -> Vec<String> {
    let figures = input.figures;
    let mut says = Vec::new();
    if spillway.on_fill {
        says.push(format!(
            "SILL PARTLY ON FILL: ground under the sill is up to {} too low. Only the engineer's lined design builds that part; it is not on this sheet.",
            figures.at_most(spillway.ground_above_sill.1.in_metres())
        ));
    }
    let Some(outlet) = &spillway.outlet else { return says };
    if let Some(run) = outlet.run.filter(|run| run.too_fast()) {
        says.push(format!(
            "SPILLWAY WATER TOO FAST: {} in its channel, more than {} holds. Ask before digging.",
            speed(input, run.speed),
            outlet.cover.name()
        ));
    }
    if outlet.run.is_some_and(|run| run.energy > spillway.head) {
        says.push("SPILLWAY CHANNEL TOO FLAT: it holds the flood up over the sill, and less was counted on. Ask before digging.".to_owned());
    }
    if let Some(run) = outlet.below.filter(|run| run.too_fast()) {
        says.push(format!(
            "BELOW THE SPILLWAY: the ground is steep enough for water at {}, more than {} holds. It eats back into the channel unless it is spread or lined.",
            speed(input, run.speed),
            outlet.cover.name()
        ));
    }
    says
}

/// What the sill may be off its level at the check.
pub(super) fn allowed(input: &DigSheetInput, spillway: &Spillway) -> Tolerance {
    input.tolerances.sill.unwrap_or_else(|| Tolerance::both(weir::sill_tolerance(spillway.head)))
}

/// The spillway in sentences, in the order it is dug.
pub(super) fn in_words(input: &DigSheetInput, spillway: &Spillway) -> Vec<String> {
    let (figures, words) = (input.figures, input.words());
    let Some(outlet) = &spillway.outlet else { return Vec::new() };
    let batter = batter_words(outlet.batter);
    let mut says = vec![
        format!(
            "Sill: level for {} across the flow and {} along it, at {}, cut into ground that was never dug or filled. Cut to level, never fill to level.",
            figures.length(spillway.sill_length),
            figures.length(spillway.sill_breadth),
            words.full_level
        ),
        format!(
            "Approach: {} from the water to the sill, the same width, falling {:.1} % back to the water. Sides {batter}.",
            about(input, Length::metres(outlet.sill.0)),
            approach_fall(outlet)
        ),
        format!(
            "Channel: {} from the sill to where the ground falls away, the same width, falling {:.1} %. Sides {batter}, up to {} high. Its bottom level from side to side.",
            about(input, Length::metres(outlet.axis.length() - outlet.sill.1)),
            spillway.exit_fall.in_percent(),
            figures.length(outlet.deepest)
        ),
    ];
    if let Some(run) = outlet.run {
        says.push(format!(
            "The design flow runs {} deep over the sill (before the approach it stands {} over it), up to {} deep and {} in the channel ({} holds {}).",
            figures.length(spillway.head),
            figures.length(spillway.flood_rise()),
            figures.length(run.depth),
            speed(input, run.speed),
            outlet.cover.name(),
            run.permissible.map_or_else(|| "none of it".to_owned(), |limit| speed(input, limit))
        ));
    }
    if let Some(clear) = outlet.clear {
        let water = outlet
            .clear_water
            .map_or_else(String::new, |clear| format!("; the water below it keeps {} clear", figures.length(clear)));
        says.push(format!(
            "Clear of fill: the cut keeps {}{water}. No earth of it is heaped between.",
            figures.length(clear)
        ));
    }
    says
}

/// Per cent.
fn approach_fall(outlet: &Outlet) -> f64 {
    let fallen = outlet.floor_at(outlet.sill.0) - outlet.floor_at(0.0);
    100.0 * fallen / outlet.sill.0.max(1e-9)
}

/// A speed in the unit that people read.
fn speed(input: &DigSheetInput, metres_a_second: f64) -> String {
    let figures = input.figures;
    format!("{:.1} {}/s", figures.number(metres_a_second), figures.unit())
}

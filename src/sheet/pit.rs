//! What to dig: a pond or borrow pit in words, and its levels.

use super::html::Html;
use super::input::DigSheetInput;
use super::levels::{about, allowed_words, level_row, level_table, unit_words, zero_words};
use super::spillway;
use crate::draw::batter_words;
use crate::units::{Elevation, Length};
use crate::works::limits::RAMP;
use crate::works::pit::{Pit, Purpose};

/// The box of a pit: what it is, what is open about it, its levels.
pub(super) fn pit_box(html: &mut Html, input: &DigSheetInput, pit: &Pit) {
    let what = match pit.wanted.purpose {
        Purpose::Pond => "pond",
        Purpose::Borrow => "borrow pit",
    };
    html.heading(2, &format!("Dig: {what} \"{}\"", pit.wanted.name));
    for warning in warnings(input, pit) {
        html.paragraph("warning", &warning);
    }
    html.list(false, &in_words(input, pit));
    levels(html, input, pit);
    for spillway in &pit.spillways {
        html.heading(2, &format!("Dig first: the spillway of \"{}\"", pit.wanted.name));
        html.list(false, &spillway::in_words(input, spillway));
    }
}

fn in_words(input: &DigSheetInput, pit: &Pit) -> Vec<String> {
    let (figures, words) = (input.figures, input.words());
    let sides: Vec<Length> = (0..pit.floor.outer.len())
        .map(|k| Length::metres(pit.floor.outer[k].distance(pit.floor.outer[(k + 1) % pit.floor.outer.len()])))
        .collect();
    let alike = |a: usize, b: usize| (sides[a] - sides[b]).in_metres().abs() < 0.005;
    let floor = if sides.len() == 4 && alike(0, 2) && alike(1, 3) {
        format!("{} by {}", figures.length(sides[0].max(sides[1])), figures.length(sides[0].min(sides[1])))
    } else {
        let area = crate::units::Area::square_metres(pit.floor.area());
        format!("{} sides, {}", sides.len(), figures.area(area))
    };
    let alike = pit.batters.iter().all(|batter| *batter == pit.batters[0]);
    let batters = if alike {
        format!("all sides {}", batter_words(pit.batters[0]))
    } else {
        let each: Vec<String> =
            pit.batters.iter().enumerate().map(|(k, &b)| format!("{} {}", k + 1, batter_words(b))).collect();
        format!("sides {} (numbered on the plan)", each.join(", "))
    };
    let mut says = vec![
        format!("Floor: level, {floor}, {} below the lowest ground over it.", figures.length(pit.depth)),
        format!(
            "Sides: {batters}, from the floor up to the ground. The rim is where the {} on it stand.",
            words.stakes
        ),
    ];
    if let (Some(level), Some(asked)) = (pit.shelf, pit.wanted.shelf) {
        says.push(format!(
            "Shelf: level, {} wide all round, {} under the full level ({} {}).",
            figures.length(asked.width),
            figures.length(pit.water_level - level),
            words.elevation_short,
            figures.elevation(level)
        ));
    }
    if let Some(ramp) = &pit.ramp {
        says.push(format!(
            "Ramp: {} wide, {} along, {} long in plan, from the floor out to the ground.",
            figures.length(ramp.width),
            batter_words(ramp.slope),
            about(input, Length::metres(ramp.axis.length()))
        ));
    }
    let (low, place) = pit.low_rim;
    let (easting, northing) = input.ground.frame.to_frame(place);
    if let Some(spillway) = pit.spillways.first() {
        says.push(format!(
            "Runs over: at its spillway. The flood stands {} over the level of the sill; the lowest place of the rim, E {easting:.1} N {northing:.1}, is {} above the sill. No earth is taken from there.",
            figures.length(spillway.flood_rise()),
            figures.length(low - pit.water_level)
        ));
    } else if let Some(over) = input.plan.flooded_by(&pit.wanted.name, place) {
        says.push(format!(
            "Under water: when the water of \"{}\" stands full it covers the lowest place of the rim, E {easting:.1} N {northing:.1}, {} deep, and the pit with it. Dig it before that water is let in.",
            over.name,
            figures.length(over.zero - low)
        ));
    } else {
        says.push(format!(
            "Runs over: more water than it holds leaves at E {easting:.1} N {northing:.1}, the lowest place of its rim. See that the way from there is safe and grassed; nothing is heaped across it."
        ));
    }
    if let Some(placed) = &pit.placed {
        says.push(format!(
            "Place: chosen for the shortest way to the fill of {}, {} on the mean in a straight line. Moved for rock, sand or water in the ground, it is to be drawn anew.",
            placed.beside,
            about(input, placed.mean)
        ));
    }
    if let Some(through) = &pit.wanted.through {
        says.push(format!("It is dug through the fill of {through}."));
    }
    says
}

fn levels(html: &mut Html, input: &DigSheetInput, pit: &Pit) {
    let figures = input.figures;
    let full = pit.water_level;
    let zero = match pit.wanted.purpose {
        Purpose::Pond => "full-level",
        Purpose::Borrow => "low-rim",
    };
    let row = |name: &str, level: Elevation| {
        let above = level - full;
        level_row(input, (name, figures.against_sill(above)), zero, above, &figures.size(above.in_metres()), level)
    };
    let mut named: Vec<(&str, Elevation)> = Vec::new();
    if pit.wanted.purpose == Purpose::Pond {
        named.push(("LOW RIM", pit.low_rim.0));
    }
    named.push((if pit.wanted.purpose == Purpose::Pond { "FULL" } else { "LOW RIM" }, full));
    named.extend(pit.shelf.map(|level| ("SHELF", level)));
    named.push(("FLOOR", pit.floor_level));
    level_table(html, input, named.iter().map(|&(name, level)| row(name, level)).collect(), &named);
    html.paragraph("", &format!("All in {}, against {}.", unit_words(input), zero_words(pit.wanted.kind())));
    let allowed = allowed_words(figures, input.tolerances.bed);
    let sill = pit.spillways.first().map_or_else(String::new, |spillway| {
        format!("sill {}, ", allowed_words(figures, spillway::allowed(input, spillway)))
    });
    html.paragraph("", &format!("Allowed at the check: {sill}floor {allowed}. Sides never steeper than drawn."));
}

fn warnings(input: &DigSheetInput, pit: &Pit) -> Vec<String> {
    let mut says: Vec<String> = pit.spillways.iter().flat_map(|spillway| spillway::warnings(input, spillway)).collect();
    says.extend(super::unstable::warnings(input, &pit.wanted.name));
    says.extend(super::soil::warning(input, &pit.wanted.name));
    let flattest = pit.batters.iter().map(|b| b.in_horizontal_per_vertical()).fold(0.0, f64::max);
    if pit.ramp.is_none() && flattest < RAMP - 1e-9 {
        says.push(format!(
            "NO WAY OUT: no side is as flat as {RAMP}H:1V and there is no ramp. What falls in cannot walk out: fence it."
        ));
    }
    says
}

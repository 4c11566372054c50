//! What to build: a dam in words, its levels, and what must stand before anyone builds it.

use super::html::Html;
use super::input::DigSheetInput;
use super::levels::{about, allowed_words, level_row, level_table, placement_words, unit_words, zero_words};
use super::spillway;
use crate::draw::batter_words;
use crate::units::{Elevation, Length};
use crate::works::Kind;
use crate::works::dam::Dam;

/// The box of a dam: what is open about it, what it is, its levels.
pub(super) fn dam_box(html: &mut Html, input: &DigSheetInput, dam: &Dam) {
    html.heading(2, &format!("Build: wall \"{}\" with water held behind it", dam.wanted.name));
    for warning in warnings(input, dam) {
        html.paragraph("warning", &warning);
    }
    html.list(false, &in_words(input, dam));
    levels(html, input, dam);
    for spillway in &dam.spillways {
        html.heading(2, &format!("Dig first: the spillway of \"{}\"", dam.wanted.name));
        html.list(false, &spillway::in_words(input, spillway));
    }
}

/// What stops the work until somebody who may answers for it.
fn warnings(input: &DigSheetInput, dam: &Dam) -> Vec<String> {
    let mut says = Vec::new();
    if dam.spillways.is_empty() {
        says.push("NO SPILLWAY: this drawing has none. A flood goes over the wall and takes it away. Do not build before a spillway on natural ground is designed, and dug first.".to_owned());
    }
    says.push("A WALL THAT HOLDS WATER: local law on dams comes first, and an engineer who answers for it. This sheet is no leave to build.".to_owned());
    says.extend(dam.spillways.iter().flat_map(|spillway| spillway::warnings(input, spillway)));
    for way in &dam.ways_out {
        let (easting, northing) = input.ground.frame.to_frame(way.place);
        let over = dam.flood_level() - way.level;
        let flood = if over > Length::ZERO {
            format!("the flood that this wall is drawn for stands {} over it", input.figures.length(over))
        } else {
            "a flood larger than the one that this wall is drawn for runs there".to_owned()
        };
        says.push(format!(
            "ANOTHER WAY OUT: {} at E {easting:.1} N {northing:.1}, {} above full and {} below the crest, water leaves{}: {flood}. Look at where it would run before anything is built.",
            if way.at_survey_edge { "where the survey ends" } else { "a low saddle" },
            input.figures.length(way.level - dam.crest.water_level),
            input.figures.length(dam.crest.settled_required() - way.level),
            if dam.spillways.is_empty() { "" } else { " beside the spillway" },
        ));
    }
    says.extend(super::amounts::short_of_earth(input, &dam.wanted.name));
    says.extend(super::unstable::warnings(input, &dam.wanted.name));
    says.extend(super::soil::warning(input, &dam.wanted.name));
    if !dam.beyond.is_empty() {
        says.push(format!(
            "BEYOND FARM PRACTICE: {} high, holding about {}. Published rules for farm ponds do not reach so far: only an engineer's own design may be built.",
            input.figures.length(dam.height.0),
            input.figures.water(dam.storage.volume)
        ));
    }
    says
}

fn in_words(input: &DigSheetInput, dam: &Dam) -> Vec<String> {
    let (figures, words, wanted) = (input.figures, input.words(), &dam.wanted);
    let mut says = vec![
        format!(
            "Wall: {} along its crest, {} high at {} {}, crest {} wide; water side {}, dry side {}.",
            about(input, Length::metres(dam.line.length())),
            figures.length(dam.height.0),
            words.station,
            figures.station(dam.height.1.in_metres()),
            figures.length(dam.crest_width),
            batter_words(wanted.upstream),
            batter_words(wanted.downstream)
        ),
        format!("Fill: {}, wide and level from side to side, no low gap overnight.", placement_words(wanted.placement, words.layers)),
        match wanted.key {
            Some(key) => format!(
                "Cutoff: a trench along the middle of the crest and up both ends, {} wide at the bottom, {} into firm ground under the stripped seat, sides {}. Filled with the best clay in rolled {}. Looked at before it is filled (hold point).",
                figures.length(key.width),
                figures.length(key.depth),
                batter_words(key.batter),
                words.layers
            ),
            None => "Cutoff: NONE is drawn. Water finds its way along the old surface under a wall.".to_owned(),
        },
        format!(
            "Crest: built higher where the wall is higher, so that it settles level: each {} says its own BUILD TO.",
            words.stake
        ),
        "Ends: both run into natural ground as high as the crest. Pegs stand on the line of the crest beyond both ends: keep them.".to_owned(),
        format!(
            "Water: held at {}; about {} over {}.",
            words.full_level,
            figures.water(dam.storage.volume),
            figures.area(dam.storage.area)
        ),
    ];
    if wanted.topsoil > Length::ZERO {
        says.insert(
            1,
            format!(
                "Seat: {} of {} off, then ripped across; never built on grass.",
                figures.length(wanted.topsoil),
                words.topsoil
            ),
        );
    }
    says
}

fn levels(html: &mut Html, input: &DigSheetInput, dam: &Dam) {
    let (figures, crest) = (input.figures, &dam.crest);
    let full = crest.water_level;
    let settled = crest.settled_required();
    let lowest = settled - dam.height.0;
    let row = |name: &str, level: Elevation, up: bool| {
        let above = level - full;
        let (says, size) = if up {
            (figures.crest_against_sill(above), figures.size_up(above.in_metres()))
        } else {
            (figures.against_sill(above), figures.size(above.in_metres()))
        };
        let says = if name == "CREST" { format!("BUILD TO {says}") } else { says };
        level_row(input, (name, says), "full-level", above, &size, level)
    };
    let named =
        [("CREST", crest.built, true), ("SETTLED", settled, true), ("FULL", full, false), ("FOOT", lowest, false)];
    let rows = named.iter().map(|&(name, level, up)| row(name, level, up)).collect();
    level_table(html, input, rows, &named.map(|(name, level, _)| (name, level)));
    html.paragraph(
        "",
        &format!(
            "All in {}, against {}. CREST is at the highest place of the wall; elsewhere as on the {}.",
            unit_words(input),
            zero_words(Kind::Dam),
            input.words().stakes
        ),
    );
    let wave = match dam.wanted.wave {
        none if none == Length::ZERO => String::new(),
        wave => format!(" + waves {}", figures.size(wave.in_metres())),
    };
    html.paragraph(
        "",
        &format!(
            "Crest: {} 0 + flood rise {}{wave} + freeboard {} = {} settled; + settling {} there = {}.",
            input.words().full_level,
            figures.size(dam.flood_rise.in_metres()),
            figures.size(crest.freeboard.in_metres()),
            figures.size_up((settled - full).in_metres()),
            figures.size_up(crest.settlement.in_metres()),
            figures.size_up((crest.built - full).in_metres())
        ),
    );
    let held = input.tolerances.crest;
    let sill = dam.spillways.first().map_or_else(String::new, |spillway| {
        format!("sill {}, ", allowed_words(figures, spillway::allowed(input, spillway)))
    });
    let allowed = allowed_words(figures, held);
    html.paragraph("", &format!("Allowed at the check: {sill}crest {allowed}. Sides never steeper than drawn."));
}

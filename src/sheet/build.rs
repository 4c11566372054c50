//! What to build: a work in words, its levels against the sill, the laser line, and the order of the work.

use super::html::Html;
use super::input::DigSheetInput;
use super::levels::{about, allowed_words, level_row, level_table, placement_words, unit_words, zero_mark, zero_words};
use super::marks::{MarkNear, nearest, sill_place, staff_and_proof};
use super::{dam, drain, pit};
use crate::asbuilt::Tolerance;
use crate::draw::{batter_words, capital};
use crate::units::{Elevation, Length, Station};
use crate::water::weir;
use crate::works::LASER_REACH;
use crate::works::{
    Berm, ChannelShape, Crossing, Kind, LineEdge, Section, SectionChange, Shared, Sizes, Spillway, Swale, Work,
    clear_of, too_narrow_to_drive,
};

/// The box that comes first: what to build, in words and in large numbers.
pub(super) fn build_box(html: &mut Html, input: &DigSheetInput, work: &Work) {
    html.open("div", "build");
    match work {
        Work::Swale(swale) => swale_box(html, input, swale),
        Work::Pit(pit) => pit::pit_box(html, input, pit),
        Work::Dam(dam) => dam::dam_box(html, input, dam),
        Work::Drain(drain) => drain::drain_box(html, input, drain),
    }
    for line in laser_lines(input, work.shared()) {
        html.paragraph("laser", &line);
    }
    html.close("div");
}

fn swale_box(html: &mut Html, input: &DigSheetInput, swale: &Swale) {
    html.heading(2, &format!("Build: level swale \"{}\"", swale.wanted.name));
    for warning in warnings(input, swale) {
        html.paragraph("warning", &warning);
    }
    html.list(false, &in_words(input, swale));
    levels(html, input, swale);
}

/// The work in sentences.
fn in_words(input: &DigSheetInput, swale: &Swale) -> Vec<String> {
    let (figures, words, section) = (input.figures, input.words(), &swale.section);
    let edge = match section.line_edge {
        LineEdge::DownhillLip => "the downhill lip of the channel",
        LineEdge::Centre => "the middle of the channel",
        LineEdge::UphillEdge => "the uphill edge of the channel",
    };
    let length = Length::metres(swale.line.length());
    let mut says = vec![
        format!(
            "Line: {} along the {} on the contour, {edge} on it. {}",
            about(input, length),
            words.stakes,
            how_level(input, swale)
        ),
        channel_words(input, swale),
        format!(
            "Berm: on the downhill side only, {} clear of the lip, crest {} wide, both {} {}, {}.",
            figures.length(section.ledge),
            figures.length(section.crest_width),
            words.batters,
            batter_words(section.berm_batter),
            placement_words(swale.wanted.placement, words.layers)
        ),
    ];
    says.extend(changes(input, swale));
    says.extend(swale.wanted.key.map(|key| {
        format!(
            "Key: before the berm, a trench along its middle, {} wide at the bottom, {} under the stripped seat, sides {}. LOOKED AT, then filled again in pressed {}.",
            figures.length(key.width),
            figures.length(key.depth),
            batter_words(key.batter),
            words.layers
        )
    }));
    let (_, narrow) = too_narrow_to_drive(&swale.wanted);
    if narrow > Length::ZERO {
        says.push(format!(
            "Top of the berm: its last {} are too narrow to drive on. Place and press them with the bucket.",
            figures.with_unit(figures.size_up(narrow.in_metres()))
        ));
    }
    says.extend(swale.spillways.iter().map(|spillway| spillway_words(input, swale, spillway)));
    says.extend(swale.crossings.iter().map(|crossing| crossing_words(input, crossing)));
    says.push(ends_words(input, swale));
    says
}

/// How the berm ends.
fn ends_words(input: &DigSheetInput, swale: &Swale) -> String {
    let turned: Vec<String> = swale.ends.iter().map(|end| input.figures.length(end.turned_length)).collect();
    // Stations may run either way: each end is named as the site's file names it, with its station.
    let word = |k: usize| swale.ends[k].name.word();
    let names = [0, 1].map(|k| {
        let station = if k == 0 { 0.0 } else { swale.line.length() };
        format!("the {} end ({} {})", word(k), input.words().station, input.figures.station(station))
    });
    let (from, until) = ("the berm turns uphill at", "until the ground is as high as its crest");
    let open = "left OPEN as an overflow: the berm stops at the sill, and natural ground beside it stays as it is, level with the sill, grassed, never dug or driven";
    match swale.ends.map(|end| end.overflow) {
        [false, false] => {
            format!("Ends: {from} both ends {until}: {} at {}, {} at {}.", turned[0], names[0], turned[1], names[1])
        }
        [true, true] => format!("Ends: both {open}."),
        [true, false] => format!("Ends: {from} {} {until} ({}). The {} end is {open}.", names[1], turned[1], word(0)),
        [false, true] => format!("Ends: {from} {} {until} ({}). The {} end is {open}.", names[0], turned[0], word(1)),
    }
}

/// The channel across.
fn channel_words(input: &DigSheetInput, swale: &Swale) -> String {
    let (figures, batter, section) = (input.figures, input.words().batter, &swale.section);
    let [uphill, downhill] = [section.uphill_batter, section.downhill_batter].map(batter_words);
    match swale.wanted.shape {
        ChannelShape::Trapezoid { bottom_width } => format!(
            "Channel: bed {} wide, uphill {batter} {uphill}, downhill {batter} {downhill}.",
            figures.length(bottom_width)
        ),
        ChannelShape::Triangle => {
            format!("Channel: a V without a flat bed, uphill {batter} {uphill}, downhill {batter} {downhill}.")
        }
        ChannelShape::Parabola { top_width } => format!(
            "Channel: a round bowl {} wide at the full level and {} deep in the middle; halfway from the middle to its edge it is still \
             {} deep. Above the full level uphill {batter} {uphill}.",
            figures.length(top_width),
            figures.length(swale.wanted.depth),
            figures.length(swale.wanted.depth * 0.75)
        ),
    }
}

/// Where the section changes along the line, and to what.
fn changes(input: &DigSheetInput, swale: &Swale) -> Vec<String> {
    let (figures, words) = (input.figures, input.words());
    let all = swale.wanted.all_sizes();
    let changed = |(pair, change): (&[(Station, Sizes)], &SectionChange)| {
        let (before, after) = (&pair[0].1, &pair[1].1);
        let mut says = Vec::new();
        if before.width != after.width {
            let what = match swale.wanted.shape {
                ChannelShape::Parabola { .. } => "wide at the full level",
                ChannelShape::Trapezoid { .. } | ChannelShape::Triangle => "wide at the bed",
            };
            says.push(format!("{} {what}", figures.length(after.width)));
        }
        if before.depth != after.depth {
            says.push(format!("bed {} below the sill", figures.length(after.depth)));
        }
        let batters = [
            (before.uphill_batter, after.uphill_batter, format!("uphill {}", words.batter)),
            (before.downhill_batter, after.downhill_batter, format!("downhill {}", words.batter)),
            (before.berm_batter, after.berm_batter, format!("both {} of the berm", words.batters)),
        ];
        says.extend(
            batters
                .into_iter()
                .filter(|(from, to, _)| from != to)
                .map(|(_, to, what)| format!("{what} {}", batter_words(to))),
        );
        if before.crest != after.crest {
            says.push(format!("crest {} wide", figures.length(after.crest)));
        }
        format!(
            "Change: evenly from {} {} to {}: {}; so it stays from there on.",
            words.station,
            figures.station(change.from.in_metres()),
            figures.station(change.to().in_metres()),
            says.join(", ")
        )
    };
    all.windows(2).zip(&swale.wanted.changes).map(changed).collect()
}

/// The beds that the swale has on some length, in the order of the line, each with how it is called.
fn beds(input: &DigSheetInput, swale: &Swale) -> Vec<(String, Elevation)> {
    // Each with the stations where it begins and ends.
    let mut beds: Vec<(Station, Option<Station>, Elevation)> = Vec::new();
    let ends = swale.wanted.changes.iter().map(|change| Some(change.from)).chain([None]);
    for ((from, Section { bed, .. }), to) in swale.sections().into_iter().zip(ends) {
        match beds.last_mut() {
            Some(last) if last.2 == bed => last.1 = to,
            _ => beds.push((from, to, bed)),
        }
    }
    let station = |station: Station| input.figures.station(station.in_metres());
    let name = |(i, (from, to, bed)): (usize, (Station, Option<Station>, Elevation))| {
        let name = match (i, to) {
            (0, None) => "BED".to_owned(),
            (0, Some(to)) => format!("BED to {}", station(to)),
            (_, None) => format!("BED from {}", station(from)),
            (_, Some(to)) => format!("BED {} to {}", station(from), station(to)),
        };
        (name, bed)
    };
    beds.into_iter().enumerate().map(name).collect()
}

/// How level natural ground on the line is, within what the survey shows.
fn how_level(input: &DigSheetInput, swale: &Swale) -> String {
    let figures = input.figures;
    match (swale.off_contour(), swale.line_within()) {
        (Some(_), _) => "Natural ground on it is NOT level: see OFF CONTOUR.".to_owned(),
        (None, Some(within)) => format!(
            "Natural ground on it lies within {} of the sill{}, as surveyed.",
            figures.at_most(within.distance.in_metres()),
            if within.at_95 { " at 95 %" } else { "" }
        ),
        (None, None) => "How level natural ground on it is was not measured.".to_owned(),
    }
}

fn spillway_words(input: &DigSheetInput, swale: &Swale, spillway: &Spillway) -> String {
    let (figures, words) = (input.figures, input.words());
    format!(
        "{}: level for {} along the line ({} {} to {}) and {} across it, in ground that was never dug or filled. No \
         berm there. Cut to level, never fill to level.",
        capital(&swale.sill_name(spillway)),
        figures.length(spillway.sill_length),
        words.station,
        figures.station(spillway.from.in_metres()),
        figures.station(spillway.to.in_metres()),
        figures.length(spillway.sill_breadth)
    )
}

/// Where vehicles drive over it.
fn crossing_words(input: &DigSheetInput, crossing: &Crossing) -> String {
    let (figures, words, asked) = (input.figures, input.words(), &crossing.wanted);
    let station = |station: Station| figures.station(station.in_metres());
    format!(
        "Crossing: at {} {}, its top {} wide and level at the crest's BUILD TO over channel and berm, ramps {} both ways, sides {}. Leave the ground under it whole: no channel from {} to {}. Pressed in {} like the berm.",
        words.station,
        station(asked.at),
        figures.length(asked.width),
        batter_words(asked.ramp),
        batter_words(asked.batter),
        station(crossing.undug.0),
        station(crossing.undug.1),
        words.layers
    )
}

/// Crest, sill and bed against the sill, large, with what the staff reads and the elevation small beside.
fn levels(html: &mut Html, input: &DigSheetInput, swale: &Swale) {
    let figures = input.figures;
    let sill = swale.water_level;
    let row = |name: &str, says: String, size: String, elevation: Elevation| {
        level_row(input, (name, says), "sill", elevation - sill, &size, elevation)
    };
    let crest = swale.crest.built - sill;
    let beds = beds(input, swale);
    let name = if swale.crest_levels.is_empty() { "CREST" } else { "CREST at least" };
    let build_to = format!("BUILD TO {}", figures.crest_against_sill(crest));
    let mut rows = vec![
        row(name, build_to, figures.size_up(crest.in_metres()), swale.crest.built),
        row("SILL", figures.against_sill(Length::ZERO), String::new(), sill),
    ];
    rows.extend(beds.iter().map(|(name, bed)| {
        let below = *bed - sill;
        row(name, figures.against_sill(below), figures.size(below.in_metres()), *bed)
    }));
    let mut elevations = vec![("crest".to_owned(), swale.crest.built), ("sill".to_owned(), sill)];
    elevations.extend(beds.into_iter().map(|(name, bed)| (name.replace("BED", "bed"), bed)));
    let elevations: Vec<(&str, Elevation)> = elevations.iter().map(|(name, z)| (name.as_str(), *z)).collect();
    level_table(html, input, rows, &elevations);
    if !swale.crest_levels.is_empty() {
        let highest = (swale.highest_crest() - sill).in_metres();
        html.paragraph("warning", &format!(
            "CREST NOT LEVEL: it follows the earth of the channel, from the {} above to {}. Each crest {} has its own BUILD TO; between two of them it runs straight.",
            figures.size_up(crest.in_metres()),
            figures.size_up(highest),
            input.words().stake
        ));
    }
    html.paragraph("", &format!("All in {}, against the sill. {}", unit_words(input), crest_words(input, swale)));
    html.paragraph("", &allowed(input, swale));
}

/// What the as-built check will allow.
fn allowed(input: &DigSheetInput, swale: &Swale) -> String {
    let (figures, held) = (input.figures, &input.tolerances);
    let sill = swale.spillways.first().map(|spillway| {
        let tolerance = held.sill.unwrap_or_else(|| Tolerance::both(weir::sill_tolerance(spillway.head)));
        format!("sill {}, ", allowed_words(figures, tolerance))
    });
    format!(
        "Allowed at the check: {}crest {}, bed {}. Sides never steeper than drawn.",
        sill.unwrap_or_default(),
        allowed_words(figures, held.crest),
        allowed_words(figures, held.bed)
    )
}

/// The crest as a sum of four lines.
fn crest_words(input: &DigSheetInput, swale: &Swale) -> String {
    let (figures, crest) = (input.figures, &swale.crest);
    let sum = format!(
        "Crest: {} 0 + water over the sill {} + freeboard {} + settling {}",
        input.words().full_level,
        figures.size(crest.head.in_metres()),
        figures.size(crest.freeboard.in_metres()),
        figures.size_up(crest.settlement.in_metres())
    );
    let least = (crest.built_required() - crest.water_level).in_metres();
    let built = (crest.built - crest.water_level).in_metres();
    if figures.size_up(least) == figures.size_up(built) {
        return format!("{sum} = {}.", figures.size_up(built));
    }
    let why = match swale.wanted.berm {
        _ if super::amounts::runs_short(input, swale) => {
            "it is drawn higher, and the earth runs short: see Earth to move"
        }
        Berm::AllTheCut { .. } => "all the earth of the channel goes on the berm, which makes it higher",
        Berm::Fixed { .. } | Berm::ToBalance { .. } => "it is built higher",
    };
    format!("{sum} = {} at least; {why}.", figures.size_up(least))
}

/// What is wrong or open with a work, said before anyone digs.
fn warnings(input: &DigSheetInput, swale: &Swale) -> Vec<String> {
    let figures = input.figures;
    let mut says = Vec::new();
    if swale.spillways.is_empty() {
        says.push(
            "NO SILL: this swale has no safe way out. It will spill over its berm. Do not dig before it has one."
                .to_owned(),
        );
    }
    for pool in swale.pools.iter().filter(|pool| swale.pools.len() > 1 && !pool.has_sill && !swale.spillways.is_empty())
    {
        says.push(format!(
            "POOL WITHOUT A SILL: from {} {} to {} a crossing parts the water from every sill. In a storm it rises {} over the full level before it leaves. Ask for a sill there before digging.",
            input.words().station,
            figures.station(pool.from.in_metres()),
            figures.station(pool.to.in_metres()),
            figures.with_unit(figures.size(((pool.storage.spill - swale.water_level).in_metres()).max(0.0)))
        ));
    }
    for spillway in &swale.spillways {
        if spillway.on_fill {
            let low = spillway.ground_above_sill.0.in_metres().min(spillway.ground_above_sill.1.in_metres());
            says.push(format!(
                "SILL PARTLY ON FILL: natural ground under it is up to {} too low. Move it or ask before digging.",
                figures.at_most(low)
            ));
        }
    }
    if let Some(worst) = swale.off_contour() {
        let side = if worst.deviation < 0.0 { "too low" } else { "too high" };
        says.push(format!(
            "OFF CONTOUR: natural ground on the line is {} {side} at {} {}, and {} either way was to be kept. Water will not lie evenly there. Have that stretch shot again, or ask whether the line may run so, before digging.",
            figures.at_most(worst.deviation),
            input.words().station,
            figures.station(worst.station),
            figures.allowed(swale.contour.tolerance)
        ));
    }
    if let Some((held, station)) = swale.low_ground.water_held {
        says.push(format!(
            "THE BERM HOLDS WATER: it stands {} over the ground at {} {}, and nothing but the berm holds it there. That is a small dam: ask before digging.",
            figures.length(held),
            input.words().station,
            figures.station(station.in_metres())
        ));
    }
    if let Some((short, station)) = swale.low_ground.settles_short {
        says.push(format!(
            "CREST TOO LOW WHEN SETTLED: at {} {} the ground under the berm is low, and its crest settles {} below what head and freeboard need. Build it higher there.",
            input.words().station,
            figures.station(station.in_metres()),
            figures.at_most(short.in_metres())
        ));
    }
    says.extend(super::amounts::short_of_earth(input, &swale.wanted.name));
    says.extend(super::unstable::warnings(input, &swale.wanted.name));
    says.extend(super::soil::warning(input, &swale.wanted.name));
    let storage = &swale.storage;
    for (pool, rise) in swale.pools.iter().filter_map(|pool| Some((pool, pool.rise_over_sill(swale.water_level)?))) {
        let (easting, northing) = input.ground.frame.to_frame(pool.storage.spill_place);
        let left = swale.crest.freeboard - rise;
        let then = if left >= Length::ZERO {
            format!(
                "Of the freeboard of {} only {} are left with the flood's head over that.",
                figures.length(swale.crest.freeboard),
                figures.length(left)
            )
        } else {
            "HEAD AND FREEBOARD DO NOT HOLD: in a flood the water goes over the settled berm. Do not dig before that is put right."
                .to_owned()
        };
        says.push(format!(
            "SILL BEHIND HIGHER GROUND: ground beyond the sill stands higher than it. The water rises {} over the sill before it leaves at E {easting:.1} N {northing:.1}. {then} Open that ground down to the sill's level, or ask for another place.",
            figures.with_unit(figures.size_up(rise.in_metres()))
        ));
    }
    if !storage.at_sill && storage.spill < swale.water_level {
        let (easting, northing) = input.ground.frame.to_frame(storage.spill_place);
        says.push(format!(
            "WATER LEAVES ELSEWHERE FIRST: at E {easting:.1} N {northing:.1}, {} the sill. See the plan.",
            figures.against_sill(storage.spill - swale.water_level)
        ));
    }
    for end in &swale.ends {
        if !end.closed && !end.overflow {
            says.push(format!(
                "OPEN END: the ground at the {} end does not reach the crest, so a full swale runs round it.",
                end.name.word()
            ));
        }
    }
    says
}

/// Where the staff stands and what to add: one line for the mark, one for the mark that proves it.
fn laser_lines(input: &DigSheetInput, work: Shared<'_>) -> Vec<String> {
    let near = nearest(input, sill_place(work));
    if near.is_empty() {
        return vec![format!(
            "NO MARK was surveyed. Set one and shoot it before digging: without it nothing proves {}.",
            zero_words(work.kind)
        )];
    }
    let Some(chosen) = staff_and_proof(&near, work.zero) else { return Vec::new() };
    let far = |mark: &MarkNear| {
        let doomed = if mark.doomed { ", too near the dig to live" } else { "" };
        // A mark may lie beyond every plan; where it is found is said here.
        let bearing = mark.bearing.round() % 360.0;
        format!("{} off, bearing {bearing:03.0}°{doomed}", about(input, Length::metres(mark.away)))
    };
    let to_zero = |mark: &MarkNear| {
        let above = mark.shot.elevation - work.zero.in_metres();
        format!("{} {}", if above >= 0.0 { "add" } else { "take off" }, input.figures.reading(above))
    };
    let staff = chosen.staff;
    let mut lines = vec![format!(
        "STAFF ON {} ({}): read it, {} = {}",
        staff.shot.id,
        far(staff),
        to_zero(staff),
        zero_mark(work.kind)
    )];
    if !chosen.in_one {
        lines.push(format!(
            "No staff reads {} and {} from one set-up: carry the level over.",
            staff.shot.id,
            zero_words(work.kind)
        ));
    }
    match chosen.proof {
        Some(proof) => {
            lines.push(format!("PROVE ON {} ({}): read it, {} = the same", proof.shot.id, far(proof), to_zero(proof)));
        }
        None => lines.extend(near.iter().find(|mark| mark.shot.id != staff.shot.id).map(|mark| {
            let above = mark.shot.elevation - staff.shot.elevation;
            format!(
                "No second mark can be read from one set-up. The nearest is {} ({}), {} {} {}: prove on it from a second set-up, or set a mark nearer in height.",
                mark.shot.id,
                far(mark),
                input.figures.reading(above),
                if above < 0.0 { "lower than" } else { "higher than" },
                staff.shot.id
            )
        })),
    }
    // A drain is read from wherever along it a mark lies near; of the others the sill is what is proven.
    let away = match work.kind {
        Kind::Drain => near.iter().map(|mark| clear_of(work, mark.shot.place)).fold(f64::INFINITY, f64::min),
        Kind::Swale | Kind::Pond | Kind::Borrow | Kind::Dam => staff.away,
    };
    if away > LASER_REACH {
        lines.push(format!(
            "No mark stands within {} of {}: carry one there and shoot it twice.",
            about(input, Length::metres(LASER_REACH)),
            match work.kind {
                Kind::Swale => "the sill",
                Kind::Pond | Kind::Borrow => "the pit",
                Kind::Dam => "the wall",
                Kind::Drain => "the drain",
            }
        ));
    }
    if near.len() == 1 {
        lines.push("Only one mark: a knock to it cannot be seen. Set a second one.".to_owned());
    }
    lines
}

//! `[[swale]]`: what is to be built.

use super::crossing;
use super::down_slope::{self, DownSlope};
use super::fault::{Fault, Located, Span};
use super::keys;
use super::section;
use super::spillway::SpillwayAsked;
use super::walk::{Shape, Table};
use super::water_level::{self, WAYS, WaterLevelAsked, one_way};
use crate::units::{Area, Batter, Length, Volume, parse_batter, parse_length, parse_volume};
use crate::works::dam::KeyWanted;
use crate::works::{Berm, ChannelShape, CrossingWanted, EndShape, Ends, LineEdge, PlaceAmong, SectionChange, Spacing};

/// Where a swale's water level comes from, before the survey is known.
#[derive(Debug, Clone, PartialEq)]
pub enum SwaleLevelAsked {
    /// From what is said of it.
    From(WaterLevelAsked),
    /// The highest at which its line catches so much ground, near a place where one is said.
    ToCatch(Area, Option<(f64, f64)>),
    /// Of a rank among lines at many levels.
    Place(PlaceAmong),
    /// Below another swale of its set.
    Below(Spacing, Box<SwaleAsked>),
}

/// A swale as the file asks for it, before the survey is known.
#[derive(Debug, Clone, PartialEq)]
pub struct SwaleAsked {
    /// Its name.
    pub name: Located<String>,
    /// Where its water stands.
    pub water_level: Located<SwaleLevelAsked>,
    /// More of its kind down the slope.
    pub down_slope: Option<DownSlope>,
    /// The name of the set that it is one of.
    pub set: Option<String>,
    /// Which edge follows the contour.
    pub line_edge: LineEdge,
    /// A polygon file in which the line runs.
    pub within: Option<Located<String>>,
    /// Two places between which it runs, in the frame's unit.
    pub between: Option<Located<[(f64, f64); 2]>>,
    /// The channel across.
    pub shape: ChannelShape,
    /// Bed below water level; the first guess where a volume is to be held.
    pub depth: Length,
    /// Water that it is to hold.
    pub to_hold: Option<Volume>,
    /// Uphill side slope.
    pub uphill_batter: Batter,
    /// Downhill side slope.
    pub downhill_batter: Batter,
    /// The berm.
    pub berm: Berm,
    /// The length over which its crest follows the cut.
    pub follow: Option<Length>,
    /// Where its section changes.
    pub changes: Vec<Located<SectionChange>>,
    /// Its vehicle crossings.
    pub crossings: Vec<Located<CrossingWanted>>,
    /// Where the `down-slope` of its set stands; for the first of a set, and one that is none, `None` once sets are spread.
    pub set_at: Option<Span>,
    /// Where its depth is written.
    pub depth_at: Option<Span>,
    /// A trench under the middle of the berm.
    pub key: Option<KeyWanted>,
    /// Strip between cut and berm.
    pub ledge: Length,
    /// Crest above the head.
    pub freeboard: Length,
    /// Tightest bend.
    pub bend_radius: Length,
    /// A file of polygons and places that the works keep clear of.
    pub obstacles: Option<Located<String>>,
    /// By how much.
    pub clearance: Length,
    /// The two ends.
    pub ends: Ends,
    /// Allowed deviation of the line.
    pub tolerance: Length,
    /// Its spillways.
    pub spillways: Vec<SpillwayAsked>,
}

pub(super) fn read(table: &Table<'_>) -> Option<SwaleAsked> {
    let name = table.text(&keys::SWALE_NAME);
    let water_level = table.with(&keys::SWALE_WATER_LEVEL, swale_level);
    let down_slope = down_slope::read(table);
    let line_edge = table.choice(
        &keys::SWALE_LINE,
        &[("downhill-lip", LineEdge::DownhillLip), ("centre", LineEdge::Centre), ("uphill-edge", LineEdge::UphillEdge)],
    );
    let within = table.text(&keys::SWALE_WITHIN);
    let between = table.with(&keys::SWALE_BETWEEN, between);
    if let (Some(within), Some(between)) = (&within, &between) {
        table.faults().add(
            Fault::new(
                "pipeline::two-limits",
                between.span.clone().unwrap_or_default(),
                "`within` and `between` cannot both limit one line",
            )
            .beside(within.span.clone().unwrap_or_default(), "the other limit"),
        );
    }
    let shape = shape(table);
    let depth_or_volume = depth(table);
    let uphill_batter = table.quantity(&keys::SWALE_UPHILL_BATTER, parse_batter);
    let downhill_batter = table.quantity(&keys::SWALE_DOWNHILL_BATTER, parse_batter);
    let berm = berm(table);
    let changes = section::changes(table, shape.as_ref());
    let crossings = crossing::crossings(table);
    let key = key(table);
    let ledge = table.at_least_zero(&keys::SWALE_LEDGE, parse_length);
    let freeboard = table.at_least_zero(&keys::SWALE_FREEBOARD, parse_length);
    let bend_radius = table.above_zero(&keys::SWALE_BEND_RADIUS, parse_length);
    let obstacles = table.text(&keys::SWALE_OBSTACLES);
    let clearance = table.at_least_zero(&keys::SWALE_CLEARANCE, parse_length);
    let ends = ends(table);
    let tolerance = table.above_zero(&keys::SWALE_TOLERANCE, parse_length);
    Some(SwaleAsked {
        name: name?,
        water_level: water_level?,
        down_slope: down_slope?,
        set: None,
        set_at: table.peek(&keys::SWALE_DOWN_SLOPE).map(|shape| shape.span),
        depth_at: table.peek(&keys::SWALE_DEPTH).map(|shape| shape.span),
        line_edge: line_edge?,
        within,
        between,
        shape: shape?,
        depth: depth_or_volume?.0,
        to_hold: depth_or_volume?.1,
        uphill_batter: uphill_batter?,
        downhill_batter: downhill_batter?,
        berm: berm?.0,
        follow: berm?.1,
        changes: changes?,
        crossings: crossings?,
        key: key?,
        ledge: ledge?,
        freeboard: freeboard?,
        bend_radius: bend_radius?,
        obstacles,
        clearance: clearance?,
        ends: ends?,
        tolerance: tolerance?,
        spillways: Vec::new(),
    })
}

/// The level, by the ways that dams have too and by those of swales alone.
fn swale_level(shape: &Shape<'_>) -> Option<Located<SwaleLevelAsked>> {
    let ways = format!("{WAYS}, to-catch, place");
    let (name, value) = one_way(shape, &ways)?;
    let asked = match name {
        "to-catch" => {
            let (area, near) = water_level::to_catch(&value)?;
            SwaleLevelAsked::ToCatch(area, near)
        }
        "place" => SwaleLevelAsked::Place(water_level::place(&value)?),
        _ => SwaleLevelAsked::From(water_level::water_level(shape, name, &value, &ways)?),
    };
    Some(Located::new(asked, value.span.clone()))
}

fn between(shape: &Shape<'_>) -> Option<Located<[(f64, f64); 2]>> {
    let items = shape.items();
    let [first, last] = items.as_slice() else {
        shape.wrong_type("two places");
        return None;
    };
    let (first, last) = (first.pair(), last.pair());
    Some(Located::new([first?.value, last?.value], shape.span.clone()))
}

/// The channel across; a width or batter that its shape does not have is a fault.
fn shape(table: &Table<'_>) -> Option<ChannelShape> {
    let bottom = |table: &Table<'_>| {
        let bottom_width = table.above_zero(&keys::SWALE_BOTTOM_WIDTH, parse_length)?;
        Some(ChannelShape::Trapezoid { bottom_width })
    };
    let top = |table: &Table<'_>| {
        let top_width = table.above_zero(&keys::SWALE_TOP_WIDTH, parse_length)?;
        Some(ChannelShape::Parabola { top_width })
    };
    match table.text(&keys::SWALE_SHAPE)?.value.as_str() {
        "trapezoid" => {
            table.out_of_range(&keys::SWALE_TOP_WIDTH, "only a parabola is said by its width at the water level");
            bottom(table)
        }
        "triangle" => {
            table.out_of_range(&keys::SWALE_TOP_WIDTH, "only a parabola is said by its width at the water level");
            table.out_of_range(&keys::SWALE_BOTTOM_WIDTH, "a triangle has no flat bed");
            Some(ChannelShape::Triangle)
        }
        "parabola" => {
            table.out_of_range(&keys::SWALE_BOTTOM_WIDTH, "a parabola has no flat bed; say its `top-width`");
            table.out_of_range(&keys::SWALE_DOWNHILL_BATTER, "a parabola has no downhill batter; say its `top-width`");
            top(table)
        }
        other => {
            table.peek(&keys::SWALE_SHAPE)?.not_a_choice(other, "trapezoid, triangle, parabola");
            None
        }
    }
}

/// The depth, or the volume that it is solved for beside a first guess.
fn depth(table: &Table<'_>) -> Option<(Length, Option<Volume>)> {
    let Some(shape) = table.peek(&keys::SWALE_DEPTH).filter(|shape| shape.value.as_table().is_some()) else {
        return Some((table.above_zero(&keys::SWALE_DEPTH, parse_length)?, None));
    };
    table.value(&keys::SWALE_DEPTH);
    let (name, value) = shape.only_key()?;
    if name != "to-hold" {
        shape.not_a_choice(name, "a length, or { to-hold = \"600 m3\" }");
        return None;
    }
    let volume = value.quantity(parse_volume)?;
    if volume <= Volume::ZERO {
        value.wrong_type("a volume above zero");
        return None;
    }
    // What is tried first; the answer does not depend on it.
    Some((Length::metres(0.6), Some(volume)))
}

/// Both ends alike, or each of its own.
fn ends(table: &Table<'_>) -> Option<Ends> {
    const WORDS: &[(&str, EndShape)] = &[("turn-up", EndShape::TurnUp), ("overflow", EndShape::Overflow)];
    let Some(shape) = table.peek(&keys::SWALE_ENDS).filter(|shape| shape.value.as_table().is_some()) else {
        return table.choice(&keys::SWALE_ENDS, WORDS).map(|end| Ends { first: end, last: end });
    };
    table.value(&keys::SWALE_ENDS);
    let list = shape.table("swale.ends")?;
    let (first, last) = (list.choice(&keys::ENDS_FIRST, WORDS), list.choice(&keys::ENDS_LAST, WORDS));
    table.keep(&keys::SWALE_ENDS, list.into_resolved());
    Some(Ends { first: first?, last: last? })
}

/// The berm, and the length over which its crest follows the cut.
fn berm(table: &Table<'_>) -> Option<(Berm, Option<Length>)> {
    let sizes = |list: &Table<'_>| {
        let crest = list.above_zero(&keys::BERM_CREST, parse_length);
        let batter = list.quantity(&keys::BERM_BATTER, parse_batter);
        Some((crest?, batter?))
    };
    let default_sizes = || {
        let empty = toml::de::DeTable::default();
        sizes(&Table::new("swale.berm", 0..0, &empty, table.faults()))
    };
    let all_the_cut = |(crest, batter)| Berm::AllTheCut { crest, batter };
    let Some(shape) = table.peek(&keys::SWALE_BERM) else {
        table.text(&keys::SWALE_BERM);
        return default_sizes().map(|sizes| (all_the_cut(sizes), None));
    };
    table.value(&keys::SWALE_BERM);
    if let Some(word) = shape.value.as_str() {
        if word == "all-the-cut" {
            return default_sizes().map(|sizes| (all_the_cut(sizes), None));
        }
        shape.not_a_choice(word, "\"all-the-cut\", or a table with crest and batter");
        return None;
    }
    let Some(entries) = shape.value.as_table() else {
        shape.wrong_type("\"all-the-cut\" or a table");
        return None;
    };
    if entries.contains_key("all-the-cut") {
        let (_, value) = shape.only_key()?;
        let list = value.table("swale.berm")?;
        let follow = match list.peek(&keys::BERM_FOLLOW) {
            Some(_) => Some(list.above_zero(&keys::BERM_FOLLOW, parse_length)?),
            None => None,
        };
        return sizes(&list).map(|sizes| (all_the_cut(sizes), follow));
    }
    let list = shape.table("swale.berm")?;
    if list.peek(&keys::BERM_FOLLOW).is_some() {
        list.out_of_range(
            &keys::BERM_FOLLOW,
            "only a berm of all the cut follows it: write `all-the-cut = { follow = ... }`",
        );
        return None;
    }
    let solved = list.peek(&keys::BERM_BATTER).filter(|batter| batter.value.as_str() == Some("to-balance"));
    if solved.is_some() {
        list.value(&keys::BERM_BATTER);
        let crest = list.above_zero(&keys::BERM_CREST, parse_length)?;
        // What is tried first; the answer does not depend on it.
        return Some((Berm::ToBalance { crest, batter: Batter::horizontal_per_vertical(2.0) }, None));
    }
    sizes(&list).map(|(crest, batter)| (Berm::Fixed { crest, batter }, None))
}

/// The trench under the berm: there is one where its table is written.
#[expect(clippy::option_option, reason = "what cannot be read is no key that is not asked for")]
fn key(table: &Table<'_>) -> Option<Option<KeyWanted>> {
    let Some(shape) = table.peek(&keys::SWALE_KEY) else {
        table.value(&keys::SWALE_KEY);
        return Some(None);
    };
    table.value(&keys::SWALE_KEY);
    let list = shape.table("swale.key")?;
    let width = list.above_zero(&keys::KEY_WIDTH, parse_length);
    let depth = list.above_zero(&keys::KEY_DEPTH, parse_length);
    let batter = list.quantity(&keys::KEY_BATTER, parse_batter);
    table.keep(&keys::SWALE_KEY, list.into_resolved());
    Some(Some(KeyWanted { width: width?, depth: depth?, batter: batter? }))
}

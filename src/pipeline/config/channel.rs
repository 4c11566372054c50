//! The channel of a `[[fall-line]]`: what is dug along it, so that it is a diversion drain.

use super::fault::{Fault, Located};
use super::keys;
use super::walk::{Shape, Table};
use crate::units::{
    Area, Batter, Flow, Length, ParseError, RainRate, parse_area, parse_batter, parse_flow, parse_length,
};
use crate::water::channel::Cover;
use crate::works::drain::{DrainBerm, Solved};
use crate::works::{ChannelShape, LineEdge};

/// What is found where a size is to be found.
const TO_CARRY: &str = "to-carry";
/// What stands for a size that is found, metres: only how far beside the line the ground is estimated follows from it.
const NOT_SAID: f64 = 1.0;

/// A channel as the file asks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelAsked {
    /// Which edge follows the line.
    pub line_edge: LineEdge,
    /// The channel across.
    pub shape: ChannelShape,
    /// Bed below the line.
    pub depth: Length,
    /// The size that is found.
    pub to_carry: Option<Solved>,
    /// Uphill side slope.
    pub uphill_batter: Batter,
    /// Downhill side slope.
    pub downhill_batter: Batter,
    /// The berm.
    pub berm: Option<DrainBerm>,
    /// Strip between cut and berm.
    pub ledge: Length,
    /// Lip over the water.
    pub freeboard: Length,
    /// What it is to carry.
    pub flow: Option<FlowAsked>,
    /// What covers it.
    pub cover: Cover,
}

/// What a channel is to carry.
#[derive(Debug, Clone, PartialEq)]
pub enum FlowAsked {
    /// Said outright.
    Flow(Flow),
    /// The peak of a storm.
    Storm {
        /// Its name.
        storm: Located<String>,
        /// Its rain, once the storm is found.
        intensity: RainRate,
        /// What drains to it; `None` for the surveyed ground that does.
        catchment: Option<Area>,
        /// Share of the rain that runs off at the peak.
        coefficient: f64,
    },
}

pub(super) fn read(shape: &Shape<'_>) -> Option<(ChannelAsked, serde_json::Value)> {
    let table = shape.table("fall-line.channel")?;
    let line_edge = table.choice(
        &keys::CHANNEL_LINE,
        &[("downhill-lip", LineEdge::DownhillLip), ("centre", LineEdge::Centre), ("uphill-edge", LineEdge::UphillEdge)],
    );
    let across = across(&table);
    let depth = size(&table, &keys::CHANNEL_DEPTH);
    let uphill_batter = table.quantity(&keys::CHANNEL_UPHILL_BATTER, parse_batter);
    let downhill_batter = table.quantity(&keys::CHANNEL_DOWNHILL_BATTER, parse_batter);
    let berm = berm(&table);
    let ledge = table.at_least_zero(&keys::CHANNEL_LEDGE, parse_length);
    let freeboard = table.at_least_zero(&keys::CHANNEL_FREEBOARD, parse_length);
    let flow = flow(&table);
    let cover = table.choice(&keys::CHANNEL_COVER, &Cover::ALL);
    let ((shape_across, width), depth, flow) = (across?, depth?, flow.ok()?);
    let to_carry = match (width, depth) {
        (Some(Found), Err(Found)) => {
            table.out_of_range(&keys::CHANNEL_DEPTH, "one of width and depth is found, and the other must be said");
            return None;
        }
        (Some(Found), Ok(_)) => Some(Solved::Width),
        (None, Err(Found)) => Some(Solved::Depth),
        (None, Ok(_)) => None,
    };
    if to_carry.is_some() && flow.is_none() {
        let key = if to_carry == Some(Solved::Depth) { &keys::CHANNEL_DEPTH } else { width_key(&shape_across) };
        table.out_of_range(key, "a size that is found needs the `flow` that it is to carry");
        return None;
    }
    let asked = ChannelAsked {
        line_edge: line_edge?,
        shape: shape_across,
        depth: depth.unwrap_or(Length::metres(NOT_SAID)),
        to_carry,
        uphill_batter: uphill_batter?,
        downhill_batter: downhill_batter?,
        berm: berm.ok()?,
        ledge: ledge?,
        freeboard: freeboard?,
        flow,
        cover: cover?,
    };
    Some((asked, table.into_resolved()))
}

/// Stands for a size that is to be found.
#[derive(Debug, Clone, Copy)]
struct Found;

/// A length above zero, or the word for one that is found.
fn size(table: &Table<'_>, key: &'static keys::Key) -> Option<Result<Length, Found>> {
    if table.peek(key).is_some_and(|shape| shape.value.as_str() == Some(TO_CARRY)) {
        table.value(key);
        return Some(Err(Found));
    }
    table.above_zero(key, parse_length).map(Ok)
}

const fn width_key(shape: &ChannelShape) -> &'static keys::Key {
    match shape {
        ChannelShape::Parabola { .. } => &keys::CHANNEL_TOP_WIDTH,
        ChannelShape::Trapezoid { .. } | ChannelShape::Triangle => &keys::CHANNEL_BOTTOM_WIDTH,
    }
}

/// The channel across, and whether its width is to be found; a width or batter that its shape does not have is a fault.
fn across(table: &Table<'_>) -> Option<(ChannelShape, Option<Found>)> {
    let sized = |key| {
        let found = size(table, key)?;
        Some((found.unwrap_or(Length::metres(NOT_SAID)), found.err()))
    };
    match table.text(&keys::CHANNEL_SHAPE)?.value.as_str() {
        "trapezoid" => {
            table.out_of_range(&keys::CHANNEL_TOP_WIDTH, "only a parabola is said by its width at the line's level");
            let (bottom_width, found) = sized(&keys::CHANNEL_BOTTOM_WIDTH)?;
            Some((ChannelShape::Trapezoid { bottom_width }, found))
        }
        "triangle" => {
            table.out_of_range(&keys::CHANNEL_TOP_WIDTH, "only a parabola is said by its width at the line's level");
            table.out_of_range(&keys::CHANNEL_BOTTOM_WIDTH, "a triangle has no flat bed");
            Some((ChannelShape::Triangle, None))
        }
        "parabola" => {
            table.out_of_range(&keys::CHANNEL_BOTTOM_WIDTH, "a parabola has no flat bed; say its `top-width`");
            table
                .out_of_range(&keys::CHANNEL_DOWNHILL_BATTER, "a parabola has no downhill batter; say its `top-width`");
            let (top_width, found) = sized(&keys::CHANNEL_TOP_WIDTH)?;
            Some((ChannelShape::Parabola { top_width }, found))
        }
        other => {
            table.peek(&keys::CHANNEL_SHAPE)?.not_a_choice(other, "trapezoid, triangle, parabola");
            None
        }
    }
}

/// Told already.
#[derive(Debug, Clone, Copy)]
struct Faulty;

/// The berm: none, of all the cut, or of a height.
fn berm(table: &Table<'_>) -> Result<Option<DrainBerm>, Faulty> {
    let sizes = |list: &Table<'_>| {
        let crest = list.above_zero(&keys::CHANNEL_BERM_CREST, parse_length);
        let batter = list.quantity(&keys::CHANNEL_BERM_BATTER, parse_batter);
        crest.zip(batter).ok_or(Faulty)
    };
    let Some(shape) = table.peek(&keys::CHANNEL_BERM).filter(|shape| shape.value.as_table().is_some()) else {
        return match table.text(&keys::CHANNEL_BERM).ok_or(Faulty)?.value.as_str() {
            "none" => Ok(None),
            "all-the-cut" => {
                let empty = toml::de::DeTable::default();
                let (crest, batter) = sizes(&Table::new("fall-line.channel.berm", 0..0, &empty, table.faults()))?;
                Ok(Some(DrainBerm::AllTheCut { crest, batter }))
            }
            other => {
                let accepted = "\"all-the-cut\", \"none\", or a table with height, crest and batter";
                if let Some(shape) = table.peek(&keys::CHANNEL_BERM) {
                    shape.not_a_choice(other, accepted);
                }
                Err(Faulty)
            }
        };
    };
    table.value(&keys::CHANNEL_BERM);
    let list = shape.table("fall-line.channel.berm").ok_or(Faulty)?;
    let height = above_zero_if_said(&list, &keys::CHANNEL_BERM_HEIGHT, parse_length)?;
    let (crest, batter) = sizes(&list)?;
    table.keep(&keys::CHANNEL_BERM, list.into_resolved());
    Ok(Some(match height {
        Some(height) => DrainBerm::Fixed { height, crest, batter },
        None => DrainBerm::AllTheCut { crest, batter },
    }))
}

/// The flow, or the storm that it is the peak of with what drains to the channel.
fn flow(table: &Table<'_>) -> Result<Option<FlowAsked>, Faulty> {
    let of_storm = [&keys::CHANNEL_CATCHMENT, &keys::CHANNEL_RUNOFF];
    let Some(shape) = table.peek(&keys::CHANNEL_FLOW).filter(|shape| shape.value.as_table().is_some()) else {
        if let Some((key, extra)) = of_storm.into_iter().find_map(|key| Some((key, table.peek(key)?))) {
            let what = format!("`{}` belongs to `flow = {{ for-storm = ... }}`", key.name);
            table.faults().add(Fault::new("pipeline::not-both", extra.span, what));
            table.value(key);
            return Err(Faulty);
        }
        return Ok(above_zero_if_said(table, &keys::CHANNEL_FLOW, parse_flow)?.map(FlowAsked::Flow));
    };
    table.value(&keys::CHANNEL_FLOW);
    let (name, value) = shape.only_key().ok_or(Faulty)?;
    if name != "for-storm" {
        shape.not_a_choice(name, "a flow, or { for-storm = \"25-year\" }");
        return Err(Faulty);
    }
    let storm: Located<String> = value.text().ok_or(Faulty)?;
    let catchment = above_zero_if_said(table, of_storm[0], parse_area)?;
    if table.peek(of_storm[1]).is_none() {
        let what =
            format!("a channel for a storm needs `{}` beside it, such as {}", of_storm[1].name, of_storm[1].takes);
        table.faults().add(Fault::new("pipeline::storm-without", storm.span.unwrap_or_default(), what));
        return Err(Faulty);
    }
    let coefficient = table.number(of_storm[1]).ok_or(Faulty)?;
    if !(coefficient > 0.0 && coefficient <= 1.0) {
        table.out_of_range(of_storm[1], "a share of the rain, above 0 and at most 1");
        return Err(Faulty);
    }
    Ok(Some(FlowAsked::Storm { storm, intensity: RainRate::ZERO, catchment, coefficient }))
}

/// A quantity above zero where it is said.
fn above_zero_if_said<Q: PartialOrd + Default>(
    table: &Table<'_>,
    key: &'static keys::Key,
    parse: fn(&str) -> Result<Q, ParseError>,
) -> Result<Option<Q>, Faulty> {
    if table.peek(key).is_none() {
        return Ok(None);
    }
    table.above_zero(key, parse).map(Some).ok_or(Faulty)
}

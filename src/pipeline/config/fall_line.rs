//! `[[fall-line]]`: a line of constant fall over the ground, for a diversion drain or a channel.

use super::channel::{self, ChannelAsked};
use super::fault::{Fault, Located};
use super::keys;
use super::walk::{Shape, Table};
use crate::units::{Fall, Length, parse_fall, parse_length};

/// A place as it is written.
#[derive(Debug, Clone, PartialEq)]
pub enum SpotAsked {
    /// At a shot.
    Shot(String),
    /// At an easting and northing in the frame's unit.
    Place(f64, f64),
}

/// A line of constant fall as the file asks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct FallLineAsked {
    /// Its name.
    pub name: Located<String>,
    /// Where it starts.
    pub from: Located<SpotAsked>,
    /// Where it is to lead, in the frame's unit.
    pub to: (f64, f64),
    /// Least and greatest fall.
    pub falls: (Fall, Fall),
    /// Longest.
    pub length: Option<Length>,
    /// A polygon file in which it runs.
    pub within: Option<Located<String>>,
    /// Tightest bend.
    pub bend_radius: Length,
    /// A file of polygons and places that it keeps clear of.
    pub obstacles: Option<Located<String>>,
    /// By how much.
    pub clearance: Length,
    /// Allowed deviation of the ground from its even fall.
    pub tolerance: Length,
    /// What is dug along it.
    pub channel: Option<ChannelAsked>,
}

pub(super) fn read(table: &Table<'_>) -> Option<FallLineAsked> {
    let name = table.text(&keys::FALL_NAME);
    let from = table.with(&keys::FALL_FROM, spot);
    let to = table.with(&keys::FALL_TO, Shape::pair);
    let falls = table.with(&keys::FALL_FALL, falls);
    let length = match table.peek(&keys::FALL_LENGTH) {
        None => {
            table.value(&keys::FALL_LENGTH);
            Some(None)
        }
        Some(_) => table.above_zero(&keys::FALL_LENGTH, parse_length).map(Some),
    };
    let within = table.text(&keys::FALL_WITHIN);
    let bend_radius = table.above_zero(&keys::FALL_BEND_RADIUS, parse_length);
    let obstacles = table.text(&keys::FALL_OBSTACLES);
    let clearance = table.at_least_zero(&keys::FALL_CLEARANCE, parse_length);
    let tolerance = table.above_zero(&keys::FALL_TOLERANCE, parse_length);
    let channel = if table.peek(&keys::FALL_CHANNEL).is_some() {
        let (channel, resolved) = table.with(&keys::FALL_CHANNEL, channel::read)?;
        table.keep(&keys::FALL_CHANNEL, resolved);
        Some(channel)
    } else {
        table.value(&keys::FALL_CHANNEL);
        None
    };
    Some(FallLineAsked {
        name: name?,
        from: from?,
        to: to?.value,
        falls: falls?,
        length: length?,
        within,
        bend_radius: bend_radius?,
        obstacles,
        clearance: clearance?,
        tolerance: tolerance?,
        channel,
    })
}

/// A pair of coordinates, or the name of a shot.
pub(super) fn spot(shape: &Shape<'_>) -> Option<Located<SpotAsked>> {
    if shape.value.as_array().is_some() {
        return Some(shape.pair()?.map(|(easting, northing)| SpotAsked::Place(easting, northing)));
    }
    if shape.value.as_str().is_none() {
        shape.wrong_type("a shot in quotes or a pair of bare numbers, [easting, northing]");
        return None;
    }
    Some(shape.text()?.map(SpotAsked::Shot))
}

/// One fall, or the least and the greatest.
fn falls(shape: &Shape<'_>) -> Option<(Fall, Fall)> {
    let items = shape.items();
    let found: Option<Vec<Fall>> = items.iter().map(|item| item.quantity(parse_fall)).collect();
    let (least, most) = match found?[..] {
        [one] => (one, one),
        [least, most] => (least, most),
        _ => {
            shape.wrong_type("one fall, or the least and the greatest");
            return None;
        }
    };
    if least.in_ratio() > 0.0 && least <= most {
        return Some((least, most));
    }
    let message = "`fall` must be above zero, and of two the first not above the second".to_owned();
    shape.faults.add(Fault::new("pipeline::out-of-range", shape.span.clone(), message));
    None
}

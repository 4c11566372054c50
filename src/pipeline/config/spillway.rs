//! `[[spillway]]`: how a swale, a dam or a pond lets its water out.

use super::fault::{Fault, Located};
use super::keys;
use super::walk::{Shape, Table};
use crate::units::{
    Area, Batter, Fall, Flow, Length, RainRate, Station, parse_area, parse_batter, parse_fall, parse_flow, parse_length,
};
use crate::water::channel::Cover;

/// The sill's length as asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum SillAsked {
    /// Said outright.
    Length(Length),
    /// Long enough for a flow at the head.
    ForFlow(Flow),
    /// Long enough for the peak flow of a storm at the head.
    ForStorm {
        /// Its name.
        storm: Located<String>,
        /// Its rain, once the storm is found.
        intensity: RainRate,
        /// What drains to the sill.
        catchment: Area,
        /// Share of the rain that runs off at the peak.
        coefficient: f64,
    },
}

/// A spillway's place, in the frame's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlaceAsked {
    /// At the first end.
    First,
    /// At the last end.
    Last,
    /// At a station.
    Station(Station),
    /// Nearest to an easting and northing.
    Through(f64, f64),
    /// Beside the lowest place of a pond's rim.
    LowRim,
}

/// A spillway as the file asks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct SpillwayAsked {
    /// The swale, dam or pond that it lets out.
    pub of: Located<String>,
    /// Its place.
    pub at: Located<PlaceAsked>,
    /// The sill's length.
    pub sill: SillAsked,
    /// The sill's breadth.
    pub sill_breadth: Length,
    /// Head at the design flow; `None` to be solved from length and flow.
    pub head: Option<Length>,
    /// Design flow of a sill of given length.
    pub flow: Option<Flow>,
    /// Fall of the exit.
    pub exit_fall: Option<Fall>,
    /// Side slope of the cut of a dam's or pond's spillway.
    pub batter: Batter,
    /// Fall of its approach.
    pub approach_fall: Fall,
    /// What covers its channel.
    pub cover: Cover,
    /// An engineer's lined design carries what stands on fill.
    pub lined_by_engineer: bool,
}

pub(super) fn read(table: &Table<'_>) -> Option<SpillwayAsked> {
    let of = table.text(&keys::SPILLWAY_OF);
    let at = table.with(&keys::SPILLWAY_AT, place);
    let sill = table.with(&keys::SPILLWAY_SILL_LENGTH, sill);
    let sill_breadth = table.above_zero(&keys::SPILLWAY_SILL_BREADTH, parse_length);
    let head = table.above_zero(&keys::SPILLWAY_HEAD, parse_length);
    let flow = table.above_zero(&keys::SPILLWAY_FLOW, parse_flow);
    let exit_fall = match table.peek(&keys::SPILLWAY_EXIT_FALL) {
        None => {
            table.value(&keys::SPILLWAY_EXIT_FALL);
            Some(None)
        }
        Some(_) => table.above_zero(&keys::SPILLWAY_EXIT_FALL, parse_fall).map(Some),
    };
    let batter = table.quantity(&keys::SPILLWAY_BATTER, parse_batter);
    let approach_fall = table.above_zero(&keys::SPILLWAY_APPROACH_FALL, parse_fall);
    let cover = table.choice(&keys::SPILLWAY_COVER, &Cover::ALL);
    let lined = table.peek(&keys::SPILLWAY_LINED).is_some();
    let lined_by_engineer = !lined || table.choice(&keys::SPILLWAY_LINED, &[("by-engineer", ())]).is_some();
    let sill = for_storm(table, sill)?;
    let (head, flow) = match (&sill, head, flow) {
        (SillAsked::ForFlow(_) | SillAsked::ForStorm { .. }, _, Some(_)) => {
            table.out_of_range(&keys::SPILLWAY_FLOW, "`sill-length` already says the flow");
            return None;
        }
        (SillAsked::Length(_), Some(_), Some(_)) => {
            table.out_of_range(
                &keys::SPILLWAY_FLOW,
                "sill length and head already say the flow; leave one of the three out",
            );
            return None;
        }
        (SillAsked::Length(_), None, Some(flow)) => (None, Some(flow)),
        (_, head, None) => (head, None),
    };
    if !lined_by_engineer {
        return None;
    }
    Some(SpillwayAsked {
        of: of?,
        at: at?,
        sill,
        sill_breadth: sill_breadth?,
        head,
        flow,
        exit_fall: exit_fall?,
        batter: batter?,
        approach_fall: approach_fall?,
        cover: cover?,
        lined_by_engineer: lined,
    })
}

/// A sill for a storm with what drains to it, which belongs to no other sill.
fn for_storm(table: &Table<'_>, sill: Option<SillAsked>) -> Option<SillAsked> {
    let of_storm = [&keys::SPILLWAY_CATCHMENT, &keys::SPILLWAY_RUNOFF];
    match sill? {
        SillAsked::ForStorm { storm, intensity, .. } => {
            for key in of_storm {
                if table.peek(key).is_none() {
                    let span = storm.span.clone().unwrap_or_default();
                    let what = format!("a sill for a storm needs `{}` beside it, such as {}", key.name, key.takes);
                    table.faults().add(Fault::new("pipeline::storm-without", span, what));
                }
            }
            let catchment = table.peek(of_storm[0]).and_then(|_| table.above_zero(of_storm[0], parse_area));
            let coefficient = table.peek(of_storm[1]).and_then(|_| table.number(of_storm[1]));
            if coefficient.is_some_and(|share| !(share > 0.0 && share <= 1.0)) {
                table.out_of_range(of_storm[1], "a share of the rain, above 0 and at most 1");
                return None;
            }
            Some(SillAsked::ForStorm { storm, intensity, catchment: catchment?, coefficient: coefficient? })
        }
        other => {
            for key in of_storm {
                if let Some(extra) = table.peek(key) {
                    let what = format!("`{}` belongs to `sill-length = {{ for-storm = ... }}`", key.name);
                    table.faults().add(Fault::new("pipeline::not-both", extra.span, what));
                    table.value(key);
                }
            }
            Some(other)
        }
    }
}

fn place(shape: &Shape<'_>) -> Option<Located<PlaceAsked>> {
    if shape.value.as_table().is_none() {
        shape.wrong_type("a table with one of end, station, through, rim");
        return None;
    }
    let (name, value) = shape.only_key()?;
    let place = match name {
        "end" => match value.text()?.value.as_str() {
            "first" => PlaceAsked::First,
            "last" => PlaceAsked::Last,
            other => {
                value.not_a_choice(other, "first, last");
                return None;
            }
        },
        "station" => PlaceAsked::Station(Station::metres(value.quantity(parse_length)?.in_metres())),
        "through" => {
            let (easting, northing) = value.pair()?.value;
            PlaceAsked::Through(easting, northing)
        }
        "rim" => match value.text()?.value.as_str() {
            "lowest" => PlaceAsked::LowRim,
            other => {
                value.not_a_choice(other, "lowest");
                return None;
            }
        },
        other => {
            shape.not_a_choice(other, "end, station, through, rim");
            return None;
        }
    };
    Some(Located::new(place, value.span))
}

fn sill(shape: &Shape<'_>) -> Option<SillAsked> {
    if shape.value.as_table().is_none() {
        let length = shape.quantity(parse_length)?;
        if length > Length::ZERO {
            return Some(SillAsked::Length(length));
        }
        shape.wrong_type("a length above zero");
        return None;
    }
    let (name, value) = shape.only_key()?;
    match name {
        "for-flow" => {
            let flow = value.quantity(parse_flow)?;
            if flow > Flow::ZERO {
                return Some(SillAsked::ForFlow(flow));
            }
            value.wrong_type("a flow above zero");
        }
        "for-storm" => {
            let storm = value.text()?;
            let (intensity, catchment) = (RainRate::ZERO, Area::ZERO);
            return Some(SillAsked::ForStorm { storm, intensity, catchment, coefficient: 0.0 });
        }
        other => shape.not_a_choice(other, "a length, { for-flow = \"0.25 m3/s\" } or { for-storm = \"25-year\" }"),
    }
    None
}

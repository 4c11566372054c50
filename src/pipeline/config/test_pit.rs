//! `[[test-pit]]`: a hole dug to see the ground, with what was met in it.

use super::earth::{self, EarthAsked};
use super::fall_line::{SpotAsked, spot};
use super::fault::{Fault, Gathered, Located};
use super::keys;
use super::site;
use super::walk::{Shape, Table};
use crate::units::{Length, parse_length};
use crate::works::{Crumb, Layer, Met};

/// A depth that is written twice is the same one within this, metres.
const SAME: f64 = 0.001;

/// A test pit as the file has it.
#[derive(Debug, Clone, PartialEq)]
pub struct TestPitAsked {
    /// Its name.
    pub name: Located<String>,
    /// Where it was dug.
    pub at: Located<SpotAsked>,
    /// How deep.
    pub depth: Length,
    /// What was met, to its bottom.
    pub layers: Vec<Layer>,
    /// Depth of standing water.
    pub water: Option<Length>,
    /// Depth of the rock that stopped it.
    pub rock: Option<Length>,
    /// The day it was dug.
    pub date: Option<String>,
}

pub(super) fn read(table: &Table<'_>, earth: Option<&EarthAsked>) -> Option<TestPitAsked> {
    let name = table.text(&keys::PIT_NAME);
    let at = table.with(&keys::PIT_AT, spot);
    let depth = table.above_zero(&keys::PIT_DEPTH, parse_length);
    let deep = depth.map_or(0.0, Length::in_metres);
    let layers = table.with(&keys::PIT_LAYERS, |shape| layers(shape, depth?, earth));
    let water = optional(table, &keys::PIT_WATER);
    let rock = optional(table, &keys::PIT_ROCK);
    let date = table.with(&keys::PIT_DATE, site::date);
    if let (Some(Some(water)), Some(depth)) = (water, depth)
        && (water - depth).in_metres() > SAME
    {
        table.out_of_range(
            &keys::PIT_WATER,
            &format!("water cannot have stood below the bottom of the pit, {deep:.2} m"),
        );
    }
    if let (Some(Some(rock)), Some(depth)) = (rock, depth)
        && (rock - depth).in_metres().abs() > SAME
    {
        table.out_of_range(&keys::PIT_ROCK, &format!("rock that stopped the pit lies at its bottom, {deep:.2} m"));
    }
    Some(TestPitAsked { name: name?, at: at?, depth: depth?, layers: layers?, water: water?, rock: rock?, date })
}

/// A depth that need not be written.
#[expect(clippy::option_option, reason = "what cannot be read is no depth that is not written")]
fn optional(table: &Table<'_>, key: &'static keys::Key) -> Option<Option<Length>> {
    if table.peek(key).is_none() {
        table.value(key);
        return Some(None);
    }
    table.at_least_zero(key, parse_length).map(Some)
}

/// Layers that follow each other down to the bottom.
fn layers(shape: &Shape<'_>, depth: Length, earth: Option<&EarthAsked>) -> Option<Vec<Layer>> {
    let items = shape.items();
    if shape.value.as_array().is_none() {
        shape.wrong_type("a list of layers");
        return None;
    }
    if items.is_empty() {
        let message = "`layers` is an empty list: a pit met one layer at least".to_owned();
        let fault = Fault::new("pipeline::wrong-type", shape.span.clone(), message);
        shape.faults.add(fault.help(format!("write it as {}", shape.key.takes)));
        return None;
    }
    let deep = depth.in_metres();
    let mut found: Vec<Layer> = Vec::new();
    let mut whole = true;
    for (index, item) in items.iter().enumerate() {
        let table = item.table("test-pit.layers")?;
        let last = index + 1 == items.len();
        let top = found.last().map_or(Length::ZERO, |layer| layer.to);
        let said = table.peek(&keys::LAYER_SOIL).and_then(|soil| soil.value.as_str());
        let met = if said == Some("topsoil") {
            table.value(&keys::LAYER_SOIL);
            Some(Met::Topsoil)
        } else {
            let own: Vec<_> = earth.iter().map(|earth| &earth.soil).collect();
            let placement = earth.map(|earth| earth.placement).unwrap_or_default();
            earth::soil(&table, &keys::LAYER_SOIL, &own, placement).map(Met::Soil)
        };
        let to = if table.peek(&keys::LAYER_TO).is_some() {
            table.above_zero(&keys::LAYER_TO, parse_length)
        } else if last {
            Some(depth)
        } else {
            let message = "a layer with another under it must say where it ends".to_owned();
            let fault = Fault::new("pipeline::missing-key", table.span(), message);
            shape.faults.add(fault.help(format!("write it as {}", keys::LAYER_TO.takes)));
            None
        };
        let ribbon = optional(&table, &keys::LAYER_RIBBON);
        let crumb = table.choice(&keys::LAYER_CRUMB, &Crumb::ALL.map(|crumb| (crumb.name(), crumb)));
        let (Some(met), Some(to), Some(ribbon)) = (met, to, ribbon) else {
            whole = false;
            continue;
        };
        let off = (to - depth).in_metres();
        let why = if to <= top {
            Some(format!(
                "the layer above it ends at {:.2} m, and layers are written from the top down",
                top.in_metres()
            ))
        } else if off > SAME {
            Some(format!("the pit was dug {deep:.2} m deep"))
        } else if last && off < -SAME {
            Some(format!("the pit was dug {deep:.2} m deep: say what was met below, or leave the last `to` out"))
        } else {
            None
        };
        if let Some(why) = why {
            if table.peek(&keys::LAYER_TO).is_some() {
                table.out_of_range(&keys::LAYER_TO, &why);
            } else {
                shape.faults.add(Fault::new(
                    "pipeline::out-of-range",
                    table.span(),
                    format!("no room for the last layer: {why}"),
                ));
            }
            return None;
        }
        found.push(Layer { met, to, ribbon, crumb });
    }
    whole.then_some(found)
}

/// Every test pit has a name of its own.
pub(super) fn check_names(pits: &[TestPitAsked], faults: &Gathered) {
    super::works::check_own_names("test pits", pits.iter().map(|pit| &pit.name), faults);
}

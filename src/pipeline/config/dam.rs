//! `[[dam]]`: a wall across a gully.

use super::fault::Located;
use super::keys;
use super::spillway::SpillwayAsked;

use super::walk::{Shape, Table};
use super::water_level::{WaterLevelAsked, full_supply as level};
use crate::units::{Batter, Length, parse_batter, parse_length};
use crate::works::dam::KeyWanted;

/// The axis of a wall, before the survey is known; places in the frame's unit.
#[derive(Debug, Clone, PartialEq)]
pub enum AxisAsked {
    /// Straight from place to place.
    Points(Vec<(f64, f64)>),
    /// The arc of a circle from the first place through the second to the third.
    Arc([(f64, f64); 3]),
    /// The one line of a map file.
    File(Located<String>),
}

/// A dam as the file asks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct DamAsked {
    /// Its name.
    pub name: Located<String>,
    /// The middle of its crest.
    pub axis: Located<AxisAsked>,
    /// Full supply.
    pub full_supply: Located<WaterLevelAsked>,
    /// Rise in the design flood, where it is said.
    pub flood_rise: Option<Length>,
    /// Waves above that.
    pub wave: Length,
    /// Settled crest above all that.
    pub freeboard: Length,
    /// Width of the crest, where it is said.
    pub crest_width: Option<Length>,
    /// Batter of the water side.
    pub upstream: Batter,
    /// Batter of the dry side.
    pub downstream: Batter,
    /// The cutoff trench.
    pub key: Option<KeyWanted>,
    /// Its spillway.
    pub spillway: Option<SpillwayAsked>,
}

pub(super) fn read(table: &Table<'_>) -> Option<DamAsked> {
    let name = table.text(&keys::DAM_NAME);
    let axis = table.with(&keys::DAM_AXIS, axis);
    let full_supply = table.with(&keys::DAM_FULL_SUPPLY, level);
    let flood_rise = table.peek(&keys::DAM_FLOOD_RISE).is_some();
    let flood_rise = flood_rise.then(|| table.above_zero(&keys::DAM_FLOOD_RISE, parse_length));
    let wave = table.at_least_zero(&keys::DAM_WAVE, parse_length);
    let freeboard = table.at_least_zero(&keys::DAM_FREEBOARD, parse_length);
    let crest_width = table.peek(&keys::DAM_CREST_WIDTH).is_some();
    let crest_width = crest_width.then(|| table.above_zero(&keys::DAM_CREST_WIDTH, parse_length));
    let upstream = table.quantity(&keys::DAM_UPSTREAM, parse_batter);
    let downstream = table.quantity(&keys::DAM_DOWNSTREAM, parse_batter);
    let key = cutoff(table);
    Some(DamAsked {
        name: name?,
        axis: axis?,
        full_supply: full_supply?,
        flood_rise: match flood_rise {
            Some(rise) => Some(rise?),
            None => None,
        },
        wave: wave?,
        freeboard: freeboard?,
        crest_width: match crest_width {
            Some(width) => Some(width?),
            None => None,
        },
        upstream: upstream?,
        downstream: downstream?,
        key: match key? {
            Cutoff::Trench(key) => Some(key),
            Cutoff::None => None,
        },
        spillway: None,
    })
}

fn axis(shape: &Shape<'_>) -> Option<Located<AxisAsked>> {
    if shape.value.as_table().is_none() {
        shape.wrong_type("a table with one of points, arc, file");
        return None;
    }
    let (name, value) = shape.only_key()?;
    let pairs =
        || -> Option<Vec<(f64, f64)>> { value.items().iter().map(|item| item.pair().map(|pair| pair.value)).collect() };
    let asked = match name {
        "points" => {
            let points = pairs()?;
            if points.len() < 2 {
                value.wrong_type("two places or more");
                return None;
            }
            AxisAsked::Points(points)
        }
        "arc" => {
            let Ok(three) = <[(f64, f64); 3]>::try_from(pairs()?) else {
                value.wrong_type("three places: one end, a place on the arc, the other end");
                return None;
            };
            AxisAsked::Arc(three)
        }
        "file" => AxisAsked::File(value.text()?),
        other => {
            shape.not_a_choice(other, "points, arc, file");
            return None;
        }
    };
    Some(Located::new(asked, value.span.clone()))
}

/// A cutoff, or none.
#[derive(Debug, Clone, Copy)]
enum Cutoff {
    Trench(KeyWanted),
    None,
}

/// The cutoff trench; the word `none` leaves it out.
fn cutoff(table: &Table<'_>) -> Option<Cutoff> {
    let sizes = |list: &Table<'_>| {
        let width = list.above_zero(&keys::CUTOFF_WIDTH, parse_length);
        let depth = list.above_zero(&keys::CUTOFF_DEPTH, parse_length);
        let batter = list.quantity(&keys::CUTOFF_BATTER, parse_batter);
        Some(Cutoff::Trench(KeyWanted { width: width?, depth: depth?, batter: batter? }))
    };
    match table.peek(&keys::DAM_CUTOFF) {
        None => {
            let empty = toml::de::DeTable::default();
            sizes(&Table::new("dam.cutoff", 0..0, &empty, table.faults()))
        }
        Some(shape) if shape.value.as_str() == Some("none") => {
            table.value(&keys::DAM_CUTOFF);
            Some(Cutoff::None)
        }
        Some(shape) => {
            table.value(&keys::DAM_CUTOFF);
            sizes(&shape.table("dam.cutoff")?)
        }
    }
}

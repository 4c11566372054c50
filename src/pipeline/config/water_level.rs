//! Where a swale or a dam stands full: `water-level` and `full-supply`.

use super::fault::{Fault, Located};
use super::keys;
use super::walk::{Shape, Table, number_of};
use crate::units::{Area, Elevation, Length, parse_area, parse_elevation, parse_fall, parse_length};
use crate::works::{Measure, PlaceAmong};

/// Where a water level comes from, before the survey is known.
#[derive(Debug, Clone, PartialEq)]
pub enum WaterLevelAsked {
    /// The ground at a shot: `day1.csv:117`, or `117` when one file alone has it.
    AtShot(String),
    /// Said outright.
    Elevation(Elevation),
    /// The ground at an easting and northing in the frame's unit.
    Through(f64, f64),
    /// So far above a thing; below it where negative.
    Off(Length, ThingAsked),
}

/// What a water level is measured from.
#[derive(Debug, Clone, PartialEq)]
pub enum ThingAsked {
    /// A shot, by its own height.
    Shot(String),
    /// An elevation.
    Elevation(Elevation),
    /// The ground at an easting and northing in the frame's unit.
    Place(f64, f64),
    /// Where another work stands full.
    Work(Located<String>),
}

/// The ways to say it.
pub(super) const WAYS: &str = "at-shot, elevation, through, above, below";

/// Of a dam.
pub(super) fn full_supply(shape: &Shape<'_>) -> Option<Located<WaterLevelAsked>> {
    let (name, value) = one_way(shape, WAYS)?;
    let asked = water_level(shape, name, &value, WAYS)?;
    Some(Located::new(asked, value.span.clone()))
}

/// The way that is taken, and what is said of it.
pub(super) fn one_way<'t>(shape: &Shape<'t>, ways: &str) -> Option<(&'t str, Shape<'t>)> {
    if shape.value.as_table().is_none() {
        shape.wrong_type(&format!("a table with one of {ways}"));
        return None;
    }
    shape.only_key()
}

/// An area, or one with a place beside it.
pub(super) fn to_catch(shape: &Shape<'_>) -> Option<(Area, Option<(f64, f64)>)> {
    if shape.value.as_table().is_none() {
        let area = shape.quantity(parse_area)?;
        if area <= Area::ZERO {
            shape.wrong_type("an area above zero");
            return None;
        }
        return Some((area, None));
    }
    let table = shape.table("water-level.to-catch")?;
    let area = table.above_zero(&keys::CATCH_AREA, parse_area);
    let near = table.with(&keys::CATCH_NEAR, Shape::pair).map(|pair| pair.value);
    Some((area?, near))
}

/// A rank, or one with what the lines are compared by and over.
pub(super) fn place(shape: &Shape<'_>) -> Option<PlaceAmong> {
    let empty = toml::de::DeTable::default();
    let table = match shape.value.as_table() {
        Some(_) => shape.table("water-level.place")?,
        None => Table::new("water-level.place", shape.span.clone(), &empty, shape.faults),
    };
    let whole = |shape: &Shape<'_>| {
        let rank = number_of(shape.value).filter(|rank| rank.fract() == 0.0 && (1.0..1e4).contains(rank));
        if rank.is_none() {
            shape.wrong_type("a rank, counted from 1");
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number from 1")]
        rank.map(|rank| rank as u32)
    };
    let rank = match shape.value.as_table() {
        None => whole(shape)?,
        Some(_) if table.peek(&keys::PLACE_RANK).is_none() => 1,
        Some(_) => table.with(&keys::PLACE_RANK, whole)?,
    };
    let by = table.choice(
        &keys::PLACE_BY,
        &[("held-per-dug", Measure::HeldPerDug), ("held", Measure::Held), ("catches", Measure::Catches)],
    );
    let from = table.quantity(&keys::PLACE_FROM, parse_elevation);
    let to = table.quantity(&keys::PLACE_TO, parse_elevation);
    let every = table.above_zero(&keys::PLACE_EVERY, parse_length);
    let least_length = table.at_least_zero(&keys::PLACE_LEAST_LENGTH, parse_length);
    let steepest = table.above_zero(&keys::PLACE_STEEPEST, parse_fall);
    if from.zip(to).is_some_and(|(from, to)| from > to) {
        table.out_of_range(&keys::PLACE_TO, "it may not be below `from`");
    }
    Some(PlaceAmong { rank, by: by?, from, to, every: every?, least_length: least_length?, steepest: steepest? })
}

/// A level that swales and dams alike may have.
pub(super) fn water_level(shape: &Shape<'_>, name: &str, value: &Shape<'_>, ways: &str) -> Option<WaterLevelAsked> {
    Some(match name {
        "at-shot" => WaterLevelAsked::AtShot(value.text()?.value),
        "elevation" => WaterLevelAsked::Elevation(value.quantity(parse_elevation)?),
        "through" => {
            let (easting, northing) = value.pair()?.value;
            WaterLevelAsked::Through(easting, northing)
        }
        "above" => off(value, 1.0)?,
        "below" => off(value, -1.0)?,
        other => {
            shape.not_a_choice(other, ways);
            return None;
        }
    })
}

/// How far off a thing, and which thing: one of the four.
fn off(shape: &Shape<'_>, sign: f64) -> Option<WaterLevelAsked> {
    let table = shape.table("water-level.below")?;
    let by = table.above_zero(&keys::LEVEL_BY, parse_length);
    let shot = table.text(&keys::LEVEL_AT_SHOT).map(|name| ThingAsked::Shot(name.value));
    let place = table.with(&keys::LEVEL_THROUGH, Shape::pair).map(|pair| ThingAsked::Place(pair.value.0, pair.value.1));
    let said = table.quantity(&keys::LEVEL_ELEVATION, parse_elevation).map(ThingAsked::Elevation);
    let work = table.text(&keys::LEVEL_WORK).map(ThingAsked::Work);
    let things = [&keys::LEVEL_AT_SHOT, &keys::LEVEL_THROUGH, &keys::LEVEL_ELEVATION, &keys::LEVEL_WORK];
    let written = things.iter().filter(|key| table.peek(key).is_some()).count();
    // A misspelt thing is told already.
    let misspelt =
        shape.value.as_table().map_or(0, toml::de::DeTable::len) > usize::from(table.peek(&keys::LEVEL_BY).is_some());
    if written > 1 || (written == 0 && !misspelt) {
        one_thing(&table, written);
    }
    if written != 1 {
        return None;
    }
    Some(WaterLevelAsked::Off(by? * sign, shot.or(place).or(said).or(work)?))
}

fn one_thing(table: &Table<'_>, found: usize) {
    let message = format!("a level above or below a thing is measured from one thing, found {found}");
    let help = "write one of at-shot, through, elevation, work beside `by`";
    table.faults().add(Fault::new("pipeline::one-choice", table.span(), message).help(help));
}

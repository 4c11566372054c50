//! `crossings` of a `[[swale]]`: where vehicles drive over it.

use super::fault::{Fault, Located};
use super::keys;
use super::walk::{Shape, Table};
use crate::units::{Station, parse_batter, parse_length};
use crate::works::CrossingWanted;

/// The crossings of a swale in the order of their stations.
pub(super) fn crossings(table: &Table<'_>) -> Option<Vec<Located<CrossingWanted>>> {
    let Some(list) = table.with(&keys::SWALE_CROSSINGS, |list| Some(list.clone())) else {
        return Some(Vec::new());
    };
    let mut read: Vec<Located<CrossingWanted>> = Vec::new();
    let mut resolved = Vec::new();
    for item in &list.items() {
        let (found, kept) = crossing(item)?;
        if read.last().is_some_and(|before| found.at <= before.value.at) {
            let fault =
                Fault::new("pipeline::not-in-order", item.span.clone(), "this crossing stands before the one above it");
            table.faults().add(fault.help("write crossings in the order of their stations"));
            return None;
        }
        read.push(Located::new(found, item.span.clone()));
        resolved.push(kept);
    }
    table.keep(&keys::SWALE_CROSSINGS, serde_json::Value::Array(resolved));
    Some(read)
}

fn crossing(item: &Shape<'_>) -> Option<(CrossingWanted, serde_json::Value)> {
    let list = item.table("swale.crossings")?;
    let at = list.above_zero(&keys::CROSSING_STATION, parse_length);
    let width = list.above_zero(&keys::CROSSING_WIDTH, parse_length);
    let ramp = list.quantity(&keys::CROSSING_RAMP, parse_batter);
    let batter = list.quantity(&keys::CROSSING_BATTER, parse_batter);
    let at = Station::metres(at?.in_metres());
    Some((CrossingWanted { at, width: width?, ramp: ramp?, batter: batter? }, list.into_resolved()))
}

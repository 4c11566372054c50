//! `changes` of a `[[swale]]`: where its section is another along the line.

use super::fault::{Fault, Located};
use super::keys::{self, Key};
use super::walk::{Shape, Table};
use crate::units::{Length, ParseError, Station, parse_batter, parse_length};
use crate::works::{ChannelShape, SectionChange};

/// The length over which a section changes where none is said; common practice, no source, metres.
const RAMP: f64 = 10.0;

/// The changes of a section of a shape, in order; what the shape does not have is a fault.
pub(super) fn changes(table: &Table<'_>, shape: Option<&ChannelShape>) -> Option<Vec<Located<SectionChange>>> {
    let Some(list) = table.with(&keys::SWALE_CHANGES, |list| Some(list.clone())) else {
        return Some(Vec::new());
    };
    let items = list.items();
    let mut resolved = Vec::new();
    let mut read: Vec<Located<SectionChange>> = Vec::new();
    for item in &items {
        let (found, kept) = change(item, shape)?;
        if let Some(before) = read.last().map(|before| &before.value).filter(|before| found.from < before.to()) {
            let message = format!(
                "this change begins at station {:.1} m, where the one before it ends at {:.1} m",
                found.from.in_metres(),
                before.to().in_metres()
            );
            let fault = Fault::new("pipeline::changes-overlap", item.span.clone(), message);
            table
                .faults()
                .add(fault.help("write them in the order of their stations, each after the one before has ended"));
            return None;
        }
        resolved.push(kept);
        read.push(Located::new(found, item.span.clone()));
    }
    table.keep(&keys::SWALE_CHANGES, serde_json::Value::Array(resolved));
    Some(read)
}

fn change(item: &Shape<'_>, shape: Option<&ChannelShape>) -> Option<(SectionChange, serde_json::Value)> {
    let list = item.table("swale.changes")?;
    let refused: &[(&'static Key, &str)] = match shape {
        Some(ChannelShape::Trapezoid { .. }) => {
            &[(&keys::CHANGE_TOP_WIDTH, "only a parabola is said by its width at the water level")]
        }
        Some(ChannelShape::Triangle) => &[
            (&keys::CHANGE_TOP_WIDTH, "only a parabola is said by its width at the water level"),
            (&keys::CHANGE_BOTTOM_WIDTH, "a triangle has no flat bed"),
        ],
        Some(ChannelShape::Parabola { .. }) => &[
            (&keys::CHANGE_BOTTOM_WIDTH, "a parabola has no flat bed; say its `top-width`"),
            (&keys::CHANGE_DOWNHILL_BATTER, "a parabola has no downhill batter; say its `top-width`"),
        ],
        None => &[],
    };
    let written: Vec<_> = refused.iter().filter(|(key, _)| list.peek(key).is_some()).collect();
    for (key, why) in &written {
        list.out_of_range(key, why);
    }
    if !written.is_empty() {
        return None;
    }
    let from = list.at_least_zero(&keys::CHANGE_FROM, parse_length);
    let over = maybe(&list, &keys::CHANGE_OVER, parse_length);
    let step = step(&list)?;
    let bottom = maybe(&list, &keys::CHANGE_BOTTOM_WIDTH, parse_length);
    let top = maybe(&list, &keys::CHANGE_TOP_WIDTH, parse_length);
    let change = SectionChange {
        width: match shape {
            Some(ChannelShape::Parabola { .. }) => top,
            _ => bottom,
        },
        depth: maybe(&list, &keys::CHANGE_DEPTH, parse_length),
        uphill_batter: list.quantity(&keys::CHANGE_UPHILL_BATTER, parse_batter),
        downhill_batter: list.quantity(&keys::CHANGE_DOWNHILL_BATTER, parse_batter),
        crest: maybe(&list, &keys::CHANGE_CREST, parse_length),
        berm_batter: list.quantity(&keys::CHANGE_BATTER, parse_batter),
        step_down: step,
        ..SectionChange::at(Station::metres(from?.in_metres()), over.unwrap_or_else(|| Length::metres(RAMP)))
    };
    // The face of a step alone stands at 2:1.
    let alone = SectionChange { step_down: step, ..SectionChange::at(change.from, change.over) };
    let change = match step {
        Some(step) if list.peek(&keys::CHANGE_OVER).is_none() && change == alone => {
            SectionChange { over: Length::metres(2.0 * step.in_metres().abs()), ..change }
        }
        _ => change,
    };
    let places = [keys::CHANGE_FROM.name, keys::CHANGE_OVER.name];
    let says = |entries: &toml::de::DeTable<'_>| entries.keys().any(|key| !places.contains(&key.get_ref().as_ref()));
    if !item.value.as_table().is_some_and(says) {
        let fault = Fault::new("pipeline::nothing-changes", item.span.clone(), "this change says nothing that changes");
        let help = "say one or more of bottom-width (a parabola: top-width), depth, step-down, step-up, uphill-batter, downhill-batter, crest, batter";
        list.faults().add(fault.help(help));
        return None;
    }
    Some((change, list.into_resolved()))
}

/// How much lower the bed is, where it steps; a fault where more than one thing says how deep it is.
#[expect(clippy::option_option, reason = "what cannot be read is no step that is not asked for")]
fn step(list: &Table<'_>) -> Option<Option<Length>> {
    let keys = [&keys::CHANGE_DEPTH, &keys::CHANGE_STEP_DOWN, &keys::CHANGE_STEP_UP];
    let written: Vec<Shape<'_>> = keys.into_iter().filter_map(|key| list.peek(key)).collect();
    if let [first, second, ..] = &written[..] {
        let message = format!("`{}` and `{}` cannot both say how deep the bed is", first.key.name, second.key.name);
        list.faults().add(Fault::new("pipeline::two-depths", second.span.clone(), message));
        return None;
    }
    let down = maybe(list, &keys::CHANGE_STEP_DOWN, parse_length);
    let up = maybe(list, &keys::CHANGE_STEP_UP, parse_length);
    Some(down.or_else(|| up.map(|up| Length::ZERO - up)))
}

/// A number above zero where it is written.
fn maybe<T: PartialOrd + Default>(
    list: &Table<'_>,
    key: &'static Key,
    parse: fn(&str) -> Result<T, ParseError>,
) -> Option<T> {
    list.peek(key).and_then(|_| list.above_zero(key, parse))
}

//! A set of swales down a slope from one `[[swale]]`: `down-slope`.
//!
//! Invariant: a set has two swales or more, and one spacing.

use super::fault::Fault;
use super::keys;
use super::walk::{Shape, Table, number_of};
use crate::units::parse_length;
use crate::works::Spacing;

/// Swales of one set at most.
const MOST: u32 = 20;

/// How many swales, and how far one lies below the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DownSlope {
    /// The first one counted.
    pub swales: u32,
    /// From each to the next.
    pub spacing: Spacing,
}

#[expect(clippy::option_option, reason = "what cannot be read is no set that is not asked for")]
pub(super) fn read(table: &Table<'_>) -> Option<Option<DownSlope>> {
    let Some(shape) = table.peek(&keys::SWALE_DOWN_SLOPE) else {
        table.value(&keys::SWALE_DOWN_SLOPE);
        return Some(None);
    };
    table.value(&keys::SWALE_DOWN_SLOPE);
    let list = shape.table("swale.down-slope")?;
    let swales = list.with(&keys::DOWN_SWALES, |shape| {
        let count =
            number_of(shape.value).filter(|count| count.fract() == 0.0 && (2.0..=f64::from(MOST)).contains(count));
        if count.is_none() {
            shape.wrong_type(&format!("a count from 2 to {MOST}"));
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number up to 20")]
        count.map(|count| count as u32)
    });
    let rules = [&keys::DOWN_DROP, &keys::DOWN_ALONG, &keys::DOWN_TERRACES];
    let written: Vec<_> = rules.into_iter().filter(|key| list.peek(key).is_some()).collect();
    let spacing = match written[..] {
        [key] if key == &keys::DOWN_DROP => list.above_zero(key, parse_length).map(Spacing::Drop),
        [key] if key == &keys::DOWN_ALONG => list.above_zero(key, parse_length).map(Spacing::AlongSlope),
        [key] => list.with(key, terraces),
        _ => {
            let message = format!("a set of swales has one spacing, found {}", written.len());
            let fault = Fault::new("pipeline::one-choice", list.span(), message);
            list.faults().add(fault.help("write one of drop, along-slope, terraces"));
            None
        }
    };
    table.keep(&keys::SWALE_DOWN_SLOPE, list.into_resolved());
    Some(Some(DownSlope { swales: swales?, spacing: spacing? }))
}

fn terraces(shape: &Shape<'_>) -> Option<Spacing> {
    let table = shape.table("swale.terraces")?;
    let x = table.at_least_zero(&keys::TERRACES_X, parse_length);
    let y = table.above_zero(&keys::TERRACES_Y, parse_length);
    Some(Spacing::Terraces { x: x?, y: y? })
}

//! One value as a writer shows it: in the frame's unit where its column says so, rounded as its column says.

use crate::frame::SiteFrame;
use crate::io::{Column, ColumnKind, Value};
use crate::units::{self, LengthUnit};

/// The column's name as written: with the frame's unit where the column is a coordinate or an elevation.
pub(super) fn header(column: &Column, unit: LengthUnit) -> String {
    match column.kind {
        ColumnKind::Easting | ColumnKind::Northing | ColumnKind::Elevation => {
            format!("{}_{}", column.name, unit.suffix())
        }
        ColumnKind::Text | ColumnKind::Integer | ColumnKind::Number(_) | ColumnKind::Flag => column.name.clone(),
    }
}

/// Decimals that the column is written with.
pub(super) const fn decimals(kind: ColumnKind) -> usize {
    match kind {
        ColumnKind::Number(decimals) => decimals,
        _ => 3,
    }
}

/// A number in the unit that the column is written in.
pub(super) fn number(kind: ColumnKind, value: f64, frame: &SiteFrame) -> f64 {
    match kind {
        ColumnKind::Easting => (value * frame.combined_factor + frame.origin.x) / frame.unit.metres(),
        ColumnKind::Northing => (value * frame.combined_factor + frame.origin.y) / frame.unit.metres(),
        ColumnKind::Elevation => frame.elevation_to_frame(value),
        _ => value,
    }
}

/// As text, rounded; empty for what is not known.
pub(super) fn text(kind: ColumnKind, value: &Value, frame: &SiteFrame) -> String {
    match value {
        Value::Text(text) => text.clone(),
        Value::Integer(number) => number.to_string(),
        Value::Number(value) if value.is_finite() => units::metres(number(kind, *value, frame), decimals(kind)),
        Value::Nothing | Value::Number(_) => String::new(),
        Value::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
    }
}

/// As a rounded number; `None` for what is none.
pub(super) fn rounded(kind: ColumnKind, value: f64, frame: &SiteFrame) -> Option<f64> {
    let shown = number(kind, value, frame);
    shown.is_finite().then(|| units::metres(shown, decimals(kind)).parse().unwrap_or(shown))
}

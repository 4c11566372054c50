//! Tables as CSV: UTF-8, LF, a header line, three decimals unless the column says otherwise.
//!
//! Coordinates and elevations are in the frame's own unit and their header says which. A text cell that a spreadsheet
//! would take for a formula (it starts with `=`, `+`, `-` or `@`, or with a tab or a line end before one) gets an
//! apostrophe in front, which our readers strip. Quoting as in RFC 4180.

use super::{WriteError, atomic, cell};
use crate::frame::SiteFrame;
use crate::io::{Column, Layer, Value};
use std::path::Path;

/// Rows under named columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The columns.
    pub columns: Vec<Column>,
    /// One value for each column, row by row.
    pub rows: Vec<Vec<Value>>,
}

impl Table {
    /// No rows yet.
    #[must_use]
    pub const fn new(columns: Vec<Column>) -> Self {
        Self { columns, rows: Vec::new() }
    }

    /// The attributes of a layer.
    #[must_use]
    pub fn of_layer(layer: &Layer) -> Self {
        let rows = layer.features.iter().map(|feature| feature.values.clone()).collect();
        Self { columns: layer.columns.clone(), rows }
    }

    /// Adds a row.
    ///
    /// # Panics
    /// When the row is shorter or longer than the header: our fault.
    pub fn push(&mut self, row: Vec<Value>) {
        assert_eq!(row.len(), self.columns.len(), "one value a column");
        self.rows.push(row);
    }
}

/// Writes a table.
///
/// # Errors
/// [`WriteError::File`].
pub fn write(path: &Path, table: &Table, frame: &SiteFrame) -> Result<(), WriteError> {
    atomic::write_with(path, |out| {
        let mut rows = csv::WriterBuilder::new().terminator(csv::Terminator::Any(b'\n')).from_writer(out);
        rows.write_record(table.columns.iter().map(|column| cell::header(column, frame.unit)))?;
        for row in &table.rows {
            rows.write_record(row.iter().zip(&table.columns).map(|(value, column)| {
                let text = cell::text(column.kind, value, frame);
                if matches!(value, Value::Text(_)) { no_formula(text) } else { text }
            }))?;
        }
        rows.flush()
    })
}

fn no_formula(text: String) -> String {
    let formula = text.trim_start().starts_with(['=', '+', '-', '@']) || text.starts_with(['\t', '\r', '\n']);
    if formula { format!("'{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;
    use crate::io::ColumnKind;
    use crate::units::LengthUnit;

    fn written(unit: LengthUnit) -> String {
        let frame = SiteFrame {
            crs: "local".into(),
            name: "site grid".into(),
            height: "as the survey gives them".into(),
            unit,
            origin: Point::new(3048.0, 6096.0),
            combined_factor: 1.0,
        };
        let mut table = Table::new(vec![
            Column::text("shot"),
            Column::new("easting", ColumnKind::Easting),
            Column::new("northing", ColumnKind::Northing),
            Column::elevation("ground"),
            Column::number("cut_m3"),
            Column::new("count", ColumnKind::Integer),
            Column::new("closed", ColumnKind::Flag),
        ]);
        table.push(vec![
            "=1+1".into(),
            0.3048.into(),
            0.0.into(),
            30.48.into(),
            (-0.000_4).into(),
            7usize.into(),
            true.into(),
        ]);
        table.push(vec![
            "a \"b\", c".into(),
            Value::Nothing,
            Value::Nothing,
            Value::Nothing,
            f64::NAN.into(),
            Value::Nothing,
            false.into(),
        ]);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.csv");
        write(&path, &table, &frame).unwrap();
        std::fs::read_to_string(path).unwrap()
    }

    #[test]
    fn metres() {
        assert_eq!(
            written(LengthUnit::Metres),
            "shot,easting_m,northing_m,ground_m,cut_m3,count,closed\n'=1+1,3048.305,6096.000,30.480,0.000,7,yes\n\"a \"\"b\"\", c\",,,,,,no\n"
        );
    }

    #[test]
    fn feet_are_told_in_the_header_and_volumes_stay_cubic_metres() {
        let text = written(LengthUnit::Feet);
        assert!(text.starts_with("shot,easting_ft,northing_ft,ground_ft,cut_m3,"), "{text}");
        assert!(text.contains("'=1+1,10001.000,20000.000,100.000,0.000,"), "{text}");
    }

    #[test]
    fn us_survey_feet_are_not_feet() {
        // 3048.3048 m in US survey feet: 3048.3048 * 3937 / 1200.
        assert!(written(LengthUnit::UsSurveyFeet).contains("'=1+1,10000.980,19999.960,100.000,"), "2 ppm apart");
    }
}

//! The tables of one folder, and beside them `csv-metadata.json`, which says what a table cannot: the frame, what elevations
//! are above, the unit and meaning of every column, whether there is a header at all.
//!
//! The side file is metadata in the vocabulary of CSV on the Web (`sources::CSVW`), under the name that it gives to a folder.

use super::csv::{self, Table};
use super::rover::{self, RoverPoint};
use super::{WriteError, atomic, cell};
use crate::frame::SiteFrame;
use crate::io::{Column, ColumnKind};
use serde_json::{Value as Json, json};
use std::path::Path;

/// Name of the side file.
pub const METADATA: &str = "csv-metadata.json";

/// Columns of a rover file, in order.
const ROVER: [(&str, ColumnKind); 5] = [
    ("point", ColumnKind::Text),
    ("northing", ColumnKind::Northing),
    ("easting", ColumnKind::Easting),
    ("design_elevation", ColumnKind::Elevation),
    ("description", ColumnKind::Text),
];

/// Writes the tables of one folder and keeps what there is to say of them.
#[derive(Debug)]
pub struct Tables<'a> {
    folder: &'a Path,
    frame: &'a SiteFrame,
    told: Vec<Json>,
}

impl<'a> Tables<'a> {
    /// Nothing written yet.
    #[must_use]
    pub const fn new(folder: &'a Path, frame: &'a SiteFrame) -> Self {
        Self { folder, frame, told: Vec::new() }
    }

    /// Writes a table.
    ///
    /// # Errors
    /// [`WriteError::File`].
    pub fn table(&mut self, name: &str, table: &Table) -> Result<(), WriteError> {
        csv::write(&self.folder.join(name), table, self.frame)?;
        self.tell(name, true, &table.columns);
        Ok(())
    }

    /// Writes a file for a rover, which has no header.
    ///
    /// # Errors
    /// [`WriteError::File`].
    pub fn rover(&mut self, name: &str, points: &[RoverPoint]) -> Result<(), WriteError> {
        rover::write(&self.folder.join(name), points, self.frame)?;
        let columns = ROVER.map(|(name, kind)| Column::new(name, kind));
        self.tell(name, false, &columns);
        Ok(())
    }

    /// Writes the side file.
    ///
    /// # Errors
    /// [`WriteError::File`].
    pub fn finish(self) -> Result<(), WriteError> {
        let frame = self.frame;
        let metadata = json!({
            "@context": "http://www.w3.org/ns/csvw",
            "dc:description": frame.words(),
            "notes": [{
                "crs": frame.crs,
                "name": frame.name,
                "height": frame.height,
                "unit": frame.unit.name(),
                "combined_factor": frame.combined_factor,
            }],
            "tables": self.told,
        });
        let text = serde_json::to_string_pretty(&metadata).unwrap_or_default();
        atomic::write(&self.folder.join(METADATA), (text + "\n").as_bytes())
    }

    fn tell(&mut self, name: &str, header: bool, columns: &[Column]) {
        let columns: Vec<Json> = columns.iter().map(|column| self.column(column)).collect();
        self.told.push(json!({
            "url": name,
            "dialect": { "header": header, "lineTerminators": ["\n"] },
            "tableSchema": { "columns": columns },
        }));
    }

    fn column(&self, column: &Column) -> Json {
        let name = cell::header(column, self.frame.unit);
        let mut told = json!({ "name": name, "titles": name, "datatype": datatype(column.kind) });
        if let Some(words) = self.words(column) {
            told["dc:description"] = words.into();
        }
        told
    }

    fn words(&self, column: &Column) -> Option<String> {
        let unit = self.frame.unit.name();
        match column.kind {
            ColumnKind::Easting | ColumnKind::Northing => Some(format!("{unit}, {}", self.frame.system())),
            ColumnKind::Elevation => Some(format!("{unit}, {}", self.frame.height)),
            ColumnKind::Number(_) => {
                let unit = UNITS.iter().find(|(ending, _)| column.name.ends_with(ending)).map(|(_, unit)| *unit);
                let sign = SIGNS.iter().find(|(name, _)| column.name == *name).map(|(_, sign)| *sign);
                Some(unit.into_iter().chain(sign).collect::<Vec<_>>().join("; ")).filter(|words| !words.is_empty())
            }
            ColumnKind::Text | ColumnKind::Integer | ColumnKind::Flag => None,
        }
    }
}

/// Endings of names of numbers, the longer ones first.
const UNITS: [(&str, &str); 4] =
    [("_m3", "cubic metres"), ("_m2", "square metres"), ("_m", "metres"), ("_percent", "per cent")];

/// What the sign of a signed column means.
const SIGNS: [(&str, &str); 5] = [
    ("deviation_m", "ground minus water level: positive is high"),
    ("difference_m", "measured minus design: positive is high"),
    ("offset_m", "from the works' line: positive is uphill"),
    ("off_neighbours_m", "shot minus its neighbours: positive is high"),
    ("surplus_bank_m3", "negative is short of earth"),
];

fn datatype(kind: ColumnKind) -> Json {
    match kind {
        ColumnKind::Text => "string".into(),
        ColumnKind::Integer => "integer".into(),
        ColumnKind::Flag => json!({ "base": "boolean", "format": "yes|no" }),
        ColumnKind::Number(_) | ColumnKind::Easting | ColumnKind::Northing | ColumnKind::Elevation => "decimal".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;
    use crate::units::LengthUnit;

    #[test]
    fn the_side_file_names_every_column_its_unit_and_the_frame() {
        let frame = SiteFrame {
            crs: "EPSG:3568".into(),
            name: "NAD83(HARN) / Utah North (ftUS)".into(),
            height: "NAVD88".into(),
            unit: LengthUnit::UsSurveyFeet,
            origin: Point::new(0.0, 0.0),
            combined_factor: 1.0,
        };
        let folder = tempfile::tempdir().unwrap();
        let mut tables = Tables::new(folder.path(), &frame);
        let columns = vec![
            Column::text("shot"),
            Column::new("easting", ColumnKind::Easting),
            Column::elevation("ground"),
            Column::number("deviation_m"),
            Column::new("closed", ColumnKind::Flag),
        ];
        let mut table = Table::new(columns);
        table.push(vec!["a".into(), 1.0.into(), 2.0.into(), 0.5.into(), true.into()]);
        tables.table("t.csv", &table).unwrap();
        let point =
            RoverPoint { id: "U0".into(), place: Point::new(1.0, 2.0), elevation: 3.0, description: "bed".into() };
        tables.rover("rover-bed.csv", &[point]).unwrap();
        tables.finish().unwrap();

        let text = std::fs::read_to_string(folder.path().join(METADATA)).unwrap();
        let found: Json = serde_json::from_str(&text).unwrap();
        assert_eq!(found["@context"], "http://www.w3.org/ns/csvw");
        let words = found["dc:description"].as_str().unwrap();
        for part in ["NAD83(HARN) / Utah North (ftUS) (EPSG:3568)", "US survey feet", "NAVD88"] {
            assert!(words.contains(part), "{words}");
        }
        // Every table's columns are those of its file, and a rover's file says that it has no header.
        for table in found["tables"].as_array().unwrap() {
            let file = std::fs::read_to_string(folder.path().join(table["url"].as_str().unwrap())).unwrap();
            let names: Vec<&str> = table["tableSchema"]["columns"]
                .as_array()
                .unwrap()
                .iter()
                .map(|column| column["titles"].as_str().unwrap())
                .collect();
            let first: Vec<&str> = file.lines().next().unwrap().split(',').collect();
            if table["dialect"]["header"] == true {
                assert_eq!(names, first);
            } else {
                assert_eq!(names, ["point", "northing_usft", "easting_usft", "design_elevation_usft", "description"]);
                assert_eq!(names.len(), first.len());
            }
        }
        let told = |table: usize, column: usize| found["tables"][table]["tableSchema"]["columns"][column].clone();
        assert_eq!(told(0, 2)["dc:description"], "US survey feet, NAVD88");
        assert_eq!(told(0, 3)["dc:description"], "metres; ground minus water level: positive is high");
        assert_eq!(told(0, 4)["datatype"]["format"], "yes|no");
    }
}

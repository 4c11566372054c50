//! Level books as plain tables, text or a sheet of a workbook: one staff position a line under a header line that names the columns.
//!
//! Columns in any order: `station` (what the staff stood on), `backsight`, `intermediate`, `foresight`, `collimation`
//! (height of collimation said outright), `elevation` (known, or reduced by hand), `distance` (length of the sight) and
//! `remark`; the usual short names too. Encoding, comments and delimiters are those of point files.

use super::points::{FileSettings, Row, dialect, is_workbook, letters, part_of};
use super::{ReadError, spreadsheet};
use crate::notes::{Note, Place};
use crate::survey::{LevelBook, LevelRow};
use crate::units::LengthUnit;
use std::path::Path;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Station,
    Backsight,
    Intermediate,
    Foresight,
    Collimation,
    Elevation,
    Distance,
    Remark,
}

impl Column {
    const NAMES: [(Self, &'static [&'static str]); 8] = [
        (Self::Station, &["station", "mark", "point", "staffon", "at", "pointid", "id", "name", "peg", "stake"]),
        (Self::Backsight, &["backsight", "bs", "back"]),
        (
            Self::Intermediate,
            &["intermediate", "intermediatesight", "is", "intersight", "reading", "staff", "staffreading"],
        ),
        (Self::Foresight, &["foresight", "fs", "fore"]),
        (Self::Collimation, &["collimation", "heightofcollimation", "hoc", "hpc", "hi", "heightofinstrument", "laser"]),
        (Self::Elevation, &["elevation", "elev", "rl", "reducedlevel", "known", "z"]),
        (Self::Distance, &["distance", "dist", "sight", "sightlength"]),
        (Self::Remark, &["remark", "remarks", "note", "notes", "code", "description", "comment"]),
    ];

    fn read(title: &str) -> Option<Self> {
        let squeezed: String = title.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase();
        Self::NAMES.iter().find(|(_, names)| names.contains(&squeezed.as_str())).map(|(column, _)| *column)
    }

    const fn is_number(self) -> bool {
        !matches!(self, Self::Station | Self::Remark)
    }
}

const ACCEPTED: &str = "a header with station and either backsight and foresight, or collimation and reading";

/// Reads a level book: a text, or a sheet of a workbook (`levels.xlsx#Day 1` where there are several).
///
/// # Errors
/// [`ReadError`] with the place of the first fault.
pub fn read(path: &Path, settings: &FileSettings) -> Result<LevelBook, ReadError> {
    let (file, part) = part_of(path);
    let name = settings.name.clone().unwrap_or_else(|| path.display().to_string());
    let bytes = std::fs::read(&file).map_err(|source| ReadError::Open { path: name.clone(), source })?;
    if is_workbook(&file) {
        return sheet(&bytes, &name, part.as_deref())?.book(&name, settings);
    }
    parse(&bytes, &name, settings)
}

/// True when a file is a level book rather than a point file: its header names sights. False when it cannot be read.
#[must_use]
pub fn is_one_at(path: &Path) -> bool {
    let (file, part) = part_of(path);
    let Ok(bytes) = std::fs::read(&file) else { return false };
    let rows = if is_workbook(&file) {
        sheet(&bytes, "", part.as_deref())
    } else {
        text(&bytes, "", &FileSettings::default())
    };
    rows.is_ok_and(|rows| rows.header().is_some())
}

/// Reads a level book that is already in memory, as text.
///
/// # Errors
/// [`ReadError`] with the place of the first fault.
pub fn parse(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<LevelBook, ReadError> {
    text(bytes, name, settings)?.book(name, settings)
}

/// A book taken apart: rows of fields, the titles first.
struct Taken {
    rows: Vec<Row>,
    /// Rows of a sheet, whose cells have letters.
    of_sheet: bool,
    notes: Vec<Note>,
}

fn broken(name: &str, why: String) -> ReadError {
    ReadError::Format { path: name.to_owned(), format: "level book", why }
}

fn text(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<Taken, ReadError> {
    let lines = dialect::lines(bytes, name, settings.delimiter).map_err(|error| broken(name, error.to_string()))?.data;
    if lines.is_empty() {
        return Err(ReadError::Empty { path: name.to_owned(), accepted: ACCEPTED });
    }
    let delimiter = match settings.delimiter {
        Some(delimiter) => delimiter,
        None => {
            dialect::sniff(&lines, settings.decimal_comma, name).map_err(|error| broken(name, error.to_string()))?
        }
    };
    let rows = lines.iter().map(|(line, text)| Row { line: *line, fields: dialect::fields(text, delimiter) }).collect();
    Ok(Taken { rows, of_sheet: false, notes: Vec::new() })
}

fn sheet(bytes: &[u8], name: &str, part: Option<&str>) -> Result<Taken, ReadError> {
    let found = spreadsheet::sheet_of(bytes, name, part, &|row| Header::read(&row.fields).is_some());
    let found = found.map_err(|error| broken(name, error.to_string()))?;
    Ok(Taken { rows: found.rows, of_sheet: true, notes: found.notes })
}

struct Header {
    columns: Vec<Option<Column>>,
    unit: Option<LengthUnit>,
    unread: Vec<String>,
}

impl Header {
    fn read(titles: &[String]) -> Option<Self> {
        // A sheet is as wide as its widest row: what stands beyond the last title belongs to nothing.
        let titles = &titles[..titles.iter().rposition(|title| !title.is_empty()).map_or(0, |last| last + 1)];
        let parted: Vec<(&str, Option<LengthUnit>)> = titles.iter().map(|title| parted_title(title)).collect();
        let columns: Vec<Option<Column>> = parted.iter().map(|(title, _)| Column::read(title)).collect();
        let has = |column: Column| columns.contains(&Some(column));
        let sights =
            has(Column::Backsight) && has(Column::Foresight) || has(Column::Collimation) && has(Column::Intermediate);
        if !(sights && has(Column::Station)) {
            return None;
        }
        let unit = parted.iter().find_map(|(_, unit)| *unit);
        let unread = titles.iter().zip(&columns).filter(|(_, column)| column.is_none()).map(|(title, _)| title.clone());
        let unread = unread.filter(|title| !title.is_empty()).collect();
        Some(Self { columns, unit, unread })
    }
}

impl Taken {
    fn header(&self) -> Option<Header> {
        Header::read(&self.rows.first()?.fields)
    }

    fn book(self, name: &str, settings: &FileSettings) -> Result<LevelBook, ReadError> {
        let Some(header) = self.header() else {
            return Err(broken(name, format!("it has no header line of a level book: accepted is {ACCEPTED}")));
        };
        let whole = Place::File { file: name.to_owned(), line: 0, column: 0 };
        let mut notes = self.notes;
        if !header.unread.is_empty() {
            let text = format!("columns not read: {}", header.unread.join(", "));
            notes.push(Note::new("levels::columns-not-read", text).at(whole.clone()));
        }
        if let (Some(said), Some(found)) = (settings.unit, header.unit)
            && said != found
        {
            let text =
                format!("the header says {}, the settings say {}: read as {}", found.name(), said.name(), said.name());
            notes.push(Note::new("levels::units-disagree", text).at(whole));
        }
        let fault = Faults { file: name, of_sheet: self.of_sheet };
        let rows =
            self.rows[1..].iter().map(|row| read_row(row, &fault, &header, settings)).collect::<Result<Vec<_>, _>>()?;
        if rows.is_empty() {
            return Err(ReadError::Empty { path: name.to_owned(), accepted: ACCEPTED });
        }
        Ok(LevelBook { name: name.to_owned(), unit: settings.unit.or(header.unit), rows, notes })
    }
}

/// Tells where a fault is, as the file counts.
struct Faults<'a> {
    file: &'a str,
    of_sheet: bool,
}

impl Faults<'_> {
    fn at(&self, line: u64, column: usize, found: String, accepted: String) -> ReadError {
        let (path, column) = (self.file.to_owned(), column as u64);
        if self.of_sheet {
            ReadError::Cell { path, cell: format!("{}{line}", letters(column)), line, column, found, accepted }
        } else {
            ReadError::Fault { path, line, column, found, accepted }
        }
    }
}

/// A title and the unit at its end: `BS (ft)`, `backsight_ft`.
fn parted_title(title: &str) -> (&str, Option<LengthUnit>) {
    let title = title.trim();
    let inside = title.strip_suffix([')', ']']).and_then(|open| open.rsplit_once(['(', '[']));
    let parted = inside.or_else(|| title.rsplit_once(['_', ' ']));
    match parted.map(|(name, unit)| (name, LengthUnit::from_name(unit))) {
        Some((name, unit @ Some(_))) => (name, unit),
        _ => (title, None),
    }
}

fn read_row(row: &Row, faults: &Faults<'_>, header: &Header, settings: &FileSettings) -> Result<LevelRow, ReadError> {
    let (line, fields) = (row.line, &row.fields);
    if let Some(at) = (header.columns.len()..fields.len()).find(|&at| !fields[at].is_empty()) {
        // Of a text no one field is wrong: the line is.
        let at = if faults.of_sheet { at + 1 } else { 0 };
        let accepted = format!("as many as the header has, {}", header.columns.len());
        return Err(faults.at(line, at, format!("{} fields", fields.len()), accepted));
    }
    let mut row = LevelRow { line, ..LevelRow::default() };
    for (at, (field, column)) in fields.iter().zip(&header.columns).enumerate() {
        let Some(column) = column else { continue };
        if field.is_empty() || field == "-" && column.is_number() {
            continue;
        }
        let number = || {
            let text = if settings.decimal_comma { field.replace(',', ".") } else { field.clone() };
            let value = text.parse::<f64>().ok().filter(|value| value.is_finite());
            let accepted = "a staff reading or an elevation as a number".to_owned();
            value.ok_or_else(|| faults.at(line, at + 1, format!("`{field}`"), accepted))
        };
        match column {
            Column::Station => row.station.clone_from(field),
            Column::Remark => row.remark.clone_from(field),
            Column::Backsight => row.backsight = Some(number()?),
            Column::Intermediate => row.intermediate = Some(number()?),
            Column::Foresight => row.foresight = Some(number()?),
            Column::Collimation => row.collimation = Some(number()?),
            Column::Elevation => row.elevation = Some(number()?),
            Column::Distance => row.sight = Some(number()?),
        }
    }
    Ok(row)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(text: &str) -> Result<LevelBook, ReadError> {
        parse(text.as_bytes(), "levels.csv", &FileSettings::default())
    }

    #[test]
    fn a_book_with_its_usual_columns() {
        let text = "\u{feff}# levels of Kestrel Flat\r\nStation;BS (ft);IS (ft);FS (ft);RL (ft);Dist;Remarks\r\n\r\nCP1;4.20;;;100.00;150;start\r\nTP1;5.1;;6.50;97.70;140\r\nU000;;3,2\r\n";
        let error = parsed(text).unwrap_err().to_string();
        assert!(error.contains("levels.csv:6:3") && error.contains("`3,2`"), "{error}");
        let book = parsed(&text.replace("3,2", "3.2")).unwrap();
        assert_eq!(book.unit, Some(LengthUnit::Feet));
        assert_eq!(book.rows.len(), 3);
        assert_eq!((book.rows[0].backsight, book.rows[0].elevation, book.rows[0].line), (Some(4.20), Some(100.0), 4));
        assert_eq!((book.rows[1].backsight, book.rows[1].foresight), (Some(5.1), Some(6.5)));
        assert_eq!((book.rows[2].station.as_str(), book.rows[2].intermediate), ("U000", Some(3.2)));
        assert_eq!(book.rows[0].remark, "start");
    }

    #[test]
    fn readings_under_a_height_of_collimation() {
        let book = parsed("mark,collimation,reading\nlaser,433.725,\nU000,,2.101\nU020,,2.113\n").unwrap();
        assert_eq!(book.rows[0].collimation, Some(433.725));
        assert_eq!(book.rows[2].intermediate, Some(2.113));
        assert_eq!(book.unit, None);
    }

    #[test]
    fn point_files_are_no_level_books_and_the_other_way_round() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("levels.csv");
        for (text, one) in [
            ("mark,backsight,foresight\nCP1,1.2,\n", true),
            ("point,easting,northing,elevation,code\n1,2,3,4,gs\n", false),
            ("1,2,3,4,gs\n", false),
            ("", false),
        ] {
            std::fs::write(&path, text).unwrap();
            assert_eq!(is_one_at(&path), one, "{text}");
        }
        assert!(!is_one_at(&folder.path().join("none.csv")));
        let error = parsed("point,easting,northing,elevation\n1,2,3,4\n").unwrap_err().to_string();
        assert!(error.contains("no header line of a level book"), "{error}");
        assert!(parsed("").unwrap_err().to_string().contains("is empty"));
        assert!(parsed("mark,backsight,foresight\n").unwrap_err().to_string().contains("is empty"));
        let error = parsed("mark,backsight,foresight\nCP1,1.2,,9.9\n").unwrap_err().to_string();
        assert!(error.contains("levels.csv:2") && error.contains("4 fields"), "{error}");
        assert!(parsed("mark,backsight,foresight\nCP1,NaN,\n").is_err());
    }
}

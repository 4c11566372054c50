//! Level books as plain tables: one staff position a line under a header line that names the columns.
//!
//! Columns in any order: `station` (what the staff stood on), `backsight`, `intermediate`, `foresight`, `collimation`
//! (height of collimation said outright), `elevation` (known, or reduced by hand), `distance` (length of the sight) and
//! `remark`; the usual short names too. Encoding, comments and delimiters are those of point files.

use super::ReadError;
use super::points::{FileSettings, dialect};
use crate::notes::{Note, Place};
use crate::survey::{Delimiter, LevelBook, LevelRow};
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

/// Reads a level book.
///
/// # Errors
/// [`ReadError`] with the place of the first fault.
pub fn read(path: &Path, settings: &FileSettings) -> Result<LevelBook, ReadError> {
    let name = settings.name.clone().unwrap_or_else(|| path.display().to_string());
    let bytes = std::fs::read(path).map_err(|source| ReadError::Open { path: name.clone(), source })?;
    parse(&bytes, &name, settings)
}

/// True when the text is a level book rather than a point file: its header names sights.
#[must_use]
pub fn is_one(bytes: &[u8]) -> bool {
    header(bytes, "", &FileSettings::default()).is_ok_and(|header| header.is_some())
}

/// As [`is_one`], of a file; false when it cannot be read.
#[must_use]
pub fn is_one_at(path: &Path) -> bool {
    std::fs::read(path).is_ok_and(|bytes| is_one(&bytes))
}

struct Header {
    columns: Vec<Option<Column>>,
    unit: Option<LengthUnit>,
    unread: Vec<String>,
    delimiter: Delimiter,
    lines: dialect::Lines,
}

fn header(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<Option<Header>, ReadError> {
    let broken = |why: String| ReadError::Format { path: name.to_owned(), format: "level book", why };
    let lines = dialect::lines(bytes, name, settings.delimiter).map_err(|error| broken(error.to_string()))?;
    let Some((_, first)) = lines.data.first() else {
        return Err(ReadError::Empty { path: name.to_owned(), accepted: ACCEPTED });
    };
    let delimiter = match settings.delimiter {
        Some(delimiter) => delimiter,
        None => dialect::sniff(&lines.data, settings.decimal_comma, name).map_err(|error| broken(error.to_string()))?,
    };
    let titles = dialect::fields(first, delimiter);
    let parted: Vec<(&str, Option<LengthUnit>)> = titles.iter().map(|title| parted_title(title)).collect();
    let columns: Vec<Option<Column>> = parted.iter().map(|(title, _)| Column::read(title)).collect();
    let has = |column: Column| columns.contains(&Some(column));
    let sights =
        has(Column::Backsight) && has(Column::Foresight) || has(Column::Collimation) && has(Column::Intermediate);
    if !(sights && has(Column::Station)) {
        return Ok(None);
    }
    let unit = parted.iter().find_map(|(_, unit)| *unit);
    let unread = titles.iter().zip(&columns).filter(|(_, column)| column.is_none()).map(|(title, _)| title.clone());
    let unread = unread.filter(|title| !title.is_empty()).collect();
    Ok(Some(Header { columns, unit, unread, delimiter, lines }))
}

/// Reads a level book that is already in memory.
///
/// # Errors
/// [`ReadError`] with the place of the first fault.
pub fn parse(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<LevelBook, ReadError> {
    let Some(header) = header(bytes, name, settings)? else {
        let why = format!("it has no header line of a level book: accepted is {ACCEPTED}");
        return Err(ReadError::Format { path: name.to_owned(), format: "level book", why });
    };
    let whole = Place::File { file: name.to_owned(), line: 0, column: 0 };
    let mut notes = Vec::new();
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
    let rows = header.lines.data[1..]
        .iter()
        .map(|(line, text)| row(*line, text, name, &header, settings))
        .collect::<Result<Vec<_>, _>>()?;
    if rows.is_empty() {
        return Err(ReadError::Empty { path: name.to_owned(), accepted: ACCEPTED });
    }
    Ok(LevelBook { name: name.to_owned(), unit: settings.unit.or(header.unit), rows, notes })
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

fn row(line: u64, text: &str, file: &str, header: &Header, settings: &FileSettings) -> Result<LevelRow, ReadError> {
    let fields = dialect::fields(text, header.delimiter);
    let fault = |column: usize, found: String, accepted: &str| ReadError::Fault {
        path: file.to_owned(),
        line,
        column: column as u64,
        found,
        accepted: accepted.to_owned(),
    };
    if fields.len() > header.columns.len() && fields[header.columns.len()..].iter().any(|field| !field.is_empty()) {
        let found = format!("{} fields", fields.len());
        return Err(fault(0, found, &format!("as many as the header has, {}", header.columns.len())));
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
            value.ok_or_else(|| fault(at + 1, format!("`{field}`"), "a staff reading or an elevation as a number"))
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
        assert!(is_one(b"mark,backsight,foresight\nCP1,1.2,\n"));
        assert!(!is_one(b"point,easting,northing,elevation,code\n1,2,3,4,gs\n"));
        assert!(!is_one(b"1,2,3,4,gs\n"));
        assert!(!is_one(b""));
        let error = parsed("point,easting,northing,elevation\n1,2,3,4\n").unwrap_err().to_string();
        assert!(error.contains("no header line of a level book"), "{error}");
        assert!(parsed("").unwrap_err().to_string().contains("is empty"));
        assert!(parsed("mark,backsight,foresight\n").unwrap_err().to_string().contains("is empty"));
        let error = parsed("mark,backsight,foresight\nCP1,1.2,,9.9\n").unwrap_err().to_string();
        assert!(error.contains("levels.csv:2") && error.contains("4 fields"), "{error}");
        assert!(parsed("mark,backsight,foresight\nCP1,NaN,\n").is_err());
    }
}

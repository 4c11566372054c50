//! Point files as CSV or text: one shot a line, in whatever order and dialect the collector wrote it.
//!
//! Invariant: every line that is neither blank nor a comment nor the header becomes a record, or reading ends with one
//! message that names file, line and column. What had to be guessed is told in the file's notes.

mod columns;
pub(in crate::io::read) mod dialect;
mod error;
mod record;

pub use error::PointFileError;

use crate::notes::{Note, Place};
use crate::survey::{Column, ColumnsFrom, Delimiter, Format, HeightsAre, PointFile};
use crate::units::LengthUnit;
use columns::{ASSUMED, TitleUnit, complete, read_said, read_title};
use record::Layout;
use std::path::Path;

/// What the user says of a point file; everything else the file must say itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileSettings {
    /// How the user names the file; its path when not given.
    pub name: Option<String>,
    /// The columns in order, such as `point, easting, northing, elevation, code`.
    pub columns: Option<String>,
    /// What stands between the fields.
    pub delimiter: Option<Delimiter>,
    /// The unit of coordinates, elevations, sigmas and antenna heights.
    pub unit: Option<LengthUnit>,
    /// True when numbers are written with a decimal comma.
    pub decimal_comma: bool,
}

/// Reads a point file.
///
/// # Errors
/// [`PointFileError`] with the place of the first fault.
pub fn read(path: &Path, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    let name = settings.name.clone().unwrap_or_else(|| path.display().to_string());
    let bytes = std::fs::read(path).map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => PointFileError::Missing { file: name.clone() },
        _ => PointFileError::Unreadable { file: name.clone(), why: crate::io::reason(&error) },
    })?;
    parse(&bytes, &name, settings)
}

/// Reads a point file that is already in memory.
///
/// # Errors
/// [`PointFileError`] with the place of the first fault.
pub fn parse(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    let lines = dialect::lines(bytes, name, settings.delimiter)?;
    if lines.data.is_empty() {
        return Err(PointFileError::Empty { file: name.to_owned() });
    }
    let delimiter = match settings.delimiter {
        Some(Delimiter::Comma) if settings.decimal_comma => {
            return Err(PointFileError::CommaTwice { file: name.to_owned() });
        }
        Some(delimiter) => delimiter,
        None => dialect::sniff(&lines.data, settings.decimal_comma, name)?,
    };
    let mut notes = Vec::new();
    let whole = Place::File { file: name.to_owned(), line: 0, column: 0 };
    if lines.latin1 {
        notes.push(
            Note::new("points::encoding", "the file is not UTF-8: its text was read as Latin-1").at(whole.clone()),
        );
    }

    let header = find_header(&lines, delimiter, settings.decimal_comma);
    let titles = header.as_ref().map(|header| header.titles.clone()).unwrap_or_default();
    let (columns, columns_from) = match (&settings.columns, &header) {
        (Some(said), _) => (read_said(said, name)?, ColumnsFrom::Said),
        (None, Some(header)) => (columns_of_header(header, name, &mut notes)?, ColumnsFrom::Header),
        (None, None) => {
            notes.push(
                Note::new(
                    "points::columns-assumed",
                    "no header line and no columns said: read as point, northing, easting, elevation, code",
                )
                .at(whole.clone()),
            );
            (ASSUMED.to_vec(), ColumnsFrom::Assumed)
        }
    };
    let skipped = header.as_ref().filter(|header| !header.comment).map_or(0, |_| 1);
    let data = &lines.data[skipped..];
    if data.is_empty() {
        return Err(PointFileError::Empty { file: name.to_owned() });
    }

    let (unit, factors) = units(settings, &columns, header.as_ref(), &whole, &mut notes);
    let layout = Layout {
        file: name,
        columns: &columns,
        factors: &factors,
        delimiter,
        decimal_comma: settings.decimal_comma,
        strict: columns_from == ColumnsFrom::Header,
        height_is_elevation: !columns.contains(&Column::Elevation),
    };
    let records = data.iter().map(|(line, text)| layout.record(*line, text)).collect::<Result<Vec<_>, _>>()?;
    if layout.height_is_elevation {
        notes.push(
            Note::new(
                "points::height-as-elevation",
                "no elevation column: heights above the ellipsoid stand in for elevations",
            )
            .at(whole.clone()),
        );
    }
    if columns_from == ColumnsFrom::Assumed {
        notes.extend(record::doubt_on_order(&records).map(|note| note.at(whole.clone())));
    }
    record::notes_on_fix(data, &layout, &whole, &mut notes);
    let heights = if layout.height_is_elevation { HeightsAre::Ellipsoidal } else { HeightsAre::Elevations };
    Ok(PointFile {
        name: name.to_owned(),
        unit,
        format: Format::Text(delimiter),
        crs: None,
        geographic: None,
        heights,
        columns,
        titles,
        columns_from,
        records,
        notes,
    })
}

/// A header line.
#[derive(Debug)]
struct Header {
    line: u64,
    titles: Vec<String>,
    /// True when it stood behind a comment mark.
    comment: bool,
}

/// The first line is a header when two of its titles are known and none of its fields is a number; a comment just
/// before the data is one when it also has as many fields as the data.
fn find_header(lines: &dialect::Lines, delimiter: Delimiter, decimal_comma: bool) -> Option<Header> {
    let (line, text) = lines.data.first()?;
    let first = dialect::fields(text, delimiter);
    let reads = |titles: &[String]| {
        let known = titles.iter().filter(|title| read_title(title).column.is_some()).count();
        known >= 2 && !titles.iter().any(|title| record::is_number(title, decimal_comma))
    };
    if reads(&first) {
        return Some(Header { line: *line, titles: first, comment: false });
    }
    let (line, text) = lines.header_comment.as_ref()?;
    let titles = dialect::fields(text.trim(), delimiter);
    (titles.len() == first.len() && reads(&titles)).then_some(Header { line: *line, titles, comment: true })
}

fn columns_of_header(header: &Header, name: &str, notes: &mut Vec<Note>) -> Result<Vec<Column>, PointFileError> {
    let columns: Vec<Column> =
        header.titles.iter().map(|title| read_title(title).column.unwrap_or(Column::Skip)).collect();
    complete(&columns, name, header.line, &header.titles.join(", "))?;
    let unread: Vec<&str> = header
        .titles
        .iter()
        .zip(&columns)
        .filter(|(title, column)| **column == Column::Skip && !title.is_empty())
        .map(|(title, _)| title.as_str())
        .collect();
    if header.titles.iter().any(|title| columns::is_designed(title)) {
        notes.push(
            Note::new(
                "points::designed-elevations",
                "its elevations are designed ones (design_elevation), as a list of stakes or of shots to take has them: nobody \
                 measured them",
            )
            .at(Place::File { file: name.to_owned(), line: header.line, column: 0 }),
        );
    }
    if header.titles.iter().any(|title| columns::is_designed(title)) {
        notes.push(
            Note::new(
                "points::designed-elevations",
                "its elevations are designed ones (design_elevation), as a list of stakes or of shots to take has them: nobody \
                 measured them",
            )
            .at(Place::File { file: name.to_owned(), line: header.line, column: 0 }),
        );
    }
    if !unread.is_empty() {
        notes.push(
            Note::new("points::columns-not-read", format!("columns not read: {}", unread.join(", "))).at(Place::File {
                file: name.to_owned(),
                line: header.line,
                column: 0,
            }),
        );
    }
    Ok(columns)
}

/// The unit of the file (said, else the first that the header names) and each column's factor into it.
fn units(
    settings: &FileSettings,
    columns: &[Column],
    header: Option<&Header>,
    whole: &Place,
    notes: &mut Vec<Note>,
) -> (Option<LengthUnit>, Vec<f64>) {
    let of_title = |at: usize| header.and_then(|h| h.titles.get(at)).and_then(|title| read_title(title).unit);
    let stated: Vec<Option<TitleUnit>> = (0..columns.len()).map(of_title).collect();
    let coordinates = [Column::Easting, Column::Northing, Column::Elevation, Column::Height];
    let from_header = columns.iter().zip(&stated).find_map(|(column, unit)| match unit {
        Some(TitleUnit::Length(unit)) if coordinates.contains(column) => Some(*unit),
        _ => None,
    });
    if let (Some(said), Some(header)) = (settings.unit, from_header)
        && said != header
    {
        notes.push(
            Note::new(
                "points::units-disagree",
                format!("the header says {}, the settings say {}: read as {}", header.name(), said.name(), said.name()),
            )
            .at(whole.clone()),
        );
        return (Some(said), vec![1.0; columns.len()]);
    }
    let unit = settings.unit.or(from_header);
    let metres = unit.unwrap_or_default().metres();
    let factors = stated
        .iter()
        .map(|stated| match stated {
            Some(TitleUnit::Length(stated)) if Some(*stated) == unit => 1.0,
            Some(stated) => stated.metres() / metres,
            None => 1.0,
        })
        .collect();
    (unit, factors)
}

#[cfg(test)]
mod tests;

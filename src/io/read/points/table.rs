//! Rows of fields to a point file: what text, spreadsheets and map files have in common once they are taken apart.
//!
//! Invariant: every row becomes a record, or reading ends with the place of the first fault.

use super::columns::{GEOCENTRIC, TitleUnit, complete, is_designed, read_said, read_title};
use super::record::Layout;
use super::words::{is_number, read_fix};
use super::{Confidence, FileSettings, PointFileError, Spot};
use crate::notes::{Note, Place};
use crate::survey::{Column, ColumnsFrom, Format, HeightsAre, PointFile};
use crate::units::LengthUnit;

/// Told of a file whose elevations are designed ones.
pub(super) const DESIGNED_NOTE: &str = "points::designed-elevations";

/// One line, row or feature.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::io::read) struct Row {
    /// Its number, from one.
    pub(in crate::io::read) line: u64,
    /// Its fields.
    pub(in crate::io::read) fields: Vec<String>,
}

/// A header: what the columns are called.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::io::read) struct Header {
    pub(in crate::io::read) line: u64,
    pub(in crate::io::read) titles: Vec<String>,
}

impl Header {
    /// Fields are titles when two of them are known and none is a number.
    pub(in crate::io::read) fn read(line: u64, titles: &[String], decimal_comma: bool) -> Option<Self> {
        let known = titles.iter().filter(|title| read_title(title).column.is_some()).count();
        let header = known >= 2 && !titles.iter().any(|title| is_number(title, decimal_comma));
        header.then(|| Self { line, titles: titles.to_vec() })
    }
}

/// A file taken apart in rows.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::io::read) struct Table {
    pub(in crate::io::read) name: String,
    pub(in crate::io::read) format: Format,
    pub(in crate::io::read) header: Option<Header>,
    pub(in crate::io::read) rows: Vec<Row>,
    pub(in crate::io::read) notes: Vec<Note>,
}

impl Table {
    /// The fields under a title; none when there is no such column.
    pub(in crate::io::read) fn column(&self, title: &str) -> Vec<String> {
        let at = self.header.as_ref().and_then(|header| header.titles.iter().position(|known| known == title));
        let Some(at) = at else { return Vec::new() };
        self.rows.iter().map(|row| row.fields.get(at).cloned().unwrap_or_default()).collect()
    }

    /// Reads every row.
    ///
    /// # Errors
    /// [`PointFileError`] with the place of the first fault.
    pub(in crate::io::read) fn into_file(self, settings: &FileSettings) -> Result<PointFile, PointFileError> {
        let Self { name, format, header, rows, mut notes } = self;
        if rows.is_empty() {
            return Err(PointFileError::Empty { file: name });
        }
        let whole = Place::File { file: name.clone(), line: 0, column: 0 };
        let spot = |line| Spot { file: name.clone(), line, column: 0, name: "", format };
        let (columns, columns_from) = match (&settings.columns, &header) {
            (Some(said), _) => (read_said(said, &spot(0))?, ColumnsFrom::Said),
            (None, Some(header)) => (of_header(header, &spot(header.line), &mut notes)?, ColumnsFrom::Header),
            (None, None) => {
                let columns = assumed(&rows, settings.decimal_comma);
                let names: Vec<&str> = columns.iter().map(|column| column.name()).collect();
                let text = format!("no header line and no columns said: read as {}", names.join(", "));
                notes.push(Note::new("points::columns-assumed", text).at(whole.clone()));
                (columns, ColumnsFrom::Assumed)
            }
        };
        let titles = header.map(|header| header.titles).unwrap_or_default();
        let (mut unit, factors) = factors(settings, &columns, &titles, &whole, &mut notes);
        if GEOCENTRIC.into_iter().all(|column| columns.contains(&column)) {
            // Geocentric coordinates are metres unless the file says otherwise, whatever the site's frame is in.
            unit = unit.or(Some(LengthUnit::Metres));
        }
        let layout = Layout {
            file: &name,
            format,
            columns: &columns,
            factors: &factors,
            decimal_comma: settings.decimal_comma,
            header: columns_from == ColumnsFrom::Header,
            height_is_elevation: !columns.contains(&Column::Elevation),
            unit_metres: unit.unwrap_or_default().metres(),
        };
        notes.extend(joined_note(&rows, &layout, &name));
        let records = rows.iter().map(|row| layout.record(row.line, &row.fields)).collect::<Result<Vec<_>, _>>()?;
        let heights = if layout.height_is_elevation { HeightsAre::Ellipsoidal } else { HeightsAre::Elevations };
        if layout.height_is_elevation {
            let text = "no elevation column: heights above the ellipsoid stand in for elevations";
            notes.push(Note::new("points::height-as-elevation", text).at(whole.clone()));
        }
        notes_on_fix(&rows, &columns, &whole, &mut notes);
        Ok(PointFile {
            name,
            unit,
            format,
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
}

/// Told of lines under a header that hold more than their titles: their code takes the rest.
fn joined_note(rows: &[Row], layout: &Layout<'_>, name: &str) -> Option<Note> {
    let filled = |row: &&Row| row.fields.iter().rposition(|field| !field.is_empty()).map_or(0, |last| last + 1);
    let mut longer = rows.iter().filter(|row| layout.header && filled(row) > layout.columns.len());
    let first = longer.next()?;
    let text = format!(
        "{} lines hold more fields than the header has titles: their code takes the rest, here as `{}`",
        1 + longer.count(),
        first.fields[layout.columns.len() - 1..].join(layout.joint())
    );
    Some(Note::new("points::code-takes-the-rest", text).at(Place::File {
        file: name.to_owned(),
        line: first.line,
        column: layout.columns.len() as u64,
    }))
}

/// What is assumed of a file without header and without `columns`: point, northing, easting, elevation, code, the
/// commonest order of point files. Lines of three numbers have no point number, nor have lines of three and a word.
fn assumed(rows: &[Row], decimal_comma: bool) -> Vec<Column> {
    let commonest = [Column::Point, Column::Northing, Column::Easting, Column::Elevation, Column::Code];
    let number = |field: &String| is_number(field, decimal_comma);
    let short = |row: &Row| match row.fields.as_slice() {
        [a, b, c] => number(a) && number(b) && number(c),
        [a, b, c, rest @ ..] => number(a) && number(b) && number(c) && !rest.iter().any(number),
        _ => false,
    };
    match rows.iter().all(short) {
        true if rows.iter().all(|row| row.fields.len() == 3) => commonest[1..4].to_vec(),
        true => commonest[1..].to_vec(),
        false => commonest.to_vec(),
    }
}

fn of_header(header: &Header, spot: &Spot, notes: &mut Vec<Note>) -> Result<Vec<Column>, PointFileError> {
    let mut columns: Vec<Column> =
        header.titles.iter().map(|title| read_title(title).column.unwrap_or(Column::Skip)).collect();
    if matches!(spot.format, Format::GeoJson | Format::GeoPackage) {
        leave_out_seconds(&mut columns, &header.titles);
    }
    complete(&columns, spot, &header.titles.join(", "))?;
    let unread: Vec<&str> = header
        .titles
        .iter()
        .zip(&columns)
        .filter(|(title, column)| **column == Column::Skip && !title.is_empty())
        .map(|(title, _)| title.as_str())
        .collect();
    let place = Place::File { file: spot.file.clone(), line: spot.line, column: 0 };
    if header.titles.iter().any(|title| is_designed(title)) {
        let text = "its elevations are designed ones (design_elevation), as a list of stakes or of shots to take has them: \
                    nobody measured them";
        notes.push(Note::new(DESIGNED_NOTE, text).at(place.clone()));
    }
    if !unread.is_empty() {
        notes.push(Note::new("points::columns-not-read", format!("columns not read: {}", unread.join(", "))).at(place));
    }
    Ok(columns)
}

/// Attributes of map files are not laid out for us: of two that mean the same the first is read, but a name rather than
/// an `id`, which is the table's own count.
fn leave_out_seconds(columns: &mut [Column], titles: &[String]) {
    for at in 0..columns.len() {
        let before = columns[..at].iter().position(|column| *column == columns[at]);
        let Some(before) = before.filter(|_| columns[at] != Column::Skip) else { continue };
        let out = if titles[before].eq_ignore_ascii_case("id") { before } else { at };
        columns[out] = Column::Skip;
    }
}

/// The unit of the file (said, else the first that the header names) and each column's factor: lengths into that unit,
/// stated precisions into one sigma.
fn factors(
    settings: &FileSettings,
    columns: &[Column],
    titles: &[String],
    whole: &Place,
    notes: &mut Vec<Note>,
) -> (Option<LengthUnit>, Vec<f64>) {
    let stated: Vec<_> = (0..columns.len()).map(|at| titles.get(at).map(|title| read_title(title))).collect();
    let coordinates = [Column::Easting, Column::Northing, Column::Elevation, Column::Height];
    let units = stated.iter().map(|title| title.and_then(|title| title.unit));
    let from_header = columns.iter().zip(units).find_map(|(column, unit)| match unit {
        Some(TitleUnit::Length(unit)) if coordinates.contains(column) => Some(unit),
        _ => None,
    });
    let disagree = settings.unit.zip(from_header).filter(|(said, header)| said != header);
    if let Some((said, header)) = disagree {
        let text =
            format!("the header says {}, the settings say {}: read as {}", header.name(), said.name(), said.name());
        notes.push(Note::new("points::units-disagree", text).at(whole.clone()));
    }
    let unit = settings.unit.or(from_header);
    let metres = unit.unwrap_or_default().metres();
    let factors = columns.iter().zip(&stated).map(|(column, title)| {
        let confidence = title.and_then(|title| title.confidence).or(settings.sigmas).unwrap_or_default();
        let length = match title.and_then(|title| title.unit) {
            Some(TitleUnit::Length(stated)) if Some(stated) == unit || disagree.is_some() => 1.0,
            Some(stated) => stated.metres() / metres,
            None => 1.0,
        };
        length / sigmas_in(*column, confidence)
    });
    (unit, factors.collect())
}

fn sigmas_in(column: Column, confidence: Confidence) -> f64 {
    match column {
        Column::HorizontalSigma => confidence.in_plan(),
        Column::VerticalSigma | Column::NorthSigma | Column::EastSigma => confidence.along_an_axis(),
        _ => 1.0,
    }
}

/// Tells what was made of a fix column: words that are not known, and numbers.
fn notes_on_fix(rows: &[Row], columns: &[Column], whole: &Place, notes: &mut Vec<Note>) {
    let Some(at) = columns.iter().position(|c| *c == Column::Fix) else { return };
    let words = || rows.iter().filter_map(|row| row.fields.get(at)).map(String::as_str);
    let mut unknown: Vec<&str> = words().filter(|word| read_fix(word).is_none()).collect();
    unknown.sort_unstable();
    unknown.dedup();
    if !unknown.is_empty() {
        let list = unknown.join("`, `");
        let text =
            format!("fix column: `{list}` is not known and counts as unknown: known are fixed, float, single, 4, 5");
        notes.push(Note::new("points::fix-unknown", text).at(whole.clone()));
    }
    if words().any(|word| word.parse::<u32>().is_ok()) {
        let text = "fix column: numbers are read as in NMEA 0183 GGA: 4 fixed, 5 float, others neither";
        notes.push(Note::new("points::fix-numbers", text).at(whole.clone()));
    }
}

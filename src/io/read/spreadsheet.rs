//! Points or a level book in a sheet of a workbook (xlsx, xlsb, xls, ods): the rules of text files, cell by cell.
//!
//! The first sheet with a header (else the first that holds anything), or the one named behind `#`. Lines above the header (a title, the date, the
//! crew) are passed over; without a header the first row is a point. Cells count as the program shows them: C7.

use super::points::{FileSettings, Header, PointFileError, Row, Table};
use crate::notes::{Note, Place};
use crate::survey::{Format, PointFile};
use calamine::{Data, Range, Reader, open_workbook_auto_from_rs};
use std::io::Cursor;

/// Rows above a header.
const TITLE_ROWS: usize = 20;

/// A sheet that holds something.
pub(super) struct Sheet {
    /// Rows that hold something, those above the header passed over.
    pub(super) rows: Vec<Row>,
    /// True when the first row is a header.
    pub(super) headed: bool,
    /// Which sheet was taken and what stands above the header, where there was a choice.
    pub(super) notes: Vec<Note>,
}

/// Reads a workbook of points that is in memory.
pub(super) fn parse(
    bytes: &[u8],
    name: &str,
    sheet: Option<&str>,
    settings: &FileSettings,
) -> Result<PointFile, PointFileError> {
    let sheet =
        sheet_of(bytes, name, sheet, &|row| Header::read(row.line, &row.fields, settings.decimal_comma).is_some())?;
    table(sheet, name, settings).into_file(settings)
}

/// The sheet of a workbook that is named, else the first with a header (what is one is for the caller to say), else the first
/// that holds anything.
pub(super) fn sheet_of(
    bytes: &[u8],
    name: &str,
    sheet: Option<&str>,
    is_header: &dyn Fn(&Row) -> bool,
) -> Result<Sheet, PointFileError> {
    let bad = |why: String| PointFileError::Unreadable { file: name.to_owned(), why };
    let mut book = open_workbook_auto_from_rs(Cursor::new(bytes))
        .map_err(|why| bad(format!("it is no workbook ({why}); accepted are xlsx, xlsb, xls and ods")))?;
    let sheets = book.sheet_names();
    let wanted = match sheet {
        Some(wanted) if !sheets.iter().any(|one| one == wanted) => {
            let why = format!("there is no sheet `{wanted}` in it: it has {}", sheets.join(", "));
            return Err(PointFileError::Lacks { file: name.to_owned(), why });
        }
        Some(wanted) => vec![wanted.to_owned()],
        None => sheets.clone(),
    };
    let mut held = Vec::new();
    for one in &wanted {
        let cells = book.worksheet_range(one).map_err(|why| bad(format!("sheet `{one}`: {why}")))?;
        let rows = rows(&cells);
        if !rows.is_empty() {
            let header = rows.iter().take(TITLE_ROWS).position(is_header);
            held.push((one, rows, header));
        }
    }
    // A sheet of notes may stand before the one with the points: a header makes the choice.
    let at = held.iter().position(|(_, _, header)| header.is_some()).unwrap_or(0);
    let Some((one, mut rows, header)) = held.into_iter().nth(at) else {
        return Err(PointFileError::Empty { file: name.to_owned() });
    };
    let mut notes = Vec::new();
    if sheet.is_none() && sheets.len() > 1 {
        let text = format!("sheet `{one}` is read of {}; name another as FILE#SHEET", sheets.join(", "));
        let place = Place::File { file: name.to_owned(), line: 0, column: 0 };
        notes.push(Note::new("points::sheet", text).at(place));
    }
    if let Some(above) = header.filter(|&above| above > 0) {
        rows.drain(..above);
        let place = Place::File { file: name.to_owned(), line: rows[0].line, column: 0 };
        let text = format!("{above} rows above the header are passed over");
        notes.push(Note::new("points::rows-above-header", text).at(place));
    }
    Ok(Sheet { rows, headed: header.is_some(), notes })
}

/// The rows that hold something, from column A on.
fn rows(cells: &Range<Data>) -> Vec<Row> {
    let Some((first_row, first_column)) = cells.start() else { return Vec::new() };
    let offset = usize::try_from(first_column).unwrap_or_default();
    cells
        .rows()
        .enumerate()
        .map(|(index, row)| {
            let blank = std::iter::repeat_n(String::new(), offset);
            Row { line: u64::from(first_row) + index as u64 + 1, fields: blank.chain(row.iter().map(shown)).collect() }
        })
        .filter(|row| row.fields.iter().any(|field| !field.is_empty()))
        .collect()
}

/// A cell as text: numbers to the last bit, dates as ISO 8601.
fn shown(cell: &Data) -> String {
    match cell {
        Data::Empty => String::new(),
        Data::String(text) => text.trim().to_owned(),
        Data::DateTime(time) => {
            let (year, month, day, hour, minute, second, milli) = time.to_ymd_hms_milli();
            let clock = format!("{hour:02}:{minute:02}:{second:02}.{milli:03}");
            let clock = clock.trim_end_matches(".000");
            match time.as_f64() {
                value if value < 1.0 => clock.to_owned(),
                value if value.fract() == 0.0 => format!("{year}-{month:02}-{day:02}"),
                _ => format!("{year}-{month:02}-{day:02}T{clock}"),
            }
        }
        other => other.to_string(),
    }
}

fn table(sheet: Sheet, name: &str, settings: &FileSettings) -> Table {
    let Sheet { mut rows, headed, notes } = sheet;
    let mut table = Table { name: name.to_owned(), format: Format::Spreadsheet, header: None, rows: Vec::new(), notes };
    if headed {
        table.header = Header::read(rows[0].line, &rows[0].fields, settings.decimal_comma);
        rows.remove(0);
    }
    // A sheet is as wide as its widest row: empty columns at the right end belong to nothing.
    let wide = rows.iter().map(|row| row.fields.iter().rposition(|field| !field.is_empty()).map_or(0, |at| at + 1));
    let width = table.header.as_ref().map_or_else(
        || wide.clone().max().unwrap_or(0),
        |header| header.titles.iter().rposition(|title| !title.is_empty()).map_or(0, |at| at + 1),
    );
    if let Some(header) = &mut table.header {
        header.titles.truncate(width);
    }
    for row in &mut rows {
        while row.fields.len() > width && row.fields.last().is_some_and(String::is_empty) {
            row.fields.pop();
        }
        while row.fields.len() < width {
            row.fields.push(String::new());
        }
    }
    table.rows = rows;
    table
}

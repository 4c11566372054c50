//! A text file taken apart in rows: encoding, comments, delimiter or fixed width, header.

use super::columns::{Characters, characters};
use super::table::{Header, Row, Table};
use super::{FileSettings, PointFileError, dialect};
use crate::notes::{Note, Place};
use crate::survey::{Delimiter, Format};

/// Takes a text apart.
pub(super) fn table(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<Table, PointFileError> {
    let lines = dialect::lines(bytes, name, settings.delimiter)?;
    if lines.data.is_empty() {
        return Err(PointFileError::Empty { file: name.to_owned() });
    }
    let mut notes = Vec::new();
    if lines.latin1 {
        let whole = Place::File { file: name.to_owned(), line: 0, column: 0 };
        let text = "the file is not UTF-8: its text was read as Latin-1";
        notes.push(Note::new("points::encoding", text).at(whole));
    }
    let fixed = settings.columns.as_deref().map(|said| characters(said, name)).transpose()?.flatten();
    let delimiter = match (&fixed, settings.delimiter) {
        (Some(_), _) => Delimiter::Space,
        (None, Some(Delimiter::Comma)) if settings.decimal_comma => {
            return Err(PointFileError::CommaTwice { file: name.to_owned() });
        }
        (None, Some(delimiter)) => delimiter,
        (None, None) => dialect::sniff(&lines.data, settings.decimal_comma, name)?,
    };
    let part = |text: &str| match &fixed {
        Some(columns) => cut(text, columns),
        None => dialect::fields(text, delimiter),
    };
    let mut rows: Vec<Row> = lines.data.iter().map(|(line, text)| Row { line: *line, fields: part(text) }).collect();
    let header = Header::read(rows[0].line, &rows[0].fields, settings.decimal_comma);
    let header = match header {
        Some(header) => {
            rows.remove(0);
            Some(header)
        }
        // A comment just before the data is a header when it also has as many fields as the data.
        None => lines.header_comment.as_ref().and_then(|(line, text)| {
            let titles = part(text.trim());
            let fits = titles.len() == rows[0].fields.len();
            Header::read(*line, &titles, settings.decimal_comma).filter(|_| fits && fixed.is_none())
        }),
    };
    let mut unread = None;
    if let Some(columns) = &fixed {
        let titles = usize::from(rows.len() < lines.data.len());
        for (line, text) in &lines.data[titles..] {
            let beside = beside(text, columns).map_err(|(characters, word)| PointFileError::WordCut {
                file: name.to_owned(),
                line: *line,
                characters,
                word,
            })?;
            unread = unread.or(beside.map(|word| (*line, word)));
        }
    }
    if let Some((line, word)) = unread {
        let text = format!("no column names the characters of `{word}`: what stands there is not read");
        let place = Place::File { file: name.to_owned(), line, column: 0 };
        notes.push(Note::new("points::characters-not-read", text).at(place));
    }
    Ok(Table { name: name.to_owned(), format: Format::Text(delimiter), header, rows, notes })
}

/// The first word of a line of fixed width that no column holds.
///
/// # Errors
/// The column's characters and the word, where a column ends or begins inside a word: digits would be lost without a sign.
fn beside(line: &str, columns: &[Characters]) -> Result<Option<String>, (String, String)> {
    let letters: Vec<char> = line.chars().collect();
    let holder = |at: usize| columns.iter().find(|column| (column.first..=column.last).contains(&(at + 1)));
    let parts =
        |at: usize| letters[at].is_whitespace() || holder(at).is_none() && matches!(letters[at], ',' | ';' | '|');
    let mut first = None;
    let mut at = 0;
    while at < letters.len() {
        let length = (at..letters.len()).take_while(|&at| !parts(at)).count();
        let word = || letters[at..at + length].iter().collect::<String>();
        match (at..at + length).find_map(holder) {
            Some(column) if (at..at + length).any(|at| holder(at).is_none()) => {
                return Err((format!("{}-{}", column.first, column.last), word()));
            }
            None if length > 0 && first.is_none() => first = Some(word()),
            _ => {}
        }
        at += length.max(1);
    }
    Ok(first)
}

/// The fields of a line of fixed width; what lies beyond the line's end is empty.
fn cut(line: &str, columns: &[Characters]) -> Vec<String> {
    let letters: Vec<char> = line.chars().collect();
    let field = |&Characters { first, last }: &Characters| {
        let end = last.min(letters.len());
        letters.get(first - 1..end.max(first - 1)).unwrap_or_default().iter().collect::<String>().trim().to_owned()
    };
    columns.iter().map(field).collect()
}

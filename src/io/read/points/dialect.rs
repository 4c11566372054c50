//! How a point file is written: its encoding, its comment lines, its delimiter, and each line's fields.
//!
//! Invariant: a line keeps its number in the file, whatever blank and comment lines stand before it.

use super::PointFileError;
use crate::survey::Delimiter;

/// The lines of a file that hold something, each with its number.
#[derive(Debug)]
pub(in crate::io::read) struct Lines {
    /// Lines that are neither blank nor comments.
    pub(in crate::io::read) data: Vec<(u64, String)>,
    /// The last comment before the first data line: some collectors put the header there.
    pub(in crate::io::read) header_comment: Option<(u64, String)>,
    /// True when the file was not UTF-8 and each byte was taken for a Latin-1 character.
    pub(in crate::io::read) latin1: bool,
}

/// Text from bytes: UTF-8 with or without mark, UTF-16 with a mark, else Latin-1.
pub(in crate::io::read) fn decode(bytes: &[u8], file: &str) -> Result<(String, bool), PointFileError> {
    let not_text = |hint| PointFileError::NotText { file: file.to_owned(), hint };
    if bytes.starts_with(b"LASF") {
        return Err(not_text(" but a LAS or LAZ cloud"));
    }
    let wide = |units: Vec<u16>| String::from_utf16(&units).map_err(|_| not_text(""));
    if let Some(rest) = bytes.strip_prefix(&[0xff, 0xfe]) {
        return wide(rest.chunks(2).map(|c| u16::from_le_bytes([c[0], *c.get(1).unwrap_or(&0)])).collect())
            .map(|text| (text, false));
    }
    if let Some(rest) = bytes.strip_prefix(&[0xfe, 0xff]) {
        return wide(rest.chunks(2).map(|c| u16::from_be_bytes([c[0], *c.get(1).unwrap_or(&0)])).collect())
            .map(|text| (text, false));
    }
    let bytes = bytes.strip_prefix(&[0xef, 0xbb, 0xbf]).unwrap_or(bytes);
    if bytes.contains(&0) {
        return Err(not_text(""));
    }
    Ok(match std::str::from_utf8(bytes) {
        Ok(text) => (text.to_owned(), false),
        Err(_) => (bytes.iter().map(|&byte| char::from(byte)).collect(), true),
    })
}

/// Parts a file's text in lines; LF, CRLF and lone CR all end a line.
pub(in crate::io::read) fn lines(bytes: &[u8], file: &str, said: Option<Delimiter>) -> Result<Lines, PointFileError> {
    let (text, latin1) = decode(bytes, file)?;
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let mut lines = Lines { data: Vec::new(), header_comment: None, latin1 };
    for (index, line) in text.split('\n').enumerate() {
        let number = index as u64 + 1;
        let trimmed = line.trim();
        if trimmed.is_empty() {
            continue;
        }
        match comment(trimmed, said) {
            Some(rest) if lines.data.is_empty() => lines.header_comment = Some((number, rest.to_owned())),
            Some(_) => {}
            None => lines.data.push((number, line.to_owned())),
        }
    }
    Ok(lines)
}

/// What follows the comment mark, `None` for a line that is no comment. A line that begins with a semicolon and holds
/// more of them is a line of a semicolon file whose first field is empty.
fn comment(line: &str, said: Option<Delimiter>) -> Option<&str> {
    if let Some(rest) = line.strip_prefix(';') {
        let fields = rest.matches(';').count() >= 2 && said.is_none_or(|d| d == Delimiter::Semicolon);
        return (!fields).then_some(rest);
    }
    line.strip_prefix("//").or_else(|| line.strip_prefix(['#', '*', '%']))
}

/// The delimiter that parts every one of the first lines in three fields or more; tab, semicolon, comma and space are
/// tried in this order, since each may stand inside a description of a file that uses an earlier one.
pub(in crate::io::read) fn sniff(
    lines: &[(u64, String)],
    decimal_comma: bool,
    file: &str,
) -> Result<Delimiter, PointFileError> {
    let sample = &lines[..lines.len().min(50)];
    let tried = [Delimiter::Tab, Delimiter::Semicolon, Delimiter::Comma, Delimiter::Space];
    let parts = |delimiter: Delimiter, line: &str| fields(line, delimiter).len() >= 3;
    let found = tried
        .into_iter()
        .filter(|&delimiter| !(decimal_comma && delimiter == Delimiter::Comma))
        .map(|delimiter| (sample.iter().filter(|(_, line)| parts(delimiter, line)).count(), delimiter))
        .filter(|&(count, _)| count > 0)
        .fold(None, |best: Option<(usize, Delimiter)>, next| match best {
            Some(best) if best.0 >= next.0 => Some(best),
            _ => Some(next),
        });
    // A decimal comma stands before a digit; where commas stand before blanks, or alone part the line, they are delimiters.
    let before_blanks = |line: &str| line.matches(", ").count() >= 2;
    let by_comma = |(_, line): &(u64, String)| match found {
        None => parts(Delimiter::Comma, line),
        Some((_, Delimiter::Space)) => before_blanks(line),
        Some(_) => false,
    };
    if decimal_comma && !sample.is_empty() && sample.iter().filter(|line| by_comma(line)).count() * 2 > sample.len() {
        return Err(PointFileError::CommaTwice { file: file.to_owned() });
    }
    found.map(|(_, delimiter)| delimiter).ok_or_else(|| {
        let (line, text) = sample.first().map_or((0, ""), |(line, text)| (*line, text.as_str()));
        PointFileError::NoDelimiter { file: file.to_owned(), line, found: text.trim().chars().take(60).collect() }
    })
}

/// The fields of a line, trimmed, quotes taken off, and the apostrophe that our writers put before = + - @ taken off.
///
/// Own code rather than a CSV reader: exports put blanks around quoted fields, leave stray quotes (`2" pipe`) and
/// open quotes that never close, and a line must stay a line so that its number can be told.
pub(in crate::io::read) fn fields(line: &str, delimiter: Delimiter) -> Vec<String> {
    let mark = match delimiter {
        Delimiter::Comma => ',',
        Delimiter::Semicolon => ';',
        Delimiter::Tab => '\t',
        Delimiter::Space => return words(line),
    };
    let mut fields = Vec::new();
    let mut rest = Some(line);
    while let Some(text) = rest {
        let field;
        (field, rest) = match quoted(text.trim_start_matches(|c: char| c.is_whitespace() && c != mark)) {
            Some((inside, after)) if after.trim_start().is_empty() => (inside, None),
            Some((inside, after)) if after.trim_start_matches(' ').starts_with(mark) => {
                (inside, after.split_once(mark).map(|(_, next)| next))
            }
            _ => text.split_once(mark).map_or((text.to_owned(), None), |(field, next)| (field.to_owned(), Some(next))),
        };
        fields.push(plain(field.trim()).to_owned());
    }
    fields
}

/// A quoted field at the start of the text, a doubled quote standing for one, and what follows its closing quote.
fn quoted(text: &str) -> Option<(String, &str)> {
    let mut inside = String::new();
    let mut rest = text.strip_prefix('"')?;
    loop {
        let (before, after) = rest.split_once('"')?;
        inside.push_str(before);
        match after.strip_prefix('"') {
            Some(more) => {
                inside.push('"');
                rest = more;
            }
            None => return Some((inside, after)),
        }
    }
}

fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut rest = line.trim();
    while !rest.is_empty() {
        let (word, after) = quoted(rest).unwrap_or_else(|| {
            let (word, after) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
            (word.to_owned(), after)
        });
        words.push(plain(word.trim()).to_owned());
        rest = after.trim_start();
    }
    words
}

fn plain(field: &str) -> &str {
    match field.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest,
        _ => field,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_of_every_delimiter() {
        let due = vec!["101", "6 m", "-1.5", ""];
        assert_eq!(fields("101, \"6 m\" ,'-1.5,", Delimiter::Comma), due);
        assert_eq!(fields("101;6 m;-1.5;", Delimiter::Semicolon), due);
        assert_eq!(fields("101\t6 m\t-1.5\t", Delimiter::Tab), due);
        assert_eq!(fields("  101   \"6 m\"\t-1.5 \"\"", Delimiter::Space), due);
        assert_eq!(fields("1,\"a \"\"b\"\", c\",2", Delimiter::Comma), vec!["1", "a \"b\", c", "2"]);
        assert_eq!(fields("1,2\" pipe,3", Delimiter::Comma), vec!["1", "2\" pipe", "3"]);
    }

    #[test]
    fn an_apostrophe_of_the_text_itself_stays() {
        assert_eq!(fields("'tis,'=1+1,o'clock", Delimiter::Comma), vec!["'tis", "=1+1", "o'clock"]);
    }

    #[test]
    fn lines_keep_their_numbers_past_blanks_and_comments() {
        let text = b"\xef\xbb\xbf# title\r\n\r\n1,2,3\r// no\r\n* no\n; no\n   \n4,5,6";
        let lines = lines(text, "f", None).unwrap();
        assert_eq!(lines.data, vec![(3, "1,2,3".to_owned()), (8, "4,5,6".to_owned())]);
        assert_eq!(lines.header_comment, Some((1, " title".to_owned())));
    }

    #[test]
    fn a_semicolon_file_may_have_an_empty_first_field() {
        let lines = lines(b";1;2;3\n; a comment\n", "f", None).unwrap();
        assert_eq!(lines.data.len(), 1);
    }

    #[test]
    fn other_encodings() {
        let wide: Vec<u8> =
            [0xff, 0xfe].into_iter().chain("1,2,3\n".encode_utf16().flat_map(u16::to_le_bytes)).collect();
        assert_eq!(lines(&wide, "f", None).unwrap().data[0].1, "1,2,3");
        let latin = lines(b"1,2,3,caf\xe9", "f", None).unwrap();
        assert!(latin.latin1);
        assert_eq!(latin.data[0].1, "1,2,3,café");
        assert!(matches!(lines(b"LASF\0\0", "f", None), Err(PointFileError::NotText { .. })));
        assert!(matches!(lines(b"1,2\0", "f", None), Err(PointFileError::NotText { .. })));
    }
}

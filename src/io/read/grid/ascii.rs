//! Text grids: a header of names and numbers (`ncols`, `nrows`, `xllcorner` or `xllcenter`, `yllcorner` or `yllcenter`,
//! `cellsize` or `dx` and `dy`, `NODATA_value`), then elevations from the north-western node on. The frame stands in a file
//! of the same name that ends in `.prj`.

use super::{GridFile, ReadError, bounded, broken};
use crate::io::read::geotiff::is_none;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

const WORDS: [&str; 10] =
    ["ncols", "nrows", "xllcorner", "yllcorner", "xllcenter", "yllcenter", "cellsize", "dx", "dy", "nodata_value"];

/// True when the first word is one of a header.
pub(super) fn begins_so(start: &[u8]) -> bool {
    let start = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start);
    let text = String::from_utf8_lossy(&start[..start.len().min(80)]).to_lowercase();
    text.split_ascii_whitespace().next().is_some_and(|word| WORDS.contains(&word))
}

pub(super) fn read(path: &Path, name: &str, no_data: Option<f64>) -> Result<GridFile, ReadError> {
    let bytes = std::fs::read(path).map_err(|source| ReadError::Open { path: name.to_owned(), source })?;
    let text = String::from_utf8_lossy(&bytes);
    let mut grid = parse(text.trim_start_matches('\u{feff}'), name, no_data)?;
    grid.crs = frame_beside(path)
        .and_then(|path| std::fs::read_to_string(path).ok())
        .map(|text| text.trim().to_owned())
        .filter(|text| !text.is_empty());
    Ok(grid)
}

/// The file beside a text grid that says its frame.
pub(super) fn frame_beside(path: &Path) -> Option<PathBuf> {
    ["prj", "PRJ"].iter().map(|ending| path.with_extension(ending)).find(|path| path.is_file())
}

/// The header's numbers with their lines.
type Header = BTreeMap<&'static str, (f64, u64)>;

pub(super) fn parse(text: &str, name: &str, no_data: Option<f64>) -> Result<GridFile, ReadError> {
    let fault = |line: u64, column: u64, found: String, accepted: &str| ReadError::Fault {
        path: name.to_owned(),
        line,
        column,
        found,
        accepted: accepted.to_owned(),
    };
    let mut lines = (1_u64..).zip(text.lines()).peekable();
    let header = header(&mut lines, &fault)?;
    let number = |word: &str| header.get(word).map(|(value, _)| *value);
    let needed = |word: &'static str| {
        header.get(word).copied().ok_or_else(|| broken(name, format!("its header lacks `{word}`")))
    };
    let count = |word: &'static str| {
        let (value, line) = needed(word)?;
        let whole = value.fract() == 0.0 && (2.0..1e9).contains(&value);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number in range")]
        whole
            .then_some(value as usize)
            .ok_or_else(|| fault(line, 2, format!("`{word}` {value}"), "a whole number, two or more"))
    };
    let (columns, rows) = (count("ncols")?, count("nrows")?);
    let nodes = bounded(name, columns, rows)?;
    let cell = number("cellsize");
    let step = |own: &'static str| match cell.or(number(own)) {
        Some(step) if step > 0.0 => Ok(step),
        Some(step) => Err(broken(name, format!("its cells are {step} wide: accepted is a size above zero"))),
        None => Err(broken(name, format!("its header lacks `cellsize` (or `{own}`)"))),
    };
    let step = [step("dx")?, step("dy")?];
    let start = |center: &'static str, corner: &'static str, step: f64| match (number(center), number(corner)) {
        (Some(center), _) => Ok(center),
        (None, Some(corner)) => Ok(corner + step / 2.0),
        (None, None) => Err(broken(name, format!("its header lacks `{corner}` (or `{center}`)"))),
    };
    let low = [start("xllcenter", "xllcorner", step[0])?, start("yllcenter", "yllcorner", step[1])?];
    // Each value takes a character and a space.
    if nodes > text.len() / 2 + 1 {
        let why = format!("its header says {nodes} nodes, in a file of {} bytes", text.len());
        return Err(broken(name, why));
    }
    let no_values: Vec<f64> = number("nodata_value").into_iter().chain(no_data).collect();
    let mut from_north: Vec<f64> = Vec::with_capacity(nodes);
    for (line, text) in lines {
        for (column, word) in (1_u64..).zip(text.split_ascii_whitespace()) {
            if from_north.len() == nodes {
                return Err(fault(line, column, format!("`{word}` after the last node"), &format!("{nodes} nodes")));
            }
            let value = number_of(word).ok_or_else(|| {
                fault(line, column, format!("`{word}`"), "an elevation, as a number with a decimal point")
            })?;
            let none = !value.is_finite() || no_values.iter().any(|no_value| is_none(value, *no_value));
            from_north.push(if none { f64::NAN } else { value });
        }
    }
    if from_north.len() < nodes {
        let found = format!("{} values", from_north.len());
        return Err(fault(0, 0, found, &format!("{nodes}, {rows} rows of {columns}")));
    }
    let elevations = from_north.chunks_exact(columns).rev().flatten().copied().collect();
    Ok(GridFile { path: name.to_owned(), crs: None, unit: None, columns, low, step, elevations })
}

fn header<'t>(
    lines: &mut std::iter::Peekable<impl Iterator<Item = (u64, &'t str)>>,
    fault: &impl Fn(u64, u64, String, &str) -> ReadError,
) -> Result<Header, ReadError> {
    let mut header = Header::new();
    while let Some((line, text)) = lines.peek().copied() {
        let mut words = text.split_ascii_whitespace();
        let Some(first) = words.next() else {
            lines.next();
            continue;
        };
        if number_of(first).is_some() {
            break;
        }
        let known = WORDS.iter().copied().find(|word| first.eq_ignore_ascii_case(word));
        let word = known.ok_or_else(|| {
            let accepted = format!("{}, then elevations", WORDS.join(", "));
            fault(line, 1, format!("`{}`", first.chars().take(20).collect::<String>()), &accepted)
        })?;
        let value = words.next().unwrap_or_default();
        let number = number_of(value).filter(|value| value.is_finite() || word == "nodata_value");
        let number = number.ok_or_else(|| fault(line, 2, format!("`{value}` as `{word}`"), "a number"))?;
        header.insert(word, (number, line));
        lines.next();
    }
    Ok(header)
}

/// Any number, not a number among them.
fn number_of(word: &str) -> Option<f64> {
    let plain = word.bytes().all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte));
    (plain || word.eq_ignore_ascii_case("nan") || word.eq_ignore_ascii_case("-nan")).then(|| word.parse().ok())?
}

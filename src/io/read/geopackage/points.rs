//! The points of a GeoPackage table as shots: its columns are read by the rules of a point file's header.
//!
//! The only table that holds points, or the one named behind `#`. In a system of two axes the standard leaves open what
//! z is (OGC 12-128r17); it is taken as the elevation where the table has no column for one, with a note.

use super::{Bytes, Fault, Table as Features, bad, body, open, shown, tables};
use crate::frame::{FrameError, Geographic, resolve};
use crate::io::read::ReadError;
use crate::io::read::points::{FileSettings, Header, PointFileError, Row, Table, is_place, known_title};
use crate::notes::{Note, Place};
use crate::survey::{Format, PointFile};
use rusqlite::Connection;
use rusqlite::types::ValueRef;
use std::path::Path;

/// Reads the points of a file.
pub(in crate::io::read) fn read(
    path: &Path,
    name: &str,
    part: Option<&str>,
    settings: &FileSettings,
) -> Result<PointFile, PointFileError> {
    let database = open(path, name)?;
    let all = tables(&database, name)?;
    let names = || all.iter().map(|table| table.name.as_str()).collect::<Vec<_>>().join(", ");
    let lacks = |why: String| PointFileError::Lacks { file: name.to_owned(), why };
    if let Some(part) = part
        && !all.iter().any(|table| table.name == part)
    {
        return Err(lacks(format!("there is no table `{part}` in it: it has {}", names())));
    }
    let mut found = Vec::new();
    for table in all.iter().filter(|table| part.is_none_or(|part| table.name == part)) {
        let read = rows(&database, table, name)?;
        if !read.rows.is_empty() {
            found.push((table, read));
        }
    }
    match <[_; 1]>::try_from(found) {
        Ok([(table, read)]) => file(table, &read, name, settings),
        Err(found) if found.is_empty() => {
            Err(lacks(format!("no table of points in it (it has {}): a point file needs points", names())))
        }
        Err(found) => {
            let list: Vec<&str> = found.iter().map(|(table, _)| table.name.as_str()).collect();
            Err(lacks(format!("points are in tables {}: name one, as {name}#{}", list.join(", "), list[0])))
        }
    }
}

/// x, y and, where the geometry has it, z.
type Coordinates = [Option<f64>; 3];

/// A table's points.
struct Points {
    /// Columns beside the geometry.
    columns: Vec<String>,
    /// Row, place, attributes.
    rows: Vec<(u64, Coordinates, Vec<String>)>,
    others: u64,
}

fn rows(database: &Connection, table: &Features, path: &str) -> Result<Points, ReadError> {
    let fault = |why: rusqlite::Error| bad(path, why.to_string());
    let sql = format!("SELECT * FROM \"{}\"", table.name.replace('"', "\"\""));
    let mut statement = database.prepare(&sql).map_err(fault)?;
    let mut columns: Vec<String> = statement.column_names().iter().map(|name| (*name).to_owned()).collect();
    let at = columns.iter().position(|name| *name == table.column);
    let at = at.ok_or_else(|| bad(path, format!("table {} has no column {}", table.name, table.column)))?;
    let count = columns.len();
    columns.remove(at);
    let mut found = Points { columns, rows: Vec::new(), others: 0 };
    let mut row_number = 0;
    let mut cursor = statement.query([]).map_err(fault)?;
    while let Some(row) = cursor.next().map_err(fault)? {
        row_number += 1;
        let places = match row.get_ref(at).map_err(fault)? {
            ValueRef::Blob(blob) => places(blob).map_err(|fault| match fault {
                Fault::Bytes(why) => bad(path, format!("row {row_number} of table {}: {why}", table.name)),
                Fault::Place(why) => why,
            })?,
            _ => Vec::new(),
        };
        found.others += u64::from(places.is_empty());
        let others = (0..count).filter(|index| *index != at);
        let attributes: rusqlite::Result<Vec<String>> = others.map(|index| row.get_ref(index).map(shown)).collect();
        let attributes = attributes.map_err(fault)?;
        found.rows.extend(places.into_iter().map(|place| (row_number, place, attributes.clone())));
    }
    Ok(found)
}

/// The places of a point or of many; none for other geometry.
fn places(blob: &[u8]) -> Result<Vec<Coordinates>, Fault> {
    let Some(mut bytes) = body(blob)? else { return Ok(Vec::new()) };
    let mut places = Vec::new();
    let (kind, first) = place(&mut bytes)?;
    match kind {
        1 => places.extend(first),
        4 => {
            for _ in 0..bytes.word()? {
                places.extend(place(&mut bytes)?.1);
            }
        }
        _ => {}
    }
    Ok(places)
}

/// The kind of the next geometry, and its place when it is a point that is somewhere.
fn place(bytes: &mut Bytes<'_>) -> Result<(u32, Option<Coordinates>), Fault> {
    bytes.little = bytes.take::<1>()? != [0];
    let code = bytes.word()?;
    if code % 1000 != 1 {
        return Ok((code % 1000, None));
    }
    let (x, y) = (bytes.number()?, bytes.number()?);
    let z = if matches!(code / 1000, 1 | 3) { Some(bytes.number()?) } else { None };
    if matches!(code / 1000, 2 | 3) {
        bytes.number()?;
    }
    // An empty point is one of NaNs.
    let empty = x.is_nan() && y.is_nan();
    Ok((1, (!empty).then_some([Some(x), Some(y), z.filter(|z| !z.is_nan())])))
}

fn file(features: &Features, read: &Points, name: &str, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    let place = Place::File { file: name.to_owned(), line: 0, column: 0 };
    let crs = format!("{}:{}", features.organization.to_uppercase(), features.code);
    let named = features.srs > 0 && !features.organization.eq_ignore_ascii_case("none");
    let (geographic, own) = match named.then(|| resolve(&crs)) {
        None => (None, None),
        Some(Ok(own)) => (None, Some(own.crs)),
        Some(Err(FrameError::Geographic { .. })) => (Some(Geographic::Named(crs)), None),
        Some(Err(source)) => return Err(ReadError::Frame { path: name.to_owned(), source }.into()),
    };
    let mut titles = match geographic {
        Some(_) => vec!["longitude".to_owned(), "latitude".to_owned()],
        None => vec!["easting".to_owned(), "northing".to_owned()],
    };
    let kept: Vec<usize> = (0..read.columns.len()).filter(|at| !is_place(&read.columns[*at])).collect();
    let own_elevation = kept.iter().any(|at| known_title(&read.columns[*at]) == known_title("elevation"));
    let raised = !own_elevation && read.rows.iter().any(|(_, [_, _, z], _)| z.is_some());
    if raised {
        titles.push("elevation".to_owned());
    }
    titles.extend(kept.iter().map(|at| read.columns[*at].clone()));
    let rows = read.rows.iter().map(|(line, [x, y, z], attributes)| {
        let number = |value: &Option<f64>| value.map_or_else(String::new, |value| value.to_string());
        let mut fields = vec![number(x), number(y)];
        if raised {
            fields.push(number(z));
        }
        fields.extend(kept.iter().map(|at| attributes[*at].trim().to_owned()));
        Row { line: *line, fields }
    });
    let rows = rows.collect();
    let header = Some(Header { line: 0, titles });
    let table = Table { name: name.to_owned(), format: Format::GeoPackage, header, rows, notes: Vec::new() };
    let mut file = table.into_file(&FileSettings { columns: None, ..settings.clone() })?;
    file.geographic = geographic;
    file.crs = own;
    if raised {
        let text = "z is taken as the elevation: the format does not say what it is above";
        file.notes.push(Note::new("points::z-as-elevation", text).at(place.clone()));
    }
    if !named {
        let text = format!("table {} names no frame", features.name);
        file.notes.push(Note::new("geopackage::no-frame", text).at(place.clone()));
    }
    if read.others > 0 {
        let text = format!("{} rows hold no point and are passed over", read.others);
        file.notes.push(Note::new("points::not-points", text).at(place));
    }
    Ok(file)
}

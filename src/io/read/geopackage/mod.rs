//! GeoPackage: the points, lines and regions of its feature tables, brought into the site's frame.
//!
//! A table in the site's frame is taken as it is (z included, in the frame's unit), one in a geographic system through
//! PROJ, one in an undefined system as the site's, with a note; other frames are refused. Geometry in ISO well-known
//! binary of either byte order behind the GeoPackage header (OGC 12-128r17, 2.1.3).

pub(super) mod points;

use super::{ReadError, Shape, placing::Placing, shape::open_ring};
use crate::frame::SiteFrame;
use crate::geom::Point3;
use crate::io::Geometry;
use crate::notes::{Note, Noted};
use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags};
use std::collections::BTreeMap;
use std::path::Path;

const FORMAT: &str = "GeoPackage";

/// Reads every feature table, or the one named.
///
/// # Errors
/// [`ReadError`] when it is no GeoPackage, is broken, has no such table, or stands in another frame.
pub fn read(path: &Path, table: Option<&str>, frame: &SiteFrame) -> Result<Noted<Vec<Shape>>, ReadError> {
    let name = path.display().to_string();
    let database = open(path, &name)?;
    let tables = tables(&database, &name)?;
    let wanted: Vec<&Table> = tables.iter().filter(|one| table.is_none_or(|wanted| wanted == one.name)).collect();
    if wanted.is_empty() {
        let has = tables.iter().map(|one| one.name.as_str()).collect::<Vec<_>>().join(", ");
        let asked = table.map_or_else(|| "no table of features".to_owned(), |table| format!("no table `{table}`"));
        return Err(ReadError::Lacks { path: name, why: format!("{asked} in it (it has: {has})") });
    }
    let mut out = Noted::plain(Vec::new());
    for table in wanted {
        let placing = placing(table, frame, &name, &mut out.notes)?;
        rows(&database, table, &placing, frame, &name, &mut out)?;
    }
    Ok(out)
}

fn open(path: &Path, name: &str) -> Result<Connection, ReadError> {
    let head = head(path).map_err(|source| ReadError::Open { path: name.to_owned(), source })?;
    if head.is_empty() {
        return Err(ReadError::Empty { path: name.to_owned(), accepted: FORMAT });
    }
    if !head.starts_with(b"SQLite format 3\0") {
        return Err(bad(name, "it does not start as one"));
    }
    Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(|why| bad(name, why.to_string()))
}

fn head(path: &Path) -> std::io::Result<Vec<u8>> {
    use std::io::Read;
    let mut head = Vec::new();
    std::fs::File::open(path)?.take(16).read_to_end(&mut head)?;
    Ok(head)
}

fn bad(path: &str, why: impl Into<String>) -> ReadError {
    ReadError::Format { path: path.to_owned(), format: FORMAT, why: why.into() }
}

struct Table {
    name: String,
    column: String,
    srs: i64,
    organization: String,
    code: i64,
}

fn tables(database: &Connection, path: &str) -> Result<Vec<Table>, ReadError> {
    let sql = "SELECT g.table_name, g.column_name, g.srs_id, s.organization, s.organization_coordsys_id
               FROM gpkg_geometry_columns g JOIN gpkg_spatial_ref_sys s USING (srs_id) ORDER BY g.rowid";
    let fault = |why: rusqlite::Error| bad(path, why.to_string());
    let mut statement = database.prepare(sql).map_err(fault)?;
    let rows = statement.query_map([], |row| {
        Ok(Table {
            name: row.get(0)?,
            column: row.get(1)?,
            srs: row.get(2)?,
            organization: row.get(3)?,
            code: row.get(4)?,
        })
    });
    rows.map_err(fault)?.collect::<rusqlite::Result<_>>().map_err(fault)
}

fn placing(table: &Table, frame: &SiteFrame, path: &str, notes: &mut Vec<Note>) -> Result<Placing, ReadError> {
    if table.srs <= 0 || table.organization.eq_ignore_ascii_case("none") {
        if !frame.is_local() {
            let text =
                format!("table {} of {path} names no frame; its numbers are taken as {}", table.name, frame.name);
            notes.push(Note::new("geopackage::no-frame", text));
        }
        return Ok(Placing::site(frame));
    }
    Placing::named(&format!("{}:{}", table.organization.to_uppercase(), table.code), frame, path)
}

fn rows(
    database: &Connection,
    table: &Table,
    placing: &Placing,
    frame: &SiteFrame,
    path: &str,
    out: &mut Noted<Vec<Shape>>,
) -> Result<(), ReadError> {
    let fault = |why: rusqlite::Error| bad(path, why.to_string());
    let sql = format!("SELECT * FROM \"{}\"", table.name.replace('"', "\"\""));
    let mut statement = database.prepare(&sql).map_err(fault)?;
    let columns: Vec<String> = statement.column_names().iter().map(|name| (*name).to_owned()).collect();
    let at = columns.iter().position(|name| *name == table.column);
    let at = at.ok_or_else(|| bad(path, format!("table {} has no column {}", table.name, table.column)))?;
    let z_unit = if matches!(placing, Placing::Site(_)) { frame.unit.metres() } else { 1.0 };
    let (mut bare, mut row_number) = (0, 0u64);
    let mut cursor = statement.query([]).map_err(fault)?;
    while let Some(row) = cursor.next().map_err(fault)? {
        row_number += 1;
        let blob = match row.get_ref(at).map_err(fault)? {
            ValueRef::Blob(blob) => blob,
            ValueRef::Null => {
                bare += 1;
                continue;
            }
            _ => return Err(bad(path, format!("row {row_number} of table {} holds no geometry", table.name))),
        };
        let mut reading = Reading { path, placing, z_unit, shapes: Vec::new() };
        let read = body(blob).and_then(|rest| rest.map_or(Ok(()), |mut rest| reading.geometry(&mut rest, 0)));
        match read {
            Ok(()) => {}
            Err(Fault::Place(why)) => return Err(why),
            Err(Fault::Bytes(why)) => {
                return Err(bad(path, format!("row {row_number} of table {}: {why}", table.name)));
            }
        }
        if reading.shapes.is_empty() {
            bare += 1;
        }
        let mut attributes = BTreeMap::new();
        for (index, column) in columns.iter().enumerate().filter(|(index, _)| *index != at) {
            attributes.insert(column.clone(), shown(row.get_ref(index).map_err(fault)?));
        }
        out.value.extend(reading.shapes.into_iter().map(|(geometry, with_elevation)| Shape {
            geometry,
            with_elevation,
            layer: table.name.clone(),
            attributes: attributes.clone(),
        }));
    }
    if bare > 0 {
        let text = format!("{bare} rows of table {} in {path} have no geometry", table.name);
        out.notes.push(Note::new("geopackage::no-geometry", text));
    }
    Ok(())
}

/// A value as text.
fn shown(value: ValueRef<'_>) -> String {
    match value {
        ValueRef::Integer(number) => number.to_string(),
        ValueRef::Real(number) => number.to_string(),
        ValueRef::Text(text) => String::from_utf8_lossy(text).into_owned(),
        ValueRef::Null | ValueRef::Blob(_) => String::new(),
    }
}

enum Fault {
    Bytes(String),
    Place(ReadError),
}

/// The well-known binary behind the GeoPackage header; `None` when it says that there is nothing.
fn body(blob: &[u8]) -> Result<Option<Bytes<'_>>, Fault> {
    let &[b'G', b'P', 0, flags, ..] = blob else {
        return Err(Fault::Bytes("a geometry that does not start with GP, version 0".to_owned()));
    };
    let envelope = match flags >> 1 & 0b111 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        other => return Err(Fault::Bytes(format!("an envelope of kind {other}, known are 0 to 4"))),
    };
    if flags & 0b0001_0000 != 0 {
        return Ok(None);
    }
    let rest = blob.get(8 + envelope..).ok_or_else(|| Fault::Bytes("a geometry that ends in its header".to_owned()))?;
    Ok(Some(Bytes { rest, little: true }))
}

struct Bytes<'a> {
    rest: &'a [u8],
    little: bool,
}

impl Bytes<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], Fault> {
        let (head, rest) =
            self.rest.split_first_chunk::<N>().ok_or_else(|| Fault::Bytes("a geometry cut short".into()))?;
        self.rest = rest;
        Ok(*head)
    }

    fn word(&mut self) -> Result<u32, Fault> {
        let bytes = self.take()?;
        Ok(if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    fn number(&mut self) -> Result<f64, Fault> {
        let bytes = self.take()?;
        Ok(if self.little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) })
    }
}

struct Reading<'a> {
    path: &'a str,
    placing: &'a Placing,
    z_unit: f64,
    shapes: Vec<(Geometry, bool)>,
}

impl Reading<'_> {
    fn geometry(&mut self, bytes: &mut Bytes, depth: u8) -> Result<(), Fault> {
        bytes.little = match bytes.take::<1>()? {
            [0] => false,
            [1] => true,
            [other] => return Err(Fault::Bytes(format!("byte order {other}, known are 0 and 1"))),
        };
        let code = bytes.word()?;
        let (z, m) = (matches!(code / 1000, 1 | 3), matches!(code / 1000, 2 | 3));
        match code % 1000 {
            1 => {
                // An empty point is one of NaNs.
                if let Some(place) = self.point(bytes, z, m)? {
                    self.shapes.push((Geometry::Point(place), z));
                }
            }
            2 => {
                let line = self.line(bytes, z, m)?;
                match line.len() {
                    0 => {}
                    1 => return Err(Fault::Bytes("a line of one point".to_owned())),
                    _ => self.shapes.push((Geometry::Line(line), z)),
                }
            }
            3 => {
                let mut rings = Vec::new();
                for _ in 0..bytes.word()? {
                    let ring = self.line(bytes, z, m)?;
                    let count = ring.len();
                    let ring = open_ring(ring).ok_or_else(|| Fault::Bytes(format!("a ring of {count} points")))?;
                    rings.push(ring);
                }
                if !rings.is_empty() {
                    self.shapes.push((Geometry::Polygon(rings), z));
                }
            }
            4..=7 if depth < 4 && code < 4000 => {
                for _ in 0..bytes.word()? {
                    self.geometry(bytes, depth + 1)?;
                }
            }
            _ => return Err(Fault::Bytes(format!("geometry of kind {code}: accepted are points, lines and polygons"))),
        }
        Ok(())
    }

    fn point(&mut self, bytes: &mut Bytes, z: bool, m: bool) -> Result<Option<Point3>, Fault> {
        let (x, y) = (bytes.number()?, bytes.number()?);
        let elevation = if z { bytes.number()? * self.z_unit } else { 0.0 };
        if m {
            bytes.number()?;
        }
        if x.is_nan() && y.is_nan() {
            return Ok(None);
        }
        if !(x.is_finite() && y.is_finite() && elevation.is_finite()) {
            return Err(Fault::Bytes(format!("a place that is no place: {x}, {y}, {elevation}")));
        }
        Ok(Some(self.placing.place(x, y, self.path).map_err(Fault::Place)?.at(elevation)))
    }

    fn line(&mut self, bytes: &mut Bytes, z: bool, m: bool) -> Result<Vec<Point3>, Fault> {
        let mut points = Vec::new();
        for _ in 0..bytes.word()? {
            points.push(self.point(bytes, z, m)?.ok_or_else(|| Fault::Bytes("an empty point in a line".into()))?);
        }
        Ok(points)
    }
}

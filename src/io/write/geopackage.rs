//! GeoPackage 1.3 (OGC 12-128r17): one table a layer, in the site's frame, with the spatial index extension.
//!
//! The frame is named by its EPSG code and by its WKT 2 definition (`gpkg_crs_wkt` extension); a site grid is srs -1.
//! Coordinates, the geometry's z included, are in the frame's unit; the index has the trigger set of version 1.3.
//! Written under a temporary name in one transaction without a journal (nobody else sees that file, and it is moved to
//! its place only when whole), always in the same order, so the same content gives the same bytes; `last_change` is the
//! site's date.

use super::{MapContext, WriteError, atomic, cell, packed_index, ring::closed};
use crate::frame::SiteFrame;
use crate::geom::Point3;
use crate::io::{ColumnKind, Geometry, GeometryKind, Layer, Value};
use rusqlite::types::Value as Sql;
use rusqlite::{Connection, OpenFlags, params, params_from_iter};
use std::path::Path;

const SCHEMA: &str = include_str!("geopackage_schema.sql");
/// "GPKG" and 1.3.0, as the specification's requirement 2 asks.
const APPLICATION_ID: i32 = 0x4750_4B47;
const USER_VERSION: i32 = 10_300;
/// Numbers of frames that have no EPSG code start here.
const OWN_SRS: i64 = 100_000;

/// Writes the layers.
///
/// # Errors
/// [`WriteError::Database`] and [`WriteError::File`].
///
/// # Panics
/// When two layers or two columns share a name, or a column is called `fid` or `geom`: our fault.
pub fn write(path: &Path, layers: &[Layer], context: &MapContext) -> Result<(), WriteError> {
    atomic::replace(path, |temporary| {
        let fault = |source| WriteError::Database { path: path.to_owned(), source };
        build(temporary, layers, context).map_err(fault)?;
        atomic::flush(temporary).map_err(|source| WriteError::file(path, source))
    })
}

fn build(path: &Path, layers: &[Layer], context: &MapContext) -> rusqlite::Result<()> {
    // Without the library's way of reading a path as an address.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut database = Connection::open_with_flags(path, flags)?;
    database.execute_batch("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA locking_mode = EXCLUSIVE;")?;
    database.pragma_update(None, "application_id", APPLICATION_ID)?;
    database.pragma_update(None, "user_version", USER_VERSION)?;
    let work = database.transaction()?;
    work.execute_batch(SCHEMA)?;
    let srs = add_frame(&work, context)?;
    for layer in layers {
        add_layer(&work, layer, srs, context)?;
    }
    work.commit()?;
    database.close().map_err(|(_, why)| why)
}

fn add_frame(database: &Connection, context: &MapContext) -> rusqlite::Result<i64> {
    let definition = &context.definition;
    let Some(wkt) = &definition.wkt else { return Ok(-1) };
    let (authority, code) = match definition.epsg() {
        Some(code) => ("EPSG", i64::from(code)),
        None => ("NONE", OWN_SRS),
    };
    database.execute(
        "INSERT OR REPLACE INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?2, 'undefined', ?4, ?5)",
        params![definition.name, code, authority, context.frame.words(), wkt],
    )?;
    Ok(code)
}

fn add_layer(database: &Connection, layer: &Layer, srs: i64, context: &MapContext) -> rusqlite::Result<()> {
    let frame = &context.frame;
    let table = quoted(&layer.name);
    let kind = match layer.kind {
        GeometryKind::Point => "POINT",
        GeometryKind::Line => "LINESTRING",
        GeometryKind::Polygon => "POLYGON",
    };
    let columns: Vec<String> = layer.columns.iter().map(|column| cell::header(column, frame.unit)).collect();
    assert!(!columns.iter().any(|name| name == "fid" || name == "geom"), "layer {}: reserved column", layer.name);
    let mut declared =
        vec!["fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL".to_owned(), format!("geom {kind} NOT NULL")];
    for (column, name) in layer.columns.iter().zip(&columns) {
        declared.push(format!("{} {}", quoted(name), sql_type(column.kind)));
    }
    database.execute_batch(&format!("CREATE TABLE {table} ({});", declared.join(", ")))?;

    let mut whole = Extent::EMPTY;
    let mut boxes = Vec::with_capacity(layer.features.len());
    {
        let marks = vec!["?"; declared.len()].join(", ");
        let mut insert = database.prepare(&format!("INSERT INTO {table} VALUES ({marks})"))?;
        for (index, feature) in layer.features.iter().enumerate() {
            let fid = i64::try_from(index + 1).unwrap_or(i64::MAX);
            let extent = Extent::of(&feature.geometry, frame);
            let blob = blob(&feature.geometry, layer.with_elevation, extent, srs, frame);
            let values =
                layer.columns.iter().zip(&feature.values).map(|(column, value)| sql(column.kind, value, frame));
            insert.execute(params_from_iter([Sql::from(fid), Sql::from(blob)].into_iter().chain(values)))?;
            whole.add(extent);
            boxes.push((fid, [extent.low.0, extent.high.0, extent.low.1, extent.high.1]));
        }
    }
    let date = format!("{}T00:00:00.000Z", context.date);
    let bounds = whole.known();
    database.execute(
        "INSERT INTO gpkg_contents VALUES (?1, 'features', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        params![
            layer.name,
            format!("{} {}", layer.description, frame.words()),
            date,
            bounds.map(|b| b.low.0),
            bounds.map(|b| b.low.1),
            bounds.map(|b| b.high.0),
            bounds.map(|b| b.high.1),
            srs
        ],
    )?;
    database.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, ?4, 0)",
        params![layer.name, kind, srs, i32::from(layer.with_elevation)],
    )?;
    add_index(database, layer, &boxes)
}

/// The index is filled before its triggers stand: those call functions that only a spatial library brings.
fn add_index(database: &Connection, layer: &Layer, boxes: &[packed_index::Row]) -> rusqlite::Result<()> {
    let name = format!("rtree_{}_geom", layer.name);
    let index = quoted(&name);
    database.execute_batch(&format!("CREATE VIRTUAL TABLE {index} USING rtree(id, minx, maxx, miny, maxy);"))?;
    packed_index::fill(database, &name, boxes)?;
    database.execute(
        "INSERT INTO gpkg_extensions VALUES (?1, 'geom', 'gpkg_rtree_index', \
         'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')",
        params![layer.name],
    )?;
    let table = quoted(&layer.name);
    let trigger = |name: &str| quoted(&format!("rtree_{}_geom_{name}", layer.name));
    let put = format!(
        "INSERT OR REPLACE INTO {index} VALUES (NEW.fid, ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), \
         ST_MaxY(NEW.geom));"
    );
    let full = "(NEW.geom NOT NULL AND NOT ST_IsEmpty(NEW.geom))";
    let bare = "(NEW.geom ISNULL OR ST_IsEmpty(NEW.geom))";
    database.execute_batch(&format!(
        "CREATE TRIGGER {insert} AFTER INSERT ON {table} WHEN {full} BEGIN {put} END;
         CREATE TRIGGER {update1} AFTER UPDATE OF geom ON {table} WHEN OLD.fid = NEW.fid AND {full} BEGIN {put} END;
         CREATE TRIGGER {update2} AFTER UPDATE OF geom ON {table} WHEN OLD.fid = NEW.fid AND {bare}
           BEGIN DELETE FROM {index} WHERE id = OLD.fid; END;
         CREATE TRIGGER {update3} AFTER UPDATE ON {table} WHEN OLD.fid != NEW.fid AND {full}
           BEGIN DELETE FROM {index} WHERE id = OLD.fid; {put} END;
         CREATE TRIGGER {update4} AFTER UPDATE ON {table} WHEN OLD.fid != NEW.fid AND {bare}
           BEGIN DELETE FROM {index} WHERE id IN (OLD.fid, NEW.fid); END;
         CREATE TRIGGER {delete} AFTER DELETE ON {table} WHEN OLD.geom NOT NULL
           BEGIN DELETE FROM {index} WHERE id = OLD.fid; END;",
        insert = trigger("insert"),
        update1 = trigger("update1"),
        update2 = trigger("update2"),
        update3 = trigger("update3"),
        update4 = trigger("update4"),
        delete = trigger("delete"),
    ))
}

const fn sql_type(kind: ColumnKind) -> &'static str {
    match kind {
        ColumnKind::Text => "TEXT",
        ColumnKind::Integer => "INTEGER",
        ColumnKind::Flag => "BOOLEAN",
        ColumnKind::Number(_) | ColumnKind::Easting | ColumnKind::Northing | ColumnKind::Elevation => "DOUBLE",
    }
}

fn sql(kind: ColumnKind, value: &Value, frame: &SiteFrame) -> Sql {
    match value {
        Value::Nothing => Sql::Null,
        Value::Text(text) => Sql::from(text.clone()),
        Value::Integer(number) => Sql::from(*number),
        Value::Number(number) => cell::rounded(kind, *number, frame).map_or(Sql::Null, Sql::from),
        Value::Flag(flag) => Sql::from(i64::from(*flag)),
    }
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// A box in the frame's unit.
#[derive(Debug, Clone, Copy)]
struct Extent {
    low: (f64, f64),
    high: (f64, f64),
}

impl Extent {
    const EMPTY: Self = Self { low: (f64::INFINITY, f64::INFINITY), high: (f64::NEG_INFINITY, f64::NEG_INFINITY) };

    fn of(geometry: &Geometry, frame: &SiteFrame) -> Self {
        let mut extent = Self::EMPTY;
        for point in geometry.points() {
            let place = frame.to_frame(point.plan());
            extent.add(Self { low: place, high: place });
        }
        extent
    }

    fn add(&mut self, other: Self) {
        self.low = (self.low.0.min(other.low.0), self.low.1.min(other.low.1));
        self.high = (self.high.0.max(other.high.0), self.high.1.max(other.high.1));
    }

    fn known(self) -> Option<Self> {
        self.low.0.is_finite().then_some(self)
    }
}

/// Geometry in GeoPackage's coat: header, box (not for points), ISO well-known binary, all little-endian.
fn blob(geometry: &Geometry, with_elevation: bool, extent: Extent, srs: i64, frame: &SiteFrame) -> Vec<u8> {
    let boxed = geometry.kind() != GeometryKind::Point;
    let mut out = vec![b'G', b'P', 0, if boxed { 0b0000_0011 } else { 0b0000_0001 }];
    out.extend(i32::try_from(srs).unwrap_or(0).to_le_bytes());
    if boxed {
        for value in [extent.low.0, extent.high.0, extent.low.1, extent.high.1] {
            out.extend(value.to_le_bytes());
        }
    }
    let code: u32 = match geometry.kind() {
        GeometryKind::Point => 1,
        GeometryKind::Line => 2,
        GeometryKind::Polygon => 3,
    };
    out.push(1);
    out.extend((code + if with_elevation { 1000 } else { 0 }).to_le_bytes());
    let point = |out: &mut Vec<u8>, point: Point3| {
        let (x, y) = frame.to_frame(point.plan());
        out.extend(x.to_le_bytes());
        out.extend(y.to_le_bytes());
        if with_elevation {
            out.extend(frame.elevation_to_frame(point.z).to_le_bytes());
        }
    };
    let line = |out: &mut Vec<u8>, points: &[Point3]| {
        out.extend(u32::try_from(points.len()).unwrap_or(u32::MAX).to_le_bytes());
        for place in points {
            point(out, *place);
        }
    };
    match geometry {
        Geometry::Point(place) => point(&mut out, *place),
        Geometry::Line(points) => line(&mut out, points),
        Geometry::Polygon(rings) => {
            out.extend(u32::try_from(rings.len()).unwrap_or(u32::MAX).to_le_bytes());
            for (at, ring) in rings.iter().enumerate() {
                line(&mut out, &closed(ring, at == 0));
            }
        }
    }
    out
}

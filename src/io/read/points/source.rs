//! Which format a file of points is in: by its ending, else by what stands in it.
//!
//! A part of a file that holds several (a sheet, a table, a surface) is named behind `#`: `shots.xlsx#Day 1`.

use super::table::DESIGNED_NOTE;
use super::{FileSettings, PointFileError, parse};
use crate::io::read::{geojson, geopackage, grid, landxml, level_book, nmea, position_log, spreadsheet};
use crate::survey::PointFile;
use std::path::{Path, PathBuf};

/// Endings of workbooks.
const WORKBOOKS: [&str; 5] = ["xlsx", "xlsm", "xlsb", "xls", "ods"];
const DOCUMENTS: [&str; 5] = ["gpkg", "xml", "landxml", "geojson", "json"];

/// The ending of a name in lower case.
fn ending(path: &Path) -> String {
    path.extension().unwrap_or_default().to_string_lossy().to_lowercase()
}

/// A file and the part of it that is named behind `#`; a file whose own name holds a `#` is itself.
#[must_use]
pub fn part_of(path: &Path) -> (PathBuf, Option<String>) {
    let text = path.to_string_lossy();
    match text.rsplit_once('#') {
        Some((file, part)) if !part.is_empty() && !path.exists() => {
            let file = PathBuf::from(file);
            let kind = ending(&file);
            if WORKBOOKS.contains(&kind.as_str()) || DOCUMENTS.contains(&kind.as_str()) {
                return (file, Some(part.to_owned()));
            }
            (path.to_owned(), None)
        }
        _ => (path.to_owned(), None),
    }
}

/// True of a workbook, by its ending.
pub(in crate::io::read) fn is_workbook(path: &Path) -> bool {
    WORKBOOKS.contains(&ending(path).as_str())
}

/// True when a file can hold points only: no cloud, no raster; of LandXML those without a surface to look at.
#[must_use]
pub fn is_points(path: &Path) -> bool {
    let (file, part) = part_of(path);
    match ending(&file).as_str() {
        "las" | "laz" | "tif" | "tiff" | "tin" => false,
        "xml" | "landxml" => part.is_none() && landxml::points::only_points(&file),
        _ => !file.is_dir() && !names_part_of_run(path) && !grid::is_grid(&file),
    }
}

/// `RUN#works` names a surface of a run's folder.
fn names_part_of_run(path: &Path) -> bool {
    path.to_string_lossy().rsplit_once('#').is_some_and(|(folder, _)| Path::new(folder).is_dir())
}

/// Reads a point file of any format.
///
/// # Errors
/// [`PointFileError`] with the place of the first fault.
pub fn read(path: &Path, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    let (file, part) = part_of(path);
    let name = settings.name.clone().unwrap_or_else(|| path.display().to_string());
    let bytes = std::fs::read(&file).map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => PointFileError::Missing { file: name.clone() },
        _ => PointFileError::Unreadable { file: name.clone(), why: crate::io::reason(&error) },
    })?;
    if bytes.is_empty() {
        return Err(PointFileError::Empty { file: name });
    }
    match ending(&file).as_str() {
        _ if settings.columns.is_none() && level_book::is_one_at(path) => Err(PointFileError::Lacks {
            file: name,
            why: "it is a level book, not a point file: `check` takes it, and `[asbuilt] files` does".to_owned(),
        }),
        kind if WORKBOOKS.contains(&kind) => spreadsheet::parse(&bytes, &name, part.as_deref(), settings),
        "geojson" | "json" => geojson::points::parse(&bytes, &name, settings),
        "gpkg" => geopackage::points::read(&file, &name, part.as_deref(), settings),
        "xml" | "landxml" => landxml::points::parse(&bytes, &name, part.as_deref(), settings),
        _ if nmea::looks_like(&bytes) => nmea::parse(&bytes, &name, settings),
        _ if position_log::looks_like(&bytes) => position_log::parse(&bytes, &name, settings),
        _ => parse(&bytes, &name, settings),
    }
}

/// As [`read`], of points whose elevations somebody measured: a list of stakes or of shots to take, whose elevations are
/// designed ones, is refused.
///
/// # Errors
/// [`PointFileError`] with the place of the first fault.
pub fn read_measured(path: &Path, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    let file = read(path, settings)?;
    if file.notes.iter().any(|note| note.code == DESIGNED_NOTE) {
        let why = "it is a list of what to stake or to shoot: its elevations (design_elevation) are designed ones, which \
                   nobody measured. Give the file that came back from the field; where its header still says \
                   design_elevation and the heights are measured, say its columns";
        return Err(PointFileError::Lacks { file: file.name, why: why.to_owned() });
    }
    Ok(file)
}

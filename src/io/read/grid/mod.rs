//! Grids of the ground: `GeoTIFF`, and text grids with a header of rows and columns (ASCII grids).
//!
//! Invariant: a node either has an elevation or it is told that it has none: by the file, or by who reads it. Values that
//! no land has are refused, since they stand for no data that the file forgot to name. Memory is bounded by what is in
//! the file.

mod ascii;
mod tiff;

use super::{ReadError, geotiff};
use crate::frame::{FrameDefinition, FrameError, Geographic, Projector, SiteFrame, resolve};
use crate::geom::{LIMIT, Vector};
use crate::notes::{Note, Noted};
use crate::surface::{Grid, Nodes};
use crate::units::LengthUnit;
use std::io::Read;
use std::path::{Path, PathBuf};

const FORMAT: &str = "elevation grid";
/// Most nodes of a grid. A choice of this program: the surface through them must fit in a small machine.
const MOST_NODES: usize = 10_000_000;
/// No land lies outside, metres; the lowest is the shore of the Dead Sea at -440 m, and a site's own datum may be odd.
const LAND: std::ops::RangeInclusive<f64> = -1_000.0..=10_000.0;

/// What a person says of a grid; the rest the file says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GridSettings {
    /// The value that stands where there is no elevation, beside the one that the file names.
    pub no_data: Option<f64>,
    /// The unit of the elevations.
    pub unit: Option<LengthUnit>,
}

/// A grid as read.
#[derive(Debug, Clone, PartialEq)]
pub struct GridFile {
    /// The file as the user named it.
    pub path: String,
    /// The frame that it names.
    pub crs: Option<String>,
    /// The unit of its elevations, where it is said.
    pub unit: Option<LengthUnit>,
    /// Nodes from west to east.
    pub columns: usize,
    /// The south-western node, easting and northing in the file's frame.
    pub low: [f64; 2],
    /// From node to node, east and north.
    pub step: [f64; 2],
    /// Elevations row by row from the south, in their own unit; not a number where there is none.
    pub elevations: Vec<f64>,
}

/// True when a file begins as a grid does, whatever its ending.
#[must_use]
pub fn is_grid(path: &Path) -> bool {
    let mut start = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(4096).read_to_end(&mut start));
    read.is_ok() && (geotiff::begins_so(&start) || ascii::begins_so(&start))
}

/// The file beside a grid that says its frame, where it is read: it belongs to the grid as much as what is in it.
#[must_use]
pub fn frame_beside(path: &Path) -> Option<PathBuf> {
    let mut start = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(4096).read_to_end(&mut start));
    ascii::frame_beside(path).filter(|_| read.is_ok() && ascii::begins_so(&start))
}

/// Reads a grid. `name` is how messages call it.
///
/// # Errors
/// [`ReadError`] with the place in a text, or what is wrong with the file.
pub fn read(path: &Path, name: &str, settings: &GridSettings) -> Result<Noted<GridFile>, ReadError> {
    let opened = |source| ReadError::Open { path: name.to_owned(), source };
    let mut file = std::fs::File::open(path).map_err(opened)?;
    let mut start = Vec::new();
    file.by_ref().take(4).read_to_end(&mut start).map_err(opened)?;
    if start.is_empty() {
        return Err(ReadError::Empty { path: name.to_owned(), accepted: FORMAT });
    }
    let mut notes = Vec::new();
    let mut grid = if geotiff::begins_so(&start) {
        tiff::read(std::fs::File::open(path).map_err(opened)?, name, settings.no_data)?
    } else {
        ascii::read(path, name, settings.no_data)?
    };
    grid.unit = settings.unit.or(grid.unit);
    notes.extend(grid.check()?);
    Ok(Noted { value: grid, notes })
}

fn broken(name: &str, why: impl Into<String>) -> ReadError {
    ReadError::Format { path: name.to_owned(), format: FORMAT, why: why.into() }
}

/// Refuses more nodes than there is room for.
fn bounded(name: &str, columns: usize, rows: usize) -> Result<usize, ReadError> {
    columns.checked_mul(rows).filter(|nodes| *nodes <= MOST_NODES).ok_or_else(|| {
        broken(
            name,
            format!(
                "it has {columns} columns and {rows} rows; this program takes {MOST_NODES} nodes: cut it to the site"
            ),
        )
    })
}

impl GridFile {
    fn lacks(&self, why: String) -> ReadError {
        ReadError::Lacks { path: self.path.clone(), why }
    }

    /// Rows from south to north.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.elevations.len().checked_div(self.columns).unwrap_or(0)
    }

    /// Nodes that have an elevation.
    #[must_use]
    pub fn nodes(&self) -> usize {
        self.elevations.iter().filter(|z| z.is_finite()).count()
    }

    /// The middle of the grid, easting and northing in the file's frame.
    #[must_use]
    pub fn middle(&self) -> (f64, f64) {
        let at = |axis: usize, count: usize| self.low[axis] + self.step[axis] * (count.saturating_sub(1)) as f64 / 2.0;
        (at(0, self.columns), at(1, self.rows()))
    }

    /// The middle of the grid in a site's frame, where it stands in longitude and latitude; else in its own.
    ///
    /// # Errors
    /// [`ReadError::Frame`] when degrees cannot be brought there.
    pub fn middle_in(&self, definition: &FrameDefinition) -> Result<(f64, f64), ReadError> {
        let frame = definition.site_frame((0.0, 0.0), None);
        let (x, y) = self.middle();
        match self.degrees(&frame)? {
            None => Ok((x, y)),
            Some(projector) => {
                let place = projector.to_site(x, y).map_err(|source| self.not_there(source))?;
                Ok(frame.to_frame(place))
            }
        }
    }

    /// From the degrees that it stands in to a frame; nothing when it does not stand in degrees, or the frame is a site grid.
    fn degrees(&self, frame: &SiteFrame) -> Result<Option<Projector>, ReadError> {
        let Some(crs) = self.crs.as_deref().filter(|_| !frame.is_local()) else { return Ok(None) };
        match resolve(crs) {
            Err(FrameError::Geographic { .. }) => {
                let projector = Projector::new(frame, &Geographic::Named(crs.to_owned()));
                projector.map(Some).map_err(|source| self.not_there(source))
            }
            _ => Ok(None),
        }
    }

    fn not_there(&self, source: FrameError) -> ReadError {
        ReadError::Frame { path: self.path.clone(), source }
    }

    /// Looks for values that stand for no data without being said to.
    fn check(&self) -> Result<Option<Note>, ReadError> {
        let metres = self.unit.unwrap_or_default().metres();
        let there = || self.elevations.iter().copied().filter(|z| z.is_finite());
        if there().next().is_none() {
            return Err(self.lacks("none of its nodes has an elevation".to_owned()));
        }
        if let Some(value) = there().find(|z| !LAND.contains(&(z * metres))) {
            let same = there().filter(|z| *z == value).count();
            let unit = self.unit.unwrap_or_default().name();
            return Err(self.lacks(format!(
                "{same} of its nodes say {value}, which is no elevation in {unit}: if it stands for no data, name it \
                 (--no-data {value}, or `no-data` in the pipeline file)"
            )));
        }
        let zeros = there().filter(|z| *z == 0.0).count();
        let (low, high) =
            there().filter(|z| *z != 0.0).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| (z.min(l), z.max(h)));
        // Far from all others: by more than they differ among themselves.
        let apart = low.max(-high) > high - low;
        Ok((zeros > 0 && low <= high && apart).then(|| {
            let text = format!(
                "{}: {zeros} nodes are exactly zero, all others {low:.2} to {high:.2}: if zero stands for no data, name \
                 it (--no-data 0, or `no-data` in the pipeline file)",
                self.path
            );
            Note::new("grid::zeros", text)
        }))
    }

    /// The grid in the local frame of a site, metres.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] when it stands in another frame, its steps are too small, or it reaches out of the local frame;
    /// [`ReadError::Frame`] when it stands in degrees and cannot be brought here.
    pub fn in_frame(&self, frame: &SiteFrame) -> Result<Noted<Grid>, ReadError> {
        if let Some(projector) = self.degrees(frame)? {
            return self.by_node(&projector);
        }
        let mut notes: Vec<Note> = self.check_frame(frame)?.into_iter().collect();
        if self.unit.is_none() && frame.unit != LengthUnit::Metres {
            let text = format!(
                "{} does not say the unit of its elevations; they are taken as {}, the frame's",
                self.path,
                frame.unit.name()
            );
            notes.push(Note::new("grid::unit-assumed", text));
        }
        let metres = self.unit.unwrap_or(frame.unit).metres();
        let low = frame.to_local(self.low[0], self.low[1]);
        let scale = frame.unit.metres() / frame.combined_factor;
        let step = Vector::new(self.step[0] * scale, self.step[1] * scale);
        if step.x.min(step.y) < 1e-3 {
            return Err(self.lacks("its nodes stand less than a millimetre apart: is its frame right?".to_owned()));
        }
        let (east, north) = (step.x * self.columns as f64, step.y * self.rows() as f64);
        if [low.x, low.y, low.x + east, low.y + north].iter().any(|at| at.abs() >= LIMIT) {
            return Err(self.lacks("it reaches more than 65 km from the site: cut it to the site".to_owned()));
        }
        let elevations = self.elevations.iter().map(|z| z * metres).collect();
        Ok(Noted { value: Grid { nodes: Nodes::Even { low, step }, columns: self.columns, elevations }, notes })
    }

    /// A grid in degrees: each node is brought to the frame by itself, and keeps its elevation.
    fn by_node(&self, projector: &Projector) -> Result<Noted<Grid>, ReadError> {
        let at = |axis: usize, index: usize| self.low[axis] + self.step[axis] * index as f64;
        let mut places = Vec::with_capacity(self.elevations.len());
        for node in 0..self.elevations.len() {
            let (longitude, latitude) = (at(0, node % self.columns), at(1, node / self.columns));
            let place = projector.to_site(longitude, latitude).map_err(|source| self.not_there(source))?;
            if place.x.abs() >= LIMIT || place.y.abs() >= LIMIT {
                return Err(self.lacks("it reaches more than 65 km from the site: cut it to the site".to_owned()));
            }
            places.push(place);
        }
        let unit = self.unit.unwrap_or_default();
        let text = format!(
            "{} stands in longitude and latitude: each node is brought to the site's frame by itself, its elevation is taken as it is, in {}",
            self.path,
            unit.name()
        );
        let elevations = self.elevations.iter().map(|z| z * unit.metres()).collect();
        let value = Grid { nodes: Nodes::Each(places), columns: self.columns, elevations };
        Ok(Noted { value, notes: vec![Note::new("grid::degrees", text)] })
    }

    fn check_frame(&self, frame: &SiteFrame) -> Result<Option<Note>, ReadError> {
        let (path, note) = (&self.path, |code: &str, text: String| Ok(Some(Note::new(code, text))));
        match self.crs.as_deref().map(resolve) {
            Some(Ok(own)) if own.crs == frame.crs => Ok(None),
            Some(Ok(own)) if frame.is_local() => note(
                "grid::frame-left-out",
                format!("{path} stands in {}; its numbers are taken as the site grid's", own.name),
            ),
            Some(Ok(own)) => Err(self.lacks(format!(
                "it stands in {} ({}), the site in {} ({}): convert it first",
                own.crs, own.name, frame.crs, frame.name
            ))),
            Some(Err(why)) if !matches!(why, FrameError::Unknown { .. }) => {
                Err(ReadError::Frame { path: path.clone(), source: why })
            }
            Some(Err(why)) => note(
                "grid::frame-not-understood",
                format!("the frame of {path} is taken as the site's ({}): {why}", frame.name),
            ),
            None if frame.is_local() => Ok(None),
            None => note("grid::no-frame", format!("{path} names no frame; its numbers are taken as {}", frame.name)),
        }
    }
}

#[cfg(test)]
mod tests;

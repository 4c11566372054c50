//! Geoid grids that the user supplies: GTX, and GeoTIFF as PROJ's grids are kept.
//!
//! Invariant: only the nodes that a site needs are read; a row or a tile is kept in memory once read, and only a bounded
//! number of them. A grid that is not geographic, or says that it is no geoid, is refused.

mod gtx;
mod tiff;

use super::ReadError;
use super::geotiff::{self, Chunk};
use crate::frame::GeoidGrid;
use std::collections::BTreeMap;
use std::path::Path;

/// Opens the geoid grids of a file by what it begins with: of a GTX one, of a GeoTIFF as many as it holds, the finest first.
/// `name` is how messages and outputs call it.
///
/// # Errors
/// [`ReadError`] when it cannot be opened or is no such grid.
pub fn open(path: &Path, name: &str) -> Result<Vec<Box<dyn GeoidGrid>>, ReadError> {
    use std::io::Read;
    let open = || std::fs::File::open(path).map_err(|source| ReadError::Open { path: name.to_owned(), source });
    let mut start = Vec::new();
    open()?.take(4).read_to_end(&mut start).map_err(|source| ReadError::Open { path: name.to_owned(), source })?;
    if start.is_empty() {
        return Err(ReadError::Empty { path: name.to_owned(), accepted: "a geoid grid (GTX or GeoTIFF)" });
    }
    Ok(if geotiff::begins_so(&start) {
        let grids = tiff::TiffGrid::open_all(&open, name)?;
        grids.into_iter().map(|grid| Box::new(grid) as Box<dyn GeoidGrid>).collect()
    } else {
        vec![Box::new(gtx::GtxGrid::open(open()?, name)?)]
    })
}

fn broken(name: &str, why: impl Into<String>) -> ReadError {
    ReadError::Format { path: name.to_owned(), format: "geoid grid", why: why.into() }
}

/// Pieces of a grid that were read, so many at most.
#[derive(Debug, Default)]
struct Kept {
    pieces: BTreeMap<u64, Chunk>,
}

impl Kept {
    const MOST: usize = 32;

    fn get_or(&mut self, key: u64, read: impl FnOnce() -> Result<Chunk, String>) -> Result<&Chunk, String> {
        if !self.pieces.contains_key(&key) {
            if self.pieces.len() >= Self::MOST {
                self.pieces.clear();
            }
            self.pieces.insert(key, read()?);
        }
        Ok(&self.pieces[&key])
    }
}

#[cfg(test)]
mod tests;

//! GTX: forty bytes of header (south, west, steps, rows, columns), then single-precision heights, all big-endian, row by
//! row from the south-west corner. A node of -88.8888 has no value.

use super::{Kept, broken};
use crate::frame::{GeoidGrid, GridLayout};
use crate::io::read::ReadError;
use crate::io::read::geotiff::Chunk;
use std::cell::RefCell;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};

const HEADER: usize = 40;
const NO_VALUE: f64 = -88.8888;

#[derive(Debug)]
pub(super) struct GtxGrid {
    name: String,
    layout: GridLayout,
    file: RefCell<File>,
    rows: RefCell<Kept>,
}

impl GtxGrid {
    pub(super) fn open(mut file: File, name: &str) -> Result<Self, ReadError> {
        let mut header = [0; HEADER];
        let size = file.metadata().map_err(|source| ReadError::Open { path: name.to_owned(), source })?.len();
        file.read_exact(&mut header).map_err(|_| broken(name, "it is shorter than a GTX header of 40 bytes"))?;
        let number = |at: usize| f64::from_be_bytes(std::array::from_fn(|i| header[at + i]));
        let count = |at: usize| u32::from_be_bytes(std::array::from_fn(|i| header[at + i])) as usize;
        let (south, west, step_north, step_east) = (number(0), number(8), number(16), number(24));
        let (rows, columns) = (count(32), count(36));
        let on_earth = (-90.0..=90.0).contains(&south) && (-360.0..=360.0).contains(&west);
        let steps = [step_north, step_east].into_iter().all(|step| step > 0.0 && step < 90.0);
        let covered = rows as f64 * step_north <= 182.0 && columns as f64 * step_east <= 362.0;
        if !(on_earth && steps && covered && rows > 1 && columns > 1) {
            return Err(broken(name, "its header is not that of a GTX grid in degrees (nor is it a GeoTIFF)"));
        }
        let needed = HEADER as u64 + 4 * rows as u64 * columns as u64;
        if size < needed {
            return Err(broken(
                name,
                format!("it has {size} bytes where {rows} rows of {columns} nodes need {needed}"),
            ));
        }
        let layout = GridLayout { west, south, step_east, step_north, columns, rows };
        Ok(Self { name: name.to_owned(), layout, file: RefCell::new(file), rows: RefCell::default() })
    }

    fn row(&self, row: usize) -> Result<Chunk, String> {
        let mut bytes = vec![0; 4 * self.layout.columns];
        let mut file = self.file.borrow_mut();
        let start = HEADER as u64 + bytes.len() as u64 * row as u64;
        file.seek(SeekFrom::Start(start))
            .and_then(|_| file.read_exact(&mut bytes))
            .map_err(|error| error.to_string())?;
        let values = bytes.chunks_exact(4).map(|b| f64::from(f32::from_be_bytes([b[0], b[1], b[2], b[3]]))).collect();
        Ok(Chunk { column: 0, row, columns: self.layout.columns, values })
    }
}

impl GeoidGrid for GtxGrid {
    fn name(&self) -> &str {
        &self.name
    }

    fn layout(&self) -> GridLayout {
        self.layout
    }

    fn node(&self, column: usize, row: usize) -> Result<Option<f64>, String> {
        let mut rows = self.rows.borrow_mut();
        let value = rows.get_or(row as u64, || self.row(row))?.values[column];
        Ok((value.is_finite() && (value - NO_VALUE).abs() > 1e-4).then_some(value))
    }
}

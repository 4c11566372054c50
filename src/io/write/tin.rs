//! Surfaces to the last bit, in a file of our own: `ground.tin` and `works.tin`. See `tin_layout` for the bytes.

use super::{WriteError, atomic};
use crate::frame::SiteFrame;
use crate::geom::LATTICE_STEP;
use crate::io::tin_layout::{MAGIC, VERSION, check_of, fold, put};
use crate::surface::Tin;
use std::io::{Error, ErrorKind};
use std::path::Path;

/// Writes a surface with the frame that it stands in.
///
/// # Errors
/// [`WriteError::File`] when the system refuses, or when a vertex does not stand on the lattice.
pub fn write(path: &Path, tin: &Tin, frame: &SiteFrame) -> Result<(), WriteError> {
    let fault = |why: &str| WriteError::file(path, Error::new(ErrorKind::InvalidInput, why.to_owned()));
    let json = serde_json::to_vec(frame).map_err(|why| fault(&why.to_string()))?;
    let length = u32::try_from(json.len()).map_err(|_| fault("the frame's definition is too long"))?;
    let mut bytes = Vec::with_capacity(256 + json.len() + 16 * tin.vertices().len() + 6 * tin.triangles().len());
    bytes.extend(MAGIC);
    bytes.extend(VERSION.to_le_bytes());
    bytes.extend(length.to_le_bytes());
    bytes.extend(json);
    bytes.extend((tin.vertices().len() as u64).to_le_bytes());
    bytes.extend((tin.triangles().len() as u64).to_le_bytes());
    let mut before = [0, 0];
    for vertex in tin.vertices() {
        let here = [vertex.x, vertex.y].map(steps);
        let [Some(x), Some(y)] = here else { return Err(fault("a vertex does not stand on the lattice")) };
        put(&mut bytes, fold(x - before[0]));
        put(&mut bytes, fold(y - before[1]));
        bytes.extend(vertex.z.to_le_bytes());
        before = [x, y];
    }
    let mut before = 0;
    for (id, &corners) in tin.ids().zip(tin.triangles()) {
        let [a, b, c] = corners.map(i64::from);
        let breaks = (0..3).fold(0, |bits, edge| bits | (u64::from(tin.is_break(id, edge)) << edge));
        put(&mut bytes, fold(a - before) << 3 | breaks);
        put(&mut bytes, fold(b - a));
        put(&mut bytes, fold(c - a));
        before = a;
    }
    let check = check_of(&bytes);
    bytes.extend(check);
    atomic::write(path, &bytes)
}

/// A coordinate in lattice steps; `None` between two of them.
#[expect(clippy::cast_possible_truncation, reason = "held against the coordinate afterwards")]
fn steps(coordinate: f64) -> Option<i64> {
    let steps = (coordinate / LATTICE_STEP) as i64;
    (steps as f64 * LATTICE_STEP == coordinate).then_some(steps)
}

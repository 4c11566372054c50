//! Surfaces as a run left them, in a file of our own. See `tin_layout` for the bytes.
//!
//! Invariant: what is read is what was written, to the last bit, or reading ends with a message: the check at the end covers
//! every byte, and counts are held against what is there before memory is set aside for them.

use super::ReadError;
use crate::frame::SiteFrame;
use crate::geom::{LATTICE_STEP, LIMIT, Point, Point3, snap_point};
use crate::io::tin_layout::{CHECK, LEAST, MAGIC, VERSION, check_of, take, unfold};
use crate::surface::Tin;
use std::path::Path;

const FORMAT: &str = "surface file (.tin)";

/// A surface and the frame that it stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct TinFile {
    /// The file as the user named it.
    pub path: String,
    /// The frame.
    pub frame: SiteFrame,
    /// The surface.
    pub tin: Tin,
}

/// Reads a file.
///
/// # Errors
/// [`ReadError::Open`], [`ReadError::Empty`], and [`ReadError::Format`] when it is no such file, is of another version, or was
/// cut off or changed.
pub fn read(path: &Path) -> Result<TinFile, ReadError> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|source| ReadError::Open { path: name.clone(), source })?;
    from_bytes(&bytes, &name)
}

/// Reads a file that is already in memory; `name` is how messages call it.
///
/// # Errors
/// As [`read`].
pub fn from_bytes(bytes: &[u8], name: &str) -> Result<TinFile, ReadError> {
    let path = name.to_owned();
    if bytes.is_empty() {
        return Err(ReadError::Empty { path, accepted: FORMAT });
    }
    match parse(bytes) {
        Ok((frame, tin)) => Ok(TinFile { path, frame, tin }),
        Err(why) => Err(ReadError::Format { path, format: FORMAT, why }),
    }
}

fn parse(bytes: &[u8]) -> Result<(SiteFrame, Tin), String> {
    let rest = bytes.strip_prefix(MAGIC).ok_or("it does not begin as one")?;
    let (version, _) = rest.split_first_chunk().ok_or("it is cut off")?;
    let version = u32::from_le_bytes(*version);
    if version != VERSION {
        return Err(format!(
            "it is of version {version}, this program reads version {VERSION}: run the pipeline again"
        ));
    }
    let (held, check) = bytes.split_last_chunk::<CHECK>().ok_or("it is cut off")?;
    if check_of(held) != *check {
        return Err("it was cut off or changed: its check does not fit".to_owned());
    }
    // From here on only a file that was made to mislead can be wrong.
    let mut left = held.get(MAGIC.len() + 4..).ok_or("it is cut off")?;
    let length = u32::from_le_bytes(chunk(&mut left)?) as usize;
    let (frame, rest) = left.split_at_checked(length).ok_or("its frame does not fit in")?;
    let frame: SiteFrame =
        serde_json::from_slice(frame).map_err(|why| format!("its frame is not understood: {why}"))?;
    left = rest;
    let mut count = || -> Result<u64, String> { Ok(u64::from_le_bytes(chunk(&mut left)?)) };
    let claimed = [count()?, count()?];
    let [vertices, triangles] = claimed.map(|count| usize::try_from(count).unwrap_or(usize::MAX));
    let needed =
        vertices.checked_mul(LEAST[0]).zip(triangles.checked_mul(LEAST[1])).and_then(|(v, t)| v.checked_add(t));
    if needed.is_none_or(|needed| needed > left.len()) {
        return Err(format!("it says {vertices} vertices and {triangles} triangles, in {} bytes", left.len()));
    }
    let points = points(&mut left, vertices)?;
    let (faces, breaks) = faces(&mut left, triangles)?;
    if !left.is_empty() {
        return Err(format!("{} bytes follow its last triangle", left.len()));
    }
    let tin = Tin::from_faces(points, faces, breaks).map_err(|why| why.to_string())?;
    Ok((frame, tin))
}

fn chunk<const N: usize>(left: &mut &[u8]) -> Result<[u8; N], String> {
    let (chunk, rest) = left.split_first_chunk::<N>().ok_or("it is cut off")?;
    *left = rest;
    Ok(*chunk)
}

fn points(left: &mut &[u8], count: usize) -> Result<Vec<Point3>, String> {
    let mut points = Vec::with_capacity(count);
    let mut here = [0_i64; 2];
    for index in 0..count {
        for axis in &mut here {
            let step = take(left).map(unfold).ok_or("it is cut off")?;
            *axis = axis.checked_add(step).ok_or("a vertex lies out of the local frame")?;
        }
        let [x, y] = here.map(|steps| steps as f64 * LATTICE_STEP);
        let z = f64::from_le_bytes(chunk(left)?);
        if !(x.abs() <= LIMIT && y.abs() <= LIMIT && z.is_finite()) {
            return Err(format!("vertex {index} lies out of the local frame"));
        }
        points.push(Point3::new(x, y, z));
    }
    Ok(points)
}

/// Corners and breakline sides.
type Faces = (Vec<[u32; 3]>, Vec<[bool; 3]>);

fn faces(left: &mut &[u8], count: usize) -> Result<Faces, String> {
    let (mut faces, mut breaks) = (Vec::with_capacity(count), Vec::with_capacity(count));
    let mut before = 0_i64;
    for index in 0..count {
        let mut number = || take(left).ok_or("it is cut off");
        let first = number()?;
        let steps = [unfold(first >> 3), unfold(number()?), unfold(number()?)];
        let corner = |from: i64, step: i64| from.checked_add(step).filter(|v| (0..i64::from(u32::MAX)).contains(v));
        let wrong = || format!("triangle {index} has a corner that is not there");
        let a = corner(before, steps[0]).ok_or_else(wrong)?;
        let b = corner(a, steps[1]).ok_or_else(wrong)?;
        let c = corner(a, steps[2]).ok_or_else(wrong)?;
        faces.push([a, b, c].map(|v| u32::try_from(v).unwrap_or(u32::MAX)));
        breaks.push([0, 1, 2].map(|edge| first >> edge & 1 == 1));
        before = a;
    }
    Ok((faces, breaks))
}

impl TinFile {
    /// The surface in the local frame of a site.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] when it stands in another system, or lies out of the local frame.
    pub fn in_frame(self, frame: &SiteFrame) -> Result<Tin, ReadError> {
        let lacks = |why: String| ReadError::Lacks { path: self.path.clone(), why };
        let own = &self.frame;
        if own.crs != frame.crs {
            return Err(lacks(format!(
                "it stands in {} ({}), the site in {} ({}): convert it first",
                own.crs, own.name, frame.crs, frame.name
            )));
        }
        if (own.origin, own.combined_factor) == (frame.origin, frame.combined_factor) {
            return Ok(self.tin);
        }
        let moved = |place: Point| {
            let grid = own.to_grid_metres(place);
            let place = snap_point(frame.from_grid_metres(grid.x, grid.y));
            (place.x.abs() <= LIMIT && place.y.abs() <= LIMIT).then_some(place)
        };
        let vertices = self.tin.vertices().iter().map(|v| Some(moved(v.plan())?.at(v.z))).collect::<Option<Vec<_>>>();
        let vertices = vertices.ok_or_else(|| lacks("it reaches more than 65 km from the site".to_owned()))?;
        self.tin.with_vertices(vertices).map_err(|why| lacks(why.to_string()))
    }
}

#[cfg(test)]
mod tests;

//! What a LandXML file holds that we read, and how it becomes a mesh or a line of the site.

use crate::frame::{HEIGHT_NOT_SAID, SiteFrame, resolve};
use crate::geom::{LIMIT, Point, Point3, snap};
use crate::io::read::ReadError;
use crate::notes::Note;
use crate::surface::{Tin, TinError, overlapping};

pub(super) const FORMAT: &str = "LandXML file";
/// Faces may lie over one another by this much, metres: coordinates are often written to the millimetre.
const ROUNDING: f64 = 0.002;

/// What a file holds that we read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LandXml {
    /// The file as the user named it.
    pub path: String,
    /// Code of the frame it names, such as `EPSG:2154`.
    pub crs: Option<String>,
    /// What it says that its elevations are above.
    pub height: Option<String>,
    /// Its TIN surfaces.
    pub surfaces: Vec<Surface>,
    /// Its alignments.
    pub alignments: Vec<Alignment>,
}

/// A surface as read: points in the file's frame, metres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Surface {
    /// Its name.
    pub name: String,
    /// Easting, northing, elevation.
    pub points: Vec<[f64; 3]>,
    /// Faces as indices of points.
    pub faces: Vec<[u32; 3]>,
    /// For each face, which of its edges are breaklines (edge `k` runs from corner `k`).
    pub breaks: Vec<[bool; 3]>,
    /// The line of the file that each face stands in.
    pub lines: Vec<u64>,
}

/// An alignment as read: places in the file's frame, metres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Alignment {
    /// Its name.
    pub name: String,
    /// Station of its start, metres.
    pub start_station: f64,
    /// Easting and northing of each corner.
    pub places: Vec<[f64; 2]>,
}

impl LandXml {
    /// Holds the frame that the file names against the site's, and what its elevations are above.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] when the frame is another one.
    pub fn check_frame(&self, frame: &SiteFrame) -> Result<Vec<Note>, ReadError> {
        let mut notes = self.check_horizontal(frame)?;
        if let Some(own) = &self.height
            && frame.height != HEIGHT_NOT_SAID
            && !own.eq_ignore_ascii_case(&frame.height)
        {
            let text = format!(
                "elevations of {} are above `{own}`, the site's above `{}`: taken as they are",
                self.path, frame.height
            );
            notes.push(Note::new("landxml::other-height-system", text));
        }
        Ok(notes)
    }

    fn check_horizontal(&self, frame: &SiteFrame) -> Result<Vec<Note>, ReadError> {
        let note = |code: &str, text: String| Ok(vec![Note::new(code, text)]);
        match self.crs.as_deref().map(resolve) {
            _ if frame.is_local() => Ok(Vec::new()),
            Some(Ok(own)) if own.crs == frame.crs => Ok(Vec::new()),
            Some(Ok(own)) => Err(ReadError::Lacks {
                path: self.path.clone(),
                why: format!(
                    "it stands in {} ({}), the site in {} ({}): convert it first",
                    own.crs, own.name, frame.crs, frame.name
                ),
            }),
            Some(Err(why)) => note(
                "landxml::frame-not-understood",
                format!("the frame of {} is taken as the site's ({}): {why}", self.path, frame.name),
            ),
            None => note(
                "landxml::no-frame",
                format!("{} names no frame; its numbers are taken as {}", self.path, frame.name),
            ),
        }
    }

    /// The surface of this name, or the only one.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] with the names that are there.
    pub fn surface(&self, name: Option<&str>) -> Result<&Surface, ReadError> {
        pick(&self.surfaces, |surface| &surface.name, name, "surface", &self.path)
    }

    /// The alignment of this name, or the only one.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] with the names that are there.
    pub fn alignment(&self, name: Option<&str>) -> Result<&Alignment, ReadError> {
        pick(&self.alignments, |alignment| &alignment.name, name, "alignment", &self.path)
    }

    /// A surface of this file as a mesh, in the local frame of a site.
    ///
    /// # Errors
    /// [`ReadError::Fault`] with the line of a face without area or of one that lies over another, [`ReadError::Format`]
    /// when an edge has three faces, [`ReadError::Lacks`] when a point lies out of the local frame.
    pub fn tin(&self, surface: &Surface, frame: &SiteFrame) -> Result<Tin, ReadError> {
        let mut vertices = Vec::with_capacity(surface.points.len());
        for &[easting, northing, elevation] in &surface.points {
            let local = frame.from_grid_metres(easting, northing);
            let (x, y) = (snap(local.x), snap(local.y));
            if x.abs() > LIMIT || y.abs() > LIMIT {
                let why = format!("the point {easting}, {northing} lies more than 65 km from the site");
                return Err(ReadError::Lacks { path: self.path.clone(), why });
            }
            vertices.push(Point3::new(x, y, elevation));
        }
        let line_of = |face: usize| surface.lines.get(face).copied().unwrap_or_default();
        let fault = |face: usize, found: String, accepted: &str| ReadError::Fault {
            path: self.path.clone(),
            line: line_of(face),
            column: 0,
            found,
            accepted: accepted.to_owned(),
        };
        let tin =
            Tin::from_faces(vertices, surface.faces.clone(), surface.breaks.clone()).map_err(|why| match why {
                TinError::BadTriangle { triangle, .. } => {
                    fault(triangle, "a face whose three points stand on one line".to_owned(), "faces with an area")
                }
                other => ReadError::Format { path: self.path.clone(), format: FORMAT, why: other.to_string() },
            })?;
        match overlapping(&tin, ROUNDING) {
            None => Ok(tin),
            Some((first, other)) => {
                let found = format!("a face that lies over the one in line {}", line_of(first.0 as usize));
                Err(fault(other.0 as usize, found, "faces beside one another in plan"))
            }
        }
    }
}

impl Surface {
    /// An origin for its local frame.
    #[must_use]
    pub fn origin(&self) -> Point {
        self.points.first().map_or(Point::new(0.0, 0.0), |&[e, n, _]| SiteFrame::origin_near(e, n))
    }
}

impl Alignment {
    /// Its corners in the local frame of a site.
    #[must_use]
    pub fn local(&self, frame: &SiteFrame) -> Vec<Point> {
        self.places.iter().map(|&[e, n]| frame.from_grid_metres(e, n)).collect()
    }
}

fn pick<'a, T>(
    items: &'a [T],
    name_of: impl Fn(&T) -> &String,
    name: Option<&str>,
    what: &str,
    path: &str,
) -> Result<&'a T, ReadError> {
    let lacks = |why: String| ReadError::Lacks { path: path.to_owned(), why };
    let names = || items.iter().map(|item| name_of(item).as_str()).collect::<Vec<_>>().join(", ");
    match (name, items) {
        (_, []) => Err(lacks(format!("no {what} in it"))),
        (None, [only]) => Ok(only),
        (None, _) => Err(lacks(format!("{} {what}s in it, say which one: {}", items.len(), names()))),
        (Some(name), _) => items
            .iter()
            .find(|item| name_of(item) == name)
            .ok_or_else(|| lacks(format!("no {what} `{name}` in it, but {}", names()))),
    }
}

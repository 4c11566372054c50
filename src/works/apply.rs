//! Laying the parts of a strip on a surface, one after the other, and the outline of what they change.

use super::WorksError;
use super::strip::{Part, Profile, Row, Sense, parts};
use super::work::{Kind, Subject};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::ground::Ground;
use crate::surface::{ComposeError, Locator, Tin, TinError, dig, raise};
use geo::{Area, BooleanOps, Coord, InteriorPoint, LineString, MultiPolygon};

/// How often the sides of a part are made longer before the batter is said never to meet the ground.
const TRIES: usize = 5;

/// What a part belongs to, for messages.
#[derive(Debug, Clone, Copy)]
pub(super) struct Owner<'a> {
    pub kind: Kind,
    pub name: &'a str,
    pub part: &'static str,
    pub ground: &'a Ground,
}

/// A surface with something laid on it, and where it changed.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    pub tin: Tin,
    pub footprint: Vec<Polygon>,
    /// Greatest measured difference to the exact envelope, metres.
    pub largest_difference: f64,
}

/// Lays a strip on a surface: raises it to a roof, digs it to a bowl. `levels` are at the vertices of the axis.
pub(super) fn lay(
    surface: &Tin,
    axis: &Polyline,
    levels: &[f64],
    profile: &Profile,
    owner: Owner<'_>,
) -> Result<Laid, WorksError> {
    lay_rows(surface, axis, Row::alike(levels, profile), owner)
}

/// Lays a strip on a surface that may look different all along its axis: a row at each vertex of it.
pub(super) fn lay_rows(
    surface: &Tin,
    axis: &Polyline,
    mut rows: Vec<Row>,
    owner: Owner<'_>,
) -> Result<Laid, WorksError> {
    for _ in 0..TRIES {
        match lay_once(surface, axis, &rows) {
            Err(Failed::Compose(ComposeError::RoofTooShort { .. })) => {
                for row in &mut rows {
                    row.profile.height *= 1.6;
                }
            }
            Err(failed) => return Err(failed.told(owner)),
            Ok(laid) => return Ok(laid),
        }
    }
    lay_once(surface, axis, &rows).map_err(|failed| failed.told(owner))
}

fn lay_once(surface: &Tin, axis: &Polyline, rows: &[Row]) -> Result<Laid, Failed> {
    let mut tin: Option<Tin> = None;
    let mut footprint = Vec::new();
    let mut largest_difference = 0.0_f64;
    for Part { tin: part, seeds } in parts(axis, rows)? {
        let before = tin.as_ref().unwrap_or(surface);
        let composed = match rows[0].profile.sense {
            Sense::Roof => raise(before, &part, &seeds)?,
            Sense::Bowl => dig(before, &part, &seeds)?,
        };
        footprint.extend(composed.footprint);
        largest_difference = largest_difference.max(composed.largest_difference);
        tin = Some(composed.tin);
    }
    Ok(Laid { tin: tin.unwrap_or_else(|| surface.clone()), footprint, largest_difference })
}

/// Why a part could not be laid, before it is known whose it is.
pub(super) enum Failed {
    Compose(ComposeError),
    Shape(TinError),
}

impl From<ComposeError> for Failed {
    fn from(cause: ComposeError) -> Self {
        Self::Compose(cause)
    }
}

impl From<TinError> for Failed {
    fn from(cause: TinError) -> Self {
        Self::Shape(cause)
    }
}

impl Failed {
    pub(super) fn told(self, owner: Owner<'_>) -> WorksError {
        let works = Subject::new(owner.kind, owner.name);
        let part = owner.part;
        let place = |x, y| owner.ground.frame.to_frame(Point::new(x, y));
        match self {
            Self::Compose(ComposeError::LeavesSurvey { x, y } | ComposeError::NothingThere { x, y }) => {
                let (easting, northing) = place(x, y);
                let edge = owner.ground.edge_near(Point::new(x, y));
                WorksError::LeavesSurvey { works, part, edge, easting, northing }
            }
            Self::Compose(ComposeError::RoofTooShort { x, y }) => {
                let (easting, northing) = place(x, y);
                WorksError::NeverMeetsGround { works, part, easting, northing }
            }
            Self::Compose(cause) => WorksError::Compose { works, part, cause },
            Self::Shape(cause) => WorksError::Shape { works, part, cause },
        }
    }
}

/// Areas of overlap smaller than this are none, square metres: seams of a lattice step along a shared edge.
const TOUCHING: f64 = 0.01;

/// Polygons as one region.
fn region(polygons: &[Polygon]) -> MultiPolygon<f64> {
    let ring = |points: &[Point]| points.iter().map(|p| Coord { x: p.x, y: p.y }).collect::<LineString<f64>>();
    polygons.iter().fold(MultiPolygon::<f64>::new(Vec::new()), |all, polygon| {
        let polygon = geo::Polygon::new(ring(&polygon.outer), polygon.holes.iter().map(|hole| ring(hole)).collect());
        all.union(&polygon)
    })
}

/// A place in the largest overlap of two footprints; `None` where they do not overlap.
pub(super) fn overlap(one: &[Polygon], other: &[Polygon]) -> Option<Point> {
    if one.is_empty() || other.is_empty() {
        return None;
    }
    let shared = region(one).intersection(&region(other));
    let largest = shared.iter().max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()))?;
    let place = largest.interior_point()?;
    (largest.unsigned_area() > TOUCHING).then(|| Point::new(place.x(), place.y()))
}

/// The outline of many footprints together.
pub(super) fn outline(footprints: &[Polygon]) -> Vec<Polygon> {
    let all = region(footprints);
    let points = |ring: &LineString<f64>| {
        let mut points: Vec<Point> = ring.coords().map(|c| Point::new(c.x, c.y)).collect();
        points.pop();
        points
    };
    // Pieces of one work meet in seams a lattice step wide; what is left of them is no hole that one could dig.
    let real = |ring: &Vec<Point>| ring.len() >= 3 && crate::geom::area_of_ring(ring).abs() > 0.01;
    all.iter()
        .map(|polygon| Polygon {
            outer: points(polygon.exterior()),
            holes: polygon.interiors().iter().map(points).filter(real).collect(),
        })
        .filter(|polygon| real(&polygon.outer))
        .collect()
}

/// Outlines with the elevation of a surface along them.
pub(super) fn on_surface(polygon: &Polygon, surface: &Locator<'_>) -> Vec<Vec<Point3>> {
    std::iter::once(&polygon.outer)
        .chain(&polygon.holes)
        .map(|ring| {
            ring.iter().map(|&p| p.at(surface.elevation(p).unwrap_or(f64::NAN))).filter(|p| p.z.is_finite()).collect()
        })
        .collect()
}

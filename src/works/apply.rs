//! Laying the parts of a strip on a surface, one after the other, and the outline of what they change.

use super::WorksError;
use super::strip::{Part, Profile, Sense, parts};
use crate::frame::SiteFrame;
use crate::geom::{Point, Polygon, Polyline};
use crate::surface::{ComposeError, Tin, TinError, dig, raise};
use geo::{BooleanOps, Coord, LineString, MultiPolygon};

/// How often the sides of a part are made longer before the batter is said never to meet the ground.
const TRIES: usize = 5;

/// What a part belongs to, for messages.
#[derive(Debug, Clone, Copy)]
pub(super) struct Owner<'a> {
    pub swale: &'a str,
    pub part: &'static str,
    pub frame: &'a SiteFrame,
}

/// A surface with something laid on it, and where it changed.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    pub tin: Tin,
    pub footprint: Vec<Polygon>,
}

/// Lays a strip on a surface: raises it to a roof, digs it to a bowl. `levels` are at the vertices of the axis.
pub(super) fn lay(
    surface: &Tin,
    axis: &Polyline,
    levels: &[f64],
    profile: &Profile,
    owner: Owner<'_>,
) -> Result<Laid, WorksError> {
    let mut profile = *profile;
    for _ in 0..TRIES {
        match lay_once(surface, axis, levels, &profile) {
            Err(Failed::Compose(ComposeError::RoofTooShort { .. })) => profile.height *= 1.6,
            Err(failed) => return Err(failed.told(owner)),
            Ok(laid) => return Ok(laid),
        }
    }
    lay_once(surface, axis, levels, &profile).map_err(|failed| failed.told(owner))
}

fn lay_once(surface: &Tin, axis: &Polyline, levels: &[f64], profile: &Profile) -> Result<Laid, Failed> {
    let mut tin: Option<Tin> = None;
    let mut footprint = Vec::new();
    for Part { tin: part, seeds } in parts(axis, levels, profile)? {
        let before = tin.as_ref().unwrap_or(surface);
        let composed = match profile.sense {
            Sense::Roof => raise(before, &part, &seeds)?,
            Sense::Bowl => dig(before, &part, &seeds)?,
        };
        footprint.extend(composed.footprint);
        tin = Some(composed.tin);
    }
    Ok(Laid { tin: tin.unwrap_or_else(|| surface.clone()), footprint })
}

enum Failed {
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
    fn told(self, owner: Owner<'_>) -> WorksError {
        let swale = owner.swale.to_owned();
        let part = owner.part;
        let place = |x, y| owner.frame.to_frame(Point::new(x, y));
        match self {
            Self::Compose(ComposeError::LeavesSurvey { x, y } | ComposeError::NothingThere { x, y }) => {
                let (easting, northing) = place(x, y);
                WorksError::LeavesSurvey { swale, part, easting, northing }
            }
            Self::Compose(ComposeError::RoofTooShort { x, y }) => {
                let (easting, northing) = place(x, y);
                WorksError::NeverMeetsGround { swale, part, easting, northing }
            }
            Self::Compose(cause) => WorksError::Compose { swale, part, cause },
            Self::Shape(cause) => WorksError::Shape { swale, part, cause },
        }
    }
}

/// The outline of many footprints together.
pub(super) fn outline(footprints: &[Polygon]) -> Vec<Polygon> {
    let ring = |points: &[Point]| points.iter().map(|p| Coord { x: p.x, y: p.y }).collect::<LineString<f64>>();
    let all = footprints.iter().fold(MultiPolygon::<f64>::new(Vec::new()), |all, polygon| {
        let polygon = geo::Polygon::new(ring(&polygon.outer), polygon.holes.iter().map(|hole| ring(hole)).collect());
        all.union(&polygon)
    });
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

//! Unstable ground as it is marked, what it means that a work comes near, and how far apart shapes in plan are.

use crate::geom::{Point, Polygon, Polyline, segments_cross};
use crate::ground::Ground;
use crate::units::{Length, Station};
use geo::{Closest, ClosestPoint};

/// Chords of a round area as it is drawn and written.
const CHORDS: u32 = 48;

/// Ground that is not to be trusted.
#[derive(Debug, Clone, PartialEq)]
pub struct UnstableGround {
    /// Its name, unique among the site's.
    pub name: String,
    /// What is wrong with it.
    pub kind: Unstable,
    /// Where it lies.
    pub area: UnstableArea,
    /// What comes nearer than this is told.
    pub clearance: Length,
}

/// What is wrong with the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unstable {
    /// It slid, or creeps.
    Slip,
    /// Water comes out of it.
    Spring,
    /// It is soft.
    Soft,
    /// It was tipped or filled by somebody.
    Filled,
}

/// Where unstable ground lies.
#[derive(Debug, Clone, PartialEq)]
pub enum UnstableArea {
    /// So far round a place.
    Round(Point, Length),
    /// Within outlines.
    Outlines(Vec<Polygon>),
}

/// What of a work comes near to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Approach {
    /// What it digs.
    Dig,
    /// What it fills.
    Fill,
    /// Its water when it stands full.
    Water,
    /// The water that leaves its sill.
    Outflow,
    /// The water that leaves its lower end.
    End,
}

/// A part of a work that comes near to unstable ground.
#[derive(Debug, Clone, PartialEq)]
pub struct NearUnstable {
    /// The work's name.
    pub works: String,
    /// The ground's name.
    pub ground: String,
    /// What is wrong with it.
    pub kind: Unstable,
    /// What of the work comes near.
    pub by: Approach,
    /// How near; nothing where it lies on it.
    pub away: Length,
    /// The place of the work that is nearest.
    pub place: Point,
    /// Where along the work's line that is.
    pub station: Station,
}

impl Unstable {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Slip, Self::Spring, Self::Soft, Self::Filled];

    /// Its word, as the pipeline file has it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Slip => "slip",
            Self::Spring => "spring",
            Self::Soft => "soft",
            Self::Filled => "filled",
        }
    }

    /// Its words in a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Slip => "slip",
            Self::Spring => "spring",
            Self::Soft => "soft ground",
            Self::Filled => "filled ground",
        }
    }

    /// What it means that a part of a work comes near.
    #[must_use]
    pub const fn means(self, by: Approach) -> &'static str {
        match (self, by) {
            (Self::Slip, Approach::Dig) => "a dig can take away what holds a slip up",
            (Self::Slip, Approach::Fill) => "fill loads a slip",
            (Self::Slip, Approach::Water) => "water that stands and soaks in above or beside a slip can set it moving",
            (Self::Slip, Approach::Outflow | Approach::End) => {
                "water is led onto a slip or past it and can set it moving"
            }
            (Self::Spring, Approach::Dig) => "the dig can run with water, and its sides then do not stand",
            (Self::Spring, Approach::Fill) => "a wall or berm over a spring is lifted and washed out from below",
            (Self::Spring, Approach::Water) => {
                "water that stands over a spring can find its way out through it, or stop it"
            }
            (Self::Spring, Approach::Outflow | Approach::End) => {
                "the way out runs over wet ground, which washes easily"
            }
            (Self::Soft, Approach::Dig) => "sides in soft ground slump, and the machine can sink",
            (Self::Soft, Approach::Fill) => "fill on soft ground sinks and spreads, and its crest with it",
            (Self::Soft, Approach::Water) => "standing water makes soft ground softer",
            (Self::Soft, Approach::Outflow | Approach::End) => "running water washes soft ground out",
            (Self::Filled, Approach::Dig) => {
                "what was tipped there is not known until dug: stop at rubbish, drums or pipes"
            }
            (Self::Filled, Approach::Fill) => "old fill settles unevenly under new fill",
            (Self::Filled, Approach::Water) => "old fill leaks, and settles when it is wetted",
            (Self::Filled, Approach::Outflow | Approach::End) => "running water washes old fill out",
        }
    }
}

impl Approach {
    /// Its words in a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Dig => "dig",
            Self::Fill => "fill",
            Self::Water => "water",
            Self::Outflow => "water from its sill",
            Self::End => "water from its lower end",
        }
    }
}

impl UnstableArea {
    /// True where no part of it lies on surveyed ground: no ground under its rim, and no shot inside it.
    #[must_use]
    pub fn misses(&self, ground: &Ground) -> bool {
        let locator = ground.locator();
        let on_ground = |place: &Point| locator.elevation(*place).is_some();
        !self.outlines().iter().any(|outline| {
            let rim = Polyline::new(outline.outer.iter().chain(outline.outer.first()).copied().collect());
            let crosses = rim.is_some_and(|rim| rim.resampled(1.0).points().iter().any(on_ground));
            crosses || ground.tin.vertices().iter().any(|vertex| outline.contains(vertex.plan()))
        })
    }

    /// Its outlines; of a round one chords.
    #[must_use]
    pub fn outlines(&self) -> Vec<Polygon> {
        match self {
            Self::Outlines(outlines) => outlines.clone(),
            Self::Round(middle, radius) => {
                let at = |k: u32| {
                    let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / f64::from(CHORDS)).sin_cos();
                    Point::new(middle.x + radius.in_metres() * cos, middle.y + radius.in_metres() * sin)
                };
                vec![Polygon::simple((0..CHORDS).map(at).collect())]
            }
        }
    }

    /// How near an area or a line comes, and its place there; zero where they meet.
    pub(super) fn nearest(&self, shape: &Shape<'_>) -> Option<(f64, Point)> {
        match self {
            Self::Round(middle, radius) => {
                let place = shape.closest(*middle)?;
                Some(((place.distance(*middle) - radius.in_metres()).max(0.0), place))
            }
            Self::Outlines(outlines) => {
                let near = outlines.iter().filter_map(|outline| between(shape, outline));
                near.min_by(|a, b| a.0.total_cmp(&b.0))
            }
        }
    }
}

/// A part of a work in plan.
pub(super) enum Shape<'a> {
    Area(&'a [Point]),
    Line(&'a [Point]),
}

impl Shape<'_> {
    const fn points(&self) -> &[Point] {
        match self {
            Self::Area(points) | Self::Line(points) => points,
        }
    }

    fn edges(&self) -> impl Iterator<Item = (Point, Point)> {
        let points = self.points();
        let closing = match self {
            Self::Area(ring) => ring.last().copied().zip(ring.first().copied()),
            Self::Line(_) => None,
        };
        points.windows(2).map(|pair| (pair[0], pair[1])).chain(closing)
    }

    /// Its place nearest to another.
    fn closest(&self, place: Point) -> Option<Point> {
        let coordinates =
            |points: &[Point]| geo::LineString::from(points.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>());
        let asked = geo::Point::new(place.x, place.y);
        let found = match self {
            Self::Area(ring) => geo::Polygon::new(coordinates(ring), Vec::new()).closest_point(&asked),
            Self::Line(line) => coordinates(line).closest_point(&asked),
        };
        match found {
            Closest::SinglePoint(near) | Closest::Intersection(near) => Some(Point::new(near.x(), near.y())),
            Closest::Indeterminate => None,
        }
    }
}

/// Between two shapes that do not meet the shortest way begins or ends at a corner of one of them.
fn between(shape: &Shape<'_>, outline: &Polygon) -> Option<(f64, Point)> {
    let other = Shape::Area(&outline.outer);
    let met = shape.edges().find(|a| other.edges().any(|b| segments_cross(a.0, a.1, b.0, b.1)));
    if let Some((from, to)) = met {
        return Some((0.0, from.towards(to, 0.5)));
    }
    let own = shape.points().iter().filter_map(|&p| Some((p.distance(other.closest(p)?), p)));
    let others = outline.outer.iter().filter_map(|&p| {
        let place = shape.closest(p)?;
        Some((place.distance(p), place))
    });
    own.chain(others).min_by(|a, b| a.0.total_cmp(&b.0))
}

/// What no output of a work that has words may leave out of one unstable ground that it comes near to.
pub(in crate::works) fn caution(parts: &[NearUnstable]) -> String {
    let one = |near: &NearUnstable| match near.away.in_metres() {
        away if away > 0.0 => format!("{} {away:.1} m away", near.by.words()),
        _ => format!("{} ON IT", near.by.words()),
    };
    let named = parts.first().map_or_else(String::new, |near| format!("{} {}", near.kind.words(), near.ground));
    format!("UNSTABLE GROUND: {named}: {}", parts.iter().map(one).collect::<Vec<_>>().join(", "))
}

//! Ponds and borrow pits: dug to a level floor of any outline, for the water that they hold or the earth that they yield.
//!
//! A pond stands full a freeboard below the lowest place of its rim: the lowest way out over the designed surface. A borrow
//! pit is dug for its earth; what it would hold is told too, since a hole fills. The floor is said, or solved so that the
//! pit holds or yields what is asked for, by exact volumes between the surfaces.

mod beside;
#[cfg(test)]
mod beside_tests;
mod bowl;
mod design;
mod shape;
mod spillway;
#[cfg(test)]
mod spillway_tests;
#[cfg(test)]
pub(super) mod tests;

pub use beside::{Beside, Placed};
pub(super) use design::design;

use super::plan::{Spillway, Storage};
use super::wanted::SpillwayWanted;
use super::work::{Kind, Pooled, Shared, WorkLine};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::soil::{Placement, Soil};
use crate::units::{Batter, Elevation, Length, Station, Volume};

/// A pond or borrow pit as asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct PitWanted {
    /// Its name, unique on the site.
    pub name: String,
    /// For water, or for earth.
    pub purpose: Purpose,
    /// Outline of the floor; side `k` runs from corner `k` to the next. Not looked at where it is to be placed.
    pub floor: Vec<Point>,
    /// The program places the floor beside an earlier work, where the haul is shortest; `None` where `floor` says it.
    pub beside: Option<Beside>,
    /// One batter for all sides, or one for each in the order of the corners.
    pub batters: Vec<Batter>,
    /// How deep.
    pub depth: PitDepth,
    /// Where a pond's water stands.
    pub water: PitWater,
    /// A way down for stock and people.
    pub ramp: Option<RampWanted>,
    /// A level step round the sides, under water.
    pub shelf: Option<ShelfWanted>,
    /// An earlier work whose fill it may be dug through.
    pub through: Option<String>,
    /// The spillway of a pond; `None` lets it run over the lowest place of its rim.
    pub spillway: Option<SpillwayWanted>,
    /// Depth of topsoil stripped first.
    pub topsoil: Length,
    /// The soil under the topsoil.
    pub soil: Soil,
    /// How fill is put down where its earth goes.
    pub placement: Placement,
}

/// What a pit is dug for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A pond, for its water.
    Pond,
    /// A borrow pit, for its earth.
    Borrow,
}

/// Where the floor lies.
#[derive(Debug, Clone, PartialEq)]
pub enum PitDepth {
    /// At this elevation.
    Floor(Elevation),
    /// Below the lowest ground under the floor's outline.
    Below(Length),
    /// So deep that it holds this much water.
    ToHold(Volume),
    /// So deep that it yields this much earth under the topsoil, in the bank.
    ToYield(Volume),
    /// So deep that it yields what an earlier work is short of.
    FillOf(String),
}

/// Where the water of a pit stands when it is full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PitWater {
    /// Below the lowest place of the rim.
    Freeboard(Length),
    /// At this elevation.
    Level(Elevation),
}

/// A ramp through one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RampWanted {
    /// Which side, from zero.
    pub side: usize,
    /// Its slope along.
    pub slope: Batter,
    /// Its width.
    pub width: Length,
}

/// A level step round the sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShelfWanted {
    /// Depth under the water level.
    pub below_water: Length,
    /// Its width.
    pub width: Length,
}

#[cfg(test)]
impl PitWanted {
    /// A pit of tests: one batter all round, no freeboard, no topsoil, nothing in its sides.
    pub(crate) fn usual(name: &str, purpose: Purpose, floor: &[(f64, f64)], batter: f64, depth: PitDepth) -> Self {
        Self {
            name: name.to_owned(),
            purpose,
            floor: floor.iter().map(|&(x, y)| Point::new(x, y)).collect(),
            beside: None,
            batters: vec![Batter::horizontal_per_vertical(batter)],
            depth,
            water: PitWater::Freeboard(Length::ZERO),
            ramp: None,
            shelf: None,
            through: None,
            spillway: None,
            topsoil: Length::ZERO,
            soil: Soil::of_tests(),
            placement: Placement::LayeredRolled,
        }
    }
}

/// A pond or borrow pit as designed.
#[derive(Debug, Clone, PartialEq)]
pub struct Pit {
    /// What was asked for.
    pub wanted: PitWanted,
    /// The floor's outline, anticlockwise.
    pub floor: Polygon,
    /// Batter of each side of the floor.
    pub batters: Vec<Batter>,
    /// The floor.
    pub floor_level: Elevation,
    /// Lowest ground under the floor's outline above the floor.
    pub depth: Length,
    /// The elevation at which it stands full.
    pub water_level: Elevation,
    /// The rim, with the pit on its right so that offsets to the left lie outside.
    pub rim: Polyline,
    /// The ramp.
    pub ramp: Option<Ramp>,
    /// Elevation of the shelf.
    pub shelf: Option<Elevation>,
    /// What it holds.
    pub storage: Storage,
    /// How its place compares, where the program chose it.
    pub placed: Option<Placed>,
    /// The lowest way out but for its spillway, which is the lowest place of its rim, and where.
    pub low_rim: (Elevation, Point),
    /// Its spillway, or nothing.
    pub spillways: Vec<Spillway>,
    /// Places on the floor.
    pub seeds: Vec<Point>,
    /// Greatest height of a cut face, and where along the rim.
    pub deepest_face: (Length, Station),
    /// Outline of the dig.
    pub cut_footprint: Vec<Polygon>,
    /// Closed lines where it meets the ground.
    pub daylight: Vec<Vec<Point3>>,
    /// Greatest measured difference between its surface and the exact envelope of bowl and ground, metres.
    pub largest_difference: f64,
}

/// A ramp as designed.
#[derive(Debug, Clone, PartialEq)]
pub struct Ramp {
    /// Its middle, from the floor to the ground.
    pub axis: Polyline,
    /// Its slope along.
    pub slope: Batter,
    /// Its width.
    pub width: Length,
}

impl PitWanted {
    /// The work for whose fill it is dug.
    #[must_use]
    pub fn yields_for(&self) -> Option<&str> {
        match &self.depth {
            PitDepth::FillOf(name) => Some(name),
            _ => None,
        }
    }

    /// Pond or borrow pit.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self.purpose {
            Purpose::Pond => Kind::Pond,
            Purpose::Borrow => Kind::Borrow,
        }
    }
}

impl Pit {
    pub(super) fn shared(&self) -> Shared<'_> {
        Shared {
            kind: self.wanted.kind(),
            name: &self.wanted.name,
            line: &self.rim,
            cut_footprint: &self.cut_footprint,
            fill_footprint: &[],
            daylight: &self.daylight,
            deepest_face: self.deepest_face,
            topsoil: self.wanted.topsoil,
            soil: &self.wanted.soil,
            placement: self.wanted.placement,
            key: Volume::ZERO,
            pool: Some(Pooled {
                water_level: self.water_level,
                bottom: self.floor_level,
                seeds: &self.seeds,
                storage: &self.storage,
            }),
            zero: self.water_level,
            spillways: &self.spillways,
            below: None,
        }
    }

    pub(super) fn lines(&self) -> Vec<WorkLine> {
        let closed: Vec<Point> = self.floor.outer.iter().chain(self.floor.outer.first()).copied().collect();
        let mut lines = vec![WorkLine::level("floor", &closed, self.floor_level)];
        if let Some(ramp) = &self.ramp {
            let rise = |station: f64| station / ramp.slope.in_horizontal_per_vertical();
            let points = ramp.axis.points().iter().zip(ramp.axis.stations());
            lines.push(WorkLine {
                part: "ramp",
                points: points.map(|(p, &s)| p.at(self.floor_level.in_metres() + rise(s))).collect(),
            });
        }
        lines.extend(self.spillways.iter().flat_map(WorkLine::of_spillway));
        lines
    }
}

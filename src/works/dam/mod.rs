//! Dams: a wall across a gully with the water behind it.
//!
//! The crest stands at full supply + flood rise + wave + freeboard when it has settled, and is built higher by a share of its
//! local height, so that it settles level. Its axis is carried on straight at both ends until natural ground stands at
//! the settled crest: there the wall is tied into the abutments. Storage and freeboard are those of the settled wall, stakes
//! and checks on the day those of the built one.

mod design;
mod spillway;
#[cfg(test)]
pub(crate) mod spillway_tests;
#[cfg(test)]
pub(crate) mod tests;
mod ways_out;
#[cfg(test)]
mod ways_out_tests;

pub use design::settled;
pub(super) use design::{design, measure_again};
pub use ways_out::WayOut;

use super::plan::{CrestLevels, Spillway, Storage};
use super::wanted::{SpillwayWanted, WaterLevel};
use super::work::{Kind, Pooled, Shared, WorkLine};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::soil::{Placement, Soil};
use crate::units::{Batter, Elevation, Length, Station, Volume};

/// A dam as asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct DamWanted {
    /// Its name, unique on the site.
    pub name: String,
    /// The middle of its crest, as far as it is said; it is carried on straight to the abutments.
    pub axis: Vec<Point>,
    /// Full supply: where the water stands when it is full.
    pub full_supply: WaterLevel,
    /// Rise above that in the design flood; `None` takes the head of its spillway.
    pub flood_rise: Option<Length>,
    /// Height of waves above that.
    pub wave: Length,
    /// Crest above all of that when it has settled.
    pub freeboard: Length,
    /// Width of the crest; `None` takes the published width for its height.
    pub crest_width: Option<Length>,
    /// Batter of the water side.
    pub upstream: Batter,
    /// Batter of the dry side.
    pub downstream: Batter,
    /// The cutoff trench under it.
    pub key: Option<KeyWanted>,
    /// Depth of topsoil stripped from its seat.
    pub topsoil: Length,
    /// The soil of wall and seat.
    pub soil: Soil,
    /// How its fill is put down.
    pub placement: Placement,
    /// Share of its settled height that the fill loses.
    pub settlement: f64,
    /// Its spillway; `None` leaves it without one, which every output says.
    pub spillway: Option<SpillwayWanted>,
}

/// A cutoff trench along the axis, up both abutments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeyWanted {
    /// Width of its bottom.
    pub width: Length,
    /// Depth below the stripped seat.
    pub depth: Length,
    /// Batter of its sides.
    pub batter: Batter,
}

/// A dam as designed.
#[derive(Debug, Clone, PartialEq)]
pub struct Dam {
    /// What was asked for.
    pub wanted: DamWanted,
    /// The middle of the crest from abutment to abutment, the water on its left.
    pub line: Polyline,
    /// Level to build to at each place of the line.
    pub built: Vec<f64>,
    /// Natural ground at each place of the line.
    pub natural: Vec<f64>,
    /// The lines of the crest; settlement and built level are those at the highest place of the wall. Head is flood rise
    /// and wave.
    pub crest: CrestLevels,
    /// Rise above full supply that the crest counts on in the design flood.
    pub flood_rise: Length,
    /// Width of the crest.
    pub crest_width: Length,
    /// Settled crest above the lowest ground on the line, and where.
    pub height: (Length, Station),
    /// How far the line was carried on beyond what was asked for, at its two ends.
    pub carried_on: [Length; 2],
    /// Feet of the wall on the water side and the dry side, at the line's places where it stands on ground.
    pub toes: [Vec<Point>; 2],
    /// Dug for the cutoff, in the bank.
    pub key: Volume,
    /// What stands behind it when it has settled.
    pub storage: Storage,
    /// Closed shore lines of the full reservoir.
    pub shore: Vec<Vec<Point>>,
    /// Places under the water, at its foot.
    pub seeds: Vec<Point>,
    /// Lowest ground under the water.
    pub bottom: f64,
    /// Its spillway, or nothing.
    pub spillways: Vec<Spillway>,
    /// Outline of the spillway's cut.
    pub cut_footprint: Vec<Polygon>,
    /// Greatest height of a cut face, the cutoff's or the spillway's.
    pub deepest_face: (Length, Station),
    /// Outline of the wall.
    pub fill_footprint: Vec<Polygon>,
    /// Closed lines where it meets the ground.
    pub daylight: Vec<Vec<Point3>>,
    /// Greatest measured difference between its surface and the exact envelope of roof and ground, metres.
    pub largest_difference: f64,
    /// Where water leaves beside its spillway before its settled crest is reached, the lowest first.
    pub ways_out: Vec<WayOut>,
    /// Limits of published small-dam practice that it passes, in words.
    pub beyond: Vec<String>,
}

impl Dam {
    /// Where the water stands in the design flood, waves left out.
    #[must_use]
    pub fn flood_level(&self) -> Elevation {
        self.crest.water_level + self.flood_rise
    }

    /// What no output that has words may leave out, each with its capitals.
    #[must_use]
    pub fn cautions(&self) -> Vec<String> {
        let mut says = Vec::new();
        if self.spillways.is_empty() {
            says.push("NO SPILLWAY".to_owned());
        }
        if let Some(way) = self.ways_out.first() {
            says.push(format!(
                "ANOTHER WAY OUT at {:.3} m, {:.2} m below the crest",
                way.level.in_metres(),
                (self.crest.settled_required() - way.level).in_metres()
            ));
        }
        if !self.beyond.is_empty() {
            says.push("BEYOND FARM PRACTICE: an engineer's own design only".to_owned());
        }
        says
    }

    /// The level to build to at a station of its line.
    #[must_use]
    pub fn built_at(&self, station: f64) -> f64 {
        self.line.interpolated(&self.built, station)
    }

    pub(super) fn shared(&self) -> Shared<'_> {
        Shared {
            kind: Kind::Dam,
            name: &self.wanted.name,
            line: &self.line,
            cut_footprint: &self.cut_footprint,
            fill_footprint: &self.fill_footprint,
            daylight: &self.daylight,
            deepest_face: self.deepest_face,
            topsoil: self.wanted.topsoil,
            soil: &self.wanted.soil,
            placement: self.wanted.placement,
            key: self.key,
            pool: Some(Pooled {
                water_level: self.crest.water_level,
                bottom: Elevation::metres(self.bottom),
                seeds: &self.seeds,
                storage: &self.storage,
            }),
            zero: self.crest.water_level,
            spillways: &self.spillways,
            below: None,
        }
    }

    pub(super) fn lines(&self) -> Vec<WorkLine> {
        let crest = self.line.points().iter().zip(&self.built).map(|(p, &z)| p.at(z)).collect();
        let mut lines = vec![WorkLine { part: "crest", points: crest }];
        for ring in &self.shore {
            let closed: Vec<Point> = ring.iter().chain(ring.first()).copied().collect();
            lines.push(WorkLine::level("full-supply", &closed, self.crest.water_level));
        }
        lines.extend(self.spillways.iter().flat_map(WorkLine::of_spillway));
        lines
    }
}

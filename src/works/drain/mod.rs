//! Diversion drains: a channel dug along a line of constant fall, with or without a berm of its earth on the downhill side.
//!
//! Invariant: at every station the bed lies one depth below the even fall of its line, so that it falls as the line does; what
//! a drain carries is reckoned in the cut alone, below natural ground at its downhill lip, and the berm is no part of that.

mod alarm;
mod carry;
mod design;
mod ending;
mod tell;
#[cfg(test)]
pub(crate) mod tests;

pub(super) use design::design;

pub use super::channel::{ChannelWanted, DrainBerm, FlowWanted, Solved};
pub use alarm::Alarm;

use super::fall_line::FallLine;
use super::sizes::Sizes;
use super::work::{Kind, Shared, Subject, WorkLine};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::surface::Catchment;
use crate::units::{Elevation, Fall, Flow, Length, Station, Volume};
use crate::water::channel::{Across, Run};
use crate::water::rational::Storm;

/// A drain as designed. Offsets are from its line, positive uphill, whichever side of the line that is.
#[derive(Debug, Clone, PartialEq)]
pub struct Drain {
    /// The line that it follows.
    pub line: FallLine,
    /// What was asked for.
    pub wanted: ChannelWanted,
    /// True where uphill lies on the left of the line as it falls.
    pub uphill_on_left: bool,
    /// What it measures across.
    pub sizes: Sizes,
    /// Mean fall of natural ground across the line, positive rising uphill.
    pub cross_fall: Fall,
    /// Greatest fall of natural ground across the line, over 10 m of it, and where.
    pub steepest: (Fall, Station),
    /// The channel across on that fall, from its uphill edge to its downhill lip: offset, and height over the line, metres.
    pub outline: Vec<Point>,
    /// Offset of the downhill lip.
    pub lip_offset: Length,
    /// Offset of the middle of the bed.
    pub bed_offset: Length,
    /// Offset of the uphill edge of the cut.
    pub top_offset: Length,
    /// Stations of the line between which there is bed.
    pub bed: (Station, Station),
    /// Middle of the bed.
    pub bed_axis: Polyline,
    /// The bed at each place of it, metres.
    pub bed_levels: Vec<f64>,
    /// Its berm.
    pub berm: Option<BermBuilt>,
    /// The cut that lets the water out of its lower end.
    pub run_out: Option<RunOut>,
    /// Where its water goes.
    pub ending: Ending,
    /// The way that its water takes over natural ground below its end, up to 30 m of it.
    pub below: Option<Polyline>,
    /// The earlier works that its bed runs through.
    pub through: Vec<Through>,
    /// Stations between which natural ground rises to the side that is downhill along most of it.
    pub turned_about: Option<(Station, Station)>,
    /// Stations at which it crosses breaklines to which the ground falls from both sides, where water runs already.
    pub folds: Vec<Station>,
    /// What it carries.
    pub carries: Carries,
    /// Surveyed ground that drains to its line.
    pub catchment: Catchment,
    /// Natural ground at the downhill lip over the bed where it is least, and where: what holds the water there.
    pub shallowest: (Length, Station),
    /// Greatest height of a cut face, and where.
    pub deepest_face: (Length, Station),
    /// Outline of everything dug.
    pub cut_footprint: Vec<Polygon>,
    /// Outline of everything filled.
    pub fill_footprint: Vec<Polygon>,
    /// Closed lines where it meets the ground.
    pub daylight: Vec<Vec<Point3>>,
    /// Greatest measured difference between its surface and the exact envelope of its parts and the ground, metres.
    pub largest_difference: f64,
}

/// The berm of a drain as designed; its crest falls with the line.
#[derive(Debug, Clone, PartialEq)]
pub struct BermBuilt {
    /// Middle of its crest.
    pub axis: Polyline,
    /// The crest to build to at each place of it, metres.
    pub levels: Vec<f64>,
    /// The crest to build to above the line.
    pub built: Length,
    /// The same when it has settled.
    pub settled: Length,
    /// Offset of the middle of its crest on the mean cross fall.
    pub crest_offset: Length,
    /// Offset of its downhill toe there.
    pub toe_offset: Length,
}

/// The cut from the lower end of the bed down the slope until natural ground lies at its floor.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOut {
    /// Middle of its floor, the way the water runs.
    pub axis: Polyline,
    /// The floor at each place of it, metres.
    pub levels: Vec<f64>,
    /// Width of its floor.
    pub width: Length,
}

/// An earlier work that the bed of a drain runs through, so that their water is one there.
#[derive(Debug, Clone, PartialEq)]
pub struct Through {
    /// Its kind and name.
    pub works: Subject,
    /// First station of the line in its dig or fill.
    pub first: Station,
    /// The last one.
    pub last: Station,
}

/// Where the water of a drain goes.
#[derive(Debug, Clone, PartialEq)]
pub enum Ending {
    /// Over natural ground, with the fall of that below the end and how the flow runs on it as wide as the floor.
    Ground {
        /// Where it leaves the dig.
        at: Point,
        /// Natural fall there.
        fall: Fall,
        /// How the flow runs on it.
        run: Option<Run>,
    },
    /// Over natural ground that ends before its fall can be told: nobody knows where the water goes on from there.
    Edge {
        /// Where it leaves the dig.
        at: Point,
        /// How far the way down from there is known.
        known: Length,
        /// What comes then, in words: the edge of the survey, or a hole in the ground.
        edge: String,
    },
    /// Into the dig or the water of an earlier work.
    Into {
        /// The work.
        works: String,
        /// How far its full water stands over the end of the bed; below zero where it stands lower. `None` where it holds none.
        stands: Option<Length>,
        /// How far the end of the bed lies below what is dug there already.
        below: Length,
        /// How far its water drops to the lowest place of that work while it is empty; none where it holds none.
        drop: Length,
    },
    /// Nowhere: the bed still lies so far below the ground where it ends.
    Hole {
        /// How far.
        below: Length,
        /// The edge of the survey comes first; else no way down was found that is short enough.
        at_rim: bool,
    },
}

/// What a drain carries by Manning's formula, on its own fall.
#[derive(Debug, Clone, PartialEq)]
pub struct Carries {
    /// Its wetted section.
    pub section: Across,
    /// Natural ground at the downhill lip over the bed, on the mean cross fall.
    pub bank: Length,
    /// What it carries with its freeboard kept, where its cover is roughest.
    pub capacity: Flow,
    /// What it is asked to carry.
    pub flow: Option<Flow>,
    /// The storm that the flow is of.
    pub storm: Option<Storm>,
    /// How that flow, or its capacity where none is asked, runs in it.
    pub run: Option<Run>,
    /// How it runs while nothing grows in it yet; `None` where it stays bare.
    pub bare: Option<Run>,
}

impl Carries {
    /// The flow that [`Carries::run`] is of.
    #[must_use]
    pub fn runs(&self) -> Flow {
        self.flow.unwrap_or(self.capacity)
    }

    /// Whether it carries what is asked of it; `None` where nothing is.
    #[must_use]
    pub fn enough(&self) -> Option<bool> {
        // What is solved for is met to the last bit or nearly.
        self.flow.map(|flow| flow.in_cubic_metres_per_second() <= self.capacity.in_cubic_metres_per_second() + 1e-9)
    }

    /// Whether the water runs faster than its cover bears.
    #[must_use]
    pub fn scours(&self) -> bool {
        self.run.is_some_and(Run::too_fast)
    }
}

impl Drain {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.line.wanted.name
    }

    /// One to the left for an offset uphill.
    #[must_use]
    pub const fn left(&self) -> f64 {
        if self.uphill_on_left { 1.0 } else { -1.0 }
    }

    /// The place at an offset uphill of the line.
    #[must_use]
    pub fn place(&self, station: f64, uphill: f64) -> Point {
        self.line.line.at_offset(station, self.left() * uphill)
    }

    /// The bed at a station of its line.
    #[must_use]
    pub fn bed_at(&self, station: f64) -> Elevation {
        Elevation::metres(self.line.elevation(station)) - self.sizes.depth
    }

    /// Width of the level bed; none of a triangle or a parabola.
    #[must_use]
    pub const fn bottom_width(&self) -> Length {
        self.sizes.bed_width(&self.wanted.shape)
    }

    /// The crest to build to at the nearest place of its middle.
    #[must_use]
    pub fn crest_at(&self, place: Point) -> Option<Elevation> {
        let berm = self.berm.as_ref()?;
        Some(Elevation::metres(berm.axis.interpolated(&berm.levels, berm.axis.foot(place).station)))
    }

    pub(super) fn shared(&self) -> Shared<'_> {
        Shared {
            kind: Kind::Drain,
            name: self.name(),
            line: &self.line.line,
            cut_footprint: &self.cut_footprint,
            fill_footprint: &self.fill_footprint,
            daylight: &self.daylight,
            deepest_face: self.deepest_face,
            topsoil: self.wanted.topsoil,
            soil: &self.wanted.soil,
            placement: self.wanted.placement,
            key: Volume::ZERO,
            pool: None,
            zero: self.bed_at(self.bed.0.in_metres()),
            spillways: &[],
            below: self.below.as_ref(),
        }
    }

    pub(super) fn lines(&self) -> Vec<WorkLine> {
        let with = |part, axis: &Polyline, levels: &[f64]| WorkLine {
            part,
            points: axis.points().iter().zip(levels).map(|(p, &z)| p.at(z)).collect(),
        };
        let line = &self.line.line;
        let fallen: Vec<f64> = line.stations().iter().map(|&station| self.line.elevation(station)).collect();
        let mut lines = vec![with("line", line, &fallen), with("bed", &self.bed_axis, &self.bed_levels)];
        lines.extend(self.run_out.iter().map(|out| with("run-out", &out.axis, &out.levels)));
        lines.extend(self.berm.iter().map(|berm| with("crest", &berm.axis, &berm.levels)));
        lines
    }
}

//! What was designed: swales with their spillways.

use super::wanted::{CrossingWanted, LineEdge, LineEnd, SwaleWanted};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::stats::{NORMAL_95, Verdict};
use crate::units::{Area, Batter, Elevation, Fall, Flow, Length, Station, Volume};
use crate::water::channel::{Cover, Run};
use crate::water::rational::Storm;

/// A swale as designed. Offsets are from [`Swale::line`], positive uphill (to the left of the line).
#[derive(Debug, Clone, PartialEq)]
pub struct Swale {
    /// What was asked for.
    pub wanted: SwaleWanted,
    /// The elevation at which it stands full.
    pub water_level: Elevation,
    /// The contour line that it follows, faired, uphill on its left.
    pub line: Polyline,
    /// How far each station of the line is off the water level.
    pub contour: ContourCheck,
    /// The cross section away from ends and spillways, where the line begins: [`Swale::section_at`] has it further along.
    pub section: Section,
    /// Greatest fall of natural ground across the line, over 10 m of it, and where.
    pub steepest: (Fall, Station),
    /// Greatest height of a cut face, natural ground at the edge of the dig above the bed, and where.
    pub deepest_face: (Length, Station),
    /// The four lines of the crest.
    pub crest: CrestLevels,
    /// Middle of the channel's bed.
    pub bed_axis: Polyline,
    /// The bed at each place of it, metres.
    pub bed_levels: Vec<f64>,
    /// Dug for the key under the berm, in the bank.
    pub key: Volume,
    /// Middle of the berm's crest, one piece on each side of every spillway, at [`CrestLevels::built`] or at its own levels.
    pub crest_axes: Vec<Polyline>,
    /// The crest to build to at each place of each axis, metres; empty where it is one level.
    pub crest_levels: Vec<Vec<f64>>,
    /// How far the dig of the berm's earth goes along the line, where its crest follows the cut.
    pub haul: Option<Haul>,
    /// The spillways along the line.
    pub spillways: Vec<Spillway>,
    /// The two ends.
    pub ends: [End; 2],
    /// Its vehicle crossings, along the line.
    pub crossings: Vec<Crossing>,
    /// What it holds, all pools together.
    pub storage: Storage,
    /// The pools that crossings part it into, along the line; one without any.
    pub pools: Vec<SwalePool>,
    /// Outline of everything dug, local metres.
    pub cut_footprint: Vec<Polygon>,
    /// Outline of everything filled, local metres.
    pub fill_footprint: Vec<Polygon>,
    /// Closed daylight lines on the surface, where the works meet the ground.
    pub daylight: Vec<Vec<Point3>>,
    /// The lowest ground under its berm, as it matters.
    pub low_ground: LowGround,
    /// The lines among which its place was chosen, from the highest; empty where none were compared.
    pub trials: Vec<Trial>,
}

/// A line that a swale might follow, tried by its section alone: ends, sills and what lies before it are not in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Its water level.
    pub water_level: Elevation,
    /// Its length.
    pub length: Length,
    /// Mean fall of the ground across it, and the steepest over 10 m.
    pub falls: (Fall, Fall),
    /// Earth of the channel, in the bank.
    pub dug: Volume,
    /// Water below the water level in the channel.
    pub held: Volume,
    /// Surveyed ground that drains to it.
    pub catches: Area,
    /// How far the ground leaves the water level along it, faired under the bend radius; `None` where that was not tried.
    pub off_level: Option<Length>,
    /// Its rank, 1 the best; or why it has none.
    pub rank: Result<u32, String>,
    /// True for the one taken.
    pub taken: bool,
}

impl Section {
    /// Offset of the water's edge on the uphill side of the channel.
    #[must_use]
    pub fn wet_edge(&self) -> Length {
        let across = self.channel.windows(2).find(|pair| pair[0].y >= 0.0 && pair[1].y < 0.0);
        Length::metres(across.map_or(self.top_offset.in_metres(), |pair| {
            pair[0].towards(pair[1], pair[0].y / (pair[0].y - pair[1].y)).x
        }))
    }
}

impl Swale {
    /// The bed nearest to a place.
    #[must_use]
    pub fn bed_at(&self, place: Point) -> Elevation {
        Elevation::metres(self.bed_axis.interpolated(&self.bed_levels, self.bed_axis.foot(place).station))
    }

    /// The bed where it is dug: between crossings.
    #[must_use]
    pub fn bed_pieces(&self) -> Vec<Polyline> {
        let at = |station: Station| {
            let section = self.section_at(station);
            self.bed_axis.foot(self.line.at_offset(station.in_metres(), section.bed_offset.in_metres())).station
        };
        let undug: Vec<(f64, f64)> = self.crossings.iter().map(|c| (at(c.undug.0), at(c.undug.1))).collect();
        let starts = std::iter::once(0.0).chain(undug.iter().map(|gap| gap.1));
        let ends = undug.iter().map(|gap| gap.0).chain([self.bed_axis.length()]);
        starts.zip(ends).filter_map(|(from, to)| self.bed_axis.between(from, to)).collect()
    }

    /// The crest to build to beside a place: at the nearest place of its middle.
    #[must_use]
    pub fn crest_at(&self, place: Point) -> Elevation {
        let feet = self.crest_axes.iter().zip(&self.crest_levels).map(|(axis, levels)| {
            let foot = axis.foot(place);
            (foot.point.distance(place), axis.interpolated(levels, foot.station))
        });
        let nearest = feet.min_by(|a, b| a.0.total_cmp(&b.0));
        nearest.map_or(self.crest.built, |(_, level)| Elevation::metres(level))
    }

    /// Stations of a crest axis at which a crest that is not level bends.
    #[must_use]
    pub fn crest_bends(&self, piece: usize) -> Vec<f64> {
        let Some((levels, axis)) = self.crest_levels.get(piece).zip(self.crest_axes.get(piece)) else {
            return Vec::new();
        };
        let stations = axis.stations();
        let slope = |i: usize| (levels[i + 1] - levels[i]) / (stations[i + 1] - stations[i]);
        let inner = 1..levels.len().saturating_sub(1);
        inner.filter(|&i| (slope(i) - slope(i - 1)).abs() > LEAST_BEND).map(|i| stations[i]).collect()
    }

    /// The highest crest to build to.
    #[must_use]
    pub fn highest_crest(&self) -> Elevation {
        let levels = self.crest_levels.iter().flatten().copied();
        Elevation::metres(levels.fold(self.crest.built.in_metres(), f64::max))
    }

    /// The lowest bed.
    #[must_use]
    pub fn lowest_bed(&self) -> Elevation {
        Elevation::metres(self.bed_levels.iter().copied().fold(f64::INFINITY, f64::min))
    }

    /// What one of its sills is called: its number along the line where there are several.
    #[must_use]
    pub fn sill_name(&self, spillway: &Spillway) -> String {
        let number = self.spillways.iter().filter(|other| other.from <= spillway.from).count();
        match self.spillways.len() {
            0 | 1 => "sill".to_owned(),
            several => format!("sill {number} of {several}"),
        }
    }

    /// The station where natural ground on the line is furthest from the water level.
    #[must_use]
    pub fn worst_station(&self) -> Option<&ContourStation> {
        self.contour.stations.iter().max_by(|a, b| a.deviation.abs().total_cmp(&b.deviation.abs()))
    }

    /// How near natural ground on the line lies to the water level, as sure as the shots make it; `None` where it was
    /// not measured.
    #[must_use]
    pub fn line_within(&self) -> Option<LineWithin> {
        self.contour.within()
    }

    /// The station of greatest deviation, when it is off by more than the tolerance.
    #[must_use]
    pub fn off_contour(&self) -> Option<&ContourStation> {
        self.worst_station().filter(|worst| worst.deviation.abs() > self.contour.tolerance)
    }
}

/// How near natural ground on a line lies to its water level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineWithin {
    /// It lies within this, up or down.
    pub distance: Length,
    /// With 95 % confidence: the ground's standard error is in it. Else it is the bare deviation.
    pub at_95: bool,
}

/// The cross section, elevations as built. Offsets are from the line, positive uphill.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Which edge lies on the line.
    pub line_edge: LineEdge,
    /// Bed of the channel.
    pub bed: Elevation,
    /// Width of the bed; none of a triangle or a parabola.
    pub bottom_width: Length,
    /// The channel across on the mean cross slope, from its uphill edge to its downhill lip: offset, and height over the
    /// water level, metres.
    pub channel: Vec<Point>,
    /// Side slope uphill of the bed.
    pub uphill_batter: Batter,
    /// Side slope downhill of the bed.
    pub downhill_batter: Batter,
    /// Offset of the downhill lip.
    pub lip_offset: Length,
    /// Offset of the middle of the bed.
    pub bed_offset: Length,
    /// Offset of the uphill edge of the cut on the mean cross slope.
    pub top_offset: Length,
    /// Undisturbed strip between lip and berm toe.
    pub ledge: Length,
    /// Offset of the middle of the crest.
    pub crest_offset: Length,
    /// Width of the crest.
    pub crest_width: Length,
    /// Side slope of the berm, both sides.
    pub berm_batter: Batter,
    /// Offset of the berm's downhill toe on the mean cross slope.
    pub toe_offset: Length,
    /// Mean fall of natural ground across the line (positive downhill to the right).
    pub cross_fall: Fall,
}

/// Crest elevation in four lines: water level, head, freeboard, settlement; and what is built.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrestLevels {
    /// The water level.
    pub water_level: Elevation,
    /// Head over the sill at the design flow.
    pub head: Length,
    /// Freeboard above that.
    pub freeboard: Length,
    /// Height that the fill will lose.
    pub settlement: Length,
    /// The elevation to build to: at least water level + head + freeboard + settlement; where a crest follows the cut, the least
    /// of it.
    pub built: Elevation,
}

impl CrestLevels {
    /// The least elevation of the crest after settling: water level + head + freeboard.
    #[must_use]
    pub fn settled_required(&self) -> Elevation {
        self.water_level + self.head + self.freeboard
    }

    /// The least elevation to build to: the settled crest and its settlement.
    #[must_use]
    pub fn built_required(&self) -> Elevation {
        self.settled_required() + self.settlement
    }
}

/// A spillway as designed.
#[derive(Debug, Clone, PartialEq)]
pub struct Spillway {
    /// Station of the sill's start on the line.
    pub from: Station,
    /// Station of the sill's end on the line.
    pub to: Station,
    /// Elevation of the sill: the swale's water level.
    pub sill: Elevation,
    /// Length of the sill along the line.
    pub sill_length: Length,
    /// Breadth of the sill along the flow.
    pub sill_breadth: Length,
    /// Head at the design flow.
    pub head: Length,
    /// The design flow, when there is one.
    pub flow: Option<Flow>,
    /// What is asked of all sills under its water together, where they share it and `flow` is a part of that.
    pub together: Option<Flow>,
    /// Discharge coefficient used, SI.
    pub coefficient: f64,
    /// The downhill edge of the sill, where water leaves.
    pub lip: Polyline,
    /// Outline of the sill strip.
    pub strip: Polygon,
    /// Greatest and least natural ground minus sill over the strip; below zero is fill.
    pub ground_above_sill: (Length, Length),
    /// True when part of the sill would stand on fill.
    pub on_fill: bool,
    /// Where the water runs from the sill, down the natural ground or the exit channel.
    pub exit: Option<Polyline>,
    /// Fall asked of the exit channel.
    pub exit_fall: Fall,
    /// Fall of natural ground along the exit over its first 10 m.
    pub natural_exit_fall: Fall,
    /// The storm that it is sized for, where it is for one.
    pub storm: Option<Storm>,
    /// The cut that leads the water to the sill and away from it; of a swale `None`, whose channel leads there.
    pub outlet: Option<Outlet>,
}

impl Spillway {
    /// How far the water stands over the sill's level where it has not reached it yet: the head, and what an approach takes.
    #[must_use]
    pub fn flood_rise(&self) -> Length {
        self.head + self.outlet.as_ref().map_or(Length::ZERO, |outlet| outlet.approach_loss)
    }
}

/// The cut of a spillway through natural ground: approach, sill and return channel.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlet {
    /// Middle of its floor, the way the water runs.
    pub axis: Polyline,
    /// The floor at each place of the axis, metres.
    pub levels: Vec<f64>,
    /// Stations of the axis between which the floor is the sill.
    pub sill: (f64, f64),
    /// Width of the floor, the sill's length.
    pub width: Length,
    /// Side slope of the cut.
    pub batter: Batter,
    /// Station of the axis at which its low side first no longer holds the design flow.
    pub holds_to: f64,
    /// The place there, where water first leaves.
    pub leaves: Point,
    /// Greatest height of a side.
    pub deepest: Length,
    /// Nearest that the cut comes to fill; `None` where there is none.
    pub clear: Option<Length>,
    /// Nearest that the water below comes to fill.
    pub clear_water: Option<Length>,
    /// Its outline.
    pub footprint: Vec<Polygon>,
    /// What is dug for it, topsoil and all, in the bank.
    pub bank: Volume,
    /// What covers it.
    pub cover: Cover,
    /// How the design flow runs in it.
    pub run: Option<Run>,
    /// What the friction of its approach takes of the height of the design flood.
    pub approach_loss: Length,
    /// How it runs over natural ground below it, as wide as the floor.
    pub below: Option<Run>,
}

impl Outlet {
    /// The floor at a station of the axis, metres.
    #[must_use]
    pub fn floor_at(&self, station: f64) -> f64 {
        self.axis.interpolated(&self.levels, station)
    }
}

/// What is moved along a swale's line, cubic metres in the bank times metres: with one crest for the whole berm, and with a crest
/// that follows the cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Haul {
    /// With one crest.
    pub level: f64,
    /// As designed.
    pub following: f64,
}

/// A vehicle crossing as designed; its top stands at the built crest beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossing {
    /// What was asked for.
    pub wanted: CrossingWanted,
    /// Stations of the line between which no bed is dug.
    pub undug: (Station, Station),
    /// Its middle from uphill to downhill: under the foot of a ramp, both ends of the level top, under the other foot.
    pub axis: Polyline,
    /// The level at each of those places, metres.
    pub levels: Vec<f64>,
    /// Where its ramps come out of natural ground, uphill and downhill.
    pub feet: Vec<Point>,
    /// What it takes beyond the berm, placed.
    pub fill: Volume,
}

/// One of the pools that crossings part a swale into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwalePool {
    /// Station at which its bed begins.
    pub from: Station,
    /// Station at which it ends.
    pub to: Station,
    /// A sill lets it out.
    pub has_sill: bool,
    /// What it holds.
    pub storage: Storage,
}

impl SwalePool {
    /// How far its water rises over its sill before it leaves, where ground beyond the sill stands higher.
    #[must_use]
    pub fn rise_over_sill(&self, water_level: Elevation) -> Option<Length> {
        let rise = self.storage.spill - water_level;
        (self.has_sill && !self.storage.at_sill && rise > Length::ZERO).then_some(rise)
    }
}

/// The lowest ground under a swale's berm, as it matters.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LowGround {
    /// How high its full water stands over natural ground at its downhill lip, at most, and where; nothing where that is little.
    pub water_held: Option<(Length, Station)>,
    /// How far its crest settles below water level, head and freeboard, at most, and where; nothing where that is little.
    pub settles_short: Option<(Length, Station)>,
}

/// One end of the berm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct End {
    /// Its name.
    pub name: LineEnd,
    /// Where the crest runs out into natural ground.
    pub place: Point,
    /// Length of the part that turns uphill.
    pub turned_length: Length,
    /// True when natural ground at the end stands at crest elevation.
    pub closed: bool,
    /// Left open as asked: the berm stops at the sill that stands there.
    pub overflow: bool,
}

/// What a swale holds, from the designed surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Storage {
    /// Water held below the lower of sill and true spill.
    pub volume: Volume,
    /// Water surface at that elevation.
    pub area: Area,
    /// The lowest elevation at which water leaves.
    pub spill: Elevation,
    /// Where it leaves.
    pub spill_place: Point,
    /// True when the sill is that place.
    pub at_sill: bool,
}

/// Is the line truly on contour: natural ground against the water level, station by station.
#[derive(Debug, Clone, PartialEq)]
pub struct ContourCheck {
    /// Each checked station.
    pub stations: Vec<ContourStation>,
    /// Signed deviation of greatest size, metres; positive is high.
    pub worst: f64,
    /// Root mean square deviation, metres, weighted by length.
    pub rms: f64,
    /// The tolerance it was held against, metres.
    pub tolerance: f64,
    /// Least bend radius of the line, metres, and its station.
    pub least_radius: (f64, f64),
    /// What the shots prove of it.
    pub proof: Proof,
}

impl ContourCheck {
    /// Is it on contour, station by station: with 95 % confidence where the ground's standard error is known, else by the
    /// deviations alone. One station that fails fails the line.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let worst = self.stations.iter().map(|station| station.verdict(self.tolerance)).max();
        worst.unwrap_or(Verdict::CannotTell)
    }

    /// How near natural ground lies to the line's own elevation where it may be furthest off; `None` where it was not measured.
    #[must_use]
    pub fn within(&self) -> Option<LineWithin> {
        let least_sure = self.stations.iter().max_by(|a, b| a.within().total_cmp(&b.within()))?;
        Some(LineWithin { distance: Length::metres(least_sure.within()), at_95: least_sure.sigma.is_some() })
    }
}

/// What the shots prove of a line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Proof {
    /// Stretches, by their stations, on which more shots are needed to tell whether the line is on contour.
    pub unproven: Vec<(f64, f64)>,
    /// Stretches on which the ground bends within the spacing of the shots.
    pub too_far_apart: Vec<(f64, f64)>,
    /// Standard deviation of a usual shot near the line, metres; `None` where the ground's standard error is not known.
    pub shot_sigma: Option<f64>,
}

/// One station of a contour check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContourStation {
    /// Metres along the line.
    pub station: f64,
    /// Place.
    pub place: Point,
    /// Natural ground, the best estimate.
    pub ground: f64,
    /// Ground minus water level, metres.
    pub deviation: f64,
    /// Standard error of `ground`; `None` for a surface without one.
    pub sigma: Option<f64>,
    /// The bare TIN's elevation.
    pub tin: f64,
}

impl ContourStation {
    /// Is it inside a tolerance, with 95 % confidence where its standard error is known.
    #[must_use]
    pub fn verdict(&self, tolerance: f64) -> Verdict {
        Verdict::of(self.deviation, self.sigma.unwrap_or(0.0), tolerance)
    }

    /// How far the ground may be off the level: the deviation, and 1.96 standard errors where they are known.
    #[must_use]
    pub fn within(&self) -> f64 {
        self.deviation.abs() + NORMAL_95 * self.sigma.unwrap_or(0.0)
    }

    /// How many more shots here would prove it, each with a standard deviation of `shot_sigma`; nothing when it is proven
    /// or when no number of shots proves it.
    #[must_use]
    pub fn shots_to_prove(&self, tolerance: f64, shot_sigma: f64) -> u32 {
        let (Some(sigma), room) = (self.sigma, (tolerance - self.deviation.abs()) / NORMAL_95) else { return 0 };
        // A line a hair inside its tolerance is not proven by any work that is worth it.
        if sigma <= room || room < LEAST_ROOM * tolerance {
            return 0;
        }
        let missing = shot_sigma.powi(2) * (room.powi(-2) - sigma.powi(-2));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a small whole number")]
        let count = missing.ceil().clamp(1.0, 99.0) as u32;
        count
    }
}

/// A crest whose fall changes by more than this bends there, as a ratio: 5 mm in the middle of 10 m. Round a bend of the line it
/// changes by less though it runs straight from station to station.
const LEAST_BEND: f64 = 2e-3;
/// Share of the tolerance that must be left for a standard error before more shots are asked for.
const LEAST_ROOM: f64 = 0.1;

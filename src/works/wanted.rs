//! What is asked for: the works of a pipeline file in checked quantities, places in the local frame.

use super::dam::KeyWanted;
use crate::geom::{Point, Polygon};
use crate::soil::{Placement, Soil};
use crate::units::{Area, Batter, Elevation, Fall, Flow, Length, Station, Volume};
use crate::water::channel::Cover;
use crate::water::rational::Storm;

/// Where a water level comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum WaterLevel {
    /// Said outright.
    Elevation(Elevation),
    /// The ground at a place; the text says which shot or place it was, for the notes.
    Through {
        /// The place, local metres.
        place: Point,
        /// What it is, such as `shot day1.csv:117`.
        what: String,
        /// The shot's own height, when it is a shot.
        shot_elevation: Option<f64>,
    },
    /// So far above a thing; below it where negative.
    Off {
        /// Upwards from the thing.
        above: Length,
        /// What it is measured from.
        thing: Thing,
    },
}

/// What a water level is measured from: a trough, the inlet of a tank, a floor, the water of another work.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    /// What it is, for the notes, such as `shot day1.csv:41`.
    pub what: String,
    /// Where it stands, local metres, where that is known.
    pub place: Option<Point>,
    /// How high it stands.
    pub height: ThingHeight,
}

/// How high a thing stands.
#[derive(Debug, Clone, PartialEq)]
pub enum ThingHeight {
    /// As said, or as shot: a floor or an inlet is not the ground under it.
    Known(Elevation),
    /// The ground at its place.
    Ground,
    /// Where another work stands full, a dam or such.
    Level(Box<WaterLevel>),
    /// Where another swale stands full.
    Swale(Box<SwaleWanted>),
}

impl WaterLevel {
    /// The place that it is taken from, where it is taken from one.
    #[must_use]
    pub fn place(&self) -> Option<Point> {
        match self {
            Self::Elevation(_) => None,
            Self::Through { place, .. } => Some(*place),
            Self::Off { thing, .. } => thing.place,
        }
    }
}

/// Where a swale's water level comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum SwaleLevel {
    /// From what is said of it.
    From(WaterLevel),
    /// The highest at which its line catches so much ground uphill of it.
    ToCatch {
        /// Surveyed ground that is to drain to the line.
        area: Area,
        /// The line is the piece of contour nearest to this place, else the longest.
        near: Option<Point>,
    },
    /// Of the rank asked for among lines at many levels.
    Place(PlaceAmong),
    /// Below the line of another swale.
    Below {
        /// By how much.
        spacing: Spacing,
        /// The swale above.
        upper: Box<SwaleWanted>,
    },
}

/// How far one swale of a set lies below the one before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spacing {
    /// Upright.
    Drop(Length),
    /// Over the ground, the way the water runs.
    AlongSlope(Length),
    /// The vertical interval of terraces, x S + y, S the fall of the ground between them in per cent.
    Terraces {
        /// For each per cent of fall.
        x: Length,
        /// On level ground.
        y: Length,
    },
}

/// Which line is meant among those at every whole multiple of a step.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceAmong {
    /// Its rank, 1 the best.
    pub rank: u32,
    /// What they are ranked by.
    pub by: Measure,
    /// Lowest and highest level; `None` for the lowest and highest ground.
    pub from: Option<Elevation>,
    /// See `from`.
    pub to: Option<Elevation>,
    /// The step between two levels.
    pub every: Length,
    /// Shorter lines have no rank.
    pub least_length: Length,
    /// Lines over which the ground falls more, over 10 m, have no rank.
    pub steepest: Fall,
}

impl Default for PlaceAmong {
    /// The best by water held for each cubic metre dug, every half metre; 30 m of line and more, on 15 % and less.
    fn default() -> Self {
        Self {
            rank: 1,
            by: Measure::default(),
            from: None,
            to: None,
            every: Length::metres(0.5),
            least_length: Length::metres(30.0),
            steepest: Fall::percent(15.0),
        }
    }
}

/// What lines are ranked by, the more the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Measure {
    /// Water held for each cubic metre dug.
    #[default]
    HeldPerDug,
    /// Water held.
    Held,
    /// Surveyed ground that drains to it.
    Catches,
}

impl From<WaterLevel> for SwaleLevel {
    fn from(level: WaterLevel) -> Self {
        Self::From(level)
    }
}

impl SwaleLevel {
    /// True when it is looked for on the ground, so that no place that the user gave is meant to lie at it.
    #[must_use]
    pub const fn is_sought(&self) -> bool {
        !matches!(self, Self::From(_))
    }

    /// The place whose piece of contour is meant, where one is.
    #[must_use]
    pub fn place(&self) -> Option<Point> {
        match self {
            Self::From(level) => level.place(),
            Self::ToCatch { near, .. } => *near,
            Self::Place(_) => None,
            Self::Below { upper, .. } => upper.water_level.place(),
        }
    }
}

/// Which edge of the channel lies on the contour line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LineEdge {
    /// The downhill lip, where the water would leave.
    #[default]
    DownhillLip,
    /// The middle of the bed.
    Centre,
    /// The uphill edge.
    UphillEdge,
}

/// The shape of the channel across.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ChannelShape {
    /// A flat bed between two batters.
    Trapezoid {
        /// Width of the bed.
        bottom_width: Length,
    },
    /// Two batters that meet: a bed without width.
    Triangle,
    /// A parabola below the water level; above it the uphill batter.
    Parabola {
        /// Width at the water level.
        top_width: Length,
    },
}

impl ChannelShape {
    /// Its word in the pipeline file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Trapezoid { .. } => "trapezoid",
            Self::Triangle => "triangle",
            Self::Parabola { .. } => "parabola",
        }
    }
}

/// How the berm is sized.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Berm {
    /// As high as the ditch's own earth makes it, at least head and freeboard above the water level.
    AllTheCut {
        /// Crest width.
        crest: Length,
        /// Batter of both sides.
        batter: Batter,
    },
    /// Crest at head and freeboard above the water level, whatever the ditch gives.
    Fixed {
        /// Crest width.
        crest: Length,
        /// Batter of both sides.
        batter: Batter,
    },
    /// Crest at head and freeboard above the water level, and sides as flat as the ditch's own earth makes them.
    ToBalance {
        /// Crest width.
        crest: Length,
        /// Batter of both sides that is tried first; a design's own is the one found.
        batter: Batter,
    },
}

/// What happens at an end of a swale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EndShape {
    /// The berm turns uphill until natural ground stands at crest elevation.
    #[default]
    TurnUp,
    /// Left open: the berm stops at the spillway that stands at this end, and natural ground runs on at the sill's level.
    Overflow,
}

/// What happens at the swale's two ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ends {
    /// At the first.
    pub first: EndShape,
    /// At the last.
    pub last: EndShape,
}

impl Ends {
    /// Whether an end is left open that a spillway stands at; of a spillway elsewhere, no.
    #[must_use]
    pub fn open_at(self, place: &SpillwayPlace) -> bool {
        match place {
            SpillwayPlace::First => self.first == EndShape::Overflow,
            SpillwayPlace::Last => self.last == EndShape::Overflow,
            SpillwayPlace::Station(_) | SpillwayPlace::Through(_) | SpillwayPlace::LowRim => false,
        }
    }

    /// Whether an end is left open.
    pub(super) fn open(self, end: LineEnd) -> bool {
        let shape = match end {
            LineEnd::First => self.first,
            LineEnd::Last => self.last,
        };
        shape == EndShape::Overflow
    }
}

/// Which end of a swale's line, as what was asked for names them: whichever way stations run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineEnd {
    /// The first of the two places of `between`; without it, where one starts walking with uphill on the left.
    First,
    /// The other.
    Last,
}

impl LineEnd {
    /// Both in the order of a line's stations, which run from the last to the first where the line is `turned`.
    pub(super) const fn along(turned: bool) -> [Self; 2] {
        if turned { [Self::Last, Self::First] } else { [Self::First, Self::Last] }
    }

    /// Its word, as a pipeline file has it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::First => "first",
            Self::Last => "last",
        }
    }
}

/// Where on a swale, or beside a wall, a spillway stands.
#[derive(Debug, Clone, PartialEq)]
pub enum SpillwayPlace {
    /// At the first end of the line.
    First,
    /// At the last end of the line.
    Last,
    /// Centred at a station.
    Station(Station),
    /// Centred at the station nearest to a place (local metres); beside a wall, at the place itself.
    Through(Point),
    /// Beside the lowest place of a pond's rim.
    LowRim,
}

/// How long the sill is.
#[derive(Debug, Clone, PartialEq)]
pub enum SillLength {
    /// Said outright.
    Length(Length),
    /// Solved so that this flow passes at the design head.
    ForFlow(Flow),
    /// Solved so that the peak of a storm passes at the design head.
    ForStorm(Storm),
}

/// Fall of an exit channel where none is said, per cent; common practice, no source.
const USUAL_EXIT_FALL: f64 = 0.5;

/// A spillway as asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct SpillwayWanted {
    /// Its place on the swale.
    pub at: SpillwayPlace,
    /// The sill's length along the line.
    pub sill_length: SillLength,
    /// The sill's breadth along the flow.
    pub sill_breadth: Length,
    /// Head over the sill at the design flow; `None` asks for it to be solved from length and `flow`.
    pub head: Option<Length>,
    /// Design flow, when length and flow are given and the head is solved.
    pub flow: Option<Flow>,
    /// Fall of the exit channel; `None` leaves it to the program.
    pub exit_fall: Option<Fall>,
    /// Side slope of the cut of a dam's or pond's spillway.
    pub batter: Batter,
    /// Fall of its approach, from the sill back into the water.
    pub approach_fall: Fall,
    /// What covers its channel.
    pub cover: Cover,
    /// An engineer's lined design carries what of its sill would stand on fill.
    pub lined_by_engineer: bool,
}

impl SpillwayWanted {
    /// Fall of the exit channel as asked for, else the usual one; of a pond see [`super::pit`].
    #[must_use]
    pub fn exit_fall_or_usual(&self) -> Fall {
        self.exit_fall.unwrap_or(Fall::percent(USUAL_EXIT_FALL))
    }

    /// The storm that its sill is sized for.
    #[must_use]
    pub const fn storm(&self) -> Option<&Storm> {
        match &self.sill_length {
            SillLength::ForStorm(storm) => Some(storm),
            SillLength::Length(_) | SillLength::ForFlow(_) => None,
        }
    }

    /// At the last end, with a sill so long and everything else as a pipeline file has it that says no more.
    #[must_use]
    pub fn usual(sill_length: Length) -> Self {
        Self {
            at: SpillwayPlace::Last,
            sill_length: SillLength::Length(sill_length),
            sill_breadth: Length::metres(1.5),
            head: Some(Length::metres(0.1)),
            flow: None,
            exit_fall: None,
            batter: Batter::horizontal_per_vertical(2.0),
            approach_fall: Fall::percent(1.0),
            cover: Cover::default(),
            lined_by_engineer: false,
        }
    }
}

/// A change of the section along the line: from the station at which it begins, evenly over a length, to the sizes said here.
/// What is not said stays as it was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionChange {
    /// Where it begins.
    pub from: Station,
    /// How far it is until the new section is reached; above zero.
    pub over: Length,
    /// Width of the bed; of a parabola its width at the water level. A triangle has none.
    pub width: Option<Length>,
    /// Bed below water level.
    pub depth: Option<Length>,
    /// Bed lower than before it by so much, higher where below zero; beside a `depth` it counts for nothing.
    pub step_down: Option<Length>,
    /// Side slope uphill of the bed.
    pub uphill_batter: Option<Batter>,
    /// Side slope downhill of the bed; a parabola has none.
    pub downhill_batter: Option<Batter>,
    /// Width of the berm's crest.
    pub crest: Option<Length>,
    /// Batter of both sides of the berm.
    pub berm_batter: Option<Batter>,
}

impl SectionChange {
    /// A change of nothing yet.
    #[must_use]
    pub const fn at(from: Station, over: Length) -> Self {
        let (uphill_batter, downhill_batter, berm_batter) = (None, None, None);
        let (depth, step_down) = (None, None);
        Self { from, over, width: None, depth, step_down, uphill_batter, downhill_batter, crest: None, berm_batter }
    }

    /// The station at which the new section is reached.
    #[must_use]
    pub fn to(&self) -> Station {
        Station::metres(self.from.in_metres() + self.over.in_metres())
    }
}

/// A vehicle crossing: solid, so that it parts the swale into pools.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossingWanted {
    /// The station of its middle.
    pub at: Station,
    /// Width of its running top along the line.
    pub width: Length,
    /// Slope of both ramps along the way over it, horizontal for one vertical.
    pub ramp: Batter,
    /// Side slope of its fill.
    pub batter: Batter,
}

/// What of a swale's section and of the things along its line an error is about, each counted from nought as it was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    /// The section with which the line begins.
    Section,
    /// One of its changes.
    Change(usize),
    /// One of its crossings.
    Crossing(usize),
    /// One of its sills.
    Sill(usize),
}

/// A swale as asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct SwaleWanted {
    /// Its name, unique on the site.
    pub name: String,
    /// Where its water stands when full.
    pub water_level: SwaleLevel,
    /// Which edge follows the contour.
    pub line_edge: LineEdge,
    /// Where the line may run; `None` for anywhere on the survey.
    pub within: Option<Polygon>,
    /// Two places between which the line runs; `None` for all of it.
    pub between: Option<(Point, Point)>,
    /// The channel across.
    pub shape: ChannelShape,
    /// Bed below water level; the first guess where `to_hold` asks for another.
    pub depth: Length,
    /// Water that it is to hold: the depth is solved for it, and a design's own `depth` is the one found.
    pub to_hold: Option<Volume>,
    /// Side slope uphill of the bed.
    pub uphill_batter: Batter,
    /// Side slope downhill of the bed; a parabola has none.
    pub downhill_batter: Batter,
    /// The berm.
    pub berm: Berm,
    /// Of a berm of all the cut: the length over which its crest follows the local cut, never below what head, freeboard and
    /// settlement need; `None` is one crest for the whole berm.
    pub follow: Option<Length>,
    /// Changes of the section in the order of their stations, none beginning before the one before it has ended.
    pub changes: Vec<SectionChange>,
    /// Vehicle crossings, in the order of their stations.
    pub crossings: Vec<CrossingWanted>,
    /// A trench under the middle of the berm, filled again.
    pub key: Option<KeyWanted>,
    /// Undisturbed strip between the cut and the berm's toe.
    pub ledge: Length,
    /// Crest above the head at the design flow.
    pub freeboard: Length,
    /// Tightest bend that the machine should dig.
    pub bend_radius: Length,
    /// What must stay: the line is led round it.
    pub obstacles: Vec<Polygon>,
    /// What is kept free between the works and an obstacle.
    pub clearance: Length,
    /// What happens at the ends.
    pub ends: Ends,
    /// Allowed deviation of natural ground on the line from the water level.
    pub tolerance: Length,
    /// Its spillways; empty leaves the swale without an outlet, which is told.
    pub spillways: Vec<SpillwayWanted>,
    /// Depth of topsoil stripped from cut and seat.
    pub topsoil: Length,
    /// The soil under the topsoil.
    pub soil: Soil,
    /// How the berm's fill is put down.
    pub placement: Placement,
    /// Share of its settled height that the fill loses, from the placement class unless said.
    pub settlement: f64,
}

impl SwaleWanted {
    /// With everything as a pipeline file has it that says no more: the downhill lip on the line, a bed of 1.2 m 0.6 m below the
    /// water level, batters of 2:1, a berm of all the cut with a crest of 1 m, track-walked. No limits and no spillway.
    #[must_use]
    pub fn usual(name: &str, water_level: impl Into<SwaleLevel>, soil: Soil) -> Self {
        let (metres, two) = (Length::metres, Batter::horizontal_per_vertical(2.0));
        Self {
            name: name.to_owned(),
            water_level: water_level.into(),
            line_edge: LineEdge::default(),
            within: None,
            between: None,
            shape: ChannelShape::Trapezoid { bottom_width: metres(1.2) },
            depth: metres(0.6),
            to_hold: None,
            uphill_batter: two,
            downhill_batter: two,
            berm: Berm::AllTheCut { crest: metres(1.0), batter: two },
            follow: None,
            changes: Vec::new(),
            crossings: Vec::new(),
            key: None,
            ledge: metres(0.4),
            freeboard: metres(0.3),
            bend_radius: metres(5.0),
            obstacles: Vec::new(),
            clearance: metres(3.0),
            ends: Ends::default(),
            tolerance: metres(0.05),
            spillways: Vec::new(),
            topsoil: metres(0.1),
            soil,
            placement: Placement::TrackWalked,
            settlement: Placement::TrackWalked.settlement(),
        }
    }
}

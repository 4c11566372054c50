//! The cross section of a swale or drain on a mean cross fall, in closed form.
//!
//! Offsets are from the line, positive uphill; ground at offset `o` stands at water level + fall * o when the line's
//! edge is at the water level. Of a drain, whose line falls, the line's own elevation at a station stands for the water
//! level. The exact design stands on the surveyed surface; this section gives its axes, first guesses and the drawing.

use super::WorksError;
use super::plan::Section;
use super::sizes::Sizes;
use super::wanted::{ChannelShape, Entry, LineEdge, SwaleWanted};
use super::work::{Kind, Subject};
use crate::geom::{Point, area_of_ring};
use crate::units::{Elevation, Fall, Length};

/// Mean cross fall below which ground counts as flat for the closed forms.
const LEAST_FALL: f64 = 1e-6;

/// What a section across takes from the work that it belongs to, whatever it falls along its line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ditch<'a> {
    pub kind: Kind,
    pub name: &'a str,
    pub line_edge: LineEdge,
    pub shape: ChannelShape,
    pub ledge: Length,
}

impl SwaleWanted {
    pub(super) fn ditch(&self) -> Ditch<'_> {
        let Self { name, line_edge, shape, ledge, .. } = self;
        Ditch { kind: Kind::Swale, name, line_edge: *line_edge, shape: *shape, ledge: *ledge }
    }
}

/// Offsets of the channel, metres from the line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Channel {
    pub lip: f64,
    pub bed: f64,
    pub top: f64,
    /// Depth of the bed below ground at the bed's uphill edge.
    pub uphill_depth: f64,
    /// How far beyond an end of the bed the ground is broken.
    pub end: f64,
    /// Batter round its ends: the flatter of its two sides.
    pub end_batter: f64,
    /// Batter of the downhill side where it comes out.
    pub downhill: f64,
}

/// Refuses sides that never meet ground of this fall.
pub(super) fn check(ditch: Ditch<'_>, entry: Entry, sizes: &Sizes, fall: f64) -> Result<(), WorksError> {
    meets(ditch, (entry, "uphill"), sizes.uphill_batter.in_horizontal_per_vertical(), fall)?;
    meets(ditch, (entry, "berm"), sizes.berm_batter.in_horizontal_per_vertical(), fall)
}

/// Where the channel of some sizes lies for the edge that follows the contour; its sides are [`check`]ed.
pub(super) fn channel(ditch: Ditch<'_>, sizes: &Sizes, fall: f64) -> Channel {
    let depth = sizes.depth.in_metres();
    let up = sizes.uphill_batter.in_horizontal_per_vertical();
    if let ChannelShape::Parabola { .. } = ditch.shape {
        return parabola(ditch.line_edge, depth, sizes.width.in_metres() / 2.0, up, fall);
    }
    let half = sizes.width.in_metres() / 2.0;
    let down = sizes.downhill_batter.in_horizontal_per_vertical();
    let (lip, bed) = match ditch.line_edge {
        LineEdge::DownhillLip => (0.0, down * depth + half),
        // The batter from the bed meets ground that lies lower downhill of the line: o = -half - down (depth + fall o).
        LineEdge::Centre => (-(half + down * depth) / (1.0 + down * fall), 0.0),
        LineEdge::UphillEdge => {
            let bed = -(up * depth + half);
            ((bed - half - down * depth) / (1.0 + down * fall), bed)
        }
    };
    let edge = bed + half;
    let top = (depth + edge / up) / (1.0 / up - fall);
    let (uphill_depth, end_batter) = (depth + fall * edge, up.max(down));
    Channel { lip, bed, top, uphill_depth, end: end_batter * uphill_depth, end_batter, downhill: down }
}

/// A parabola `depth (x / half)^2` above its bed, up to the water level at `half` either way; above that the uphill batter.
fn parabola(line_edge: LineEdge, depth: f64, half: f64, up: f64, fall: f64) -> Channel {
    let bed = match line_edge {
        LineEdge::DownhillLip => half,
        LineEdge::Centre => 0.0,
        LineEdge::UphillEdge => -half,
    };
    // Downhill it comes out where depth (x / half)^2 - depth = fall (bed + x).
    let (a, c) = (depth / (half * half), depth + fall * bed);
    let out = (fall - (fall * fall + 4.0 * a * c).max(0.0).sqrt()) / (2.0 * a);
    let edge = bed + half;
    let downhill = half / (2.0 * depth);
    let (uphill_depth, end_batter) = (depth + fall * bed, up.max(downhill));
    Channel {
        lip: if line_edge == LineEdge::DownhillLip { 0.0 } else { bed + out },
        bed,
        top: edge / (1.0 - up * fall),
        uphill_depth,
        end: half + end_batter * (uphill_depth - depth).max(0.0),
        end_batter,
        downhill,
    }
}

/// The channel across, from its uphill edge to its downhill lip: offset, and height over the water level.
pub(super) fn outline(ditch: Ditch<'_>, sizes: &Sizes, channel: &Channel, fall: f64) -> Vec<Point> {
    /// Chords of a parabola, enough for a drawing and for a first guess.
    const CHORDS: u32 = 24;
    let depth = sizes.depth.in_metres();
    let half = sizes.width.in_metres() / 2.0;
    let ends = [channel.top, channel.lip].map(|offset| Point::new(offset, fall * offset));
    let below: Vec<Point> = match ditch.shape {
        ChannelShape::Trapezoid { .. } => [half, -half].map(|x| Point::new(channel.bed + x, -depth)).to_vec(),
        ChannelShape::Triangle => vec![Point::new(channel.bed, -depth)],
        ChannelShape::Parabola { .. } => {
            let at = |k: u32| half - (half + channel.bed - channel.lip) * f64::from(k) / f64::from(CHORDS);
            let first = u32::from(channel.top <= channel.bed + half);
            (first..CHORDS).map(|k| Point::new(channel.bed + at(k), depth * ((at(k) / half).powi(2) - 1.0))).collect()
        }
    };
    std::iter::once(ends[0]).chain(below).chain([ends[1]]).collect()
}

pub(super) fn meets(
    ditch: Ditch<'_>,
    (entry, side): (Entry, &'static str),
    batter: f64,
    fall: f64,
) -> Result<(), WorksError> {
    if fall > 0.0 && batter * fall >= 0.95 {
        return Err(WorksError::BatterNeverMeets {
            works: Subject::new(ditch.kind, ditch.name),
            entry,
            side,
            batter,
            fall: fall * 100.0,
            limit: 0.95 / fall,
        });
    }
    Ok(())
}

/// Offsets of a berm whose crest stands at a height above the water level.
#[derive(Debug, Clone, Copy)]
pub(super) struct BermLine {
    /// Middle of the crest.
    pub crest: f64,
    /// Downhill toe.
    pub toe: f64,
    /// Height of the crest above ground at its middle.
    pub height: f64,
    /// Height of the crest above the water level.
    pub above_water: f64,
    /// Area of the fill across, square metres.
    pub area: f64,
    /// Width of its seat, metres.
    pub seat: f64,
}

/// The berm beside a channel: its uphill toe stands a ledge away from the lip whatever its height.
pub(super) fn berm(ditch: Ditch<'_>, sizes: &Sizes, channel: &Channel, fall: f64, crest_above_water: f64) -> BermLine {
    let batter = sizes.berm_batter.in_horizontal_per_vertical();
    let width = sizes.crest.in_metres();
    let inner_toe = channel.lip - ditch.ledge.in_metres();
    let inner_height = crest_above_water - fall * inner_toe;
    let inner_edge = inner_toe - batter * inner_height;
    let outer_edge = inner_edge - width;
    let fall = if fall.abs() < LEAST_FALL { 0.0 } else { fall };
    let toe = (outer_edge / batter - crest_above_water) / (1.0 / batter - fall);
    let crest = inner_edge - width / 2.0;
    // Fill over the sloping seat: trapezoid above the level of the inner toe and triangle below it, as one polygon.
    let ground = |o: f64| fall * o;
    let outline = [
        Point::new(inner_toe, ground(inner_toe)),
        Point::new(inner_edge, crest_above_water),
        Point::new(outer_edge, crest_above_water),
        Point::new(toe, ground(toe)),
    ];
    BermLine {
        crest,
        toe,
        height: crest_above_water - ground(crest),
        above_water: crest_above_water,
        area: area_of_ring(&outline).abs(),
        seat: inner_toe - toe,
    }
}

/// The section as designed.
pub(super) fn section(
    ditch: Ditch<'_>,
    sizes: &Sizes,
    water_level: Elevation,
    fall: f64,
    channel: &Channel,
    berm: &BermLine,
) -> Section {
    Section {
        line_edge: ditch.line_edge,
        bed: water_level - sizes.depth,
        bottom_width: sizes.bed_width(&ditch.shape),
        channel: outline(ditch, sizes, channel, fall),
        uphill_batter: sizes.uphill_batter,
        downhill_batter: sizes.downhill_batter,
        lip_offset: Length::metres(channel.lip),
        bed_offset: Length::metres(channel.bed),
        top_offset: Length::metres(channel.top),
        ledge: ditch.ledge,
        crest_offset: Length::metres(berm.crest),
        crest_width: sizes.crest,
        berm_batter: sizes.berm_batter,
        toe_offset: Length::metres(berm.toe),
        cross_fall: Fall::ratio(fall),
    }
}

//! Where the parts of a swale run in plan: bed axis, crest axes with their turned ends and their wings beside each sill,
//! sill strips.
//!
//! Everything is laid out in station and offset along the faired line (offset positive uphill) and mapped to the ground.
//! At both ends the crest turns uphill until natural ground stands at crest elevation. Beside each sill it turns uphill
//! as far as the lip, or water standing on the ledge would leave round its end below the sill.

use super::along::{Along, CrestLine};
use super::section::{BermLine, Channel, Ditch};
use super::sizes::Sizes;
use super::strip::{Profile, Row, Sense, middle};
use super::wanted::{ChannelShape, SwaleWanted};
use crate::geom::{Point, Polyline};
use crate::surface::{Drainage, Locator};
use crate::units::Length;
use geo::{Coord, LineString, SimplifyIdx};
use std::f64::consts::PI;

/// Steps along axes, metres.
const STEP: f64 = 1.0;
/// How far an axis may leave the curve it was sampled from, metres, to spare vertices on straight stretches.
const THINNING: f64 = 0.002;
/// How far a wing's toe at sill elevation reaches uphill of the lip, metres: enough that a lip 15 mm low on a fall of
/// 3 % is still behind it.
const WING_LAP: f64 = 0.5;
/// Steps in which natural ground at crest elevation is looked for, metres.
const UPHILL_STEP: f64 = 0.25;
/// Farthest that an end is turned uphill, metres.
const UPHILL_LIMIT: f64 = 80.0;

/// What every part is laid out on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Base<'a> {
    /// The faired line.
    pub line: &'a Polyline,
    /// Natural ground.
    pub natural: &'a Locator<'a>,
    /// Where its water runs.
    pub drainage: &'a Drainage<'a>,
    /// What was asked for.
    pub wanted: &'a SwaleWanted,
    /// The section at every station.
    pub along: Along<'a>,
}

/// A line laid out along a swale: each of its vertices belongs to a station.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    pub line: Polyline,
    /// The station of the swale's line that each vertex belongs to.
    pub at: Vec<f64>,
}

impl Axis {
    /// Through places with their stations, without those that fold back and those that even sampling alone needs; the ones at
    /// stations to keep stay.
    pub(super) fn new(places: Vec<(f64, Point)>, keep: &[f64]) -> Option<Self> {
        let (at, points): (Vec<f64>, Vec<Point>) = thinned(&unfolded(places), keep).into_iter().unzip();
        let line = Polyline::new(points)?;
        (line.points().len() == at.len()).then_some(Self { line, at })
    }
}

/// A sill placed on the line: stations of its two ends, breadth along the flow, and how far its lip is moved uphill so
/// that it is cut and never filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sill {
    pub from: f64,
    pub to: f64,
    pub breadth: f64,
    pub shift: f64,
}

/// Half the seat of the berm's end at sill elevation: crest half width and batter down to the sill.
pub(super) fn wing_half_width(sizes: &Sizes, crest_above_water: f64) -> f64 {
    sizes.crest.in_metres() / 2.0 + sizes.berm_batter.in_horizontal_per_vertical() * crest_above_water
}

/// Room between an end of the bed and the middle of the crest turned uphill beyond it, where the section is that of a station.
pub(super) fn end_room(along: Along<'_>, station: f64, crest_above_water: f64) -> f64 {
    let ledge = along.wanted.ledge.in_metres();
    open_room(along, station) + ledge + wing_half_width(&along.sizes(station), crest_above_water)
}

/// Room between an end of the bed and the end of the line where that end is left open: as far as ground is broken.
pub(super) fn open_room(along: Along<'_>, station: f64) -> f64 {
    along.sizes(station).bed_width(&along.wanted.shape).in_metres() / 2.0 + along.channel(station).end
}

/// The channel as it is dug.
#[derive(Debug, Clone)]
pub(super) struct Bed {
    /// What its rows stand square to.
    pub axis: Polyline,
    /// The channel across at each vertex of it.
    pub rows: Vec<Row>,
    /// Its middle there.
    pub middle: Polyline,
    /// Its bed there, metres.
    pub levels: Vec<f64>,
    /// The station of the line that each vertex belongs to.
    pub at: Vec<f64>,
}

impl Bed {
    /// Its axis and rows between two stations at which rows stand.
    pub(super) fn between(&self, from: f64, to: f64) -> Option<(Polyline, Vec<Row>)> {
        let within = |&i: &usize| (from..=to).contains(&self.at[i]);
        let (points, rows) = (0..self.at.len()).filter(within).map(|i| (self.axis.points()[i], self.rows[i])).unzip();
        Some((Polyline::new(points)?, rows))
    }
}

/// The channel along pieces of the line, shifted uphill past each sill by its breadth. The axis that its rows stand square to keeps
/// one offset where the section changes, so that the section at a station is what lies square to the line there.
pub(super) fn bed(
    base: Base<'_>,
    sills: &[Sill],
    crest_above_water: f64,
    water: f64,
    pieces: &[(f64, f64)],
) -> Option<Bed> {
    let Base { line, wanted, along, .. } = base;
    let wing = |sill: &Sill| 2.0 * wing_half_width(&along.sizes(sill.from), crest_above_water) + WING_LAP;
    let shift = |station: f64| {
        sills
            .iter()
            .map(|sill| {
                let (shift, wing) = (sill.breadth + sill.shift, wing(sill));
                let ramp = (PI * (shift * wanted.bend_radius.in_metres() / 2.0).sqrt()).max(2.0);
                let beyond = (sill.from - wing - station).max(station - sill.to - wing).max(0.0);
                // A cosine ramp: its tightest bend, shift / 2 (pi / ramp)^2, stays above the bend radius.
                shift * if beyond < ramp { f64::midpoint(1.0, (PI * beyond / ramp).cos()) } else { 0.0 }
            })
            .fold(0.0, f64::max)
    };
    let offset = along.channel(0.0).bed;
    let (from, to) = (pieces.first()?.0, pieces.last()?.1);
    let mut keep = along.rows(from, to);
    keep.extend(pieces.iter().flat_map(|piece| [piece.0, piece.1]).filter(|&station| station > from && station < to));
    keep.sort_by(f64::total_cmp);
    keep.dedup();
    let places = stations(from, to, &keep).map(|s| (s, line.at_offset(s, offset + shift(s)))).collect();
    let axis = Axis::new(places, &keep)?;
    let rows: Vec<Row> = axis.at.iter().map(|&station| across(along, station, offset, water)).collect();
    let levels = rows.iter().map(|row| row.level).collect();
    let middle = Polyline::new(middle(axis.line.points(), &rows)).filter(|line| line.points().len() == rows.len())?;
    Some(Bed { axis: axis.line, rows, middle, levels, at: axis.at })
}

/// The channel across at a station, its axis at an offset from the line.
fn across(along: Along<'_>, station: f64, offset: f64, water: f64) -> Row {
    let channel = along.channel(station);
    channel_row(along.wanted.ditch(), &along.sizes(station), &channel, along.fall, water).aside(channel.bed - offset)
}

/// The channel across where its line stands at a level, the row's middle on its axis and uphill on the left.
pub(super) fn channel_row(ditch: Ditch<'_>, sizes: &Sizes, channel: &Channel, fall: f64, level: f64) -> Row {
    let up = sizes.uphill_batter.in_horizontal_per_vertical();
    let dish = match ditch.shape {
        ChannelShape::Trapezoid { .. } | ChannelShape::Triangle => Length::ZERO,
        ChannelShape::Parabola { .. } => sizes.depth,
    };
    let profile = Profile {
        sense: Sense::Bowl,
        half_width: sizes.width.in_metres() / 2.0,
        left: up,
        right: channel.downhill,
        end: channel.end_batter,
        height: channel.uphill_depth / (1.0 - fall.max(0.0) * up) * 1.3 + 0.3,
        dish: dish.in_metres(),
        rounded: true,
    };
    Row { level: level - sizes.depth.in_metres(), middle: 0.0, profile }
}

/// The berm across at each vertex of a crest axis.
pub(super) fn berm_rows(along: Along<'_>, axis: &Axis, line: &CrestLine, water: f64) -> Vec<Row> {
    let row = |&station: &f64| {
        let crest_above_water = line.at(station);
        berm_row(&along.sizes(station), &along.berm(station, crest_above_water), along.fall, water)
    };
    axis.at.iter().map(row).collect()
}

/// The berm across where its line stands at a level.
pub(super) fn berm_row(sizes: &Sizes, berm: &BermLine, fall: f64, level: f64) -> Row {
    let batter = sizes.berm_batter.in_horizontal_per_vertical();
    let height = berm.height.max(berm.above_water);
    let steeper = height / (1.0 - fall.max(0.0) * batter) * 1.3 + 0.3;
    let profile = Profile::even(Sense::Roof, sizes.crest.in_metres() / 2.0, batter, steeper);
    Row { level: level + berm.above_water, middle: 0.0, profile }
}

/// How one end of the crest came out.
#[derive(Debug, Clone, Copy)]
pub(super) struct TurnedEnd {
    pub place: Point,
    pub length: f64,
    pub closed: bool,
}

/// The crest's middle lines: one before the first sill, between sills, and after the last; and both ends, of which a sill stands
/// at each that is left open.
pub(super) fn crest_axes(
    base: Base<'_>,
    height: &CrestLine,
    sills: &[Sill],
    settled_crest: f64,
    bed: (f64, f64),
    open: [bool; 2],
) -> (Vec<Axis>, [TurnedEnd; 2]) {
    let Base { line, natural, along, .. } = base;
    let crest = |station: f64| along.berm(station, height.at(station)).crest;
    let half = |station: f64| wing_half_width(&along.sizes(station), height.at(station));
    let ends = [
        bed.0 - end_room(along, 0.0, height.at(0.0)),
        bed.1 + end_room(along, line.length(), height.at(line.length())),
    ];
    let turned = ends.map(|station| turned_uphill(line, natural, station, crest(station), settled_crest));
    let tip = |sill: &Sill| along.channel(sill.from).lip + sill.shift + WING_LAP - half(sill.from);
    let mut axes = Vec::new();
    // Beyond a sill at an end that is left open there is no berm.
    for piece in usize::from(open[0])..=sills.len() - usize::from(open[1]) {
        let start = match piece.checked_sub(1).map(|k| &sills[k]) {
            None => Corner { station: ends[0], offset: crest(ends[0]) + turned[0].1 },
            Some(sill) => Corner { station: sill.to + half(sill.to), offset: tip(sill) },
        };
        let end = match sills.get(piece) {
            None => Corner { station: ends[1], offset: crest(ends[1]) + turned[1].1 },
            Some(sill) => Corner { station: sill.from - half(sill.from), offset: tip(sill) },
        };
        let mut keep = along.rows(start.station, end.station);
        keep.extend(height.bends().filter(|station| (start.station..end.station).contains(station)));
        keep.sort_by(f64::total_cmp);
        keep.dedup();
        let path = path(start, end, &crest, &keep);
        let places = path.into_iter().map(|c| (c.station, line.at_offset(c.station, c.offset))).collect();
        axes.extend(Axis::new(places, &keep));
    }
    let [first, last] = turned.map(|(closed, length, place)| TurnedEnd { place, length, closed });
    let left_open = |station: f64| {
        let place = line.at_offset(station, along.channel(station).lip);
        TurnedEnd { place, length: 0.0, closed: false }
    };
    let first = if open[0] { left_open(bed.0) } else { first };
    let last = if open[1] { left_open(bed.1) } else { last };
    (axes, [first, last])
}

/// A place in station and offset.
#[derive(Debug, Clone, Copy)]
struct Corner {
    station: f64,
    offset: f64,
}

/// From one tip down to the crest's offset, along it, and up to the other tip. Corners are left sharp: the roof over
/// them is rounded outside by its own batter.
fn path(start: Corner, end: Corner, crest: &dyn Fn(f64) -> f64, keep: &[f64]) -> Vec<Corner> {
    let tip = |corner: Corner| {
        let crest = crest(corner.station);
        stations(crest, corner.offset.max(crest), &[]).map(move |offset| Corner { station: corner.station, offset })
    };
    let along = stations(start.station, end.station, keep).map(|station| Corner { station, offset: crest(station) });
    let mut path: Vec<Corner> = tip(start).collect();
    path.reverse();
    path.extend(along.skip(1));
    path.extend(tip(end).skip(1));
    path
}

/// Goes uphill from the crest at a station until natural ground stands at the settled crest: closed or not, how far, and
/// where.
fn turned_uphill(line: &Polyline, ground: &Locator<'_>, station: f64, crest: f64, level: f64) -> (bool, f64, Point) {
    let mut gone = 0.0;
    loop {
        let place = line.at_offset(station, crest + gone);
        match ground.elevation(place) {
            Some(z) if z >= level => return (true, gone, place),
            Some(_) if gone < UPHILL_LIMIT => gone += UPHILL_STEP,
            // Off the survey: end it two metres short of the rim, so that its toe stands on surveyed ground.
            _ => {
                let back = (gone - 2.0).max(0.0);
                return (false, back, line.at_offset(station, crest + back));
            }
        }
    }
}

/// Values from one to another, both and those to keep between them included, in between in even steps of at most [`STEP`].
pub(super) fn stations(from: f64, to: f64, keep: &[f64]) -> impl Iterator<Item = f64> {
    let between = keep.iter().copied().filter(|&value| value > from && value < to);
    let ends: Vec<f64> = std::iter::once(from).chain(between).chain([to]).collect();
    let pieces: Vec<[f64; 2]> = ends.windows(2).map(|pair| [pair[0], pair[1]]).collect();
    std::iter::once(from).chain(pieces.into_iter().flat_map(|[from, to]| {
        let steps = ((to - from) / STEP).ceil().max(1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a line")]
        let count = steps as usize;
        (1..=count).map(move |k| if k == count { to } else { from + (to - from) * k as f64 / steps })
    }))
}

/// Leaves out places where an offset line runs back on itself inside a bend.
fn unfolded(places: Vec<(f64, Point)>) -> Vec<(f64, Point)> {
    let mut kept: Vec<(f64, Point)> = Vec::with_capacity(places.len());
    for (station, point) in places {
        while let [.., (_, before), (_, last)] = kept[..]
            && (last - before).dot(point - last) < 0.0
        {
            kept.pop();
        }
        if kept.last().is_none_or(|(_, last)| last.distance(point) > 0.01) {
            kept.push((station, point));
        }
    }
    kept
}

/// Without the vertices that a line needs only to be sampled evenly (Ramer 1972, Douglas and Peucker 1973); those at stations
/// to keep stay.
fn thinned(places: &[(f64, Point)], keep: &[f64]) -> Vec<(f64, Point)> {
    let held = |station: f64| keep.binary_search_by(|value| value.total_cmp(&station)).is_ok();
    let mut ends: Vec<usize> = (1..places.len().saturating_sub(1)).filter(|&i| held(places[i].0)).collect();
    ends.push(places.len().saturating_sub(1));
    let (mut from, mut kept) = (0, Vec::new());
    for to in ends {
        let piece = &places[from..=to];
        let line = piece.iter().map(|(_, p)| Coord { x: p.x, y: p.y }).collect::<LineString<f64>>();
        kept.extend(line.simplify_idx(THINNING).into_iter().map(|i| piece[i]).skip(usize::from(from > 0)));
        from = to;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_goes_down_along_and_up() {
        let [start, end] = [(0.0, 5.0), (20.0, 1.0)].map(|(station, offset)| Corner { station, offset });
        let path = path(start, end, &|_| -3.0, &[]);
        assert_eq!((path[0].station, path[0].offset), (0.0, 5.0));
        let last = path[path.len() - 1];
        assert_eq!((last.station, last.offset), (20.0, 1.0));
        assert!(path.iter().all(|c| c.offset >= -3.0 - 1e-12 && c.station >= 0.0 && c.station <= 20.0));
        let bottom: Vec<f64> = path.iter().filter(|c| c.offset == -3.0).map(|c| c.station).collect();
        assert_eq!((bottom[0], bottom[bottom.len() - 1]), (0.0, 20.0));
    }
}

//! Where the parts of a swale run in plan: bed axis, crest axes with their turned ends and their wings beside each sill,
//! sill strips.
//!
//! Everything is laid out in station and offset along the faired line (offset positive uphill) and mapped to the ground.
//! At both ends the crest turns uphill until natural ground stands at crest elevation. Beside each sill it turns uphill
//! as far as the lip, or water standing on the ledge would leave round its end below the sill.

use super::section::{BermLine, Channel};
use super::wanted::SwaleWanted;
use crate::geom::{Point, Polyline};
use crate::surface::Locator;
use geo::{Coord, LineString, Simplify};
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
    /// What was asked for.
    pub wanted: &'a SwaleWanted,
    /// The channel's offsets.
    pub channel: &'a Channel,
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
pub(super) fn wing_half_width(wanted: &SwaleWanted, crest_above_water: f64) -> f64 {
    wanted.berm.crest_width() / 2.0 + wanted.berm.batter() * crest_above_water
}

/// Room between an end of the bed and the middle of the crest turned uphill beyond it.
pub(super) fn end_room(wanted: &SwaleWanted, channel: &Channel, crest_above_water: f64) -> f64 {
    channel.end + wanted.ledge.in_metres() + wing_half_width(wanted, crest_above_water)
}

/// The middle of the bed between two stations, shifted uphill past each sill by its breadth.
pub(super) fn bed_axis(
    base: Base<'_>,
    sills: &[Sill],
    crest_above_water: f64,
    (from, to): (f64, f64),
) -> Option<Polyline> {
    let Base { line, wanted, channel, .. } = base;
    let wing = 2.0 * wing_half_width(wanted, crest_above_water) + WING_LAP;
    let shift = |station: f64| {
        sills
            .iter()
            .map(|sill| {
                let shift = sill.breadth + sill.shift;
                let ramp = (PI * (shift * wanted.bend_radius.in_metres() / 2.0).sqrt()).max(2.0);
                let beyond = (sill.from - wing - station).max(station - sill.to - wing).max(0.0);
                // A cosine ramp: its tightest bend, shift / 2 (pi / ramp)^2, stays above the bend radius.
                shift * if beyond < ramp { f64::midpoint(1.0, (PI * beyond / ramp).cos()) } else { 0.0 }
            })
            .fold(0.0, f64::max)
    };
    let points = stations(from, to).map(|s| line.at_offset(s, channel.bed + shift(s))).collect();
    Polyline::new(thinned(&unfolded(points)))
}

/// How one end of the crest came out.
#[derive(Debug, Clone, Copy)]
pub(super) struct TurnedEnd {
    pub place: Point,
    pub length: f64,
    pub closed: bool,
}

/// The crest's middle lines: one before the first sill, between sills, and after the last; and both ends.
pub(super) fn crest_axes(
    base: Base<'_>,
    berm: &BermLine,
    sills: &[Sill],
    settled_crest: f64,
    bed: (f64, f64),
) -> (Vec<Polyline>, [TurnedEnd; 2]) {
    let Base { line, natural, wanted, channel } = base;
    let crest_above_water = berm.above_water;
    let room = end_room(wanted, channel, crest_above_water);
    let half = wing_half_width(wanted, crest_above_water);
    let ends = [bed.0 - room, bed.1 + room];
    let turned = ends.map(|station| turned_uphill(line, natural, station, berm.crest, settled_crest));
    let tip = |sill: &Sill| channel.lip + sill.shift + WING_LAP - half;
    let mut axes = Vec::new();
    for piece in 0..=sills.len() {
        let start = match piece.checked_sub(1).map(|k| &sills[k]) {
            None => Corner { station: ends[0], offset: berm.crest + turned[0].1 },
            Some(sill) => Corner { station: sill.to + half, offset: tip(sill) },
        };
        let end = match sills.get(piece) {
            None => Corner { station: ends[1], offset: berm.crest + turned[1].1 },
            Some(sill) => Corner { station: sill.from - half, offset: tip(sill) },
        };
        let path = path(start, end, berm.crest);
        let points = path.into_iter().map(|c| line.at_offset(c.station, c.offset)).collect();
        axes.extend(Polyline::new(thinned(&unfolded(points))));
    }
    let ends = turned.map(|(closed, length, place)| TurnedEnd { place, length, closed });
    (axes, ends)
}

/// A place in station and offset.
#[derive(Debug, Clone, Copy)]
struct Corner {
    station: f64,
    offset: f64,
}

/// From one tip down to the crest's offset, along it, and up to the other tip. Corners are left sharp: the roof over
/// them is rounded outside by its own batter.
fn path(start: Corner, end: Corner, crest: f64) -> Vec<Corner> {
    let down = stations(crest, start.offset.max(crest)).map(|offset| Corner { station: start.station, offset });
    let along = stations(start.station, end.station).map(|station| Corner { station, offset: crest });
    let up = stations(crest, end.offset.max(crest)).map(|offset| Corner { station: end.station, offset });
    let mut path: Vec<Corner> = down.collect();
    path.reverse();
    path.extend(along.skip(1));
    path.extend(up.skip(1));
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

/// Values from one to another in even steps of at most [`STEP`], both ends included.
fn stations(from: f64, to: f64) -> impl Iterator<Item = f64> {
    let steps = ((to - from) / STEP).ceil().max(1.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a line")]
    let count = steps as usize;
    (0..=count).map(move |k| if k == count { to } else { from + (to - from) * k as f64 / steps })
}

/// Leaves out places where an offset line runs back on itself inside a bend.
fn unfolded(points: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for point in points {
        while kept.len() >= 2 && (kept[kept.len() - 1] - kept[kept.len() - 2]).dot(point - kept[kept.len() - 1]) < 0.0 {
            kept.pop();
        }
        if kept.last().is_none_or(|last| last.distance(point) > 0.01) {
            kept.push(point);
        }
    }
    kept
}

/// Without the vertices that a line needs only to be sampled evenly (Ramer 1972, Douglas and Peucker 1973).
fn thinned(points: &[Point]) -> Vec<Point> {
    let line = points.iter().map(|p| Coord { x: p.x, y: p.y }).collect::<LineString<f64>>();
    line.simplify(THINNING).coords().map(|c| Point::new(c.x, c.y)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_goes_down_along_and_up() {
        let path = path(Corner { station: 0.0, offset: 5.0 }, Corner { station: 20.0, offset: 1.0 }, -3.0);
        assert_eq!((path[0].station, path[0].offset), (0.0, 5.0));
        let last = path[path.len() - 1];
        assert_eq!((last.station, last.offset), (20.0, 1.0));
        assert!(path.iter().all(|c| c.offset >= -3.0 - 1e-12 && c.station >= 0.0 && c.station <= 20.0));
        let bottom: Vec<f64> = path.iter().filter(|c| c.offset == -3.0).map(|c| c.station).collect();
        assert_eq!((bottom[0], bottom[bottom.len() - 1]), (0.0, 20.0));
    }
}

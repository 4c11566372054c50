//! Stakes and as-built shots of a pond or borrow pit, with its spillway.
//!
//! The rim is pegged where the ground is to be broken, and again at the round offset outside it; both kinds name the floor:
//! how far down it is, and how far in its edge lies. Offsets are from the rim, positive outside.

use super::along::steps;
use super::asbuilt::{evenly, sill_shots};
use super::asked::Asked;
use super::setting::{Setting, Spot};
use super::settings::StakeSettings;
use super::stake::{Stake, StakeKind, Target};
use crate::geom::{Point, Polyline, Vector};
use crate::surface::Locator;
use crate::works::pit::Pit;

/// Cosine of the turn from which a rim has a corner: 30 degrees.
const CORNER: f64 = 0.866;
/// Stakes nearer to each other along the rim than this are one, metres.
const SAME: f64 = 1.0;
/// Shots on the floor stand at least this far from its edge, metres.
const OFF_THE_EDGE: f64 = 1.0;

/// The stakes: on the rim, at the offset outside it, and at the head of the ramp.
pub(super) fn stakes(setting: &mut Setting<'_>, pit: &Pit) -> Vec<Stake> {
    let Some(edge) = floor_edge(pit) else { return Vec::new() };
    let design = pit.floor_level.in_metres();
    let outside = setting.settings.offset.in_metres();
    let rim = &pit.rim;
    let stations = round_the_rim(rim, setting.settings.interval.in_metres());
    let mut spots = Vec::new();
    for (kind, offset) in [(StakeKind::Line, 0.0), (StakeKind::Offset, outside)] {
        spots.extend(
            stations
                .iter()
                .map(|&station| (station, rim.at_offset(station, offset)))
                .filter(|&(_, place)| !in_spillway(pit, place))
                .map(|(station, place)| Spot {
                    kind,
                    station,
                    place,
                    target: Target::Bed,
                    at: edge.foot(place).point,
                    design,
                    way: None,
                }),
        );
    }
    if let Some(ramp) = &pit.ramp {
        let place = ramp.axis.last();
        let station = rim.foot(place).station;
        spots.push(Spot {
            kind: StakeKind::Line,
            station,
            place,
            target: Target::Bed,
            at: ramp.axis.first(),
            design,
            way: None,
        });
    }
    let mut stakes: Vec<Stake> = spots.iter().map(|spot| setting.stake(spot)).collect();
    for spillway in &pit.spillways {
        stakes.extend(setting.on_sill(spillway));
        if let Some(outlet) = &spillway.outlet {
            stakes.extend(super::spillway::stakes(setting, outlet));
        }
    }
    stakes
}

/// Is a place in the cut of the spillway, where a stake would be dug out with it.
fn in_spillway(pit: &Pit, place: Point) -> bool {
    let outlets = pit.spillways.iter().filter_map(|spillway| spillway.outlet.as_ref());
    outlets.flat_map(|outlet| &outlet.footprint).any(|cut| cut.contains(place))
}

/// Stations of stakes: every corner of a rim, and even steps between corners.
fn round_the_rim(rim: &Polyline, interval: f64) -> Vec<f64> {
    let (points, stations) = (rim.points(), rim.stations());
    let corner = |i: usize| {
        let before = if i == 0 { points.len() - 2 } else { i - 1 };
        let (a, b) = ((points[i] - points[before]).unit(), (points[i + 1] - points[i]).unit());
        a.dot(b) < CORNER
    };
    let mut corners: Vec<f64> = (0..points.len() - 1).filter(|&i| corner(i)).map(|i| stations[i]).collect();
    if corners.is_empty() {
        corners.push(0.0);
    }
    let first = corners[0];
    // A closed line ends where it begins: one stake stands there.
    corners.push(rim.length() + first);
    let mut all = Vec::new();
    for pair in corners.windows(2) {
        let count = ((pair[1] - pair[0]) / interval).ceil().max(1.0);
        let between = steps(0.0, count - 0.5, 1.0).into_iter().map(|k| pair[0] + (pair[1] - pair[0]) * k / count);
        all.extend(between.filter(|k| k.is_finite()).map(|s| s % rim.length()));
    }
    all.sort_by(f64::total_cmp);
    all.dedup_by(|b, a| *b - *a < SAME);
    all
}

/// The shots to take after the dig: over the floor, and down the sides at sections across it.
pub(super) fn as_built_shots(
    pit: &Pit,
    designed: Option<&Locator<'_>>,
    settings: &StakeSettings,
    asked: &mut Asked<'_>,
) {
    for place in on_floor(pit, settings.as_built_interval.in_metres()) {
        asked.add("bed", "B", "bed", place, pit.floor_level.in_metres());
    }
    for spillway in &pit.spillways {
        for place in evenly(&spillway.lip, sill_shots(spillway, settings).count) {
            asked.add("sill", "S", "sill", place, spillway.sill.in_metres());
        }
    }
    let (Some(designed), Some(edge)) = (designed, floor_edge(pit)) else { return };
    for outlet in pit.spillways.iter().filter_map(|spillway| spillway.outlet.as_ref()) {
        super::spillway::ask(outlet, designed, settings, asked);
    }
    for station in steps(0.0, pit.rim.length() - 1e-3, settings.as_built_section.in_metres()) {
        let (top, foot) = (pit.rim.at(station), edge.foot(pit.rim.at(station)).point);
        for part in [0.0, 0.5] {
            let place = top.towards(foot, part);
            if let Some(elevation) = designed.elevation(place) {
                asked.add("section", "T", "built", place, elevation);
            }
        }
    }
}

/// The edge of the floor as a closed line.
fn floor_edge(pit: &Pit) -> Option<Polyline> {
    let ring = &pit.floor.outer;
    Polyline::new(ring.iter().chain(ring.first()).copied().collect())
}

/// Places over the floor on a square grid that runs with its longest side, clear of its edge; its middle where it is too small
/// for a grid.
fn on_floor(pit: &Pit, step: f64) -> Vec<Point> {
    let Some(edge) = floor_edge(pit) else { return Vec::new() };
    let along = with_longest_side(&edge);
    // Metres along the grid and across it.
    let turned = |p: &Point| (p.x * along.x + p.y * along.y, p.y * along.x - p.x * along.y);
    let corners: Vec<(f64, f64)> = pit.floor.outer.iter().map(turned).collect();
    let places_of = |values: &dyn Fn(&(f64, f64)) -> f64| {
        let low = corners.iter().map(values).fold(f64::INFINITY, f64::min);
        let high = corners.iter().map(values).fold(f64::NEG_INFINITY, f64::max);
        // Rows on the edge itself would all be dropped.
        let count = ((high - low - 2.0 * OFF_THE_EDGE) / step).floor().max(0.0);
        let first = f64::midpoint(low, high) - count * step / 2.0;
        steps(first, first + count * step, step)
    };
    let (across, along_it) = (places_of(&|corner| corner.1), places_of(&|corner| corner.0));
    let inside = |place: &Point| pit.floor.contains(*place) && edge.foot(*place).offset.abs() >= OFF_THE_EDGE - 1e-6;
    let back = |u: f64, v: f64| Point::new(u * along.x - v * along.y, u * along.y + v * along.x);
    let rows = across.into_iter().flat_map(|v| along_it.iter().map(move |&u| back(u, v)));
    let mut places: Vec<Point> = rows.filter(inside).collect();
    if places.is_empty() {
        places.extend(pit.seeds.first());
    }
    places
}

/// The direction of the longest side, or square to it: the one that points most to the east.
fn with_longest_side(edge: &Polyline) -> Vector {
    let sides = edge.points().windows(2).map(|pair| pair[1] - pair[0]);
    let longest = sides.max_by(|a, b| a.dot(*a).total_cmp(&b.dot(*b))).map_or(Vector::new(1.0, 0.0), Vector::unit);
    let square = longest.left();
    let most = if square.x.abs() > longest.x.abs() { square } else { longest };
    if most.x < 0.0 { most * -1.0 } else { most }
}

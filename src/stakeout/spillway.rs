//! Stakes and as-built shots of a spillway's cut: the middle of its floor and the tops of its sides.
//!
//! Stations are those of the cut's own middle, from the start of the approach; offsets are from that middle, positive to the
//! left as the water runs.

use super::along::steps;
use super::asked::Asked;
use super::setting::{Setting, Spot};
use super::settings::StakeSettings;
use super::stake::{Stake, StakeKind, Target, Way};
use crate::geom::{Point, Vector};
use crate::surface::Locator;
use crate::works::Outlet;

/// Steps in which the top of a side is looked for, metres, and how far.
const STEP: f64 = 0.1;
const FARTHEST: f64 = 60.0;

/// Stakes along a cut: on its middle, and where its sides meet the ground.
pub(super) fn stakes(setting: &mut Setting<'_>, outlet: &Outlet) -> Vec<Stake> {
    let half = outlet.width.in_metres() / 2.0;
    let mut found = Vec::new();
    for station in stations(outlet, setting.settings.bend_interval.in_metres()) {
        let (middle, left, floor) = (outlet.axis.at(station), left(outlet, station), outlet.floor_at(station));
        let spot = |place: Point, at: Point, way: Option<Way>| Spot {
            kind: StakeKind::Channel,
            station,
            place,
            target: Target::Bed,
            at,
            design: floor,
            way,
        };
        let mut spots = vec![(spot(middle, middle, None), "middle", 0.0)];
        for (side, sign) in [("left side", 1.0), ("right side", -1.0)] {
            let (edge, out) = (middle + left * (half * sign), left * sign);
            let Some(run) = top(setting.natural, edge, out, floor, outlet) else { continue };
            let offset = (half + run) * sign;
            spots.push((spot(edge + out * run, edge, Some(Way::Inwards)), side, offset));
        }
        for (spot, side, offset) in spots {
            let stake = setting.stake(&spot);
            found.push(Stake { side, offset, ..stake });
        }
    }
    found
}

/// Stations of the cut to stake and to shoot: evenly where there is something to dig on its middle, and both edges of the
/// sill.
fn stations(outlet: &Outlet, step: f64) -> Vec<f64> {
    let (from, to) = outlet.sill;
    let dug = |station: &f64| is_dug(outlet, outlet.axis.at(*station));
    let along = steps(0.0, outlet.axis.length(), STEP);
    let (first, last) = (along.iter().copied().find(dug), along.iter().copied().rfind(dug));
    let mut stations: Vec<f64> = steps(first.unwrap_or(0.0).min(from), from, step);
    stations.extend(steps(to, last.unwrap_or(to).max(to), step));
    stations
}

fn is_dug(outlet: &Outlet, place: Point) -> bool {
    outlet.footprint.iter().any(|cut| cut.contains(place))
}

fn left(outlet: &Outlet, station: f64) -> Vector {
    outlet.axis.direction(station).left()
}

/// How far out from an edge of the floor its side meets natural ground.
fn top(natural: &Locator<'_>, edge: Point, out: Vector, floor: f64, outlet: &Outlet) -> Option<f64> {
    let batter = outlet.batter.in_horizontal_per_vertical();
    let mut run = 0.0;
    while run < FARTHEST {
        if natural.elevation(edge + out * run)? <= floor + run / batter {
            return Some(run);
        }
        run += STEP;
    }
    None
}

/// Asks for the shots to take after the dig, beside the sill's own: across the floor along the cut.
pub(super) fn ask(outlet: &Outlet, designed: &Locator<'_>, settings: &StakeSettings, asked: &mut Asked<'_>) {
    for place in shots(outlet, settings.as_built_interval.in_metres()) {
        if let Some(elevation) = designed.elevation(place) {
            asked.add("channel", "W", "built", place, elevation);
        }
    }
}

/// Places across the floor along the cut, beside the sill.
fn shots(outlet: &Outlet, step: f64) -> Vec<Point> {
    let half = outlet.width.in_metres() / 2.0;
    let (from, to) = outlet.sill;
    let along = stations(outlet, step).into_iter().filter(|&station| station < from - 0.5 || station > to + 0.5);
    along
        .flat_map(|station| {
            let (middle, left) = (outlet.axis.at(station), left(outlet, station));
            [0.8, 0.0, -0.8].map(|share| middle + left * (half * share))
        })
        .filter(|&place| is_dug(outlet, place))
        .collect()
}

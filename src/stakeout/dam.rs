//! Stakes and as-built shots of a dam.
//!
//! The middle of the crest is staked with its own level to build to; both feet are staked where the fill ends, and the
//! axis is pegged beyond both ends, where pegs live through the work. Offsets are from the crest's middle, positive to the
//! water side.

use super::along::steps;
use super::asbuilt::{evenly, sill_shots};
use super::asked::Asked;
use super::setting::{Setting, Spot};
use super::settings::StakeSettings;
use super::stake::{Stake, StakeKind, Target, Way};
use crate::geom::{Point, Vector};
use crate::surface::Locator;
use crate::works::dam::Dam;
use crate::works::distance;

/// A foot this far along the line from a station is beside it, metres.
const ABREAST: f64 = 1.5;
/// A peg beyond an end stands at most so much further out for a spillway's cut, metres.
const FARTHEST_PEG: u32 = 100;

/// The stakes on crest and feet, and the pegs beyond the ends.
pub(super) fn stakes(setting: &mut Setting<'_>, dam: &Dam) -> Vec<Stake> {
    let line = &dam.line;
    let stations = setting.stations(&[]);
    let mut spots = Vec::new();
    for &station in &stations {
        let (place, design) = (line.at(station), dam.built_at(station));
        spots.push(Spot {
            kind: StakeKind::Crest,
            station,
            place,
            target: Target::Crest,
            at: place,
            design,
            way: None,
        });
    }
    for toes in &dam.toes {
        for &station in &stations {
            if let Some(place) = abreast(dam, toes, station) {
                let (at, design) = (line.at(station), dam.built_at(station));
                spots.push(Spot { kind: StakeKind::Toe, station, place, target: Target::Crest, at, design, way: None });
            }
        }
    }
    for (station, sign) in [(0.0, -1.0), (line.length(), 1.0)] {
        let at = line.at(station);
        let place = clear_of_cut(dam, at, line.direction(station) * sign, setting);
        let (design, way) = (dam.built_at(station), Some(Way::Along));
        spots.push(Spot { kind: StakeKind::Offset, station, place, target: Target::Crest, at, design, way });
    }
    let mut stakes: Vec<Stake> = spots.iter().map(|spot| setting.stake(spot)).collect();
    for spillway in &dam.spillways {
        stakes.extend(setting.on_sill(spillway));
        if let Some(outlet) = &spillway.outlet {
            stakes.extend(super::spillway::stakes(setting, outlet));
        }
    }
    stakes
}

/// A peg beyond an end of the line at the round offset, or as many whole metres further as keep it clear of the spillway's
/// cut there.
fn clear_of_cut(dam: &Dam, end: Point, out: Vector, setting: &Setting<'_>) -> Point {
    let (offset, clearance) = (setting.settings.offset.in_metres(), setting.settings.clearance.in_metres());
    let clear = |place: Point| dam.cut_footprint.iter().all(|cut| distance(cut, place) >= clearance);
    let places = (0..=FARTHEST_PEG).map(|k| end + out * (offset + f64::from(k)));
    places.into_iter().find(|&place| clear(place)).unwrap_or(end + out * offset)
}

/// The foot beside a station; `None` where the wall has none there.
fn abreast(dam: &Dam, toes: &[Point], station: f64) -> Option<Point> {
    let far = |toe: &Point| (dam.line.foot(*toe).station - station).abs();
    toes.iter().copied().min_by(|a, b| far(a).total_cmp(&far(b))).filter(|toe| far(toe) <= ABREAST)
}

/// The shots to take after the work: along the crest, and down both faces at sections.
pub(super) fn as_built_shots(
    dam: &Dam,
    designed: Option<&Locator<'_>>,
    settings: &StakeSettings,
    asked: &mut Asked<'_>,
) {
    for spillway in &dam.spillways {
        for place in evenly(&spillway.lip, sill_shots(spillway, settings).count) {
            asked.add("sill", "S", "sill", place, spillway.sill.in_metres());
        }
    }
    let length = dam.line.length();
    for station in steps(0.0, length, settings.as_built_interval.in_metres()) {
        asked.add("crest", "C", "crest", dam.line.at(station), dam.built_at(station));
    }
    let Some(designed) = designed else { return };
    for outlet in dam.spillways.iter().filter_map(|spillway| spillway.outlet.as_ref()) {
        super::spillway::ask(outlet, designed, settings, asked);
    }
    let highest = dam.height.1.in_metres();
    let mut sections = steps(0.0, length, settings.as_built_section.in_metres());
    sections.push(highest);
    for station in sections {
        for toes in &dam.toes {
            let Some(toe) = abreast(dam, toes, station) else { continue };
            for part in [0.0, 0.5] {
                let place = toe.towards(dam.line.at(station), part);
                if let Some(elevation) = designed.elevation(place) {
                    asked.add("section", "T", "built", place, elevation);
                }
            }
        }
    }
}

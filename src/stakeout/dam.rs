//! Stakes and as-built shots of a dam.
//!
//! The middle of the crest is staked with its own level to build to; both feet are staked where the fill ends, and the
//! axis is pegged beyond both ends, where pegs live through the work. Offsets are from the crest's middle, positive to the
//! water side.

use super::along::steps;
use super::asked::Asked;
use super::setting::{Setting, Spot};
use super::settings::StakeSettings;
use super::stake::{Stake, StakeKind, Target, Way};
use crate::geom::Point;
use crate::surface::Locator;
use crate::works::dam::Dam;

/// A foot this far along the line from a station is beside it, metres.
const ABREAST: f64 = 1.5;

/// The stakes on crest and feet, and the pegs beyond the ends.
pub(super) fn stakes(setting: &mut Setting<'_>, dam: &Dam) -> Vec<Stake> {
    let line = &dam.line;
    let stations = setting.stations();
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
    let beyond = setting.settings.offset.in_metres();
    for (station, sign) in [(0.0, -1.0), (line.length(), 1.0)] {
        let at = line.at(station);
        let place = at + line.direction(station) * (sign * beyond);
        let (design, way) = (dam.built_at(station), Some(Way::Along));
        spots.push(Spot { kind: StakeKind::Offset, station, place, target: Target::Crest, at, design, way });
    }
    spots.iter().map(|spot| setting.stake(spot)).collect()
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
    let length = dam.line.length();
    for station in steps(0.0, length, settings.as_built_interval.in_metres()) {
        asked.add("crest", "C", "crest", dam.line.at(station), dam.built_at(station));
    }
    let Some(designed) = designed else { return };
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

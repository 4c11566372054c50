//! The shots to take after the dig, so that the as-built check can answer.
//!
//! Defaults are common practice, no source: the sill every 1 m, crest and bed every 10 m, a cross section every 50 m. The
//! codes are the plain role names, which every code table reads back.

use super::along::steps;
use super::ids::Names;
use super::settings::StakeSettings;
use super::stake::AsBuiltShot;
use crate::geom::{Point, Polyline};
use crate::surface::Locator;
use crate::works::Swale;

/// Cross sections stand at least this far from the ends of the bed, metres.
const CLEAR_OF_END: f64 = 3.0;

/// Shots of one swale; `designed` gives the elevations of cross sections.
pub(super) fn as_built_shots(
    swale: &Swale,
    designed: Option<&Locator<'_>>,
    settings: &StakeSettings,
    letter: &str,
    ids: &mut Names,
) -> Vec<AsBuiltShot> {
    let mut shots = Vec::new();
    let mut add = |part: &'static str, series: &str, code: &str, place: Point, design_elevation: f64| {
        let station = swale.line.foot(place).station;
        shots.push(AsBuiltShot {
            id: ids.give(&format!("{letter}A{series}"), station),
            works: swale.wanted.name.clone(),
            part,
            station,
            place,
            design_elevation,
            code: code.to_owned(),
        });
    };
    for spillway in &swale.spillways {
        for place in every(&spillway.lip, settings.as_built_sill.in_metres()) {
            add("sill", "S", "sill", place, spillway.sill.in_metres());
        }
    }
    for axis in &swale.crest_axes {
        for place in every(axis, settings.as_built_interval.in_metres()) {
            add("crest", "C", "crest", place, swale.crest.built.in_metres());
        }
    }
    for place in every(&swale.bed_axis, settings.as_built_interval.in_metres()) {
        add("bed", "B", "bed", place, swale.section.bed.in_metres());
    }
    let Some(designed) = designed else { return shots };
    let section = &swale.section;
    for station in section_stations(swale, settings.as_built_section.in_metres()) {
        let offsets =
            [section.top_offset, section.bed_offset, section.lip_offset, section.crest_offset, section.toe_offset];
        for offset in offsets {
            let place = swale.line.at_offset(station, offset.in_metres());
            // Off the surface there is nothing to compare with.
            if let Some(elevation) = designed.elevation(place) {
                add("section", "T", code_at(swale, elevation), place, elevation);
            }
        }
    }
    shots
}

/// Stations of cross sections: where the channel has its full section, clear of its ends.
fn section_stations(swale: &Swale, step: f64) -> Vec<f64> {
    let [first, last] = [swale.bed_axis.first(), swale.bed_axis.last()].map(|end| swale.line.foot(end).station);
    let (from, to) = (first + CLEAR_OF_END, last - CLEAR_OF_END);
    if from < to { steps(from, to, step) } else { vec![f64::midpoint(first, last)] }
}

/// A shot of a section that stands on crest or bed is coded so; the rest is on batters and ledge.
fn code_at(swale: &Swale, elevation: f64) -> &'static str {
    let is = |level: f64| (elevation - level).abs() < 0.005;
    if is(swale.crest.built.in_metres()) {
        "crest"
    } else if is(swale.section.bed.in_metres()) {
        "bed"
    } else {
        "built"
    }
}

fn every(line: &Polyline, step: f64) -> Vec<Point> {
    steps(0.0, line.length(), step).into_iter().map(|along| line.at(along)).collect()
}

//! Cross sections between two surfaces as a second method beside the overlay.
//!
//! Each section is cut exactly: both profiles have a point at every edge they cross, between two points their
//! difference is linear. The sum between sections is the handbooks' and overstates what tapers; sections stand square
//! to the line from its first to its last station, so what lies beyond (the turned ends) is not in them.

use super::formulas::{end_area_sum, prismoidal_sum};
use super::quantities::SectionCheck;
use crate::geom::{CompensatedSum, Polyline};
use crate::surface::{CutFill, Locator, ProfilePoint, Tin, profile};
use crate::works::Swale;

/// Greatest distance between sections, metres.
const STEP: f64 = 5.0;
/// How far a section reaches beyond the works' outermost edges on the mean cross slope, metres.
const BEYOND: f64 = 5.0;

/// The cut and fill of a swale by sections; `None` when its line has no length to section.
pub(super) fn section_check(swale: &Swale, before: &Tin, after: &Tin, overlay: &CutFill) -> Option<SectionCheck> {
    let line = &swale.line;
    let (before, after) = (Locator::new(before), Locator::new(after));
    let offsets = [
        swale.section.toe_offset,
        swale.section.crest_offset,
        swale.section.lip_offset,
        swale.section.bed_offset,
        swale.section.top_offset,
    ]
    .map(crate::units::Length::in_metres);
    let low = offsets.iter().copied().fold(f64::INFINITY, f64::min) - BEYOND;
    let high = offsets.iter().copied().fold(f64::NEG_INFINITY, f64::max) + BEYOND;
    let steps = (line.length() / STEP).ceil().max(1.0);
    let step = line.length() / steps;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count bounded by the line's length")]
    let count = steps as u32;
    let areas: Vec<(f64, f64)> = (0..=count)
        .map(|i| {
            let station = step * f64::from(i);
            let section = Polyline::new(vec![line.at_offset(station, low), line.at_offset(station, high)])?;
            Some(section_areas(&profile(&before, &section), &profile(&after, &section)))
        })
        .collect::<Option<_>>()?;
    let cuts: Vec<f64> = areas.iter().map(|area| area.0).collect();
    let fills: Vec<f64> = areas.iter().map(|area| area.1).collect();
    Some(SectionCheck {
        works: swale.wanted.name.clone(),
        spacing_m: step,
        cut_end_area_m3: end_area_sum(step, &cuts),
        fill_end_area_m3: end_area_sum(step, &fills),
        cut_prismoidal_m3: prismoidal_sum(step, &cuts),
        fill_prismoidal_m3: prismoidal_sum(step, &fills),
        cut_overlay_m3: overlay.cut,
        fill_overlay_m3: overlay.fill,
    })
}

/// Areas of cut and of fill between two profiles along one line.
fn section_areas(before: &[ProfilePoint], after: &[ProfilePoint]) -> (f64, f64) {
    let mut stations: Vec<f64> = before.iter().chain(after).map(|point| point.station).collect();
    stations.sort_by(f64::total_cmp);
    stations.dedup();
    let (mut cut, mut fill) = (CompensatedSum::default(), CompensatedSum::default());
    for pair in stations.windows(2) {
        let (Some(from), Some(to)) = (over(before, pair[0], pair[1]), over(after, pair[0], pair[1])) else { continue };
        let (below, above) = parts(pair[1] - pair[0], to.0 - from.0, to.1 - from.1);
        cut.add(below);
        fill.add(above);
    }
    (cut.total(), fill.total())
}

/// Elevations at both ends of a piece that lies between two neighbouring points of the profile; `None` where there is
/// no surface.
fn over(profile: &[ProfilePoint], start: f64, end: f64) -> Option<(f64, f64)> {
    let after = profile.partition_point(|point| point.station <= start);
    let (a, b) = (profile.get(after.checked_sub(1)?)?, profile.get(after)?);
    let (za, zb) = (a.elevation?, b.elevation?);
    let at = |station: f64| za + (zb - za) * (station - a.station) / (b.station - a.station);
    Some((at(start), at(end)))
}

/// Area under and over zero of a difference that runs straight from `first` to `last` along `length`.
fn parts(length: f64, first: f64, last: f64) -> (f64, f64) {
    if first * last >= 0.0 {
        let area = length * f64::midpoint(first, last);
        return ((-area).max(0.0), area.max(0.0));
    }
    let share = first / (first - last);
    let (head, tail) = (length * share * first / 2.0, length * (1.0 - share) * last / 2.0);
    (-(head.min(0.0) + tail.min(0.0)), head.max(0.0) + tail.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_that_crosses_zero_has_both_parts() {
        assert_eq!(parts(3.0, 1.0, -2.0), (2.0, 0.5));
        assert_eq!(parts(3.0, -2.0, 1.0), (2.0, 0.5));
        assert_eq!(parts(2.0, 0.0, 1.0), (0.0, 1.0));
        assert_eq!(parts(2.0, -1.0, -1.0), (2.0, 0.0));
    }

    #[test]
    fn no_area_where_one_surface_is_missing() {
        let point =
            |station: f64, elevation| ProfilePoint { station, place: crate::geom::Point::new(station, 0.0), elevation };
        let flat = [point(0.0, Some(10.0)), point(10.0, Some(10.0))];
        let gap = [
            point(0.0, Some(9.0)),
            point(4.0, Some(9.0)),
            point(5.0, None),
            point(6.0, Some(12.0)),
            point(10.0, Some(12.0)),
        ];
        assert_eq!(section_areas(&flat, &gap), (4.0, 8.0));
    }
}

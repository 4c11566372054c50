//! The line that a swale follows: its contour line traced, led round what must stay, and faired, with its check.
//!
//! Invariant: it keeps the traced ends and the bend radius; where the ground then leaves the water level is in the check.

use super::fair::{self, Limits};
use super::keep::{Keep, Parting};
use super::line::{Room, Traced, trace};
use super::plan::ContourCheck;
use super::reach::reach;
use super::unsurveyed::unsurveyed;
use super::wanted::SwaleWanted;
use super::work::{Kind, Subject};
use super::{WorksError, check, tell};
use crate::geom::{Point, Vector};
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::Locator;
use crate::units::Elevation;

/// The line that a swale follows at a water level: the contour traced and faired, and its check.
pub(super) fn swale_line(
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
    (level, room): (Elevation, Room),
    notes: &mut Vec<Note>,
) -> Result<(Traced, ContourCheck), WorksError> {
    let water = level.in_metres();
    let reach = reach(wanted)?;
    let traced = trace(ground, natural, wanted, water, (reach, room), notes)?;
    let own = reach.uphill.max(reach.downhill);
    let keep = Keep::new(&wanted.obstacles, wanted.clearance.in_metres() + own, wanted.within.as_ref());
    let about = tell::About::swale(wanted);
    let off_level = |place: Point| {
        let beside = [Vector { x: own, y: 0.0 }, Vector { x: 0.0, y: own }];
        let surveyed =
            beside.into_iter().all(|v| [place + v, place + v * -1.0].iter().all(|&p| natural.find(p).is_some()));
        natural.elevation(place).filter(|_| surveyed).map_or(f64::INFINITY, |z| (z - water).abs())
    };
    // Farther off its level than it is deep it is no channel any more: above the ground there, or dug twice as deep.
    let deep = wanted.depth.in_metres();
    let led = keep.led_round(&traced.line, fair::STEP, off_level, Parting { most: deep, first: false });
    let led = led.ok_or_else(|| WorksError::NoRoomForLine {
        swale: wanted.name.clone(),
        water_level: water,
        clear: keep.clear(),
        clearance: wanted.clearance.in_metres(),
    })?;
    tell::led(ground, &about, &led, notes);
    let led = led.line;
    let limits = Limits { radius: wanted.bend_radius.in_metres(), band: wanted.tolerance.in_metres(), keep: &keep };
    let line = fair::fair(&led, natural, water, &limits);
    let off = || WorksError::PlaceOffSurvey {
        works: Subject::new(Kind::Swale, &wanted.name),
        what: "the faired line".to_owned(),
        beyond: unsurveyed(ground, natural, line.with_steps(fair::STEP / 4.0).points().iter().copied()),
    };
    let (_, contour) =
        check::contour_check(&line, natural, Some(water), wanted.tolerance.in_metres()).ok_or_else(off)?;
    let off_contour = contour.worst.abs() > contour.tolerance;
    let gentler = off_contour.then(|| fair::bend_within_band(&led, natural, water, &limits)).flatten();
    tell::line(ground, &about, &line, &contour, (gentler, &keep), notes);
    tell::obstacles(ground, &about, &line, &keep, notes);
    Ok((Traced { line, ..traced }, contour))
}

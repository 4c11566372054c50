//! Natural ground near the lines of works: estimated from the shots where a line runs, so that the line is traced, cut and
//! staked on one ground.
//!
//! The line is traced on the shots' own triangles first, the ground is estimated near it, and the line is traced again: until
//! it stays within what was estimated, three times at most.

use super::asked::Wanted;
use super::channel;
use super::fall_line::{self, FallWanted};
use super::level;
use super::line::{Room, trace};
use super::reach::reach;
use super::wanted::SwaleLevel;
use crate::geom::{Polyline, Vector};
use crate::ground::{Fitted, Fitter, Ground, GroundError};
use crate::survey::{Settings, Survey};

/// Times that the ground is estimated near a line that moves with it.
const ROUNDS: usize = 3;
/// The estimated ground reaches so much farther than the works, metres.
const BEYOND: f64 = 3.0;
/// So far on each side of a line of constant fall on which nothing is dug, metres.
const BESIDE: f64 = 3.0;

/// The ground with estimated heights near the contour lines of swales and lines of constant fall; `None` where it is not made of shots alone or no line
/// can be traced, which the design then tells.
///
/// # Errors
/// [`GroundError`] should the surface not take the heights.
pub fn natural_ground(
    ground: &Ground,
    survey: &Survey,
    settings: &Settings,
    wanted: &[Wanted],
    fall_lines: &[FallWanted],
) -> Result<Option<Fitted>, GroundError> {
    let Some(mut fitter) = Fitter::new(ground, survey, settings) else { return Ok(None) };
    let (mut lines, mut widest) = lines(ground, wanted, fall_lines);
    if lines.is_empty() {
        return Ok(None);
    }
    widest += BEYOND;
    let mut fitted = fitter.near(&lines, widest)?;
    for _ in 1..ROUNDS {
        let (again, _) = self::lines(&fitted.ground, wanted, fall_lines);
        let strays = |line: &Polyline| {
            line.points().iter().any(|&place| lines.iter().all(|old| old.foot(place).offset.abs() > BEYOND))
        };
        let strayed: Vec<Polyline> = again.into_iter().filter(strays).collect();
        if strayed.is_empty() {
            break;
        }
        lines.extend(strayed);
        fitted = fitter.near(&lines, widest)?;
    }
    Ok(Some(fitted))
}

/// The lines of swales and of constant fall as they run on a ground, the places that a water level is taken from, and the farthest reach of the
/// works from them.
fn lines(ground: &Ground, wanted: &[Wanted], fall_lines: &[FallWanted]) -> (Vec<Polyline>, f64) {
    let locator = ground.locator();
    let (mut lines, mut widest) = (Vec::new(), 0.0_f64);
    for work in wanted {
        let Wanted::Swale(swale) = work else { continue };
        // What cannot be traced is told by the design, which traces again.
        let mut untold = Vec::new();
        let traced = level::of_swale(ground, &locator, swale, &mut untold).and_then(|found| {
            let reach = reach(swale)?;
            widest = widest.max(reach.uphill).max(reach.downhill);
            trace(ground, &locator, swale, found.level.in_metres(), (reach, Room::AtEnds), &mut untold)
        });
        lines.extend(traced.ok().map(|traced| traced.line));
        // Where a level is taken from the ground, the ground is to be known.
        if let SwaleLevel::From(level) = &swale.water_level
            && let Some(place) = level.place()
        {
            lines.extend(Polyline::new(vec![place, place + Vector { x: 0.1, y: 0.0 }]));
        }
    }
    for asked in fall_lines {
        lines.extend(fall_line::trace(&locator, asked).ok().map(|traced| traced.line));
        widest = widest.max(asked.channel.as_ref().map_or(BESIDE, channel::reach));
    }
    (lines, widest)
}

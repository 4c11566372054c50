//! The lower end of a drain: where its bed lies in the ground, a run-out down the slope until the ground lies at its floor; then
//! over natural ground, into another work, or nowhere, which is told.

use super::{Ending, RunOut};
use crate::geom::{Point, Polyline};
use crate::surface::{Locator, Tin};
use crate::units::{Elevation, Fall, Flow, Length};
use crate::water::channel::{Across, Cover, Run};
use crate::works::WorksError;
use crate::works::apply::{Owner, lay};
use crate::works::outlet::descent;
use crate::works::spillway::{exit_floor, way_out};
use crate::works::strip::{Profile, Sense};
use crate::works::work::SitePlan;

/// A bed that ends so little below the ground is level with it, metres.
const LEVEL: f64 = 0.03;
/// How far on the floor of a run-out is looked for ground that lies no higher, metres.
const LEAST_LEFT: f64 = 0.05;
/// Natural ground below an end counts over this length, metres.
const BELOW: f64 = 10.0;

/// The lower end of a bed.
pub(super) struct LowerEnd<'a> {
    /// The surface that earlier works leave.
    pub before: &'a Tin,
    pub plan: &'a SitePlan,
    pub at: Point,
    pub level: f64,
    pub fall: Fall,
    /// Width of the floor on.
    pub width: Length,
    pub batter: f64,
    pub flow: Flow,
    pub cover: Cover,
}

/// How it was let out.
pub(super) struct LetOut {
    pub tin: Option<(Tin, Vec<crate::geom::Polygon>, f64)>,
    pub run_out: Option<RunOut>,
    pub ending: Ending,
}

impl LowerEnd<'_> {
    /// Cuts the run-out in the surface with the channel dug and tells where its water goes.
    pub(super) fn let_out(&self, dug: &Tin, owner: Owner<'_>) -> Result<LetOut, WorksError> {
        let before = Locator::new(self.before);
        if let Some(into) = self.into(self.at) {
            return Ok(LetOut { tin: None, run_out: None, ending: into });
        }
        let below = before.elevation(self.at).unwrap_or(self.level) - self.level;
        if below <= LEVEL {
            return Ok(LetOut { tin: None, run_out: None, ending: self.on_ground(&before, self.at) });
        }
        let hole =
            |at_rim| LetOut { tin: None, run_out: None, ending: Ending::Hole { below: Length::metres(below), at_rim } };
        let Some(path) = way_out(&before, self.at) else { return Ok(hole(false)) };
        let fall = self.fall.in_ratio();
        let Some(floor) = exit_floor(&before, &path, self.level, fall) else { return Ok(hole(false)) };
        // Still in the ground where the way down ends: at the rim of the survey, in a hollow, or after too long.
        let end = floor.axis.last();
        let left = before.elevation(end).unwrap_or(f64::INFINITY) - floor.levels[floor.levels.len() - 1];
        let into = self.into(end);
        if left > LEAST_LEFT && into.is_none() {
            return Ok(hole(before.elevation(path.last()).is_none()));
        }
        let half_width = self.width.in_metres() / 2.0;
        let batter = self.batter;
        let profile = Profile {
            sense: Sense::Bowl,
            half_width,
            left: batter,
            right: batter,
            end: batter,
            height: 1.3 * below + 0.3,
            dish: 0.0,
            rounded: true,
        };
        let laid = match lay(dug, &floor.axis, &floor.levels, &profile, owner) {
            Ok(laid) => laid,
            Err(WorksError::LeavesSurvey { .. }) => return Ok(hole(true)),
            Err(error) => return Err(error),
        };
        let ending = into.unwrap_or_else(|| self.on_ground(&before, end));
        let run_out = Some(RunOut { axis: floor.axis, levels: floor.levels, width: self.width });
        Ok(LetOut { tin: Some((laid.tin, laid.footprint, laid.largest_difference)), run_out, ending })
    }

    /// The earlier work in whose dig or water a place lies.
    fn into(&self, place: Point) -> Option<Ending> {
        let dug = |work: &crate::works::Shared<'_>| work.cut_footprint.iter().any(|region| region.contains(place));
        let wet = |work: &crate::works::Shared<'_>| work.pool.is_some_and(|pool| pool.covers(self.before)(place));
        let work = self.plan.shared().find(|work| dug(work) || wet(work))?;
        let stands = work.pool.map(|pool| pool.water_level - Elevation::metres(self.level));
        Some(Ending::Into { works: work.name.to_owned(), stands })
    }

    fn on_ground(&self, before: &Locator<'_>, at: Point) -> Ending {
        let fall = Polyline::new(descent(before, at)).and_then(|path| {
            let length = path.length().min(BELOW);
            Some((before.elevation(path.first())? - before.elevation(path.at(length))?) / length)
        });
        let fall = Fall::ratio(fall.unwrap_or(0.0).max(0.0));
        let floor = Across::Sides {
            bottom: self.width,
            batters: [crate::units::Batter::horizontal_per_vertical(self.batter); 2],
        };
        Ending::Ground { at, fall, run: Run::of(floor, self.flow, fall, self.cover) }
    }
}

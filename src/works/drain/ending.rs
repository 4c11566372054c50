//! The lower end of a drain: where its bed lies in the ground, a run-out down the slope until the ground lies at its floor; then
//! over natural ground, into another work, or nowhere, which is told.

use super::{Ending, RunOut};
use crate::geom::{Point, Polyline};
use crate::ground::Ground;
use crate::surface::{Drainage, Locator, Tin, WayEnd};
use crate::units::{Batter, Elevation, Fall, Flow, Length};
use crate::water::channel::{Across, Cover, Run};
use crate::works::WorksError;
use crate::works::apply::{Owner, lay};
use crate::works::below::{Below, STEP, way_below};
use crate::works::spillway::EXIT_LENGTH;
use crate::works::strip::{Profile, Sense};
use crate::works::work::SitePlan;

/// A bed that ends so little below the ground is level with it, metres.
const LEVEL: f64 = 0.03;
/// Ground less than this above the floor of a run-out is left as it is, metres.
const LEAST_CUT: f64 = 0.02;
/// How far a run-out is looked for at most, metres.
const FARTHEST: f64 = 100.0;
/// Steps of its middle, metres.
const ALONG: f64 = 2.0;
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
    pub below: Option<Polyline>,
}

impl LowerEnd<'_> {
    /// Cuts the run-out in the surface with the channel dug and tells where its water goes.
    pub(super) fn let_out(&self, dug: &Tin, owner: Owner<'_>) -> Result<LetOut, WorksError> {
        let before = Locator::new(self.before);
        let drainage = Drainage::new(&before);
        if let Some(into) = self.into(self.at) {
            return Ok(LetOut { tin: None, run_out: None, ending: into, below: None });
        }
        let below = before.elevation(self.at).unwrap_or(self.level) - self.level;
        if below <= LEVEL {
            let (ending, below) = self.on_ground(&drainage, self.at, owner.ground);
            return Ok(LetOut { tin: None, run_out: None, ending, below });
        }
        let hole = |at_rim| LetOut {
            tin: None,
            run_out: None,
            ending: Ending::Hole { below: Length::metres(below), at_rim },
            below: None,
        };
        let Below { path, end, .. } = way_below(&drainage, self.at, FARTHEST);
        let Some(path) = path else { return Ok(hole(false)) };
        let fall = self.fall.in_ratio();
        // To the first place where the ground lies at the floor, or the dig or water of an earlier work.
        let comes_out = |&station: &f64| {
            let (place, floor) = (path.at(station), self.level - fall * station);
            before.elevation(place).is_some_and(|z| z <= floor + LEAST_CUT) || self.into(place).is_some()
        };
        let Some(out) = path.stations().iter().copied().find(comes_out) else {
            // At the rim of the survey, in a hollow, or after too long.
            return Ok(hole(end == WayEnd::Rim));
        };
        let Some(axis) = path.between(0.0, out + STEP).map(|way| way.resampled(ALONG)) else {
            return Ok(hole(false));
        };
        let levels: Vec<f64> = axis.stations().iter().map(|&station| self.level - fall * station).collect();
        let end = path.at(out);
        let into = self.into(end);
        let half_width = self.width.in_metres() / 2.0;
        let batter = self.batter;
        let profile = Profile::even(Sense::Bowl, half_width, batter, 1.3 * below + 0.3);
        let laid = match lay(dug, &axis, &levels, &profile, owner) {
            Ok(laid) => laid,
            Err(WorksError::LeavesSurvey { .. }) => return Ok(hole(true)),
            Err(error) => return Err(error),
        };
        let (ending, below) = into.map_or_else(|| self.on_ground(&drainage, end, owner.ground), |into| (into, None));
        let run_out = Some(RunOut { axis, levels, width: self.width });
        Ok(LetOut { tin: Some((laid.tin, laid.footprint, laid.largest_difference)), run_out, ending, below })
    }

    /// The earlier work in whose dig or water a place lies.
    fn into(&self, place: Point) -> Option<Ending> {
        let dug = |work: &crate::works::Shared<'_>| work.cut_footprint.iter().any(|region| region.contains(place));
        let wet = |work: &crate::works::Shared<'_>| work.pool.is_some_and(|pool| pool.covers(self.before)(place));
        let work = self.plan.shared().find(|work| dug(work) || wet(work))?;
        let stands = work.pool.map(|pool| pool.water_level - Elevation::metres(self.level));
        let below = Locator::new(self.before).elevation(place).map_or(0.0, |z| z - self.level).max(0.0);
        let drop = work.pool.map_or(Length::ZERO, |pool| Elevation::metres(self.level) - pool.bottom).max(Length::ZERO);
        Some(Ending::Into { works: work.name.to_owned(), stands, below: Length::metres(below), drop })
    }

    /// How the water runs over natural ground from a place, and its way; no fall where the way leaves the ground too soon.
    fn on_ground(&self, drainage: &Drainage<'_>, at: Point, ground: &Ground) -> (Ending, Option<Polyline>) {
        let Below { path: way, end, .. } = way_below(drainage, at, EXIT_LENGTH);
        let known = way.as_ref().map_or(0.0, Polyline::length);
        if end == WayEnd::Rim && known < BELOW {
            let edge = ground.edge_near(way.as_ref().map_or(at, Polyline::last));
            return (Ending::Edge { at, known: Length::metres(known), edge }, way);
        }
        let before = Locator::new(self.before);
        let fall = way.as_ref().and_then(|path| {
            let length = known.min(BELOW);
            (length > 0.0).then_some(())?;
            Some((before.elevation(path.first())? - before.elevation(path.at(length))?) / length)
        });
        let fall = Fall::ratio(fall.unwrap_or(0.0).max(0.0));
        let batters = [Batter::horizontal_per_vertical(self.batter); 2];
        let floor = Across::Sides { bottom: self.width, batters };
        (Ending::Ground { at, fall, run: Run::of(floor, self.flow, fall, self.cover) }, way)
    }
}

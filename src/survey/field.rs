//! The ground between the shots of a survey: its height at any place, and how sure that is.

use super::check::reckoned;
use super::surroundings::Surroundings;
use super::{Settings, Shot, Survey, sigma};
use crate::geom::Point;
use crate::notes::{Silent, each};
use crate::stats::{Estimate, Measured};
use crate::units::Length;

/// The ground as a survey's kept shots and what they taught know it. Breaklines part it: shots across one have no say.
#[derive(Debug)]
pub struct GroundField {
    surroundings: Surroundings,
    widening: f64,
}

impl Survey {
    /// The ground between the shots. Costs little when the survey was checked; a survey put together by hand teaches
    /// first.
    #[must_use]
    pub fn field(&self, settings: &Settings) -> GroundField {
        let settings = &reckoned(settings, self.repeats);
        let shots: Vec<Option<&Shot>> = self.shots.iter().map(Some).collect();
        let lines: Vec<Vec<usize>> =
            self.breaklines.iter().map(|line| line.iter().map(|&i| i as usize).collect()).collect();
        let variances: Vec<f64> = self.shots.iter().map(|shot| sigma::variance(&shot.quality, settings)).collect();
        let mut surroundings = Surroundings::new(&shots, &lines, &variances, self.learned.clone());
        if self.learned.is_none() {
            // Nobody can stop what tells nobody.
            let _ = surroundings.learn((&Silent, ""));
        }
        GroundField { surroundings, widening: self.scatter.widening }
    }
}

impl Survey {
    /// How rough the ground is under the pole, as it is reckoned with: what the user said, else what places shot twice show,
    /// else the default.
    #[must_use]
    pub fn roughness(&self, settings: &Settings) -> Length {
        reckoned(settings, self.repeats).roughness
    }
}

impl GroundField {
    /// Height of the ground and its standard error at a place, metres, widened as the survey's own shots asked for;
    /// `None` where too few shots stand round it. Costs a tenth of a millisecond.
    #[must_use]
    pub fn at(&self, place: Point) -> Option<Estimate> {
        let estimate = self.surroundings.at(place)?;
        Some(Estimate { standard_error: self.widening * estimate.standard_error, ..estimate })
    }

    /// The same at many places, on all of the machine's cores.
    #[must_use]
    pub fn at_each(&self, places: &[Point]) -> Vec<Option<Estimate>> {
        each(places.len(), |k| self.at(places[k]))
    }

    /// One of the survey's shots as a height with the variance that it is reckoned with.
    #[must_use]
    pub fn shot(&self, i: usize) -> Measured {
        self.surroundings.shot(i)
    }

    /// The shots round a place that no breakline hides from it, nearest first.
    #[must_use]
    pub fn around(&self, place: Point) -> Vec<Measured> {
        self.surroundings.around(place)
    }

    /// How far off the estimate at a shot is when the shots within so many metres of it are not there, metres: what an empty
    /// patch of that size hides there. `None` with too few shots outside.
    #[must_use]
    pub fn off_without(&self, i: usize, radius: f64) -> Option<f64> {
        Some(self.surroundings.without_disc(i, radius)?.height - self.surroundings.shot(i).height)
    }
}

//! What the ground between the shots of a survey may hide: the standard error of the ground at any place.

use super::candidate::Candidate;
use super::surroundings::Surroundings;
use super::{Role, Settings, Survey, sigma, strings};
use crate::geom::Point;

impl Survey {
    /// Standard error of the ground's height at places, metres, from the kept shots and the roughness of the ground as
    /// they show it; widened as the survey's own shots asked for. `None` where too few shots stand round a place.
    #[must_use]
    pub fn standard_errors(&self, settings: &Settings, places: &[Point]) -> Vec<Option<f64>> {
        let all: Vec<Candidate> = self
            .shots
            .iter()
            .map(|shot| Candidate {
                shot: shot.clone(),
                read: settings.roles.read(&shot.code),
                against: None,
                grid: Point::new(0.0, 0.0),
                keep: false,
            })
            .collect();
        let lines = strings::lines(&all, Role::Breakline);
        let variances = sigma::variances(&all, settings);
        let surroundings = Surroundings::new(&all, &lines, &variances);
        let widening = self.scatter.widening;
        places.iter().map(|&place| surroundings.standard_error_at(place).map(|error| widening * error)).collect()
    }
}

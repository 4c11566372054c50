//! A survey in figures.

use super::{Role, Survey, neighbours};
use crate::geom::Point;
use std::collections::BTreeMap;

/// A survey in figures, for `survey.json` and the screen.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct SurveyFigures {
    /// Lines that held a shot.
    pub shots_read: usize,
    /// Of them used.
    pub shots_kept: usize,
    /// Of them set aside.
    pub shots_set_aside: usize,
    /// Set aside, by reason.
    #[serde(serialize_with = "as_keys")]
    pub set_aside_by_reason: BTreeMap<String, usize>,
    /// Kept shots by role.
    pub kept_by_role: BTreeMap<String, usize>,
    /// Ground points of clouds.
    pub cloud_points: usize,
    /// Breaklines.
    pub breaklines: usize,
    /// Median distance to the nearest other ground shot, metres.
    pub spacing_m: f64,
    /// Median stated vertical sigma of kept shots; `None` when no file states one.
    pub vertical_sigma_m: Option<f64>,
    /// Median stated horizontal sigma of kept shots.
    pub horizontal_sigma_m: Option<f64>,
    /// Kept shots that state no vertical sigma.
    pub without_sigma: usize,
    /// Places shot twice.
    pub repeats: super::Repeats,
    /// Kept shots that stand off their neighbours.
    pub doubtful: usize,
    /// How the shots scatter about the ground.
    pub scatter: super::Scatter,
    /// Median standard deviation of a shot against its neighbours, metres; `None` when none could be judged.
    pub neighbours_sigma_m: Option<f64>,
    /// Shots that their neighbours could not judge.
    pub not_judged: usize,
    /// Check shots compared with a mark.
    pub checks: usize,
    /// Of them beyond the limits.
    pub checks_out: usize,
}

/// Reasons as keys: `not fixed (float)` becomes `not_fixed_float`.
fn as_keys<S: serde::Serializer>(by_reason: &BTreeMap<String, usize>, to: S) -> Result<S::Ok, S::Error> {
    to.collect_map(by_reason.iter().map(|(reason, count)| {
        let words = reason.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
        (words.collect::<Vec<_>>().join("_").to_lowercase(), count)
    }))
}

impl Survey {
    /// The survey in figures.
    #[must_use]
    pub fn figures(&self) -> SurveyFigures {
        let mut set_aside_by_reason = BTreeMap::new();
        for row in &self.set_aside {
            *set_aside_by_reason.entry(row.reason.clone()).or_default() += 1;
        }
        let mut kept_by_role = BTreeMap::new();
        for shot in &self.shots {
            *kept_by_role.entry(shot.role.name().replace('-', "_")).or_default() += 1;
        }
        let sigmas = |of: fn(&super::Quality) -> Option<f64>| -> Vec<f64> {
            self.shots.iter().filter_map(|shot| of(&shot.quality)).collect()
        };
        let vertical = sigmas(|quality| quality.vertical_sigma);
        SurveyFigures {
            shots_read: self.shots.len() + self.set_aside.len(),
            shots_kept: self.shots.len(),
            shots_set_aside: self.set_aside.len(),
            set_aside_by_reason,
            kept_by_role,
            cloud_points: self.cloud.len(),
            breaklines: self.breaklines.len(),
            spacing_m: self.spacing(),
            vertical_sigma_m: crate::stats::median(&vertical),
            horizontal_sigma_m: crate::stats::median(&sigmas(|quality| quality.horizontal_sigma)),
            without_sigma: self.shots.len() - vertical.len(),
            repeats: self.repeats,
            doubtful: self.doubtful.len(),
            scatter: self.scatter,
            neighbours_sigma_m: crate::stats::median(
                &self.neighbours.iter().flatten().map(|among| among.sigma).collect::<Vec<_>>(),
            ),
            not_judged: self
                .shots
                .iter()
                .filter(|shot| shot.role.is_ground())
                .count()
                .saturating_sub(self.neighbours.iter().flatten().count()),
            checks: self.checks.len(),
            checks_out: self.checks.iter().filter(|check| !check.within).count(),
        }
    }

    /// Median distance from a ground shot to the nearest other one (repeats within 0.10 m not counted), metres; zero
    /// with fewer than two.
    #[must_use]
    pub fn spacing(&self) -> f64 {
        let ground = self.shots.iter().filter(|shot| shot.role.is_ground());
        let places: Vec<Point> = ground.map(|shot| shot.place).collect();
        neighbours::spacing(&places, 0.10)
    }

    /// Kept shots of one role, in file order.
    pub fn of_role(&self, role: Role) -> impl Iterator<Item = &super::Shot> {
        self.shots.iter().filter(move |shot| shot.role == role)
    }
}

//! What a plan is drawn from: the site, and its breaklines, services and stakes as lines and marks.
//!
//! Invariant: shots of a service join into one run only where they follow each other under one code in one file.

use crate::draw::scene::Shape;
use crate::draw::words::Words;
use crate::geom::Point;
use crate::ground::Ground;
use crate::stakeout::{StakeKind, StakeList};
use crate::survey::{Role, Shot, Survey};
use crate::units::Figures;
use crate::works::SitePlan;

/// What a plan shows.
#[derive(Debug, Clone, Copy)]
pub struct PlanInput<'a> {
    /// Natural ground.
    pub ground: &'a Ground,
    /// Marks, services and breaklines.
    pub survey: &'a Survey,
    /// The works.
    pub plan: &'a SitePlan,
    /// The stakes.
    pub stakes: &'a StakeList,
    /// How numbers are written.
    pub figures: Figures,
    /// Whose words.
    pub words: &'static Words,
}

/// Breaklines as runs of places.
pub(in crate::draw) fn survey_lines(survey: &Survey) -> Vec<Vec<Point>> {
    let place = |&i: &u32| survey.shots.get(i as usize).map(|shot| shot.place);
    survey.breaklines.iter().map(|line| line.iter().filter_map(place).collect()).collect()
}

/// Services as runs of places with their code: shots of one code that follow each other in one file.
#[must_use]
pub fn service_runs(shots: &[Shot]) -> Vec<(String, Vec<Point>)> {
    let mut runs: Vec<(String, u32, Vec<Point>)> = Vec::new();
    for shot in shots.iter().filter(|shot| shot.role == Role::Service) {
        match runs.last_mut() {
            Some((code, file, run)) if *code == shot.code && *file == shot.file => run.push(shot.place),
            _ => runs.push((shot.code.clone(), shot.file, vec![shot.place])),
        }
    }
    runs.into_iter().map(|(code, _, run)| (code, run)).collect()
}

/// The mark of a stake by its series.
pub(in crate::draw) const fn stake_shape(kind: StakeKind) -> Shape {
    match kind {
        StakeKind::Line => Shape::Dot,
        StakeKind::Offset => Shape::OpenSquare,
        StakeKind::Sill => Shape::Wedge,
        StakeKind::Crest => Shape::Diamond,
        StakeKind::Toe => Shape::Ring,
        StakeKind::Channel => Shape::Square,
    }
}

//! The fit in height: one shift, or a shift with a tilt.

use super::{FitError, MarkTest, Settled, Step, settle};
use crate::geom::Point;
use crate::stats::Observations;

/// What may change in height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeightModel {
    /// One shift for the whole site; one mark does.
    Shift,
    /// A shift and a tilt; three marks that do not stand on one line do.
    Plane,
}

impl HeightModel {
    /// Marks that just determine it.
    #[must_use]
    pub const fn least_marks(self) -> usize {
        match self {
            Self::Shift => 1,
            Self::Plane => 3,
        }
    }

    const fn what(self) -> &'static str {
        match self {
            Self::Shift => "a shift in height",
            Self::Plane => "a tilted plane in height",
        }
    }
}

/// A mark's elevation as surveyed and as given, metres.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightPair {
    /// Its name.
    pub mark: String,
    /// Where it stands.
    pub place: Point,
    /// Its elevation in the survey.
    pub surveyed: f64,
    /// Its elevation as known.
    pub given: f64,
}

/// `given = surveyed + shift + tilt_east (x - about.x) + tilt_north (y - about.y)`.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(into = "Wire", from = "Wire")]
pub struct HeightChange {
    /// Shift at the middle of the marks, metres.
    pub shift: f64,
    /// Rise of the shift towards the east, metres a metre.
    pub tilt_east: f64,
    /// Rise of the shift towards the north, metres a metre.
    pub tilt_north: f64,
    /// Middle of the marks.
    pub about: Point,
}

/// How it is written: sizes that keep their meaning when numbers are rounded to a millionth.
#[derive(serde::Serialize, serde::Deserialize)]
struct Wire {
    shift_m: f64,
    tilt_east_ppm: f64,
    tilt_north_ppm: f64,
    about: Point,
}

impl From<HeightChange> for Wire {
    fn from(change: HeightChange) -> Self {
        Self {
            shift_m: change.shift,
            tilt_east_ppm: change.tilt_east * 1e6,
            tilt_north_ppm: change.tilt_north * 1e6,
            about: change.about,
        }
    }
}

impl From<Wire> for HeightChange {
    fn from(wire: Wire) -> Self {
        Self {
            shift: wire.shift_m,
            tilt_east: wire.tilt_east_ppm * 1e-6,
            tilt_north: wire.tilt_north_ppm * 1e-6,
            about: wire.about,
        }
    }
}

impl HeightChange {
    /// What is added to an elevation at a place.
    #[must_use]
    pub fn at(&self, place: Point) -> f64 {
        let away = place - self.about;
        self.shift + self.tilt_east * away.x + self.tilt_north * away.y
    }
}

/// A fit in height.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightFit {
    /// The change it makes.
    pub change: HeightChange,
    /// Every mark, in the order given.
    pub marks: Vec<MarkTest>,
    /// Spare observations: marks that take part less the unknowns.
    pub degrees: usize,
    /// Scatter against the given standard deviation, about one when that is right; `None` with nothing spare.
    pub unit_sigma: Option<f64>,
    /// Covariance of shift, tilt east, tilt north.
    covariance: Vec<Vec<f64>>,
}

impl HeightFit {
    /// Standard error of the change at a place, metres: it grows away from the marks where a tilt was fitted.
    #[must_use]
    pub fn standard_error_at(&self, place: Point) -> f64 {
        let away = place - self.change.about;
        let row = [1.0, away.x, away.y];
        let known = self.covariance.len();
        let sum: f64 = (0..known)
            .flat_map(|i| (0..known).map(move |j| (i, j)))
            .map(|(i, j)| row[i] * self.covariance[i][j] * row[j])
            .sum();
        sum.max(0.0).sqrt()
    }
}

/// Fits marks in height. `sigma` is the standard deviation of an elevation, mark and observation together, metres.
///
/// # Errors
/// [`FitError`] when the marks are too few, or on one line where a plane is asked for.
///
/// # Panics
/// When `sigma` is not above zero.
pub fn fit_heights(pairs: &[HeightPair], model: HeightModel, sigma: f64) -> Result<HeightFit, FitError> {
    if pairs.len() < model.least_marks() {
        return Err(FitError::TooFewMarks { what: model.what(), needed: model.least_marks(), found: pairs.len() });
    }
    let settled: Settled<HeightChange> = settle(pairs.len(), 1, |used| step(pairs, used, model, sigma))?;
    let names: Vec<&str> = pairs.iter().map(|pair| pair.mark.as_str()).collect();
    let marks = settled
        .tests(&names, |change, mark| vec![pairs[mark].surveyed + change.at(pairs[mark].place) - pairs[mark].given]);
    let adjusted = settled.step.adjusted;
    Ok(HeightFit {
        change: settled.step.change,
        marks,
        degrees: adjusted.degrees,
        unit_sigma: adjusted.unit_sigma,
        covariance: adjusted.covariance,
    })
}

pub(super) fn step(
    pairs: &[HeightPair],
    used: &[usize],
    model: HeightModel,
    sigma: f64,
) -> Result<Step<HeightChange>, FitError> {
    let count = used.len() as f64;
    let first = pairs[used[0]].place;
    let sum = used.iter().fold(Point::new(0.0, 0.0), |sum, i| {
        let away = pairs[*i].place - first;
        Point::new(sum.x + away.x, sum.y + away.y)
    });
    let about = Point::new(first.x + sum.x / count, first.y + sum.y / count);
    let unknowns = model.least_marks();
    let mut observations = Observations::of(unknowns);
    for pair in used.iter().map(|i| &pairs[*i]) {
        let away = pair.place - about;
        observations.push(&[1.0, away.x, away.y][..unknowns], pair.given - pair.surveyed, sigma);
    }
    let failed = || FitError::NotDetermined { what: model.what(), why: "they stand on one line" };
    let adjusted = observations.adjust().ok_or_else(failed)?;
    let at = |i: usize| adjusted.parameters.get(i).copied().unwrap_or_default();
    let change = HeightChange { shift: at(0), tilt_east: at(1), tilt_north: at(2), about };
    Ok(Step { adjusted, change })
}

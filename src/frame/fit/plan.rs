//! The fit in plan: a shift, a turn and a shift at a fixed scale, or a similarity with its scale free.
//!
//! Coordinates are reduced to the middle of the marks before anything is solved, so that grid coordinates of seven
//! figures lose nothing.

use super::{FitError, MarkTest, Settled, Standing, Step, settle};
use crate::geom::{Point, Vector};
use crate::stats::Observations;

/// What may change in plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlanModel {
    /// Shift only; one mark does.
    Shift,
    /// Turn and shift, at this scale (given over surveyed); two marks do.
    Turn {
        /// One, or the factor between the two grids where it is known.
        scale: f64,
    },
    /// Turn, scale and shift; two marks do.
    Similarity,
}

impl PlanModel {
    /// Marks that just determine it.
    #[must_use]
    pub const fn least_marks(self) -> usize {
        match self {
            Self::Shift => 1,
            Self::Turn { .. } | Self::Similarity => 2,
        }
    }

    const fn what(self) -> &'static str {
        match self {
            Self::Shift => "a shift in plan",
            Self::Turn { .. } => "a turn and shift in plan",
            Self::Similarity => "a similarity in plan",
        }
    }
}

/// A mark as surveyed and as given, metres.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanPair {
    /// Its name.
    pub mark: String,
    /// Its place in the survey.
    pub surveyed: Point,
    /// Its place as known.
    pub given: Point,
}

/// `given = to + [a -b; b a] (surveyed - from)`.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(into = "Wire", from = "Wire")]
pub struct PlanChange {
    /// Scale times cosine of the turn.
    pub a: f64,
    /// Scale times sine of the turn (counter-clockwise).
    pub b: f64,
    /// Middle of the marks as surveyed.
    pub from: Point,
    /// Where that comes to lie.
    pub to: Point,
}

/// How it is written: sizes that keep their meaning when numbers are rounded to a millionth.
#[derive(serde::Serialize, serde::Deserialize)]
struct Wire {
    turn_seconds: f64,
    scale_ppm: f64,
    from: Point,
    to: Point,
}

impl From<PlanChange> for Wire {
    fn from(change: PlanChange) -> Self {
        Self {
            turn_seconds: change.turn().to_degrees() * 3600.0,
            scale_ppm: (change.scale() - 1.0) * 1e6,
            from: change.from,
            to: change.to,
        }
    }
}

impl From<Wire> for PlanChange {
    fn from(wire: Wire) -> Self {
        let (scale, turn) = (1.0 + wire.scale_ppm * 1e-6, (wire.turn_seconds / 3600.0).to_radians());
        Self { a: scale * turn.cos(), b: scale * turn.sin(), from: wire.from, to: wire.to }
    }
}

impl PlanChange {
    /// The place in the given grid.
    #[must_use]
    pub fn apply(&self, surveyed: Point) -> Point {
        let away = surveyed - self.from;
        Point::new(self.to.x + (self.a * away.x - self.b * away.y), self.to.y + (self.b * away.x + self.a * away.y))
    }

    /// Given length over surveyed length.
    #[must_use]
    pub fn scale(&self) -> f64 {
        self.a.hypot(self.b)
    }

    /// Turn, radians counter-clockwise, from -pi to pi.
    #[must_use]
    pub fn turn(&self) -> f64 {
        self.b.atan2(self.a)
    }

    /// How far the middle of the marks moves: easting and northing, metres.
    #[must_use]
    pub fn shift(&self) -> Point {
        Point::new(self.to.x - self.from.x, self.to.y - self.from.y)
    }
}

/// A fit in plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanFit {
    /// The change it makes.
    pub change: PlanChange,
    /// Every mark, in the order given.
    pub marks: Vec<MarkTest>,
    /// Spare observations, two a mark that takes part less the unknowns.
    pub degrees: usize,
    /// Scatter against the given standard deviation, about one when that is right; `None` with nothing spare.
    pub unit_sigma: Option<f64>,
}

/// Fits marks in plan. `sigma` is the standard deviation of one coordinate, mark and observation together, metres.
///
/// # Errors
/// [`FitError`] when the marks are too few or in one place.
///
/// # Panics
/// When `sigma` is not above zero.
pub fn fit_plan(pairs: &[PlanPair], model: PlanModel, sigma: f64) -> Result<PlanFit, FitError> {
    if pairs.len() < model.least_marks() {
        return Err(FitError::TooFewMarks { what: model.what(), needed: model.least_marks(), found: pairs.len() });
    }
    let settled: Settled<PlanChange> = settle(pairs.len(), 2, |used| step(pairs, used, model, sigma))?;
    let names: Vec<&str> = pairs.iter().map(|pair| pair.mark.as_str()).collect();
    let marks = settled.tests(&names, |change, mark| {
        let misfit = change.apply(pairs[mark].surveyed) - pairs[mark].given;
        vec![misfit.x, misfit.y]
    });
    debug_assert_eq!(marks.iter().filter(|m| m.standing == Standing::LeftOut).count(), settled.left_out.len());
    let adjusted = settled.step.adjusted;
    Ok(PlanFit { change: settled.step.change, marks, degrees: adjusted.degrees, unit_sigma: adjusted.unit_sigma })
}

fn middle(points: impl Iterator<Item = Point> + Clone) -> Point {
    let count = points.clone().count() as f64;
    let first = points.clone().next().unwrap_or(Point::new(0.0, 0.0));
    let (x, y) = points.fold((0.0, 0.0), |(x, y), p| (x + (p.x - first.x), y + (p.y - first.y)));
    Point::new(first.x + x / count, first.y + y / count)
}

fn step(pairs: &[PlanPair], used: &[usize], model: PlanModel, sigma: f64) -> Result<Step<PlanChange>, FitError> {
    let of = |part: fn(&PlanPair) -> Point| used.iter().map(move |i| part(&pairs[*i]));
    let (from, to) = (middle(of(|pair| pair.surveyed)), middle(of(|pair| pair.given)));
    let reduced: Vec<(Vector, Vector)> =
        used.iter().map(|i| (pairs[*i].surveyed - from, pairs[*i].given - to)).collect();
    let failed = || FitError::NotDetermined { what: model.what(), why: "they stand in one place" };
    // Where the scale is fixed the turn enters as a sine and cosine: its best value is known in closed form, and the
    // adjustment about it gives the redundancy of the marks.
    let (a, b) = match model {
        PlanModel::Shift => (1.0, 0.0),
        PlanModel::Similarity => (0.0, 0.0),
        PlanModel::Turn { scale } => {
            let dot: f64 = reduced.iter().map(|(p, q)| p.x * q.x + p.y * q.y).sum();
            let cross: f64 = reduced.iter().map(|(p, q)| p.x * q.y - p.y * q.x).sum();
            let turn = cross.atan2(dot);
            (scale * turn.cos(), scale * turn.sin())
        }
    };
    let unknowns = match model {
        PlanModel::Shift => 2,
        PlanModel::Turn { .. } => 3,
        PlanModel::Similarity => 4,
    };
    let mut observations = Observations::of(unknowns);
    for (p, q) in &reduced {
        let turned = Vector::new(a * p.x - b * p.y, b * p.x + a * p.y);
        let rest = *q - turned;
        let rows: [&[f64]; 2] = match model {
            PlanModel::Shift => [&[1.0, 0.0], &[0.0, 1.0]],
            PlanModel::Turn { .. } => [&[1.0, 0.0, -turned.y], &[0.0, 1.0, turned.x]],
            PlanModel::Similarity => [&[1.0, 0.0, p.x, -p.y], &[0.0, 1.0, p.y, p.x]],
        };
        observations.push(rows[0], rest.x, sigma);
        observations.push(rows[1], rest.y, sigma);
    }
    let adjusted = observations.adjust().ok_or_else(failed)?;
    let found = &adjusted.parameters;
    let (a, b) = if model == PlanModel::Similarity { (found[2], found[3]) } else { (a, b) };
    let change = PlanChange { a, b, from, to: Point::new(to.x + found[0], to.y + found[1]) };
    Ok(Step { adjusted, change })
}

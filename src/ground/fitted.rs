//! Natural ground near works as the shots together speak for it, instead of strung from shot to shot.
//!
//! A triangle between three shots carries their noise and cuts every bend of the ground short. Near the works the heights are
//! therefore estimated from the shots around with their sigmas: kriging with every smoothness, strength and noise weighed by
//! how well the shots predict each other (see [`crate::stats::Field`]; its model is chosen and its standard errors are widened
//! by leaving out each shot in turn). Breaklines part the ground: no shot beyond one has a say, and vertices on one keep their
//! shot. What an estimate says goes into the mesh, at the shots and at places a fourth of the spacing apart between them, so that
//! line, sill, cut and stakes stand on one ground.
//!
//! Invariant: no shot is moved by more than three of its own sigmas; beyond the reach asked for, the ground is that of the
//! shots; the rim and the breaklines stay.

use super::local_model::LocalModel;
use super::{Ground, GroundError};
use crate::geom::{Point, Point3, Polyline, snap_point};
use crate::notes::each;
use crate::stats::{Estimate, Measured};
use crate::surface::{Locator, TriangleId, refined};
use crate::survey::{GroundField, Settings, Survey};
use std::collections::BTreeMap;

/// Estimated places to a spacing of the shots.
const NODES: f64 = 4.0;
/// Finest and coarsest step between estimated places, metres.
const STEPS: (f64, f64) = (2.0, 5.0);
/// Sigmas that a shot may be moved by.
const MOST_MOVED: f64 = 3.0;
/// Estimated places keep this share of a step from shots and from edges that stay.
const CLEAR: f64 = 0.4;

/// Standard errors of a single neighbourhood, over a shot's sigma, up to which the ground is gentle, and from which it is not.
const GENTLE: (f64, f64) = (0.8, 1.2);
/// From which on [`Known::hides`] says that the ground bends within the spacing (docs/accuracy.md holds how often it is right).
const HIDES: f64 = 0.86;
/// Noise over what was said to be, in variance, from which shots scatter more than they should.
const NOISY: f64 = 1.4;

/// Spacings beyond the reach within which shots teach what the ground is.
const LEARN_WITHIN: f64 = 3.0;

/// A place of the lattice that heights are estimated on.
type Node = (i32, i32);

/// A height and its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Known {
    height: f64,
    error: f64,
    /// The neighbourhood's own standard error over a shot's sigma, times the root of the model's and of the shots' scatter: all
    /// three are large where the ground bends within the spacing, one alone often by chance.
    hides: f64,
}

/// The ground with estimated heights near some lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The ground to build on.
    pub ground: Ground,
    /// What is known of each vertex; none where it was not estimated.
    known: Vec<Option<Known>>,
    /// Standard deviation of a usual shot near the lines, instrument and roughness together, metres.
    pub shot_sigma: f64,
}

impl Fitted {
    /// Standard error of the ground at a place, metres, straight between the vertices; `None` where it was not estimated.
    #[must_use]
    pub fn standard_error(&self, locator: &Locator<'_>, place: Point) -> Option<f64> {
        self.between(locator, place, |known| known.error)
    }

    /// How much the ground may bend within the spacing of the shots: above 1 they are too far apart for it. `None` where it was
    /// not estimated.
    #[must_use]
    pub fn hides(&self, locator: &Locator<'_>, place: Point) -> Option<f64> {
        self.between(locator, place, |known| known.hides / HIDES)
    }

    fn between(&self, locator: &Locator<'_>, place: Point, of: impl Fn(&Known) -> f64) -> Option<f64> {
        let t = locator.find(place)?;
        let corners = self.ground.tin.triangles()[t.0 as usize];
        let [a, b, c] = self.ground.tin.corners(t).map(Point3::plan);
        let whole = (b - a).cross(c - a);
        let shares = [(c - b).cross(place - b), (a - c).cross(place - c), (b - a).cross(place - a)];
        let known = corners.map(|v| self.known[v as usize].as_ref());
        known.into_iter().zip(shares).try_fold(0.0, |sum, (known, share)| Some(sum + of(known?) * share / whole))
    }
}

/// Estimates the ground near lines, remembering what it has estimated.
#[derive(Debug)]
pub struct Fitter<'a> {
    bare: &'a Ground,
    locator: Locator<'a>,
    field: GroundField,
    /// What field the ground is, once the first lines are known.
    model: Option<LocalModel>,
    step: f64,
    /// Sigma of the shot at each vertex, metres; none for what is no shot.
    sigmas: Vec<Option<f64>>,
    on_break: Vec<bool>,
    /// Nothing where a node cannot stand or cannot be known.
    nodes: BTreeMap<Node, Option<Known>>,
    vertices: BTreeMap<usize, Option<Known>>,
    /// Sigma of a usual shot, metres.
    usual: f64,
}

impl<'a> Fitter<'a> {
    /// Makes ready; `None` for ground that is not made of shots alone.
    #[must_use]
    pub fn new(bare: &'a Ground, survey: &Survey, settings: &Settings) -> Option<Self> {
        if !survey.cloud.is_empty() || survey.shots.is_empty() || bare.spacing <= 0.0 {
            return None;
        }
        let key = |place: Point| (place.x.to_bits(), place.y.to_bits());
        let field = survey.field(settings);
        let ground = survey.shots.iter().enumerate().filter(|(_, shot)| shot.role.is_ground());
        let sigma_at: BTreeMap<_, f64> =
            ground.map(|(i, shot)| (key(snap_point(shot.place)), field.shot(i).variance.sqrt())).collect();
        let tin = &bare.tin;
        let mut on_break = vec![false; tin.vertices().len()];
        for (t, corners) in tin.ids().zip(tin.triangles()) {
            for k in (0..3).filter(|&k| tin.is_break(t, k)) {
                on_break[corners[k] as usize] = true;
                on_break[corners[(k + 1) % 3] as usize] = true;
            }
        }
        let sigmas: Vec<Option<f64>> = tin.vertices().iter().map(|v| sigma_at.get(&key(v.plan())).copied()).collect();
        let usual = crate::stats::median(&sigmas.iter().copied().flatten().collect::<Vec<f64>>())?;
        Some(Self {
            bare,
            locator: bare.locator(),
            field,
            model: None,
            step: (bare.spacing / NODES).clamp(STEPS.0, STEPS.1),
            sigmas,
            on_break,
            nodes: BTreeMap::new(),
            vertices: BTreeMap::new(),
            usual,
        })
    }

    /// The ground with estimated heights wherever one of the lines is nearer than `reach` metres.
    ///
    /// # Errors
    /// [`GroundError::Surface`] should the mesh not take them.
    pub fn near(&mut self, lines: &[Polyline], reach: f64) -> Result<Fitted, GroundError> {
        if self.model.is_none() {
            self.learn(lines, reach + LEARN_WITHIN * self.bare.spacing);
        }
        self.estimate_vertices(lines, reach + self.bare.spacing);
        self.estimate_nodes(lines, reach);
        let tin = &self.bare.tin;
        let mut heights: Vec<f64> = tin.vertices().iter().map(|v| v.z).collect();
        let mut known_at: BTreeMap<(u64, u64), Known> = BTreeMap::new();
        let key = |place: Point| (place.x.to_bits(), place.y.to_bits());
        for (&v, known) in &self.vertices {
            if let Some(known) = known {
                heights[v] = known.height;
                known_at.insert(key(tin.vertices()[v].plan()), *known);
            }
        }
        let more: Vec<Point3> =
            self.nodes.iter().filter_map(|(&node, known)| Some(self.place(node).at(known.as_ref()?.height))).collect();
        for (place, known) in more.iter().zip(self.nodes.values().flatten()) {
            known_at.insert(key(place.plan()), *known);
        }
        let fine = refined(tin, &heights, &more)?;
        let known = fine.vertices().iter().map(|v| known_at.get(&key(v.plan())).copied()).collect();
        Ok(Fitted { ground: Ground { tin: fine, ..self.bare.clone() }, known, shot_sigma: self.usual })
    }

    /// What the ground is at places: by the model of the shots near the lines where the ground bends gently between the shots, by
    /// what each neighbourhood says for itself, which is wider, where it does not.
    fn estimates(&self, places: &[Point]) -> Vec<Option<Known>> {
        each(places.len(), |k| {
            let (place, sigma) = (places[k], self.usual);
            let wide = self.field.at(place)?;
            let own = unsure(&wide, sigma);
            let Some(pooled) = self.model.as_ref().and_then(|model| model.at(place, &self.field.around(place))) else {
                return Some(Known { height: wide.height, error: own, hides: own / sigma });
            };
            let near = unsure(&pooled, sigma);
            let share = ((own / sigma - GENTLE.0) / (GENTLE.1 - GENTLE.0)).clamp(0.0, 1.0);
            let height = pooled.height + share * (wide.height - pooled.height);
            let apart = share * (1.0 - share) * (wide.height - pooled.height).powi(2);
            let variance = (1.0 - share) * near.powi(2) + share * own.powi(2) + apart;
            let hides = own / sigma * (near / sigma * pooled.noise).sqrt();
            Some(Known { height, error: variance.sqrt(), hides })
        })
    }

    /// Chooses the model from the shots off the breaklines within reach of the lines.
    fn learn(&mut self, lines: &[Polyline], reach: f64) {
        let vertices = self.bare.tin.vertices().iter().zip(&self.sigmas).zip(&self.on_break);
        let shots: Vec<Measured> = vertices
            .filter_map(|((v, sigma), on_break)| {
                let variance = (*sigma).filter(|_| !on_break && near(lines, v.plan(), reach))?.powi(2);
                Some(Measured { place: v.plan(), height: v.z, variance })
            })
            .collect();
        let (spacing, usual) = (self.bare.spacing, self.usual.powi(2));
        self.model = Some(LocalModel::learned(&self.field, &shots, spacing, usual));
    }

    /// Shots within reach: what the others and it say together, not farther from it than it may be moved.
    fn estimate_vertices(&mut self, lines: &[Polyline], reach: f64) {
        let wanted: Vec<usize> = (0..self.bare.tin.vertices().len())
            .filter(|v| !self.vertices.contains_key(v) && self.sigmas[*v].is_some())
            .filter(|&v| near(lines, self.bare.tin.vertices()[v].plan(), reach))
            .collect();
        let places: Vec<Point> = wanted.iter().map(|&v| self.bare.tin.vertices()[v].plan()).collect();
        let estimates = self.estimates(&places);
        for (v, estimate) in wanted.into_iter().zip(estimates) {
            let (Some(sigma), own) = (self.sigmas[v], self.bare.tin.vertices()[v].z) else { continue };
            let known = if self.on_break[v] {
                Some(Known { height: own, error: sigma, hides: 0.0 })
            } else {
                estimate.map(|estimate| {
                    let height = own + (estimate.height - own).clamp(-MOST_MOVED * sigma, MOST_MOVED * sigma);
                    Known { height, error: estimate.error.hypot(estimate.height - height), ..estimate }
                })
            };
            self.vertices.insert(v, known);
        }
    }

    fn estimate_nodes(&mut self, lines: &[Polyline], reach: f64) {
        let mut wanted: Vec<Node> = lines.iter().flat_map(|line| self.around(line, reach)).collect();
        wanted.sort_unstable();
        wanted.dedup();
        wanted.retain(|node| !self.nodes.contains_key(node));
        let (stand, fall): (Vec<Node>, Vec<Node>) = wanted.into_iter().partition(|&node| self.stands(self.place(node)));
        let places: Vec<Point> = stand.iter().map(|&node| self.place(node)).collect();
        let estimates = self.estimates(&places);
        self.nodes.extend(fall.into_iter().map(|node| (node, None)));
        self.nodes.extend(stand.into_iter().zip(estimates));
    }

    /// Where a node stands: rows of equilateral triangles.
    fn place(&self, (column, row): Node) -> Point {
        let shift = if row % 2 == 0 { 0.0 } else { 0.5 };
        snap_point(Point::new((f64::from(column) + shift) * self.step, f64::from(row) * self.step * 0.75_f64.sqrt()))
    }

    /// The nodes nearer to a line than `reach`.
    fn around(&self, line: &Polyline, reach: f64) -> Vec<Node> {
        let rise = self.step * 0.75_f64.sqrt();
        #[expect(
            clippy::cast_possible_truncation,
            reason = "coordinates lie within 65 km, steps are two metres or more"
        )]
        let whole = |value: f64| value.floor() as i32;
        let mut found = Vec::new();
        for pair in line.points().windows(2) {
            let along = pair[1] - pair[0];
            let (low, high) = (
                Point::new(pair[0].x.min(pair[1].x) - reach, pair[0].y.min(pair[1].y) - reach),
                Point::new(pair[0].x.max(pair[1].x) + reach, pair[0].y.max(pair[1].y) + reach),
            );
            for row in whole(low.y / rise)..=whole(high.y / rise) + 1 {
                for column in whole(low.x / self.step) - 1..=whole(high.x / self.step) + 1 {
                    let step = self.place((column, row)) - pair[0];
                    let part = (step.dot(along) / along.dot(along)).clamp(0.0, 1.0);
                    if (step - along * part).length() <= reach {
                        found.push((column, row));
                    }
                }
            }
        }
        found
    }

    /// True for a place inside the surface that keeps clear of shots, breaklines and the rim.
    fn stands(&self, place: Point) -> bool {
        let tin = &self.bare.tin;
        let Some(own) = self.locator.find(place) else { return false };
        let clear = CLEAR * self.step;
        let keeps_clear = |t: TriangleId| {
            let corners = tin.corners(t).map(Point3::plan);
            (0..3).all(|k| {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                let stays = tin.is_break(t, k) || tin.neighbour(t, k).is_none();
                let along = b - a;
                let part = ((place - a).dot(along) / along.dot(along)).clamp(0.0, 1.0);
                a.distance(place) > clear && (!stays || a.towards(b, part).distance(place) > clear)
            })
        };
        let beside = (0..3).filter_map(|k| tin.neighbour(own, k));
        std::iter::once(own).chain(beside).all(keeps_clear)
    }
}

/// True for a place within reach of one of the lines.
fn near(lines: &[Polyline], place: Point, reach: f64) -> bool {
    lines.iter().any(|line| line.bounds().grown(reach).contains(place) && line.foot(place).offset.abs() <= reach)
}

/// Standard error of the ground. Shots that scatter more than their sigmas say stand on ground that bends within their spacing,
/// which no estimate can tell from noise: the excess is the ground's own.
fn unsure(estimate: &Estimate, sigma: f64) -> f64 {
    (estimate.standard_error.powi(2) + (estimate.noise - NOISY).max(0.0) * sigma * sigma).sqrt()
}

#[cfg(test)]
#[path = "fitted_tests.rs"]
pub(crate) mod tests;

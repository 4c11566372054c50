//! Whom a shot is judged by: the ground shots round it that stand on its own side of every breakline, or, for a vertex of
//! a breakline, the other vertices of its line. The ends of a line are not judged and have no vote, for a bank runs out
//! there; nor is a line of so few vertices that six others are not left.
//!
//! Invariant: no shot is in its own surroundings. A neighbour across a breakline has no vote, for the ground breaks
//! there; the vertices of the line itself stand on both sides and vote on both.
//!
//! What costs is done once: who stands round each shot, and what they say while all are used.

use super::neighbours::Near;
use super::{Role, Shot};
use crate::geom::{Point, segments_cross};
use crate::notes::{Cancelled, Reporter, each, each_told};
use crate::stats::{Estimate, FEWEST_AROUND, Field, Measured, median};
use std::collections::BTreeMap;
use std::ops::Range;

/// Neighbours on the ground that a shot is judged by.
const AROUND: usize = 23;
/// Neighbours kept ready, so that some may be out of use.
const READY: usize = AROUND + 12;
/// Vertices of its line that a vertex is judged by.
const ALONG: usize = 10;
/// Fewest vertices of a line that judges its own: six others and the two ends.
const FEWEST_ALONG: usize = FEWEST_AROUND + 3;
/// Neighbourhoods that the field is learned from, at most.
const LEARN_FROM: usize = 600;

/// Where a shot belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// The ground at large.
    Ground,
    /// A breakline, and the place in its order.
    Line(usize, usize),
}

/// What a survey has taught of its ground: how the heights hang together, apart from the heights themselves.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Learned {
    /// Median distance to the nearest neighbour, metres.
    spacing: f64,
    ground: Field,
    along: Field,
}

/// A vertex of a line, with its distance along it.
type Vertex = (f64, usize);

/// Who stands round a shot, nearest first.
#[derive(Debug, Clone, Default)]
struct Circle {
    members: Vec<usize>,
    /// True when there is nobody else.
    whole: bool,
}

/// The shots that are judged, and how to find whom by.
#[derive(Debug)]
pub(super) struct Surroundings {
    /// Every shot, those out of use too.
    shots: Vec<Measured>,
    /// Those that are judged, in file order.
    parts: Vec<Option<Part>>,
    lines: Vec<Vec<Vertex>>,
    /// Where on a line a shot stands.
    along: BTreeMap<(usize, usize), f64>,
    walls: Walls,
    near: Near,
    learned: Learned,
    /// The same of the ground and of lines to one who takes some of the shots for blunders: by these shots are judged.
    judges: [Field; 2],
    circles: Vec<Circle>,
    /// What all others say of each.
    with_all: Vec<Option<Estimate>>,
}

impl Surroundings {
    /// Of the shots that stand (`None` for those out), the breaklines as indices of them, and the variance of each
    /// height's own error, square metres; with what such a survey taught before, or nothing learned yet.
    pub(super) fn new(
        shots: &[Option<&Shot>],
        lines: &[Vec<usize>],
        variances: &[f64],
        learned: Option<Learned>,
    ) -> Self {
        let nowhere = Measured { place: Point::new(0.0, 0.0), height: 0.0, variance: 1.0 };
        let measured: Vec<Measured> = shots
            .iter()
            .zip(variances)
            .map(|(shot, &variance)| {
                shot.map_or(nowhere, |shot| Measured { place: shot.place, height: shot.elevation, variance })
            })
            .collect();
        let place = |i: usize| measured[i].place;
        let stands = |i: usize| shots[i].is_some();
        let ground: Vec<usize> =
            (0..shots.len()).filter(|&i| shots[i].is_some_and(|shot| shot.role.is_ground())).collect();
        let walls = lines.iter().flat_map(|line| line.windows(2)).filter(|pair| pair.iter().all(|&i| stands(i)));
        let walls = Walls::new(walls.map(|pair| [place(pair[0]), place(pair[1])]).collect());
        let lines: Vec<Vec<Vertex>> = lines
            .iter()
            .map(|line| {
                let mut vertices: Vec<Vertex> = Vec::new();
                for &i in line.iter().filter(|&&i| stands(i)) {
                    let along =
                        vertices.last().map_or(0.0, |&(along, before)| along + place(before).distance(place(i)));
                    if vertices.iter().all(|&(_, known)| known != i) {
                        vertices.push((along, i));
                    }
                }
                vertices
            })
            .filter(|line| line.len() >= FEWEST_ALONG)
            .collect();
        // A vertex of a line too short to judge it was shot where the ground breaks: the ground round it cannot judge it.
        let mut parts: Vec<Option<Part>> = vec![None; shots.len()];
        for &i in ground.iter().filter(|&&i| shots[i].is_some_and(|shot| shot.role != Role::Breakline)) {
            parts[i] = Some(Part::Ground);
        }
        for (line, vertices) in lines.iter().enumerate() {
            for (at, &(_, i)) in vertices.iter().enumerate().take(vertices.len() - 1).skip(1) {
                parts[i] = Some(Part::Line(line, at));
            }
        }
        let unlearned = || {
            let open: Vec<Point> = (0..shots.len()).filter(|&i| parts[i] == Some(Part::Ground)).map(place).collect();
            let spacing = super::neighbours::spacing(&open, 0.10).max(0.1);
            let steps = lines.iter().flat_map(|line| line.windows(2)).map(|pair| pair[1].0 - pair[0].0);
            let usual = median(&ground.iter().map(|&i| variances[i]).collect::<Vec<f64>>()).unwrap_or(1e-3);
            let step = median(&steps.collect::<Vec<f64>>()).unwrap_or(spacing).max(0.1);
            // Shots strewn at random have their nearest neighbour at less than their spacing.
            Learned { spacing, ground: Field::unknown(1.3 * spacing, usual), along: Field::unknown(step, usual) }
        };
        let learned = learned.unwrap_or_else(unlearned);
        let along = lines
            .iter()
            .enumerate()
            .flat_map(|(line, vertices)| vertices.iter().map(move |&(along, i)| ((line, i), along)));
        Self {
            along: along.collect(),
            near: Near::new(ground.iter().map(|&i| (i, place(i)))),
            parts,
            lines,
            walls,
            judges: [&learned.ground, &learned.along].map(|field| field.clone().wary()),
            learned,
            circles: vec![Circle::default(); shots.len()],
            with_all: vec![None; shots.len()],
            shots: measured,
        }
    }

    /// Learns what the survey as a whole speaks for, from neighbourhoods spread evenly over it, and asks the neighbours
    /// of every shot.
    pub(super) fn learn(&mut self, watch: (&dyn Reporter, &'static str)) -> Result<(), Cancelled> {
        let every = vec![true; self.shots.len()];
        let circles = each(self.shots.len(), |i| self.parts[i].map(|part| self.circle(i, part)).unwrap_or_default());
        self.circles = circles;
        watch.0.checkpoint()?;
        for of_ground in [true, false] {
            let of_part: Vec<usize> =
                self.judged().filter(|(_, part)| (*part == Part::Ground) == of_ground).map(|(i, _)| i).collect();
            let step = of_part.len().div_ceil(LEARN_FROM).max(1);
            let sample: Vec<usize> = of_part.into_iter().step_by(step).collect();
            let learned = |field: &Field| {
                let evidence =
                    each(sample.len(), |k| field.evidence(&self.block(sample[k], &self.whom(sample[k], &every))));
                field.clone().learned(evidence.iter().flatten())
            };
            let part = usize::from(!of_ground);
            let (field, judge) =
                (learned([&self.learned.ground, &self.learned.along][part]), learned(&self.judges[part]));
            self.judges[part] = judge;
            *[&mut self.learned.ground, &mut self.learned.along][part] = field;
            watch.0.checkpoint()?;
        }
        let judged: Vec<usize> = self.judged().map(|(i, _)| i).collect();
        let estimates = each_told(watch, judged.len(), |k| {
            self.judge_of(judged[k]).without_first(&self.block(judged[k], &self.whom(judged[k], &every)))
        })?;
        judged.into_iter().zip(estimates).for_each(|(i, estimate)| self.with_all[i] = estimate);
        Ok(())
    }

    /// What was learned.
    pub(super) fn learned(&self) -> &Learned {
        &self.learned
    }

    /// Median distance to the nearest neighbour, metres.
    pub(super) fn spacing(&self) -> f64 {
        self.learned.spacing
    }

    /// The shots that are judged, in file order.
    pub(super) fn judged(&self) -> impl Iterator<Item = (usize, Part)> {
        self.parts.iter().enumerate().filter_map(|(i, part)| Some((i, (*part)?)))
    }

    /// Where a shot belongs that is judged.
    pub(super) fn part(&self, i: usize) -> Option<Part> {
        self.parts[i]
    }

    /// Those on no breakline, in file order.
    pub(super) fn on_open_ground(&self) -> impl Iterator<Item = usize> {
        self.judged().filter(|(_, part)| *part == Part::Ground).map(|(i, _)| i)
    }

    /// A shot as measured.
    pub(super) fn shot(&self, i: usize) -> Measured {
        self.shots[i]
    }

    /// The eight nearest in use that no breakline hides.
    pub(super) fn nearest_used(&self, i: usize, used: &[bool]) -> Vec<usize> {
        let wanted = 8;
        let here = self.shots[i].place;
        self.around_place(here, (wanted, 0), |j| j != i && used[j]).members
    }

    fn circle(&self, i: usize, part: Part) -> Circle {
        match part {
            Part::Line(line, at) => {
                let vertices = &self.lines[line];
                let window = at.saturating_sub(READY)..(at + READY + 1).min(vertices.len());
                let whole = window.len() == vertices.len();
                Circle {
                    members: self.beside(line, at, window, |_| true).take(READY).collect(),
                    whole: whole && vertices.len() <= READY,
                }
            }
            Part::Ground => self.around_place(self.shots[i].place, (READY, 0), |j| j != i),
        }
    }

    /// The vertices of a line beside one of them, nearest along it first.
    fn beside(
        &self,
        line: usize,
        at: usize,
        window: Range<usize>,
        wanted: impl Fn(usize) -> bool,
    ) -> impl Iterator<Item = usize> {
        let (own, i) = self.lines[line][at];
        let (first, last) = (window.start.max(1), window.end.min(self.lines[line].len() - 1));
        let others = self.lines[line][first..last].iter().filter(|&&(_, j)| j != i && wanted(j));
        let mut others: Vec<Vertex> = others.map(|&(along, j)| ((along - own).abs(), j)).collect();
        others.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        others.into_iter().map(|(_, j)| j)
    }

    /// The neighbours of a shot among those in use, nearest first.
    pub(super) fn whom(&self, i: usize, used: &[bool]) -> Vec<usize> {
        let most = self.most(i);
        let circle = &self.circles[i];
        let members: Vec<usize> = circle.members.iter().copied().filter(|&j| used[j]).take(most).collect();
        if members.len() == most || circle.whole {
            return members;
        }
        match self.parts[i] {
            Some(Part::Line(line, at)) => {
                self.beside(line, at, 0..self.lines[line].len(), |j| used[j]).take(most).collect()
            }
            _ => self.around_place(self.shots[i].place, (most, 0), |j| j != i && used[j]).members,
        }
    }

    fn most(&self, i: usize) -> usize {
        if self.parts[i] == Some(Part::Ground) { AROUND } else { ALONG }
    }

    /// The nearest of those wanted that no breakline hides from a place, so many at most; that so many of the nearest are not
    /// wanted is known.
    fn around_place(&self, here: Point, (most, spared): (usize, usize), wanted: impl Fn(usize) -> bool) -> Circle {
        let mut asked = spared + most + 9;
        loop {
            let near = self.near.nearest(here, asked, f64::MAX.sqrt());
            let all_seen = near.len() < asked;
            let reach = near.last().map_or(0.0, |(distance, _)| *distance);
            let walls = self.walls.within(here, reach);
            let seen = |j: usize| {
                let there = self.shots[j].place;
                !walls.iter().any(|&[a, b]| segments_cross(here, there, a, b))
            };
            let mut members: Vec<usize> =
                near.into_iter().map(|(_, j)| j).filter(|&j| wanted(j) && seen(j)).take(most + 1).collect();
            if members.len() >= most || all_seen || asked > spared + 8 * most {
                let whole = all_seen && members.len() <= most;
                members.truncate(most);
                return Circle { members, whole };
            }
            asked *= 2;
        }
    }

    /// The shot and its neighbours as heights: on the ground by place, on a line by distance along it.
    fn block(&self, i: usize, members: &[usize]) -> Vec<Measured> {
        let block = std::iter::once(i).chain(members.iter().copied());
        let Some(Part::Line(line, _)) = self.parts[i] else { return block.map(|j| self.shots[j]).collect() };
        block.map(|j| Measured { place: Point::new(self.along[&(line, j)], 0.0), ..self.shots[j] }).collect()
    }

    fn judge_of(&self, i: usize) -> &Field {
        &self.judges[usize::from(self.parts[i] != Some(Part::Ground))]
    }

    /// What the shots in use say of a shot's place, and who they are; `None` when they cannot tell.
    pub(super) fn estimate(&self, i: usize, used: &[bool]) -> Option<(Estimate, Vec<usize>)> {
        let members = self.whom(i, used);
        let all = self.circles[i].members.iter().take(self.most(i));
        let estimate = if self.with_all[i].is_some() && all.eq(&members) {
            self.with_all[i]
        } else {
            self.judge_of(i).without_first(&self.block(i, &members))
        };
        estimate.map(|estimate| (estimate, members))
    }

    /// What the shots in use say of a shot on the ground when none of them is mistrusted, and who they are.
    pub(super) fn trusting(&self, i: usize, used: &[bool]) -> Option<(Estimate, Vec<usize>)> {
        let members = self.whom(i, used);
        Some((self.learned.ground.without_first(&self.block(i, &members))?, members))
    }

    /// The ground at a place from all shots; `None` with too few round it.
    pub(super) fn at(&self, place: Point) -> Option<Estimate> {
        self.learned.ground.at(place, &self.around(place))
    }

    /// The shots round a place, nearest first.
    pub(super) fn around(&self, place: Point) -> Vec<Measured> {
        self.around_place(place, (AROUND, 0), |_| true).members.into_iter().map(|j| self.shots[j]).collect()
    }

    /// The ground at a shot from the shots farther than so far from it; `None` with too few.
    pub(super) fn without_disc(&self, i: usize, radius: f64) -> Option<Estimate> {
        let here = self.shots[i].place;
        let inside = self.near.nearest(here, self.shots.len(), radius).len();
        let outside = self.around_place(here, (AROUND, inside), |j| self.shots[j].place.distance(here) > radius);
        let around: Vec<Measured> = outside.members.into_iter().map(|j| self.shots[j]).collect();
        self.learned.ground.at(here, &around)
    }
}

/// Breaklines as walls that hide, found by place.
#[derive(Debug)]
struct Walls {
    faces: Vec<[Point; 2]>,
    middles: Near,
    /// Half the longest, metres.
    half: f64,
}

impl Walls {
    fn new(walls: Vec<[Point; 2]>) -> Self {
        let middle = |[a, b]: [Point; 2]| Point::new(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y));
        Self {
            middles: Near::new(walls.iter().map(|&wall| middle(wall)).enumerate()),
            half: walls.iter().map(|[a, b]| a.distance(*b) / 2.0).fold(0.0, f64::max),
            faces: walls,
        }
    }

    /// Those that come as near as that to a place, and some more.
    fn within(&self, place: Point, reach: f64) -> Vec<[Point; 2]> {
        if self.faces.is_empty() {
            return Vec::new();
        }
        let near = self.middles.nearest(place, self.faces.len(), reach + self.half);
        near.into_iter().map(|(_, wall)| self.faces[wall]).collect()
    }
}

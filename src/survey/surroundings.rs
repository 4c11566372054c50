//! Whom a shot is judged by: the ground shots round it that stand on its own side of every breakline, or, for a vertex of
//! a breakline, the other vertices of its line; nobody judges the ends of a line, nor a line of
//! six vertices or fewer.
//!
//! Invariant: no shot is in its own surroundings. A neighbour across a breakline has no vote, for the ground breaks
//! there; the vertices of the line itself stand on both sides and vote on both.

use super::Role;
use super::candidate::Candidate;
use super::neighbours::Near;
use crate::geom::{Bounds, Point, segments_cross};
use crate::stats::{Estimate, Field, Measured, median};
use std::collections::BTreeMap;

/// Neighbours on the ground that a shot is judged by.
const AROUND: usize = 24;
/// Vertices of its line that a vertex is judged by.
const ALONG: usize = 10;
/// Fewest other vertices for a line to judge its own.
const FEWEST_ALONG: usize = 6;
/// Neighbourhoods that the field is learned from, at most.
const LEARN_FROM: usize = 1200;

/// Where a shot belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// The ground at large.
    Ground,
    /// A breakline, and the place in its order.
    Line(usize, usize),
}

/// A vertex of a line, with its distance along it.
type Vertex = (f64, usize);

/// The shots that are judged, and how to find whom by.
#[derive(Debug)]
pub(super) struct Surroundings<'a> {
    all: &'a [Candidate],
    /// Variance of each shot's own error, square metres.
    variances: &'a [f64],
    parts: BTreeMap<usize, Part>,
    lines: Vec<Vec<Vertex>>,
    walls: Vec<[Point; 2]>,
    near: Near,
    /// Median distance to the nearest neighbour, metres.
    pub(super) spacing: f64,
    ground: Field,
    along: Field,
}

impl<'a> Surroundings<'a> {
    pub(super) fn new(all: &'a [Candidate], lines: &[Vec<usize>], variances: &'a [f64]) -> Self {
        let ground: Vec<usize> = (0..all.len()).filter(|&i| all[i].stands() && all[i].shot.role.is_ground()).collect();
        let place = |i: usize| all[i].shot.place;
        let walls =
            lines.iter().flat_map(|line| line.windows(2)).map(|pair| [place(pair[0]), place(pair[1])]).collect();
        let lines: Vec<Vec<Vertex>> = lines
            .iter()
            .map(|line| {
                let mut vertices: Vec<Vertex> = Vec::new();
                for &i in line.iter().filter(|&&i| all[i].stands()) {
                    let along =
                        vertices.last().map_or(0.0, |&(along, before)| along + place(before).distance(place(i)));
                    if vertices.iter().all(|&(_, known)| known != i) {
                        vertices.push((along, i));
                    }
                }
                vertices
            })
            .filter(|line| line.len() > FEWEST_ALONG)
            .collect();
        // A vertex of a line too short to judge it was shot where the ground breaks: the ground round it cannot judge it.
        let open = ground.iter().filter(|&&i| all[i].shot.role != Role::Breakline);
        let mut parts: BTreeMap<usize, Part> = open.map(|&i| (i, Part::Ground)).collect();
        for (line, vertices) in lines.iter().enumerate() {
            // The ends are left out: a bank runs out there, which the rest of it does not know.
            for (at, &(_, i)) in vertices.iter().enumerate().take(vertices.len() - 1).skip(1) {
                parts.insert(i, Part::Line(line, at));
            }
        }
        let open: Vec<Point> =
            parts.iter().filter(|(_, part)| **part == Part::Ground).map(|(&i, _)| place(i)).collect();
        let spacing = super::neighbours::spacing(&open, 0.10).max(0.1);
        let steps: Vec<f64> = lines.iter().flat_map(|line| line.windows(2)).map(|pair| pair[1].0 - pair[0].0).collect();
        let usual: Vec<f64> = ground.iter().map(|&i| variances[i]).collect();
        let usual = median(&usual).unwrap_or(1e-3);
        let mut made = Self {
            all,
            variances,
            near: Near::new(ground.iter().map(|&i| (i, place(i)))),
            parts,
            lines,
            walls,
            spacing,
            // Shots strewn at random have their nearest neighbour at less than their spacing.
            ground: Field::unknown(1.3 * spacing, usual),
            along: Field::unknown(median(&steps).unwrap_or(spacing).max(0.1), usual),
        };
        made.learn();
        made
    }

    /// What the survey as a whole speaks for, from neighbourhoods spread evenly over it.
    fn learn(&mut self) {
        let every = vec![true; self.all.len()];
        let blocks = |of_ground: bool| -> Vec<Vec<Measured>> {
            let of_part: Vec<usize> =
                self.parts.iter().filter(|(_, part)| (**part == Part::Ground) == of_ground).map(|(&i, _)| i).collect();
            let step = of_part.len().div_ceil(LEARN_FROM).max(1);
            of_part.iter().step_by(step).map(|&i| self.block(i, &self.members(i, &every))).collect()
        };
        let (ground, along) = (blocks(true), blocks(false));
        self.ground = self.ground.clone().fit(ground.iter().map(Vec::as_slice));
        self.along = self.along.clone().fit(along.iter().map(Vec::as_slice));
    }

    /// The shots that are judged, in file order.
    pub(super) fn judged(&self) -> impl Iterator<Item = (usize, Part)> {
        self.parts.iter().map(|(&i, &part)| (i, part))
    }

    /// Those on no breakline, in file order.
    pub(super) fn on_open_ground(&self) -> impl Iterator<Item = usize> {
        self.judged().filter(|(_, part)| *part == Part::Ground).map(|(i, _)| i)
    }

    /// The eight nearest in use that no breakline hides.
    pub(super) fn nearest_used(&self, i: usize, used: &[bool]) -> Vec<usize> {
        self.around(i, used).into_iter().take(8).collect()
    }

    /// The neighbours of a shot among those in use, nearest first.
    fn members(&self, i: usize, used: &[bool]) -> Vec<usize> {
        match self.parts.get(&i) {
            Some(&Part::Line(line, at)) => {
                let vertices = &self.lines[line];
                let own = vertices[at].0;
                let mut others: Vec<Vertex> = vertices
                    .iter()
                    .filter(|&&(_, j)| j != i && used[j])
                    .map(|&(along, j)| ((along - own).abs(), j))
                    .collect();
                others.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                others.into_iter().take(ALONG).map(|(_, j)| j).collect()
            }
            _ => self.around(i, used),
        }
    }

    fn around(&self, i: usize, used: &[bool]) -> Vec<usize> {
        self.around_place(self.all[i].shot.place, Some(i), used)
    }

    /// The nearest of those in use that no breakline hides from a place, but for one.
    fn around_place(&self, here: Point, but: Option<usize>, used: &[bool]) -> Vec<usize> {
        let mut wanted = AROUND + 9;
        loop {
            let near = self.near.nearest(here, wanted, f64::MAX.sqrt());
            let all_seen = near.len() < wanted;
            let reach = Bounds::around(near.iter().map(|&(_, j)| self.all[j].shot.place));
            let walls: Vec<[Point; 2]> = self
                .walls
                .iter()
                .copied()
                .filter(|wall| reach.zip(Bounds::around(*wall)).is_some_and(|(a, b)| overlap(a, b)))
                .collect();
            let seen = |j: usize| {
                let there = self.all[j].shot.place;
                !walls.iter().any(|&[a, b]| segments_cross(here, there, a, b))
            };
            let members: Vec<usize> = near
                .into_iter()
                .map(|(_, j)| j)
                .filter(|&j| Some(j) != but && used[j] && seen(j))
                .take(AROUND)
                .collect();
            if members.len() == AROUND || all_seen || wanted > 8 * AROUND {
                return members;
            }
            wanted *= 2;
        }
    }

    /// The shot and its neighbours as heights: on the ground by place, on a line by distance along it.
    fn block(&self, i: usize, members: &[usize]) -> Vec<Measured> {
        let along: BTreeMap<usize, f64> = match self.parts.get(&i) {
            Some(&Part::Line(line, _)) => self.lines[line].iter().map(|&(along, j)| (j, along)).collect(),
            _ => BTreeMap::new(),
        };
        std::iter::once(i).chain(members.iter().copied()).map(|j| self.measured(j, along.get(&j).copied())).collect()
    }

    /// Standard error of the ground at a place from all shots; `None` with too few round it.
    pub(super) fn standard_error_at(&self, place: Point) -> Option<f64> {
        let every = vec![true; self.all.len()];
        let around: Vec<Measured> =
            self.around_place(place, None, &every).into_iter().map(|j| self.measured(j, None)).collect();
        self.ground.at(place, &around).map(|estimate| estimate.standard_error)
    }

    fn measured(&self, j: usize, along: Option<f64>) -> Measured {
        let shot = &self.all[j].shot;
        let place = along.map_or(shot.place, |along| Point::new(along, 0.0));
        Measured { place, height: shot.elevation, variance: self.variances[j] }
    }

    /// What the shots in use say of a shot's place, and who they are; `None` when they cannot tell.
    pub(super) fn estimate(&self, i: usize, used: &[bool]) -> Option<(Estimate, Vec<usize>)> {
        let members = self.members(i, used);
        let block = self.block(i, &members);
        let field = if self.parts.get(&i) == Some(&Part::Ground) { &self.ground } else { &self.along };
        field.without_first(&block).map(|estimate| (estimate, members))
    }
}

fn overlap(a: Bounds, b: Bounds) -> bool {
    a.low.x <= b.high.x && b.low.x <= a.high.x && a.low.y <= b.high.y && b.low.y <= a.high.y
}

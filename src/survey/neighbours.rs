//! Shots against their neighbours: spacing, and heights grossly off.
//!
//! A shot is doubtful when it stands off the plane through its neighbours (least absolute deviations, so that a blunder
//! among them has little pull) by more than a third of the gross limit, six times their own scatter about it, and 8 % of
//! the distance to the nearest of them. A vertex within a breakline is judged by the line before and after it, and
//! neighbours across a breakline do not count. A doubtful shot is told. It is set aside only when it stands off by more
//! than the gross limit and 15 % of that distance, and none of the nearest stands off with it: one that has company is a
//! bank, a gully or a run of false fixes, which heights alone cannot tell apart. Common practice, no source; on real
//! ground thinned to 5-15 m without a single breakline it sets aside 0 to 3 shots in a thousand, and 1 to 5 beside a bank
//! 9 m high (tests/survey.rs holds the first).

use super::candidate::Candidate;
use super::{Role, Settings};
use crate::geom::{Point, segments_cross};
use crate::stats::{mad, median};
use kdtree::KdTree;
use kdtree::distance::squared_euclidean;

/// Neighbours that a plane is laid through.
const NEIGHBOURS: usize = 12;
/// Fewest neighbours that a verdict rests on.
const FEWEST: usize = 5;
/// Times the neighbours' scatter.
const SCATTERS: f64 = 6.0;
/// Share of the distance to the nearest neighbour: natural ground breaks this much between shots.
const BREAK: f64 = 0.08;
/// The same for what natural ground hardly ever does between shots.
const GROSS_BREAK: f64 = 0.15;
/// Gross limits that a breakline shot without a line may stand off the ground round it, and how much of the distance to the
/// nearest neighbour: an earth face is seldom steeper than one in one.
const LONE_BREAK: f64 = 5.0;
const STEEPEST: f64 = 1.0;
/// Share of the gross limit from which a shot is doubtful.
const DOUBT: f64 = 1.0 / 3.0;

/// Finds the nearest of some places.
#[derive(Debug)]
pub(super) struct Near {
    tree: KdTree<f64, usize, [f64; 2]>,
}

impl Near {
    /// Over places with an index each.
    pub(super) fn new(places: impl IntoIterator<Item = (usize, Point)>) -> Self {
        let mut tree = KdTree::with_capacity(2, 32);
        for (index, place) in places {
            // Coordinates are finite by the readers' invariant, so nothing is refused.
            let _ = tree.add([place.x, place.y], index);
        }
        Self { tree }
    }

    /// The nearest `count` within `radius` metres with their distances, nearest first, equal ones by index.
    pub(super) fn nearest(&self, place: Point, count: usize, radius: f64) -> Vec<(f64, usize)> {
        let found =
            self.tree.nearest_within_radius(&[place.x, place.y], count, Some(radius * radius), &squared_euclidean);
        let mut found: Vec<(f64, usize)> =
            found.unwrap_or_default().into_iter().map(|(squared, index)| (squared.sqrt(), *index)).collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found
    }
}

/// Median distance from each place to the nearest that is not a repeat of it; zero with fewer than two places.
pub(super) fn spacing(places: &[Point], repeat: f64) -> f64 {
    let near = Near::new(places.iter().copied().enumerate());
    let nearest: Vec<f64> = places
        .iter()
        .filter_map(|&place| {
            near.nearest(place, 6, f64::MAX.sqrt()).into_iter().map(|(distance, _)| distance).find(|&d| d > repeat)
        })
        .collect();
    median(&nearest).unwrap_or(0.0)
}

/// A shot against the plane through its neighbours.
#[derive(Debug, Clone, Copy)]
pub(super) struct AgainstPlane {
    /// Its height minus the neighbours' plane at its place, metres.
    pub(super) off: f64,
    /// Beyond it the shot is doubtful.
    pub(super) limit: f64,
    /// The neighbours' own scatter about their plane, as a standard deviation.
    pub(super) scatter: f64,
    /// The plane's steepest fall, metres per metre.
    pub(super) slope: f64,
    /// Distance to the nearest neighbour, metres.
    pub(super) nearest: f64,
    /// True when one of the nearest stands off with it.
    pub(super) company: bool,
}

/// A shot that stands off its neighbours and is used all the same.
#[derive(Debug, Clone, Copy)]
pub(super) struct Doubtful {
    pub(super) index: usize,
    /// Metres above its neighbours or its line.
    pub(super) off: f64,
    /// True when one of the nearest stands off with it.
    pub(super) company: bool,
}

/// Sets aside shots grossly off their neighbours; gives those that are doubtful.
pub(super) fn gross(all: &mut [Candidate], lines: &[Vec<usize>], settings: &Settings) -> Vec<Doubtful> {
    let standing = Standing::new(all, lines);
    let mut doubtful = Vec::new();
    let mut verdicts = Vec::new();
    for &i in &standing.indices {
        let Some(plane) = standing.suspect(i, settings) else { continue };
        let gross = settings.gross.in_metres().max(GROSS_BREAK * plane.nearest);
        // A break shot for itself alone stands where the ground breaks: only what no bank explains is told of it.
        let alone = all[i].shot.role == Role::Breakline && off_its_line(all, lines, i).is_none();
        let bank = (LONE_BREAK * settings.gross.in_metres()).max(STEEPEST * plane.nearest);
        if alone && plane.off.abs() < bank {
            continue;
        }
        if plane.off.abs() > gross && !plane.company && !alone {
            verdicts.push((i, format!("{:+.2} m, limit {gross:.2} m", plane.off)));
        } else {
            doubtful.push(Doubtful { index: i, off: plane.off, company: plane.company });
        }
    }
    for (i, value) in verdicts {
        all[i].set_aside("off its neighbours", value);
    }
    doubtful
}

/// Those that are still doubtful now that others have been set aside: a blunder makes its sound neighbours doubtful too.
pub(super) fn still_doubtful(
    doubtful: Vec<Doubtful>,
    all: &[Candidate],
    lines: &[Vec<usize>],
    settings: &Settings,
) -> Vec<Doubtful> {
    if doubtful.is_empty() {
        return doubtful;
    }
    let standing = Standing::new(all, lines);
    doubtful.into_iter().filter(|shot| standing.suspect(shot.index, settings).is_some()).collect()
}

/// The ground shots that stand, and the breaklines that part them.
struct Standing<'a> {
    all: &'a [Candidate],
    lines: &'a [Vec<usize>],
    indices: Vec<usize>,
    near: Near,
    walls: Vec<[Point; 2]>,
}

impl<'a> Standing<'a> {
    fn new(all: &'a [Candidate], lines: &'a [Vec<usize>]) -> Self {
        let used = |c: &Candidate| c.stands() && c.shot.role.is_ground();
        let indices: Vec<usize> = (0..all.len()).filter(|&i| used(&all[i])).collect();
        let near = Near::new(indices.iter().map(|&i| (i, all[i].shot.place)));
        let pairs = lines.iter().flat_map(|line| line.windows(2));
        let walls = pairs.map(|pair| [pair[0], pair[1]].map(|i| all[i].shot.place)).collect();
        Self { all, lines, indices, near, walls }
    }

    /// How a shot that is doubtful stands; `None` for one that fits.
    fn suspect(&self, i: usize, settings: &Settings) -> Option<AgainstPlane> {
        let (all, near) = (self.all, &self.near);
        let first =
            around(all, near, i, &[], settings).filter(|around| !around.fits(settings))?.against_plane(settings);
        if let Some(off) = off_its_line(all, self.lines, i) {
            // On the edge of a bank the neighbours scatter by the bank's height; the line itself knows better, and the
            // neighbours need only agree.
            let agreed = first.off * off > 0.0 && first.off.abs() > 2.0 * first.scatter;
            let limit = (DOUBT * settings.gross.in_metres()).max(BREAK * first.nearest);
            let doubtful = agreed && first.off.abs().min(off.abs()) > limit;
            return doubtful.then_some(AgainstPlane { off, company: false, ..first });
        }
        if first.off.abs() <= first.limit {
            return None;
        }
        // Only a suspect is worth the search for breaklines between it and its neighbours.
        against_plane(all, near, i, &self.walls, settings).filter(|second| second.off.abs() > second.limit)
    }
}

/// How a shot stands among the neighbours that no wall hides; `None` with too few of them.
pub(super) fn against_plane(
    all: &[Candidate],
    near: &Near,
    i: usize,
    walls: &[[Point; 2]],
    settings: &Settings,
) -> Option<AgainstPlane> {
    around(all, near, i, walls, settings).map(|around| around.against_plane(settings))
}

/// The neighbours of a shot, seen from it: steps east, north and up, nearest first.
#[derive(Debug)]
struct Around {
    points: Vec<[f64; 3]>,
    nearest: f64,
}

fn around(all: &[Candidate], near: &Near, i: usize, walls: &[[Point; 2]], settings: &Settings) -> Option<Around> {
    let shot = &all[i].shot;
    let repeat = settings.repeat_distance.in_metres();
    let wanted = if walls.is_empty() { NEIGHBOURS } else { 3 * NEIGHBOURS };
    let neighbours: Vec<(f64, usize)> = near
        .nearest(shot.place, wanted + 4, f64::MAX.sqrt())
        .into_iter()
        .filter(|&(distance, j)| j != i && distance > repeat)
        .filter(|&(_, j)| !walls.iter().any(|&[a, b]| segments_cross(shot.place, all[j].shot.place, a, b)))
        .take(NEIGHBOURS)
        .collect();
    if neighbours.len() < FEWEST {
        return None;
    }
    let points = neighbours
        .iter()
        .map(|&(_, j)| {
            let step = all[j].shot.place - shot.place;
            [step.x, step.y, all[j].shot.elevation - shot.elevation]
        })
        .collect();
    Some(Around { points, nearest: neighbours[0].0 })
}

impl Around {
    /// True when plain least squares already shows the shot in place: the plane of least absolute deviations cannot
    /// leave the plain one by much more than the neighbours do. Saves most of the work on sound ground.
    fn fits(&self, settings: &Settings) -> bool {
        let plane = plane(&self.points, 1);
        let scatter = self.residuals(plane).map(f64::abs).fold(0.0, f64::max);
        plane[0].abs() + 2.0 * scatter < DOUBT * settings.gross.in_metres()
    }

    fn residuals(&self, plane: [f64; 3]) -> impl Iterator<Item = f64> {
        self.points.iter().map(move |[x, y, z]| z - (plane[0] + plane[1] * x + plane[2] * y))
    }

    fn against_plane(&self, settings: &Settings) -> AgainstPlane {
        let plane = least_absolute_plane(&self.points);
        let residuals: Vec<f64> = self.residuals(plane).collect();
        let off = -plane[0];
        let scatter = mad(&residuals).unwrap_or(0.0);
        let limit = (DOUBT * settings.gross.in_metres()).max(SCATTERS * scatter).max(BREAK * self.nearest);
        let company = residuals.iter().take(NEIGHBOURS / 2).any(|residual| residual / off > 0.5);
        AgainstPlane { off, limit, scatter, slope: plane[1].hypot(plane[2]), nearest: self.nearest, company }
    }
}

/// How far a vertex of a breakline stands off the straight line through the vertices before and after it, at an end
/// through the next two; `None` when the line has fewer than three.
fn off_its_line(all: &[Candidate], lines: &[Vec<usize>], i: usize) -> Option<f64> {
    if all[i].shot.role != Role::Breakline {
        return None;
    }
    let line = lines.iter().find(|line| line.contains(&i)).filter(|line| line.len() > 2)?;
    let at = line.iter().position(|&j| j == i)?;
    let others = match at {
        0 => [1, 2],
        _ if at + 1 == line.len() => [at - 1, at - 2],
        _ => [at - 1, at + 1],
    };
    let [a, b] = others.map(|k| &all[line[k]].shot);
    let here = &all[i].shot;
    let along = b.place - a.place;
    let part = (here.place - a.place).dot(along) / along.dot(along).max(1e-12);
    Some(here.elevation - (a.elevation + (b.elevation - a.elevation) * part))
}

/// The plane z = c + a x + b y of least absolute deviations by reweighted least squares, as `[c, a, b]`; level when the
/// points stand on one line.
fn least_absolute_plane(points: &[[f64; 3]]) -> [f64; 3] {
    plane(points, 30)
}

/// The same after so many rounds; one round is plain least squares.
fn plane(points: &[[f64; 3]], rounds: usize) -> [f64; 3] {
    let reach = points.iter().map(|[x, y, _]| x.hypot(*y)).fold(0.0, f64::max).max(1e-9);
    let heights: Vec<f64> = points.iter().map(|p| p[2]).collect();
    let mut plane = [median(&heights).unwrap_or(0.0), 0.0, 0.0];
    for round in 0..rounds {
        let mut n = [[0.0_f64; 4]; 3];
        for &[x, y, z] in points {
            let row = [1.0, x / reach, y / reach, z];
            let residual = z - (plane[0] + plane[1] * row[1] + plane[2] * row[2]);
            // The first round is plain least squares; the floor of a millimetre keeps weights bounded.
            let weight = if round == 0 { 1.0 } else { 1.0 / residual.abs().max(1e-3) };
            for (r, line) in n.iter_mut().enumerate() {
                line.iter_mut().zip(row).for_each(|(cell, value)| *cell += weight * row[r] * value);
            }
        }
        match solve(n) {
            Some(next) => {
                // A tenth of a millimetre within the points' reach: nothing left to gain.
                let settled = (0..3).all(|k| (next[k] - plane[k]).abs() < 1e-4);
                plane = next;
                if settled && round > 0 {
                    break;
                }
            }
            None => break,
        }
    }
    [plane[0], plane[1] / reach, plane[2] / reach]
}

/// Solves three equations by elimination with pivots; `None` when they hang together.
fn solve(mut n: [[f64; 4]; 3]) -> Option<[f64; 3]> {
    let scale = n[0][0];
    for k in 0..3 {
        let pivot = (k..3).max_by(|&a, &b| n[a][k].abs().total_cmp(&n[b][k].abs()))?;
        n.swap(k, pivot);
        if n[k][k].abs() < 1e-6 * scale {
            return None;
        }
        for row in k + 1..3 {
            let factor = n[row][k] / n[k][k];
            let above = n[k];
            n[row].iter_mut().zip(above).for_each(|(cell, value)| *cell -= factor * value);
        }
    }
    let mut x = [0.0; 3];
    for k in (0..3).rev() {
        let known: f64 = (k + 1..3).map(|j| n[k][j] * x[j]).sum();
        x[k] = (n[k][3] - known) / n[k][k];
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_through_points_ignores_one_blunder() {
        let points: Vec<[f64; 3]> = (0..12)
            .map(|i| {
                let (x, y) = (f64::from(i % 4) * 10.0 - 15.0, f64::from(i / 4) * 10.0 - 10.0);
                [x, y, 2.0 + 0.03 * x - 0.05 * y + if i == 5 { 4.0 } else { 0.0 }]
            })
            .collect();
        let [c, a, b] = least_absolute_plane(&points);
        assert!((c - 2.0).abs() < 2e-3 && (a - 0.03).abs() < 2e-4 && (b + 0.05).abs() < 2e-4, "{c} {a} {b}");
    }

    #[test]
    fn points_on_one_line_give_a_level_plane() {
        let points: Vec<[f64; 3]> = (0..9).map(|i| [f64::from(i), 0.0, f64::from(i)]).collect();
        assert_eq!(least_absolute_plane(&points), [4.0, 0.0, 0.0]);
    }

    #[test]
    fn many_shots_in_one_place_and_on_one_line_are_found() {
        let heap = Near::new((0..3000).map(|i| (i, Point::new(1.0, 2.0))));
        assert_eq!(heap.nearest(Point::new(1.0, 2.0), 5, 1.0).len(), 5);
        let line = Near::new((0..3000).map(|i| (i, Point::new(f64::from(u32::try_from(i).unwrap()), 0.0))));
        assert_eq!(
            line.nearest(Point::new(1500.2, 0.0), 2, 10.0).iter().map(|n| n.1).collect::<Vec<_>>(),
            [1500, 1501]
        );
    }
}

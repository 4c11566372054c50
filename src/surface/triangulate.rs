//! From shots and breaklines to a surface: snap, join equal places, node the breaklines, triangulate, fix them.
//!
//! Every outcome that changes what was given is told in the result: duplicates, crossings, breaklines through shots,
//! breaklines on one another. Invariant: the mesh covers the convex hull of the points, is Delaunay (exactly) off the
//! breaklines, and comes out the same, bit for bit, whenever the same points come in the same order.

use super::delaunay::delaunay;
use super::hilbert;
use super::mesh::Mesh;
use super::node::{Noded, Piece, node_distinct, on_lattice};
use super::tin::{Tin, TinError};
use crate::geom::{LIMIT, Point, Point3, Side, orient};

/// A surface and what had to be decided on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Triangulated {
    /// The surface.
    pub tin: Tin,
    /// For each given point its vertex; duplicates share one.
    pub vertex_of_point: Vec<u32>,
    /// Points that stand where another stands already.
    pub duplicates: Vec<Duplicate>,
    /// Places where breaklines cross without a shared shot.
    pub crossings: Vec<Crossing>,
    /// Points that a breakline passes without naming them.
    pub passed: Vec<Passed>,
    /// Pairs of breaklines, earlier first, that have an edge in common.
    pub overlapping: Vec<[u32; 2]>,
}

/// Two points in one place, to the lattice step (1 um).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duplicate {
    /// Index of the point whose elevation stands: one on a breakline, else the lowest.
    pub kept: u32,
    /// Index of the other.
    pub dropped: u32,
    /// Elevation of the dropped one above the kept, metres.
    pub dz: f64,
}

/// A crossing of breaklines; it takes its elevation from the earlier one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Where.
    pub place: Point,
    /// Indices of the breaklines, earlier first.
    pub lines: [u32; 2],
    /// How far apart their elevations are, metres, never negative.
    pub dz: f64,
}

/// A point on a breakline that is no vertex of it; it keeps its elevation and the breakline takes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passed {
    /// Index of the point.
    pub point: u32,
    /// Index of the breakline.
    pub line: u32,
    /// Elevation of the point above the breakline, metres.
    pub dz: f64,
}

/// Triangulates points in the local frame with breaklines given as runs of point indices; earlier breaklines rule.
///
/// # Errors
/// [`TinError`] for points outside the frame, fewer than three places, all in one line, a breakline through a point
/// that is not there, or breaklines that cannot be separated.
pub fn triangulate(points: &[Point3], breaklines: &[Vec<u32>]) -> Result<Triangulated, TinError> {
    check(points)?;
    check_lines(points.len(), breaklines)?;
    let joined = join_places(points, breaklines);
    let places: Vec<Point> = joined.kept.iter().map(|&i| on_lattice(points[i as usize].plan())).collect();
    let mut lines = Vec::new();
    let mut segments = Vec::new();
    for (line, run) in (0_u32..).zip(breaklines) {
        for pair in run.windows(2) {
            lines.push(line);
            segments.push([pair[0], pair[1]].map(|i| joined.vertex_of_point[i as usize]));
        }
    }
    let noded = node_distinct(places, &segments)?;
    let mut vertices: Vec<Point3> = noded.points.iter().map(|p| p.at(f64::NAN)).collect();
    for (vertex, &i) in vertices.iter_mut().zip(&joined.kept) {
        vertex.z = points[i as usize].z;
    }
    let (crossings, passed) = raise_crossings(&noded, &mut vertices, &segments, &lines, &joined.kept);
    let edges: Vec<[u32; 2]> = noded.pieces.iter().map(|piece| piece.ends).collect();
    let mesh = fixed_mesh(&noded.points, &edges)?;
    let tin = Tin::from_mesh(vertices, &mesh.from, &mesh.twin, &mesh.fixed);
    Ok(Triangulated {
        tin,
        vertex_of_point: joined.vertex_of_point,
        duplicates: joined.duplicates,
        crossings,
        passed,
        overlapping: overlaps(&noded, &lines),
    })
}

/// Triangulates vertices that all differ in plan, with segments that meet only at ends (see [`super::node`]); keeps
/// the order of vertices and marks the segments as breaklines.
///
/// # Errors
/// [`TinError`] as [`triangulate`]; [`TinError::SamePlace`] for equal vertices, [`TinError::Unsettled`] where segments
/// cross.
///
/// # Panics
/// When a segment names a vertex that is not there.
pub fn constrained(points: &[Point3], segments: &[[u32; 2]]) -> Result<Tin, TinError> {
    check(points)?;
    let given: Vec<Point> = points.iter().map(|p| p.plan()).collect();
    let order = hilbert::order(&given);
    let places: Vec<Point> = order.iter().map(|&i| given[i as usize]).collect();
    if let Some(k) = places.windows(2).position(|pair| pair[0] == pair[1]) {
        return Err(TinError::SamePlace { first: order[k], second: order[k + 1] });
    }
    let mut rank = vec![0; order.len()];
    for (k, &i) in (0_u32..).zip(&order) {
        rank[i as usize] = k;
    }
    let edges: Vec<[u32; 2]> = segments.iter().map(|ends| ends.map(|v| rank[v as usize])).collect();
    let mesh = fixed_mesh(&places, &edges)?;
    let from: Vec<u32> = mesh.from.iter().map(|&v| order[v as usize]).collect();
    Ok(Tin::from_mesh(points.to_vec(), &from, &mesh.twin, &mesh.fixed))
}

fn check(points: &[Point3]) -> Result<(), TinError> {
    let bad = |p: &Point3| !(p.x.abs() <= LIMIT && p.y.abs() <= LIMIT && p.z.is_finite());
    match points.iter().position(bad) {
        Some(index) => {
            let Point3 { x, y, z } = points[index];
            Err(TinError::OutOfFrame { index, x, y, z })
        }
        None => Ok(()),
    }
}

fn check_lines(count: usize, breaklines: &[Vec<u32>]) -> Result<(), TinError> {
    for (line, run) in breaklines.iter().enumerate() {
        if let Some(&point) = run.iter().find(|&&point| point as usize >= count) {
            return Err(TinError::NoSuchPoint { line, point, count });
        }
    }
    Ok(())
}

/// Points with equal places joined, in Hilbert order.
struct Joined {
    /// For each vertex the point whose elevation stands.
    kept: Vec<u32>,
    vertex_of_point: Vec<u32>,
    duplicates: Vec<Duplicate>,
}

fn join_places(points: &[Point3], breaklines: &[Vec<u32>]) -> Joined {
    let places: Vec<Point> = points.iter().map(|p| on_lattice(p.plan())).collect();
    let mut first_line = vec![usize::MAX; points.len()];
    for (line, run) in breaklines.iter().enumerate() {
        for &i in run {
            first_line[i as usize] = first_line[i as usize].min(line);
        }
    }
    let order = hilbert::order(&places);
    let mut joined = Joined { kept: Vec::new(), vertex_of_point: vec![0; points.len()], duplicates: Vec::new() };
    for same in order.chunk_by(|&i, &j| places[i as usize] == places[j as usize]) {
        let vertex = u32::try_from(joined.kept.len()).unwrap_or(u32::MAX);
        let elevation = |i: u32| points[i as usize].z;
        let mut kept = same[0];
        for &i in &same[1..] {
            let order = first_line[i as usize].cmp(&first_line[kept as usize]);
            if order.then(elevation(i).total_cmp(&elevation(kept))).is_lt() {
                kept = i;
            }
        }
        for &i in same {
            joined.vertex_of_point[i as usize] = vertex;
            if i != kept {
                joined.duplicates.push(Duplicate { kept, dropped: i, dz: elevation(i) - elevation(kept) });
            }
        }
        joined.kept.push(kept);
    }
    joined.duplicates.sort_unstable_by_key(|duplicate| duplicate.dropped);
    joined
}

/// Gives the new vertices their elevations and tells where breaklines cross or pass a point.
fn raise_crossings(
    noded: &Noded,
    vertices: &mut [Point3],
    segments: &[[u32; 2]],
    lines: &[u32],
    kept: &[u32],
) -> (Vec<Crossing>, Vec<Passed>) {
    let along = |vertices: &[Point3], segment: u32, place: Point| {
        let [a, b] = segments[segment as usize].map(|v| vertices[v as usize]);
        let direction = b.plan() - a.plan();
        let part = (place - a.plan()).dot(direction) / direction.dot(direction);
        a.z + part.clamp(0.0, 1.0) * (b.z - a.z)
    };
    let mut visits: Vec<(u32, u32)> = noded
        .pieces
        .iter()
        .chain(&noded.overlaid)
        .flat_map(|&Piece { ends, segment }| ends.map(|v| (v, segment)))
        .filter(|&(v, segment)| !segments[segment as usize].contains(&v))
        .collect();
    visits.sort_unstable();
    visits.dedup();
    let (mut crossings, mut passed) = (Vec::new(), Vec::new());
    for visit in visits.chunk_by(|a, b| a.0 == b.0) {
        let v = visit[0].0 as usize;
        let place = vertices[v].plan();
        if v < noded.given {
            for &(_, segment) in visit {
                let dz = vertices[v].z - along(vertices, segment, place);
                passed.push(Passed { point: kept[v], line: lines[segment as usize], dz });
            }
        } else {
            let (_, first) = visit[0];
            vertices[v].z = along(vertices, first, place);
            for &(_, other) in &visit[1..] {
                let dz = (along(vertices, other, place) - vertices[v].z).abs();
                let pair = [lines[first as usize], lines[other as usize]];
                crossings.push(Crossing { place, lines: pair, dz });
            }
        }
    }
    passed.sort_unstable_by_key(|p| (p.point, p.line));
    passed.dedup_by_key(|p| (p.point, p.line));
    (crossings, passed)
}

fn overlaps(noded: &Noded, lines: &[u32]) -> Vec<[u32; 2]> {
    let key = |piece: &Piece| [piece.ends[0].min(piece.ends[1]), piece.ends[0].max(piece.ends[1])];
    if noded.overlaid.is_empty() {
        return Vec::new();
    }
    let mut owners: Vec<([u32; 2], u32)> = noded.pieces.iter().map(|p| (key(p), p.segment)).collect();
    owners.sort_unstable();
    let mut pairs: Vec<[u32; 2]> = noded
        .overlaid
        .iter()
        .filter_map(|piece| {
            let owner = owners.binary_search_by_key(&key(piece), |&(ends, _)| ends).ok()?;
            Some([owners[owner].1, piece.segment].map(|segment| lines[segment as usize]))
        })
        .filter(|pair| pair[0] != pair[1])
        .collect();
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

fn fixed_mesh<'a>(places: &'a [Point], edges: &[[u32; 2]]) -> Result<Mesh<'a>, TinError> {
    if places.len() < 3 {
        return Err(TinError::TooFewPoints { found: places.len() });
    }
    if places.iter().all(|&p| orient(places[0], places[1], p) == Side::On) {
        return Err(TinError::AllInLine { found: places.len() });
    }
    let mut mesh = delaunay(places, places.len());
    for &[a, b] in edges {
        mesh.fix(a, b).map_err(|Point { x, y }| TinError::Unsettled { x, y })?;
    }
    mesh.settle();
    Ok(mesh)
}

#[cfg(test)]
#[path = "differential_tests.rs"]
mod differential;

#[cfg(test)]
#[path = "triangulate_tests.rs"]
mod tests;

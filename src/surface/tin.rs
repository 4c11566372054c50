//! The mesh: vertices, triangles, neighbours, and which edges are breaklines.
//!
//! Edge `k` of a triangle runs from its corner `k` to its corner `k + 1` (modulo three).

use crate::geom::{Bounds, CompensatedSum, Point, Point3, Side, orient};

/// Index of a vertex.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct VertexId(pub u32);

/// Index of a triangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TriangleId(pub u32);

const NONE: u32 = u32::MAX;

/// Why a mesh could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TinError {
    /// Fewer than three places that differ.
    #[error("a surface needs at least three points in different places, found {found}")]
    TooFewPoints {
        /// Different places found.
        found: usize,
    },
    /// Every point stands on one straight line.
    #[error("all {found} points stand on one straight line: a surface needs width")]
    AllInLine {
        /// Points found.
        found: usize,
    },
    /// A coordinate is not a finite number or lies too far from the local origin.
    #[error("point {index} lies outside the local frame (x {x}, y {y}, z {z}): finite, and within 65 km of the site")]
    OutOfFrame {
        /// Index in the input.
        index: usize,
        /// As found.
        x: f64,
        /// As found.
        y: f64,
        /// As found.
        z: f64,
    },
    /// A triangle refers to a vertex that is not there, repeats one, or has no area.
    #[error("triangle {triangle} is not a triangle: corners {corners:?}")]
    BadTriangle {
        /// Index of the triangle.
        triangle: usize,
        /// Its corners.
        corners: [u32; 3],
    },
    /// Three triangles share an edge, or two lie on the same side of it.
    #[error("edge from vertex {from} to vertex {to} belongs to more than two triangles")]
    SharedEdge {
        /// Start vertex.
        from: u32,
        /// End vertex.
        to: u32,
    },
    /// Two vertices that should differ stand in one place.
    #[error("vertices {first} and {second} stand in one place")]
    SamePlace {
        /// Index of one.
        first: u32,
        /// Index of the other.
        second: u32,
    },
    /// A breakline names a point that is not there.
    #[error("breakline {line} runs through point {point}, but there are only {count} points, counted from zero")]
    NoSuchPoint {
        /// Index of the breakline.
        line: usize,
        /// The point it names.
        point: u32,
        /// Points given.
        count: usize,
    },
    /// Breaklines could not be brought to rest on the lattice in ten rounds.
    #[error("breaklines near x {x:.3}, y {y:.3} (local metres) cross too closely to be separated")]
    Unsettled {
        /// Local place.
        x: f64,
        /// Local place.
        y: f64,
    },
}

/// A triangulated surface in the local frame, metres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tin {
    vertices: Vec<Point3>,
    triangles: Vec<[u32; 3]>,
    neighbours: Vec<[u32; 3]>,
    breaks: Vec<[bool; 3]>,
}

impl Tin {
    /// A mesh from triangles that are already right; clockwise ones are turned.
    ///
    /// # Errors
    /// [`TinError::BadTriangle`] or [`TinError::SharedEdge`].
    pub fn from_triangles(vertices: Vec<Point3>, triangles: Vec<[u32; 3]>) -> Result<Self, TinError> {
        let breaks = vec![[false; 3]; triangles.len()];
        Self::from_faces(vertices, triangles, breaks)
    }

    /// The same with breaklines: for each triangle, which of its edges are some (edge `k` runs from corner `k`). An edge
    /// that one of its two triangles tells of is a breakline on both sides.
    ///
    /// # Errors
    /// As [`Self::from_triangles`].
    ///
    /// # Panics
    /// When there are not as many breakline flags as triangles: the caller's fault.
    pub fn from_faces(
        vertices: Vec<Point3>,
        mut triangles: Vec<[u32; 3]>,
        mut breaks: Vec<[bool; 3]>,
    ) -> Result<Self, TinError> {
        assert_eq!(triangles.len(), breaks.len(), "each triangle has its breakline flags");
        for (index, (corners, edges)) in triangles.iter_mut().zip(&mut breaks).enumerate() {
            let bad = TinError::BadTriangle { triangle: index, corners: *corners };
            let [a, b, c] = *corners;
            let place = |v: u32| vertices.get(v as usize).map(|p| p.plan());
            let (Some(pa), Some(pb), Some(pc)) = (place(a), place(b), place(c)) else { return Err(bad) };
            match orient(pa, pb, pc) {
                Side::Left => {}
                Side::Right => {
                    corners.swap(1, 2);
                    edges.swap(0, 2);
                }
                Side::On => return Err(bad),
            }
        }
        let neighbours = neighbours_of(&triangles)?;
        let one_sided: Vec<(usize, u32)> = (0..triangles.len())
            .flat_map(|t| (0..3).map(move |k| (t, k)))
            .filter(|&(t, k)| breaks[t][k] && neighbours[t][k] != NONE)
            .map(|(t, k)| (neighbours[t][k] as usize, index(t)))
            .collect();
        for (across, t) in one_sided {
            if let Some(back) = (0..3).find(|&k| neighbours[across][k] == t) {
                breaks[across][back] = true;
            }
        }
        Ok(Self { vertices, triangles, neighbours, breaks })
    }

    /// The same triangles and breaklines on other places for the vertices, as many and in the same order.
    ///
    /// # Errors
    /// [`TinError::BadTriangle`] when a triangle loses its area, or a place is missing.
    pub fn with_vertices(&self, vertices: Vec<Point3>) -> Result<Self, TinError> {
        Self::from_faces(vertices, self.triangles.clone(), self.breaks.clone())
    }

    /// A mesh from anticlockwise triangles and their breaklines; vertices that no triangle uses are left out.
    pub(super) fn compacted(
        mut vertices: Vec<Point3>,
        mut triangles: Vec<[u32; 3]>,
        breaks: Vec<[bool; 3]>,
    ) -> Result<Self, TinError> {
        let mut rank = vec![NONE; vertices.len()];
        triangles.iter().flatten().for_each(|&v| rank[v as usize] = 0);
        let mut count = 0;
        for v in 0..vertices.len() {
            if rank[v] == 0 {
                rank[v] = index(count);
                vertices[count] = vertices[v];
                count += 1;
            }
        }
        vertices.truncate(count);
        triangles.iter_mut().flatten().for_each(|v| *v = rank[*v as usize]);
        let neighbours = neighbours_of(&triangles)?;
        Ok(Self { vertices, triangles, neighbours, breaks })
    }

    /// A mesh from half-edges that are right already; each triangle starts at its smallest vertex, and triangles are
    /// put in the order of their corners.
    pub(super) fn from_mesh(vertices: Vec<Point3>, from: &[u32], twin: &[u32], fixed: &[bool]) -> Self {
        let turned: Vec<u8> = from
            .chunks_exact(3)
            .map(|t| if t[0] < t[1] && t[0] < t[2] { 0 } else { 1 + u8::from(t[2] < t[1]) })
            .collect();
        let edges = |t: u32| {
            let (first, turn) = (3 * t as usize, turned[t as usize]);
            match turn {
                0 => [first, first + 1, first + 2],
                1 => [first + 1, first + 2, first],
                _ => [first + 2, first, first + 1],
            }
        };
        // Counting sort by the smallest corner; the handful with the same one by the others.
        let mut starts = vec![0_u32; vertices.len() + 1];
        for t in 0..index(turned.len()) {
            starts[from[edges(t)[0]] as usize + 1] += 1;
        }
        for v in 0..vertices.len() {
            starts[v + 1] += starts[v];
        }
        let corners = |t: u32| edges(t).map(|h| from[h]);
        let mut sorted = vec![0_u32; turned.len()];
        for t in (0..index(turned.len())).rev() {
            // Filled from behind, each start ends up where its own run starts.
            let end = &mut starts[corners(t)[0] as usize + 1];
            *end -= 1;
            sorted[*end as usize] = t;
        }
        starts.push(index(turned.len()));
        for pair in starts[1..].windows(2) {
            sorted[pair[0] as usize..pair[1] as usize].sort_unstable_by_key(|&t| (corners(t), t));
        }
        drop(starts);
        let mut rank = vec![0_u32; turned.len()];
        for (new, &old) in (0_u32..).zip(&sorted) {
            rank[old as usize] = new;
        }
        let across = |h: usize| if twin[h] == NONE { NONE } else { rank[twin[h] as usize / 3] };
        Self {
            vertices,
            triangles: sorted.iter().map(|&t| corners(t)).collect(),
            neighbours: sorted.iter().map(|&t| edges(t).map(across)).collect(),
            breaks: sorted.iter().map(|&t| edges(t).map(|h| fixed[h])).collect(),
        }
    }

    /// The part of the mesh that stays, in the same order, without vertices that no triangle uses.
    pub(super) fn kept(&self, stays: &[bool]) -> Self {
        let mut vertex = vec![NONE; self.vertices.len()];
        let staying = || (0..self.triangles.len()).filter(|&t| stays[t]);
        staying().flat_map(|t| self.triangles[t]).for_each(|v| vertex[v as usize] = 0);
        let mut vertices = Vec::new();
        for (new, &place) in vertex.iter_mut().zip(&self.vertices).filter(|(new, _)| **new == 0) {
            *new = index(vertices.len());
            vertices.push(place);
        }
        let mut rank = vec![NONE; stays.len()];
        for (new, old) in staying().enumerate() {
            rank[old] = index(new);
        }
        let across = |t: u32| if t == NONE { NONE } else { rank[t as usize] };
        Self {
            vertices,
            triangles: staying().map(|t| self.triangles[t].map(|v| vertex[v as usize])).collect(),
            neighbours: staying().map(|t| self.neighbours[t].map(across)).collect(),
            breaks: staying().map(|t| self.breaks[t]).collect(),
        }
    }

    /// The vertices.
    #[must_use]
    pub fn vertices(&self) -> &[Point3] {
        &self.vertices
    }

    /// The triangles as corner indices, anticlockwise.
    #[must_use]
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// The triangle across an edge; `None` at the rim.
    #[must_use]
    pub fn neighbour(&self, triangle: TriangleId, edge: usize) -> Option<TriangleId> {
        let across = self.neighbours[triangle.0 as usize][edge];
        (across != NONE).then_some(TriangleId(across))
    }

    /// True when the edge is a breakline.
    #[must_use]
    pub fn is_break(&self, triangle: TriangleId, edge: usize) -> bool {
        self.breaks[triangle.0 as usize][edge]
    }

    /// The three corners of a triangle.
    #[must_use]
    pub fn corners(&self, triangle: TriangleId) -> [Point3; 3] {
        self.triangles[triangle.0 as usize].map(|v| self.vertices[v as usize])
    }

    /// The box around it; `None` when it is empty.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds> {
        Bounds::around(self.vertices.iter().map(|v| v.plan()))
    }

    /// Area in plan, square metres.
    #[must_use]
    pub fn plan_area(&self) -> f64 {
        self.ids().map(|t| triangle_area(self.corners(t))).collect::<CompensatedSum>().total()
    }

    /// All triangles.
    pub fn ids(&self) -> impl Iterator<Item = TriangleId> + use<> {
        (0..u32::try_from(self.triangles.len()).unwrap_or(u32::MAX)).map(TriangleId)
    }

    /// The same mesh raised by so many metres (lowered when negative).
    #[must_use]
    pub fn raised_by(&self, metres: f64) -> Self {
        let mut copy = self.clone();
        copy.vertices.iter_mut().for_each(|v| v.z += metres);
        copy
    }

    /// The same mesh in plan with the elevation of each vertex made anew.
    #[must_use]
    pub fn with_elevations(&self, elevation: impl Fn(Point3) -> f64) -> Self {
        let mut copy = self.clone();
        copy.vertices.iter_mut().for_each(|v| v.z = elevation(*v));
        copy
    }

    /// Lowest and highest elevation of vertices in use; `None` when it is empty.
    #[must_use]
    pub fn elevation_range(&self) -> Option<(f64, f64)> {
        self.triangles
            .iter()
            .flatten()
            .map(|&v| self.vertices[v as usize].z)
            .fold(None, |range, z| Some(range.map_or((z, z), |(low, high): (f64, f64)| (low.min(z), high.max(z)))))
    }
}

/// Signed plan area of a triangle, positive anticlockwise.
pub(crate) fn triangle_area([a, b, c]: [Point3; 3]) -> f64 {
    (b.plan() - a.plan()).cross(c.plan() - a.plan()) / 2.0
}

/// The plane through three corners: its gradient (dz/dx, dz/dy).
pub(crate) fn gradient([a, b, c]: [Point3; 3]) -> crate::geom::Vector {
    let (u, v) = (b.plan() - a.plan(), c.plan() - a.plan());
    let (du, dv) = (b.z - a.z, c.z - a.z);
    let det = u.cross(v);
    crate::geom::Vector::new((du * v.y - dv * u.y) / det, (dv * u.x - du * v.x) / det)
}

/// Elevation of the plane through three corners at a place, measured from the first corner.
pub(crate) fn plane_at(corners: [Point3; 3], place: Point) -> f64 {
    corners[0].z + gradient(corners).dot(place - corners[0].plan())
}

/// Finds the triangle across each edge. Half-edges are put in compressed rows by their lower vertex, where a twin is
/// found among a handful.
fn neighbours_of(triangles: &[[u32; 3]]) -> Result<Vec<[u32; 3]>, TinError> {
    let ends = |t: usize, k: usize| [triangles[t][k], triangles[t][(k + 1) % 3]];
    let every = || (0..triangles.len()).flat_map(|t| (0..3).map(move |k| (t, k)));
    let vertices = triangles.iter().flatten().max().map_or(0, |&v| v as usize + 1);
    let mut starts = vec![0_usize; vertices + 1];
    for (t, k) in every() {
        let [from, to] = ends(t, k);
        starts[from.min(to) as usize + 1] += 1;
    }
    for v in 0..vertices {
        starts[v + 1] += starts[v];
    }
    let mut next = starts.clone();
    // Upper vertex, runs downwards, triangle, edge.
    let mut rows = vec![(0_u32, false, 0_usize, 0_usize); triangles.len() * 3];
    for (t, k) in every() {
        let [from, to] = ends(t, k);
        let low = from.min(to) as usize;
        rows[next[low]] = (from.max(to), from > to, t, k);
        next[low] += 1;
    }
    let mut neighbours = vec![[NONE; 3]; triangles.len()];
    for v in 0..vertices {
        let row = &mut rows[starts[v]..starts[v + 1]];
        row.sort_unstable();
        for same in row.chunk_by(|a, b| a.0 == b.0) {
            match *same {
                [_] => {}
                [(_, false, t, k), (_, true, other, edge)] => {
                    neighbours[t][k] = index(other);
                    neighbours[other][edge] = index(t);
                }
                _ => return Err(TinError::SharedEdge { from: index(v), to: same[0].0 }),
            }
        }
    }
    Ok(neighbours)
}

fn index(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(NONE)
}

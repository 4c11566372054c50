//! The Delaunay triangulation of places: their convex hull first, then the others one by one.
//!
//! Places are put in along a Hilbert curve in rounds, each some times larger than the one before, so that a walk to the
//! next place is short and no order of the input makes it slow. All tests are exact, so the result is the Delaunay
//! triangulation for every set of places that differ and do not stand in one line, on rings, grids and near-lines too.
//!
//! Sources: Bowyer 1981 and Watson 1981 (one by one); Amenta, Choi and Rote 2003, Incremental constructions con BRIO
//! (rounds); Andrew 1979, Another efficient algorithm for convex hulls in two dimensions; Akl and Toussaint 1978 (what
//! lies inside eight extreme places is on no hull).

use super::mesh::{Holder, Mesh, NONE};
use crate::geom::{Point, Side, orient};

/// Two bits of chance a round: each is four times as large as the one before.
const ROUNDS: u32 = 12;

/// The mesh of the first `count` places, which are in Hilbert order, differ and do not stand in one line; it can take
/// the others later.
pub(super) fn delaunay(places: &[Point], count: usize) -> Mesh<'_> {
    let hull = hull(&places[..count]);
    let mut mesh = of_hull(places, &hull, count);
    let mut last = 0;
    for round in (0..ROUNDS).rev() {
        for v in (0..u32::try_from(count).unwrap_or(NONE)).filter(|&v| round_of(v) == round) {
            if !mesh.holds(v) {
                match mesh.locate(mesh.place(v), last) {
                    holder @ Holder::Triangle(t) => {
                        mesh.insert(v, holder, |_| {});
                        last = t;
                    }
                    holder @ Holder::Edge(h) => {
                        mesh.insert(v, holder, |_| {});
                        last = h / 3;
                    }
                    Holder::Vertex(_) | Holder::Beyond(_) => {}
                }
            }
        }
    }
    mesh
}

/// The round of a vertex, by a hash of its number: the last, round 0, has three quarters of them.
const fn round_of(v: u32) -> u32 {
    let mut h = v.wrapping_add(0x9e37_79b9);
    h = (h ^ (h >> 16)).wrapping_mul(0x21f0_aaad);
    h = (h ^ (h >> 15)).wrapping_mul(0x735a_2d97);
    h ^= h >> 15;
    let round = h.trailing_zeros() / 2;
    if round < ROUNDS { round } else { ROUNDS - 1 }
}

/// The triangulation of a convex polygon of vertices, each half of it halved again; circles are made empty level by
/// level.
fn of_hull<'a>(places: &'a [Point], hull: &[u32], count: usize) -> Mesh<'a> {
    let (third, two_thirds) = (hull.len() / 3, 2 * hull.len() / 3);
    let mut mesh = Mesh::started(places, [hull[0], hull[third], hull[two_thirds]], count);
    let mut gaps = vec![[0, third], [third, two_thirds], [two_thirds, hull.len()]];
    let mut rim = vec![NONE; hull.len()];
    let mut place_on_hull = Vec::new();
    while !gaps.is_empty() {
        gaps.retain(|gap| gap[1] - gap[0] > 1);
        if place_on_hull.is_empty() && !gaps.is_empty() {
            place_on_hull = vec![NONE; places.len()];
            (0_u32..).zip(hull).for_each(|(at, &v)| place_on_hull[v as usize] = at);
        }
        for (h, _) in (0_u32..).zip(&mesh.twin).filter(|&(_, &twin)| twin == NONE) {
            if let Some(&at) = place_on_hull.get(mesh.from[h as usize] as usize) {
                rim[at as usize] = h;
            }
        }
        let first = u32::try_from(mesh.from.len()).unwrap_or(NONE);
        let mut halves = Vec::with_capacity(2 * gaps.len());
        for &[start, end] in &gaps {
            let middle = usize::midpoint(start, end);
            mesh.add_beyond(rim[start], hull[middle]);
            halves.extend([[start, middle], [middle, end]]);
        }
        mesh.legalize(first..u32::try_from(mesh.from.len()).unwrap_or(NONE));
        gaps = halves;
    }
    mesh
}

/// The corners of the convex hull, anticlockwise; none in the line of its neighbours.
fn hull(places: &[Point]) -> Vec<u32> {
    let outer = outer(places);
    let mut order: Vec<u32> = (0_u32..)
        .zip(places)
        .filter(|&(_, &p)| outer.iter().any(|&[a, b]| orient(a, b, p) != Side::Left))
        .map(|(v, _)| v)
        .collect();
    order.sort_unstable_by(|&i, &j| {
        let (p, q) = (places[i as usize], places[j as usize]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    });
    let mut hull: Vec<u32> = Vec::new();
    let lower = order.iter();
    let upper = order.iter().rev().skip(1);
    let mut fixed = 1;
    for (half, chain) in [lower.copied().collect::<Vec<_>>(), upper.copied().collect()].into_iter().enumerate() {
        if half == 1 {
            fixed = hull.len();
        }
        for v in chain {
            while hull.len() > fixed
                && orient(
                    places[hull[hull.len() - 2] as usize],
                    places[hull[hull.len() - 1] as usize],
                    places[v as usize],
                ) != Side::Left
            {
                hull.pop();
            }
            hull.push(v);
        }
    }
    hull.pop();
    hull
}

/// Sides of the polygon through the extreme places in eight directions, anticlockwise; places left of all of them are
/// inside the hull.
fn outer(places: &[Point]) -> Vec<[Point; 2]> {
    let directions: [(f64, f64); 8] =
        [(1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (-1.0, 1.0), (-1.0, 0.0), (-1.0, -1.0), (0.0, -1.0), (1.0, -1.0)];
    let mut farthest = directions.map(|_| (f64::NEG_INFINITY, Point::default()));
    for &place in places {
        for (best, (x, y)) in farthest.iter_mut().zip(directions) {
            let reach = x * place.x + y * place.y;
            if reach > best.0 {
                *best = (reach, place);
            }
        }
    }
    let corners = farthest.map(|(_, place)| place);
    (0..8).map(|k| [corners[k], corners[(k + 1) % 8]]).filter(|[a, b]| a != b).collect()
}

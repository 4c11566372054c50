//! Noding: segments are cut where they cross and bent to the vertices they pass, so that they meet only at ends.
//!
//! All of it happens on the lattice, in exact integers, before anything is triangulated. Invariant of the result: no
//! two pieces cross, no piece passes the lattice cell of a vertex that is not its end, no two pieces are the same.
//!
//! Source: snap rounding (Hobby 1999, Practical segment intersection with finite precision output; Guibas and
//! Marimont 1998), with the half-open cells of the latter, repeated until nothing moves: a bent piece may reach a
//! cell that the straight one missed.

use super::buckets::Buckets;
use super::tin::TinError;
use crate::geom::{LATTICE_STEP, Point, snap_point};

/// Rounds before noding gives up.
const ROUNDS: usize = 10;

/// A part of a segment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// Its ends, as indices into [`Noded::points`], in the direction of the segment.
    pub ends: [u32; 2],
    /// Index of the segment it is part of.
    pub segment: u32,
}

/// Segments that meet only at ends.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Noded {
    /// Every place once: the given ones in their order, then those where segments cross.
    pub points: Vec<Point>,
    /// For each given point its index in [`Noded::points`].
    pub vertex_of_point: Vec<u32>,
    /// How many of [`Noded::points`] were given; the rest are crossings.
    pub given: usize,
    /// All pieces, in the order of segments and along each. Where segments lie on one another, the piece belongs to
    /// the first of them.
    pub pieces: Vec<Piece>,
    /// Pieces of later segments that lie on a piece of an earlier one.
    pub overlaid: Vec<Piece>,
}

/// Cuts and bends segments until they meet only at ends. Points are brought to the lattice and equal places joined;
/// a segment within one place vanishes.
///
/// # Errors
/// [`TinError::Unsettled`] when ten rounds were not enough.
///
/// # Panics
/// When a segment names a point that is not there.
pub fn node(points: &[Point], segments: &[[u32; 2]]) -> Result<Noded, TinError> {
    let snapped: Vec<Point> = points.iter().map(|&p| on_lattice(p)).collect();
    let mut order: Vec<u32> = (0..index(points.len())).collect();
    order.sort_unstable_by(|&i, &j| {
        let (p, q) = (snapped[i as usize], snapped[j as usize]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(i.cmp(&j))
    });
    let mut first_there: Vec<u32> = (0..index(points.len())).collect();
    for pair in order.windows(2) {
        if snapped[pair[0] as usize] == snapped[pair[1] as usize] {
            first_there[pair[1] as usize] = first_there[pair[0] as usize];
        }
    }
    let mut distinct = Vec::new();
    let mut vertex_of_point = vec![0; points.len()];
    for (i, &place) in snapped.iter().enumerate() {
        let first = first_there[i] as usize;
        vertex_of_point[i] = if first == i { index(distinct.len()) } else { vertex_of_point[first] };
        if first == i {
            distinct.push(place);
        }
    }
    let segments: Vec<[u32; 2]> = segments.iter().map(|ends| ends.map(|v| vertex_of_point[v as usize])).collect();
    node_distinct(distinct, &segments).map(|noded| Noded { vertex_of_point, ..noded })
}

/// The same for points that stand on the lattice already and all differ; leaves `vertex_of_point` empty.
pub(super) fn node_distinct(points: Vec<Point>, segments: &[[u32; 2]]) -> Result<Noded, TinError> {
    let given = points.len();
    let mut places = points;
    let mut pieces: Vec<Piece> = (0_u32..).zip(segments).map(|(segment, &ends)| Piece { ends, segment }).collect();
    pieces.retain(|piece| piece.ends[0] != piece.ends[1]);
    for round in 0.. {
        let Some(moved) = settle_once(&mut places, &mut pieces) else { break };
        if round == ROUNDS {
            return Err(TinError::Unsettled { x: moved.x, y: moved.y });
        }
    }
    let (pieces, overlaid) = part_overlaid(pieces);
    Ok(Noded { points: places, vertex_of_point: Vec::new(), given, pieces, overlaid })
}

/// One round; the last place where something was cut or bent, `None` when nothing was.
fn settle_once(places: &mut Vec<Point>, pieces: &mut Vec<Piece>) -> Option<Point> {
    if pieces.is_empty() {
        return None;
    }
    let grid = Buckets::over(pieces.len(), |i| {
        let [a, b] = pieces[i].ends.map(|v| places[v as usize]);
        [a, b, b]
    });
    let ends: Vec<[[i64; 2]; 2]> = pieces.iter().map(|p| p.ends.map(|v| integer(places[v as usize]))).collect();
    add_crossings(&grid, places, pieces, &ends);
    let mut hits = Vec::new();
    for (v, &place) in (0_u32..).zip(places.iter()) {
        let Some(cell) = grid.bucket(place) else { continue };
        let centre = integer(place);
        for &i in grid.items(cell) {
            let [a, b] = ends[i as usize];
            if a != centre
                && b != centre
                && let Some(along) = passes(a, b, centre)
            {
                hits.push((i, along, v));
            }
        }
    }
    let moved = hits.last().map(|&(_, _, v)| places[v as usize])?;
    hits.sort_unstable();
    let mut hits = hits.into_iter().peekable();
    let mut cut = Vec::with_capacity(pieces.len() + hits.len());
    for (i, piece) in (0_u32..).zip(pieces.iter()) {
        let mut start = piece.ends[0];
        while let Some((_, _, v)) = hits.next_if(|&(hit, _, _)| hit == i) {
            cut.push(Piece { ends: [start, v], segment: piece.segment });
            start = v;
        }
        cut.push(Piece { ends: [start, piece.ends[1]], segment: piece.segment });
    }
    *pieces = cut;
    Some(moved)
}

/// Adds the lattice places where pieces cross, as far as no vertex stands there yet.
fn add_crossings(grid: &Buckets, places: &mut Vec<Point>, pieces: &[Piece], ends: &[[[i64; 2]; 2]]) {
    let mut found = Vec::new();
    let mut cells = vec![false; grid.count()];
    for cell in 0..grid.count() {
        let items = grid.items(cell);
        for (k, &i) in items.iter().enumerate() {
            let ([a, b], [u, v]) = (ends[i as usize], pieces[i as usize].ends);
            for &j in &items[k + 1..] {
                let other = pieces[j as usize].ends;
                if other.contains(&u) || other.contains(&v) {
                    continue;
                }
                let [c, d] = ends[j as usize];
                if let Some(place) = crossing(a, b, c, d) {
                    let real = place.map(|value| value as f64 * LATTICE_STEP);
                    if let Some(there) = grid.bucket(Point::new(real[0], real[1])) {
                        cells[there] = true;
                    }
                    found.push(place);
                }
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    let mut known = vec![false; found.len()];
    if !found.is_empty() {
        for &place in places.iter() {
            if grid.bucket(place).is_some_and(|cell| cells[cell])
                && let Ok(k) = found.binary_search(&integer(place))
            {
                known[k] = true;
            }
        }
    }
    let new = found.iter().zip(known).filter(|&(_, known)| !known);
    places.extend(new.map(|(place, _)| Point::new(place[0] as f64 * LATTICE_STEP, place[1] as f64 * LATTICE_STEP)));
}

/// Leaves each edge once, with the first segment that has it.
fn part_overlaid(pieces: Vec<Piece>) -> (Vec<Piece>, Vec<Piece>) {
    let key = |piece: &Piece| [piece.ends[0].min(piece.ends[1]), piece.ends[0].max(piece.ends[1])];
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_unstable_by_key(|&i| (key(&pieces[i]), i));
    let mut later = vec![false; pieces.len()];
    for pair in order.windows(2) {
        later[pair[1]] = key(&pieces[pair[0]]) == key(&pieces[pair[1]]);
    }
    let (mut first, mut overlaid) = (Vec::with_capacity(pieces.len()), Vec::new());
    for (piece, later) in pieces.into_iter().zip(later) {
        if later { overlaid.push(piece) } else { first.push(piece) }
    }
    (first, overlaid)
}

/// The lattice place nearest to where two segments cross inside both (a half goes up); exact.
fn crossing(a: [i64; 2], b: [i64; 2], c: [i64; 2], d: [i64; 2]) -> Option<[i64; 2]> {
    let apart = |k: usize| a[k].max(b[k]) < c[k].min(d[k]) || c[k].max(d[k]) < a[k].min(b[k]);
    if apart(0) || apart(1) {
        return None;
    }
    if side(a, b, c).signum() * side(a, b, d).signum() >= 0 {
        return None;
    }
    let (side_a, side_b) = (cross(c, d, a), cross(c, d, b));
    if side_a.signum() * side_b.signum() >= 0 {
        return None;
    }
    // Along a-b the side of c-d falls from side_a to side_b in proportion; 75 bits times 37 stay within 127.
    let (whole, part) = ((side_a - side_b).abs(), side_a.abs());
    let share = part as f64 / whole as f64;
    let at = |k: usize| {
        let rough = (b[k] - a[k]) as f64 * share + 0.5;
        // Good to 2^-14 of a step: only close to a half does it take the slow division to round the right way.
        if (rough - rough.round()).abs() > 1e-3 {
            return a[k] + whole_steps(rough.floor());
        }
        let step = 2 * i128::from(b[k] - a[k]) * part + whole;
        a[k] + i64::try_from(step.div_euclid(2 * whole)).unwrap_or(0)
    };
    Some([at(0), at(1)])
}

/// Where along segment `a`-`b` it passes the cell of `v`, in a measure that rises from `a`; `None` when it does not.
/// A cell is half-open: its lower and left side belong to it.
fn passes(a: [i64; 2], b: [i64; 2], v: [i64; 2]) -> Option<i128> {
    let inside = |k: usize| v[k] >= a[k].min(b[k]) && v[k] <= a[k].max(b[k]);
    if !inside(0) || !inside(1) {
        return None;
    }
    if surely_beside(a, b, v) {
        return None;
    }
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let twice = 2 * cross(a, b, v) * if dx < 0 { -1 } else { 1 };
    let reach = i128::from(dx.abs() + dy.abs());
    // Touching a corner counts only for the lower left one, which a falling line reaches with `v` on its left.
    let falling = (dx < 0) != (dy < 0);
    let touches = twice.abs() < reach || (falling && twice == reach);
    touches.then(|| i128::from(v[0] - a[0]) * i128::from(dx) + i128::from(v[1] - a[1]) * i128::from(dy))
}

/// True only when `v` lies farther than some steps from the line through `a` and `b`: a quick test in floating point
/// that leaves the doubtful ones to the exact one. Rounding is below 2^-50 of the products.
fn surely_beside(a: [i64; 2], b: [i64; 2], v: [i64; 2]) -> bool {
    let [dx, dy, ex, ey] = [b[0] - a[0], b[1] - a[1], v[0] - a[0], v[1] - a[1]].map(|step| step as f64);
    let (left, right) = (dx * ey, dy * ex);
    (left - right).abs() > 1e-15 * (left.abs() + right.abs()) + dx.abs() + dy.abs()
}

/// On which side of the line from `a` to `b` `c` lies: positive left, negative right, zero on it; exact.
fn side(a: [i64; 2], b: [i64; 2], c: [i64; 2]) -> i128 {
    let [dx, dy, ex, ey] = [b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]].map(|step| step as f64);
    let (left, right) = (dx * ey, dy * ex);
    if (left - right).abs() > 1e-15 * (left.abs() + right.abs()) {
        return if left > right { 1 } else { -1 };
    }
    cross(a, b, c)
}

/// Twice the signed area of a triangle, exact: differences have 38 bits.
fn cross(a: [i64; 2], b: [i64; 2], c: [i64; 2]) -> i128 {
    i128::from(b[0] - a[0]) * i128::from(c[1] - a[1]) - i128::from(b[1] - a[1]) * i128::from(c[0] - a[0])
}

/// Nearest lattice place, without a negative zero.
pub(super) fn on_lattice(point: Point) -> Point {
    let snapped = snap_point(point);
    Point::new(snapped.x + 0.0, snapped.y + 0.0)
}

/// A place on the lattice as whole steps.
fn integer(place: Point) -> [i64; 2] {
    [whole_steps(place.x / LATTICE_STEP), whole_steps(place.y / LATTICE_STEP)]
}

#[expect(clippy::cast_possible_truncation, reason = "whole numbers below 2^38")]
const fn whole_steps(value: f64) -> i64 {
    value as i64
}

fn index(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_crossing_at_half_a_step_goes_up() {
        assert_eq!(crossing([0, 0], [1, 1], [0, 1], [1, 0]), Some([1, 1]));
        assert_eq!(crossing([0, 0], [-1, -1], [0, -1], [-1, 0]), Some([0, 0]));
    }

    #[test]
    fn a_cell_owns_its_lower_left_corner_only() {
        // Falling lines through the lower left and the upper right corner of the cell round (1, 1).
        assert!(passes([0, 1], [1, 0], [1, 1]).is_some());
        assert!(passes([1, 2], [2, 1], [1, 1]).is_none());
        assert!(passes([2, 1], [1, 2], [1, 1]).is_none());
        // Rising lines through the other two.
        assert!(passes([0, 1], [1, 2], [1, 1]).is_none());
        assert!(passes([1, 0], [2, 1], [1, 1]).is_none());
    }

    #[test]
    fn a_line_bends_to_a_vertex_within_half_a_step() {
        let far = 65_000.0;
        let points = [Point::new(-far, 0.0), Point::new(far, 0.0), Point::new(1.0, 0.4 * LATTICE_STEP)];
        assert_eq!(node(&points, &[[0, 1]]).unwrap().pieces.len(), 2);
        let points = [Point::new(-far, 0.0), Point::new(far, LATTICE_STEP), Point::new(1.0, LATTICE_STEP)];
        let pieces: Vec<[u32; 2]> = node(&points, &[[0, 1]]).unwrap().pieces.iter().map(|piece| piece.ends).collect();
        assert_eq!(pieces, [[0, 2], [2, 1]]);
        let points = [Point::new(-far, 0.0), Point::new(far, 0.0), Point::new(1.0, LATTICE_STEP)];
        assert_eq!(node(&points, &[[0, 1]]).unwrap().pieces.len(), 1);
    }

    proptest! {
        #[test]
        fn a_crossing_is_rounded_exactly(
            near in prop::collection::vec(-40..40_i64, 8),
            far in prop::collection::vec(-(1_i64 << 36)..(1 << 36), 8),
            small in prop::bool::ANY,
        ) {
            let v = if small { near } else { far };
            let [a, b, c, d] = [[v[0], v[1]], [v[2], v[3]], [v[4], v[5]], [v[6], v[7]]];
            let (there, back) = (crossing(a, b, c, d), crossing(d, c, b, a));
            prop_assert_eq!(there.is_some(), back.is_some());
            if let (Some(place), Some(other)) = (there, back) {
                prop_assert_eq!(place, other, "whichever line is asked");
                // The exact place lies in the cell: a + (b - a) part / whole within half a step.
                let (part, side_b) = (cross(c, d, a), cross(c, d, b));
                let (part, whole) = (part.abs(), (part - side_b).abs());
                for k in 0..2 {
                    let off = i128::from(b[k] - a[k]) * part - i128::from(place[k] - a[k]) * whole;
                    prop_assert!(2 * off >= -whole && 2 * off < whole);
                }
            }
        }
    }
}

//! The order of places along a Hilbert curve, so that neighbours in the plane are neighbours in memory.

use crate::geom::{Bounds, Point};

/// Bits of the curve per axis.
const BITS: u32 = 16;

/// Indices of the places along the curve; equal places follow one another in rising index.
pub(super) fn order(places: &[Point]) -> Vec<u32> {
    let Some(bounds) = Bounds::around(places.iter().copied()) else { return Vec::new() };
    let cells = f64::from(1_u32 << BITS) - 1.0;
    let scale = |extent: f64| if extent > 0.0 { cells / extent } else { 0.0 };
    let (across, up) = (scale(bounds.width()), scale(bounds.height()));
    let mut keys: Vec<u64> = places
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let key = along(cell((p.x - bounds.low.x) * across), cell((p.y - bounds.low.y) * up));
            (u64::from(key) << 32) | i as u64
        })
        .collect();
    keys.sort_unstable();
    #[expect(clippy::cast_possible_truncation, reason = "the low half is the index")]
    let mut order: Vec<u32> = keys.iter().map(|&key| key as u32).collect();
    let mut start = 0;
    while start < keys.len() {
        let run = keys[start..].iter().take_while(|&&key| key >> 32 == keys[start] >> 32).count();
        if run > 1 {
            order[start..start + run].sort_unstable_by(|&i, &j| {
                let (p, q) = (places[i as usize], places[j as usize]);
                p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(i.cmp(&j))
            });
        }
        start += run;
    }
    order
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "scaled to sixteen bits")]
const fn cell(value: f64) -> u32 {
    value as u32
}

/// Distance along the curve of a cell (the bitwise rotation of quadrants, Hamilton 2006).
const fn along(mut x: u32, mut y: u32) -> u32 {
    let mut distance = 0;
    let mut side = 1 << (BITS - 1);
    while side > 0 {
        let (right, upper) = ((x & side > 0) as u32, (y & side > 0) as u32);
        distance += side * side * ((3 * right) ^ upper);
        if upper == 0 {
            if right == 1 {
                x = !x;
                y = !y;
            }
            (x, y) = (y, x);
        }
        side >>= 1;
    }
    distance
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn following_cells_touch() {
        let mut cells: Vec<(u32, u32, u32)> = (0..32).flat_map(|x| (0..32).map(move |y| (along(x, y), x, y))).collect();
        cells.sort_unstable();
        for pair in cells.windows(2) {
            assert_eq!(pair[1].0, pair[0].0 + 1);
            assert_eq!(pair[0].1.abs_diff(pair[1].1) + pair[0].2.abs_diff(pair[1].2), 1);
        }
    }

    #[test]
    fn equal_places_stand_together() {
        let places = [Point::new(0.0, 0.0), Point::new(9.0, 9.0), Point::new(0.0, 0.0), Point::new(1e-6, 0.0)];
        assert_eq!(order(&places), [0, 2, 3, 1]);
    }
}

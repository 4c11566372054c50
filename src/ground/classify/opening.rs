//! Openings of a raster with discs: the lowest value in the disc, then the highest of those.
//!
//! Unknown cells take no part: they neither lower nor raise, and stay unknown. A disc is taken row by row, as runs of
//! growing half-width, so that a step of the radius costs a few passes over the raster.

/// Where nothing is known, for the lowest.
const NOTHING: f32 = f32::INFINITY;

/// The opening with a disc of this radius in cells; `values` holds infinity where unknown, and so does the answer.
pub(super) fn opened(values: &[f32], wide: usize, radius: usize) -> Vec<f32> {
    let mut lowest = eroded(values, wide, radius);
    // The highest is the lowest of the negatives; a cell that is unknown must not raise its neighbours.
    lowest.iter_mut().zip(values).for_each(|(low, value)| *low = if *value == NOTHING { NOTHING } else { -*low });
    let mut highest = eroded(&lowest, wide, radius);
    highest.iter_mut().zip(values).for_each(|(high, value)| *high = if *value == NOTHING { NOTHING } else { -*high });
    highest
}

/// The closing, by the opening of the negatives.
pub(super) fn closed(values: &[f32], wide: usize, radius: usize) -> Vec<f32> {
    let negative: Vec<f32> = values.iter().map(|value| if *value == NOTHING { NOTHING } else { -value }).collect();
    let mut opened = opened(&negative, wide, radius);
    opened.iter_mut().for_each(|value| *value = if *value == NOTHING { NOTHING } else { -*value });
    opened
}

/// The lowest value within the disc around each cell; infinity where there is none.
pub(super) fn eroded(values: &[f32], wide: usize, radius: usize) -> Vec<f32> {
    let high = values.len() / wide.max(1);
    let mut lowest = vec![NOTHING; values.len()];
    // Rows above and below that a run of each half-width belongs to.
    let mut rows_of = vec![Vec::new(); radius + 1];
    for up in 0..=radius {
        let half = (0..=radius).rev().find(|half| half * half + up * up <= radius * radius).unwrap_or_default();
        rows_of[half].push(up);
    }
    let padded = wide + 2 * radius + 2;
    let (mut run, mut wider) = (vec![NOTHING; padded], vec![NOTHING; padded]);
    for row in 0..high {
        run.fill(NOTHING);
        run[radius + 1..=radius + wide].copy_from_slice(&values[row * wide..(row + 1) * wide]);
        for (half, rows) in rows_of.iter().enumerate() {
            if half > 0 {
                widened(&run, &mut wider, half);
                std::mem::swap(&mut run, &mut wider);
            }
            for &up in rows {
                let other = [row.checked_sub(up), Some(row + up).filter(|&other| up > 0 && other < high)];
                for other in other.into_iter().flatten() {
                    let into = &mut lowest[other * wide..(other + 1) * wide];
                    into.iter_mut().zip(&run[radius + 1..]).for_each(|(low, value)| *low = lower(*low, *value));
                }
            }
        }
    }
    lowest
}

/// A run of one cell more on either side, from the run before.
fn widened(run: &[f32], wider: &mut [f32], half: usize) {
    let inner = wider.len() - 1;
    let sides = run.iter().zip(&run[2..]);
    if half == 1 {
        // The first one must not forget its middle.
        let middle = &run[1..];
        wider[1..inner]
            .iter_mut()
            .zip(sides)
            .zip(middle)
            .for_each(|((low, (a, b)), c)| *low = lower(lower(*a, *b), *c));
    } else {
        wider[1..inner].iter_mut().zip(sides).for_each(|(low, (a, b))| *low = lower(*a, *b));
    }
}

/// Compiles to one instruction, since neither is ever "not a number".
const fn lower(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::{NOTHING, closed, eroded, opened};
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// The definition, cell by cell.
    fn lowest_by_definition(values: &[f32], wide: usize, radius: usize) -> Vec<f32> {
        let high = values.len() / wide;
        let distance = |a: usize, b: usize| a.abs_diff(b).pow(2);
        (0..values.len())
            .map(|at| {
                (0..wide * high)
                    .filter(|&other| {
                        distance(at / wide, other / wide) + distance(at % wide, other % wide) <= radius * radius
                    })
                    .map(|other| values[other])
                    .fold(NOTHING, f32::min)
            })
            .collect()
    }

    #[test]
    fn the_lowest_in_a_disc_is_that_of_the_definition() {
        let mut random = ChaCha8Rng::seed_from_u64(4);
        for (wide, high, radius) in [(1, 1, 3), (7, 5, 1), (13, 9, 2), (9, 14, 4), (20, 20, 7), (3, 30, 5), (30, 2, 9)]
        {
            let values: Vec<f32> = (0..wide * high)
                .map(|_| if random.random_ratio(1, 5) { NOTHING } else { random.random_range(-50.0..50.0) })
                .collect();
            assert_eq!(
                eroded(&values, wide, radius),
                lowest_by_definition(&values, wide, radius),
                "{wide} {high} {radius}"
            );
        }
    }

    #[test]
    fn an_opening_takes_off_what_is_narrower_than_the_disc() {
        // A block of 5 by 5 cells on a flat of 15 by 15: it stays under discs it can hold (radius 2), and goes under 4.
        let block = |row: usize, column: usize| (5..10).contains(&row) && (5..10).contains(&column);
        let values: Vec<f32> = (0..225).map(|at| if block(at / 15, at % 15) { 3.0 } else { 0.0 }).collect();
        assert_eq!(opened(&values, 15, 2)[7 * 15 + 7], 3.0);
        assert!(opened(&values, 15, 4).iter().all(|value| *value == 0.0));
        // A closing fills the block's mould in the same way.
        let mould: Vec<f32> = values.iter().map(|value| -value).collect();
        assert!(closed(&mould, 15, 4).iter().all(|value| *value == 0.0));
    }

    #[test]
    fn opening_lowers_and_doing_it_twice_changes_nothing() {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let values: Vec<f32> =
            (0..600).map(|_| if random.random_ratio(1, 4) { NOTHING } else { random.random_range(0.0..9.0) }).collect();
        let once = opened(&values, 30, 3);
        assert!(once.iter().zip(&values).all(|(a, b)| a <= b));
        assert_eq!(opened(&once, 30, 3), once);
    }
}

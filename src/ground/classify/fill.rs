//! Filling the unknown cells of a raster smoothly: each becomes the mean of its four neighbours.
//!
//! That is Laplace's equation with the known cells as its edge; solved from coarse to fine (each level starts from the
//! next coarser one and is smoothed by Gauss-Seidel sweeps), which leaves far less than the noise of the points.

/// Sweeps forth and back at each level.
const SWEEPS: usize = 12;

/// Fills what is not a number; a raster without any number stays as it is.
pub(super) fn fill(values: &mut [f32], wide: usize) {
    let unknown: Vec<usize> = (0..values.len()).filter(|&at| values[at].is_nan()).collect();
    if unknown.is_empty() || unknown.len() == values.len() {
        return;
    }
    let high = values.len() / wide;
    let (coarse_wide, coarse_high) = (wide.div_ceil(2), high.div_ceil(2));
    let mut coarse = halved(values, wide, coarse_wide, coarse_high);
    fill(&mut coarse, coarse_wide);
    for &at in &unknown {
        values[at] = between(&coarse, coarse_wide, coarse_high, at % wide, at / wide);
    }
    let mut smooth = |at: usize| {
        let (row, column) = (at / wide, at % wide);
        let neighbours = [
            (column > 0).then(|| values[at - 1]),
            (column + 1 < wide).then(|| values[at + 1]),
            (row > 0).then(|| values[at - wide]),
            (row + 1 < high).then(|| values[at + wide]),
        ];
        let (mut sum, mut count) = (0.0, 0.0);
        for neighbour in neighbours.into_iter().flatten() {
            sum += neighbour;
            count += 1.0;
        }
        values[at] = sum / count;
    };
    for _ in 0..SWEEPS {
        unknown.iter().for_each(|&at| smooth(at));
        unknown.iter().rev().for_each(|&at| smooth(at));
    }
}

/// Half as many cells each way: the mean of the known ones of four.
fn halved(values: &[f32], wide: usize, coarse_wide: usize, coarse_high: usize) -> Vec<f32> {
    let high = values.len() / wide;
    let mut coarse = Vec::with_capacity(coarse_wide * coarse_high);
    for row in 0..coarse_high {
        for column in 0..coarse_wide {
            let (mut sum, mut count) = (0.0, 0.0);
            for (r, c) in [(0, 0), (0, 1), (1, 0), (1, 1)].map(|(r, c)| (2 * row + r, 2 * column + c)) {
                if r < high && c < wide && !values[r * wide + c].is_nan() {
                    sum += values[r * wide + c];
                    count += 1.0;
                }
            }
            coarse.push(sum / count);
        }
    }
    coarse
}

/// The coarse raster at the centre of a fine cell, bilinear.
fn between(coarse: &[f32], wide: usize, high: usize, column: usize, row: usize) -> f32 {
    // The centre of fine cell c lies at (c + 0.5) / 2 - 0.5 among coarse centres: a quarter from the nearer one.
    let along = |at: usize, count: usize| {
        let near = at / 2;
        let far = if at.is_multiple_of(2) { near.saturating_sub(1) } else { (near + 1).min(count - 1) };
        (near, far)
    };
    let ((c, c2), (r, r2)) = (along(column, wide), along(row, high));
    let value = |row: usize, column: usize| coarse[row * wide + column];
    let near = 0.75 * value(r, c) + 0.25 * value(r, c2);
    let far = 0.75 * value(r2, c) + 0.25 * value(r2, c2);
    0.75 * near + 0.25 * far
}

#[cfg(test)]
mod tests {
    use super::fill;

    #[test]
    fn a_plane_comes_back_across_a_hole() {
        // A plane fulfils the equation, so a hole in it is filled by the plane itself.
        let (wide, high) = (60_usize, 47);
        let plane = |at: usize| 3.0 + 0.1 * (at % wide) as f32 - 0.05 * (at / wide) as f32;
        let hole = |at: usize| (10..40).contains(&(at % wide)) && (8..36).contains(&(at / wide));
        let mut values: Vec<f32> =
            (0..wide * high).map(|at| if hole(at) || at % 3 == 1 { f32::NAN } else { plane(at) }).collect();
        fill(&mut values, wide);
        let worst = (0..wide * high)
            .filter(|at| at % wide > 0 && at % wide + 1 < wide && *at >= wide && *at < wide * (high - 1))
            .map(|at| (values[at] - plane(at)).abs())
            .fold(0.0, f32::max);
        assert!(worst < 0.02, "{worst}");
    }

    #[test]
    fn a_level_reaches_every_corner() {
        let mut values = vec![f32::NAN; 37 * 23];
        values[500] = 7.0;
        fill(&mut values, 37);
        assert!(values.iter().all(|value| (value - 7.0).abs() < 1e-5));
        let mut nothing = vec![f32::NAN; 6];
        fill(&mut nothing, 3);
        assert!(nothing.iter().all(|value| value.is_nan()));
    }
}

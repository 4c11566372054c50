//! From the lowest point of each cell to the surface of the ground: pits out, objects out, the rest filled.

use super::ClassifySettings;
use super::fill::fill;
use super::opening::{closed, eroded, opened};
use super::raster::Raster;

/// What was taken out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Found {
    /// Cells whose lowest point is a low outlier.
    pub(super) pits: usize,
    /// Cells that hold an object.
    pub(super) objects: usize,
}

/// Closings that show pits: radius in cells, and the depth from which a hole so narrow is no ground, metres. Multipath and bird
/// strikes leave lone points or small clumps tens of metres deep; a dug hole of that width is not so deep. A choice of
/// this program, held against the reference samples.
const PITS: [(usize, f32); 4] = [(1, 5.0), (2, 10.0), (3, 15.0), (4, 20.0)];
/// How wide the strip is that may be given back, cells: an even slope steeper than the threshold, and up to about twice as steep, drops
/// at its upper rim under discs of one and two cells only.
const EDGE: usize = 2;
/// Unknown cells at most so far from a known one are filled before the openings, cells; beyond there is nothing.
const NEAR: usize = 3;

/// The surface, and what was taken out for it.
pub(super) fn surface(lowest: &Raster, settings: &ClassifySettings) -> (Raster, Found) {
    let wide = lowest.wide;
    let mut values = lowest.values.clone();
    let mut found = Found { pits: without_pits(&mut values, wide), objects: 0 };
    let known: Vec<bool> = values.iter().map(|value| !value.is_nan()).collect();

    let near = near_known(&known, wide);
    fill(&mut values, wide);
    let mut last: Vec<f32> =
        values.iter().zip(&near).map(|(value, near)| if *near { *value } else { f32::INFINITY }).collect();
    let mut object = vec![false; values.len()];
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a radius in cells, positive and small"
    )]
    let widest = (settings.widest / settings.cell).round().max(1.0) as usize;
    for radius in 1..=widest {
        let this = opened(&last, wide, radius);
        #[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
        let drop = (settings.slope * settings.cell * radius as f64) as f32;
        // Infinity less infinity is no number, and not more than anything.
        object.iter_mut().zip(last.iter().zip(&this)).for_each(|(object, (last, this))| *object |= last - this > drop);
        last = this;
    }
    #[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
    let near_line = (settings.slope * settings.cell) as f32;
    give_back(&lowest.values, &known, &mut object, wide, near_line);
    for (at, value) in values.iter_mut().enumerate() {
        if !known[at] || object[at] {
            *value = f32::NAN;
            found.objects += usize::from(known[at]);
        }
    }
    fill(&mut values, wide);
    (lowest.with(values), found)
}

/// Gives back cells that continue the ground beside them: from two cells of ground in a row the next one is foretold on a
/// straight line. The upper edge of a bank, or of a slope at the cloud's rim, drops under an opening although it is ground.
fn give_back(lowest: &[f32], known: &[bool], object: &mut [bool], wide: usize, near: f32) {
    let high = lowest.len() / wide;
    let ground = |object: &[bool], column: usize, row: usize| {
        let at = row * wide + column;
        (column < wide && row < high && known[at] && !object[at]).then(|| lowest[at])
    };
    for _ in 0..EDGE {
        let before = object.to_vec();
        for at in (0..object.len()).filter(|&at| before[at] && known[at]) {
            let (column, row) = (at % wide, at / wide);
            let continues = (0..9_usize).filter(|&way| way != 4).any(|way| {
                let step = |from: usize, by: usize, times: usize| (from + by * times).checked_sub(times);
                let away = |times: usize| ground(&before, step(column, way % 3, times)?, step(row, way / 3, times)?);
                away(1).zip(away(2)).is_some_and(|(one, two)| (2.0 * one - two - lowest[at]).abs() <= near)
            });
            object[at] = !continues;
        }
    }
}

/// Takes pits out; says how many cells.
fn without_pits(values: &mut [f32], wide: usize) -> usize {
    let mut pits = 0;
    for (radius, depth) in PITS {
        let known: Vec<f32> = values.iter().map(|value| if value.is_nan() { f32::INFINITY } else { *value }).collect();
        let closed = closed(&known, wide, radius);
        for (value, closed) in values.iter_mut().zip(closed) {
            if closed - *value > depth && closed.is_finite() {
                *value = f32::NAN;
                pits += 1;
            }
        }
    }
    pits
}

fn near_known(known: &[bool], wide: usize) -> Vec<bool> {
    let marks: Vec<f32> = known.iter().map(|known| if *known { 0.0 } else { f32::INFINITY }).collect();
    eroded(&marks, wide, NEAR).iter().map(|mark| *mark == 0.0).collect()
}

//! A difference of heights that is linear over a triangle, parted into what lies above zero and what lies below,
//! without building the zero line.
//!
//! Method: where one corner `p` has the other sign than `q` and `r`, it owns the part `p/(p-q) * p/(p-r)` of the area,
//! and that part is a pyramid of mean height `p/3`; the rest is the whole minus this part. Exact for linear heights.

/// Volumes and areas above and below zero; all are sizes, never negative for a positive area.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Parts {
    pub(crate) above: f64,
    pub(crate) below: f64,
    pub(crate) area_above: f64,
    pub(crate) area_below: f64,
}

/// Parts a triangle of a given area with a height at each corner. A negative area gives negative parts, so that
/// signed pieces of a region add up.
pub(crate) fn part(area: f64, heights: [f64; 3]) -> Parts {
    let [a, b, c] = heights;
    let whole = area * ((a + b + c) / 3.0);
    if a >= 0.0 && b >= 0.0 && c >= 0.0 {
        return Parts { above: whole, area_above: area, ..Parts::default() };
    }
    if a <= 0.0 && b <= 0.0 && c <= 0.0 {
        return Parts { below: -whole, area_below: area, ..Parts::default() };
    }
    // Both signs are there: exactly one corner stands alone on its side (a zero goes with the pair).
    let positive = heights.iter().filter(|&&d| d > 0.0).count();
    let lone_is_above = positive == 1;
    let lone =
        if lone_is_above { heights.iter().position(|&d| d > 0.0) } else { heights.iter().position(|&d| d < 0.0) }
            .unwrap_or(0);
    let (p, q, r) = (heights[lone], heights[(lone + 1) % 3], heights[(lone + 2) % 3]);
    let lone_area = area * (p / (p - q)) * (p / (p - r));
    let lone_volume = lone_area * p / 3.0;
    let (rest_area, rest_volume) = (area - lone_area, whole - lone_volume);
    if lone_is_above {
        Parts { above: lone_volume, below: -rest_volume, area_above: lone_area, area_below: rest_area }
    } else {
        Parts { above: rest_volume, below: -lone_volume, area_above: rest_area, area_below: lone_area }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn one_corner_below() {
        // Area 100, d 0.6, 0.3, -0.4: own example, confirmed by quadrature with four million points to 1e-6.
        let parts = part(100.0, [0.6, 0.3, -0.4]);
        assert!((parts.above - 19.714_285_714).abs() < 1e-8, "{parts:?}");
        assert!((parts.below - 3.047_619_048).abs() < 1e-8, "{parts:?}");
        assert!((parts.above - parts.below - 100.0 * 0.5 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn zeros_go_with_either_side() {
        let parts = part(6.0, [0.0, 2.0, -1.0]);
        assert!((parts.area_above - 4.0).abs() < 1e-12 && (parts.area_below - 2.0).abs() < 1e-12);
        assert!((parts.above - 4.0 * 2.0 / 3.0).abs() < 1e-12 && (parts.below - 2.0 / 3.0).abs() < 1e-12);
        assert_eq!(part(6.0, [0.0; 3]), Parts { area_above: 6.0, ..Parts::default() });
    }

    proptest! {
        #[test]
        fn parts_add_up_and_mirror(a in -5.0..5.0f64, b in -5.0..5.0f64, c in -5.0..5.0f64) {
            let (up, down) = (part(7.0, [a, b, c]), part(7.0, [-a, -b, -c]));
            prop_assert!(up.above >= 0.0 && up.below >= -1e-15);
            prop_assert!((up.above - up.below - 7.0 * (a + b + c) / 3.0).abs() < 1e-12);
            prop_assert!((up.above - down.below).abs() < 1e-12 && (up.below - down.above).abs() < 1e-12);
            prop_assert!((up.area_above + up.area_below - 7.0).abs() < 1e-12);
            // Parting the triangle at the middle of an edge changes nothing.
            let m = f64::midpoint(a, b);
            let (left, right) = (part(3.5, [a, m, c]), part(3.5, [m, b, c]));
            prop_assert!((left.above + right.above - up.above).abs() < 1e-12);
        }
    }
}

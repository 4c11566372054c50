//! Tests of the estimates: closed forms, then an independent solution of the kriging equations, then drawn fields.

use super::kriging::*;
use crate::geom::Point;
use nalgebra::{DMatrix, DVector};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const KINDS: [Smoothness; 3] = [Smoothness::Half, Smoothness::ThreeHalves, Smoothness::FiveHalves];

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// About so many places strewn over 50 m by 50 m, far from the origin of coordinates, with unequal errors.
fn strewn(seed: u64, count: usize, height: impl Fn(f64, f64) -> f64) -> Vec<Measured> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    (0..count)
        .map(|_| {
            let (x, y) = (random.random_range(0.0..50.0), random.random_range(0.0..50.0));
            let sigma: f64 = random.random_range(0.01..0.06);
            Measured { place: Point::new(4000.0 + x, -7000.0 + y), height: height(x, y), variance: sigma * sigma }
        })
        .collect()
}

/// Closed forms of Matern's family at one range: e^-1, (1 + sqrt 3) e^-sqrt 3, (1 + sqrt 5 + 5/3) e^-sqrt 5.
#[test]
fn correlations_in_closed_form() {
    let expected = [0.367_879_441_171_442_3, 0.483_357_724_596_507_7, 0.523_994_108_831_820_3];
    for (kind, expected) in KINDS.into_iter().zip(expected) {
        assert!((kind.correlation(1.0) - expected).abs() < 1e-12, "{kind:?} {}", kind.correlation(1.0));
        assert_eq!(kind.correlation(0.0), 1.0);
    }
}

/// A tilted plane comes back exactly, whatever field is thought of, inside and outside.
#[test]
fn a_plane_is_reproduced() {
    let plane = |x: f64, y: f64| 430.0 + 0.05 * x - 0.03 * y;
    let around = strewn(1, 24, plane);
    let fields = KINDS.map(|kind| Field::known(kind, 12.0, 0.04)).into_iter().chain([Field::unknown(9.0, 9e-4)]);
    for field in fields {
        for (x, y) in [(25.0, 25.0), (3.0, 44.0), (70.0, -15.0)] {
            let estimate = field.at(Point::new(4000.0 + x, -7000.0 + y), &around).unwrap();
            assert!((estimate.height - plane(x, y)).abs() < 1e-7, "{} {}", estimate.height, plane(x, y));
            assert!(estimate.standard_error > 0.0);
        }
    }
}

/// Without noise the field passes through its heights, and its error there is none.
#[test]
fn without_noise_it_interpolates() {
    let mut around = strewn(2, 20, |x, y| 430.0 + (x / 7.0).sin() + (y / 11.0).cos());
    around.iter_mut().for_each(|m| m.variance = 1e-10);
    for kind in KINDS {
        let field = Field::known(kind, 10.0, 0.25);
        for member in &around {
            let target = Measured { variance: 1e-10, ..*member };
            let block: Vec<Measured> = std::iter::once(target).chain(around.iter().copied()).collect();
            let estimate = field.without_first(&block).unwrap();
            assert!((estimate.height - member.height).abs() < 1e-4, "{kind:?} {}", estimate.height - member.height);
            assert!(estimate.standard_error < 1e-4, "{kind:?} {}", estimate.standard_error);
        }
    }
}

/// The kriging equations with their Lagrange multipliers, solved whole by elimination (Cressie 1993, 3.4): the same
/// estimate and the same error as by the eigenvalues.
#[test]
fn as_an_independent_dense_solution() {
    for seed in 0..5 {
        let around = strewn(10 + seed, 15, |x, y| 430.0 + 0.3 * (x / 6.0).sin() * (y / 9.0).cos() + 0.02 * x);
        let place = Point::new(4021.0, -6977.0);
        let (range, variance) = (8.0, 0.09);
        for kind in KINDS {
            let n = around.len();
            let covariance = |a: Point, b: Point| variance * kind.correlation(a.distance(b) / range);
            let tilt = |p: Point| [1.0, p.x - place.x, p.y - place.y];
            let mut left = DMatrix::zeros(n + 3, n + 3);
            let mut right = DVector::zeros(n + 3);
            for i in 0..n {
                for j in 0..n {
                    left[(i, j)] = covariance(around[i].place, around[j].place);
                }
                left[(i, i)] += around[i].variance;
                right[i] = covariance(around[i].place, place);
                for (k, part) in tilt(around[i].place).into_iter().enumerate() {
                    left[(i, n + k)] = part;
                    left[(n + k, i)] = part;
                }
            }
            right[n] = 1.0;
            let weights = left.lu().solve(&right).unwrap();
            let height: f64 = (0..n).map(|i| weights[i] * around[i].height).sum();
            let squared = variance - weights.dot(&right);

            let estimate = Field::known(kind, range, variance).at(place, &around).unwrap();
            assert!((estimate.height - height).abs() < 1e-8, "{kind:?} {} {height}", estimate.height);
            let off = estimate.standard_error - squared.sqrt();
            assert!(off.abs() < 1e-8, "{kind:?} {} {}", estimate.standard_error, squared.sqrt());
        }
    }
}

/// Fields drawn with each smoothness and strength, whichever it was: the difference to the height left out has the
/// standard deviation that the estimate says, or up to a quarter less. A likelihood with heavy tails takes the spread of
/// normal heights for the middle of something wider; the bounds add three standard errors of 300 draws.
#[test]
fn standard_errors_are_those_of_drawn_fields() {
    for (kind, strength) in [(Smoothness::Half, 0.3), (Smoothness::ThreeHalves, 0.5), (Smoothness::FiveHalves, 0.1)] {
        let mut random = ChaCha8Rng::seed_from_u64(77);
        let noise = 0.03;
        let blocks: Vec<Vec<Measured>> = (0..300)
            .map(|_| {
                let mut block = strewn(random.random(), 21, |_, _| 0.0);
                block[0].place = Point::new(4025.0, -6975.0);
                let covariance = DMatrix::from_fn(21, 21, |i, j| {
                    let apart = block[i].place.distance(block[j].place);
                    strength * strength * kind.correlation(apart / 25.0) + if i == j { noise * noise } else { 0.0 }
                });
                let lower = covariance.cholesky().unwrap().unpack();
                let heights = lower * DVector::from_fn(21, |_, _| normal(&mut random));
                block.iter_mut().zip(heights.iter()).for_each(|(m, &h)| {
                    m.height = h;
                    m.variance = noise * noise;
                });
                block
            })
            .collect();
        let field = Field::unknown(8.0, noise * noise).fit(blocks.iter().map(Vec::as_slice));
        let standard: Vec<f64> = blocks
            .iter()
            .map(|block| {
                let estimate = field.without_first(block).unwrap();
                (block[0].height - estimate.height) / estimate.deviation_of(block[0].variance)
            })
            .collect();
        let spread = crate::stats::root_mean_square(&standard).unwrap();
        assert!((0.68..1.12).contains(&spread), "{kind:?}: {spread}");
    }
}

/// The first member may be anything: the estimate of it does not move.
#[test]
fn the_member_left_out_has_no_say() {
    let mut block = strewn(5, 20, |x, y| 430.0 + (x / 9.0).sin() * (y / 8.0).sin());
    let field = Field::unknown(9.0, 9e-4).fit([block.as_slice()]);
    let before = field.without_first(&block).unwrap();
    block[0].height += 40.0;
    let after = field.without_first(&block).unwrap();
    assert!((before.height - after.height).abs() < 1e-6 && (before.standard_error - after.standard_error).abs() < 1e-6);
}

#[test]
fn heights_on_one_line_speak_along_it_only() {
    let line: Vec<Measured> = (0..9)
        .map(|i| Measured { place: Point::new(f64::from(i) * 10.0, 5.0), height: f64::from(i) * 0.4, variance: 4e-4 })
        .collect();
    let field = Field::unknown(10.0, 4e-4);
    let along = field.at(Point::new(45.0, 5.0), &line).unwrap();
    assert!((along.height - 1.8).abs() < 1e-6, "{}", along.height);
    assert_eq!(field.at(Point::new(45.0, 12.0), &line), None, "the fall across a line is not known from it");
    assert_eq!(field.at(Point::new(5.0, 5.0), &line[..FEWEST - 1]), None);
}

//! Scenes whose ground is a formula: every point's answer is known.

use super::{Classifier, ClassifyError, ClassifySettings, CloudPoint, PointStream, Verdict, classify};
use crate::geom::Point3;
use crate::notes::Silent;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::convert::Infallible;

struct Scene(Vec<(CloudPoint, bool)>);

impl PointStream for Scene {
    type Error = Infallible;

    fn pass(&self, take: &mut dyn FnMut(CloudPoint)) -> Result<(), Infallible> {
        self.0.iter().for_each(|(point, _)| take(*point));
        Ok(())
    }
}

impl Scene {
    /// Points at random on a square of 100 m, so many a square metre, on the ground or on the object that stands there;
    /// the noise of both is even within 30 mm.
    fn of(dense: f64, ground: impl Fn(f64, f64) -> f64, object: impl Fn(f64, f64) -> Option<f64>) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
        let count = (dense * 1e4) as usize;
        let points = (0..count).map(|_| {
            let (x, y) = (random.random_range(0.0..100.0), random.random_range(0.0..100.0));
            let top = object(x, y);
            let z = ground(x, y) + top.unwrap_or_default() + random.random_range(-0.03..0.03);
            (CloudPoint { place: Point3::new(x, y, z), last: true }, top.is_none())
        });
        Self(points.collect())
    }

    fn classifier(&self) -> Classifier {
        classify(self, &ClassifySettings::default(), &Silent).unwrap().value
    }

    /// Shares of ground that is refused and of the rest that is accepted.
    fn wrong(&self) -> (f64, f64) {
        let made = self.classifier();
        let share = |ground: bool| {
            let of: Vec<_> = self.0.iter().filter(|(_, truth)| *truth == ground).collect();
            let wrong = of.iter().filter(|(point, _)| (made.verdict(*point) == Verdict::Ground) != ground).count();
            wrong as f64 / of.len().max(1) as f64
        };
        (share(true), share(false))
    }
}

fn within(x: f64, y: f64, [west, east, south, north]: [f64; 4]) -> bool {
    (west..east).contains(&x) && (south..north).contains(&y)
}

#[test]
fn boxes_on_a_plane_are_found_whole() {
    // Of 3, 12 and 25 m: the widest is less than the disc of 36 m.
    let boxes = |x: f64, y: f64| {
        let stands =
            [([10.0, 13.0, 10.0, 13.0], 2.0), ([30.0, 42.0, 20.0, 30.0], 5.0), ([60.0, 85.0, 50.0, 75.0], 8.0)];
        stands.into_iter().find(|(place, _)| within(x, y, *place)).map(|(_, height)| height)
    };
    for dense in [1.0, 5.0] {
        for fall in [0.0, 0.08] {
            let (refused, accepted) = Scene::of(dense, |x, y| 400.0 + fall * x + 0.02 * y, boxes).wrong();
            assert!(refused < 0.01, "{dense} a square metre, fall {fall}: {refused} of the ground refused");
            assert!(accepted < 0.005, "{dense} a square metre, fall {fall}: {accepted} of the boxes accepted");
        }
    }
}

#[test]
fn a_bare_slope_and_a_bank_are_ground() {
    // A hillside of 35 %, and a bank of 3 m whose batters are 2:1: nothing stands on either.
    let slope = Scene::of(5.0, |x, _| 0.35 * x, |_, _| None);
    assert!(slope.wrong().0 < 0.001, "{:?}", slope.wrong());
    let bank = |x: f64, _: f64| (3.0 - ((x - 50.0).abs() - 2.0).max(0.0) / 2.0).max(0.0);
    let bank = Scene::of(5.0, bank, |_, _| None);
    assert!(bank.wrong().0 < 0.005, "{:?}", bank.wrong());
}

#[test]
fn a_step_keeps_its_upper_side() {
    // A terrace of 2 m across the whole cloud: wider than any disc, so it is ground; its edge may lose a strip of a cell.
    let scene = Scene::of(5.0, |x, _| if x > 47.0 { 2.0 } else { 0.0 }, |_, _| None);
    let (refused, _) = scene.wrong();
    assert!(refused < 0.03, "{refused}");
}

#[test]
fn a_ditch_is_ground() {
    // 1.2 m deep, 2 m wide at the bed, batters 1.5:1.
    let ditch = |_: f64, y: f64| -(1.2 - ((y - 50.0).abs() - 1.0).max(0.0) / 1.5).max(0.0);
    let (refused, _) = Scene::of(7.0, ditch, |_, _| None).wrong();
    assert!(refused < 0.03, "{refused}");
}

#[test]
fn lone_low_points_spoil_nothing() {
    let mut scene = Scene::of(4.0, |x, _| 100.0 + 0.03 * x, |_, _| None);
    for (at, deep) in [(11.0, 6.0), (33.0, 12.0), (55.0, 40.0), (77.0, 900.0)] {
        let place = Point3::new(at, at, 100.0 - deep);
        scene.0.push((CloudPoint { place, last: true }, false));
    }
    let made = scene.classifier();
    assert_eq!(scene.0.iter().filter(|(point, _)| made.verdict(*point) == Verdict::Low).count(), 4);
    let (refused, accepted) = scene.wrong();
    assert_eq!(accepted, 0.0);
    assert!(refused < 0.005, "{refused}");
}

#[test]
fn what_stands_before_a_last_return_is_not_ground() {
    let mut scene = Scene::of(3.0, |_, _| 5.0, |_, _| None);
    scene.0.iter_mut().step_by(2).for_each(|(point, _)| point.last = false);
    let made = scene.classifier();
    for (point, _) in &scene.0 {
        assert_eq!(made.verdict(*point) == Verdict::Ground, point.last);
    }
}

#[test]
fn the_order_of_the_points_does_not_matter() {
    let mut scene = Scene::of(
        3.0,
        |x, y| 250.0 + (x / 9.0).sin() + 0.05 * y,
        |x, y| within(x, y, [40.0, 50.0, 40.0, 50.0]).then_some(4.0),
    );
    let verdicts = |scene: &Scene, made: &Classifier| {
        let mut found: Vec<_> =
            scene.0.iter().map(|(point, _)| (point.place.x.to_bits(), made.verdict(*point) as u8)).collect();
        found.sort_unstable();
        found
    };
    let before = verdicts(&scene, &scene.classifier());
    scene.0.reverse();
    assert_eq!(verdicts(&scene, &scene.classifier()), before);
}

#[test]
fn too_much_and_too_little_are_told() {
    let nothing = Scene(Vec::new());
    let told = |scene: &Scene, most_cells| {
        let settings = ClassifySettings { most_cells, ..ClassifySettings::default() };
        classify(scene, &settings, &Silent).unwrap_err()
    };
    assert_eq!(told(&nothing, 10), ClassifyError::NoPoints);
    let mut scene = Scene::of(0.1, |_, _| 0.0, |_, _| None);
    let stray = Point3::new(4e6, 50.0, 0.0);
    scene.0.push((CloudPoint { place: stray, last: true }, false));
    let words = told(&scene, 50_000_000).to_string();
    assert!(words.contains("stray points far off") && words.contains("5000 ha at most"), "{words}");
}

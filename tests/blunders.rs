//! Planted height blunders are found and good shots are left alone: a few lists of the many that docs/accuracy.md tells of.

#[path = "../examples/kestrel_flat/field.rs"]
#[allow(dead_code, reason = "the demo's generator writes more than is measured here")]
mod field;
#[path = "../examples/accuracy/planted.rs"]
mod planted;
#[path = "../examples/kestrel_flat/truth.rs"]
#[allow(dead_code, reason = "the demo's generator knows more than is measured here")]
mod truth;

use planted::{Planting, Shot, Tally, Terrain, checked, share, spoiled, tally, told, told_of};
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Normal};
use std::collections::BTreeMap;
use std::path::Path;
use swalewright::geom::Point;
use swalewright::ground::{self, GroundSettings};
use swalewright::survey::Settings;

/// Of blunders of five standard deviations and more; of good shots.
fn holds(tally: &Tally, found: f64, false_alarms: f64) {
    let large = [5, 6, 8].iter().filter_map(|size| tally.blunders.get(size));
    let large = large.fold((0, 0), |sum, count| (sum.0 + count.0, sum.1 + count.1));
    assert!(large.1 > 15, "{large:?}");
    assert!(share(large) >= found, "found {large:?}");
    assert!(share(tally.false_alarms) <= false_alarms, "false alarms {:?}", tally.false_alarms);
}

#[test]
fn on_the_demos_hill_with_its_banks_coded() {
    let mut all = Tally::default();
    for seed in 0..3 {
        let shots: Vec<_> = field::walked(seed).into_iter().map(|(place, code)| (place, code, false)).collect();
        all.add(&tally(&shots, (1.0, Planting::Anywhere), seed));
    }
    holds(&all, 0.95, 0.01);
}

/// The end of a line is extrapolated through the two before it: a blunder there must not make the end doubtful.
#[test]
fn a_blunder_beside_the_end_of_a_line_does_not_accuse_the_end() {
    let shots: Vec<Shot> = field::walked(1128).into_iter().map(|(place, code)| (place, code, false)).collect();
    let (before, end) = (601, 602);
    assert_eq!((&*shots[before].1, &*shots[end].1), ("track-top1", "track-top1"));
    assert!(shots.get(end + 1).is_none_or(|shot| shot.1 != "track-top1"));
    for up in [-0.6, 0.6] {
        let told = told_of(&spoiled(&shots, &BTreeMap::from([(before, up)])));
        assert!(told.contains(&before) && !told.contains(&end), "{up}: {told:?}");
    }
}

/// A lone shot coded as a break stands on a bank as far as an earth face can explain it: to the nearest shot, one in one.
#[test]
fn a_lone_break_is_told_only_where_no_earth_face_explains_it() {
    let mut shots: Vec<Shot> = field::walked(1000).into_iter().map(|(place, code)| (place, code, false)).collect();
    let nearest = |i: usize| {
        let away = |j: usize| (shots[i].0[0] - shots[j].0[0]).hypot(shots[i].0[1] - shots[j].0[1]);
        (0..shots.len()).filter(|&j| j != i).map(away).fold(f64::INFINITY, f64::min)
    };
    let (i, face) = (100..300).map(|i| (i, nearest(i))).find(|&(i, face)| shots[i].1 == "gs" && face > 9.0).unwrap();
    "ridge99".clone_into(&mut shots[i].1);
    for (share, is_told) in [(0.9, false), (-0.9, false), (1.15, true), (-1.15, true)] {
        let told = told_of(&spoiled(&shots, &BTreeMap::from([(i, share * face)])));
        assert_eq!(told.contains(&i), is_told, "{share} of {face:.1} m");
    }
}

/// Whatever is set aside is off by more than the limit that is told with it, of the shots that are used.
#[test]
fn what_is_set_aside_is_off_by_more_than_the_limit() {
    let terrain = valley_side();
    let mut told = 0;
    for seed in 0..12 {
        let spacing = 7.0 + f64::from(u32::try_from(seed).unwrap()) / 2.0;
        let survey = checked(&terrain.walked(spacing, &mut ChaCha8Rng::seed_from_u64(seed)));
        for row in survey.set_aside.iter().filter(|row| row.reason == "off its neighbours") {
            let Some((_, value)) = row.value.split_once(" m, ") else { panic!("{}", row.value) };
            let Some((deviations, _)) = value.split_once(" standard deviations") else { continue };
            assert!(deviations.parse::<f64>().unwrap() >= 4.0, "seed {seed}: {}", row.value);
            told += 1;
        }
    }
    assert!(told > 0);
}

/// What is used and told as off for itself is off by the limits of those who judge it best, its neighbours with their own scatter.
#[test]
fn what_is_told_for_itself_is_off_its_neighbours_own_scatter() {
    let terrain = valley_side();
    let mut told = 0;
    for seed in 1000..1010 {
        let mut random = ChaCha8Rng::seed_from_u64(40_000 + seed);
        let spacing = random.random_range(5.0..15.0);
        let survey = checked(&terrain.walked(spacing, &mut random));
        for &index in &survey.doubtful {
            let Some(standing) = survey.neighbours[index as usize] else { continue };
            let steps = (standing.off / standing.sigma).abs();
            assert!(steps > 2.59, "seed {seed}: {steps:.2}");
            told += 1;
        }
    }
    assert!(told > 3, "{told}");
}

fn valley_side() -> Terrain {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples/real-valley/bocage_valley_east.laz");
    Terrain::new(swalewright::io::read::cloud::read(&path, &[2]).unwrap().value.ground)
}

#[test]
fn on_a_real_valley_side() {
    let terrain = valley_side();
    let mut all = Tally::default();
    for seed in 0..3 {
        let mut random = ChaCha8Rng::seed_from_u64(40_000 + seed);
        let spacing = random.random_range(7.0..14.0);
        all.add(&tally(&terrain.walked(spacing, &mut random), (1.0, Planting::Anywhere), seed));
    }
    holds(&all, 0.9, 0.012);
}

/// Triangles in doubt, and those that asking every triangle adds.
fn in_doubt(shots: &[Shot], tolerance: f64) -> (usize, usize) {
    let survey = checked(shots);
    let made = ground::build(&survey, &GroundSettings::default()).unwrap().value;
    let doubts = ground::doubts(&made, &survey, &Settings::default(), tolerance).unwrap();
    let field = survey.field(&Settings::default());
    let missed = made.tin.ids().filter(|&id| {
        let [a, b, c] = made.tin.corners(id);
        let hides =
            1.96 * field.at(Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)).unwrap().standard_error;
        let told = doubts.iter().find(|doubt| doubt.triangle == id);
        assert!(told.is_none_or(|doubt| (doubt.hides - hides).abs() < 1e-9));
        hides > tolerance && told.is_none()
    });
    (doubts.len(), missed.count())
}

#[test]
fn what_the_ground_may_hide_is_found_without_asking_every_triangle() {
    let hill: Vec<Shot> = field::walked(3).into_iter().map(|(place, code)| (place, code, false)).collect();
    let terrain = valley_side();
    let walk = |spacing: f64| terrain.walked(spacing, &mut ChaCha8Rng::seed_from_u64(5));
    for (name, shots, tolerance) in [
        ("hill", &hill, 0.055),
        ("hill", &hill, 0.045),
        ("valley", &walk(7.0), 0.1),
        ("valley", &walk(7.0), 0.25),
        ("valley", &walk(13.0), 0.5),
    ] {
        let (told, missed) = in_doubt(shots, tolerance);
        assert!(told > 0 && missed == 0, "{name} {tolerance}: {told} told, {missed} missed");
    }
}

/// An even hill with so rough a ground under the pole, some of its places shot twice.
fn rough_hill(roughness: f64, twice: usize) -> Vec<Shot> {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let noise = Normal::new(0.0, roughness.hypot(0.020)).unwrap();
    let mut shots = Vec::new();
    for i in 0..320_u32 {
        let (x, y) = (f64::from(i % 20) * 8.0, f64::from(i / 20) * 8.0);
        let mut shoot = |x: f64| {
            let z = 430.0 + 0.03 * x - 0.02 * y + noise.sample(&mut random);
            shots.push(([412_000.0 + x, 6_187_000.0 + y, z], "gs".to_owned(), false));
        };
        shoot(x);
        if (i as usize) < twice {
            shoot(x + 0.05);
        }
    }
    shots
}

/// Roughness is estimated from close pairs and reckoned with: the noise of the shots comes out as it was said.
#[test]
fn roughness_is_what_places_shot_twice_show() {
    for planted in [0.030, 0.050, 0.080] {
        let noted = told(&rough_hill(planted, 60));
        let reckoned = noted.value.roughness(&Settings::default()).in_metres();
        assert!((reckoned / planted - 1.0).abs() < 0.3, "{planted}: {reckoned}");
        assert!(noted.notes.iter().any(|note| note.code == "survey::roughness-estimated"), "{:?}", noted.notes);
        let field = noted.value.field(&Settings::default());
        let noises = (0..40_u32).map(|i| {
            let place = Point::new(12.0 + 18.0 * f64::from(i % 8), 12.0 + 24.0 * f64::from(i / 8));
            field.at(place).unwrap().noise
        });
        let noise = noises.sum::<f64>() / 40.0;
        assert!((0.6..1.5).contains(&noise), "{planted}: {noise}");
        let said = Settings { roughness_is_said: true, ..Settings::default() };
        assert_eq!(noted.value.roughness(&said), said.roughness, "what the user says holds");
    }
}

#[test]
fn roughness_is_asked_for_where_nothing_shows_it() {
    let asked = |shots: &[Shot]| {
        let noted = told(shots);
        assert_eq!(noted.value.roughness(&Settings::default()), Settings::default().roughness);
        noted.notes.iter().any(|note| note.code.starts_with("survey::roughness") && note.text.contains("roughness"))
    };
    assert!(asked(&rough_hill(0.060, 5)), "five pairs are too few, but the shots scatter");
    let terrain = valley_side();
    assert!(asked(&terrain.walked(14.0, &mut ChaCha8Rng::seed_from_u64(5))));
}

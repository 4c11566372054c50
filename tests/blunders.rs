//! Planted height blunders are found and good shots are left alone: a few lists of the many that docs/accuracy.md tells of.

#[path = "../examples/kestrel_flat/field.rs"]
#[allow(dead_code, reason = "the demo's generator writes more than is measured here")]
mod field;
#[path = "../examples/accuracy/planted.rs"]
mod planted;
#[path = "../examples/kestrel_flat/truth.rs"]
#[allow(dead_code, reason = "the demo's generator knows more than is measured here")]
mod truth;

use planted::{Tally, Terrain, share, tally};
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use std::path::Path;

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
    for seed in 0..8 {
        let shots: Vec<_> = field::walked(seed).into_iter().map(|(place, code)| (place, code, false)).collect();
        all.add(&tally(&shots, 1.0, seed));
    }
    holds(&all, 0.95, 0.01);
}

#[test]
fn on_a_real_valley_side() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples/real-valley/bocage_valley_east.laz");
    let terrain = Terrain::new(swalewright::io::read::cloud::read(&path, &[2]).unwrap().value.ground);
    let mut all = Tally::default();
    for seed in 0..8 {
        let mut random = ChaCha8Rng::seed_from_u64(40_000 + seed);
        let spacing = random.random_range(7.0..14.0);
        all.add(&tally(&terrain.walked(spacing, &mut random), 1.0, seed));
    }
    holds(&all, 0.9, 0.012);
}

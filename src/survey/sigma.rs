//! How sure a shot's height is: what its file states, else a constant and a share of the distance to the base; and the
//! roughness of the ground under the pole with it.
//!
//! The unstated model is that of survey-grade receivers, 20 mm and 1 ppm of the distance to the base at one standard
//! deviation, quoted from the NGS single-base guidelines (Henning).

use super::candidate::Candidate;
use super::{Quality, Settings};

/// Vertical standard deviation of the receiver, metres.
pub(super) fn instrument(quality: &Quality, settings: &Settings) -> f64 {
    quality.vertical_sigma.unwrap_or_else(|| {
        let of_distance = settings.vertical_ppm * 1e-6 * quality.base_distance.unwrap_or_default();
        settings.vertical_sigma.in_metres().hypot(of_distance)
    })
}

/// Variance of a shot as a height of the ground, square metres; above zero.
pub(super) fn variance(quality: &Quality, settings: &Settings) -> f64 {
    // Heights are written to the millimetre.
    instrument(quality, settings).hypot(settings.roughness.in_metres()).max(1e-3).powi(2)
}

/// The same of each.
pub(super) fn variances(all: &[Candidate], settings: &Settings) -> Vec<f64> {
    all.iter().map(|c| variance(&c.shot.quality, settings)).collect()
}

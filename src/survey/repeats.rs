//! Shots of one place taken twice: do they agree.
//!
//! Two ground shots nearer than the repeat distance disagree when their heights differ by more than 1.96 standard
//! deviations of a difference (sigma of both as the file states it, else 20 mm; the ground's roughness under both), plus
//! what the ground's slope makes over the distance between them. Of two that disagree the one that its neighbours
//! contradict is set aside; where they cannot tell, both stay and it is told. Breaklines are left out: the top and the toe
//! of a cut may lie that near. 20 mm is survey-grade vertical sigma, quoted from the NGS single-base guidelines.

use super::candidate::Candidate;
use super::neighbours::{Near, against_plane};
use super::sigma::instrument;
use super::{Role, Settings};
use crate::notes::{Note, Place};
use crate::stats::{median, root_mean_square};

/// Fewest pairs that a crew's own sigma is told from.
const FEWEST: usize = 5;
/// Fewest that the ground's roughness is told from: then it is known to about a third of itself.
const FEWEST_ROUGH: usize = 8;
/// Ground is never smoother under a pole's tip, metres; common practice, no source.
const SMOOTHEST: f64 = 0.005;

/// What places shot twice show.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Repeats {
    /// Pairs of ground shots nearer than the repeat distance.
    pub pairs: usize,
    /// Of them, pairs whose heights differ by more than the 95 % limit.
    pub disagree: usize,
    /// Standard deviation in height of one shot as the crew really reached it, ground under the pole included: the root
    /// mean square difference of the pairs over root two. `None` with fewer than five pairs.
    pub sigma_m: Option<f64>,
    /// Roughness of the ground under the pole, one standard deviation: that sigma without what the receivers state. `None`
    /// with fewer than eight pairs, or where it drowns in the receivers' own noise.
    #[serde(default)]
    pub roughness_m: Option<f64>,
}

/// Compares repeats; sets aside or tells those that disagree.
pub(super) fn repeats(all: &mut [Candidate], files: &[String], settings: &Settings, notes: &mut Vec<Note>) -> Repeats {
    let used = |c: &Candidate| c.stands() && c.shot.role.is_ground() && c.shot.role != Role::Breakline;
    let indices: Vec<usize> = (0..all.len()).filter(|&i| used(&all[i])).collect();
    let near = Near::new(indices.iter().map(|&i| (i, all[i].shot.place)));
    let radius = settings.repeat_distance.in_metres();
    let mut found = Repeats::default();
    let (mut differences, mut instruments) = (Vec::new(), Vec::new());
    for &i in &indices {
        for (distance, j) in near.nearest(all[i].shot.place, 16, radius) {
            if j <= i || !all[i].stands() || !all[j].stands() {
                continue;
            }
            // The same shot stored twice repeats nothing.
            if distance == 0.0 && all[i].shot.elevation.to_bits() == all[j].shot.elevation.to_bits() {
                continue;
            }
            found.pairs += 1;
            let here = [i, j].map(|k| against_plane(all, &near, k, &[], settings));
            let slope = here[0].map_or(0.0, |s| s.slope);
            let sigma = |k: usize| instrument(&all[k].shot.quality, settings);
            let variance = sigma(i).powi(2) + sigma(j).powi(2) + 2.0 * settings.roughness.in_metres().powi(2);
            let limit = 1.96 * variance.sqrt() + slope * distance;
            let difference = all[j].shot.elevation - all[i].shot.elevation;
            differences.push(difference);
            instruments.extend([sigma(i), sigma(j)]);
            if difference.abs() <= limit {
                continue;
            }
            found.disagree += 1;
            let name = |k: usize| format!("{}:{}", files[all[k].shot.file as usize], all[k].shot.id);
            let value = |k: usize, other: usize| {
                let sign = if k == j { 1.0 } else { -1.0 };
                format!("{:+.3} m from {} {distance:.2} m away, limit {limit:.3} m", sign * difference, name(other))
            };
            // Ground bends between shots, so both may stand off: one must do so twice as far as the other.
            let off = |k: usize| here[k].map_or(0.0, |s| s.off.abs());
            let tells = |k: usize| {
                let scatter = here[k].map_or(f64::INFINITY, |s| s.scatter);
                off(k) > (3.0 * limit).max(2.5 * scatter) && off(k) > 2.0 * off(1 - k)
            };
            match (tells(0), tells(1)) {
                (true, false) => {
                    let value = value(i, j);
                    all[i].set_aside("repeats disagree", value);
                }
                (false, true) => {
                    let value = value(j, i);
                    all[j].set_aside("repeats disagree", value);
                }
                _ => {
                    let text = format!(
                        "{} and {} are repeats that disagree: {}; both are used",
                        name(i),
                        name(j),
                        value(j, i)
                    );
                    let file = files[all[j].shot.file as usize].clone();
                    let place = Place::File { file, line: all[j].shot.line, column: 0 };
                    notes.push(Note::new("survey::repeats-disagree", text).at(place));
                }
            }
        }
    }
    found.sigma_m = pooled(&differences);
    found.roughness_m = found.sigma_m.filter(|_| differences.len() >= FEWEST_ROUGH).and_then(|sigma| {
        let ground = sigma * sigma - root_mean_square(&instruments)?.powi(2);
        (ground > SMOOTHEST * SMOOTHEST).then(|| ground.sqrt())
    });
    if let Some(sigma) = found.sigma_m {
        let text = format!(
            "{} places shot twice differ as heights with a standard deviation of {:.0} mm a shot would; 95 of 100 such pairs \
             differ by less than {:.0} mm, {} by more than their own limit",
            found.pairs,
            1000.0 * sigma,
            1000.0 * 1.96 * 2.0_f64.sqrt() * sigma,
            found.disagree
        );
        notes.push(Note::new("survey::repeats", text));
    }
    found
}

/// Standard deviation of one shot from the differences of pairs (two shots of equal sigma differ by root two of it). A
/// pair beyond three times the middle one's size is a blunder's, not the crew's.
fn pooled(differences: &[f64]) -> Option<f64> {
    let sizes: Vec<f64> = differences.iter().map(|d| d.abs()).collect();
    // The middle size of normal differences is 0.6745 of their standard deviation.
    let most = 3.0 * median(&sizes)? / 0.6745;
    let sound: Vec<f64> = differences.iter().copied().filter(|d| d.abs() <= most).collect();
    (sound.len() >= FEWEST).then(|| root_mean_square(&sound).map(|rms| rms / 2.0_f64.sqrt())).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An open textbook's figures (secondary): first and second visit differ by 24 mm root mean square, so one visit is
    /// good to 17 mm.
    #[test]
    fn two_visits_tell_the_sigma_of_one() {
        let differences = [0.024, -0.024, 0.024, -0.024, 0.024];
        assert!((pooled(&differences).unwrap() - 0.017).abs() < 5e-5);
        let with_a_blunder: Vec<f64> = differences.into_iter().chain([1.3]).collect();
        assert_eq!(pooled(&with_a_blunder), pooled(&differences));
        assert_eq!(pooled(&differences[..4]), None);
    }
}

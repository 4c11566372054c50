//! Shots of one place taken twice: do they agree.
//!
//! Two ground shots nearer than the repeat distance disagree when their heights differ by more than 1.96 standard
//! deviations of a difference (sigma of both as the file states it, else 20 mm; the ground's roughness under both), plus
//! what the ground's slope makes over the distance between them. Of two that disagree the one that its neighbours
//! contradict is set aside; where they cannot tell, both stay and it is told. Breaklines are left out: the top and the toe
//! of a cut may lie that near. 20 mm is survey-grade vertical sigma, quoted from the NGS single-base guidelines.

use super::candidate::Candidate;
use super::neighbours::{Near, standing};
use super::{Role, Settings};
use crate::notes::{Note, Place};

/// Vertical sigma of a shot that does not state one, metres.
pub(super) const UNSTATED_SIGMA: f64 = 0.020;

/// What was found of repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Repeats {
    /// Pairs nearer than the repeat distance.
    pub(super) pairs: usize,
    /// Of them, pairs whose heights disagree.
    pub(super) disagree: usize,
}

/// Compares repeats; sets aside or tells those that disagree.
pub(super) fn repeats(all: &mut [Candidate], files: &[String], settings: &Settings, notes: &mut Vec<Note>) -> Repeats {
    let used = |c: &Candidate| c.stands() && c.shot.role.is_ground() && c.shot.role != Role::Breakline;
    let indices: Vec<usize> = (0..all.len()).filter(|&i| used(&all[i])).collect();
    let near = Near::new(indices.iter().map(|&i| (i, all[i].shot.place)));
    let radius = settings.repeat_distance.in_metres();
    let mut found = Repeats::default();
    for &i in &indices {
        for (distance, j) in near.nearest(all[i].shot.place, 16, radius) {
            if j <= i || !all[i].stands() || !all[j].stands() {
                continue;
            }
            found.pairs += 1;
            let here = [i, j].map(|k| standing(all, &near, k, &[], settings));
            let slope = here[0].map_or(0.0, |s| s.slope);
            let sigma = |k: usize| all[k].shot.quality.vertical_sigma.unwrap_or(UNSTATED_SIGMA);
            let variance = sigma(i).powi(2) + sigma(j).powi(2) + 2.0 * settings.roughness.in_metres().powi(2);
            let limit = 1.96 * variance.sqrt() + slope * distance;
            let difference = all[j].shot.elevation - all[i].shot.elevation;
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
    found
}

//! Level books among the shots: a station that is a name of the design's lists stands where that name stands.
//!
//! A turning point that is no such name only carries the height on; an intermediate sight on a strange name is listed
//! as not compared. A book is checked when it closes on a second mark, as the survey's reduction says.

use super::grade::{Checked, Unmatched};
use super::matching::{is_works, shot_label};
use super::measured::{Measured, NamedPlace};
use crate::survey::{LevelKind, LevelPoint, LevelRun, Quality, Setup, Shot, Survey};
use std::collections::BTreeMap;

/// The shots with the levelled points among them, a file for each book, and the stations that are no names.
pub(super) fn with_levels(measured: &Measured<'_>) -> (Survey, Vec<Unmatched>) {
    let mut survey = measured.survey.clone();
    let names: BTreeMap<String, &NamedPlace> = measured.names.iter().map(|named| (key(&named.name), named)).collect();
    let mut strangers = Vec::new();
    for run in measured.levels {
        let file = u32::try_from(survey.files.len()).unwrap_or(u32::MAX);
        survey.files.push(run.file.clone());
        for point in run.points.iter().filter(|point| point.kind != LevelKind::Start) {
            match names.get(&key(&point.station)) {
                Some(named) => survey.shots.push(shot(point, named, file)),
                None if point.kind == LevelKind::Intermediate => strangers.push(Unmatched {
                    shot: shot_label(&run.file, &point.station),
                    reason: format!("line {}: no stake and no as-built shot of this run has that name", point.line),
                    meant: true,
                }),
                None => {}
            }
        }
    }
    (survey, strangers)
}

fn key(name: &str) -> String {
    name.trim().to_lowercase()
}

fn shot(point: &LevelPoint, named: &NamedPlace, file: u32) -> Shot {
    Shot {
        id: named.name.clone(),
        file,
        line: point.line,
        place: named.place,
        elevation: point.elevation_m,
        ellipsoid_height: None,
        code: named.role.name().to_owned(),
        role: named.role,
        quality: Quality {
            vertical_sigma: Some(point.sigma_m),
            shared_sigma: Some(point.shared_m),
            ..Quality::default()
        },
        time: None,
        setup: Setup::default(),
    }
}

/// What the marks say of shots and level books together: a miss of any rules, then a lack of any.
pub(super) fn checked(of_shots: Checked, measured: &Measured<'_>) -> Checked {
    let any_shots = measured.survey.shots.iter().any(|shot| is_works(shot.role));
    let shots = (any_shots || measured.levels.is_empty()).then_some(of_shots);
    let all = shots.into_iter().chain(measured.levels.iter().map(of_book));
    let worse = |a: Checked, b: Checked| match (rank(&a), rank(&b)) {
        (first, second) if first == second => {
            if size(&b) > size(&a) {
                b
            } else {
                a
            }
        }
        (first, second) => {
            if second > first {
                b
            } else {
                a
            }
        }
    };
    all.reduce(worse).unwrap_or_else(|| Checked::NotChecked { why: "nothing was measured".to_owned() })
}

const fn rank(checked: &Checked) -> u8 {
    match checked {
        Checked::Checked { .. } => 0,
        Checked::NotChecked { .. } => 1,
        Checked::Missed { .. } => 2,
    }
}

fn size(checked: &Checked) -> f64 {
    match checked {
        Checked::Checked { worst_m } | Checked::Missed { worst_m, .. } => worst_m.abs(),
        Checked::NotChecked { .. } => 0.0,
    }
}

fn of_book(run: &LevelRun) -> Checked {
    let worst = run.closures.iter().max_by(|a, b| a.misclosure_m.abs().total_cmp(&b.misclosure_m.abs()));
    if let Some(bad) = run
        .closures
        .iter()
        .filter(|closure| !closure.within)
        .max_by(|a, b| (a.misclosure_m.abs() / a.limit_m).total_cmp(&(b.misclosure_m.abs() / b.limit_m)))
    {
        let why = format!(
            "the level book {} does not close, {}: a reading or a mark in it is wrong, and none of its heights can be trusted",
            run.file,
            bad.sentence()
        );
        return Checked::Missed { why, worst_m: bad.misclosure_m };
    }
    match worst {
        Some(closure) if run.is_checked() => Checked::Checked { worst_m: closure.misclosure_m },
        Some(_) if !run.open => Checked::NotChecked {
            why: format!(
                "the level book {} closes only on the mark it started from: a wrong elevation of that mark would not show",
                run.file
            ),
        },
        _ => Checked::NotChecked {
            why: format!(
                "the level book {} closes on no second mark, or goes on after it: end on a known mark with a foresight",
                run.file
            ),
        },
    }
}

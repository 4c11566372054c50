//! `swalewright check`

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::Path;
use swalewright::asbuilt::{Checked, Part, PartCheck, Verdict};
use swalewright::pipeline::{self, BuiltCheck, PipelineError, PointOptions};
use swalewright::units::{Length, ReadingUnits};

pub(super) fn run(
    works: &Path,
    book: &Path,
    tolerance: Option<Length>,
    points: &PointOptions,
    told: &Told,
) -> Result<Exit, PipelineError> {
    let check = pipeline::check_built(works, book, tolerance, points)?;
    told.notes(&check.notes);
    let found = &check.value.check;
    let mut json = serde_json::to_value(found).unwrap_or_default();
    json["verdict"] = json!(found.verdict.name());
    json["tolerances_from"] = json!(check.value.standing);
    json["frame"] = json!(check.value.frame);
    json["notes"] = json!(check.notes);
    told.result(&json, &lines(&check.value));
    Ok(Exit::of_check(found.verdict == Verdict::Fail))
}

fn lines(built: &BuiltCheck) -> Vec<String> {
    let (check, words) = (&built.check, Words(built.units));
    let mut lines = check.headlines.clone();
    lines.push(if check.shots.is_empty() {
        format!("verdict: {} (nothing was compared of {})", check.verdict.name(), shots(check.unmatched.len()))
    } else {
        format!(
            "verdict: {} ({} compared, {} not; worst {}, rms {})",
            check.verdict.name(),
            shots(check.shots.len()),
            check.unmatched.len(),
            words.high_or_low(check.worst_m),
            words.small(check.rms_m)
        )
    });
    lines.push(match &check.checked {
        Checked::Checked { worst_m } => format!("checked on known marks: worst miss {}", words.high_or_low(*worst_m)),
        Checked::NotChecked { why } => format!("not checked: {why}"),
        Checked::Missed { why, .. } => format!("doubtful: {why}"),
    });
    // Of several sills each says which it is, along the line.
    let number = |part: &PartCheck| {
        let later = |other: &PartCheck| other.works == part.works && other.part == Part::Sill && other.piece > 0;
        if part.part == Part::Sill && check.parts.iter().any(later) {
            format!(" {}", part.piece + 1)
        } else {
            String::new()
        }
    };
    for part in &check.parts {
        lines.push(format!(
            "  {} {}{} {}: {}, {}, mean {}, allowed {} low to {} high",
            part.works,
            part.part.name(),
            number(part),
            words.stations(part.from_m, part.to_m),
            part.verdict.name(),
            shots(part.shots),
            words.high_or_low(part.mean_m),
            words.allowed(part.tolerance.below_m),
            words.allowed(part.tolerance.above_m)
        ));
        lines.extend(part.failing.iter().map(|stretch| {
            format!(
                "    out of tolerance {}: {}{} over {}",
                words.stations(stretch.from_m, stretch.to_m),
                words.high_or_low(stretch.mean_m),
                if stretch.shots == 1 { "" } else { " on average" },
                shots(stretch.shots)
            )
        }));
    }
    lines.push(format!("  tolerances {}", built.standing));
    lines.extend(check.put_right.iter().map(|row| {
        let (from, to) = (words.small(row.by_from_m), words.small(row.by_to_m));
        let by = if from == to { from } else { format!("{from} running to {to}") };
        let place = words.stations(row.from_m, row.to_m);
        format!("  put right: {} the {} of {} by {by} {place}", row.action.name(), row.part.name(), row.works)
    }));
    for shot in check.unmatched.iter().take(SHOWN) {
        lines.push(format!("  not compared: {}: {}", shot.shot, shot.reason));
    }
    if check.unmatched.len() > SHOWN {
        lines.push(format!("  and {} more", check.unmatched.len() - SHOWN));
    }
    lines
}

/// Most shots told that were not compared.
const SHOWN: usize = 5;

fn shots(count: usize) -> String {
    if count == 1 { "1 shot".to_owned() } else { format!("{count} shots") }
}

/// Numbers in the units that people on the site read.
struct Words(ReadingUnits);

impl Words {
    fn allowed(&self, metres: f64) -> String {
        self.0.allowed(Length::metres(metres))
    }

    fn small(&self, metres: f64) -> String {
        self.0.small(Length::metres(metres))
    }

    fn high_or_low(&self, metres: f64) -> String {
        let size = self.small(metres.abs());
        if size == self.small(0.0) {
            return size;
        }
        format!("{size} {}", if metres < 0.0 { "low" } else { "high" })
    }

    fn stations(&self, from: f64, to: f64) -> String {
        let [first, last] = [from, to].map(|station| format!("{:.1}", self.0.length_number(Length::metres(station))));
        let unit = self.0.length_unit();
        if first == last {
            format!("at station {first} {unit}")
        } else {
            format!("from station {first} to {last} {unit}")
        }
    }
}

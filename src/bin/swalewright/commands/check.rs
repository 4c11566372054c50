//! `swalewright check`

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::Path;
use swalewright::asbuilt::{Checked, GradeCheck, Tolerance, Verdict};
use swalewright::pipeline::{self, PipelineError, PointOptions};
use swalewright::units::Length;

pub(super) fn run(
    works: &Path,
    book: &Path,
    tolerance: Option<Length>,
    points: &PointOptions,
    told: &Told,
) -> Result<Exit, PipelineError> {
    let check = pipeline::check_built(works, book, tolerance, points)?;
    told.notes(&check.notes);
    let found = &check.value;
    let mut json = serde_json::to_value(found).unwrap_or_default();
    json["verdict"] = json!(found.verdict.name());
    json["notes"] = json!(check.notes);
    told.result(&json, &lines(found));
    Ok(Exit::of_check(found.verdict == Verdict::Fail))
}

fn lines(check: &GradeCheck) -> Vec<String> {
    let mut lines = check.headlines.clone();
    lines.push(format!(
        "verdict: {} ({} shots compared, {} not; worst {}, rms {} mm)",
        check.verdict.name(),
        check.shots.len(),
        check.unmatched.len(),
        high_or_low(check.worst_m),
        millimetres(check.rms_m)
    ));
    lines.push(match &check.checked {
        Checked::Checked { worst_m } => format!("checked on known marks: worst miss {}", high_or_low(*worst_m)),
        Checked::NotChecked { why } => format!("not checked: {why}"),
        Checked::Missed { why, .. } => format!("doubtful: {why}"),
    });
    for part in &check.parts {
        lines.push(format!(
            "  {} {}: {}, {} shots, mean {}, allowed {}",
            part.works,
            part.part.name(),
            part.verdict.name(),
            part.shots,
            high_or_low(part.mean_m),
            allowed(part.tolerance)
        ));
        lines.extend(part.failing.iter().map(|stretch| {
            format!(
                "    out of tolerance from station {:.1} to {:.1} m: {} on average over {} shots",
                stretch.from_m,
                stretch.to_m,
                high_or_low(stretch.mean_m),
                stretch.shots
            )
        }));
    }
    lines.extend(check.put_right.iter().map(|row| {
        format!(
            "  put right: {} the {} of {} from station {:.1} to {:.1} m by {} to {} mm",
            row.action.name(),
            row.part.name(),
            row.works,
            row.from_m,
            row.to_m,
            millimetres(row.by_from_m),
            millimetres(row.by_to_m)
        )
    }));
    lines
}

fn millimetres(metres: f64) -> String {
    format!("{:.0}", metres * 1000.0)
}

fn high_or_low(metres: f64) -> String {
    format!("{} mm {}", millimetres(metres.abs()), if metres < 0.0 { "low" } else { "high" })
}

fn allowed(tolerance: Tolerance) -> String {
    format!("{} mm low to {} mm high", millimetres(tolerance.below_m), millimetres(tolerance.above_m))
}

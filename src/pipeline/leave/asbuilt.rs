//! `asbuilt/`: what was dug, shot by shot, and what to put right.

use super::{Left, json};
use crate::asbuilt::{GradeCheck, Verdict};
use crate::frame::SiteFrame;
use crate::io::write::csv::Table;
use crate::io::write::tables::Tables;
use crate::io::{Column, ColumnKind};
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let check = values.asbuilt()?;
    write(&check.value, &values.context()?.frame, folder)?;
    let headline = check.value.headlines.first().cloned().unwrap_or_default();
    let failed = (check.value.verdict == Verdict::Fail).then(|| format!("as built: {headline}"));
    Ok(Left {
        summary: format!("{}: {}. {headline}", check.value.verdict.name(), compared(&check.value)),
        notes: check.notes.clone(),
        failed: failed.into_iter().collect(),
        ..Left::default()
    })
}

fn compared(check: &GradeCheck) -> String {
    match (check.shots.len(), (check.worst_m * 1000.0).round()) {
        (0, _) => "nothing was compared".to_owned(),
        // Never a minus before nothing.
        (count, 0.0) => format!("{count} shots, worst 0 mm"),
        (count, worst) => format!("{count} shots, worst {worst:+.0} mm"),
    }
}

/// The three files of an as-built check.
pub(in crate::pipeline) fn write(check: &GradeCheck, frame: &SiteFrame, folder: &Path) -> Result<(), PipelineError> {
    let mut table = Table::new(vec![
        Column::text("shot"),
        Column::text("works"),
        Column::text("part"),
        Column::number("station_m"),
        Column::number("offset_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::elevation("measured"),
        Column::elevation("design_elevation"),
        Column::number("difference_m"),
        Column::number("tolerance_m"),
        Column::text("verdict"),
    ]);
    for shot in &check.shots {
        table.push(vec![
            shot.shot.as_str().into(),
            shot.works.as_str().into(),
            shot.part.name().into(),
            shot.station_m.into(),
            shot.offset_m.into(),
            shot.place.x.into(),
            shot.place.y.into(),
            shot.measured_m.into(),
            shot.design_elevation_m.into(),
            shot.difference_m.into(),
            shot.tolerance.towards(shot.difference_m).into(),
            shot.verdict.name().into(),
        ]);
    }
    let mut tables = Tables::new(folder, frame);
    tables.table("grade-check.csv", &table)?;

    let mut list = Table::new(vec![
        Column::text("works"),
        Column::text("part"),
        Column::number("from_station_m"),
        Column::number("to_station_m"),
        Column::text("action"),
        Column::number("by_at_from_m"),
        Column::number("by_at_to_m"),
    ]);
    for row in &check.put_right {
        list.push(vec![
            row.works.as_str().into(),
            row.part.name().into(),
            row.from_m.into(),
            row.to_m.into(),
            row.action.name().into(),
            row.by_from_m.into(),
            row.by_to_m.into(),
        ]);
    }
    tables.table("put-right.csv", &list)?;
    tables.finish()?;
    let value = serde_json::to_value(check).map_err(|error| PipelineError::Fault { what: error.to_string() })?;
    json(&folder.join("asbuilt.json"), value, frame)
}

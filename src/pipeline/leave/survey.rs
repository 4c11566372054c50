//! `survey/`: the shots as a map, what was set aside and why, where they do not tell the ground well enough, the counts.

use super::unsure::Unsure;
use super::{Left, json, maps, number};
use crate::io::Column;
use crate::io::write::csv::Table;
use crate::io::write::geopackage;
use crate::io::write::tables::Tables;
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use crate::survey::Survey;
use serde_json::{Value as Json, json as object};
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let survey = values.survey()?;
    let context = values.context()?;
    let found = &survey.value;

    let unsure = Unsure::of(values)?;
    let mut layers = maps::survey(found);
    layers.extend(unsure.iter().flat_map(Unsure::layers));
    geopackage::write(&folder.join("shots.gpkg"), &layers, context)?;

    let mut table = Table::new(vec![
        Column::text("file"),
        Column::new("line", crate::io::ColumnKind::Integer),
        Column::text("shot"),
        Column::text("reason"),
        Column::text("value"),
    ]);
    for row in &found.set_aside {
        table.push(vec![
            row.file.as_str().into(),
            usize::try_from(row.line).unwrap_or(usize::MAX).into(),
            row.shot.as_str().into(),
            row.reason.as_str().into(),
            row.value.as_str().into(),
        ]);
    }
    let mut tables = Tables::new(folder, &found.frame);
    tables.table("set-aside.csv", &table)?;
    if let Some(places) = unsure.as_ref().and_then(Unsure::where_to_shoot) {
        tables.table("where-to-shoot.csv", &places)?;
    }
    tables.finish()?;

    let (kept, aside) = (found.shots.len(), found.set_aside.len());
    let mut figures =
        serde_json::to_value(found.figures()).map_err(|error| PipelineError::Fault { what: error.to_string() })?;
    figures["cloud_points"] = found.cloud.len().into();
    figures["breaklines"] = found.breaklines.len().into();
    figures["checks"] = object!(found.checks);
    figures["fit"] = object!(found.fit);
    figures["doubtful_shots"] = found.doubtful.iter().filter_map(|&index| doubtful(found, index as usize)).collect();
    figures["files"] = object!(found.files);
    figures["date"] = object!(context.date);
    figures["between_shots"] = object!(unsure.as_ref().map(Unsure::figures));
    json(&folder.join("survey.json"), figures, &found.frame)?;
    let checks = match found.checks.iter().filter(|check| !check.within).count() {
        0 if found.checks.is_empty() => "not checked on a mark".to_owned(),
        0 => format!("{} check shots agree", found.checks.len()),
        bad => format!("{bad} of {} check shots miss their mark", found.checks.len()),
    };
    let cloud = match found.cloud.len() {
        0 => String::new(),
        points => format!("{points} ground points of clouds and grids; "),
    };
    Ok(Left {
        summary: format!("{cloud}{} shots read, {kept} kept, {aside} set aside; {checks}", kept + aside),
        notes: survey.notes.iter().cloned().chain(unsure.iter().flat_map(Unsure::notes)).collect(),
        failed: Vec::new(),
        facts: object!({ "frame": found.frame, "date": Json::from(context.date.as_str()) }),
    })
}

/// A shot that is used though it stands off its neighbours.
fn doubtful(survey: &Survey, index: usize) -> Option<Json> {
    let shot = survey.shots.get(index)?;
    let among = survey.neighbours.get(index).copied().flatten();
    Some(object!({
        "file": survey.file_of(shot),
        "line": shot.line,
        "shot": shot.id,
        "off_m": among.map(|among| number(among.off)),
        "sigma_m": among.map(|among| number(among.sigma)),
    }))
}

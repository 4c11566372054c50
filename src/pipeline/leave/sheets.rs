//! `sheets/`: what the crew reads.

use super::Left;
use crate::asbuilt::GradeSettings;
use crate::io::write::atomic;
use crate::notes::Note;
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use crate::sheet::{DigSheetInput, dig_sheet};
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let survey = values.survey()?;
    let ground = values.ground()?;
    let plan = values.plan()?;
    let stakes = values.stakes()?;
    let date = values.date()?;
    let site = &values.file.site;
    let earth = values.earth()?;
    let notes: Vec<_> = [&survey.notes, &ground.notes, &plan.notes, &earth.notes, &stakes.notes]
        .into_iter()
        .flatten()
        .cloned()
        .collect();
    let html = dig_sheet(&DigSheetInput {
        site: &site.name,
        issue: site.issue(date.as_deref()),
        region: site.region,
        figures: site.figures(),
        stake_sides: values.file.stake_sides,
        ground: values.natural()?,
        survey: &survey.value,
        plan: &plan.value,
        quantities: &earth.value,
        stakes: &stakes.value,
        tolerances: values.file.asbuilt.as_ref().map_or_else(GradeSettings::default, |asked| asked.settings),
        roughness: survey.value.roughness(&values.file.survey.settings),
        notes: &notes,
    });
    atomic::write(&folder.join("dig-sheet.html"), html.as_bytes())?;
    let undated = date.is_none().then(|| {
        Note::new(
            "sheet::no-date",
            "no shot says when it was taken, so the sheet leaves its date blank and the files say 1970-01-01: `[site] date` sets it",
        )
    });
    Ok(Left {
        summary: format!("dig sheet, {} kB", html.len().div_ceil(1000)),
        notes: undated.into_iter().collect(),
        ..Left::default()
    })
}

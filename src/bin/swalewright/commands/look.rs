//! `swalewright look`

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::{Path, PathBuf};
use swalewright::draw::{survey_plan, svg};
use swalewright::io::write::atomic;
use swalewright::pipeline::{self, PipelineError, PointOptions};
use swalewright::units::Figures;

pub(super) fn run(
    files: &[PathBuf],
    drawing: Option<&Path>,
    at: Option<(f64, f64)>,
    points: &PointOptions,
    told: &Told,
) -> Result<Exit, PipelineError> {
    let mut lines = Vec::new();
    let mut found = Vec::new();
    let looks = match at {
        Some(place) => files.iter().map(|file| pipeline::look_at(file, place, points)).collect::<Result<_, _>>()?,
        None => pipeline::look(files, points)?,
    };
    for look in looks {
        told.notes(&look.notes);
        lines.extend(look.lines);
        found.push(look.json);
        if let (Some(path), Some(survey)) = (drawing, &look.survey) {
            atomic::write(path, svg(&survey_plan(survey, None, Figures::default())).as_bytes())?;
            lines.push(format!("drawn in {}", path.display()));
        }
    }
    let json = match found.as_mut_slice() {
        [only] => only.take(),
        _ => json!({ "looks": found }),
    };
    told.result(&json, &lines);
    Ok(Exit::Done)
}

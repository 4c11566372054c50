//! `swalewright run`

use super::Told;
use crate::exit::Exit;
use serde_json::Value as Json;
use std::path::{Path, PathBuf};
use swalewright::pipeline::{self, Outcome, PipelineError, RunOptions, Stage};

pub(super) fn run(
    pipelines: &[PathBuf],
    out: Option<&Path>,
    until: Option<Stage>,
    fresh: bool,
    told: &Told,
) -> Result<Exit, PipelineError> {
    let several = pipelines.len() > 1;
    let mut outcomes: Vec<Outcome> = Vec::new();
    for path in pipelines {
        let out = match out {
            Some(folder) if several => Some(folder.join(path.file_stem().unwrap_or_default())),
            other => other.map(Path::to_owned),
        };
        if several {
            told.progress.line(&path.display().to_string());
        }
        let options = RunOptions { out, until, fresh };
        let outcome = pipeline::run(path, &options, &told.progress)?;
        for failed in &outcome.failed {
            told.progress.always(&format!("check failed: {failed}"));
        }
        outcomes.push(outcome);
    }
    let failed = outcomes.iter().any(|outcome| !outcome.failed.is_empty());
    let lines: Vec<String> = outcomes.iter().map(|outcome| told_folder(&outcome.folder)).collect();
    let json = match outcomes.as_mut_slice() {
        [only] => only.manifest.take(),
        all => {
            let runs = all.iter_mut().map(|outcome| (outcome.folder.display().to_string(), outcome.manifest.take()));
            serde_json::json!({ "runs": runs.collect::<serde_json::Map<String, Json>>() })
        }
    };
    told.result(&json, &lines);
    Ok(Exit::of_check(failed))
}

fn told_folder(folder: &Path) -> String {
    let sheet = folder.join("sheets").join("dig-sheet.html");
    if sheet.exists() {
        format!("output folder: {} (read {} first)", folder.display(), sheet.display())
    } else {
        format!("output folder: {}", folder.display())
    }
}

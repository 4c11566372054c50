//! `swalewright look`

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::PathBuf;
use swalewright::pipeline::{self, PipelineError, PointOptions};

pub(super) fn run(files: &[PathBuf], points: &PointOptions, told: &Told) -> Result<Exit, PipelineError> {
    let mut lines = Vec::new();
    let mut found = Vec::new();
    for file in files {
        let look = pipeline::look(file, points)?;
        told.notes(&look.notes);
        lines.extend(look.lines);
        found.push(look.json);
    }
    let json = match found.as_mut_slice() {
        [only] => only.take(),
        _ => json!({ "files": found }),
    };
    told.result(&json, &lines);
    Ok(Exit::Done)
}

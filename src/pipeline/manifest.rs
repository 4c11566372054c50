//! `run.json`: what a run was given, as what it read its settings, what it has to tell and what it left.

use super::config::PipelineFile;
use super::inputs::Input;
use super::record::Records;
use super::{PipelineError, fingerprint};
use crate::frame::SiteFrame;
use serde_json::{Value as Json, json};
use std::path::{Path, PathBuf};

/// Name of the manifest in an output folder.
pub const MANIFEST: &str = "run.json";

/// The manifest's text: everything follows from the pipeline file, the inputs and what the stages left.
pub(super) fn text(file: &PipelineFile, inputs: &[Input], records: &Records) -> Result<String, PipelineError> {
    let mut stages = Vec::new();
    let mut notes = Vec::new();
    let mut failed = Vec::new();
    let mut outputs = Vec::new();
    let (mut frame, mut date) = (Json::Null, Json::Null);
    for (stage, record) in records.iter() {
        stages.push(json!({ "stage": stage.name(), "key": record.key, "summary": record.summary }));
        for note in &record.notes {
            let mut told = json!({ "stage": stage.name(), "code": note.code, "text": note.text });
            if let Some(place) = &note.place {
                told["place"] = serde_json::to_value(place).unwrap_or_default();
            }
            notes.push(told);
        }
        failed.extend(record.failed.iter().map(|check| json!({ "stage": stage.name(), "text": check })));
        outputs.extend(record.outputs.iter().map(|output| json!(output)));
        if let Some(found) = record.facts.get("frame") {
            (frame, date) = (found.clone(), record.facts["date"].clone());
        }
    }
    let inputs: Vec<Json> = inputs
        .iter()
        .map(|input| json!({ "file": input.name, "stage": input.stage.name(), "sha256": input.sha256, "bytes": input.bytes }))
        .collect();
    let name = file.path.file_name().unwrap_or_default().to_string_lossy();
    let manifest = json!({
        "program": env!("CARGO_PKG_NAME"),
        "version": env!("CARGO_PKG_VERSION"),
        "site": file.site.name,
        "date": date,
        "frame": frame,
        "pipeline": { "file": name, "sha256": fingerprint::of_bytes(file.text.as_bytes()), "text": file.text },
        "settings": file.resolved,
        "inputs": inputs,
        "stages": stages,
        "failed_checks": failed,
        "notes": notes,
        "outputs": outputs,
    });
    serde_json::to_string_pretty(&super::rounded::rounded(manifest))
        .map(|text| text + "\n")
        .map_err(|error| PipelineError::Fault { what: error.to_string() })
}

/// A manifest read back, for commands that take a run's folder.
#[derive(Debug, Clone, PartialEq)]
pub struct Manifest {
    /// The run's folder.
    pub folder: PathBuf,
    /// The site's frame.
    pub frame: SiteFrame,
    /// The pipeline file as it was, read again.
    pub pipeline: PipelineFile,
    /// All of it.
    pub json: Json,
}

impl Manifest {
    /// Reads the manifest of a run's folder.
    ///
    /// # Errors
    /// [`PipelineError::NoRun`] when there is none, [`PipelineError::Damaged`] when it cannot be read.
    pub fn open(folder: &Path) -> Result<Self, PipelineError> {
        let path = folder.join(MANIFEST);
        let damaged = |why: String| PipelineError::Damaged { path: path.clone(), why };
        let bytes = std::fs::read(&path).map_err(|_| PipelineError::NoRun { path: folder.to_owned() })?;
        let json: Json = serde_json::from_slice(&bytes).map_err(|error| damaged(error.to_string()))?;
        let frame = serde_json::from_value(json["frame"].clone()).map_err(|error| damaged(error.to_string()))?;
        let text = json["pipeline"]["text"]
            .as_str()
            .ok_or_else(|| damaged("it does not hold the pipeline file".to_owned()))?;
        let pipeline = super::config::read(&path, text).map_err(|error| damaged(error.to_string()))?;
        Ok(Self { folder: folder.to_owned(), frame, pipeline, json })
    }

    /// The files that the run left, as `stage/name`.
    pub fn outputs(&self) -> impl Iterator<Item = &str> {
        self.json["outputs"].as_array().into_iter().flatten().filter_map(|output| output["file"].as_str())
    }

    /// True when the run left such a file.
    #[must_use]
    pub fn lists(&self, file: &str) -> bool {
        self.outputs().any(|output| output == file)
    }

    /// The bytes of a file that the run left, held against the hash that the manifest gives.
    ///
    /// # Errors
    /// [`PipelineError::Damaged`] when the file is missing, is not listed, or has changed.
    pub fn read(&self, file: &str) -> Result<Vec<u8>, PipelineError> {
        let path = self.folder.join(file);
        let damaged = |why: &str| PipelineError::Damaged { path: path.clone(), why: why.to_owned() };
        let listed = self.json["outputs"].as_array().and_then(|all| all.iter().find(|output| output["file"] == file));
        let listed =
            listed.ok_or_else(|| damaged("the run did not leave such a file: run again, and without --until"))?;
        let bytes = std::fs::read(&path).map_err(|error| damaged(&crate::io::reason(&error)))?;
        if listed["sha256"] == fingerprint::of_bytes(&bytes) {
            Ok(bytes)
        } else {
            Err(damaged("it was changed after the run; run again"))
        }
    }
}

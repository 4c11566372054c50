//! What a stage left: its key, its notes, its files with their hashes. Kept in `.cache`, which may be deleted.

use super::fingerprint;
use super::{PipelineError, Stage};
use crate::io::write::atomic;
use crate::notes::Note;
use serde_json::Value as Json;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// One output file.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub(super) struct Output {
    /// Path inside the output folder, with `/`.
    pub(super) file: String,
    /// SHA-256 of its bytes.
    pub(super) sha256: String,
    /// Its size.
    pub(super) bytes: u64,
}

/// What a stage left.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct StageRecord {
    /// The key it was made with.
    pub(super) key: String,
    /// One line of figures.
    pub(super) summary: String,
    /// Notes of the stage.
    pub(super) notes: Vec<Note>,
    /// Checks that were asked for and failed.
    pub(super) failed: Vec<String>,
    /// What later stages and the manifest must know without computing it again.
    pub(super) facts: Json,
    /// Its files.
    pub(super) outputs: Vec<Output>,
}

/// The records of an output folder.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub(super) struct Records {
    #[serde(default)]
    stages: BTreeMap<Stage, StageRecord>,
}

fn place(folder: &Path) -> PathBuf {
    folder.join(".cache").join("stages.json")
}

impl Records {
    /// The records of a folder; none when they are missing or cannot be read.
    pub(super) fn load(folder: &Path) -> Self {
        std::fs::read(place(folder)).ok().and_then(|bytes| serde_json::from_slice(&bytes).ok()).unwrap_or_default()
    }

    pub(super) fn save(&self, folder: &Path) -> Result<(), PipelineError> {
        atomic::make_folder(&folder.join(".cache"))?;
        let text = serde_json::to_string(self).map_err(|error| PipelineError::Fault { what: error.to_string() })?;
        Ok(atomic::write(&place(folder), text.as_bytes())?)
    }

    pub(super) fn get(&self, stage: Stage) -> Option<&StageRecord> {
        self.stages.get(&stage)
    }

    pub(super) fn insert(&mut self, stage: Stage, record: StageRecord) {
        self.stages.insert(stage, record);
    }

    pub(super) fn remove(&mut self, stage: Stage) {
        self.stages.remove(&stage);
    }

    /// In the order of the stages.
    pub(super) fn iter(&self) -> impl Iterator<Item = (Stage, &StageRecord)> {
        self.stages.iter().map(|(stage, record)| (*stage, record))
    }

    /// True when a stage was made with this key and what it left stands as it left it.
    pub(super) fn is_good(&self, stage: Stage, key: &str, folder: &Path) -> bool {
        self.get(stage).is_some_and(|record| {
            let stands = |left: &Output| {
                hash(&folder.join(&left.file)).is_ok_and(|found| found == (left.sha256.clone(), left.bytes))
            };
            record.key == key && folder.join(stage.name()).is_dir() && record.outputs.iter().all(stands)
        })
    }
}

/// The files of a stage in the folder where it was made, with their hashes, sorted by name.
pub(super) fn outputs(made: &Path, stage: Stage) -> std::io::Result<Vec<Output>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(made)? {
        let path = entry?.path();
        let (sha256, bytes) = hash(&path)?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        found.push(Output { file: format!("{}/{name}", stage.name()), sha256, bytes });
    }
    found.sort_by(|a, b| a.file.cmp(&b.file));
    Ok(found)
}

fn hash(path: &Path) -> std::io::Result<(String, u64)> {
    fingerprint::of_reader(std::fs::File::open(path)?)
}

//! The output folder: that it is a run's own, that one run works in it at a time, and that nothing in it is lost that a run did
//! not leave.
//!
//! Invariant: a file in a stage's folder that no run left stands there afterwards as it did before, whether the stage is made
//! again or goes; between the first change and the end `UNFINISHED.txt` stands beside the stages and `run.json` does not.

use super::config::PipelineFile;
use super::inputs::Input;
use super::manifest::{MANIFEST, Manifest};
use super::record::{Output, Records};
use super::{PipelineError, Stage};
use crate::io::read::points::part_of;
use crate::io::reason;
use crate::io::write::atomic;
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

/// Stands in the folder while what is in it does not belong together.
pub(super) const UNFINISHED: &str = "UNFINISHED.txt";
const UNFINISHED_TEXT: &str = "A run began here and did not finish. Some of these folders are new and some are of an earlier run: do not print, \
     stake or dig from them. Run again; this file goes when a run has finished.\n";

/// In `.cache` while a run works: the files that are a run's.
const LEFT: &str = "left.json";

/// What a database keeps beside its file while it is open.
const COMPANIONS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// The folder that a run works in.
#[derive(Debug)]
pub(super) struct OutputFolder {
    path: PathBuf,
    /// Locked as long as the run works; the system lets go of it however the run ends.
    _running: File,
    /// True when the run made the folder.
    made: bool,
    /// The files that runs left, as `stage/name`; `None` when nothing tells, and then all are taken for a run's. Kept on the disk
    /// while a run works, for one that is killed forgets them.
    left: Option<BTreeSet<String>>,
}

impl OutputFolder {
    /// Makes the folder ready, before anything is computed.
    ///
    /// # Errors
    /// [`PipelineError::OutputFolder`] when it holds what a run would replace but did not leave, when it cannot be written to, or
    /// when another run is at work in it.
    pub(super) fn open(path: &Path, file: &PipelineFile, inputs: &[Input]) -> Result<Self, PipelineError> {
        let refused = |why: String| PipelineError::OutputFolder { path: path.to_owned(), why };
        if path.is_file() {
            return Err(refused("it is a file; name a folder with --out".to_owned()));
        }
        let manifest = Manifest::open(path).ok();
        only_ours(path, manifest.is_some(), file, inputs)?;
        let made = !path.exists();
        let failed = |error: std::io::Error| refused(reason(&error));
        let cache = path.join(".cache");
        std::fs::create_dir_all(&cache).map_err(failed)?;
        let running = File::create(cache.join("running")).map_err(failed)?;
        match running.try_lock() {
            Err(TryLockError::WouldBlock) => {
                return Err(refused(
                    "another run is at work in it; wait for that, or name another with --out".to_owned(),
                ));
            }
            // A disk that knows no locks is no reason not to work.
            Err(TryLockError::Error(_)) | Ok(()) => {}
        }
        atomic::remove_leftovers(path)?;
        let told = Records::load(path);
        let told = told.iter().flat_map(|(_, record)| record.outputs.iter().map(|output| output.file.clone()));
        let listed = manifest.iter().flat_map(Manifest::outputs);
        let killed: Vec<String> = std::fs::read(cache.join(LEFT))
            .ok()
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .unwrap_or_default();
        let left: BTreeSet<String> = told.chain(listed.map(str::to_owned)).chain(killed).collect();
        let left = (!left.is_empty()).then_some(left);
        Ok(Self { path: path.to_owned(), _running: running, made, left })
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Says that from now on what stands here does not belong together.
    pub(super) fn begin(&self) -> Result<(), PipelineError> {
        self.remember()?;
        atomic::write(&self.path.join(UNFINISHED), UNFINISHED_TEXT.as_bytes())?;
        Ok(atomic::remove_file(&self.path.join(MANIFEST))?)
    }

    /// Says that it does again.
    pub(super) fn finish(&self) -> Result<(), PipelineError> {
        atomic::remove_file(&self.path.join(".cache").join(LEFT))?;
        Ok(atomic::remove_file(&self.path.join(UNFINISHED))?)
    }

    fn remember(&self) -> Result<(), PipelineError> {
        let Some(left) = &self.left else { return Ok(()) };
        let text = serde_json::to_string(left).map_err(|error| PipelineError::Fault { what: error.to_string() })?;
        Ok(atomic::write(&self.path.join(".cache").join(LEFT), text.as_bytes())?)
    }

    /// Takes back a folder that the run made and left nothing in.
    pub(super) fn abandon(self, records: &Records) {
        if self.made && records.iter().next().is_none() {
            // What cannot be taken back, or holds something, stays.
            let _ = atomic::remove_folder(&self.path.join(".cache"));
            let _ = atomic::remove_file(&self.path.join(UNFINISHED));
            let _ = std::fs::remove_dir(&self.path);
        }
    }

    /// True when a stage's folder holds something that a run left.
    pub(super) fn holds(&self, stage: Stage) -> bool {
        names(&self.path.join(stage.name())).iter().any(|name| self.is_left(stage, name))
    }

    /// Puts a stage's new folder, with these files, in the place of the old one. Files of others move over; one whose name the stage has now taken
    /// gets `.kept` behind it.
    pub(super) fn swap(&mut self, stage: Stage, fresh: &Path, outputs: &[Output]) -> Result<(), PipelineError> {
        let place = self.path.join(stage.name());
        for name in names(&place) {
            if self.is_left(stage, &name) {
                continue;
            }
            let mut there = fresh.join(&name);
            if there.exists() {
                let mut kept = name.clone();
                kept.push(".kept");
                there = fresh.join(kept);
            }
            atomic::rename(&place.join(&name), &there)?;
        }
        self.left.get_or_insert_default().extend(outputs.iter().map(|output| output.file.clone()));
        self.remember()?;
        Ok(atomic::swap_folder(fresh, &place)?)
    }

    /// Removes what a stage left, and its folder where nothing of others is in it.
    pub(super) fn clear(&self, stage: Stage) -> Result<(), PipelineError> {
        let place = self.path.join(stage.name());
        for name in names(&place).iter().filter(|name| self.is_left(stage, name)) {
            let path = place.join(name);
            if path.is_dir() { atomic::remove_folder(&path)? } else { atomic::remove_file(&path)? }
        }
        if names(&place).is_empty() {
            atomic::remove_folder(&place)?;
        }
        Ok(())
    }

    fn is_left(&self, stage: Stage, name: &OsString) -> bool {
        let Some(left) = &self.left else { return true };
        let name = name.to_string_lossy();
        let file = COMPANIONS.iter().find_map(|ending| name.strip_suffix(ending)).unwrap_or(&name);
        left.contains(&format!("{}/{file}", stage.name()))
    }
}

/// What a folder holds; nothing when it is not there.
fn names(folder: &Path) -> Vec<OsString> {
    std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.file_name()).collect()
}

/// Refuses a folder in which the run would replace what it did not write: a stage's folder or a `run.json` of somebody
/// else, or one that holds an input of this very run.
fn only_ours(folder: &Path, whole: bool, file: &PipelineFile, inputs: &[Input]) -> Result<(), PipelineError> {
    let refused = |why: String| Err(PipelineError::OutputFolder { path: folder.to_owned(), why });
    let ours = whole || folder.join(".cache").is_dir();
    let taken = Stage::ALL.into_iter().map(Stage::name).chain([MANIFEST]).find(|name| folder.join(name).exists());
    if let (false, Some(name)) = (ours, taken) {
        return refused(format!(
            "it holds `{name}`, which no run of this program left and a run would replace; name another folder with --out"
        ));
    }
    let Ok(within) = folder.canonicalize() else { return Ok(()) };
    for input in inputs {
        let Ok(path) = part_of(&file.beside(&input.name)).0.canonicalize() else { continue };
        if let Some(stage) = Stage::ALL.into_iter().find(|stage| path.starts_with(within.join(stage.name()))) {
            let (name, stage) = (&input.name, stage.name());
            return refused(format!(
                "its `{stage}` holds the input `{name}`, and a run would replace it; name another folder with --out"
            ));
        }
    }
    Ok(())
}

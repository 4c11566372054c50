//! A run: which stages are wanted, which are still good, which are made; the folder kept consistent throughout.

use super::config::{self, PipelineFile};
use super::fingerprint::KeyBuilder;
use super::folder::OutputFolder;
use super::inputs::{self, Input};
use super::record::{self, Records, StageRecord};
use super::values::Values;
use super::{MANIFEST, PipelineError, Stage, leave, manifest};
use crate::io::reason;
use crate::io::write::atomic;
use crate::notes::{Event, Reporter};
use serde_json::{Value as Json, json};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// How a run is to go.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RunOptions {
    /// Where it leaves its files; `None` for a folder beside the pipeline file, named after it.
    pub out: Option<PathBuf>,
    /// The last stage wanted.
    pub until: Option<Stage>,
    /// Make every stage again.
    pub fresh: bool,
}

/// What a run came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Where it left its files.
    pub folder: PathBuf,
    /// run.json.
    pub manifest: Json,
    /// Checks that were asked for and failed.
    pub failed: Vec<String>,
}

/// Runs a pipeline file.
///
/// # Errors
/// [`PipelineError`]; every stage's folder is then either as it was before or new and whole, and there is no `run.json`
/// unless nothing was changed.
pub fn run(path: &Path, options: &RunOptions, reporter: &dyn Reporter) -> Result<Outcome, PipelineError> {
    let started = Instant::now();
    let file = read_file(path)?;
    let inputs = inputs::gather(&file)?;
    let keys = keys(&file, &inputs);
    let folder = options.out.clone().unwrap_or_else(|| path.with_extension(""));
    let mut place = OutputFolder::open(&folder, &file, &inputs)?;
    let mut records = if options.fresh { Records::default() } else { Records::load(&folder) };
    match stages(&file, &keys, options, &mut place, &mut records, reporter) {
        Ok(log) => {
            finish(&file, &inputs, &records, &folder)?;
            place.finish()?;
            let log = json!({ "stages": log, "seconds": started.elapsed().as_secs_f64() });
            atomic::write(&folder.join("run-log.json"), format!("{log:#}\n").as_bytes())?;
            outcome(folder, &records)
        }
        Err(error) => {
            place.abandon(&records);
            Err(error)
        }
    }
}

/// Makes the stages that are wanted and not good as they stand, and removes those that belong to another design; what there is to
/// log of each.
fn stages(
    file: &PipelineFile,
    keys: &BTreeMap<Stage, String>,
    options: &RunOptions,
    place: &mut OutputFolder,
    records: &mut Records,
    reporter: &dyn Reporter,
) -> Result<Vec<Json>, PipelineError> {
    let folder = &place.path().to_owned();
    let asked = asked(file);
    let wanted: Vec<Stage> =
        asked.iter().copied().filter(|stage| options.until.is_none_or(|until| *stage <= until)).collect();
    let good: Vec<Stage> =
        asked.iter().copied().filter(|stage| records.is_good(*stage, &keys[stage], folder)).collect();
    let gone: Vec<Stage> = Stage::ALL
        .into_iter()
        .filter(|stage| !wanted.contains(stage) && !good.contains(stage))
        .filter(|stage| records.get(*stage).is_some() || place.holds(*stage))
        .collect();
    let stale = wanted.iter().any(|stage| !good.contains(stage));
    if stale || !gone.is_empty() {
        place.begin()?;
    }
    for stage in gone {
        place.clear(stage)?;
        records.remove(stage);
        records.save(folder)?;
    }

    let values = Values::new(file, reporter);
    let mut log = Vec::new();
    for stage in wanted {
        let began = Instant::now();
        let skipped = good.contains(&stage);
        if !skipped {
            reporter.checkpoint()?;
            reporter.event(&Event::StageStarted { stage: stage.name() });
            let record = make(stage, &keys[&stage], &values, place, reporter)?;
            for note in &record.notes {
                reporter.event(&Event::Note(note.clone()));
            }
            records.insert(stage, record);
            records.save(folder)?;
        }
        let summary = records.get(stage).map(|record| record.summary.clone()).unwrap_or_default();
        reporter.event(&Event::StageFinished { stage: stage.name(), summary, skipped });
        log.push(json!({ "stage": stage.name(), "skipped": skipped, "seconds": began.elapsed().as_secs_f64() }));
    }
    Ok(log)
}

fn read_file(path: &Path) -> Result<PipelineFile, PipelineError> {
    let text = std::fs::read_to_string(path).map_err(|error| {
        let why = match error.kind() {
            std::io::ErrorKind::NotFound => "there is no such pipeline file".to_owned(),
            _ if path.is_dir() => a_folder(path),
            _ => format!("{}; a pipeline file (TOML) is needed", reason(&error)),
        };
        PipelineError::Unreadable { path: path.to_owned(), why }
    })?;
    Ok(config::read(path, &text)?)
}

/// What to do about a folder where a pipeline file is due: the pipeline files in it are named.
fn a_folder(path: &Path) -> String {
    let files = std::fs::read_dir(path).into_iter().flatten().flatten().map(|entry| entry.path());
    let mut inside: Vec<String> = files
        .filter(|file| file.extension().is_some_and(|ending| ending == "toml"))
        .map(|file| format!("`{}`", file.display()))
        .collect();
    inside.sort();
    if inside.is_empty() {
        "it is a folder; a pipeline file (TOML) is needed, and none stands in it".to_owned()
    } else {
        format!("it is a folder; name the pipeline file: {}", inside.join(" or "))
    }
}

/// The stages that the pipeline file asks for.
fn asked(file: &PipelineFile) -> Vec<Stage> {
    let (works, lines) = (file.has_works(), !file.fall_lines.is_empty());
    Stage::ALL
        .into_iter()
        .filter(|stage| match stage {
            Stage::Survey | Stage::Ground => true,
            Stage::Works | Stage::Stakes => works || lines,
            Stage::Earth | Stage::Sheets => works,
            Stage::AsBuilt => works && file.asbuilt.is_some(),
        })
        .collect()
}

/// The key of every stage: what it is made from, and so when it must be made again.
fn keys(file: &PipelineFile, inputs: &[Input]) -> BTreeMap<Stage, String> {
    let mut keys: BTreeMap<Stage, String> = BTreeMap::new();
    for stage in Stage::ALL {
        let tables: &[&str] = match stage {
            // Whether shots lie close enough is asked on the ground that they make; of clouds it is not asked.
            Stage::Survey if file.survey.clouds.is_empty() => &["survey", "ground"],
            Stage::Survey => &["survey"],
            Stage::Ground => &["ground"],
            Stage::Works => &[
                "swale",
                "spillway",
                "pond",
                "borrow",
                "dam",
                "fall-line",
                "storm",
                "test-pit",
                "unstable-ground",
                "earth",
            ],
            Stage::Earth => &[],
            // The shots to take follow from what the check will hold the dig to, and the sheet says it.
            Stage::Stakes => &["stakes", "asbuilt"],
            Stage::Sheets | Stage::AsBuilt => &["asbuilt"],
        };
        let mut key = KeyBuilder::default().part("version", env!("CARGO_PKG_VERSION")).part("stage", stage.name());
        for table in std::iter::once(&"site").chain(tables) {
            key = key.part(table, &file.resolved.get(*table).map(Json::to_string).unwrap_or_default());
        }
        let reads = |input: &&Input| input.stage == stage || (stage == Stage::Survey && input.stage == Stage::Ground);
        for input in inputs.iter().filter(reads) {
            key = key.part(&input.name, &input.sha256);
        }
        for before in stage.takes() {
            key = key.part(before.name(), &keys[before]);
        }
        keys.insert(stage, key.finish());
    }
    keys
}

/// Makes a stage in a folder of its own, which takes the old one's place in one step.
fn make(
    stage: Stage,
    key: &str,
    values: &Values<'_>,
    folder: &mut OutputFolder,
    reporter: &dyn Reporter,
) -> Result<StageRecord, PipelineError> {
    let place = folder.path().join(stage.name());
    let fresh = atomic::new_folder(&place)?;
    let left = leave::stage(stage, values, &fresh).and_then(|left| Ok(reporter.checkpoint().map(|()| left)?));
    let left = match left {
        Ok(left) => left,
        Err(error) => {
            atomic::remove_folder(&fresh)?;
            return Err(error);
        }
    };
    let outputs = record::outputs(&fresh, stage)
        .map_err(|error| PipelineError::Damaged { path: place.clone(), why: reason(&error) })?;
    folder.swap(stage, &fresh, &outputs)?;
    for output in &outputs {
        reporter.event(&Event::Wrote(folder.path().join(&output.file)));
    }
    Ok(StageRecord {
        key: key.to_owned(),
        summary: left.summary,
        notes: left.notes,
        failed: left.failed,
        facts: left.facts,
        outputs,
    })
}

/// Writes the manifest, unless the one that stands says the same.
fn finish(file: &PipelineFile, inputs: &[Input], records: &Records, folder: &Path) -> Result<(), PipelineError> {
    let text = manifest::text(file, inputs, records)?;
    let place = folder.join(MANIFEST);
    if std::fs::read(&place).is_ok_and(|standing| standing == text.as_bytes()) {
        return Ok(());
    }
    Ok(atomic::write(&place, text.as_bytes())?)
}

fn outcome(folder: PathBuf, records: &Records) -> Result<Outcome, PipelineError> {
    let place = folder.join(MANIFEST);
    let damaged = |why: String| PipelineError::Damaged { path: place.clone(), why };
    let bytes = std::fs::read(&place).map_err(|error| damaged(reason(&error)))?;
    let manifest = serde_json::from_slice(&bytes).map_err(|error| damaged(error.to_string()))?;
    let failed = records.iter().flat_map(|(_, record)| record.failed.clone()).collect();
    Ok(Outcome { folder, manifest, failed })
}

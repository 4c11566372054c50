//! The input files of a run: found, and hashed, before anything is computed.

use super::config::{AxisAsked, Fault, FloorAsked, Located, PipelineFile, UnstableAreaAsked};
use super::fingerprint;
use super::{PipelineError, Stage};
use crate::io::read::points::part_of;
use crate::io::reason;
use std::path::PathBuf;

/// One input file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Input {
    /// The stage that reads it first.
    pub(super) stage: Stage,
    /// As the pipeline file names it.
    pub(super) name: String,
    /// SHA-256 of its bytes.
    pub(super) sha256: String,
    /// Its size.
    pub(super) bytes: u64,
}

/// Finds and hashes every input file; those that are not there are told all at once, at their place in the pipeline file.
pub(super) fn gather(file: &PipelineFile) -> Result<Vec<Input>, PipelineError> {
    let mut inputs: Vec<Input> = Vec::new();
    let mut faults = Vec::new();
    for (stage, name) in names(file) {
        if inputs.iter().any(|known| known.name == name.value && known.stage == stage) {
            continue;
        }
        // A sheet or table named behind `#` is a part of the file.
        let path = part_of(&file.beside(&name.value)).0;
        match hash(&path) {
            Ok((sha256, bytes)) => inputs.push(Input { stage, name: name.value.clone(), sha256, bytes }),
            Err(why) => faults.push(
                Fault::new(
                    "pipeline::missing-file",
                    name.span.clone().unwrap_or_default(),
                    format!("`{}` cannot be read: {why}", name.value),
                )
                .help(format!("looked for it at {}", path.display())),
            ),
        }
    }
    if faults.is_empty() { Ok(inputs) } else { Err(file.faults(faults).into()) }
}

fn hash(path: &PathBuf) -> Result<(String, u64), String> {
    if path.is_dir() {
        return Err("it is a folder".to_owned());
    }
    std::fs::File::open(path).and_then(fingerprint::of_reader).map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        _ => reason(&error),
    })
}

fn names(file: &PipelineFile) -> Vec<(Stage, &Located<String>)> {
    let shots = file.survey.shots.iter().map(|shots| &shots.file).chain(&file.survey.clouds);
    let within = file.swales.iter().flat_map(|swale| swale.within.iter().chain(&swale.obstacles));
    let fall_lines = file.fall_lines.iter().flat_map(|line| line.within.iter().chain(&line.obstacles));
    let floors = file.pits.iter().flat_map(|pit| match &pit.floor.value {
        FloorAsked::File(name) => [Some(name), None],
        FloorAsked::Beside { within, obstacles, .. } => [within.as_ref(), obstacles.as_ref()],
        FloorAsked::Rectangle(..) | FloorAsked::Corners(_) => [None, None],
    });
    let floors = floors.flatten();
    let axes = file.dams.iter().filter_map(|dam| match &dam.axis.value {
        AxisAsked::File(name) => Some(name),
        AxisAsked::Points(_) | AxisAsked::Arc(_) => None,
    });
    let outlines = file.unstable.iter().filter_map(|ground| match &ground.area {
        UnstableAreaAsked::File(name) => Some(name),
        UnstableAreaAsked::Round(..) => None,
    });
    let asbuilt = file.asbuilt.iter().flat_map(|asked| asked.files.iter().map(|shots| &shots.file));
    let bring = &file.survey.bring;
    let marks = bring.fit.iter().map(|fit| &fit.marks.file);
    shots
        .chain(marks)
        .chain(&bring.geoid)
        .chain(file.survey.grids.iter().map(|grid| &grid.file))
        .map(|name| (Stage::Survey, name))
        .chain(file.ground.boundary.iter().map(|name| (Stage::Ground, name)))
        .chain(within.chain(fall_lines).chain(floors).chain(axes).chain(outlines).map(|name| (Stage::Works, name)))
        .chain(asbuilt.map(|name| (Stage::AsBuilt, name)))
        .collect()
}

//! `swalewright new`: a site folder that runs at once.

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::Path;
use swalewright::io::reason;
use swalewright::io::write::atomic;
use swalewright::pipeline::PipelineError;

/// The files of a new site. The sample is invented: a paddock that falls 4 % to the north with a gentle hollow, shot on
/// a grid of about 8 m with 15 mm of noise.
const FILES: [(&str, &str); 2] =
    [("site.toml", include_str!("../sample/site.toml")), ("shots.csv", include_str!("../sample/shots.csv"))];

pub(super) fn run(folder: &Path, told: &Told) -> Result<Exit, PipelineError> {
    let refused = |why: String| PipelineError::OutputFolder { path: folder.to_owned(), why };
    match std::fs::read_dir(folder) {
        Ok(mut entries) => {
            if entries.next().is_some() {
                return Err(refused("it is not empty; name a new folder".to_owned()));
            }
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
        Err(error) => return Err(refused(reason(&error))),
    }
    std::fs::create_dir_all(folder).map_err(|error| refused(reason(&error)))?;
    for (name, text) in FILES {
        atomic::write(&folder.join(name), text.as_bytes())?;
    }
    let pipeline = folder.join(FILES[0].0);
    let json = json!({
        "folder": folder.display().to_string(),
        "pipeline": pipeline.display().to_string(),
        "files": FILES.map(|(name, _)| name),
    });
    let lines = [
        format!("laid out {}", folder.display()),
        format!("next: swalewright run {}", pipeline.display()),
        format!("then put your own shots in place of shots.csv and edit {}", pipeline.display()),
    ];
    told.result(&json, &lines);
    Ok(Exit::Done)
}

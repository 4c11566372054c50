//! `swalewright look`

use super::Told;
use crate::exit::Exit;
use serde_json::json;
use std::path::{Path, PathBuf};
use swalewright::draw::svg;
use swalewright::io::write::atomic;
use swalewright::pipeline::{self, PipelineError, PointOptions};

pub(super) fn run(
    files: &[PathBuf],
    drawing: Option<&Path>,
    at: Option<(f64, f64)>,
    points: &PointOptions,
    told: &Told,
) -> Result<Exit, PipelineError> {
    let mut lines = Vec::new();
    let mut found = Vec::new();
    let mut drawn = 0;
    let looks = match at {
        Some(place) => files.iter().map(|file| pipeline::look_at(file, place, points)).collect::<Result<_, _>>()?,
        None => pipeline::look(files, points)?,
    };
    for look in looks {
        told.notes(&look.notes);
        lines.extend(look.lines);
        found.push(look.json);
        if let Some(path) = drawing {
            match look.drawable.scene() {
                Ok(scene) => {
                    drawn += 1;
                    let path = numbered(path, drawn);
                    atomic::write(&path, svg(&scene).as_bytes())?;
                    lines.push(format!("drawn in {}", path.display()));
                }
                Err(why) => lines.push(format!("not drawn: {why}")),
            }
        }
    }
    let json = match found.as_mut_slice() {
        [only] => only.take(),
        _ => json!({ "looks": found }),
    };
    told.result(&json, &lines);
    Ok(Exit::Done)
}

/// The file of one of several drawings: the first as it was named, then `name-2.svg` and on.
fn numbered(path: &Path, at: usize) -> PathBuf {
    if at == 1 {
        return path.to_owned();
    }
    let part = |part: Option<&std::ffi::OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
    let (stem, ending) = (part(path.file_stem()), part(path.extension()));
    path.with_file_name(if ending.is_empty() { format!("{stem}-{at}") } else { format!("{stem}-{at}.{ending}") })
}

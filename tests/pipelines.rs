//! Every pipeline file in the package is read without a fault, names files that are there, and asks for works.

use std::path::{Path, PathBuf};
use swalewright::pipeline::config::{self, PipelineFile};

fn pipelines() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder of pipelines")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .collect();
    found.sort();
    found
}

fn read(path: &Path) -> PipelineFile {
    let text = std::fs::read_to_string(path).expect("a pipeline file");
    config::read(path, &text).unwrap_or_else(|faults| panic!("{faults}"))
}

#[test]
fn pipelines_are_read_without_a_fault() {
    let all = pipelines();
    assert!(all.len() >= 2, "{} pipelines", all.len());
    for path in all {
        assert!(read(&path).has_works(), "{} asks for no works", path.display());
    }
}

#[test]
fn every_file_that_a_pipeline_names_is_there() {
    for path in pipelines() {
        let file = read(&path);
        let shots = file.survey.shots.iter().map(|shots| shots.file.value.as_str());
        let clouds = file.survey.clouds.iter().map(|cloud| cloud.value.as_str());
        for name in shots.chain(clouds) {
            assert!(file.beside(name).is_file(), "{}: no file {name}", path.display());
        }
    }
}

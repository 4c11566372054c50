//! The demo as a user runs it: from shots to stakes with the built program, held against the hidden ground; then the
//! check of what was dug. And the same program on real open data.

#[path = "../examples/kestrel_flat/truth.rs"]
#[allow(dead_code, reason = "only the ground itself is asked here")]
mod truth;

mod gdal;
mod promised;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

const PACKAGE: &str = env!("CARGO_MANIFEST_DIR");

/// The folder of a run that is gone when the test ends.
struct Run {
    _folder: TempDir,
    out: PathBuf,
}

fn program(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_swalewright")).current_dir(PACKAGE).args(words).output().expect("the program")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

fn run(pipeline: &str) -> Run {
    let folder = TempDir::new().expect("a folder");
    let out = folder.path().join("out");
    let output = program(&["run", pipeline, "--out", out.to_str().expect("UTF-8")]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    Run { _folder: folder, out }
}

fn json(path: &Path) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(path).expect("a report")).expect("JSON")
}

/// A table's rows by column name.
fn rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_path(path).expect("a table").deserialize().map(|row| row.expect("a row")).collect()
}

fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column} of {row:?}"))
}

/// Every file of a folder with its bytes, but for the one that tells the clock and the cache.
fn contents(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(&next).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                if !path.ends_with(".cache") {
                    open.push(path);
                }
            } else if !path.ends_with("run-log.json") {
                let bytes = std::fs::read(&path).expect("a file");
                found.insert(path.strip_prefix(folder).expect("inside").to_owned(), bytes);
            }
        }
    }
    found
}

#[test]
fn a_run_leaves_what_it_promises() {
    let run = run("pipelines/kestrel-flat.toml");
    for name in promised::PROMISED {
        assert!(run.out.join(name).is_file(), "no {name}");
    }
    let survey = json(&run.out.join("survey/survey.json"));
    assert_eq!(survey["shots_set_aside"], 11);
    let ids: Vec<String> = rows(&run.out.join("stakes/stakes.csv")).iter().map(|row| row["stake"].clone()).collect();
    assert!(ids.len() > 20, "{} stakes", ids.len());
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "a stake's name stands twice");
    assert!(ids.iter().all(|id| id.len() <= 8 && id.chars().all(|c| c.is_ascii_alphanumeric())), "{ids:?}");
}

/// The line runs over ground estimated from shots with 29 mm of noise and roughness, so it is truly on contour within about half of
/// that (the bare triangles: 21 mm); a line 11 m off (half a metre of height) or a wrong frame would show at once.
#[test]
fn the_line_is_on_the_contour_of_the_hidden_ground() {
    let run = run("pipelines/kestrel-flat.toml");
    let deviations: Vec<f64> = rows(&run.out.join("works/contour-check.csv"))
        .iter()
        .map(|row| {
            let (u, v) = truth::to_site(number(row, "easting_m"), number(row, "northing_m"));
            truth::ground(u, v) - number(row, "water_level_m")
        })
        .collect();
    let rms = (deviations.iter().map(|d| d * d).sum::<f64>() / deviations.len() as f64).sqrt();
    let worst = deviations.iter().fold(0.0_f64, |worst, d| worst.max(d.abs()));
    assert!(deviations.len() > 10, "{} stations", deviations.len());
    assert!(rms < 0.018, "rms {rms:.3} m");
    assert!(worst < 0.060, "worst {worst:.3} m");
}

#[test]
fn a_second_run_skips_every_stage_and_changes_nothing() {
    let run = run("pipelines/kestrel-flat.toml");
    let before = contents(&run.out);
    let again = program(&["run", "pipelines/kestrel-flat.toml", "--out", run.out.to_str().expect("UTF-8")]);
    let told = text(&again.stderr);
    for stage in ["survey", "ground", "works", "earth", "stakes", "sheets"] {
        let line = told.lines().find(|line| line.starts_with(stage)).unwrap_or_else(|| panic!("no {stage} in {told}"));
        assert!(line.contains("unchanged"), "{line}");
    }
    assert!(contents(&run.out) == before, "the second run changed a file");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let (one, other) = (run("pipelines/kestrel-flat.toml"), run("pipelines/kestrel-flat.toml"));
    let (one, other) = (contents(&one.out), contents(&other.out));
    let differ: Vec<&PathBuf> = one.keys().filter(|path| one.get(*path) != other.get(*path)).collect();
    assert!(one.len() == other.len() && differ.is_empty(), "{differ:?}");
}

/// What the README says a person sees is what a person sees.
#[test]
fn the_readme_shows_what_the_program_says() {
    let readme = std::fs::read_to_string(Path::new(PACKAGE).join("README.md")).expect("the README");
    let folder = TempDir::new().expect("a folder");
    let out = folder.path().join("out");
    let out = out.to_str().expect("UTF-8");
    let told = text(&program(&["run", "pipelines/kestrel-flat.toml", "--out", out]).stderr);
    let stages = ["survey ", "ground ", "works ", "earth ", "stakes "];
    let run = told.lines().filter(|line| stages.iter().any(|stage| line.starts_with(stage)));
    let checked = text(&program(&["check", out, "data-samples/kestrel-flat/asbuilt.csv"]).stdout);
    let lines: Vec<&str> = run.chain(checked.lines().take(5)).collect();
    assert_eq!(lines.len(), 10, "{told}{checked}");
    for line in lines {
        assert!(readme.lines().any(|shown| shown == line), "README.md does not show: {line}");
    }
}

/// The committed shots hold a crest 0.12 m low from station 85 to 125 m (`examples/kestrel_flat/dug.rs`).
#[test]
fn the_check_finds_the_stretch_of_low_crest() {
    let run = run("pipelines/kestrel-flat.toml");
    let out = run.out.to_str().expect("UTF-8");
    let checked = program(&["check", out, "data-samples/kestrel-flat/asbuilt.csv", "--json"]);
    assert_eq!(checked.status.code(), Some(1), "{}", text(&checked.stderr));
    let found: serde_json::Value = serde_json::from_slice(&checked.stdout).expect("one JSON object");
    assert_eq!(found["verdict"], "fail");
    let failing: Vec<(&str, f64, f64, f64)> = found["parts"]
        .as_array()
        .expect("parts")
        .iter()
        .flat_map(|part| part["failing"].as_array().expect("stretches").iter().map(move |stretch| (part, stretch)))
        .map(|(part, stretch)| {
            let metres = |name: &str| stretch[name].as_f64().expect("metres");
            (part["part"].as_str().expect("a part"), metres("from_m"), metres("to_m"), metres("mean_m"))
        })
        .collect();
    let [(part, from, to, mean)] = failing.as_slice() else { panic!("not one stretch: {failing:?}") };
    assert_eq!(*part, "crest");
    assert!((83.0..=95.0).contains(from) && (115.0..=127.0).contains(to), "from {from} to {to} m");
    assert!((mean + 0.12).abs() < 0.02, "mean {mean:.3} m");
}

/// The as-built sample belongs to the design that the pipeline makes today.
#[test]
fn as_built_shots_belong_to_the_present_design() {
    let run = run("pipelines/kestrel-flat.toml");
    let wanted: BTreeMap<String, BTreeMap<String, String>> =
        rows(&run.out.join("stakes/asbuilt-shots.csv")).into_iter().map(|row| (row["shot"].clone(), row)).collect();
    let shot: Vec<BTreeMap<String, String>> = rows(&Path::new(PACKAGE).join("data-samples/kestrel-flat/asbuilt.csv"));
    let mut compared = 0;
    for row in shot.iter().filter(|row| !row["code"].starts_with("chk")) {
        let wanted = wanted.get(&row["point"]).unwrap_or_else(|| panic!("{} is no longer asked for", row["point"]));
        let off = (number(row, "easting") - number(wanted, "easting_m"))
            .hypot(number(row, "northing") - number(wanted, "northing_m"));
        assert!(off < 0.05, "{} lies {off:.3} m off: `make samples` writes the shots anew", row["point"]);
        compared += 1;
    }
    assert_eq!(compared, wanted.len());
}

#[test]
fn real_ground_runs_from_cloud_to_stakes() {
    let run = run("pipelines/real-valley.toml");
    let works = json(&run.out.join("works/works.json"));
    let swale = &works["swales"][0];
    assert!((80.0..140.0).contains(&swale["length_m"].as_f64().expect("metres")), "{swale}");
    assert!(rows(&run.out.join("stakes/stakes.csv")).len() > 10);
}

/// GDAL as a second reader.
#[test]
fn gdal_reads_every_map_file_without_a_warning() {
    for pipeline in ["pipelines/kestrel-flat.toml", "pipelines/real-valley.toml"] {
        gdal::reads(&run(pipeline).out);
    }
}

//! Level books as as-built books: written from the run's own lists with what was dug known, reduced and judged.

use crate::site::{Told, swalewright};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use tempfile::TempDir;

const PACKAGE: &str = env!("CARGO_MANIFEST_DIR");

/// Of the demo's marks, as `marks.csv` gives them.
const MARKS: [(&str, f64); 3] = [("CP1", 432.380), ("CP2", 432.538), ("CP3", 426.149)];

/// The demo's output folder, made once.
fn demo() -> PathBuf {
    static RUN: OnceLock<TempDir> = OnceLock::new();
    let folder = RUN.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let told = told(&["run", "pipelines/kestrel-flat.toml", "--out", out.to_str().unwrap()]);
        assert_eq!(told.code, 0, "{}", told.err);
        folder
    });
    folder.path().join("out")
}

fn told(words: &[&str]) -> Told {
    let output = swalewright().current_dir(PACKAGE).args(words).output().unwrap();
    Told {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect()
}

/// What goes into a book.
struct Dug {
    /// Built minus design at a part and station.
    off: fn(&str, f64) -> f64,
    /// Added to the last foresight, metres.
    slip: f64,
    /// The mark of the last foresight.
    closes_on: Option<&'static str>,
    /// Metres in one unit of the book.
    unit: f64,
}

const TRUE: Dug =
    Dug { off: |part, _| if part == "crest" { 0.06 } else { 0.0 }, slip: 0.0, closes_on: Some("CP2"), unit: 1.0 };

/// A crest 0.12 m low between the stations 85 and 125.
fn low_stretch(part: &str, station: f64) -> f64 {
    match part {
        "crest" if (85.0..=125.0).contains(&station) => -0.12,
        "crest" => 0.06,
        _ => 0.0,
    }
}

/// The readings of a level with 2 mm of noise over every as-built shot but the sections, in two set-ups: backsight on CP1, a
/// turning point, foresight on the closing mark.
fn book(dug: &Dug) -> String {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let noise = Normal::new(0.0, 0.002).unwrap();
    let mut reading = |line_of_sight: f64, height: f64| (line_of_sight - height + noise.sample(&mut rng)) / dug.unit;
    let wanted = rows(&demo().join("stakes/asbuilt-shots.csv"));
    let wanted: Vec<_> = wanted.iter().filter(|row| row["part"] != "section").collect();
    let mark = |name: &str| MARKS.iter().find(|(mark, _)| *mark == name).unwrap().1;
    let title = if dug.unit == 1.0 { "(m)" } else { "(ft)" };
    let mut text = format!("station,backsight {title},intermediate {title},foresight {title},remark\n");
    let (first, second, turn) = (433.60, 433.45, 431.90);
    let _ = writeln!(text, "cp1,{:.4},,,", reading(first, mark("CP1")));
    for (i, row) in wanted.iter().enumerate() {
        if i == wanted.len() / 2 {
            let fore = reading(first, turn);
            let back = reading(second, turn);
            let _ = writeln!(text, "TP1,{back:.4},,{fore:.4},");
        }
        let station: f64 = row["station_m"].parse().unwrap();
        let design: f64 = row["design_elevation_m"].parse().unwrap();
        let sight = if i < wanted.len() / 2 { first } else { second };
        let read = reading(sight, design + (dug.off)(&row["part"], station));
        let _ = writeln!(text, "{},,{read:.4},,", row["shot"]);
    }
    if let Some(name) = dug.closes_on {
        let _ = writeln!(text, "{name},,,{:.4},closes", reading(second, mark(name)) + dug.slip / dug.unit);
    }
    text
}

fn check(text: &str) -> Told {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("levels.csv");
    std::fs::write(&path, text).unwrap();
    told(&["check", demo().to_str().unwrap(), path.to_str().unwrap(), "--json"])
}

#[test]
fn a_levelled_low_stretch_is_found_and_the_sill_proven() {
    for unit in [1.0, 0.3048] {
        let told = check(&book(&Dug { off: low_stretch, unit, ..TRUE }));
        assert_eq!(told.code, 1, "{}{}", told.out, told.err);
        let found = told.json();
        assert_eq!(found["verdict"], "fail");
        assert_eq!(found["checked"]["state"], "checked", "{}", found["checked"]);
        let parts = found["parts"].as_array().unwrap();
        let failing: Vec<_> = parts.iter().flat_map(|part| part["failing"].as_array().unwrap()).collect();
        assert_eq!(failing.len(), 1, "{failing:?}");
        let number = |name: &str| failing[0][name].as_f64().unwrap();
        assert!((80.0..=90.0).contains(&number("from_m")) && (120.0..=130.0).contains(&number("to_m")), "{failing:?}");
        assert!((number("mean_m") + 0.12).abs() < 0.01, "{failing:?}");
        let sill = parts.iter().find(|part| part["part"] == "sill").unwrap();
        assert_eq!(sill["verdict"], "pass", "{sill}");
    }
}

/// A level proves what 82 shots of a rover leave open: sill within 10 mm.
#[test]
fn true_works_pass_by_level() {
    let told = check(&book(&TRUE));
    let found = told.json();
    assert_eq!((told.code, found["verdict"].as_str()), (0, Some("pass")), "{}", told.out);
    let sill = found["parts"].as_array().unwrap().iter().find(|part| part["part"] == "sill").unwrap().clone();
    for end in sill["ends"].as_array().unwrap() {
        let half = end["half_width_m"].as_f64().unwrap();
        assert!((0.003..0.010).contains(&half), "{sill}");
    }
    let shot = &found["shots"][0];
    // Two readings of 2 mm and 5 mm of roughness, at least.
    assert!(shot["sigma_m"].as_f64().unwrap() >= 0.0057 && shot["sigma_m"].as_f64().unwrap() < 0.0075, "{shot}");
}

#[test]
fn a_book_that_does_not_close_is_told_and_proves_nothing() {
    let told = check(&book(&Dug { off: low_stretch, slip: 0.05, ..TRUE }));
    let found = told.json();
    assert_eq!((told.code, found["verdict"].as_str()), (0, Some("cannot-tell")), "{}", told.out);
    assert_eq!(found["checked"]["state"], "missed");
    let why = found["checked"]["why"].as_str().unwrap();
    assert!(why.contains("does not close") && why.contains("CP2") && why.contains("limit 7.1 mm"), "{why}");
    let misclosure = found["checked"]["worst_m"].as_f64().unwrap();
    assert!((misclosure + 0.05).abs() < 0.01, "{misclosure}");
}

#[test]
fn a_book_without_a_closing_mark_is_not_checked() {
    for closes_on in [None, Some("CP1")] {
        let told = check(&book(&Dug { closes_on, ..TRUE }));
        let found = told.json();
        assert_eq!((told.code, found["verdict"].as_str()), (0, Some("cannot-tell")), "{}", told.out);
        assert_eq!(found["checked"]["state"], "not-checked");
        assert!(found["headlines"][0].as_str().unwrap().starts_with("NOT CHECKED"), "{}", found["headlines"]);
    }
    // Heights that hang on no second mark say nothing of what is out of tolerance either.
    let told = check(&book(&Dug { closes_on: None, off: low_stretch, ..TRUE }));
    assert_eq!((told.code, told.json()["put_right"].as_array().unwrap().len()), (0, 0), "{}", told.out);
}

#[test]
fn names_that_are_not_there_are_told() {
    let text = book(&TRUE);
    let names: Vec<&str> = text.lines().skip(2).filter_map(|line| line.split(',').next()).collect();
    let told = check(&text.replacen(names[3], "XX9", 1));
    assert_eq!(told.code, 0, "{}", told.err);
    let unmatched = told.json()["unmatched"].clone();
    let stranger = unmatched.as_array().unwrap().iter().find(|row| row["shot"].as_str().unwrap().ends_with(":XX9"));
    let reason = stranger.unwrap()["reason"].as_str().unwrap();
    assert_eq!(reason, "line 6: no stake and no as-built shot of this run has that name");

    let strange: String = text
        .lines()
        .map(|line| if line.starts_with("UA") { format!("Z{line}\n") } else { format!("{line}\n") })
        .collect();
    let told = check(&strange);
    assert_eq!(told.code, 2, "{}", told.out);
    let message = told.json()["error"]["message"].as_str().unwrap().to_owned();
    assert!(
        message.contains("no station of this level book is a name of the run") && message.contains("`ZUA"),
        "{message}"
    );
    assert!(message.contains("stakes/asbuilt-shots.csv"), "{message}");
}

#[test]
fn a_book_on_an_unknown_start_is_refused_with_its_line() {
    let told = check(&book(&TRUE).replacen("cp1,", "CP9,", 1));
    assert_eq!(told.code, 2, "{}", told.out);
    let error = told.json()["error"].clone();
    assert_eq!((error["code"].as_str(), error["line"].as_u64()), (Some("levels::no-start"), Some(2)), "{error}");
    assert!(error["message"].as_str().unwrap().contains("`CP9`"), "{error}");
}

/// In the pipeline file, beside the shots of a rover.
#[test]
fn a_run_takes_a_level_book_among_its_as_built_files() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(Path::new(PACKAGE).join("pipelines/kestrel-flat.toml")).unwrap();
    let samples = Path::new(PACKAGE).join("data-samples");
    let text = text.replace("../data-samples", samples.to_str().unwrap());
    std::fs::write(folder.path().join("levels.csv"), book(&Dug { off: low_stretch, ..TRUE })).unwrap();
    let pipeline = folder.path().join("site.toml");
    std::fs::write(&pipeline, format!("{text}\n[asbuilt]\nfiles = [\"levels.csv\"]\nstaff-sigma = \"2 mm\"\n"))
        .unwrap();
    let told = told(&["run", pipeline.to_str().unwrap()]);
    assert_eq!(told.code, 1, "{}", told.err);
    let found: serde_json::Value =
        serde_json::from_slice(&std::fs::read(folder.path().join("site/asbuilt/asbuilt.json")).unwrap()).unwrap();
    assert_eq!((found["verdict"].as_str(), found["checked"]["state"].as_str()), (Some("fail"), Some("checked")));
    assert!(folder.path().join("site/asbuilt/grade-check.csv").is_file());
}

/// A list of stakes is no survey and no as-built book, and a level book is no survey.
#[test]
fn lists_and_books_in_the_wrong_place_are_refused() {
    let stakes = demo().join("stakes/stakes.csv");
    let told = told(&["check", demo().to_str().unwrap(), stakes.to_str().unwrap()]);
    assert_eq!(told.code, 2, "{}", told.out);
    assert!(told.err.contains("nobody measured"), "{}", told.err);

    let site = crate::site::Site::new();
    std::fs::copy(stakes, site.path("stakes.csv")).unwrap();
    site.edit("site.toml", "shots.csv", "stakes.csv");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(told.err.contains("stakes.csv") && told.err.contains("nobody measured"), "{}", told.err);
    site.write("levels.csv", &book(&TRUE));
    site.edit("site.toml", "stakes.csv", "levels.csv");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(told.err.contains("it is a level book, not a point file"), "{}", told.err);

    let told = site.run(&["look", "levels.csv", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert_eq!(told.json()["kind"], "level-book");
    assert!(told.json()["points"].as_u64().unwrap() > 20);
}

//! A wall with its borrow pit, and a pond, from the committed example to the dig sheet.

use crate::site::swalewright;
use serde_json::Value;
use std::path::{Path, PathBuf};

const PIPELINE: &str = include_str!("../../pipelines/kestrel-flat-water.toml");

struct Run {
    folder: tempfile::TempDir,
    notes: String,
}

impl Run {
    fn new() -> Self {
        Self::of(PIPELINE)
    }

    /// Runs the text of a pipeline file that stands where the committed one does.
    fn of(text: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let pipeline = folder.path().join("water.toml");
        let data = root.join("data-samples").display().to_string();
        std::fs::write(&pipeline, text.replace("../data-samples", &data)).expect("a file");
        let told = swalewright()
            .arg("run")
            .arg(&pipeline)
            .arg("--out")
            .arg(folder.path().join("out"))
            .output()
            .expect("the program runs");
        let notes = String::from_utf8_lossy(&told.stderr).into_owned();
        assert!(told.status.success(), "{notes}");
        Self { folder, notes }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join("out").join(name)
    }

    fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    fn json(&self, name: &str) -> Value {
        serde_json::from_str(&self.read(name)).expect("JSON")
    }
}

fn number(json: &Value, key: &str) -> f64 {
    json[key].as_f64().unwrap_or_else(|| panic!("no number `{key}` in {json}"))
}

#[test]
fn the_wall_the_pit_and_the_pond_go_through_every_stage() {
    let run = Run::new();

    // The pit yields what the wall takes.
    let earth = run.json("earth/earth.json");
    let rows = earth["works"].as_array().expect("rows");
    let row = |name: &str| rows.iter().find(|row| row["name"] == name).unwrap_or_else(|| panic!("{earth}"));
    let (wall, pit) = (row("bow wall"), row("pit"));
    let left = number(wall, "surplus_bank_m3") + number(pit, "surplus_bank_m3");
    assert!(left.abs() < 1e-3 * number(wall, "fill_bank_m3"), "{left} of {wall}");
    // What the spillway's cut gives goes into the wall as well.
    assert!(number(wall, "key_bank_m3") > 100.0 && number(wall, "cut_bank_m3") > 50.0, "{wall}");

    // The pond holds what it was asked to, level by level as well.
    let works = run.json("works/works.json");
    let pond = works["pits"].as_array().unwrap().iter().find(|pit| pit["name"] == "house tank").expect("the pond");
    assert!((number(pond, "storage_m3") - 500.0).abs() < 0.5, "{pond}");
    let storage = run.read("earth/stage-storage.csv");
    let full = storage.lines().rfind(|line| line.starts_with("house tank")).expect("its stages");
    let volume: f64 = full.split(',').nth(3).unwrap().parse().unwrap();
    assert!((volume - 500.0).abs() < 0.5, "{full}");
    assert_eq!(storage.lines().filter(|line| line.starts_with("bow wall")).count(), 11);

    // The wall's spillway: its sill at full supply, its head what the crest counts on, clear of the wall, slow enough.
    let dam = &works["dams"][0];
    let spillway = &dam["spillway"];
    let head = (0.8_f64 / (1.5 * 8.0)).powf(2.0 / 3.0);
    assert!(number(dam, "height_m") > 1.0 && (number(spillway, "head_m") - head).abs() < 1e-5, "{dam}");
    // The crest counts on the head and on what the approach takes, the wall drawn anew until that rests within 1 mm.
    let loss = number(&spillway["cut"], "approach_loss_m");
    assert!(loss > 0.0 && (number(dam, "flood_rise_m") - head - loss).abs() < 1.1e-3, "{dam}");
    assert_eq!(number(spillway, "sill_m"), 429.1);
    assert!(
        number(&spillway["cut"], "clear_of_fill_m") > 1.9 && spillway["cut"]["in_channel"]["too_fast"] == false,
        "{dam}"
    );
    assert!(!run.notes.contains("NO SPILLWAY"), "{}", run.notes);
    let sheet = run.read("sheets/dig-sheet.html");
    for says in [
        "Dig first: the spillway",
        "local law on dams",
        "BUILD TO",
        "FLOOR",
        "Ramp:",
        "Shelf:",
        "Cutoff",
        "RUNS OVER HERE",
    ] {
        assert!(sheet.contains(says), "the sheet does not say {says}");
    }
    assert!(!sheet.contains("NO SPILLWAY"));

    // Stakes of each kind, and shots that the check reads back.
    let stakes = run.read("stakes/stakes.csv");
    for (work, kind) in [
        ("bow wall", "crest"),
        ("bow wall", "sill"),
        ("bow wall", "channel"),
        ("bow wall", "toe"),
        ("pit", "line"),
        ("house tank", "offset"),
    ] {
        let there = stakes.lines().any(|line| line.contains(work) && line.contains(&format!(",{kind},")));
        assert!(there, "no {kind} stake of {work}");
    }
    assert!(run.read("stakes/rover-toe.csv").lines().count() > 8);
    let shots = run.read("stakes/asbuilt-shots.csv");
    assert!(shots.lines().any(|line| line.contains("house tank") && line.contains(",bed,")), "{shots}");
    assert!(shots.lines().any(|line| line.contains("bow wall") && line.contains(",sill,")), "{shots}");
}

/// A wall 8.7 m high across a steep gully: past the published limits, and without a spillway.
#[test]
fn a_wall_beyond_farm_practice_says_so_in_every_output_that_has_words() {
    use std::fmt::Write as _;
    let mut shots = "point,easting,northing,elevation,code\n".to_owned();
    for i in -10..=10 {
        for j in -4..=16 {
            let (x, y) = (f64::from(i) * 10.0, f64::from(j) * 10.0);
            let z = 100.0 + 0.1 * y + 0.3 * x.abs();
            let _ = writeln!(shots, "{},{:.3},{:.3},{z:.3},gs", (i + 10) * 21 + j + 5, 1000.0 + x, 2000.0 + y);
        }
    }
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("day1.csv"), shots).expect("shots");
    let pipeline = "format = 1\n[site]\nname = \"Kestrel Flat\"\ncrs = \"local\"\n[survey]\nshots = [\"day1.csv\"]\n\
        roughness = \"0 mm\"\n[survey.roles]\nground = [\"gs\"]\n[[dam]]\nname = \"wall\"\n\
        axis = { points = [[975.0, 2000.0], [1025.0, 2000.0]] }\nfull-supply = { elevation = \"108 m\" }\nflood-rise = \"0.4 m\"\n";
    std::fs::write(folder.path().join("high.toml"), pipeline).expect("a pipeline");
    let told = swalewright().arg("run").arg(folder.path().join("high.toml")).output().expect("it runs");
    let screen = String::from_utf8_lossy(&told.stderr).into_owned();
    assert!(told.status.success(), "{screen}");
    let read = |name: &str| {
        String::from_utf8_lossy(
            &std::fs::read(folder.path().join("high").join(name)).unwrap_or_else(|error| panic!("{name}: {error}")),
        )
        .into_owned()
    };
    let summary = screen.lines().find(|line| line.starts_with("works ")).expect("a summary");
    assert!(summary.contains("BEYOND FARM PRACTICE") && summary.contains("NO SPILLWAY"), "{summary}");
    assert!(screen.contains("published crest widths for farm ponds"), "{screen}");
    assert!(read("run.json").contains("works::beyond-small-dams"));
    let files =
        ["works/works.json", "works/works.landxml", "works/works.gpkg", "stakes/stakes.gpkg", "sheets/dig-sheet.html"];
    for name in files {
        assert!(read(name).contains("BEYOND FARM PRACTICE"), "{name} does not say it");
        assert!(read(name).contains("NO SPILLWAY"), "{name} does not say NO SPILLWAY");
    }
}

#[test]
fn a_dam_without_a_spillway_says_so_in_every_output_that_has_words() {
    let text = PIPELINE.replace("# flood-rise = ", "flood-rise = ");
    let (before, rest) = text.split_once("[[spillway]]").expect("a spillway");
    let (_, after) = rest.split_once("[[borrow]]").expect("a pit");
    let run = Run::of(&format!("{before}[[borrow]]{after}"));
    let works = run.json("works/works.json");
    assert!(works["dams"][0]["spillway"].is_null());
    assert!(run.notes.contains("NO SPILLWAY"), "{}", run.notes);
    assert!(run.read("sheets/dig-sheet.html").contains("NO SPILLWAY"));
}

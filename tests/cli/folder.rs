//! What a run leaves, when it leaves it alone, and that it never leaves half of it.

use crate::promised::PROMISED;
use crate::site::{Site, files};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::time::Duration;

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn a_new_site_runs_at_once_and_leaves_what_is_promised() {
    let site = Site::new();
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    for file in PROMISED {
        assert!(site.path("site").join(file).exists(), "{file} is missing");
    }
    assert!(told.out.starts_with("output folder: site"), "the folder is named at the end: {}", told.out);
    for stage in ["survey", "ground", "works", "earth", "stakes", "sheets"] {
        assert!(told.err.lines().any(|line| line.starts_with(stage)), "no line for {stage}:\n{}", told.err);
    }
    assert!(!site.path("site/asbuilt").exists(), "a stage that is not asked for leaves no folder");
    assert!(!told.err.contains('\u{1b}'), "no escape sequences off a terminal");
}

/// A folder that the user made, and the run's own input in it, are refused rather than replaced.
#[test]
fn a_run_never_replaces_what_it_did_not_write() {
    let site = Site::new();
    std::fs::create_dir(site.path("mine")).unwrap();
    std::fs::create_dir(site.path("mine/survey")).unwrap();
    site.write("mine/survey/notes.txt", "keep me");
    let told = site.run(&["run", "site.toml", "--out", "mine"]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(told.err.contains("no run of this program left"), "{}", told.err);
    assert_eq!(site.read("mine/survey/notes.txt"), "keep me");
    assert!(!site.path("mine/.cache").exists(), "nothing is written before it is refused");

    // An input below the folder of an earlier run.
    assert_eq!(site.run(&["run", "site.toml", "--out", "."]).code, 0);
    std::fs::copy(site.path("shots.csv"), site.path("survey/again.csv")).unwrap();
    site.edit("site.toml", "shots.csv", "survey/again.csv");
    let told = site.run(&["run", "site.toml", "--out", "."]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(told.err.contains("holds the input"), "{}", told.err);
    assert!(site.path("survey/again.csv").exists());
}

/// What a person keeps in a stage's folder stays, whether the stage is made again, goes, or takes the file's name.
#[test]
fn files_of_others_in_a_run_s_folder_are_kept() {
    let site = Site::new();
    site.run(&["run", "site.toml", "--until", "survey"]);
    site.write("site/survey/came-back.csv", "mine");
    site.write("site/survey/shots.gpkg-wal", "of a program that had the map open");
    site.run(&["run", "site.toml", "--fresh"]);
    assert_eq!(site.read("site/survey/came-back.csv"), "mine");
    assert!(!site.path("site/survey/shots.gpkg-wal").exists(), "it belongs to a file that is no more");
    assert!(!site.read("site/run.json").contains("came-back"));
    let told = site.run(&["run", "site.toml"]);
    assert!(told.err.contains("unchanged"), "a file of others makes nothing stale: {}", told.err);

    site.write("site/sheets/notes.txt", "mine too");
    site.edit("shots.csv", ",432.493,mark", ",432.494,mark");
    site.run(&["run", "site.toml", "--until", "ground"]);
    assert!(!site.path("site/sheets/dig-sheet.html").exists() && !site.path("site/works").exists());
    assert_eq!(site.read("site/sheets/notes.txt"), "mine too");
    site.write("site/sheets/dig-sheet.html", "a name that the stage takes");
    assert_eq!(site.run(&["run", "site.toml"]).code, 0);
    assert_eq!(site.read("site/sheets/dig-sheet.html.kept"), "a name that the stage takes");
    assert_eq!(site.read("site/sheets/notes.txt"), "mine too");
}

/// One run at a time in a folder: the second is told, and touches nothing.
#[test]
fn two_runs_do_not_work_in_one_folder() {
    let site = Site::new();
    site.run(&["run", "site.toml", "--until", "survey"]);
    let before = files(&site.path("site"));
    let running = std::fs::File::create(site.path("site/.cache/running")).unwrap();
    running.try_lock().unwrap();
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("another run is at work"), "{}", told.err);
    assert!(files(&site.path("site")) == before);
    drop(running);
    assert_eq!(site.run(&["run", "site.toml"]).code, 0);
}

/// A first run that comes to nothing leaves no folder behind.
#[test]
fn a_first_run_that_fails_at_once_leaves_no_folder() {
    let site = Site::new();
    site.write("shots.csv", "point,easting,northing,elevation,code\n1,412000.0,6187000.0,high,gs\n");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(!site.path("site").exists());
}

/// Another program's PROJ database, named by the environment, does not shadow the built-in one; and the program runs where
/// it was copied to.
#[test]
#[cfg(unix)]
fn a_copied_program_keeps_to_its_own_proj_database() {
    let site = Site::new();
    std::fs::create_dir(site.path("junk")).unwrap();
    site.write("junk/proj.db", "no database\n");
    // By another process: a child that another test starts meanwhile would inherit the open copy, and a file open for writing
    // cannot be run.
    let copied =
        std::process::Command::new("cp").arg(env!("CARGO_BIN_EXE_swalewright")).arg(site.path("copied")).status();
    assert!(copied.unwrap().success());
    let output = assert_cmd::Command::new(site.path("copied"))
        .current_dir(site.path("junk").parent().unwrap())
        .env("PROJ_DATA", site.path("junk"))
        .env("PROJ_LIB", site.path("junk"))
        .env("PROJ_USER_WRITABLE_DIRECTORY", site.path("junk"))
        .args(["run", "site.toml", "--until", "ground"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn the_columns_are_the_promised_ones() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    for (file, header) in [
        (
            "works/contour-check.csv",
            "line,station_m,easting_m,northing_m,ground_m,water_level_m,deviation_m,sigma_m,tin_m",
        ),
        (
            "stakes/stakes.csv",
            "stake,works,kind,station_m,side,offset_m,easting_m,northing_m,predicted_ground_m,mark_elevation_m,refers_to,\
             away_m,design_elevation_m,cut_m,fill_m,writes,issue",
        ),
        (
            "earth/cut-fill.csv",
            "works,topsoil_bank_m3,cut_bank_m3,key_bank_m3,fill_placed_m3,fill_bank_m3,seat_refill_placed_m3,\
             surplus_bank_m3",
        ),
        ("survey/set-aside.csv", "file,line,shot,reason,value"),
    ] {
        assert_eq!(site.read(&format!("site/{file}")).lines().next(), Some(header), "{file}");
    }
    let last = site.read("site/earth/cut-fill.csv").lines().last().map(str::to_owned).unwrap();
    assert!(last.starts_with("all,"), "{last}");
    let works = site.json("site/works/works.json");
    for key in ["name", "water_level_m", "length_m", "storage_m3", "least_bend_radius_m", "crest_built_m", "contour"] {
        assert!(!works["swales"][0][key].is_null(), "works.json: swales: {key}");
    }
    let survey = site.json("site/survey/survey.json");
    assert_eq!(survey["shots_read"], 173);
    assert_eq!(
        survey["shots_read"].as_u64(),
        Some(survey["shots_kept"].as_u64().unwrap() + survey["shots_set_aside"].as_u64().unwrap())
    );
}

#[test]
fn a_second_run_skips_every_stage_and_changes_nothing() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let before = files(&site.path("site"));
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 0);
    assert_eq!(told.err.matches("unchanged: ").count(), 6, "{}", told.err);
    assert_eq!(before, files(&site.path("site")));
    let log = site.json("site/run-log.json");
    assert!(log["stages"].as_array().unwrap().iter().all(|stage| stage["skipped"] == true));
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let site = Site::new();
    site.run(&["run", "site.toml", "--out", "a"]);
    site.run(&["run", "site.toml", "--out", "b"]);
    let (a, b) = (files(&site.path("a")), files(&site.path("b")));
    assert!(a.len() >= PROMISED.len() - 1);
    for (name, bytes) in &a {
        assert!(b[name] == *bytes, "{name} differs between two runs");
    }
    assert_eq!(a.len(), b.len());
}

#[test]
fn only_what_changed_is_made_again_and_the_result_is_that_of_a_fresh_run() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    site.edit("site.toml", "interval = \"20 m\"", "interval = \"15 m\"");
    let told = site.run(&["run", "site.toml"]);
    let skipped = |stage: &str| told.err.lines().any(|line| line.starts_with(stage) && line.contains("unchanged: "));
    for (stage, expected) in
        [("survey", true), ("ground", true), ("works", true), ("earth", true), ("stakes", false), ("sheets", false)]
    {
        assert_eq!(skipped(stage), expected, "{stage}:\n{}", told.err);
    }
    site.run(&["run", "site.toml", "--out", "fresh"]);
    assert!(files(&site.path("site")) == files(&site.path("fresh")), "a partial run leaves what a fresh run leaves");

    site.edit("shots.csv", ",432.493,mark", ",432.494,mark");
    let told = site.run(&["run", "site.toml"]);
    assert!(!told.err.contains("unchanged: "), "a changed shot changes everything after it:\n{}", told.err);

    site.edit("site.toml", "# A site.", "# My site.");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.err.matches("unchanged: ").count(), 6, "a comment changes no stage");
    assert!(site.json("site/run.json")["pipeline"]["text"].as_str().unwrap().starts_with("# My site."));
}

#[test]
fn an_output_that_was_changed_or_lost_is_made_again() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let before = files(&site.path("site"));
    site.write("site/stakes/stakes.csv", "spoiled");
    std::fs::remove_file(site.path("site/earth/earth.json")).unwrap();
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.err.matches("unchanged: ").count(), 4, "{}", told.err);
    assert_eq!(before, files(&site.path("site")));
    std::fs::remove_dir_all(site.path("site/.cache")).unwrap();
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.err.matches("unchanged: ").count(), 0, "the cache may be deleted at any time");
    assert_eq!(before, files(&site.path("site")));
    let told = site.run(&["run", "site.toml", "--fresh"]);
    assert_eq!(told.err.matches("unchanged: ").count(), 0);
    assert_eq!(before, files(&site.path("site")));
}

#[test]
fn run_json_lists_every_file_with_its_hash() {
    let site = Site::new();
    let told = site.run(&["run", "site.toml", "--json"]);
    let manifest = site.json("site/run.json");
    assert_eq!(told.json(), manifest, "`run --json` prints run.json");
    let listed: BTreeMap<String, String> = manifest["outputs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|output| (output["file"].as_str().unwrap().to_owned(), output["sha256"].as_str().unwrap().to_owned()))
        .collect();
    for (name, bytes) in files(&site.path("site")) {
        if name != "run.json" {
            assert_eq!(listed.get(&name), Some(&hash(&bytes)), "{name}");
        }
    }
    assert_eq!(manifest["frame"]["crs"], "EPSG:32755");
    assert_eq!(manifest["settings"]["swale"][0]["ledge"], "0.4 m", "defaults are printed as they were used");
    assert_eq!(manifest["date"], "2026-03-14", "the newest shot's day");
    assert_eq!(manifest["inputs"][0]["file"], "shots.csv");
}

#[test]
fn until_is_inclusive_and_leaves_no_stale_folder() {
    let site = Site::new();
    let told = site.run(&["run", "site.toml", "--until", "ground"]);
    assert_eq!(told.code, 0);
    assert!(site.path("site/ground/ground.json").exists());
    assert!(!site.path("site/works").exists());
    site.run(&["run", "site.toml"]);
    site.run(&["run", "site.toml", "--until", "ground"]);
    assert!(site.path("site/works").exists(), "works are still good, so they stay");
    site.edit("shots.csv", ",432.493,mark", ",432.494,mark");
    site.run(&["run", "site.toml", "--until", "ground"]);
    assert!(!site.path("site/works").exists(), "works of another survey do not stay beside this ground");
}

#[test]
fn several_sites_get_a_folder_each() {
    let site = Site::new();
    site.write("other.toml", &site.read("site.toml").replace("Sample paddock", "Other paddock"));
    let told = site.run(&["run", "site.toml", "other.toml", "--out", "all", "--until", "survey"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(site.path("all/site/run.json").exists() && site.path("all/other/run.json").exists());
}

#[test]
fn new_refuses_a_folder_with_something_in_it() {
    let site = Site::new();
    let told = site.run(&["new", "."]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("not empty"), "{}", told.err);
}

/// A fault in a late stage: the earlier folders stand whole, and without run.json nobody takes them for a whole run.
#[test]
fn a_run_that_fails_leaves_no_manifest_and_no_half_folder() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    site.edit("site.toml", "through = [412066.0, 6187040.0]", "elevation = \"900 m\"");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(!site.path("site/run.json").exists());
    assert!(
        site.read("site/UNFINISHED.txt").contains("do not print"),
        "the sheet that stands there is of the run before"
    );
    let leftovers: Vec<_> = std::fs::read_dir(site.path("site"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with('.') && name != ".cache")
        .collect();
    assert!(leftovers.is_empty(), "{leftovers:?}");
    let told = site.run(&["check", "site", "shots.csv"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("run.json"), "{}", told.err);
    site.edit("site.toml", "elevation = \"900 m\"", "through = [412066.0, 6187040.0]");
    assert_eq!(site.run(&["run", "site.toml"]).code, 0);
    assert!(site.path("site/run.json").exists() && !site.path("site/UNFINISHED.txt").exists());
}

/// Whatever moment it dies at: `run.json` stands only beside files that are as it says, and the next run mends the rest.
#[test]
fn a_run_that_is_killed_leaves_nothing_half_true() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let whole = files(&site.path("site"));
    for milliseconds in [5, 60, 150, 400, 900] {
        site.edit("site.toml", "[site]", "[site] # again");
        let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_swalewright"))
            .current_dir(site.path(""))
            .args(["run", "site.toml", "--fresh", "--quiet"])
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(milliseconds));
        let _ = child.kill();
        child.wait().unwrap();
        if site.path("site/run.json").exists() {
            for output in site.json("site/run.json")["outputs"].as_array().unwrap() {
                let bytes = std::fs::read(site.path("site").join(output["file"].as_str().unwrap())).unwrap();
                assert_eq!(output["sha256"], hash(&bytes), "{} after {milliseconds} ms", output["file"]);
            }
        }
        site.edit("site.toml", "[site] # again", "[site]");
        assert_eq!(site.run(&["run", "site.toml"]).code, 0);
        assert!(files(&site.path("site")) == whole, "the next run mends it, after {milliseconds} ms");
    }
}

/// The sample on a site grid in feet: the frame's own unit in every file, metres in JSON, no longitude and latitude.
#[test]
fn a_site_grid_in_feet() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let feet = |metres: f64| metres / 0.3048;
    let shots: String = site
        .read("shots.csv")
        .lines()
        .enumerate()
        .map(|(index, line)| {
            let mut fields: Vec<String> = line.split(',').map(str::to_owned).collect();
            if index > 0 {
                for (field, origin) in [(1, 412_000.0), (2, 6_187_000.0), (3, 0.0)] {
                    fields[field] = format!("{:.4}", feet(fields[field].parse::<f64>().unwrap() - origin));
                }
            }
            fields.join(",") + "\n"
        })
        .collect();
    site.write("feet.csv", &shots);
    let text = site
        .read("site.toml")
        .replace("\"EPSG:32755\"", "\"local\"")
        .replace("shots = [\"shots.csv\"]", "shots = [\"feet.csv\"]\nunits = \"feet\"")
        .replace("units  = \"metric\"", "units = \"feet\"")
        .replace("[412066.0, 6187040.0]", &format!("[{:.4}, {:.4}]", feet(66.0), feet(40.0)))
        .replace("[412025.0, 6187040.0]", &format!("[{:.4}, {:.4}]", feet(25.0), feet(40.0)))
        .replace("[412105.0, 6187040.0]", &format!("[{:.4}, {:.4}]", feet(105.0), feet(40.0)));
    site.write("feet.toml", &text);
    let told = site.run(&["run", "feet.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let header = site.read("feet/stakes/stakes.csv").lines().next().unwrap().to_owned();
    assert!(
        header.contains("easting_ft,northing_ft,predicted_ground_ft") && header.contains("cut_m,fill_m"),
        "{header}"
    );
    for lonlat in ["works/works.geojson", "stakes/stakes.geojson", "stakes/stakes.kml"] {
        assert!(!site.path("feet").join(lonlat).exists(), "{lonlat}");
    }
    assert!(told.err.contains("local grid"), "and a note says why: {}", told.err);
    let level =
        |run: &str| site.json(&format!("{run}/works/works.json"))["swales"][0]["water_level_m"].as_f64().unwrap();
    assert!((level("feet") - level("site")).abs() < 0.001, "{} {}", level("feet"), level("site"));
    let cut = |run: &str| site.json(&format!("{run}/earth/earth.json"))["cut_m3"].as_f64().unwrap();
    assert!((cut("feet") - cut("site")).abs() < 0.02 * cut("site"), "{} {}", cut("feet"), cut("site"));
}

#[cfg(unix)]
#[test]
fn ctrl_c_stops_cleanly() {
    let site = Site::new();
    // Enough shots that the run is still at work when it is stopped.
    let mut shots = String::from("point,easting,northing,elevation,code\n");
    for i in 0..60_000_u32 {
        let (x, y) = (f64::from(i % 300), f64::from(i / 300));
        shots += &format!(
            "{i},{:.3},{:.3},{:.3},gs\n",
            412_000.0 + x,
            6_187_000.0 + y,
            432.0 - 0.04 * y + (x * 0.37).sin() * 0.01
        );
    }
    site.write("shots.csv", &shots);
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_swalewright"))
        .current_dir(site.path(""))
        .args(["run", "site.toml"])
        .stderr(std::process::Stdio::null())
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let began = std::time::Instant::now();
    while !site.path("site/.cache").exists() && began.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_millis(2));
    }
    std::thread::sleep(Duration::from_millis(20));
    std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(130));
    assert!(!site.path("site/run.json").exists());
    assert!(!site.path("site/.survey.part").exists() && !site.path("site/.ground.part").exists());
}

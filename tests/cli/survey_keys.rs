//! What a user says back to the survey's checks: put a shot back, leave one out, move a file; and where the map is unsure.

use crate::site::Site;

/// Edits one cell of the sample's shots.
fn raise(site: &Site, id: &str, by: f64) {
    let mut text = String::new();
    for line in site.read("shots.csv").lines() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if cells[0] == id {
            cells[3] = format!("{:.3}", cells[3].parse::<f64>().unwrap() + by);
        }
        text += &(cells.join(",") + "\n");
    }
    site.write("shots.csv", &text);
}

fn aside(site: &Site) -> Vec<(String, String)> {
    let told = site.run(&["run", "site.toml", "--until", "ground"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let rows = site.read("site/survey/set-aside.csv");
    let cell = |line: &str, at: usize| line.split(',').nth(at).unwrap().to_owned();
    rows.lines().skip(1).map(|line| (cell(line, 2), cell(line, 3))).collect()
}

#[test]
fn shots_are_put_back_and_left_out_as_asked() {
    let site = Site::new();
    let before = aside(&site);
    raise(&site, "150", 3.0);
    let with = aside(&site);
    assert!(with.iter().any(|(shot, reason)| shot == "150" && reason == "off its neighbours"), "{with:?}");
    site.edit("site.toml", "[survey]", "[survey]\nkeep = [\"shots.csv:150\"]");
    let kept = aside(&site);
    assert!(!kept.iter().any(|(shot, _)| shot == "150"), "{kept:?}");
    site.edit("site.toml", "keep = [\"shots.csv:150\"]", "drop = [\"shots.csv:150\", \"shots.csv:151\"]");
    let dropped = aside(&site);
    for id in ["150", "151"] {
        assert!(dropped.iter().any(|(shot, reason)| shot == id && reason == "left out as asked"), "{dropped:?}");
    }
    assert_eq!(dropped.len(), before.len() + 2);
}

/// A shot in both lists would be used or left out by chance of the code: refused at the key. A number that is a line's is told.
#[test]
fn one_shot_is_not_kept_and_dropped_and_a_line_is_not_taken_without_a_word() {
    let site = Site::new();
    site.edit(
        "site.toml",
        "[survey]",
        "[survey]\nkeep = [\"shots.csv:150\"]\ndrop = [\"shots.csv:151\", \"shots.csv:150\"]",
    );
    let told = site.run(&["run", "site.toml", "--until", "survey"]);
    assert_eq!(told.code, 2, "{}", told.err);
    let line = 1 + site.read("site.toml").lines().position(|line| line.starts_with("drop")).unwrap();
    for part in [&format!("site.toml:{line}:26]"), "`keep` puts back `shots.csv:150` and `drop`"] {
        assert!(told.err.contains(part), "{part}\n{}", told.err);
    }
    site.edit(
        "site.toml",
        "keep = [\"shots.csv:150\"]\ndrop = [\"shots.csv:151\", \"shots.csv:150\"]",
        "drop = [\"shots.csv:150\"]",
    );
    raise_number(&site, "150", "950");
    let told = site.run(&["run", "site.toml", "--until", "survey"]);
    let taken = site.read("shots.csv").lines().nth(149).unwrap().split(',').next().unwrap().to_owned();
    let says = format!("drop names `shots.csv:150`, and no shot has that number: line 150 is taken, point {taken}");
    assert!(told.code == 0 && told.err.contains(&says), "{says}\n{}", told.err);
}

/// Gives a shot of the sample another number.
fn raise_number(site: &Site, from: &str, to: &str) {
    site.edit("shots.csv", &format!("\n{from},"), &format!("\n{to},"));
}

#[test]
fn a_file_is_moved_as_a_whole() {
    let site = Site::new();
    aside(&site);
    let lowest = |site: &Site| site.json("site/ground/ground.json")["lowest_m"].as_f64().unwrap();
    let before = lowest(&site);
    let moved = "shots = [{ file = \"shots.csv\", shift = [\"2 m\", \"0 m\", \"-0.25 m\"] }]";
    site.edit("site.toml", "shots = [\"shots.csv\"]", moved);
    aside(&site);
    assert!((lowest(&site) - (before - 0.25)).abs() < 1e-6, "{} {before}", lowest(&site));
}

/// Where the ground is not known to `sure-to` the map has triangles of the layer `unsure`; asked less, it has none.
#[test]
fn the_map_says_where_the_ground_is_unsure() {
    let site = Site::new();
    let count = |site: &Site| -> i64 {
        let database = rusqlite::Connection::open(site.path("site/survey/shots.gpkg")).unwrap();
        database.query_row("SELECT count(*) FROM unsure", [], |row| row.get(0)).unwrap()
    };
    site.edit("site.toml", "[[swale]]", "[ground]\nsure-to = \"1 mm\"\n\n[[swale]]");
    aside(&site);
    let strict = count(&site);
    assert!(strict > 0);
    // The worst hundred places as a list for the rover, as the list of a line's second pass is.
    let list = || std::fs::read_to_string(site.path("site/survey/where-to-shoot.csv"));
    let places = list().unwrap();
    assert!(places.starts_with(
        "shot,works,station_m,offset_m,easting_m,northing_m,predicted_ground_m,code,sigma_m,times\nG001,,,,"
    ));
    assert!((2..=101).contains(&places.lines().count()), "{places}");
    let sigma: Vec<f64> = places.lines().skip(1).map(|row| row.split(',').nth(8).unwrap().parse().unwrap()).collect();
    assert!(sigma.windows(2).all(|pair| pair[0] >= pair[1]), "{sigma:?}");
    site.edit("site.toml", "\"1 mm\"", "\"5 m\"");
    aside(&site);
    assert!(count(&site) < strict, "{} of {strict}", count(&site));
    assert_eq!(list().is_ok(), count(&site) > 0);
}

//! The commands that answer a question: look, volume, on-contour, check.

use crate::site::Site;

fn number(json: &serde_json::Value, key: &str) -> f64 {
    json[key].as_f64().unwrap_or_else(|| panic!("no number `{key}` in {json}"))
}

#[test]
fn look_tells_what_is_in_a_point_file() {
    let site = Site::new();
    let told = site.run(&["look", "shots.csv", "--crs", "EPSG:32755", "--roles", "ground=gs", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let json = told.json();
    assert_eq!((json["kind"].as_str(), json["points"].as_u64()), (Some("points"), Some(173)));
    let told = site.run(&["look", "shots.csv"]);
    assert!(told.out.contains("173 points") && told.out.contains("north up"), "{}", told.out);
    assert!(told.err.contains("guessed"), "what was guessed is told: {}", told.err);
    let told = site.run(&["look", "shots.csv", "--svg", "shots.svg"]);
    assert_eq!(told.code, 0);
    assert!(site.read("shots.svg").starts_with("<svg"));
}

#[test]
fn volume_between_ground_and_works_is_the_cut_and_fill_of_the_run() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let told = site.run(&["volume", "site", "site#works", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let (json, earth) = (told.json(), site.json("site/earth/earth.json"));
    let (cut, fill) = (number(&earth, "cut_m3"), number(&earth, "fill_m3"));
    assert!(cut > 10.0 && fill > 10.0);
    // The surfaces come back to the last bit; figures are rounded to a millionth.
    assert!((number(&json, "cut_m3") - cut).abs() < 2e-6, "{json} {earth}");
    assert!((number(&json, "fill_m3") - fill).abs() < 2e-6, "{json} {earth}");
    assert!((number(&json, "net_m3") - (number(&json, "fill_m3") - number(&json, "cut_m3"))).abs() < 1e-9);
    let back = site.run(&["volume", "site#works", "site", "--json"]).json();
    let swapped = number(&back, "cut_m3") - number(&json, "fill_m3");
    assert!(swapped.abs() < 1e-12 * fill, "swapped surfaces swap cut and fill: {swapped:e}");
}

#[test]
fn volume_below_an_elevation_is_the_storage_of_the_run() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let works = site.json("site/works/works.json");
    let swale = &works["swales"][0];
    let level = format!("{} m", number(swale, "spill_m").min(number(swale, "water_level_m")));
    // Above the bed, halfway along.
    let stakes = site.read("site/stakes/asbuilt-shots.csv");
    let bed = stakes.lines().filter(|line| line.contains(",bed,")).nth(2).expect("bed shots");
    let fields: Vec<&str> = bed.split(',').collect();
    let at = format!("{},{}", fields[4], fields[5]);
    let told = site.run(&["volume", "site#works", "--below", &level, "--at", &at, "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let held = number(&told.json(), "volume_m3");
    assert!((held - number(swale, "storage_m3")).abs() < 1e-3 * held, "{held} against {swale}");
}

/// A plane that falls 4 % to the north: the line along it is on contour, one across it is not.
#[test]
fn on_contour_measures_a_line_against_the_ground() {
    let site = Site::new();
    let plane: String = (0..121)
        .map(|i| (f64::from(i % 11) * 10.0, f64::from(i / 11) * 10.0))
        .map(|(x, y)| format!("{x},{y},{},gs\n", 50.0 - 0.04 * y))
        .collect();
    site.write("plane.csv", &format!("easting,northing,elevation,code\n{plane}"));
    site.write("level.csv", "easting,northing,elevation,code\n10,50,0,gs\n45,50,0,gs\n90,50,0,gs\n");
    site.write("sloping.csv", "easting,northing,elevation,code\n10,45,0,gs\n90,55,0,gs\n");
    let ask = |line: &str, more: &[&str]| {
        let mut arguments =
            vec!["on-contour", line, "--ground", "plane.csv", "--crs", "local", "--units", "m", "--json"];
        arguments.extend(more);
        site.run(&arguments)
    };
    let told = ask("level.csv", &[]);
    assert_eq!(told.code, 0, "{} {}", told.out, told.err);
    assert_eq!(told.json()["verdict"], "pass");
    assert!(number(&told.json(), "worst_m").abs() < 1e-9);
    assert!((number(&told.json(), "elevation_m") - 48.0).abs() < 1e-9);
    // From 48.2 m to 47.8 m about a mean of 48: 0.2 m at the worst, 0.2 / sqrt(3) root mean square.
    let told = ask("sloping.csv", &[]);
    assert_eq!(told.code, 1, "a check that fails ends with 1");
    let json = told.json();
    assert_eq!(json["verdict"], "fail");
    assert!((number(&json, "worst_m").abs() - 0.2).abs() < 1e-9, "{json}");
    assert!((number(&json, "rms_m") - 0.2 / 3f64.sqrt()).abs() < 0.01, "{json}");
    assert_eq!(ask("sloping.csv", &["--tolerance", "250 mm"]).code, 0);
    // Against 47.9 m all of the level line stands 0.1 m high.
    let told = ask("level.csv", &["--at", "47.9 m"]);
    assert!((number(&told.json(), "worst_m") - 0.1).abs() < 1e-9);
}

/// A square pit with 1:1 sides, 4 m deep, in a slope of 4 %.
fn pit(site: &Site) {
    let shot = |i: i32| {
        let (x, y) = (f64::from(i % 41), f64::from(i / 41));
        let height = (100.0 - 0.04 * x).min(95.0 + (x - 20.0).abs().max((y - 20.0).abs()));
        format!("{x},{y},{height:.4},gs\n")
    };
    let shots: String = (0..41 * 41).map(shot).collect();
    site.write("pit.csv", &format!("easting,northing,elevation,code\n{shots}"));
}

/// What a hollow holds ends at its spill, whatever level is asked for; a place that drains is no hollow.
#[test]
fn volume_in_a_hollow_ends_at_its_spill() {
    let site = Site::new();
    pit(&site);
    let ask =
        |more: &[&str]| site.run(&[&["volume", "pit.csv", "--crs", "local", "--units", "m", "--below"], more].concat());
    let at = |level: &str, at: &str| ask(&[level, "--at", at, "--json"]).json();
    // An upturned pyramid of half side 2, 4 h^3 / 3; triangles that cut its ridges across take up to a tenth of it.
    let low = at("97 m", "20,20");
    assert!((0.9..=1.0).contains(&(number(&low, "volume_m3") / (32.0 / 3.0))), "{low}");
    let (full, more) = (at("99.5 m", "20,20"), at("120 m", "20,20"));
    assert_eq!((&full["volume_m3"], &full["water_level_m"]), (&more["volume_m3"], &more["water_level_m"]));
    assert!(number(&full, "spill_m") < 99.5 && full["spills_below_asked_level"] == true, "{full}");
    assert!(full["spill_easting_m"].is_f64() && full["hollow"] == true, "{full}");
    let told = ask(&["99.5 m", "--at", "20,20"]);
    assert!(told.out.contains("there it spills, at E "), "{}", told.out);
    let told = ask(&["99.5 m", "--at", "35,5"]);
    assert!(told.code == 0 && told.out.starts_with("not a hollow"), "{}", told.out);
    // All together: the pit, and not the slope below it.
    let all = ask(&["99.5 m", "--json"]).json();
    assert_eq!(all["volume_m3"], full["volume_m3"], "{all}");
    assert!(number(&all, "draining_volume_m3") > 100.0, "{all}");
    let off = ask(&["99.5 m", "--at", "2000,20", "--json"]);
    assert_eq!((off.code, off.json()["error"]["file"].as_str()), (2, Some("pit.csv")), "{}", off.out);
    assert!(off.out.contains("lies off this surface"), "{}", off.out);
}

#[test]
fn surfaces_that_do_not_overlap_are_an_error() {
    let site = Site::new();
    pit(&site);
    site.write("far.csv", "easting,northing,elevation,code\n900,0,1,gs\n950,0,1,gs\n900,50,1,gs\n950,50,1,gs\n");
    let told = site.run(&["volume", "pit.csv", "far.csv", "--crs", "local", "--units", "m"]);
    assert_eq!(told.code, 2, "{}", told.out);
    assert!(told.err.contains("do not overlap") && told.out.is_empty(), "{} {}", told.out, told.err);
}

/// The run's own lines are on contour by its own ground: the line of the work is the one that is meant.
#[test]
fn on_contour_finds_the_line_of_a_run() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let works = site.json("site/works/works.json");
    let (name, level) = (works["swales"][0]["name"].as_str().unwrap(), number(&works["swales"][0], "water_level_m"));
    let at = format!("{level} m");
    let named = format!("site/works/works.geojson#{name}");
    for line in [
        "site/works/works.geojson",
        "site/works/works.gpkg",
        "site/works/works.landxml",
        "site/stakes/stakes.csv",
        &named,
        "site",
        &format!("site#{name}"),
    ] {
        let told = site.run(&["on-contour", line, "--ground", "site", "--at", &at, "--json"]);
        assert_eq!(told.code, 0, "{line}: {} {}", told.out, told.err);
        let json = told.json();
        assert!(number(&json, "worst_m").abs() < 0.05 && number(&json, "length_m") > 50.0, "{line}: {json}");
        assert!(json["stations"][0]["easting_m"].is_f64(), "{line}");
    }
    let bed = site.run(&["on-contour", &format!("{named} bed"), "--ground", "site", "--json"]);
    assert!(bed.code != 2, "{}", bed.out);
    let told = site.run(&["on-contour", "site/works/works.gpkg#nowhere", "--ground", "site"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains(&format!("{name} bed")) && told.err.contains("FILE#NAME"), "{}", told.err);
    // A person sees the worst first, and not every station.
    let told = site.run(&["on-contour", &named, "--ground", "site", "--tolerance", "1 mm"]);
    let deviations: Vec<f64> = told
        .out
        .lines()
        .filter_map(|line| line.split_whitespace().find(|word| word.starts_with(['+', '-']) && word.len() > 4))
        .filter_map(|word| word.parse::<f64>().ok().map(f64::abs))
        .collect();
    assert!(told.out.lines().count() < 20, "{}", told.out);
    assert!(deviations.windows(2).skip(1).all(|pair| pair[0] >= pair[1]), "{}", told.out);
}

/// Keys of every JSON are in `snake_case`, a place's carry their unit, and no number shows the last bits of a sum.
#[test]
fn json_keys_carry_their_unit_and_numbers_are_rounded() {
    fn walk(json: &serde_json::Value, path: &str) {
        match json {
            serde_json::Value::Object(keys) => {
                for (key, value) in keys {
                    let here = format!("{path}.{key}");
                    // Settings as resolved keep the pipeline file's own keys.
                    if here == ".settings" {
                        continue;
                    }
                    assert!(key.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_'), "{here}");
                    assert!(
                        !["x", "y", "z", "west", "north", "easting", "lowest_elevation"].contains(&key.as_str()),
                        "{here}"
                    );
                    walk(value, &here);
                }
            }
            serde_json::Value::Array(items) => items.iter().for_each(|item| walk(item, path)),
            serde_json::Value::Number(number) if number.is_f64() => {
                let decimals = number.to_string().split_once('.').map_or(0, |(_, decimals)| decimals.len());
                assert!(decimals <= 6, "{path} = {number}");
            }
            _ => {}
        }
    }
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    book(&site, "low.csv", |_, code, elevation| if code.starts_with("crest") { elevation - 0.25 } else { elevation });
    let text = site.read("site.toml");
    site.write("site.toml", &format!("{text}\n[asbuilt]\nfiles = [\"low.csv\"]\n"));
    walk(&site.run(&["run", "site.toml", "--json"]).json(), "");
    for name in ["survey/survey", "ground/ground", "works/works", "earth/earth", "asbuilt/asbuilt"] {
        walk(&site.json(&format!("site/{name}.json")), name);
    }
    for command in [
        &["look", "shots.csv"][..],
        &["look", "site"],
        &["volume", "site", "site#works"],
        &["volume", "site", "--below", "430 m"],
        &["on-contour", "site/works/works.gpkg", "--ground", "site"],
        &["check", "site", "low.csv"],
    ] {
        let told = site.run(&[command, &["--json"]].concat());
        assert!(told.code < 2, "{command:?}: {}", told.out);
        walk(&told.json(), &command.join(" "));
    }
}

/// Every command tells its fault as one object of the same five keys.
#[test]
fn every_command_has_one_form_of_error() {
    let site = Site::new();
    for command in [
        &["new", "."][..],
        &["run", "nothing.toml"],
        &["look", "nothing.csv"],
        &["volume", "nothing.csv", "nothing.xml"],
        &["volume", "shots.csv", "--below", "431"],
        &["on-contour", "nothing.csv", "--ground", "shots.csv"],
        &["check", "nothing", "shots.csv"],
        &["sway"],
    ] {
        let told = site.run(&[command, &["--json"]].concat());
        assert_eq!(told.code, 2, "{command:?}: {}", told.out);
        let json = told.json();
        let keys: Vec<&str> = json["error"].as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(keys, ["code", "message", "file", "line", "column"], "{command:?}");
        assert!(!json["error"]["message"].as_str().unwrap().is_empty(), "{command:?}");
    }
}

#[test]
fn a_folder_that_is_not_there_is_said_not_to_be() {
    let site = Site::new();
    let told = site.run(&["check", "nofolder", "shots.csv"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("there is no such folder"), "{}", told.err);
    let told = site.run(&["check", "site.toml", "shots.csv"]);
    assert!(told.err.contains("it is a file"), "{}", told.err);
}

/// The list of shots to take opens as a point file; a check against it is refused, for nobody measured it.
#[test]
fn the_list_of_shots_to_take_reads_back() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let told = site.run(&["look", "site/stakes/asbuilt-shots.csv", "--json"]);
    assert_eq!(told.code, 0, "{} {}", told.out, told.err);
    assert!(told.out.contains("designed"), "{}", told.out);
    assert_eq!(told.json()["points"].as_u64(), Some(as_designed(&site).len() as u64));
    let told = site.run(&["check", "site", "site/stakes/asbuilt-shots.csv"]);
    assert_eq!(told.code, 2, "{} {}", told.out, told.err);
    assert!(told.err.contains("which nobody measured"), "{}", told.err);
}

/// The shots that the run asks for, taken exactly where and as high as designed.
fn as_designed(site: &Site) -> Vec<(String, String, String, f64, String)> {
    let table = site.read("site/stakes/asbuilt-shots.csv");
    table
        .lines()
        .skip(1)
        .map(|line| {
            let fields: Vec<&str> = line.split(',').collect();
            (fields[0].into(), fields[4].into(), fields[5].into(), fields[6].parse().unwrap(), fields[7].into())
        })
        .collect()
}

fn book(site: &Site, name: &str, change: impl Fn(usize, &str, f64) -> f64) {
    let check = |id: &str| format!("{id},412020.000,6186994.000,432.493,check CP1,0.005\n");
    let mut text = String::from("point,easting,northing,elevation,code,vertical sigma\n");
    text += &check("k1");
    for (index, (id, easting, northing, elevation, code)) in as_designed(site).into_iter().enumerate() {
        text += &format!("{id},{easting},{northing},{:.3},{code},0.005\n", change(index, &code, elevation));
    }
    text += &check("k2");
    site.write(name, &text);
}

#[test]
fn check_passes_what_was_built_as_designed_and_fails_a_low_crest() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    book(&site, "good.csv", |_, code, elevation| if code.starts_with("crest") { elevation + 0.03 } else { elevation });
    let told = site.run(&["check", "site", "good.csv", "--json"]);
    assert_eq!(told.code, 0, "{}\n{}", told.out, told.err);
    let json = told.json();
    assert_ne!(json["verdict"], "fail");
    assert_eq!(json["checked"]["state"], "checked", "the book's check shots are held against the run's marks");
    assert!(!told.out.contains("not checked"), "{}", told.out);
    assert!(number(&json, "worst_m").abs() < 0.05 && number(&json, "rms_m") < 0.05, "{json}");

    book(&site, "low.csv", |_, code, elevation| if code.starts_with("crest") { elevation - 0.25 } else { elevation });
    let told = site.run(&["check", "site", "low.csv"]);
    assert_eq!(told.code, 1, "{}\n{}", told.out, told.err);
    assert!(told.out.contains("fail") && told.out.contains("raise the crest"), "{}", told.out);
}

#[test]
fn a_run_checks_as_built_files_when_asked() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    book(&site, "low.csv", |_, code, elevation| if code.starts_with("crest") { elevation - 0.25 } else { elevation });
    let text = site.read("site.toml");
    site.write("site.toml", &format!("{text}\n[asbuilt]\nfiles = [\"low.csv\"]\n"));
    for times in ["made", "skipped"] {
        let told = site.run(&["run", "site.toml"]);
        assert_eq!(told.code, 1, "the check fails, {times}: {}", told.err);
    }
    assert_eq!(
        site.read("site/asbuilt/grade-check.csv").lines().next(),
        Some(
            "shot,works,part,station_m,offset_m,easting_m,northing_m,measured_m,design_elevation_m,difference_m,\
             tolerance_m,verdict"
        )
    );
    assert!(site.path("site/asbuilt/put-right.csv").exists() && site.path("site/asbuilt/asbuilt.json").exists());
}

#[test]
fn a_changed_folder_is_not_checked_against() {
    let site = Site::new();
    site.run(&["run", "site.toml"]);
    let works = site.read("site/works/works.json");
    site.write("site/works/works.json", &works.replace("\"length_m\"", "\"length_m\" "));
    let told = site.run(&["check", "site", "shots.csv"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("not as the run left it"), "{}", told.err);
}

//! Every bad input gets one clear message that names its place, and exit 2.

use crate::site::Site;

/// A change to the sample site, and what must be told of it.
struct Case {
    name: &'static str,
    change: fn(&Site),
    says: &'static [&'static str],
    /// The file that is at fault, and where in it.
    place: (&'static str, At),
}

/// Where a fault lies.
enum At {
    /// The file as a whole.
    Whole,
    /// A line and a column (or field), zero for the whole line.
    Line(u64, u64),
    /// Where this text begins, the last time that it stands in the file.
    Text(&'static str),
}

impl At {
    fn line_and_column(&self, text: &str) -> (u64, u64) {
        match *self {
            Self::Whole => (0, 0),
            Self::Line(line, column) => (line, column),
            Self::Text(wanted) => {
                let before = &text[..text.rfind(wanted).unwrap_or_else(|| panic!("no `{wanted}`"))];
                let column = before.rsplit('\n').next().map_or(0, str::len);
                (before.matches('\n').count() as u64 + 1, column as u64 + 1)
            }
        }
    }
}

fn edit_line(site: &Site, number: usize, change: impl Fn(&str) -> String) {
    let text = site.read("shots.csv");
    let lines: Vec<String> = text
        .lines()
        .enumerate()
        .map(|(index, line)| if index + 1 == number { change(line) } else { line.to_owned() })
        .collect();
    site.write("shots.csv", &(lines.join("\n") + "\n"));
}

fn append(site: &Site, tables: &str) {
    let text = site.read("site.toml");
    site.write("site.toml", &format!("{text}\n{tables}"));
}

/// The field of a line with other text in it.
fn with_field(line: &str, field: usize, text: &str) -> String {
    let mut fields: Vec<&str> = line.split(',').collect();
    fields[field] = text;
    fields.join(",")
}

const CASES: &[Case] = &[
    Case {
        name: "missing file",
        change: |site| site.edit("site.toml", "shots = [\"shots.csv\"]", "shots = [\"lost.csv\"]"),
        says: &["`lost.csv` cannot be read", "no such file"],
        place: ("site.toml", At::Text("\"lost.csv\"")),
    },
    Case {
        name: "empty file",
        change: |site| site.write("shots.csv", ""),
        says: &["shots.csv", "is empty of points"],
        place: ("shots.csv", At::Whole),
    },
    Case {
        name: "wrong column count",
        change: |site| edit_line(site, 40, |line| format!("{line},extra,fields")),
        says: &["shots.csv:40", "columns"],
        place: ("shots.csv", At::Line(40, 0)),
    },
    Case {
        name: "text in a number",
        change: |site| edit_line(site, 41, |line| with_field(line, 2, "61870xx")),
        says: &["shots.csv:41", "northing", "61870xx"],
        place: ("shots.csv", At::Line(41, 3)),
    },
    Case {
        name: "NaN",
        change: |site| edit_line(site, 42, |line| with_field(line, 3, "NaN")),
        says: &["shots.csv:42", "elevation", "NaN"],
        place: ("shots.csv", At::Line(42, 4)),
    },
    Case {
        name: "latitude in a projected frame",
        change: |site| {
            let degrees: String = (0..40)
                .map(|i| {
                    format!("{i},{:.7},{:.7},430.0,gs,\n", 146.0 + f64::from(i) * 1e-4, -34.4 - f64::from(i % 7) * 1e-4)
                })
                .collect();
            site.write("shots.csv", &format!("point,easting,northing,elevation,code,time\n{degrees}"));
        },
        says: &["shots.csv:2", "longitude and latitude"],
        place: ("shots.csv", At::Line(2, 2)),
    },
    Case {
        name: "unknown frame",
        change: |site| site.edit("site.toml", "EPSG:32755", "EPSG:999999"),
        says: &["unknown frame `EPSG:999999`", "local"],
        place: ("site.toml", At::Text("\"EPSG:999999\"")),
    },
    Case {
        name: "unknown key",
        change: |site| site.edit("site.toml", "bottom-width ", "botom-width "),
        says: &["unknown key `botom-width`", "did you mean `bottom-width`?"],
        place: ("site.toml", At::Text("botom-width")),
    },
    Case {
        name: "missing unit",
        change: |site| site.edit("site.toml", "= \"0.65 m\"  ", "= 0.65"),
        says: &["`0.65` has no unit", "mm, cm, m"],
        place: ("site.toml", At::Text("0.65")),
    },
    Case {
        name: "water level above all ground",
        change: |site| site.edit("site.toml", "through = [412066.0, 6187040.0]", "elevation = \"900 m\""),
        says: &["no ground stands at the water level 900.000 m"],
        place: ("site.toml", At::Text("\"900 m\"")),
    },
    Case {
        name: "water level below all ground",
        change: |site| site.edit("site.toml", "through = [412066.0, 6187040.0]", "elevation = \"9 m\""),
        says: &["no ground stands at the water level 9.000 m"],
        place: ("site.toml", At::Text("\"9 m\"")),
    },
    Case {
        name: "change of the section beyond the line",
        change: |site| {
            site.edit(
                "site.toml",
                "[[spillway]]",
                "changes = [{ from = \"30 m\", depth = \"0.7 m\" }, { from = \"500 m\", depth = \"0.8 m\" }]\n[[spillway]]",
            );
        },
        says: &["the section cannot change between stations 500.0 and 510.0 m", "the line ends at"],
        place: ("site.toml", At::Text("{ from = \"500 m\"")),
    },
    Case {
        name: "crossing beyond the bed",
        change: |site| {
            site.edit(
                "site.toml",
                "[[spillway]]",
                "crossings = [{ station = \"40 m\" }, { station = \"300 m\" }]\n[[spillway]]",
            );
        },
        says: &["no crossing can stand between stations"],
        place: ("site.toml", At::Text("{ station = \"300 m\"")),
    },
    Case {
        name: "region with no ground",
        change: |site| {
            // A square some 15 km to the east of the site.
            site.write(
                "region.geojson",
                "{\"type\":\"Feature\",\"properties\":{},\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[[[146.2,-34.45],\
                 [146.201,-34.45],[146.201,-34.449],[146.2,-34.449],[146.2,-34.45]]]}}",
            );
            site.edit(
                "site.toml",
                "between     = [[412025.0, 6187040.0], [412105.0, 6187040.0]]",
                "within = \"region.geojson\"",
            );
        },
        says: &["swale `first`", "region"],
        place: ("site.toml", At::Text("\"region.geojson\"")),
    },
    Case {
        name: "two swales of one name",
        change: |site| {
            let text = site.read("site.toml");
            site.write(
                "site.toml",
                &format!("{text}\n[[swale]]\nname = \"first\"\nwater-level = {{ elevation = \"430.5 m\" }}\n"),
            );
        },
        says: &["two swales are named `first`", "the first one"],
        place: ("site.toml", At::Text("\"first\"")),
    },
    Case {
        name: "a pond and a swale of one name",
        change: |site| {
            append(
                site,
                "[[pond]]\nname = \"first\"\nfloor = { at = [412066.0, 6187060.0], length = \"9 m\", width = \"6 m\" }\ndepth = \"1 m\"\n",
            );
        },
        says: &["two works are named `first`"],
        place: ("site.toml", At::Text("\"first\"")),
    },
    Case {
        name: "a floor above the ground",
        change: |site| {
            append(
                site,
                "[[pond]]\nname = \"tank\"\nfloor = { at = [412066.0, 6187060.0], length = \"9 m\", width = \"6 m\" }\ndepth = { floor = \"999 m\" }\n",
            );
        },
        says: &["pond `tank`", "its floor at 999.000 m stands", "above the ground at E 4120"],
        place: ("site.toml", At::Text("{ floor")),
    },
    Case {
        name: "two water levels",
        change: |site| {
            append(
                site,
                "[[pond]]\nname = \"tank\"\nfloor = { at = [412066.0, 6187060.0], length = \"9 m\", width = \"6 m\" }\ndepth = \"1 m\"\nwater-level = \"429 m\"\nfreeboard = \"0.2 m\"\n",
            );
        },
        says: &["`water-level` and `freeboard` both say where the water stands"],
        place: ("site.toml", At::Text("\"429 m\"")),
    },
    Case {
        name: "a pit for the fill of nothing",
        change: |site| {
            append(
                site,
                "[[borrow]]\nname = \"pit\"\nfloor = { at = [412066.0, 6187060.0], length = \"9 m\", width = \"6 m\" }\ndepth = { to-yield = { fill-of = \"wall\" } }\n",
            );
        },
        says: &["borrow `pit` names `wall`", "before it stand: first"],
        place: ("site.toml", At::Text("{ to-yield")),
    },
    Case {
        name: "a wall that no ground ties in",
        change: |site| {
            append(
                site,
                "[[dam]]\nname = \"wall\"\naxis = { points = [[412040.0, 6187060.0], [412090.0, 6187060.0]] }\nfull-supply = { through = [412066.0, 6187050.0] }\nflood-rise = \"0.3 m\"\n",
            );
        },
        says: &["dam `wall`: the ground never comes up to its crest", "where the survey ends"],
        place: ("site.toml", At::Text("[[412040.0")),
    },
    Case {
        name: "ambiguous point number",
        change: |site| {
            site.write("again.csv", &site.read("shots.csv"));
            site.edit("site.toml", "shots = [\"shots.csv\"]", "shots = [\"shots.csv\", \"again.csv\"]");
            site.edit("site.toml", "through = [412066.0, 6187040.0]", "at-shot = \"150\"");
        },
        says: &["150", "ambiguous", "shots.csv", "again.csv"],
        place: ("site.toml", At::Text("\"150\"")),
    },
    Case {
        name: "a number twice in one file",
        change: |site| {
            edit_line(site, 53, |line| with_field(line, 0, "101"));
            site.edit("site.toml", "through = [412066.0, 6187040.0]", "at-shot = \"shots.csv:101\"");
        },
        says: &["ambiguous", "write `shots.csv:line 4` or `shots.csv:line 53`"],
        place: ("site.toml", At::Text("\"shots.csv:101\"")),
    },
    Case {
        name: "feet forgotten",
        change: |site| {
            let text = site.read("shots.csv");
            let feet = |field: &str| format!("{:.3}", field.parse::<f64>().unwrap() / 0.3048);
            let lines = text.lines().enumerate().map(|(number, line)| {
                let fields: Vec<&str> = line.split(',').collect();
                let [easting, northing, elevation] =
                    [1, 2, 3].map(|k| if number == 0 { fields[k].to_owned() } else { feet(fields[k]) });
                [&[fields[0], &easting, &northing, &elevation], &fields[4..]].concat().join(",")
            });
            let changed = lines.collect::<Vec<_>>().join("\n");
            site.write("shots.csv", &changed);
        },
        says: &["lies outside the area of use of EPSG:32755", "as feet it lies inside", "units = \"feet\""],
        place: ("shots.csv", At::Whole),
    },
    Case {
        name: "both ends far from the survey",
        change: |site| {
            site.edit(
                "site.toml",
                "[[412025.0, 6187040.0], [412105.0, 6187040.0]]",
                "[[400025.0, 6187040.0], [400105.0, 6187040.0]]",
            );
        },
        says: &["nearest contour line", "are their easting and northing right"],
        place: ("site.toml", At::Text("[[400025.0")),
    },
    Case {
        name: "a quote that is missing",
        change: |site| site.edit("site.toml", "\"Sample paddock\"", "\"Sample paddock"),
        says: &["invalid basic string"],
        place: ("site.toml", At::Line(12, 25)),
    },
];

#[test]
fn each_has_one_message_with_its_place_and_exit_2() {
    for case in CASES {
        let site = Site::new();
        (case.change)(&site);
        let told = site.run(&["run", "site.toml"]);
        assert_eq!(told.code, 2, "{}: {}", case.name, told.err);
        assert_eq!(told.err.matches("error: ").count(), 1, "{}: one message\n{}", case.name, told.err);
        for words in case.says {
            assert!(told.err.contains(words), "{}: `{words}` is not in\n{}", case.name, told.err);
        }
        assert!(told.out.is_empty(), "{}: nothing on stdout", case.name);

        let error = site.run(&["run", "site.toml", "--json"]).json()["error"].clone();
        let number = |key: &str| error[key].as_u64().unwrap_or(0);
        let (file, at) = &case.place;
        let (line, column) = at.line_and_column(&site.read(file));
        assert!(error["file"].as_str().is_some_and(|found| found.ends_with(file)), "{}: {error}", case.name);
        assert_eq!((number("line"), number("column")), (line, column), "{}: {error}", case.name);
        assert!(error["code"].as_str().is_some_and(|code| code.contains("::")), "{}: {error}", case.name);
        assert!(!error["message"].as_str().unwrap().is_empty());
    }
}

#[test]
fn an_output_folder_that_cannot_be_written_is_told_before_any_work() {
    let site = Site::new();
    let told = site.run(&["run", "site.toml", "--out", "shots.csv/out"]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(told.err.contains("the output folder shots.csv/out cannot be written to"), "{}", told.err);
    assert!(!told.err.contains("survey "), "nothing was computed: {}", told.err);
}

#[test]
fn folders_and_files_taken_for_one_another_are_told_in_plain_words() {
    let site = Site::new();
    let said = |arguments: &[&str]| {
        let told = site.run(arguments);
        assert_eq!(told.code, 2, "{arguments:?}: {}", told.err);
        assert_eq!(told.err.matches("error: ").count(), 1, "{}", told.err);
        assert!(!told.err.contains("os error"), "{}", told.err);
        told.err
    };
    let folder = said(&["run", "."]);
    assert!(folder.contains("it is a folder; name the pipeline file: `./site.toml`"), "{folder}");
    let out = said(&["run", "site.toml", "--out", "shots.csv"]);
    assert!(out.contains("the output folder shots.csv cannot be written to: it is a file"), "{out}");
    let out = said(&["run", "site.toml", "--out", "shots.csv/out"]);
    assert!(out.contains("a part of its path is a file, not a folder"), "{out}");
    let look = said(&["look", "lost.laz"]);
    assert!(look.contains("lost.laz cannot be read: there is no such file or folder"), "{look}");
}

#[test]
fn a_part_of_a_run_that_is_none_is_told_as_such() {
    let site = Site::new();
    assert_eq!(site.run(&["run", "site.toml", "--until", "works"]).code, 0);
    let told = site.run(&["volume", "site#work", "site"]);
    assert_eq!(told.code, 2);
    assert_eq!(told.err, "error: site: `#work` names no surface of a run: accepted are #ground, #shots and #works\n");
    let look = site.run(&["look", "site#works", "--json"]);
    assert_eq!((look.code, look.json()["kind"].as_str()), (0, Some("surface")), "{}", look.err);
}

#[test]
fn degrees_without_a_frame_are_told_once() {
    let site = Site::new();
    let row =
        |i: u32| format!("{i},{:.7},{:.7},430.0,gs\n", 146.0 + f64::from(i) * 1e-4, -34.4 - f64::from(i % 7) * 1e-4);
    site.write("deg.csv", &format!("point,easting,northing,elevation,code\n{}", (0..40).map(row).collect::<String>()));
    let told = site.run(&["look", "deg.csv"]);
    assert_eq!(told.code, 2);
    assert!(
        told.err.contains("deg.csv:2: column 2: ") && told.err.contains("name the columns `longitude`"),
        "{}",
        told.err
    );
    assert_eq!(told.err.lines().count(), 1, "{}", told.err);
}

/// A reader that goes away (a pipe to `head`) must not end the program with a panic.
#[test]
fn a_closed_stderr_is_no_fault() {
    let site = Site::new();
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_swalewright"))
        .current_dir(site.path(""))
        .args(["look", "shots.csv"])
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stderr.take());
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_missing_pipeline_file_is_told() {
    let site = Site::new();
    let told = site.run(&["run", "lost.toml"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("lost.toml: there is no such pipeline file"), "{}", told.err);
}

#[test]
fn several_faults_come_at_once() {
    let site = Site::new();
    site.edit("site.toml", "= \"0.65 m\"  ", "= 0.65");
    site.edit("site.toml", "bottom-width ", "botom-width ");
    site.edit("site.toml", "region = \"au\"", "region = \"mars\"");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.err.matches("error: ").count(), 3, "{}", told.err);
    assert!(told.err.contains("3 faults in site.toml"));
    let error = site.run(&["run", "site.toml", "--json"]).json()["error"].clone();
    assert_eq!(error["more"].as_array().map(Vec::len), Some(2));
}

#[test]
fn usage_errors_are_2_and_json_on_wish() {
    let site = Site::new();
    assert_eq!(site.run(&["run"]).code, 2);
    assert_eq!(site.run(&["volume", "only-one"]).code, 2);
    let told = site.run(&["volume", "site.toml", "--below", "431.25", "--json"]);
    assert_eq!(told.code, 2);
    let error = told.json()["error"].clone();
    assert_eq!(error["code"], "usage");
    assert!(error["message"].as_str().unwrap().contains("has no unit"), "{error}");
}

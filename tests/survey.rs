//! Point files from disk to a checked survey and its ground, on the committed demo survey.

use std::collections::BTreeSet;
use std::path::Path;
use swalewright::frame::resolve;
use swalewright::ground::{self, GroundSettings};
use swalewright::io::read::points::{self, FileSettings};
use swalewright::survey::{self, Delimiter, Format, PointFile, Role, Roles, Settings};
use swalewright::units::LengthUnit;

fn read(name: &str, settings: FileSettings) -> PointFile {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples/kestrel-flat").join(name);
    points::read(&path, &FileSettings { name: Some(name.to_owned()), ..settings }).unwrap()
}

fn demo() -> Vec<PointFile> {
    let day2 = FileSettings {
        columns: Some("point, northing, easting, elevation, code".into()),
        delimiter: Some(Delimiter::Tab),
        unit: Some(LengthUnit::Feet),
        ..FileSettings::default()
    };
    vec![read("marks.csv", FileSettings::default()), read("day1.csv", FileSettings::default()), read("day2.txt", day2)]
}

fn roles() -> Roles {
    Roles::with([
        (Role::Ground, "gs"),
        (Role::Breakline, "ridge"),
        (Role::Breakline, "drain"),
        (Role::Breakline, "track-back"),
        (Role::Breakline, "track-top"),
        (Role::Breakline, "track-toe"),
        (Role::Mark, "cp"),
        (Role::Check, "chk"),
        (Role::Service, "pole"),
        (Role::KeepOut, "tree"),
    ])
}

fn checked() -> swalewright::notes::Noted<survey::Survey> {
    let files = demo();
    let settings = Settings { roles: roles(), ..Settings::default() };
    let frame = resolve("EPSG:32755").unwrap();
    let near = survey::middle(&files, &settings, &frame).unwrap().unwrap();
    survey::check(&files, &settings, &frame.site_frame(near, None)).unwrap()
}

#[test]
fn both_mornings_are_checked_and_doubts_are_told() {
    let noted = checked();
    let codes: Vec<&str> = noted.notes.iter().map(|note| note.code.as_str()).collect();
    assert_eq!(
        codes,
        [
            "survey::unit-assumed",
            "survey::number-twice",
            "survey::run-off",
            "survey::false-fix",
            "survey::looks-like",
            "survey::off-neighbours",
            "survey::checked",
            "survey::checked",
            "survey::set-aside"
        ]
    );
    let figures = noted.value.figures();
    assert_eq!(figures.shots_read, figures.shots_kept + figures.shots_set_aside);
    assert_eq!((figures.checks, figures.checks_out), (4, 0));
    assert!((8.0..12.0).contains(&figures.spacing_m), "{}", figures.spacing_m);
}

#[test]
fn a_wrong_base_shows_in_the_check_shots() {
    let mut files = demo();
    // Day two set up on the wrong place: everything in it 0.8 m east and 0.4 m high.
    let foot = LengthUnit::Feet.metres();
    for record in &mut files[2].records {
        if let survey::Position::Grid { easting, .. } = &mut record.position {
            *easting += 0.8 / foot;
        }
        record.elevation = record.elevation.map(|z| z + 0.4 / foot);
    }
    let settings = Settings { roles: roles(), ..Settings::default() };
    let frame = resolve("EPSG:32755").unwrap();
    let near = survey::middle(&files, &settings, &frame).unwrap().unwrap();
    let noted = survey::check(&files, &settings, &frame.site_frame(near, None)).unwrap();
    let out: Vec<&str> =
        noted.notes.iter().filter(|note| note.code == "survey::check-out").map(|note| note.text.as_str()).collect();
    assert_eq!(out.len(), 1);
    assert!(out[0].starts_with("day2.txt: check shots are out"), "{}", out[0]);
}

#[test]
fn the_ground_of_the_demo_keeps_its_breaklines() {
    let survey = checked().value;
    let ground = ground::build(&survey, &GroundSettings::default()).unwrap().value;
    let along: f64 = survey
        .breaklines
        .iter()
        .flat_map(|line| line.windows(2))
        .map(|pair| {
            let [a, b] = [pair[0], pair[1]].map(|i| survey.shots[i as usize].place);
            a.distance(b)
        })
        .sum();
    let figures = ground.figures();
    assert!((figures.breakline_length_m - along).abs() < 0.1, "{} {along}", figures.breakline_length_m);
    assert!((60_000.0..80_000.0).contains(&figures.plan_area_m2), "{}", figures.plan_area_m2);
}

/// Nothing but the files: columns of the second said, as its own line shows no header.
#[test]
fn look_tells_all_of_a_file_before_any_pipeline_exists() {
    let looked = survey::look(&demo(), &Settings::default(), None).unwrap();
    let look = &looked.look;
    let run = checked().value;
    assert_eq!(look.shots_kept, run.shots.len(), "as many as with the frame and the table");
    assert_eq!(look.set_aside, run.set_aside);
    assert_eq!(look.checks.len(), 4);
    let day1 = &look.files[1];
    assert_eq!((day1.format, day1.columns_from), (Format::Text(Delimiter::Comma), survey::ColumnsFrom::Header));
    assert_eq!((day1.fixes.float, day1.fixes.unknown), (3, 0));
    let role = |code: &str| day1.codes.iter().find(|c| c.code == code).map(|c| (c.role, c.role_from));
    assert_eq!(role("gs"), Some((Role::Ground, survey::RoleFrom::Guessed)));
    assert_eq!(role("ridge"), Some((Role::Breakline, survey::RoleFrom::Guessed)));
    let extent = look.extent.unwrap();
    assert!(extent.west > 412_000.0 && extent.north < 6_187_500.0, "{extent:?}");

    let json = serde_json::to_value(look).unwrap();
    assert_eq!(json["kind"], "points");
    assert_eq!(json["points"], look.points);
    assert_eq!(json["files"][1]["columns"][0], "point");
    assert_eq!(json["files"][2]["unit"], "feet");
    assert_eq!(json["set_aside"][0]["reason"], "not fixed");
}

#[test]
fn look_lays_latitudes_flat() {
    let text = "name,latitude,longitude,height,code\n1,-34.45,145.05,431,gs\n2,-34.4501,145.05,431,gs\n3,-34.4502,145.0501,431,gs\n";
    let file = points::parse(text.as_bytes(), "ll.csv", &FileSettings::default()).unwrap();
    let looked = survey::look(&[file], &Settings::default(), None).unwrap();
    assert!(looked.look.files[0].geographic);
    assert!((looked.look.spacing_m - 11.12).abs() < 0.01, "{}", looked.look.spacing_m);
    assert!(looked.look.notes.iter().any(|note| note.code == "look::laid-flat"));
}

#[test]
fn look_shows_a_file_of_which_nothing_can_be_used() {
    let text = "point,easting,northing,elevation,fix\n1,1,2,3,float\n2,4,5,6,single\n";
    let file = points::parse(text.as_bytes(), "f.csv", &FileSettings::default()).unwrap();
    let look = survey::look(&[file], &Settings::default(), None).unwrap().look;
    assert_eq!((look.shots_kept, look.set_aside.len(), look.extent), (0, 2, None));
}

/// Real ground as a rover would shoot it: thinned to one point in a cell, no codes, no breaklines. Banks, a road and
/// hollows are in it, and hardly any of it is taken for a blunder.
#[test]
fn natural_ground_is_not_taken_for_blunders() {
    let clouds: Vec<[f64; 3]> = ["bocage_valley_west.laz", "bocage_valley_east.laz"]
        .iter()
        .flat_map(|name| {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples/real-valley").join(name);
            swalewright::io::read::cloud::read(&path, &[2]).unwrap().value.ground
        })
        .collect();
    for cell in [5.0, 8.0, 11.0, 15.0] {
        let mut seen = BTreeSet::new();
        let mut lines = Vec::new();
        for &[x, y, z] in &clouds {
            if seen.insert(format!("{:.0} {:.0}", (x / cell).floor(), (y / cell).floor())) {
                lines.push(format!("{},{y:.3},{x:.3},{z:.3},gs", lines.len() + 1));
            }
        }
        let file = points::parse(lines.join("\n").as_bytes(), "walk.csv", &FileSettings::default()).unwrap();
        let settings = Settings { roles: roles(), ..Settings::default() };
        let frame = resolve("EPSG:2154").unwrap();
        let near = survey::middle(std::slice::from_ref(&file), &settings, &frame).unwrap().unwrap();
        let noted = survey::check(&[file], &settings, &frame.site_frame(near, None)).unwrap();
        let aside = noted.value.set_aside.len();
        assert!(lines.len() > 700 && aside * 100 <= lines.len(), "{aside} of {} at {cell} m", lines.len());
        let told = noted.notes.iter().any(|note| note.code == "survey::off-neighbours-together");
        assert!(told, "its banks are told at {cell} m");
    }
}

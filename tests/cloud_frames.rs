//! What a cloud says of itself and a run makes of it: its frame by WKT and by GeoTIFF keys, agreeing, at odds or absent; classes
//! that are not plain; heights above the ellipsoid; more ground than the memory allows.

use std::fs;
use std::path::{Path, PathBuf};
use swalewright::frame::{Geographic, Projector, resolve};
use swalewright::io::read::cloud::{self, Cloud};
use swalewright::notes::{Noted, Silent};
use swalewright::pipeline::{self, PointOptions, RunOptions};
use swalewright::surface::Locator;

/// GeoTIFF keys (OGC 19-008): model type, and the code of a projected system.
fn keys(code: u16) -> las::Vlr {
    let words: [u16; 12] = [1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, code];
    let data = words.iter().flat_map(|word| word.to_le_bytes()).collect();
    las::Vlr { user_id: "LASF_Projection".into(), record_id: 34735, description: String::new(), data }
}

fn wkt(code: &str) -> las::Vlr {
    let data = resolve(code).unwrap().wkt.unwrap().into_bytes();
    las::Vlr { user_id: "LASF_Projection".into(), record_id: 2112, description: String::new(), data }
}

/// Points a metre apart over 30 by 30 m, their classes in turn from the list; written as bytes, since the writing library knows
/// no class 12.
fn cloud(path: &Path, format: u8, records: Vec<las::Vlr>, by_wkt: bool, classes: &[u8]) -> PathBuf {
    let mut builder = las::Builder::from((1, 4));
    builder.point_format = las::point::Format::new(format).unwrap();
    builder.has_wkt_crs = by_wkt;
    builder.vlrs = records;
    let axis = |offset| las::Transform { scale: 0.001, offset };
    builder.transforms = las::Vector { x: axis(412_000.0), y: axis(6_187_000.0), z: axis(0.0) };
    let mut writer = las::Writer::from_path(path, builder.into_header().unwrap()).unwrap();
    for at in 0..900_u32 {
        let point = las::Point {
            x: 412_350.0 + f64::from(at % 30),
            y: 6_187_220.0 + f64::from(at / 30),
            z: 430.0 + 0.02 * f64::from(at % 30),
            return_number: 1,
            number_of_returns: 1,
            gps_time: Some(0.0),
            ..Default::default()
        };
        writer.write_point(point).unwrap();
    }
    writer.close().unwrap();
    drop(writer);
    let mut bytes = fs::read(path).unwrap();
    let number = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    let (start, length) = (number(96), usize::from(u16::from_le_bytes([bytes[105], bytes[106]])));
    for (at, class) in (0..900).zip(classes.iter().cycle()) {
        bytes[start + at * length + if format < 6 { 15 } else { 16 }] = *class;
    }
    fs::write(path, bytes).unwrap();
    path.to_owned()
}

fn read(path: &Path, ground: &[u8]) -> Noted<Cloud> {
    cloud::read(path, ground).unwrap()
}

fn codes(noted: &Noted<Cloud>) -> Vec<&str> {
    noted.notes.iter().map(|note| note.code.as_str()).collect()
}

fn text<'a>(noted: &'a Noted<Cloud>, code: &str) -> &'a str {
    noted
        .notes
        .iter()
        .find(|note| note.code == code)
        .map_or_else(|| panic!("no {code} in {:?}", codes(noted)), |note| &note.text)
}

#[test]
fn the_frame_comes_from_keys_or_wkt_and_a_conflict_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("c.las");
    let named = |records: Vec<las::Vlr>, by_wkt: bool| read(&cloud(&path, 1, records, by_wkt, &[2]), &[2]);
    let known = |noted: &Noted<Cloud>| noted.value.file.crs.as_deref().map(|crs| resolve(crs).unwrap().crs);
    let by_keys = named(vec![keys(32755)], false);
    assert_eq!(known(&by_keys).as_deref(), Some("EPSG:32755"));
    let by_wkt = named(vec![wkt("EPSG:28355")], true);
    assert_eq!(known(&by_wkt).as_deref(), Some("EPSG:28355"));
    let both = named(vec![wkt("EPSG:32755"), keys(32755)], true);
    assert_eq!(known(&both).as_deref(), Some("EPSG:32755"));
    for noted in [&by_keys, &by_wkt, &both] {
        assert!(codes(noted).is_empty(), "{:?}", codes(noted));
    }
    // The header's flag says which rules.
    for (flag, rules, how) in [(true, "EPSG:28355", "WKT"), (false, "EPSG:32755", "GeoTIFF keys")] {
        let odds = named(vec![wkt("EPSG:28355"), keys(32755)], flag);
        assert_eq!(known(&odds).as_deref(), Some(rules));
        let told = text(&odds, "cloud::two-frames");
        assert!(
            told.contains("EPSG:32755") && told.contains("EPSG:28355") && told.contains(&format!("its {how} rule")),
            "{told}"
        );
    }
    let none = named(Vec::new(), false);
    assert_eq!(none.value.file.crs, None);
    let site = resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), None);
    assert_eq!(none.value.in_frame(&site).unwrap().notes[0].code, "cloud::no-frame");
    // User-defined keys carry no code.
    assert!(text(&named(vec![keys(32767)], false), "cloud::frame-not-understood").contains("keys without a code"));
}

#[test]
fn classes_that_are_not_plain_are_told_and_taken_when_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("c.las");
    let newer = cloud(&path, 6, Vec::new(), true, &[2, 17, 20, 26, 64, 66, 11, 12, 9]);
    let found = read(&newer, &[2]);
    assert_eq!(found.value.classes.values().copied().collect::<Vec<_>>(), [100; 9]);
    assert_eq!((found.value.ground.len(), found.value.overlap), (100, 0), "class 12 means nothing in these formats");
    let told = text(&found, "cloud::own-classes");
    for class in ["20 (100 points)", "26 (100 points)", "64 (100 points)", "66 (100 points)"] {
        assert!(told.contains(class), "{told}");
    }
    assert!(!told.contains("17 (") && told.contains("`cloud-ground` names them"), "{told}");
    assert!(text(&found, "cloud::kin-of-ground").contains("100 points of class 11 (road surface)"));
    let named = read(&newer, &[2, 20, 11]);
    assert_eq!(named.value.ground.len(), 300);
    assert!(!text(&named, "cloud::own-classes").contains("20 ("));
    assert!(!codes(&named).contains(&"cloud::kin-of-ground"));

    let older = cloud(&path, 1, Vec::new(), false, &[2, 12, 8]);
    let found = read(&older, &[2]);
    assert_eq!((found.value.ground.len(), found.value.overlap), (300, 300));
    assert_eq!(found.value.classes.keys().copied().collect::<Vec<_>>(), [2, 8, 12], "12 is not taken for 1");
    assert!(text(&found, "cloud::overlap").contains("300 points of class 12 (overlap of flight lines) are left out"));
    assert!(text(&found, "cloud::kin-of-ground").contains("class 8 (model key points"));
}

fn run(folder: &Path, more: &str) -> Result<serde_json::Value, String> {
    let site =
        format!("format = 1\n[site]\nname = \"Flat\"\ncrs = \"EPSG:32755\"\n[survey]\nclouds = [\"c.las\"]\n{more}\n");
    fs::write(folder.join("site.toml"), site).unwrap();
    let options = RunOptions { out: Some(folder.join("out")), ..RunOptions::default() };
    pipeline::run(&folder.join("site.toml"), &options, &Silent).map(|ran| ran.manifest).map_err(|why| why.to_string())
}

fn lowest(folder: &Path) -> f64 {
    let text = fs::read_to_string(folder.join("out/ground/ground.json")).unwrap();
    serde_json::from_str::<serde_json::Value>(&text).unwrap()["lowest_m"].as_f64().unwrap()
}

/// A GTX grid (big-endian: south, west, steps, rows, columns, values in metres from the south-west) of one value over the site.
fn flat_geoid(path: &Path, west: f64, height: f32) {
    let mut bytes = Vec::new();
    for value in [-36.0_f64, west, 1.0, 1.0] {
        bytes.extend(value.to_be_bytes());
    }
    for count in [4_i32, 4] {
        bytes.extend(count.to_be_bytes());
    }
    for _ in 0..16 {
        bytes.extend(height.to_be_bytes());
    }
    fs::write(path, bytes).unwrap();
}

/// A class that no point has is a slip of the pipeline file, and 5 MB are told as that.
#[test]
fn a_named_class_that_is_not_there_is_told() {
    let folder = tempfile::tempdir().unwrap();
    cloud(&folder.path().join("c.las"), 6, vec![wkt("EPSG:32755")], true, &[1, 2]);
    let told = run(folder.path(), "cloud-ground = [2, 77]").unwrap().to_string();
    assert!(told.contains("no point of a cloud has class 77, which cloud-ground names: there are 1, 2"), "{told}");
    assert!(!run(folder.path(), "cloud-ground = [1, 2]").unwrap().to_string().contains("cloud::class-not-there"));
    let why = run(folder.path(), "cloud-memory = \"0.2 MB\"").unwrap_err();
    assert!(why.contains("450 ground points") && why.contains("allows 0.2 MB"), "{why}");
}

#[test]
fn a_cloud_above_the_ellipsoid_takes_the_geoid_of_the_shots() {
    let folder = tempfile::tempdir().unwrap();
    cloud(&folder.path().join("c.las"), 6, vec![wkt("EPSG:32755")], true, &[2]);
    flat_geoid(&folder.path().join("flat.gtx"), 146.0, 18.25);
    let given = run(folder.path(), "geoid = \"flat.gtx\"").unwrap().to_string();
    assert!(given.contains("survey::cloud-heights-as-given"), "{given}");
    assert!((lowest(folder.path()) - 430.0).abs() < 1e-3);
    let told = run(folder.path(), "geoid = \"flat.gtx\"\ncloud-heights = \"ellipsoidal\"").unwrap().to_string();
    assert!(told.contains("900 elevations of clouds are ellipsoidal height minus geoid height"), "{told}");
    assert!((lowest(folder.path()) - (430.0 - 18.25)).abs() < 1e-3, "{}", lowest(folder.path()));
    let why = run(folder.path(), "cloud-heights = \"ellipsoidal\"").unwrap_err();
    assert!(why.contains("needs a geoid grid"), "{why}");
    // Of a list the first that covers the site rules; where none does, one message says what each covers.
    flat_geoid(&folder.path().join("far.gtx"), 20.0, 40.0);
    let list = |names: &str| run(folder.path(), &format!("geoid = [{names}]\ncloud-heights = \"ellipsoidal\""));
    let told = list("\"far.gtx\", \"flat.gtx\"").unwrap().to_string();
    assert!(told.contains("minus geoid height by far.gtx, else flat.gtx (18.250 to 18.250 m)"), "{told}");
    assert!((lowest(folder.path()) - (430.0 - 18.25)).abs() < 1e-3, "{}", lowest(folder.path()));
    let why = list("\"far.gtx\"").unwrap_err();
    assert!(
        why.contains("the geoid grid far.gtx gives no height at longitude 14") && why.contains("20.000 to 23.000"),
        "{why}"
    );
}

/// The inclined plane of the site on a cloud: at the point that it is given about its offset, 29 m to the north of it the slope along
/// the meridian more, 29 m to the east the slope along the parallel; the frame's scale and turn are below 1 % of that here.
#[test]
fn a_cloud_takes_the_inclined_plane_of_the_shots() {
    let folder = tempfile::tempdir().unwrap();
    cloud(&folder.path().join("c.las"), 6, vec![wkt("EPSG:32755")], true, &[2]);
    flat_geoid(&folder.path().join("flat.gtx"), 146.0, 18.25);
    let frame = resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), None);
    let about = frame.to_local(412_350.0, 6_187_220.0);
    let projector = Projector::new(&frame, &Geographic::OwnDatum).unwrap();
    let (longitude, latitude) = projector.to_lonlat(about).unwrap();
    let plane = |north: &str, east: &str| {
        let plane = format!(
            "inclined-plane = {{ latitude = {latitude}, longitude = {longitude}, offset = \"-0.245 m\", slope-latitude = \"{north}\", \
             slope-longitude = \"{east}\" }}"
        );
        run(folder.path(), &format!("geoid = \"flat.gtx\"\ncloud-heights = \"ellipsoidal\"\n{plane}")).unwrap();
        let opened =
            pipeline::open_surface(&folder.path().join("out").display().to_string(), &PointOptions::default(), None);
        let opened = opened.unwrap().value;
        let ground = Locator::new(&opened.tin);
        [(0.0, 0.0), (0.0, 29.0), (29.0, 0.0)].map(|(x, y)| {
            let place = opened.frame.to_local(412_350.0 + x, 6_187_220.0 + y);
            ground.elevation(place).unwrap() - (430.0 + 0.02 * x - 18.25)
        })
    };
    let tilt = (200.0 / 3600.0_f64).to_radians();
    for (north, east, due) in [
        ("0 arcsec", "0 arcsec", [0.0, 0.0, 0.0]),
        ("200 arcsec", "0 arcsec", [0.0, 29.0 * tilt, 0.0]),
        ("0 arcsec", "-200 arcsec", [0.0, 0.0, -29.0 * tilt]),
    ] {
        let found = plane(north, east);
        for (found, due) in found.iter().zip(due) {
            assert!((found - (due - 0.245)).abs() < 5e-4, "{north} {east}: {found} {due}");
        }
    }
}

#[test]
fn more_ground_than_the_memory_allows_is_counted_and_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = cloud(&folder.path().join("c.las"), 6, vec![wkt("EPSG:32755")], true, &[2]);
    let why = run(folder.path(), "cloud-memory = \"0.1 MB\"").unwrap_err();
    assert!(why.contains("c.las") && why.contains("900 ground points") && why.contains("cloud-memory allows"), "{why}");
    assert!(!folder.path().join("out/run.json").exists());
    run(folder.path(), "cloud-memory = \"1 MB\"").unwrap();
    // What is over the limit is counted and not held.
    let held = cloud::read_at_most(&path, &[2], 100).unwrap().value;
    assert_eq!((held.ground.len(), held.ground_points), (100, 900));
    // Ground that is found is bounded in the same way.
    let why = run(folder.path(), "classify = \"always\"\ncloud-memory = \"0.1 MB\"").unwrap_err();
    assert!(why.contains("ground points of clouds"), "{why}");
}

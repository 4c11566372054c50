//! Clouds: what is kept, and that every broken file ends in one clear message and never in a large buffer or a panic.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use swalewright::frame::{FrameDefinition, SiteFrame, resolve};
use swalewright::io::read::cloud::{self, Cloud};
use swalewright::notes::Noted;
use swalewright::units::LengthUnit;

/// 1,000 points on a 1 m grid over a plane, every fourth one ground, every tenth withheld.
fn plane(folder: &Path, ending: &str, format: u8, wkt: Option<&str>) -> PathBuf {
    let path = folder.join(format!("plane.{ending}"));
    let mut builder = las::Builder::from((1, 4));
    builder.point_format = las::point::Format::new(format).unwrap();
    builder.point_format.is_compressed = ending == "laz";
    let axis = |offset| las::Transform { scale: 0.001, offset };
    builder.transforms = las::Vector { x: axis(412_000.0), y: axis(6_187_000.0), z: axis(0.0) };
    let mut header = builder.into_header().unwrap();
    if let Some(wkt) = wkt {
        header.set_wkt_crs(wkt.as_bytes().to_vec()).unwrap();
    }
    let mut writer = las::Writer::from_path(&path, header).unwrap();
    for at in 0..1000u16 {
        let (x, y) = (f64::from(at % 40), f64::from(at / 40));
        let point = las::Point {
            x: 412_350.0 + x,
            y: 6_187_220.0 + y,
            z: 430.0 + 0.02 * x + 0.01 * y,
            classification: las::point::Classification::new([2, 9, 1, 18][usize::from(at) % 4]).unwrap(),
            is_withheld: at % 10 == 0,
            return_number: 1,
            number_of_returns: 1,
            gps_time: Some(0.0),
            color: (format == 7).then(las::Color::default),
            ..Default::default()
        };
        writer.write_point(point).unwrap();
    }
    writer.close().unwrap();
    path
}

fn site() -> SiteFrame {
    resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), None)
}

fn told(path: &Path) -> String {
    cloud::read(path, &[2]).map_or_else(|why| why.to_string(), |read| format!("read {} points", read.value.points()))
}

#[test]
fn only_ground_that_is_not_withheld_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    for (ending, format) in [("las", 1), ("laz", 1), ("las", 6), ("laz", 6), ("laz", 7)] {
        let Noted { value: read, .. } = cloud::read(&plane(folder.path(), ending, format, None), &[2]).unwrap();
        // Every fourth point is ground, every tenth withheld: 250 - 50 are kept.
        assert_eq!((read.points(), read.withheld, read.ground.len()), (900, 100, 200), "{ending} {format}");
        assert_eq!(read.classes.keys().copied().collect::<Vec<_>>(), [1, 2, 9, 18]);
        let Noted { value: points, notes } = read.in_frame(&site()).unwrap();
        assert_eq!(notes[0].code, "cloud::no-frame");
        for point in points {
            let wanted = 430.0 + 0.02 * (point.x - 50.0) + 0.01 * (point.y - 20.0);
            assert!((point.z - wanted).abs() < 0.001, "{point:?}");
        }
    }
}

#[test]
fn the_frame_in_the_file_is_held_against_the_sites() {
    let folder = tempfile::tempdir().unwrap();
    let cloud_in = |crs: &str| {
        let wkt = resolve(crs).unwrap().wkt.unwrap();
        cloud::read(&plane(folder.path(), "las", 6, Some(&wkt)), &[2]).unwrap().value
    };
    assert!(cloud_in("EPSG:32755").in_frame(&site()).unwrap().notes.is_empty());
    let other = cloud_in("EPSG:28355").in_frame(&site()).unwrap_err().to_string();
    assert!(other.contains("GDA94 / MGA zone 55") && other.contains("convert the cloud first"), "{other}");
    let grid = FrameDefinition::local(LengthUnit::Metres).site_frame((412_350.0, 6_187_220.0), None);
    assert_eq!(cloud_in("EPSG:32755").in_frame(&grid).unwrap().notes[0].code, "cloud::frame-left-out");
    // Metres in plan and US survey feet in height: taken as metres, the ground would be three times too high.
    let renamed = |crs: &str| {
        let mut cloud: Cloud = cloud_in("EPSG:32755");
        cloud.file.crs = Some(crs.to_owned());
        cloud
    };
    let mixed = renamed("EPSG:32610+6360");
    assert!(mixed.in_frame(&site()).unwrap_err().to_string().contains("both must be in one unit"));
    let nonsense = renamed("LOCAL_CS[\"mine\"");
    assert_eq!(nonsense.in_frame(&site()).unwrap().notes[0].code, "cloud::frame-not-understood");
}

#[test]
fn a_cloud_without_ground_class_is_refused_with_what_it_has() {
    let folder = tempfile::tempdir().unwrap();
    let mut read = cloud::read(&plane(folder.path(), "las", 1, None), &[2]).unwrap().value;
    read.ground.clear();
    read.classes.remove(&2);
    let refused = read.in_frame(&site()).unwrap_err().to_string();
    assert!(refused.contains("no ground class in this file; classify it"), "{refused}");
    assert!(refused.contains("1 (200 points)"), "{refused}");
    read.classes.clear();
    assert!(read.in_frame(&site()).unwrap_err().to_string().contains("no points in this file"));
}

#[test]
fn broken_files_of_others() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/clouds");
    let garbage = told(&data.join("garbage_nVariableLength.las"));
    assert!(garbage.contains("the header says 1069128089 records before the points, there is room for 0"), "{garbage}");
    assert_eq!(told(&data.join("gps-time-nan.las")), "read 1 points", "times are not used");
    assert_eq!(told(&data.join("synthetic_test.las")), "read 1 points");
}

#[test]
fn every_fault_gets_its_message() {
    let folder = tempfile::tempdir().unwrap();
    let sound = fs::read(plane(folder.path(), "las", 1, None)).unwrap();
    let packed = fs::read(plane(folder.path(), "laz", 6, None)).unwrap();
    let with = |bytes: &[u8], at: usize, new: &[u8]| {
        let mut changed = bytes.to_vec();
        changed[at..at + new.len()].copy_from_slice(new);
        let path = folder.path().join("changed.las");
        fs::write(&path, changed).unwrap();
        told(&path)
    };
    let holds = |message: String, part: &str| assert!(message.contains(part), "wanted `{part}`, got `{message}`");
    holds(told(&folder.path().join("missing.las")), "cannot be read");
    fs::write(folder.path().join("empty.las"), b"").unwrap();
    holds(told(&folder.path().join("empty.las")), "empty.las is empty");
    holds(with(&sound, 0, b"PK\x03\x04"), "signature");
    // LAS 1.4: number of points at byte 247, offset to points at 96, records before them at 100, scale of x at 131.
    holds(with(&sound, 247, &u64::MAX.to_le_bytes()), "the file has room for 1000");
    holds(with(&sound, 247, &1001u64.to_le_bytes()), "the header says 1001 points of 28 bytes");
    holds(with(&sound, 96, &u32::MAX.to_le_bytes()), "points from byte 4294967295");
    holds(with(&sound, 100, &77u32.to_le_bytes()), "the header says 77 records before the points");
    holds(with(&sound, 131, &f64::NAN.to_le_bytes()), "scale NaN");
    holds(with(&sound, 155, &f64::INFINITY.to_le_bytes()), "offset inf");
    holds(with(&sound, 131, &1e308f64.to_le_bytes()), "places such as");
    holds(with(&sound, 105, &3u16.to_le_bytes()), "point records of 3 bytes");
    holds(with(&packed, 247, &1_000_000u64.to_le_bytes()), "the header says 1000000 points");
    let start = u32::from_le_bytes(packed[96..100].try_into().unwrap()) as usize;
    holds(with(&packed, start, &(1u64 << 40).to_le_bytes()), "its table of chunks should start at byte");
    // The size of the first layer of the first chunk, which the unpacking library would set aside at once.
    holds(with(&packed, start + 8 + 30 + 4, &u32::MAX.to_le_bytes()), "the file ends at");
    let cut = folder.path().join("cut.las");
    fs::write(&cut, &sound[..sound.len() - 10]).unwrap();
    holds(told(&cut), "the file has room for 999");
    fs::write(&cut, &sound[..100]).unwrap();
    holds(told(&cut), "is not a readable LAS or LAZ cloud");
}

/// Bytes changed at random: an answer or a message, never a panic that reaches the caller.
#[test]
fn random_faults() {
    let folder = tempfile::tempdir().unwrap();
    let mut random = ChaCha8Rng::seed_from_u64(20);
    for (ending, format) in [("las", 1), ("laz", 1), ("laz", 7)] {
        let sound = fs::read(plane(folder.path(), ending, format, None)).unwrap();
        let mut refused = 0;
        for _ in 0..200 {
            let mut bytes = sound.clone();
            for _ in 0..random.random_range(1..4) {
                let at = random.random_range(0..bytes.len().min(1200));
                bytes[at] = random.random();
            }
            if random.random_ratio(1, 8) {
                bytes.truncate(random.random_range(0..sound.len()));
            }
            let path = folder.path().join("changed.las");
            fs::write(&path, bytes).unwrap();
            if let Err(why) = cloud::read(&path, &[2]) {
                let told = why.to_string();
                assert!(told.contains("changed.las") && !told.contains("buffer"), "{told}");
                refused += 1;
            }
        }
        assert!(refused > 20, "{ending} {format}: only {refused} of 200 were noticed");
    }
}

/// Shots on a real valley floor and sides, planted 100 mm below its cloud: the run tells the offset, takes it off, and thins.
#[test]
fn shots_and_a_real_cloud_become_one_ground() {
    let folder = tempfile::tempdir().unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples/real-valley/bocage_valley_west.laz");
    fs::copy(&sample, folder.path().join("west.laz")).unwrap();
    let points = cloud::read(&sample, &[2]).unwrap().value.ground;
    let step = points.len() / 60;
    let mut rows = "point,easting,northing,elevation,code\n".to_owned();
    for (name, [x, y, z]) in points.iter().step_by(step).enumerate() {
        writeln!(rows, "{name},{x:.3},{y:.3},{:.3},gs", z - 0.100).unwrap();
    }
    fs::write(folder.path().join("day1.csv"), rows).unwrap();
    let site = "format = 1\n[site]\nname = \"Kestrel Flat\"\ncrs = \"EPSG:2154\"\n[survey]\nshots = [\"day1.csv\"]\n\
                clouds = [\"west.laz\"]\n[survey.roles]\nground = [\"gs\"]\n[ground]\ncloud-offset = \"correct\"\n\
                thin-to = \"100 mm\"\n";
    fs::write(folder.path().join("site.toml"), site).unwrap();
    let ran = assert_cmd::Command::cargo_bin("swalewright")
        .unwrap()
        .current_dir(folder.path())
        .args(["run", "site.toml", "--out", "out", "--until", "ground", "--json"])
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let told = String::from_utf8_lossy(&ran.stdout);
    let after = |lead: &str| -> f64 {
        let at = told.find(lead).unwrap_or_else(|| panic!("`{lead}` in {told}")) + lead.len();
        told[at..].split_whitespace().next().unwrap().parse().unwrap()
    };
    let offset = after("the cloud stands ");
    assert!((offset - 100.0).abs() <= 20.0, "{offset} mm");
    assert!(told.contains("mm above the shots"), "{told}");
    assert!(told.contains("the cloud is corrected by it") && told.contains("give way to it"), "{told}");
    let before = after("thinned from ");
    let left = after(&format!("thinned from {before} to "));
    assert!(before > 15_000.0 && left < before / 2.0, "{before} to {left}");
    assert!(after("left out stands ") <= 100.0);
}

/// A cloud of one flat with a shed on it, nothing classified, every format: the run finds the ground and leaves the file with
/// its classes, all else as it was.
#[test]
fn an_unclassified_cloud_gets_its_ground() {
    let folder = tempfile::tempdir().unwrap();
    for (format, ending) in [(1, "las"), (6, "laz")] {
        let source = folder.path().join(format!("shed.{ending}"));
        let mut builder = las::Builder::from((1, 4));
        builder.point_format = las::point::Format::new(format).unwrap();
        builder.point_format.is_compressed = ending == "laz";
        let axis = |offset| las::Transform { scale: 0.001, offset };
        builder.transforms = las::Vector { x: axis(0.0), y: axis(0.0), z: axis(0.0) };
        let mut writer = las::Writer::from_path(&source, builder.into_header().unwrap()).unwrap();
        let shed = |x: u32, y: u32| (20..30).contains(&x) && (15..25).contains(&y);
        for at in 0..3600_u32 {
            let (x, y) = (at % 60, at / 60);
            let point = las::Point {
                x: f64::from(x) + 0.5,
                y: f64::from(y) + 0.5,
                z: 50.0 + 0.02 * f64::from(x) + if shed(x, y) { 4.0 } else { 0.0 },
                intensity: u16::try_from(at).unwrap(),
                return_number: 1,
                number_of_returns: 1,
                gps_time: Some(f64::from(at)),
                ..Default::default()
            };
            writer.write_point(point).unwrap();
        }
        writer.close().unwrap();
        let pipeline = folder.path().join("site.toml");
        let text = |more: &str| {
            format!(
                "format = 1\n[site]\nname = \"Flat\"\ncrs = \"local\"\n[survey]\nclouds = [\"shed.{ending}\"]\n{more}\n[ground]\nclassified = true\n"
            )
        };
        fs::write(&pipeline, text("")).unwrap();
        let out = folder.path().join(format!("out-{ending}"));
        let options = swalewright::pipeline::RunOptions { out: Some(out.clone()), ..Default::default() };
        let run = || swalewright::pipeline::run(&pipeline, &options, &swalewright::notes::Silent);
        let told = run().unwrap().manifest.to_string();
        assert!(told.contains("cloud::ground-found") && told.contains("3500 of them"), "{told}");

        let all = |path: &Path| las::Reader::from_path(path).unwrap().read_all().unwrap();
        let (before, after) = (all(&source), all(&out.join("ground/classified.laz")));
        assert_eq!(after.len(), 3600);
        assert!(before.x_raw().eq(after.x_raw()) && before.z_raw().eq(after.z_raw()));
        assert!(before.intensity().eq(after.intensity()));
        assert!(before.gps_time().unwrap().eq(after.gps_time().unwrap()));
        for (at, class) in after.classification().enumerate() {
            let at = u32::try_from(at).unwrap();
            assert_eq!(class, if shed(at % 60, at / 60) { 1 } else { 2 }, "{at}");
        }
        fs::write(&pipeline, text("classify = \"never\"")).unwrap();
        assert!(run().unwrap_err().to_string().contains("no ground class"));
    }
}

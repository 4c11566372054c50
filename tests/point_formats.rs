//! Points from files of every format: real logs of receivers, sheets that other programs wrote, map files and documents.

use std::path::{Path, PathBuf};
use swalewright::frame::Geographic;
use swalewright::io::read::level_book;
use swalewright::io::read::points::{self, FileSettings};
use swalewright::survey::{Epochs, Fix, Format, HeightsAre, PointFile, Position, step};
use swalewright::units::LengthUnit;

fn path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

fn read_as(name: &str, settings: FileSettings) -> Result<PointFile, String> {
    let short = name.rsplit('/').next().unwrap_or(name).to_owned();
    points::read(&path(name), &FileSettings { name: Some(short), ..settings }).map_err(|error| error.to_string())
}

fn read(name: &str) -> PointFile {
    read_as(name, FileSettings::default()).unwrap()
}

fn every() -> FileSettings {
    FileSettings { epochs: Epochs::Every, ..FileSettings::default() }
}

/// Counts by an independent count of the lines: 104 sentences of quality 2, 18 of quality 4, in two files.
#[test]
fn logs_of_a_receiver_with_changing_talkers_and_times() {
    let counts = |name: &str| {
        let file = read_as(name, every()).unwrap();
        assert_eq!((file.format, file.heights), (Format::Nmea, HeightsAre::ReceiverGeoid));
        let of = |fix: Fix| file.records.iter().filter(|record| record.quality.fix == fix).count();
        let all = std::fs::read_to_string(path(name)).unwrap();
        let quality = |number: &str| {
            all.lines().filter(|line| line.contains("GGA,") && line.split(',').nth(6) == Some(number)).count()
        };
        assert_eq!((of(Fix::Fixed), of(Fix::Coarse)), (quality("4"), quality("2")), "{name}");
        assert!(file.notes.iter().all(|note| note.code != "nmea::sentences-left-out"), "every checksum of {name} fits");
        file
    };
    counts("points/nmea_fuzzy_cases.log");
    let file = counts("points/nmea_rtk_q2_q4.log");
    let first = &file.records[0];
    // Field 9 is 278.161 m, field 11 -31.442 m; RMC dates it 18 March 2020.
    assert!((first.ellipsoid_height.unwrap() - 246.719).abs() < 1e-9 && first.elevation == Some(278.161));
    assert_eq!(first.time.as_deref(), Some("2020-03-18T13:28:19.60Z"));
    assert_eq!(first.setup.base, "0133");
}

/// The fixed epochs of that log are of a rover that stands.
#[test]
fn a_standing_rover_becomes_one_shot_with_its_scatter() {
    let file = read("points/nmea_rtk_q2_q4.log");
    let fixed: Vec<_> = file.records.iter().filter(|record| record.quality.fix == Fix::Fixed).collect();
    let [shot] = fixed.as_slice() else { panic!("{fixed:?}") };
    assert_eq!(shot.quality.epochs, Some(18));
    assert!(shot.quality.vertical_scatter.unwrap() < 0.005 && shot.quality.horizontal_scatter.unwrap() < 0.005);
    assert_eq!(shot.quality.vertical_sigma, None, "the log states none, and scatter is no sigma");
}

/// The known place is that of the data's own source; the spread over five minutes is 0.5 mm in plan and 1.4 mm in height.
#[test]
fn a_post_processed_log_agrees_with_the_known_mark() {
    let file = read("points/static_rover_rtk.pos");
    let [shot] = file.records.as_slice() else { panic!("{} shots", file.records.len()) };
    let mark = Position::Geographic { longitude: 136.977_575_49, latitude: 35.134_699_01 };
    let [east, north] = step(mark, shot.position);
    assert!(east.abs() < 0.002 && north.abs() < 0.002, "{east} {north}");
    assert!((shot.elevation.unwrap() - 104.8626).abs() < 0.003, "{:?}", shot.elevation);
    let quality = shot.quality;
    assert_eq!((quality.fix, file.heights), (Fix::Fixed, HeightsAre::Ellipsoidal));
    assert!((quality.vertical_sigma.unwrap() - 0.0069).abs() < 0.0002, "the stated sigma, not that of a mean");
    assert!(quality.horizontal_scatter.unwrap() < 0.002 && quality.vertical_scatter.unwrap() < 0.003);
    // The base stands about a metre away.
    assert!((0.9..1.1).contains(&quality.base_distance.unwrap()), "{:?}", quality.base_distance);
    let epochs = read_as("points/static_rover_rtk.pos", every()).unwrap();
    assert_eq!(Some(epochs.records.len()), quality.epochs.map(|epochs| epochs as usize));
}

#[test]
fn sheets_of_workbooks() {
    let file = read("points/two_sheets.xlsx");
    assert_eq!(file.format, Format::Spreadsheet);
    let told: Vec<_> =
        file.records.iter().map(|r| (r.line, r.id.as_str(), r.position, r.elevation, r.code.as_str())).collect();
    let at = |easting, northing| Position::Grid { easting, northing };
    let due = [
        (4, "101", at(412_350.02, 6_187_220.155), Some(431.252), "gs"),
        (5, "a2", at(412_360.5, 6_187_230.25), Some(430.0), "ridge 1"),
        (7, "103", at(412_370.0, 6_187_240.0), None, "gs, by the gate"),
    ];
    assert_eq!(told, due);
    assert_eq!(file.records[0].time.as_deref(), Some("2026-03-14T08:20:00"));
    assert!((file.records[0].quality.vertical_sigma.unwrap() - 0.015).abs() < 1e-12);
    assert_eq!(read("points/two_sheets.xlsx#Day 1").records, file.records);
    assert_eq!(read("points/shots.ods").records.len(), 2);
    assert_eq!(read("points/shots.ods").records[0].position, due[0].2);
}

/// The book of docs/formats/level-books.md in a sheet, in columns B to H under a title, behind a sheet of notes.
#[test]
fn a_level_book_in_a_sheet_is_the_one_in_text() {
    let text = "station,backsight (m),intermediate,foresight,elevation,distance,remark\nCP1,1.345,,,432.380,40,\n\
                U000,,2.101,,,,\nTP1,1.502,,2.250,,40,\nU040,,1.349,,,,\nCP2,,,0.433,,40,closes\n";
    let due = level_book::parse(text.as_bytes(), "levels.csv", &FileSettings::default()).unwrap();
    let file = path("points/levels.xlsx");
    assert!(level_book::is_one_at(&file) && !level_book::is_one_at(&path("points/two_sheets.xlsx")));
    for file in [file.clone(), path("points/levels.xlsx#Day 2")] {
        let book = level_book::read(&file, &FileSettings::default()).unwrap();
        assert_eq!(book.unit, Some(LengthUnit::Metres));
        assert_eq!(
            book.rows.iter().map(|row| row.line).collect::<Vec<_>>(),
            [5, 6, 7, 8, 9],
            "rows as the program counts"
        );
        let mut rows = book.rows.clone();
        rows.iter_mut().zip(&due.rows).for_each(|(row, due)| row.line = due.line);
        assert_eq!(rows, due.rows);
        let heights = |book| {
            let run = swalewright::survey::reduce_levels(book, &swalewright::survey::LevelSettings::default());
            run.unwrap().value.points.into_iter().map(|point| (point.station, point.elevation_m)).collect::<Vec<_>>()
        };
        assert_eq!(heights(&book), heights(&due));
    }
    let told = level_book::read(&file, &FileSettings::default()).unwrap().notes;
    assert!(told.iter().any(|note| note.text.contains("sheet `Day 2` is read of Notes, Day 2")), "{told:?}");
    let bad = FileSettings { name: Some("bad_levels.xlsx".to_owned()), ..FileSettings::default() };
    assert_eq!(
        level_book::read(&path("points/bad_levels.xlsx"), &bad).unwrap_err().to_string(),
        "bad_levels.xlsx: cell D8: found `1.349x`, accepted is a staff reading or an elevation as a number"
    );
    let error = read_as("points/levels.xlsx", FileSettings::default()).unwrap_err();
    assert!(error.contains("levels.xlsx: it is a level book, not a point file"), "{error}");
    let error = level_book::read(&path("points/levels.xlsx#Notes"), &FileSettings::default()).unwrap_err().to_string();
    assert!(error.contains("it has no header line of a level book"), "{error}");
}

#[test]
fn bad_sheets_have_one_message() {
    let message = |name: &str| read_as(name, FileSettings::default()).unwrap_err();
    assert_eq!(message("points/bad_cell.xlsx"), "bad_cell.xlsx: cell C5 (northing): `6187230,25x` is not a number");
    assert_eq!(
        message("points/two_sheets.xlsx#Day 2"),
        "two_sheets.xlsx#Day 2: there is no sheet `Day 2` in it: it has Notes, Day 1"
    );
    let folder = tempfile::tempdir().unwrap();
    let bytes = std::fs::read(path("points/two_sheets.xlsx")).unwrap();
    for (name, content) in
        [("cut.xlsx", &bytes[..bytes.len() / 2]), ("text.xlsx", b"1,2,3,4\n"), ("cut.ods", &bytes[..9])]
    {
        let file = folder.path().join(name);
        std::fs::write(&file, content).unwrap();
        let error = points::read(&file, &FileSettings::default()).unwrap_err().to_string();
        assert!(error.contains("it is no workbook") && error.contains("accepted are xlsx"), "{error}");
    }
}

#[test]
fn points_of_a_document_keep_their_own_feet() {
    let file = read("points/points.landxml");
    assert_eq!((file.unit, file.crs.as_deref()), (Some(LengthUnit::UsSurveyFeet), Some("EPSG:3568")));
    let [a, b] = file.records.as_slice() else { panic!() };
    assert_eq!(a.position, Position::Grid { easting: 2_054_432.460, northing: 3_527_295.672 });
    assert_eq!((a.id.as_str(), a.elevation, a.code.as_str(), a.line), ("101", Some(4210.5), "gs by the gate", 6));
    assert!((a.quality.horizontal_sigma.unwrap() - 0.05).abs() < 1e-12, "feet, as the file");
    assert_eq!((b.code.as_str(), a.time.as_deref()), ("ridge1 begin", Some("2026-03-14T08:20:00")));
    // Without its elevationUnit the schema means metres, 3.28 times as much, which nobody may overlook.
    let text = std::fs::read_to_string(path("points/points.landxml")).unwrap().replace(" elevationUnit=\"feet\"", "");
    let folder = tempfile::tempdir().unwrap();
    let bare = folder.path().join("bare.landxml");
    std::fs::write(&bare, text).unwrap();
    let bare = points::read(&bare, &FileSettings::default()).unwrap();
    assert!((bare.records[0].elevation.unwrap() - 4210.5 * 3937.0 / 1200.0).abs() < 1e-6);
    let told = |file: &PointFile| file.notes.iter().any(|note| note.code == "landxml::elevations-in-metres");
    assert!(told(&bare) && !told(&file));
    let surface = read("points/points.landxml#before");
    assert_eq!(surface.records.len(), 3);
    let error = read_as("points/points.landxml#after", FileSettings::default()).unwrap_err();
    assert_eq!(error, "points.landxml#after: no surface `after` in it: it has before");
}

#[test]
fn points_of_map_files() {
    let file = read("points/points.geojson");
    assert_eq!((file.geographic, file.records.len()), (Some(Geographic::Wgs84), 2));
    let first = &file.records[0];
    assert_eq!(first.position, Position::Geographic { longitude: 146.0, latitude: -34.5 });
    assert_eq!(
        (first.elevation, first.ellipsoid_height),
        (Some(431.252), Some(440.1)),
        "the property is the elevation"
    );
    assert_eq!((first.id.as_str(), first.code.as_str()), ("a1", "gs"));
    assert!(file.notes.iter().any(|note| note.text == "1 features are no points and are passed over"));

    let file = read("geopackage/gdal_utm55.gpkg");
    assert_eq!(file.crs.as_deref(), Some("EPSG:32755"));
    assert!(!file.records.is_empty());
    // Points without z and without a column of elevations are no shots.
    let error = read_as("geopackage/gdal_wgs84.gpkg", FileSettings::default()).unwrap_err();
    assert!(error.starts_with("gdal_wgs84.gpkg: no column for an elevation: found `longitude, latitude"), "{error}");
}

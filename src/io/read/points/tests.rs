//! Tests of point files: every dialect, every bad line.

use super::*;
use crate::survey::{Column, ColumnsFrom, Delimiter, Fix, Format, Position, Setup, Tilt};
use crate::units::LengthUnit;
use proptest::prelude::*;
use std::path::Path;

fn read_text(text: &str) -> PointFile {
    parse(text.as_bytes(), "day1.csv", &FileSettings::default()).unwrap()
}

fn said(columns: &str) -> FileSettings {
    FileSettings { columns: Some(columns.to_owned()), ..FileSettings::default() }
}

fn fault(text: &str, settings: &FileSettings) -> String {
    let error = parse(text.as_bytes(), "day1.csv", settings).unwrap_err();
    assert!(error.code().starts_with("points::"));
    error.to_string()
}

fn note_codes(file: &PointFile) -> Vec<&str> {
    file.notes.iter().map(|note| note.code.as_str()).collect()
}

/// Every delimiter, with and without byte-order mark, CRLF, header, in three orders and three units, decimal comma:
/// always the same three points.
#[test]
fn a_grid_of_dialects_reads_the_same() {
    let points = [
        ("101", 412_350.02, 6_187_220.155, 431.252, "gs"),
        ("a2", 412_360.5, 6_187_230.25, 430.0, "ridge 1"),
        ("103", 412_370.0, 6_187_240.0, -2.125, "drain 2 by the tree"),
    ];
    let orders = [
        "point, northing, easting, elevation, code",
        "point, easting, northing, elevation, code",
        "code, elevation, easting, northing, point",
    ];
    let units = [None, Some(LengthUnit::Feet), Some(LengthUnit::UsSurveyFeet)];
    let mut combinations = 0;
    for delimiter in [Delimiter::Comma, Delimiter::Semicolon, Delimiter::Tab, Delimiter::Space] {
        for (bom, end, header, comma) in
            (0..16).map(|bits| (bits & 1 > 0, if bits & 2 > 0 { "\r\n" } else { "\n" }, bits & 4 > 0, bits & 8 > 0))
        {
            if comma && delimiter == Delimiter::Comma {
                continue;
            }
            for (order, unit) in orders.into_iter().flat_map(|order| units.map(|unit| (order, unit))) {
                let mark = match delimiter {
                    Delimiter::Comma => ",",
                    Delimiter::Semicolon => ";",
                    Delimiter::Tab => "\t",
                    Delimiter::Space => "  ",
                };
                let mut text = if bom { "\u{feff}".to_owned() } else { String::new() };
                text += "# a survey";
                text += end;
                if header {
                    let titles = order.split(", ").map(|title| match (title, unit) {
                        ("point" | "code", _) | (_, None) => title.to_owned(),
                        (_, Some(unit)) => format!("{title}_{}", unit.suffix()),
                    });
                    text += &titles.collect::<Vec<_>>().join(mark);
                    text += end;
                }
                for (id, easting, northing, elevation, code) in points {
                    let number = |value: f64| {
                        let number = format!("{value:.3}");
                        if comma { number.replace('.', ",") } else { number }
                    };
                    let fields = order.split(", ").map(|title| match title {
                        "point" => id.to_owned(),
                        "code" => format!("\"{code}\""),
                        "easting" => number(easting),
                        "northing" => number(northing),
                        _ => number(elevation),
                    });
                    text += &fields.collect::<Vec<_>>().join(mark);
                    text += end;
                    text += end;
                }
                let settings = FileSettings {
                    columns: (!header).then(|| order.to_owned()),
                    unit: if header { None } else { unit },
                    decimal_comma: comma,
                    ..FileSettings::default()
                };
                let file = parse(text.as_bytes(), "f", &settings).unwrap_or_else(|error| panic!("{error}\n{text}"));
                assert_eq!((file.format, file.unit), (Format::Text(delimiter), unit), "{text}");
                assert_eq!(file.records.len(), 3, "{text}");
                for (record, (id, easting, northing, elevation, code)) in file.records.iter().zip(points) {
                    assert_eq!(record.position, Position::Grid { easting, northing }, "{text}");
                    assert_eq!(
                        (record.id.as_str(), record.elevation, record.code.as_str()),
                        (id, Some(elevation), code)
                    );
                }
                combinations += 1;
            }
        }
    }
    assert_eq!(combinations, (4 * 16 - 8) * 9);
}

#[test]
fn headerless_file_is_assumed_and_told() {
    let file = read_text(
        "101,6187220.155,412350.020,431.252,gs\n102,6187221,412351,431.3,gs, by the gate, wet\n103,6187222,412352,431\n",
    );
    assert_eq!(file.columns_from, ColumnsFrom::Assumed);
    assert_eq!(note_codes(&file), ["points::columns-assumed"]);
    assert_eq!(file.records[0].position, Position::Grid { easting: 412_350.02, northing: 6_187_220.155 });
    assert_eq!(file.records[1].code, "gs, by the gate, wet");
    assert_eq!(file.records[2].code, "", "a missing description is empty");
    assert_eq!(file.records[2].line, 3);
}

#[test]
fn a_headerless_file_may_have_no_point_numbers() {
    let file = read_text("6187220.155 412350.020 431.252\n6187221 412351 431.3\n");
    assert_eq!(file.columns, [Column::Northing, Column::Easting, Column::Elevation]);
    assert_eq!(file.notes[0].text, "no header line and no columns said: read as northing, easting, elevation");
    let file = read_text("6187220.155 412350.020 431.252 gs\n6187221 412351 431.3 gs by the gate\n");
    assert_eq!(file.columns, [Column::Northing, Column::Easting, Column::Elevation, Column::Code]);
    assert_eq!((file.records[1].elevation, file.records[1].code.as_str()), (Some(431.3), "gs by the gate"));
    let file = read_text("101 6187220.155 412350.020 431.252\n102 6187221 412351 431.3\n");
    assert_eq!(file.columns, [Column::Point, Column::Northing, Column::Easting, Column::Elevation, Column::Code]);
}

/// A description under a header may hold the delimiter too, as long as it cannot be a number that slipped.
#[test]
fn the_rest_of_a_line_is_its_description() {
    let file = read_text("point,easting,northing,elevation,code\n1,1,2,3,gs, by the gate, 2 m off\n2,1,2,3,gs\n");
    assert_eq!(file.records[0].code, "gs, by the gate, 2 m off");
    let file = read_text("point east north z code\n1 10 20 3 gs by the gate\n2 10 20 3\n");
    assert_eq!((file.records[0].code.as_str(), file.records[1].code.as_str()), ("gs by the gate", ""));
    assert_eq!(
        fault("point,easting,northing,elevation,code\n1,1,5,2,3,gs\n", &FileSettings::default()),
        "day1.csv:2: 6 columns where 5 are due (point, easting, northing, elevation, code)"
    );
}

#[test]
fn fixed_width_is_said_by_characters() {
    let text = "\
P1      6187220.155  412350.020  431.252 gs by the gate
P2      6187221.000 1412351.500  431.300
P3-LONG 6187222.000  412352.000         edge, wet\n";
    let columns = "point 1-8, northing 9-19, easting 21-31, elevation 33-40, code 41-60";
    let file = parse(text.as_bytes(), "f", &said(columns)).unwrap();
    let told: Vec<_> = file.records.iter().map(|r| (r.id.as_str(), r.position, r.elevation, r.code.as_str())).collect();
    let at = |easting, northing| Position::Grid { easting, northing };
    assert_eq!(
        told,
        [
            ("P1", at(412_350.02, 6_187_220.155), Some(431.252), "gs by the gate"),
            ("P2", at(1_412_351.5, 6_187_221.0), Some(431.3), ""),
            ("P3-LONG", at(412_352.0, 6_187_222.0), None, "edge, wet"),
        ]
    );
    let message = |columns: &str, due: &str| {
        assert_eq!(
            fault(text, &said(columns)),
            format!("day1.csv: {due}; a fixed width is written as `point 1-8, northing 9-20, ...`")
        );
    };
    message(
        "point 1-8, northing, easting 21-31, elevation 33-40",
        "`northing` in columns: has no characters although others have",
    );
    message("point 0-8, northing 9-19", "`point 0-8` in columns: characters count from 1, the first before the last");
    message("point 8-1, northing 9-19", "`point 8-1` in columns: characters count from 1, the first before the last");
}

/// A width one short would read 6187220.15 for 6187220.155, or 187220.155: a word is held whole or the file is refused.
#[test]
fn a_fixed_width_cuts_no_word() {
    let text = "\
Nr      Northing    Easting     Elev    Description
P1      6187220.155 412350.020  431.252 gs
P2      6187221.000 412351.500  431.300 gs by the gate
";
    let columns = "point 1-8, northing 9-19, easting 21-31, elevation 33-40, code 41-42";
    for (wrong, characters, word) in [
        (columns.replace("9-19", "9-18"), "9-18", "6187220.155"),
        (columns.replace("9-19", "10-19"), "10-19", "6187220.155"),
        (columns.replace("9-19", "8-18"), "8-18", "6187220.155"),
    ] {
        let due = format!(
            "day1.csv:2: characters {characters} hold only part of `{word}`: accepted are columns whose characters hold whole words"
        );
        assert_eq!(fault(text, &said(&wrong)), due);
    }
    // What no column holds is told; columns may touch, and marks between columns are none of their words.
    let file = parse(text.as_bytes(), "day1.csv", &said(columns)).unwrap();
    let told = file.notes.iter().find(|note| note.code == "points::characters-not-read").unwrap();
    assert!(told.text.contains("`by`") && matches!(told.place, Some(crate::notes::Place::File { line: 3, .. })));
    let touching = "000016187220.155412350.020\n";
    let file =
        parse(touching.as_bytes(), "f", &said("point 1-5, northing 6-16, easting 17-26, elevation 27-30")).unwrap();
    assert_eq!(file.records[0].position, Position::Grid { easting: 412_350.02, northing: 6_187_220.155 });
    let parted = "1,6187220.155,412350.020,431.2\n";
    parse(parted.as_bytes(), "f", &said("point 1-1, northing 3-13, easting 15-24, elevation 26-30")).unwrap();
}

#[test]
fn precisions_become_one_sigma() {
    let text = "point,easting,northing,z,hprec (95%),vprec (95%)\n1,1,2,3,0.0173082,0.0196\n";
    let quality = read_text(text).records[0].quality;
    assert!((quality.horizontal_sigma.unwrap() - 0.010).abs() < 1e-6, "1.7308 radial sigmas, as published for 95 %");
    assert!((quality.vertical_sigma.unwrap() - 0.010).abs() < 1e-6, "1.9600 sigmas, as published for 95 %");
    let text = "point,easting,northing,z,sdn,sde,vrms\n1,1,2,3,0.006,0.008,0.02\n";
    let quality = read_text(text).records[0].quality;
    assert!((quality.horizontal_sigma.unwrap() - 0.010).abs() < 1e-12);
    let two = FileSettings { sigmas: Some(Confidence::TwoSigma), ..FileSettings::default() };
    let quality = parse(text.as_bytes(), "f", &two).unwrap().records[0].quality;
    assert!((quality.horizontal_sigma.unwrap() - 0.005).abs() < 1e-12 && quality.vertical_sigma == Some(0.01));
}

#[test]
fn all_that_a_collector_says_of_a_shot_is_carried() {
    let text = "Pt,E,N,Z,Code,Sats,PDOP,HDOP,Age,Base ID,Baseline (km),Epochs,Date,Start time,End time,Antenna type,\
                Pole height (m),Geoid model,Occupation ID,Tilt,Ratio,Height\n\
                1,1,2,3,gs,19,1.4,0.7,1.2,B2,3.5,15,2026-03-14,08:00:00,08:00:15,wide,2.0,model 2020,7,on,30,43\n";
    let record = &read_text(text).records[0];
    let quality = record.quality;
    assert_eq!((quality.satellites, quality.pdop, quality.hdop), (Some(19), Some(1.4), Some(0.7)));
    assert_eq!((quality.age, quality.base_distance, quality.epochs), (Some(1.2), Some(3500.0), Some(15)));
    assert_eq!((quality.antenna_height, quality.tilt, quality.ratio), (Some(2.0), Some(Tilt::Used), Some(30.0)));
    assert_eq!(record.time.as_deref(), Some("2026-03-14 08:00:00"));
    let due = Setup {
        until: "08:00:15".into(),
        base: "B2".into(),
        occupation: "7".into(),
        geoid: "model 2020".into(),
        antenna: "wide".into(),
    };
    assert_eq!((&record.setup, record.ellipsoid_height, record.elevation), (&due, Some(43.0), Some(3.0)));
}

#[test]
fn further_columns_and_units_in_the_header() {
    let text = "Point ID,Northing (ft),Easting (ft),Elev (ft),Code,Solution,H RMS (mm),VRMS_m,PDOP,Epochs,Pole height (m),Time,Battery\n\
                7,1000,2000,100,gs,Fixed,12,0.3048,1.8,15,1.8288,2026-03-02T08:00,80\n\
                8,1001,2001,100,gs,FLOAT,,,,,,,\n";
    let file = read_text(text);
    assert_eq!(file.unit, Some(LengthUnit::Feet));
    let q = file.records[0].quality;
    let foot = LengthUnit::Feet.metres();
    assert_eq!((q.fix, q.pdop, q.epochs), (Fix::Fixed, Some(1.8), Some(15)));
    // Sigma and antenna height are brought to the file's unit here, and to metres when the frame is known.
    assert!((q.horizontal_sigma.unwrap() * foot - 0.012).abs() < 1e-12);
    assert!((q.vertical_sigma.unwrap() - 1.0).abs() < 1e-12);
    assert!((q.antenna_height.unwrap() - 6.0).abs() < 1e-12);
    assert_eq!(file.records[0].time.as_deref(), Some("2026-03-02T08:00"));
    let q = file.records[1].quality;
    assert_eq!((q.fix, q.horizontal_sigma, q.epochs), (Fix::Float, None, None));
    assert_eq!(note_codes(&file), ["points::columns-not-read"]);
    assert!(file.notes[0].text.contains("Battery"));
}

#[test]
fn fix_numbers_and_unknown_words_are_told() {
    let file = read_text("point,easting,northing,z,fix\n1,1,2,3,4\n2,1,2,3,5\n3,1,2,3,1\n4,1,2,3,super\n5,1,2,3,\n");
    let fixes: Vec<Fix> = file.records.iter().map(|record| record.quality.fix).collect();
    assert_eq!(fixes, [Fix::Fixed, Fix::Float, Fix::Coarse, Fix::Unknown, Fix::Unknown]);
    assert_eq!(note_codes(&file), ["points::fix-unknown", "points::fix-numbers"]);
}

#[test]
fn header_behind_a_comment_mark_and_latitudes() {
    let file = read_text("# exported today\n# name lat lon height\n1 -34.5 147.25 440.5\n");
    assert_eq!(file.columns_from, ColumnsFrom::Header);
    assert_eq!(file.records[0].position, Position::Geographic { longitude: 147.25, latitude: -34.5 });
    assert_eq!(file.records[0].elevation, Some(440.5));
    assert_eq!(note_codes(&file), ["points::height-as-elevation"]);
}

#[test]
fn said_columns_beat_the_header_and_skip_it() {
    let file =
        parse(b"point,east,north,z,code\n1,10,20,3,gs\n", "f", &said("point, northing, easting, elevation, code"))
            .unwrap();
    assert_eq!(file.records[0].position, Position::Grid { easting: 20.0, northing: 10.0 });
    assert_eq!(file.records.len(), 1);
    let settings = FileSettings { unit: Some(LengthUnit::Feet), ..FileSettings::default() };
    let file = parse(b"point,e_m,n_m,z_m\n1,10,20,3\n", "f", &settings).unwrap();
    assert_eq!((file.unit, note_codes(&file)), (Some(LengthUnit::Feet), vec!["points::units-disagree"]));
}

#[test]
fn an_empty_elevation_is_kept_for_the_survey_to_set_aside() {
    assert_eq!(read_text("point,easting,northing,elevation\n1,10,20,\n").records[0].elevation, None);
}

#[test]
fn every_bad_input_has_one_message() {
    let none = FileSettings::default();
    let pnezd = said("point, northing, easting, elevation, code");
    let message = |text: &str, settings: &FileSettings, due: &str| assert_eq!(fault(text, settings), due);
    let empty = "day1.csv: is empty of points: a point file has one point a line, such as `101, 6187220.155, 412350.020, 431.252, ground`";
    message("", &none, empty);
    message("\u{feff}\r\n  \n# only words\n", &none, empty);
    message("point,northing,easting,elevation\n", &none, empty);
    message(
        "hello\n",
        &none,
        "day1.csv:1: no comma, semicolon, tab or space parts this line in three fields or more: found `hello`",
    );
    message(
        "101,1,2,3,gs\n102,1,2\n",
        &pnezd,
        "day1.csv:2: 3 columns where 5 are due (point, northing, easting, elevation, code)",
    );
    message(
        "101,1,2,3,gs\n\n102,1,2,gs\n",
        &pnezd,
        "day1.csv:3: 4 columns where 5 are due (point, northing, easting, elevation, code)",
    );
    message("101,1,2,3,gs\n102,1,2x,3,gs\n", &pnezd, "day1.csv:2: column 3 (easting): `2x` is not a number");
    message("101,1,2,NaN,gs\n", &pnezd, "day1.csv:1: column 4 (elevation): `NaN` is not a finite number");
    message("101,-inf,2,3,gs\n", &pnezd, "day1.csv:1: column 2 (northing): `-inf` is not a finite number");
    message("101,1e999,2,3,gs\n", &pnezd, "day1.csv:1: column 2 (northing): `1e999` is not a finite number");
    message("101,,2,3,gs\n", &pnezd, "day1.csv:1: column 2 (northing): `` is not a number: a point needs one here");
    message(
        "101;1,5;2;3;gs\n",
        &pnezd,
        "day1.csv:1: column 2 (northing): `1,5` is not a number: for a decimal comma say `decimal = \"comma\"` (--decimal-comma)",
    );
    message(
        "id,lat,lon,h\n1,95,20,3\n",
        &none,
        "day1.csv:2: column 2 (latitude): 95 is out of range: degrees from -90 to 90",
    );
    message(
        "id,e,n,z,vrms\n1,95,20,3,-1\n",
        &none,
        "day1.csv:2: column 5 (vertical sigma): -1 is out of range: zero or more",
    );
    message(
        "id,e,elev\n1,95,20\n",
        &none,
        "day1.csv:1: no column for a northing: found `id, e, elev`; needed are easting and northing (or latitude and longitude), and elevation (or height)",
    );
    message(
        "id,e,n,z,elev\n1,95,20,3,3\n",
        &none,
        "day1.csv:1: column 5: there are two columns for `elevation`: name one of them `skip` in columns",
    );
    message(
        "1,2,3\n",
        &said("point, easting, colour"),
        "day1.csv: unknown column `colour` in columns: accepted are point, northing, easting, elevation, code, fix, \
         horizontal sigma, vertical sigma, north sigma, east sigma, pdop, hdop, satellites, age, base, base distance, \
         ratio, epochs, antenna height, antenna, tilt, geoid, occupation, date, time, end time, latitude, longitude, \
         height, geocentric x, geocentric y, geocentric z, skip",
    );
    let comma_twice = "day1.csv: a decimal comma cannot stand in a file whose delimiter is the comma: leave the decimal comma out, or \
                       say delimiter = \"semicolon\", \"tab\" or \"space\"";
    let both = FileSettings { delimiter: Some(Delimiter::Comma), decimal_comma: true, ..FileSettings::default() };
    message("1,2,3\n", &both, comma_twice);
    // Nor where nobody says the delimiter, and the comma is it.
    let comma = FileSettings { decimal_comma: true, ..FileSettings::default() };
    message("101,6187220.155,412350.02,431.25,gs\n", &comma, comma_twice);
    message("101, 6187220.155, 412350.02, 431.25, gs\n102, 6187221.0, 412351.0, 431.2, gs\n", &comma, comma_twice);
    let sound = parse(
        b"101 6187220,155 412350,02 431,25 gs\n102 6187221,0 412351,0 431,2 \"by gate, tree, rock\"\n",
        "day1.csv",
        &comma,
    )
    .unwrap();
    assert_eq!(sound.records.len(), 2);
    let missing = read(Path::new("no-such-folder/day1.csv"), &none).unwrap_err();
    assert_eq!(missing.to_string(), "no-such-folder/day1.csv: there is no such file");
    assert!(matches!(read(Path::new("."), &none), Err(PointFileError::Unreadable { .. })));
}

#[test]
fn the_place_of_a_fault_counts_fields() {
    let error = parse(b"101,1,2,3,gs\n102,1,2,x,gs\n", "day1.csv", &FileSettings::default()).unwrap_err();
    assert_eq!(error.place().to_string(), "day1.csv:2:4");
    assert_eq!(error.code(), "points::not-a-number");
}

proptest! {
    /// What is written reads back: ids, codes and coordinates to the last bit, whatever a name holds.
    #[test]
    fn write_then_read_is_identity(
        rows in proptest::collection::vec(
            ("[A-Za-z0-9=+@'\" ,;.-]{1,12}", -1e7..1e7f64, -1e7..1e7f64, -500.0..9000.0f64, "[ -~]{0,20}"), 1..20),
        delimiter in prop_oneof![Just(b','), Just(b';'), Just(b'\t')],
    ) {
        let mut writer = csv::WriterBuilder::new().delimiter(delimiter).from_writer(Vec::new());
        writer.write_record(["point", "easting_m", "northing_m", "elevation_m", "code"]).unwrap();
        let guard = |text: &str| if text.starts_with(['=', '+', '-', '@']) { format!("'{text}") } else { text.to_owned() };
        for (id, e, n, z, code) in &rows {
            let (id, code) = (format!("p{}", id.trim()), guard(code.trim()));
            writer.write_record([id, e.to_string(), n.to_string(), z.to_string(), code]).unwrap();
        }
        let bytes = writer.into_inner().unwrap();
        let file = parse(&bytes, "f", &FileSettings::default()).unwrap();
        prop_assert_eq!(file.records.len(), rows.len());
        for (record, (id, e, n, z, code)) in file.records.iter().zip(&rows) {
            prop_assert_eq!(&record.id, &format!("p{}", id.trim()));
            prop_assert_eq!(record.position, Position::Grid { easting: *e, northing: *n });
            prop_assert_eq!(record.elevation, Some(*z));
            let code = code.trim();
            let stripped = code.strip_prefix('\'').filter(|rest| rest.starts_with(['=', '+', '-', '@'])).unwrap_or(code);
            prop_assert_eq!(record.code.as_str(), stripped);
        }
    }

    /// Whatever the bytes, reading ends with a file or one fault.
    #[test]
    fn any_bytes_end_in_a_file_or_a_fault(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = parse(&bytes, "f", &FileSettings::default());
    }

    /// The same for text that looks like a point file.
    #[test]
    fn any_text_ends_in_a_file_or_a_fault(text in "([0-9a-z.,;\t \"'#/*\r-]{0,12}\n){0,12}") {
        let _ = parse(text.as_bytes(), "f", &FileSettings::default());
    }
}

/// PROJ `test/gie/epsg_no_grid.gie`, EPSG:4978 to EPSG:4979: 12 east, 55 north, 10 m above the ellipsoid.
#[test]
fn geocentric_coordinates_are_places_on_the_ellipsoid() {
    let read = |text: &str| parse(text.as_bytes(), "base.csv", &FileSettings::default());
    let file = read("point,ecef x,ecef y,ecef z,code\n1,3586475.2672,762328.8513,5201391.7147,gs\n").unwrap();
    let Position::Geographic { longitude, latitude } = file.records[0].position else { panic!("{:?}", file.records) };
    assert!((longitude - 12.0).abs() < 1e-8 && (latitude - 55.0).abs() < 1e-8, "{longitude} {latitude}");
    assert!((file.records[0].ellipsoid_height.unwrap() - 10.0).abs() < 1e-3);
    assert_eq!(file.unit, Some(LengthUnit::Metres));
    let told = read("point,geocentric x,geocentric y,code\n1,3586475,762328,gs\n").unwrap_err().to_string();
    assert!(told.contains("one of the three geocentric coordinates"), "{told}");
    let told = read("point,geocentric x,geocentric y,geocentric z\n1,3.5,7.6,5.2\n").unwrap_err().to_string();
    assert!(told.contains("base.csv:2") && told.contains("within 20 km of the ellipsoid"), "{told}");
}

/// Under a header a description that holds the delimiter is kept whole, and told.
#[test]
fn a_code_that_takes_the_rest_of_its_line_is_told() {
    let text = "point,easting,northing,elevation,code\n1,10,20,3,gs\n2,11,20,3,gs, by the gate, wet\n3,12,20,3,gs,,\n";
    let file = parse(text.as_bytes(), "day1.csv", &FileSettings::default()).unwrap();
    assert_eq!(file.records[1].code, "gs, by the gate, wet");
    let told = file.notes.iter().find(|note| note.code == "points::code-takes-the-rest").unwrap();
    assert_eq!(
        told.text,
        "1 lines hold more fields than the header has titles: their code takes the rest, here as `gs, by the gate, wet`"
    );
    assert!(matches!(told.place, Some(crate::notes::Place::File { line: 3, column: 5, .. })));
}

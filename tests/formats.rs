//! What the writers leave, checked by the rules of each format's own specification. The files stay in
//! `target/tmp/formats`, where `tests/gdal_reads.py` opens them with GDAL.

mod gdal;

use rusqlite::Connection;
use std::fs;
use std::path::{Path, PathBuf};
use swalewright::frame::{FrameDefinition, SiteFrame, resolve};
use swalewright::geom::{Point, Point3, Polygon};
use swalewright::io::write::{MapContext, geojson, geopackage, kml, landxml};
use swalewright::io::{Column, ColumnKind, Geometry, GeometryKind, Layer};
use swalewright::surface::Tin;
use swalewright::units::LengthUnit;

struct Site {
    folder: PathBuf,
    context: MapContext,
}

fn site(name: &str, frame: &SiteFrame) -> Site {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("formats").join(name);
    fs::create_dir_all(&folder).unwrap();
    Site { folder, context: MapContext::new(frame, "2026-03-14").unwrap() }
}

fn metres() -> SiteFrame {
    resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), Some("AHD"))
}

fn us_survey_feet() -> SiteFrame {
    resolve("EPSG:3568").unwrap().site_frame((2_054_432.46, 3_527_295.672), None)
}

fn local_feet() -> SiteFrame {
    FrameDefinition::local(LengthUnit::Feet).site_frame((5000.0, 10_000.0), None)
}

fn layers() -> Vec<Layer> {
    let mut shots = Layer::new(
        "shots",
        "Shots that are used",
        GeometryKind::Point,
        true,
        vec![
            Column::text("shot"),
            Column::text("code"),
            Column::elevation("elevation"),
            Column::new("line", ColumnKind::Integer),
            Column::new("fixed", ColumnKind::Flag),
            Column::new("sigma_m", ColumnKind::Number(3)),
        ],
    );
    for (at, (x, y, z)) in [(5.0, 6.0, 431.25), (105.5, 40.0, 430.125), (60.0, 88.0, 433.0)].into_iter().enumerate() {
        let values = vec![
            format!("{}", 100 + at).into(),
            "gs <&> \"ridge\" \u{1}".into(),
            z.into(),
            (at + 1).into(),
            (at != 1).into(),
            if at == 2 { None.into() } else { 0.015.into() },
        ];
        shots.push(Geometry::Point(Point3::new(x, y, z)), values);
    }
    let mut lines =
        Layer::new("swale_line", "The swales' lines", GeometryKind::Line, true, vec![Column::text("works")]);
    let line = [Point::new(0.0, 0.0), Point::new(30.0, 4.0), Point::new(60.0, 2.0)];
    lines.push(Geometry::line_at(&line, 431.25), vec!["upper".into()]);
    let mut cut = Layer::new("cut_outline", "Outline of what is dug", GeometryKind::Polygon, false, vec![]);
    let ring = |low: f64, high: f64| {
        vec![Point::new(low, low), Point::new(low, high), Point::new(high, high), Point::new(high, low)]
    };
    // The outer ring is clockwise here: writers must turn it.
    cut.push(Geometry::polygon(&Polygon { outer: ring(0.0, 20.0), holes: vec![ring(5.0, 10.0)] }), vec![]);
    let empty = Layer::new("exit", "Exit channels", GeometryKind::Line, true, vec![Column::text("works")]);
    vec![shots, lines, cut, empty]
}

fn tin() -> Tin {
    let vertices = vec![
        Point3::new(0.0, 0.0, 430.0),
        Point3::new(10.0, 0.0, 430.5),
        Point3::new(10.0, 10.0, 431.0),
        Point3::new(0.0, 10.0, 430.75),
    ];
    Tin::from_triangles(vertices, vec![[0, 1, 2], [0, 2, 3]]).unwrap()
}

fn one<T: rusqlite::types::FromSql>(database: &Connection, sql: &str) -> T {
    database.query_row(sql, [], |row| row.get(0)).unwrap_or_else(|why| panic!("{sql}: {why}"))
}

/// The requirements of OGC 12-128r17 by their numbers.
#[test]
fn geopackage_keeps_the_requirements() {
    for (name, frame, srs) in
        [("metres", metres(), 32755), ("us-survey-feet", us_survey_feet(), 3568), ("local", local_feet(), -1)]
    {
        let site = site(name, &frame);
        let path = site.folder.join("sample.gpkg");
        geopackage::write(&path, &layers(), &site.context).unwrap();
        // 1: SQLite's header; 2: application and user version, at their offsets in the header; 3: the file's ending.
        let bytes = fs::read(&path).unwrap();
        assert_eq!(&bytes[..16], b"SQLite format 3\0");
        assert_eq!(&bytes[68..72], b"GPKG");
        assert_eq!(bytes[60..64], 10_300u32.to_be_bytes());
        let database = Connection::open(&path).unwrap();
        // 6, 7: sound, and no broken reference.
        assert_eq!(one::<String>(&database, "PRAGMA integrity_check"), "ok");
        assert!(!database.prepare("PRAGMA foreign_key_check").unwrap().exists([]).unwrap());
        // 10 to 12: the three rows that must be there, and the frame in use.
        for id in [4326, -1, 0, srs] {
            let count: i64 = one(&database, &format!("SELECT count(*) FROM gpkg_spatial_ref_sys WHERE srs_id = {id}"));
            assert_eq!(count, 1, "srs {id}");
        }
        let undefined = "SELECT count(*) FROM gpkg_spatial_ref_sys WHERE organization = 'NONE' AND definition = 'undefined' AND srs_id IN (-1, 0) AND organization_coordsys_id = srs_id";
        assert_eq!(one::<i64>(&database, undefined), 2);
        // 115: each system is defined in one of the two columns, but for -1 and 0.
        let defined = "SELECT count(*) FROM gpkg_spatial_ref_sys WHERE srs_id > 0 AND definition = 'undefined' AND definition_12_063 = 'undefined'";
        assert_eq!(one::<i64>(&database, defined), 0);
        // 13 to 18, 21 to 27: contents and geometry columns name each layer with the same frame.
        for layer in layers() {
            let table = &layer.name;
            let contents = format!(
                "SELECT count(*) FROM gpkg_contents c JOIN gpkg_geometry_columns g USING (table_name) \
                 WHERE table_name = '{table}' AND data_type = 'features' AND c.srs_id = {srs} AND g.srs_id = {srs} \
                 AND g.m = 0 AND g.z = {} AND c.last_change = '2026-03-14T00:00:00.000Z'",
                i32::from(layer.with_elevation)
            );
            assert_eq!(one::<i64>(&database, &contents), 1, "{table}");
            let kind: String = one(
                &database,
                &format!("SELECT geometry_type_name FROM gpkg_geometry_columns WHERE table_name = '{table}'"),
            );
            // 5, 29, 30: allowed types, an integer primary key, a geometry column of the named type.
            let key = format!("SELECT name || ' ' || type FROM pragma_table_info('{table}') WHERE pk = 1");
            assert_eq!(one::<String>(&database, &key), "fid INTEGER");
            let types = format!(
                "SELECT count(*) FROM pragma_table_info('{table}') WHERE type NOT IN ('INTEGER','TEXT','DOUBLE','BOOLEAN','{kind}')"
            );
            assert_eq!(one::<i64>(&database, &types), 0, "{table}");
            // 75 to 77: the spatial index: its row, its table, the triggers of version 1.3, one entry a feature.
            let extension = format!(
                "SELECT count(*) FROM gpkg_extensions WHERE table_name = '{table}' AND column_name = 'geom' AND extension_name = 'gpkg_rtree_index' AND scope = 'write-only'"
            );
            assert_eq!(one::<i64>(&database, &extension), 1);
            for trigger in ["insert", "update1", "update2", "update3", "update4", "delete"] {
                let sql = format!(
                    "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name = 'rtree_{table}_geom_{trigger}' AND tbl_name = '{table}'"
                );
                assert_eq!(one::<i64>(&database, &sql), 1, "{table} {trigger}");
            }
            let entries: i64 = one(&database, &format!("SELECT count(*) FROM rtree_{table}_geom"));
            assert_eq!(usize::try_from(entries).unwrap(), layer.features.len());
        }
        // The index finds what lies there: the second shot, 105.5 m east and 40 m north of the origin.
        let (easting, northing) = frame.to_frame(Point::new(105.5, 40.0));
        let found = format!(
            "SELECT s.shot FROM rtree_shots_geom r JOIN shots s ON s.fid = r.id \
             WHERE minx <= {easting} AND maxx >= {easting} AND miny <= {northing} AND maxy >= {northing}"
        );
        assert_eq!(one::<String>(&database, &found), "101");
    }
}

/// A point with elevation is 47 50 00 01, the frame, then ISO well-known binary (little-endian, type 1001).
#[test]
fn geopackage_geometry_is_iso_well_known_binary_in_the_frames_unit() {
    let frame = us_survey_feet();
    let site = site("blob", &frame);
    let path = site.folder.join("sample.gpkg");
    geopackage::write(&path, &layers(), &site.context).unwrap();
    let database = Connection::open(&path).unwrap();
    let blob: Vec<u8> = one(&database, "SELECT geom FROM shots WHERE fid = 1");
    assert_eq!(blob[..4], [0x47, 0x50, 0x00, 0x01]);
    assert_eq!(blob[4..8], 3568i32.to_le_bytes());
    assert_eq!(blob[8..13], [0x01, 0xE9, 0x03, 0x00, 0x00]);
    let number = |at: usize| f64::from_le_bytes(blob[at..at + 8].try_into().unwrap());
    let (easting, northing) = frame.to_frame(Point::new(5.0, 6.0));
    assert_eq!((number(13), number(21)), (easting, northing));
    assert!((number(29) - 431.25 * 3937.0 / 1200.0).abs() < 1e-9, "elevation in US survey feet");
    assert_eq!(blob.len(), 37);
    // Outer ring anticlockwise: its second corner is east of the first, though it came in clockwise.
    let polygon: Vec<u8> = one(&database, "SELECT geom FROM cut_outline");
    assert_eq!(polygon[3], 0b11, "a box of four numbers");
    assert_eq!(polygon[40..45], [0x01, 0x03, 0x00, 0x00, 0x00]);
}

#[test]
fn the_same_content_gives_the_same_bytes() {
    let site = site("twice", &metres());
    let bytes = |name: &str| {
        let path = site.folder.join(name);
        match path.extension().unwrap().to_str().unwrap() {
            "gpkg" => geopackage::write(&path, &layers(), &site.context).unwrap(),
            "geojson" => geojson::write(&path, &layers(), &site.context).unwrap(),
            "kml" => kml::write(&path, "Kestrel Flat", &layers(), &site.context).unwrap(),
            _ => write_landxml(&path, &site.context),
        }
        fs::read(path).unwrap()
    };
    for ending in ["gpkg", "geojson", "kml", "landxml"] {
        assert!(bytes(&format!("one.{ending}")) == bytes(&format!("two.{ending}")), "{ending}");
    }
}

/// RFC 7946, by sections.
#[test]
fn geojson_keeps_the_rules() {
    let site = site("metres", &metres());
    let path = site.folder.join("sample.geojson");
    geojson::write(&path, &layers(), &site.context).unwrap();
    let text = fs::read_to_string(&path).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    // 3.3, 4: a collection without a `crs` member.
    assert_eq!(json["type"], "FeatureCollection");
    assert!(json.get("crs").is_none());
    let features = json["features"].as_array().unwrap();
    assert_eq!(features.len(), 5);
    for feature in features {
        // 3.2, 7.1: geometry and properties stand in their places and nowhere else.
        assert_eq!(feature["type"], "Feature");
        assert!(feature["geometry"].is_object() && feature["properties"].is_object());
        assert!(feature.get("coordinates").is_none());
    }
    let positions = |json: &serde_json::Value| {
        fn walk(json: &serde_json::Value, out: &mut Vec<Vec<f64>>) {
            let items = json.as_array().unwrap();
            if items[0].is_number() {
                out.push(items.iter().map(|number| number.as_f64().unwrap()).collect());
            } else {
                for item in items {
                    walk(item, out);
                }
            }
        }
        let mut out = Vec::new();
        walk(json, &mut out);
        out
    };
    for feature in features {
        for position in positions(&feature["geometry"]["coordinates"]) {
            // 3.1.1, 4: longitude, latitude, and no height above datum in the place of one above the ellipsoid.
            assert_eq!(position.len(), 2);
            assert!((146.0..147.0).contains(&position[0]) && (-35.0..-34.0).contains(&position[1]), "{position:?}");
            let nine = |value: f64| (value * 1e9 - (value * 1e9).round()).abs() < 1e-3;
            assert!(nine(position[0]) && nine(position[1]), "nine decimals: {position:?}");
        }
    }
    // 3.1.6: the outer ring runs anticlockwise, the hole clockwise, both closed.
    let rings = features[4]["geometry"]["coordinates"].as_array().unwrap();
    for (at, ring) in rings.iter().enumerate() {
        let ring = positions(ring);
        assert_eq!(ring.first(), ring.last());
        let doubled: f64 =
            ring.windows(2).map(|w| (w[0][0] - 146.0) * (w[1][1] + 34.0) - (w[1][0] - 146.0) * (w[0][1] + 34.0)).sum();
        assert_eq!(doubled > 0.0, at == 0, "ring {at}");
    }
    let first = &features[0]["properties"];
    assert_eq!(first["layer"], "shots");
    assert_eq!(first["elevation_m"], 431.25);
    assert_eq!(features[2]["properties"]["sigma_m"], serde_json::Value::Null);
}

#[test]
fn a_site_grid_has_no_longitude_and_latitude() {
    let site = site("local", &local_feet());
    for ending in ["geojson", "kml"] {
        let path = site.folder.join(format!("none.{ending}"));
        let told = if ending == "kml" {
            kml::write(&path, "Kestrel Flat", &layers(), &site.context)
        } else {
            geojson::write(&path, &layers(), &site.context)
        };
        assert!(told.unwrap_err().to_string().contains("`local` site grid"), "{ending}");
        assert!(!path.exists());
    }
}

fn write_landxml(path: &Path, context: &MapContext) {
    let tin = tin();
    let line = [Point::new(0.0, 0.0), Point::new(30.0, 40.0), Point::new(60.0, 40.0)];
    let content = landxml::Content {
        project: "Kestrel Flat",
        surfaces: &[landxml::Surface { name: "ground", description: "Natural ground as surveyed", tin: &tin }],
        alignments: &[landxml::Alignment {
            name: "upper",
            description: "Contour line of the swale",
            line: &line,
            start_station: 0.0,
            profile: &[(0.0, 431.25), (80.0, 431.25)],
        }],
        points: &[
            landxml::CogoPoint {
                name: "U040",
                code: "offset",
                description: "CUT 0.42 <bed> & \u{1}",
                place: Point::new(12.0, 34.0),
                elevation: Some(430.65),
            },
            landxml::CogoPoint { name: "M2", code: "", description: "", place: Point::new(1.0, 2.0), elevation: None },
        ],
    };
    landxml::write(path, &content, context).unwrap();
}

/// Required attributes of the LandXML 1.2 schema, and what the schema cannot see: ids that are unique, faces that
/// resolve and turn one way, the order of northing and easting.
#[test]
fn landxml_keeps_the_rules() {
    for (name, frame) in [("metres", metres()), ("us-survey-feet", us_survey_feet()), ("local", local_feet())] {
        let site = site(name, &frame);
        let path = site.folder.join("sample.landxml");
        write_landxml(&path, &site.context);
        let text = fs::read_to_string(&path).unwrap();
        let holds = |part: &str| assert!(text.contains(part), "{name}: no {part} in\n{text}");
        holds(
            "<LandXML xmlns=\"http://www.landxml.org/schema/LandXML-1.2\" date=\"2026-03-14\" time=\"00:00:00\" version=\"1.2\">",
        );
        match frame.unit {
            LengthUnit::Metres => {
                holds(
                    "<Metric areaUnit=\"squareMeter\" linearUnit=\"meter\" volumeUnit=\"cubicMeter\" temperatureUnit=\"celsius\" pressureUnit=\"HPA\" elevationUnit=\"meter\" angularUnit=\"decimal degrees\"",
                );
                holds("epsgCode=\"32755\"");
                holds("verticalDatum=\"AHD\"");
            }
            LengthUnit::Feet => holds("linearUnit=\"foot\""),
            LengthUnit::UsSurveyFeet => {
                holds("linearUnit=\"USSurveyFoot\"");
                holds("elevationUnit=\"feet\"");
            }
        }
        holds("<Alignment name=\"upper\" length=\"");
        holds("staStart=\"0.000000\"");
        // Northing first: the origin's northing exceeds its easting in every frame here.
        let p = text.split("<P id=\"1\">").nth(1).unwrap().split('<').next().unwrap();
        let numbers: Vec<f64> = p.split(' ').map(|number| number.parse().unwrap()).collect();
        let (easting, northing) = frame.to_frame(Point::new(0.0, 0.0));
        assert!((numbers[0] - northing).abs() < 1e-6 && (numbers[1] - easting).abs() < 1e-6, "{numbers:?}");
        assert!((numbers[2] - 430.0 / frame.unit.metres()).abs() < 1e-9);
        holds("<F>1 2 3</F>");
        holds("CUT 0.42 &lt;bed&gt; &amp; \u{fffd}");
    }
}

#[test]
fn kml_has_longitude_first_and_escapes_what_the_field_wrote() {
    let site = site("metres", &metres());
    let path = site.folder.join("sample.kml");
    kml::write(&path, "Kestrel Flat", &layers(), &site.context).unwrap();
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains("gs &lt;&amp;&gt; "), "{text}");
    let first = text.split("<coordinates>").nth(1).unwrap().split('<').next().unwrap();
    let numbers: Vec<f64> = first.split(',').map(|number| number.parse().unwrap()).collect();
    assert!(
        numbers.len() == 2 && (146.0..147.0).contains(&numbers[0]) && (-35.0..-34.0).contains(&numbers[1]),
        "{first}"
    );
    assert_eq!(text.matches("<outerBoundaryIs>").count(), 1);
    assert_eq!(text.matches("<innerBoundaryIs>").count(), 1);
}

/// GDAL as a second reader.
#[test]
fn gdal_says_nothing() {
    let mut folder = PathBuf::new();
    for (name, frame) in [("metres", metres()), ("us-survey-feet", us_survey_feet()), ("local", local_feet())] {
        let site = site(&format!("gdal/{name}"), &frame);
        geopackage::write(&site.folder.join("sample.gpkg"), &layers(), &site.context).unwrap();
        if !frame.is_local() {
            geojson::write(&site.folder.join("sample.geojson"), &layers(), &site.context).unwrap();
        }
        folder = site.folder.parent().unwrap().to_owned();
    }
    gdal::reads(&folder);
}

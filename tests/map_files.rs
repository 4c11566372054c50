//! Map files come back as they were written, foreign ones are understood, broken ones told.

use proptest::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use swalewright::frame::{FrameDefinition, Geographic, Projector, SiteFrame, resolve};
use swalewright::geom::{LATTICE_STEP, Point, Point3, Polygon, snap};
use swalewright::io::read::{self, Shape};
use swalewright::io::write::{self, MapContext};
use swalewright::io::{Column, Geometry, GeometryKind, Layer};
use swalewright::surface::{Tin, triangulate};
use swalewright::units::LengthUnit;

fn site(crs: &str, near: (f64, f64)) -> SiteFrame {
    resolve(crs).unwrap().site_frame(near, None)
}

fn kestrel() -> SiteFrame {
    site("EPSG:32755", (412_350.0, 6_187_220.0))
}

fn layers() -> Vec<Layer> {
    let mut points = Layer::new("shots", "", GeometryKind::Point, true, vec![Column::text("code")]);
    points.push(Geometry::Point(Point3::new(1.5, 2.5, 431.25)), vec!["gs".into()]);
    let mut lines = Layer::new("lines", "", GeometryKind::Line, true, vec![]);
    let line = vec![Point3::new(0.0, 0.0, 430.0), Point3::new(30.0, 4.0, 430.5), Point3::new(60.0, 2.0, 431.0)];
    lines.push(Geometry::Line(line), vec![]);
    let mut outlines = Layer::new("outlines", "", GeometryKind::Polygon, false, vec![]);
    let ring = |low: f64, high: f64| {
        vec![Point::new(low, low), Point::new(high, low), Point::new(high, high), Point::new(low, high)]
    };
    outlines.push(Geometry::polygon(&Polygon { outer: ring(0.0, 20.0), holes: vec![ring(5.0, 10.0)] }), vec![]);
    vec![points, lines, outlines]
}

fn same(found: &[Shape], wanted: &[Layer], tolerance: f64, with_elevation: bool) {
    let features: Vec<_> = wanted.iter().flat_map(|layer| layer.features.iter().map(move |f| (layer, f))).collect();
    assert_eq!(found.len(), features.len());
    for (shape, (layer, feature)) in found.iter().zip(features) {
        assert_eq!(shape.layer, layer.name);
        assert_eq!(shape.with_elevation, layer.with_elevation && with_elevation);
        assert_eq!(shape.geometry.kind(), layer.kind);
        // Rings may start elsewhere or turn: compare as sets of places.
        let sorted = |geometry: &Geometry| {
            let mut all: Vec<Point3> = geometry.points().collect();
            all.sort_by(|a, b| (a.x.round(), a.y.round()).partial_cmp(&(b.x.round(), b.y.round())).unwrap());
            all
        };
        let (found, wanted) = (sorted(&shape.geometry), sorted(&feature.geometry));
        assert_eq!(found.len(), wanted.len());
        for (a, b) in found.iter().zip(&wanted) {
            assert!(a.plan().distance(b.plan()) < tolerance, "{a:?} for {b:?}");
            let z = if shape.with_elevation { b.z } else { 0.0 };
            assert!((a.z - z).abs() < tolerance, "{a:?} for {b:?}");
        }
    }
}

#[test]
fn what_is_written_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let grid = FrameDefinition::local(LengthUnit::Feet).site_frame((5000.0, 10_000.0), None);
    for frame in [
        kestrel(),
        site("EPSG:3568", (2_054_432.46, 3_527_295.672)),
        site("EPSG:2193", (1_750_000.0, 5_427_000.0)),
        grid,
    ] {
        let context = MapContext::new(&frame, "2026-03-14").unwrap();
        let path = folder.path().join("all.gpkg");
        write::geopackage::write(&path, &layers(), &context).unwrap();
        let read = read::geopackage::read(&path, None, &frame).unwrap();
        same(&read.value, &layers(), 1e-8, true);
        assert!(read.notes.is_empty(), "{:?}", read.notes);
        assert_eq!(read.value[0].attributes["code"], "gs");
        assert_eq!(read::geopackage::read(&path, Some("lines"), &frame).unwrap().value.len(), 1);
        let told = read::geopackage::read(&path, Some("line"), &frame).unwrap_err().to_string();
        assert!(told.contains("no table `line` in it (it has: shots, lines, outlines)"), "{told}");
        if frame.is_local() {
            continue;
        }
        let path = folder.path().join("all.geojson");
        write::geojson::write(&path, &layers(), &context).unwrap();
        // Nine decimals of a degree are 0.06 mm at most.
        same(&read::geojson::read(&path, &frame).unwrap().value, &layers(), 1e-4, false);
    }
}

#[test]
fn landxml_surfaces_and_lines_come_back() {
    let folder = tempfile::tempdir().unwrap();
    for mut frame in [kestrel(), site("EPSG:3568", (2_054_432.46, 3_527_295.672))] {
        frame.height = "mark CP1 = 432.108 <m>".to_owned();
        let vertices = vec![
            Point3::new(0.0, 0.0, 430.0),
            Point3::new(10.0, 0.0, 430.5),
            Point3::new(snap(10.3), snap(10.7), 431.0),
            Point3::new(snap(-612.345_678_9), snap(433.987_654_3), 430.75),
            // The thinnest triangle that the lattice allows.
            Point3::new(LATTICE_STEP, -LATTICE_STEP, 430.0),
        ];
        let breaks = vec![[false, true, true], [false, false, true], [false; 3]];
        let tin = Tin::from_faces(vertices, vec![[0, 1, 2], [0, 2, 3], [0, 4, 1]], breaks).unwrap();
        let line = [Point::new(0.0, 0.0), Point::new(30.0, 40.0), Point::new(60.0, 40.0)];
        let path = folder.path().join("g.landxml");
        let content = write::landxml::Content {
            project: "Kestrel Flat",
            surfaces: &[write::landxml::Surface { name: "ground", description: "", tin: &tin }],
            alignments: &[write::landxml::Alignment {
                name: "upper",
                description: "",
                line: &line,
                start_station: 12.5,
                profile: &[],
            }],
            points: &[],
        };
        write::landxml::write(&path, &content, &MapContext::new(&frame, "2026-03-14").unwrap()).unwrap();
        let read = read::landxml::read(&path).unwrap().value;
        assert!(read.check_frame(&frame).unwrap().is_empty());
        let back = read.tin(read.surface(None).unwrap(), &frame).unwrap();
        assert_eq!(read.height.as_deref(), Some("mark CP1 = 432.108 <m>"));
        assert_eq!(back.triangles(), tin.triangles());
        for id in tin.ids() {
            for side in 0..3 {
                assert_eq!(back.is_break(id, side), tin.is_break(id, side), "{id:?} side {side}");
            }
        }
        for (a, b) in back.vertices().iter().zip(tin.vertices()) {
            assert!(a.plan() == b.plan() && (a.z - b.z).abs() < 1e-9, "{a:?} for {b:?}");
        }
        let alignment = read.alignment(Some("upper")).unwrap();
        assert!((alignment.start_station - 12.5).abs() < 1e-6);
        for (a, b) in alignment.local(&frame).iter().zip(&line) {
            assert!(a.distance(*b) < 2e-6, "{a:?} for {b:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Any surface with breaklines comes back from LandXML to the same places, in metres and in feet.
    #[test]
    fn any_landxml_surface_comes_back(
        places in prop::collection::vec((-3_000.0..3_000.0_f64, -3_000.0..3_000.0_f64, -50.0..4_000.0_f64), 3..40),
        line in prop::collection::vec(0..40_usize, 0..5),
        in_feet in prop::bool::ANY,
    ) {
        let points: Vec<Point3> = places.iter().map(|&(x, y, z)| Point3::new(snap(x), snap(y), z)).collect();
        let line = line.iter().map(|at| u32::try_from(at % points.len()).unwrap()).collect();
        let Ok(made) = triangulate(&points, &[line]) else { return Ok(()) };
        let frame = if in_feet { site("EPSG:3568", (2_054_432.46, 3_527_295.672)) } else { kestrel() };
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("g.landxml");
        let surfaces = [write::landxml::Surface { name: "ground", description: "", tin: &made.tin }];
        let content = write::landxml::Content { project: "", surfaces: &surfaces, ..Default::default() };
        write::landxml::write(&path, &content, &MapContext::new(&frame, "2026-03-14").unwrap()).unwrap();
        let read = read::landxml::read(&path).unwrap();
        prop_assert!(read.notes.is_empty(), "{:?}", read.notes);
        let back = read.value.tin(read.value.surface(None).unwrap(), &frame).unwrap();
        prop_assert_eq!(back.triangles(), made.tin.triangles());
        for id in back.ids() {
            prop_assert!((0..3).all(|side| back.is_break(id, side) == made.tin.is_break(id, side)));
        }
        for (a, b) in back.vertices().iter().zip(made.tin.vertices()) {
            prop_assert!(a.plan() == b.plan() && (a.z - b.z).abs() < 1e-9, "{:?} for {:?}", a, b);
        }
    }
}

fn geojson(text: &str, frame: &SiteFrame) -> Result<(Vec<Shape>, Vec<String>), String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("p.geojson");
    fs::write(&path, text).unwrap();
    let read = read::geojson::read(&path, frame).map_err(|why| why.to_string())?;
    Ok((read.value, read.notes.into_iter().map(|note| note.code).collect()))
}

#[test]
fn geojson_of_others() {
    let frame = kestrel();
    let projector = Projector::new(&frame, &Geographic::Wgs84).unwrap();
    let (lon, lat) = projector.to_lonlat(Point::new(10.0, 20.0)).unwrap();
    // A bare geometry, a BOM, a height: the height is left out.
    let (shapes, notes) =
        geojson(&format!("\u{feff}{{\"type\":\"Point\",\"coordinates\":[{lon},{lat},431.2]}}"), &frame).unwrap();
    assert!(shapes[0].geometry.points().next().unwrap().plan().distance(Point::new(10.0, 20.0)) < 1e-4);
    assert_eq!(notes, ["geojson::heights-left-out"]);
    // Metres instead of degrees: taken as the site's, and told.
    let (shapes, notes) =
        geojson("{\"type\":\"LineString\",\"coordinates\":[[412360,6187240],[412370,6187250]]}", &frame).unwrap();
    assert_eq!(notes, ["geojson::site-coordinates"]);
    let local = frame.to_local(412_360.0, 6_187_240.0);
    assert_eq!(shapes[0].as_line().unwrap().first(), local);
    // An old-style crs member says it outright.
    let old = "{\"type\":\"Feature\",\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"urn:ogc:def:crs:EPSG::32755\"}},\"properties\":null,\"geometry\":{\"type\":\"Point\",\"coordinates\":[412360,6187240]}}";
    assert_eq!(geojson(old, &frame).unwrap().1, Vec::<String>::new());
    let other = geojson(&old.replace("32755", "28355"), &frame).unwrap_err();
    assert!(other.contains("GDA94 / MGA zone 55") && other.contains("convert it first"), "{other}");
    // Collections come apart, features without geometry are counted.
    let many = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"geometry\":null,\"properties\":{{}}}},\
         {{\"type\":\"Feature\",\"properties\":{{\"name\":\"a\",\"n\":3}},\"geometry\":{{\"type\":\"GeometryCollection\",\"geometries\":[\
         {{\"type\":\"MultiPoint\",\"coordinates\":[[{lon},{lat}],[{lon},{lat}]]}},\
         {{\"type\":\"MultiLineString\",\"coordinates\":[[[{lon},{lat}],[{lon},-34.45]]]}}]}}}}]}}"
    );
    let (shapes, notes) = geojson(&many, &frame).unwrap();
    assert_eq!((shapes.len(), notes), (3, vec!["geojson::no-geometry".to_owned()]));
    assert_eq!(shapes[2].attributes["n"], "3");
}

#[test]
fn broken_geojson_is_told_with_its_place() {
    let frame = kestrel();
    let told = |text: &str| geojson(text, &frame).unwrap_err();
    assert!(told("").contains("is empty"), "{}", told(""));
    assert!(told("{\"type\": \"Point\",\n \"coordinates\": [1, }").contains("p.geojson:2:"), "{}", told("{"));
    assert!(told("{\"type\":\"Circle\"}").contains("not a readable GeoJSON file"), "{}", told("{\"type\":\"Circle\"}"));
    assert!(told("[1, 2]").contains("not a readable GeoJSON file"));
    let short = "{\"type\":\"LineString\",\"coordinates\":[[146.0,-34.0]]}";
    assert!(told(short).contains("a line of 1 positions"), "{}", told(short));
    let ring = "{\"type\":\"Polygon\",\"coordinates\":[[[146.04,-34.4],[146.05,-34.4],[146.04,-34.4]]]}";
    assert!(told(ring).contains("a ring of 3 positions"), "{}", told(ring));
    // Latitude first: no place in the zone.
    let swapped = "{\"type\":\"Point\",\"coordinates\":[-34.45,146.04]}";
    assert!(told(swapped).contains("more than 65 km from the site"), "{}", told(swapped));
    let europe = "{\"type\":\"Point\",\"coordinates\":[12.0,55.0]}";
    assert!(told(europe).contains("outside the area of use"), "{}", told(europe));
    let far = "{\"type\":\"Point\",\"coordinates\":[512360,6187240]}";
    assert!(told(far).contains("more than 65 km"), "{}", told(far));
}

fn foreign(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/geopackage").join(name)
}

#[test]
fn geopackages_of_others() {
    let folder = tempfile::tempdir().unwrap();
    let frame = kestrel();
    // Written by GDAL 3.12 (version 1.3) with the same frame: taken as it is.
    let read = read::geopackage::read(&foreign("gdal_utm55.gpkg"), None, &frame).unwrap();
    assert_eq!(read.value.len(), 3);
    assert_eq!(read.value[0].geometry, Geometry::Point(frame.to_local(412_350.0, 6_187_220.0).at(431.25)));
    // In longitude and latitude: through PROJ.
    let degrees = read::geopackage::read(&foreign("gdal_wgs84.gpkg"), None, &frame).unwrap();
    let place = degrees.value[0].geometry.points().next().unwrap();
    assert!(place.plan().distance(frame.to_local(412_350.0, 6_187_220.0)) < 1e-3, "{place:?}");
    // The site stands elsewhere.
    let told = read::geopackage::read(&foreign("gdal_utm55.gpkg"), None, &site("EPSG:28355", (412_350.0, 6_187_220.0)));
    assert!(told.unwrap_err().to_string().contains("convert it first"));

    let told = |bytes: &[u8]| {
        let path = folder.path().join("x.gpkg");
        fs::write(&path, bytes).unwrap();
        read::geopackage::read(&path, None, &frame).map(|_| ()).unwrap_err().to_string()
    };
    assert!(told(b"").contains("is empty"));
    assert!(told(b"PK\x03\x04 a zip file").contains("does not start as one"));
    let sound = fs::read(foreign("gdal_utm55.gpkg")).unwrap();
    assert!(told(&sound[..3000]).contains("not a readable GeoPackage"), "{}", told(&sound[..3000]));
    let database = rusqlite::Connection::open(folder.path().join("bare.gpkg")).unwrap();
    database.execute_batch("CREATE TABLE a (b);").unwrap();
    let bare = read::geopackage::read(&folder.path().join("bare.gpkg"), None, &frame).unwrap_err().to_string();
    assert!(bare.contains("no such table"), "{bare}");
}

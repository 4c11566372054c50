//! Whatever is written reads back equal: tables and rover files as point files, maps and documents as what they held; any
//! place, name and height, in metres and in both kinds of feet.

use proptest::prelude::*;
use swalewright::frame::{FrameDefinition, SiteFrame, resolve};
use swalewright::geom::{Point, Point3, Polygon};
use swalewright::io::read::points::{self, FileSettings};
use swalewright::io::read::{self};
use swalewright::io::write::csv::Table;
use swalewright::io::write::rover::RoverPoint;
use swalewright::io::write::tables::Tables;
use swalewright::io::write::{MapContext, geojson, geopackage, landxml};
use swalewright::io::{Column, ColumnKind, Geometry, GeometryKind, Layer};
use swalewright::survey::{PointFile, Position};
use swalewright::units::LengthUnit;

/// Half the last digit that a table shows, in its own unit.
const HALF_DIGIT: f64 = 0.000_500_1;

fn frames() -> Vec<SiteFrame> {
    vec![
        resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), Some("site datum")),
        resolve("EPSG:3568").unwrap().site_frame((2_054_432.46, 3_527_295.672), None),
        FrameDefinition::local(LengthUnit::Feet).site_frame((5000.0, 10_000.0), None),
    ]
}

/// A named place, as a surveyor may have it.
#[derive(Debug, Clone)]
struct Shot {
    id: String,
    code: String,
    place: Point3,
}

fn shots() -> impl Strategy<Value = Vec<Shot>> {
    let coordinate = || -3000.0..3000.0_f64;
    let shot = ("[A-Z][0-9]{1,4}", "[=+@-]?[a-z]{1,6}( [a-z,\"]{1,8})?", coordinate(), coordinate(), -50.0..3000.0_f64)
        .prop_map(|(id, code, x, y, z)| Shot { id, code: code.trim().to_owned(), place: Point3::new(x, y, z) });
    proptest::collection::vec(shot, 1..12)
}

fn same_points(file: &PointFile, frame: &SiteFrame, shots: &[Shot], slack: f64) {
    assert_eq!(file.records.len(), shots.len());
    for (record, shot) in file.records.iter().zip(shots) {
        let Position::Grid { easting, northing } = record.position else { panic!("{record:?}") };
        let (e, n) = frame.to_frame(shot.place.plan());
        let z = frame.elevation_to_frame(shot.place.z);
        assert!((easting - e).abs() < slack && (northing - n).abs() < slack, "{record:?} for {shot:?}");
        assert!((record.elevation.unwrap() - z).abs() < slack, "{record:?} for {shot:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn tables_read_back_as_point_files(shots in shots()) {
        let folder = tempfile::tempdir().unwrap();
        for frame in frames() {
            let mut table = Table::new(vec![
                Column::text("shot"),
                Column::new("easting", ColumnKind::Easting),
                Column::new("northing", ColumnKind::Northing),
                Column::elevation("elevation"),
                Column::text("code"),
            ]);
            for shot in &shots {
                let Point3 { x, y, z } = shot.place;
                table.push(vec![shot.id.as_str().into(), x.into(), y.into(), z.into(), shot.code.as_str().into()]);
            }
            let mut tables = Tables::new(folder.path(), &frame);
            tables.table("shots.csv", &table).unwrap();
            let file = points::read(&folder.path().join("shots.csv"), &FileSettings::default()).unwrap();
            prop_assert_eq!(file.unit, Some(frame.unit));
            same_points(&file, &frame, &shots, HALF_DIGIT);
            for (record, shot) in file.records.iter().zip(&shots) {
                prop_assert_eq!((&record.id, &record.code), (&shot.id, &shot.code));
            }
        }
    }

    /// A rover file has no header: it is what a headerless file is taken for, and its side file says the same.
    #[test]
    fn rover_files_read_back_in_the_order_that_is_assumed(shots in shots()) {
        let folder = tempfile::tempdir().unwrap();
        for frame in frames() {
            let points: Vec<RoverPoint> = shots
                .iter()
                .map(|shot| RoverPoint {
                    id: shot.id.clone(),
                    place: shot.place.plan(),
                    elevation: shot.place.z,
                    description: shot.code.clone(),
                })
                .collect();
            Tables::new(folder.path(), &frame).rover("rover.csv", &points).unwrap();
            let file = points::read(&folder.path().join("rover.csv"), &FileSettings::default()).unwrap();
            same_points(&file, &frame, &shots, HALF_DIGIT);
            // Names stay unique, codes lose only what no collector takes.
            let mut ids: Vec<&str> = file.records.iter().map(|record| record.id.as_str()).collect();
            ids.sort_unstable();
            ids.dedup();
            prop_assert_eq!(ids.len(), shots.len());
        }
    }

    #[test]
    fn maps_read_back_to_the_same_places(shots in shots()) {
        let folder = tempfile::tempdir().unwrap();
        for frame in frames() {
            let context = MapContext::new(&frame, "2026-03-14").unwrap();
            let mut layer = Layer::new("shots", "", GeometryKind::Point, true, vec![Column::text("shot")]);
            for shot in &shots {
                layer.push(Geometry::Point(shot.place), vec![shot.id.as_str().into()]);
            }
            let mut line = Layer::new("line", "", GeometryKind::Line, false, vec![Column::text("name")]);
            let mut along: Vec<Point> = shots.iter().map(|shot| shot.place.plan()).collect();
            along.push(Point::new(1.0, 2.0));
            line.push(Geometry::line(&along), vec!["upper".into()]);
            let path = folder.path().join("m.gpkg");
            geopackage::write(&path, &[layer.clone(), line.clone()], &context).unwrap();
            let back = read::geopackage::read(&path, None, &frame).unwrap().value;
            prop_assert_eq!(back.len(), shots.len() + 1);
            for (shape, shot) in back.iter().zip(&shots) {
                let place = shape.geometry.points().next().unwrap();
                prop_assert!(place.plan().distance(shot.place.plan()) < 1e-6 && (place.z - shot.place.z).abs() < 1e-9);
                prop_assert_eq!(shape.attributes.get("shot"), Some(&shot.id));
            }
            let own: Vec<Point> = back[shots.len()].geometry.points().map(Point3::plan).collect();
            prop_assert!(own.iter().zip(&along).all(|(a, b)| a.distance(*b) < 1e-6));
            let _ = std::fs::remove_file(&path);

            if !frame.is_local() {
                let path = folder.path().join("m.geojson");
                geojson::write(&path, &[line], &context).unwrap();
                let back = read::geojson::read(&path, &frame).unwrap().value;
                let own: Vec<Point> = back[0].geometry.points().map(Point3::plan).collect();
                prop_assert_eq!(own.len(), along.len());
                // Nine decimals of a degree are 0.1 mm.
                prop_assert!(own.iter().zip(&along).all(|(a, b)| a.distance(*b) < 2e-4), "{:?} for {:?}", own, along);
            }
        }
    }

    /// Outlines with holes: every ring, its way round, its area and its words, in the site's own frame and in longitude and latitude.
    #[test]
    fn polygons_read_back_with_their_holes(
        radii in prop::collection::vec(5.0..60.0_f64, 3..24),
        holes in prop::collection::vec((0.05..0.4_f64, 3..9_usize), 0..3),
        middle in (-400.0..400.0_f64, -400.0..400.0_f64),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let round = |count: usize, radius: &dyn Fn(usize) -> f64| -> Vec<Point> {
            let angle = |at: usize| std::f64::consts::TAU * at as f64 / count as f64;
            let place = |at: usize| (angle(at).cos() * radius(at), angle(at).sin() * radius(at));
            (0..count).map(place).map(|(x, y)| Point::new(middle.0 + x, middle.1 + y)).collect()
        };
        let region = Polygon {
            outer: round(radii.len(), &|at| radii[at]),
            holes: holes.iter().map(|&(share, count)| round(count, &|_| 5.0 * share)).collect(),
        };
        for frame in frames() {
            let context = MapContext::new(&frame, "2026-03-14").unwrap();
            let mut layer = Layer::new("pond", "", GeometryKind::Polygon, false, vec![Column::text("name")]);
            layer.push(Geometry::polygon(&region), vec!["tank, old".into()]);
            let mut files = vec![("m.gpkg", 1e-6)];
            geopackage::write(&folder.path().join("m.gpkg"), std::slice::from_ref(&layer), &context).unwrap();
            if !frame.is_local() {
                geojson::write(&folder.path().join("m.geojson"), std::slice::from_ref(&layer), &context).unwrap();
                files.push(("m.geojson", 2e-4));
            }
            for (name, slack) in files {
                let path = folder.path().join(name);
                let back = if name.ends_with("gpkg") {
                    read::geopackage::read(&path, None, &frame).unwrap().value
                } else {
                    read::geojson::read(&path, &frame).unwrap().value
                };
                prop_assert_eq!(back.len(), 1);
                prop_assert_eq!(back[0].attributes.get("name").map(String::as_str), Some("tank, old"));
                let found = back[0].as_polygon().unwrap();
                let rings = |polygon: &Polygon| -> Vec<Vec<Point>> {
                    std::iter::once(&polygon.outer).chain(&polygon.holes).cloned().collect()
                };
                let (found_rings, due) = (rings(&found), rings(&region));
                prop_assert_eq!(found_rings.len(), due.len());
                for (found, due) in found_rings.iter().zip(&due) {
                    prop_assert_eq!(found.len(), due.len(), "{}", name);
                    // A format may ask for another way round; the places are the same ones.
                    let near = |p: &Point| due.iter().any(|q| p.distance(*q) < slack);
                    prop_assert!(found.iter().all(near), "{} {:?} {:?}", name, found, due);
                }
                let edge: f64 = due.iter().flat_map(|ring| ring.iter().map(|p| p.distance(ring[0]))).sum();
                prop_assert!((found.area() - region.area()).abs() <= slack * (edge + 1.0), "{}", name);
                let _ = std::fs::remove_file(&path);
            }
        }
    }

    #[test]
    fn documents_read_back_as_points(shots in shots()) {
        let folder = tempfile::tempdir().unwrap();
        for frame in frames() {
            let context = MapContext::new(&frame, "2026-03-14").unwrap();
            let ids: Vec<String> = (0..shots.len()).map(|at| format!("P{at}")).collect();
            let points: Vec<landxml::CogoPoint<'_>> = shots
                .iter()
                .zip(&ids)
                .map(|(shot, id)| landxml::CogoPoint {
                    name: id,
                    code: &shot.code,
                    description: "",
                    place: shot.place.plan(),
                    elevation: Some(shot.place.z),
                })
                .collect();
            let path = folder.path().join("p.landxml");
            landxml::write(&path, &landxml::Content { project: "Kestrel Flat", points: &points, ..Default::default() }, &context)
                .unwrap();
            let file = points::read(&path, &FileSettings::default()).unwrap();
            same_points(&file, &frame, &shots, 2e-6);
            for (record, (shot, id)) in file.records.iter().zip(shots.iter().zip(&ids)) {
                prop_assert_eq!((&record.id, &record.code), (id, &shot.code));
            }
        }
    }
}

//! Every output of a run says in what frame, above what and in what unit its numbers are.

use crate::site::{Site, files};
use serde_json::Value;
use std::path::Path;

const FRAME: &str = "WGS 84 / UTM zone 55S";
const HEIGHT: &str = "height of Kestrel Flat";

fn ran() -> Site {
    let site = Site::new();
    site.edit("site.toml", "height = \"site datum\"", &format!("height = \"{HEIGHT}\""));
    site.edit("site.toml", "# [asbuilt]\n# files = [\"asbuilt.csv\"]", "[asbuilt]\nfiles = [\"built.csv\"]");
    site.write("built.csv", "point,easting,northing,elevation,code\n1,412066.0,6187040.0,430.6,sill\n");
    let told = site.run(&["run", "site.toml"]);
    assert!(told.code < 2, "{}", told.err);
    site
}

fn all_in(text: &str, parts: &[&str], name: &str) {
    for part in parts {
        assert!(text.contains(part), "{name} does not say `{part}`");
    }
}

#[test]
fn every_file_says_frame_height_system_and_unit() {
    let site = ran();
    let mut seen = 0;
    for (name, bytes) in files(&site.path("site")) {
        let path = Path::new(&name);
        let text = String::from_utf8_lossy(&bytes);
        let whole = [FRAME, "EPSG:32755", HEIGHT, "metres"];
        match path.extension().unwrap().to_str().unwrap() {
            "csv" => {
                // Its side file lists it, with every column of its header, or says that there is none.
                let side = path.with_file_name("csv-metadata.json");
                let side = site.json(&format!("site/{}", side.display()));
                let own = path.file_name().unwrap().to_str().unwrap();
                let table = side["tables"].as_array().unwrap().iter().find(|table| table["url"] == own);
                let table = table.unwrap_or_else(|| panic!("{name} is not in its side file"));
                let columns: Vec<&str> = table["tableSchema"]["columns"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|column| column["titles"].as_str().unwrap())
                    .collect();
                if table["dialect"]["header"] == true {
                    assert_eq!(text.lines().next().unwrap(), columns.join(","), "{name}");
                    for title in columns.iter().filter(|title| title.contains("easting") || title.contains("elevation"))
                    {
                        assert!(title.ends_with("_m"), "{name}: {title} has no unit");
                    }
                } else {
                    assert!(own.starts_with("rover-"), "{name}");
                    assert_eq!(text.lines().next().unwrap().split(',').count(), columns.len(), "{name}");
                }
            }
            "json" if name.ends_with("csv-metadata.json") => all_in(&text, &whole, &name),
            "json" => {
                let frame = &site.json(&format!("site/{name}"))["frame"];
                assert_eq!(
                    (&frame["crs"], &frame["height"], &frame["unit"]),
                    (&"EPSG:32755".into(), &HEIGHT.into(), &"metres".into()),
                    "{name}"
                );
            }
            "geojson" => {
                let found: Value = serde_json::from_str(&text).unwrap();
                all_in(found["about"].as_str().unwrap(), &whole, &name);
                for feature in found["features"].as_array().unwrap() {
                    let properties = feature["properties"].as_object().unwrap();
                    let raised = properties.keys().any(|key| key.contains("elevation") && key.ends_with("_m"));
                    assert!(!raised || properties["elevations_above"] == HEIGHT, "{name}: {feature}");
                    // A third number would mean metres above the ellipsoid.
                    let mut numbers = &feature["geometry"]["coordinates"];
                    while numbers[0].is_array() {
                        numbers = &numbers[0];
                    }
                    assert_eq!(numbers.as_array().unwrap().len(), 2, "{name}");
                }
            }
            "kml" => {
                let head = text.split("<Folder>").next().unwrap();
                all_in(head, &whole, &name);
                assert!(
                    text.contains(&format!("<Data name=\"elevations_above\">\n      <value>{HEIGHT}</value>"))
                        || text.contains(HEIGHT)
                );
            }
            "landxml" => all_in(
                &text,
                &[
                    &format!("name=\"{FRAME}\""),
                    "epsgCode=\"32755\"",
                    &format!("verticalDatum=\"{HEIGHT}\""),
                    "elevationUnit=\"meter\"",
                ],
                &name,
            ),
            "gpkg" => {
                let path = site.path(&format!("site/{name}"));
                let database = rusqlite::Connection::open(path).unwrap();
                let mut rows = database.prepare("SELECT description FROM gpkg_contents").unwrap();
                let told: Vec<String> = rows.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
                assert!(!told.is_empty(), "{name}");
                told.iter().for_each(|told| all_in(told, &whole, &name));
                let system: String = database
                    .query_row("SELECT description FROM gpkg_spatial_ref_sys WHERE srs_id = 32755", [], |row| {
                        row.get(0)
                    })
                    .unwrap();
                all_in(&system, &whole, &name);
            }
            // Its header is text, before the mesh in binary.
            "html" | "tin" => all_in(&text, &whole, &name),
            other => panic!("{name}: nobody says what a .{other} file is in"),
        }
        seen += 1;
    }
    assert!(seen > 25, "{seen} files");
    let told = site.run(&["check", "site", "built.csv", "--json"]);
    assert_eq!(told.json()["frame"]["height"], HEIGHT, "{}", told.err);
    let told = site.run(&["volume", "site", "site#works", "--json"]);
    assert_eq!(told.json()["frame"]["crs"], "EPSG:32755");
    let told = site.run(&["on-contour", "site/works/works.geojson", "--ground", "site", "--json"]);
    assert_eq!(told.json()["frame"]["unit"], "metres");
}

/// A site grid has no code and no longitude: its files say so all the same, in feet too.
#[test]
fn a_site_grid_in_feet_says_so() {
    let site = Site::new();
    let shots = site.read("shots.csv");
    let mut feet = String::new();
    for (at, line) in shots.lines().enumerate() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        for (cell, origin) in cells[1..4].iter_mut().zip([412_000.0, 6_187_000.0, 0.0]).filter(|_| at > 0) {
            *cell = format!(
                "{:.4}",
                (cell.parse::<f64>().unwrap() - origin + 1000.0 * f64::from(u8::from(origin > 0.0))) / 0.3048
            );
        }
        feet += &(cells.join(",") + "\n");
    }
    site.write("shots.csv", &feet);
    site.edit("site.toml", "crs    = \"EPSG:32755\"", "crs    = \"local\"");
    site.edit("site.toml", "shots = [\"shots.csv\"]", "units = \"feet\"\nshots = [\"shots.csv\"]");
    let told = site.run(&["run", "site.toml", "--until", "ground"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let side = site.json("site/survey/csv-metadata.json");
    assert_eq!(side["dc:description"], "coordinates: site grid, feet; elevations: site datum, feet");
    assert_eq!(side["notes"][0]["unit"], "feet");
    let database = rusqlite::Connection::open(site.path("site/ground/ground.gpkg")).unwrap();
    let told: String = database
        .query_row("SELECT description FROM gpkg_contents WHERE table_name = 'triangles'", [], |row| row.get(0))
        .unwrap();
    assert!(told.ends_with("coordinates: site grid, feet; elevations: site datum, feet"), "{told}");
    assert!(site.read("site/ground/ground.landxml").contains("elevationUnit=\"feet\""));
}

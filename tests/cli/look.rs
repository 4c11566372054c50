//! `look` at a cloud and at surfaces: figures, doubts, and a picture of whatever it looks at.

use crate::site::Site;
use std::path::{Path, PathBuf};

fn valley(half: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("data-samples/real-valley/bocage_valley_{half}.laz"))
}

#[test]
fn a_cloud_tells_classes_frame_density_and_is_drawn() {
    let site = Site::new();
    let west = valley("west").display().to_string();
    let told = site.run(&["look", &west, "--svg", "west.svg"]);
    assert_eq!(told.code, 0, "{}", told.err);
    for words in [
        "34272 points, 19092 of class ground (2)",
        "class   2 ground                        19092",
        "EPSG:2154 (RGF93 v1 / Lambert-93), unit metre",
        "LAS 1.4, point format 6, packed",
        "ground points a square metre, about",
        "drawn in west.svg",
    ] {
        assert!(told.out.contains(words), "`{words}` is not in {}", told.out);
    }
    let picture = site.read("west.svg");
    assert!(
        picture.starts_with("<svg")
            && picture.contains("ground, shaded; contours every")
            && picture.contains("no ground reached")
    );
    assert!(picture.len() < 2_000_000, "{} bytes", picture.len());
    let json = site.run(&["look", &west, "--json"]).json();
    assert_eq!((json["points"].as_u64(), json["ground_points"].as_u64()), (Some(34_272), Some(19_092)));
    assert_eq!(json["unit"], "metres");
    let number = |key: &str| json[key].as_f64().unwrap_or_else(|| panic!("{key} in {json}"));
    // What the density is times what is covered is what is there, but for the cells that the rim cuts.
    let there = number("density_per_m2") * number("covered_m2");
    assert!((0.95..1.2).contains(&(there / 34_272.0)), "{there}");
    assert!((number("spacing_m").powi(-2) / number("density_per_m2") - 1.0).abs() < 1e-3);
}

#[test]
fn a_surface_a_run_and_several_files_are_drawn_each() {
    let site = Site::new();
    assert_eq!(site.run(&["run", "site.toml"]).code, 0);
    let told = site.run(&["look", "site#works", "--svg", "works.svg"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(site.read("works.svg").contains("breakline"));
    let west = valley("west").display().to_string();
    let told = site.run(&["look", "shots.csv", &west, "site/ground/ground.landxml", "--svg", "all.svg"]);
    assert_eq!(told.code, 0, "{}", told.err);
    for (name, words) in
        [("all.svg", "Plan of the survey"), ("all-2.svg", "The cloud"), ("all-3.svg", "Plan of the surface")]
    {
        assert!(site.read(name).contains(words) && told.out.contains(name), "{name}: {}", told.out);
    }
}

#[test]
fn what_cannot_be_drawn_says_why() {
    let site = Site::new();
    let empty = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/clouds/no-points.las").display().to_string();
    let told = site.run(&["look", &empty, "--svg", "none.svg"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.out.contains("not drawn: it holds no points"), "{}", told.out);
    assert!(told.err.contains("holds no points that could be used"), "{}", told.err);
    assert!(!site.path("none.svg").exists());
    let told = site.run(&[
        "look",
        &Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/data/clouds/formats/10_points_format_3.las")
            .display()
            .to_string(),
    ]);
    assert!(told.out.contains("not named in the file"), "{}", told.out);
    assert!(told.err.contains("names no frame"), "{}", told.err);
}

/// Every surface and point file says its frame in the same words.
#[test]
fn points_say_the_frame_that_they_were_judged_in() {
    let site = Site::new();
    let frame =
        |arguments: &[&str]| site.run(&[&["look", "shots.csv", "--json"], arguments].concat()).json()["frame"].clone();
    let known = frame(&["--crs", "EPSG:32755"]);
    assert_eq!((known["crs"].as_str(), known["unit"].as_str()), (Some("EPSG:32755"), Some("metres")), "{known}");
    assert_eq!(frame(&[])["crs"], "local");
    assert_eq!(site.run(&["run", "site.toml", "--until", "ground"]).code, 0);
    let surface = site.run(&["look", "site", "--json"]).json();
    let keys = |json: &serde_json::Value| json.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    assert_eq!(keys(&known), keys(&surface["frame"]), "the same keys as a surface's");
}

/// Whoever looks at a file before there is a pipeline reads its frame: the one it names, the one said, else a likeness.
#[test]
fn every_look_says_the_frame_and_the_unit() {
    let site = Site::new();
    let told = |arguments: &[&str]| {
        let told = site.run(&[&["look"], arguments].concat());
        assert_eq!(told.code, 0, "{}", told.err);
        (told.out, told.err)
    };
    let known = "frame EPSG:32755 (WGS 84 / UTM zone 55S), unit metres";
    assert!(told(&["shots.csv", "--crs", "EPSG:32755"]).0.contains(known));
    assert!(told(&["shots.csv"]).0.contains("frame not named; the numbers look like a projected grid"));
    site.write("rover.csv", "point,lat,lon,h,code\n1,-34.45,146.04,430,gs\n2,-34.4501,146.0401,430.1,gs\n");
    let (rover, _) = told(&["rover.csv"]);
    assert!(rover.contains("longitude and latitude") && rover.contains("EPSG:32755, its UTM zone"), "{rover}");
    site.write("base.csv", "point,easting,northing,elevation\n1,146.04,-34.45,430\n2,146.0401,-34.4501,430.1\n");
    assert!(told(&["base.csv"]).0.contains("look like degrees"));
    assert_eq!(site.run(&["run", "site.toml", "--until", "ground"]).code, 0);
    for surface in ["site", "site/ground/ground.landxml", "site/ground/ground.tin"] {
        let (surface, _) = told(&[surface]);
        assert!(surface.contains(known) && surface.contains(", in metres"), "{surface}");
    }
    // A grid in degrees is shown where a run would lay it, nearly.
    let degrees = "GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563]],\
                   PRIMEM[\"Greenwich\",0],UNIT[\"degree\",0.0174532925199433]]";
    site.write("dem.prj", degrees);
    let header = "ncols 3\nnrows 3\nxllcenter 146.04\nyllcenter -34.45\ncellsize 0.0001\n";
    site.write("dem.asc", &format!("{header}430 431 432\n430 431 432\n430 431 432\n"));
    let (grid, notes) = told(&["dem.asc"]);
    assert!(grid.contains("9 points, 8 triangles, 0.04 ha"), "{grid}");
    assert!(notes.contains("it is shown in EPSG:32755"), "{notes}");
    // A volume is for keeps, so its frame is said.
    let refused = site.run(&["volume", "dem.asc", "--below", "431 m"]);
    assert!(
        refused.code == 2 && refused.err.contains("in degrees") && refused.err.contains("say one (--crs)"),
        "{}",
        refused.err
    );
    assert_eq!(site.run(&["volume", "dem.asc", "--below", "431 m", "--crs", "EPSG:32755"]).code, 0);
}

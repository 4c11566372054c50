//! The ground as a run makes and leaves it: grids in, the surface file out, what is refused.

use crate::site::Site;
use swalewright::frame::{Geographic, Projector, SiteFrame, resolve};
use swalewright::geom::{Point, Polygon};
use swalewright::io::read::geopackage;
use swalewright::io::write::{self, MapContext};
use swalewright::io::{Geometry, GeometryKind, Layer};

fn number(json: &serde_json::Value, key: &str) -> f64 {
    json[key].as_f64().unwrap_or_else(|| panic!("no number `{key}` in {json}"))
}

/// A text grid of so many nodes a side, a metre apart, over rolling ground.
fn rolling(side: u32) -> String {
    let mut text =
        format!("ncols {side}\nnrows {side}\nxllcenter 412000\nyllcenter 6187000\ncellsize 1\nNODATA_value -9999\n");
    for row in (0..side).rev() {
        for column in 0..side {
            let (x, y) = (f64::from(column), f64::from(row));
            text += &format!("{:.3} ", 430.0 + 0.02 * x + 2.0 * (x / 60.0).sin() * (y / 45.0).cos());
        }
        text.push('\n');
    }
    text
}

fn only_ground(site: &Site, survey: &str, ground: &str) {
    site.write(
        "ground.toml",
        &format!(
            "format = 1\n[site]\nname = \"Ground\"\ncrs = \"EPSG:32755\"\n[survey]\n{survey}\n[ground]\n{ground}\n"
        ),
    );
}

#[test]
fn the_ground_of_a_run_is_its_surface_file_to_the_last_bit() {
    let site = Site::new();
    assert_eq!(site.run(&["run", "site.toml"]).code, 0);
    let ground = site.json("site/ground/ground.json");
    let look = site.run(&["look", "site/ground/ground.tin", "--json"]).json();
    assert_eq!((&look["points"], &look["triangles"]), (&ground["points"], &ground["triangles"]));
    // The folder stands for the ground that its works stand on: near them there are estimated places besides.
    let stood_on = site.run(&["look", "site", "--json"]).json();
    assert!(number(&stood_on, "points") > number(&ground, "points"), "{stood_on}");
    assert!(ground["export"].is_null(), "a small ground goes out whole");
    // LandXML rounds heights to a millionth of a millimetre.
    let both = site.run(&["volume", "site/ground/ground.tin", "site/ground/ground.landxml", "--json"]).json();
    let (cut, fill, area) = (number(&both, "cut_m3"), number(&both, "fill_m3"), number(&both, "area_m2"));
    assert!(cut + fill < 1e-8 * area && area > 1000.0, "{both}");
    let works = site.run(&["volume", "site", "site/works/works.tin", "--json"]).json();
    let earth = site.json("site/earth/earth.json");
    assert!((number(&works, "cut_m3") - number(&earth, "cut_m3")).abs() < 1e-6 * number(&earth, "cut_m3"), "{works}");
}

#[test]
fn a_surface_file_that_was_changed_or_cut_off_is_refused() {
    let site = Site::new();
    assert_eq!(site.run(&["run", "site.toml", "--until", "ground"]).code, 0);
    let path = site.path("site/ground/ground.tin");
    let whole = std::fs::read(&path).unwrap();
    let told = |named: &str| {
        let told = site.run(&["look", named]);
        assert_eq!(told.code, 2, "{}", told.err);
        assert_eq!(told.err.trim().lines().count(), 1, "one message: {}", told.err);
        told.err
    };
    let mut changed = whole.clone();
    let middle = changed.len() / 2;
    changed[middle] ^= 4;
    std::fs::write(&path, &changed).unwrap();
    assert!(told("site/ground/ground.tin").contains("its check does not fit"));
    assert!(told("site").contains("was changed after the run"));
    std::fs::write(&path, &whole[..whole.len() - 7]).unwrap();
    assert!(told("site/ground/ground.tin").contains("was cut off or changed"));
    std::fs::write(&path, b"").unwrap();
    assert!(told("site/ground/ground.tin").contains("is empty"));
}

#[test]
fn a_grid_is_ground_of_a_run_and_a_large_one_goes_out_thinned() {
    let site = Site::new();
    site.write("dem.asc", &rolling(330));
    only_ground(&site, "grids = [\"dem.asc\"]", "contours = \"0.5 m\"\nexport-bound = \"30 mm\"");
    let told = site.run(&["run", "ground.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.err.contains("108900 ground points of clouds and grids"), "{}", told.err);
    assert!(told.err.contains("ground.tin holds all of it"), "{}", told.err);
    let ground = site.json("ground/ground/ground.json");
    assert_eq!(number(&ground, "triangles"), 2.0 * 329.0 * 329.0);
    assert_eq!(number(&ground, "plan_area_m2"), 329.0 * 329.0);
    let export = &ground["export"];
    assert!(number(export, "triangles") < 20_000.0 && number(export, "bound_m") == 0.03, "{export}");
    assert!(number(export, "worst_m") <= 0.03, "{export}");
    let (whole, thin) = ("ground", "ground/ground/ground.landxml");
    assert_eq!(site.run(&["look", whole, "--json"]).json()["triangles"], ground["triangles"]);
    assert_eq!(site.run(&["look", thin, "--json"]).json()["triangles"], export["triangles"]);
    let between = site.run(&["volume", whole, thin, "--json"]).json();
    assert!(
        number(&between, "cut_m3") + number(&between, "fill_m3") <= 0.03 * number(&between, "area_m2"),
        "{between}"
    );

    let frame: SiteFrame = serde_json::from_value(site.json("ground/run.json")["frame"].clone()).unwrap();
    let lines = geopackage::read(&site.path("ground/ground/ground.gpkg"), Some("contours"), &frame).unwrap().value;
    assert!(lines.len() > 10);
    for point in lines.iter().flat_map(|line| line.geometry.points()) {
        assert!((2.0 * point.z - (2.0 * point.z).round()).abs() < 1e-9, "every half metre: {}", point.z);
        let (x, y) = frame.to_frame(point.plan());
        let (x, y) = (x - 412_000.0, y - 6_187_000.0);
        let truth = 430.0 + 0.02 * x + 2.0 * (x / 60.0).sin() * (y / 45.0).cos();
        assert!((truth - point.z).abs() < 0.05, "{point:?}");
    }
}

#[test]
fn too_many_contours_are_told_and_left_out() {
    let site = Site::new();
    site.edit("site.toml", "[[swale]]", "[ground]\ncontours = \"0.1 mm\"\n\n[[swale]]");
    let told = site.run(&["run", "site.toml", "--until", "ground"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.err.contains("no contours: 0.0001 m apart"), "{}", told.err);
}

#[test]
fn shots_stand_before_a_grid_and_its_offset_is_told() {
    let site = Site::new();
    site.write("dem.asc", &rolling(120));
    let mut shots = "easting,northing,elevation,code\n".to_owned();
    for (x, y) in (1..11).flat_map(|x| (1..11).map(move |y| (f64::from(x) * 10.3, f64::from(y) * 9.7))) {
        let z = 429.7 + 0.02 * x + 2.0 * (x / 60.0_f64).sin() * (y / 45.0_f64).cos();
        shots += &format!("{:.3},{:.3},{z:.3},gs\n", 412_000.0 + x, 6_187_000.0 + y);
    }
    site.write("ours.csv", &shots);
    let survey =
        "shots = [\"ours.csv\"]\ngrids = [{ file = \"dem.asc\", no-data = 430 }]\nroles = { ground = [\"gs\"] }";
    only_ground(&site, survey, "cloud-offset = \"correct\"");
    let told = site.run(&["run", "ground.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.err.contains("the cloud stands 300 mm above the shots"), "{}", told.err);
    let look = site.run(&["look", "ground", "--at", "412055.5,6187033.2", "--json"]).json();
    let truth = 429.7 + 0.02 * 55.5 + 2.0 * (55.5 / 60.0_f64).sin() * (33.2 / 45.0_f64).cos();
    assert!((number(&look, "elevation_m") - truth).abs() < 0.01, "{look} {truth}");
}

#[test]
fn a_wall_of_two_breaklines_in_one_place_is_refused_with_advice() {
    let site = Site::new();
    let mut shots = "point,easting,northing,elevation,code\n".to_owned();
    for i in 0..36 {
        shots += &format!("{i},{},{},50.0,gs\n", 10 * (i % 6), 10 * (i / 6));
    }
    for (start, code, height) in [(100, "top", 51.2), (200, "toe", 50.0)] {
        for i in 0..4 {
            shots += &format!("{},{},25.01,{height},{code}\n", start + i, 10 + 10 * i);
        }
    }
    site.write("wall.csv", &shots);
    site.write(
        "wall.toml",
        "format = 1\n[site]\nname = \"Wall\"\ncrs = \"local\"\n[survey]\nshots = [\"wall.csv\"]\n[survey.roles]\nground = [\"gs\"]\n\
         breakline = [\"top\", \"toe\"]\n",
    );
    let told = site.run(&["run", "wall.toml", "--json"]);
    assert_eq!(told.code, 2, "{} {}", told.out, told.err);
    let error = &told.json()["error"];
    assert_eq!(error["code"], "ground::wall");
    let message = error["message"].as_str().unwrap();
    for part in ["wall.csv:100", "wall.csv:200", "1.20 m apart in height", "at least 50 mm apart in plan"] {
        assert!(message.contains(part), "{message}");
    }
    site.edit("wall.csv", "200,10,25.01", "200,10,25.08");
    for (id, x) in [(201, 20), (202, 30), (203, 40)] {
        site.edit("wall.csv", &format!("{id},{x},25.01"), &format!("{id},{x},25.08"));
    }
    assert_eq!(site.run(&["run", "wall.toml"]).code, 0, "top and toe 70 mm apart");
}

/// A plane that falls 5 % to the south-east with a breakline along its middle.
#[test]
fn one_place_is_told_with_slope_fall_and_breakline() {
    let site = Site::new();
    let mut shots = "easting,northing,elevation,code\n".to_owned();
    let height = |x: f64, y: f64| 100.0 - 0.03 * x + 0.04 * y;
    for i in 0..49 {
        let (x, y) = (f64::from(i % 7) * 10.0, f64::from(i / 7) * 10.0 + 0.5);
        shots += &format!("{x},{y},{:.4},gs\n", height(x, y));
    }
    for x in [0.0, 20.0, 40.0, 60.0] {
        shots += &format!("{x},33,{:.4},ridge\n", height(x, 33.0));
    }
    site.write("plane.csv", &shots);
    let ask = |at: &str| {
        let roles = ["--roles", "ground=gs,breakline=ridge"];
        site.run(&[&["look", "plane.csv", "--crs", "local", "--units", "m", "--at", at, "--json"], &roles[..]].concat())
    };
    let told = ask("25,23");
    assert_eq!(told.code, 0, "{}", told.err);
    let look = told.json();
    assert!((number(&look, "elevation_m") - height(25.0, 23.0)).abs() < 1e-6, "{look}");
    assert!((number(&look, "slope_percent") - 5.0).abs() < 1e-3);
    // Down is east and south: atan2(0.03, -0.04).
    assert!((number(&look, "falls_towards_degrees") - 143.130_102).abs() < 1e-2, "{look}");
    assert!((number(&look, "nearest_breakline_m") - 10.0).abs() < 1e-6);
    assert!((number(&look, "breakline_elevation_m") - height(25.0, 33.0)).abs() < 1e-6);
    let off = ask("500,500");
    assert_eq!(off.code, 2);
    assert!(off.out.contains("lies off this surface"), "{}", off.out);
}

/// A field with a shed in it: what lies beyond the boundary, and in its hole, is no ground.
#[test]
fn a_boundary_may_have_holes() {
    let site = Site::new();
    site.write("dem.asc", &rolling(60));
    let frame = resolve("EPSG:32755").unwrap().site_frame((412_000.0, 6_187_000.0), None);
    let ring = |low: f64, high: f64| {
        [(low, low), (high, low), (high, high), (low, high)].map(|(x, y)| Point::new(x, y)).to_vec()
    };
    let region = Polygon { outer: ring(5.0, 55.0), holes: vec![ring(20.0, 30.0)] };
    let mut layer = Layer::new("edge", "", GeometryKind::Polygon, false, Vec::new());
    layer.push(Geometry::polygon(&region), Vec::new());
    let context = MapContext::new(&frame, "2026-03-14").unwrap();
    write::geopackage::write(&site.path("edge.gpkg"), &[layer], &context).unwrap();
    only_ground(&site, "grids = [\"dem.asc\"]", "boundary = \"edge.gpkg\"");
    let told = site.run(&["run", "ground.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let area = number(&site.json("ground/ground/ground.json"), "plan_area_m2");
    assert!((area - 2_400.0).abs() < 1e-3, "{area}");
    let inside = site.run(&["look", "ground", "--at", "412025,6187025"]);
    assert_eq!(inside.code, 2, "{}", inside.out);
    assert!(inside.err.contains("lies off this surface"), "{}", inside.err);
    let below = site.run(&["volume", "ground", "--below", "431.5 m"]);
    assert!(
        below.out.contains("it runs off over the survey's edge or that of a hole in it"),
        "{}{}",
        below.out,
        below.err
    );
}

/// A grid in longitude and latitude of a plane that rises 2 % to the east and 3 % to the north of the projected frame, as a surface and as
/// ground of a run: the plane again.
#[test]
fn a_grid_in_degrees_is_ground_of_a_site() {
    let site = Site::new();
    let frame = resolve("EPSG:28355").unwrap().site_frame((412_000.0, 6_187_000.0), None);
    let projector = Projector::new(&frame, &Geographic::OwnDatum).unwrap();
    let plane = |x: f64, y: f64| 430.0 + 0.02 * (x - 412_000.0) + 0.03 * (y - 6_187_000.0);
    let mut text = "ncols 12\nnrows 15\nxllcenter 146.043\nyllcenter -34.4502\ndx 0.0002\ndy 0.0001\n".to_owned();
    for row in (0..15).rev() {
        for column in 0..12 {
            let place =
                projector.to_site(146.043 + 0.0002 * f64::from(column), -34.4502 + 0.0001 * f64::from(row)).unwrap();
            let (x, y) = frame.to_frame(place);
            text += &format!("{:.6} ", plane(x, y));
        }
        text.push('\n');
    }
    site.write("dem.asc", &text);
    site.write("dem.prj", "EPSG:4283");
    site.write(
        "ground.toml",
        "format = 1\n[site]\nname = \"Ground\"\ncrs = \"EPSG:28355\"\n[survey]\ngrids = [\"dem.asc\"]\n",
    );
    let told = site.run(&["run", "ground.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.err.contains("dem.asc stands in longitude and latitude"), "{}", told.err);
    for surface in ["dem.asc", "ground"] {
        for (x, y) in [(412_120.0, 6_187_560.0), (412_233.3, 6_187_630.5)] {
            let place = format!("{x},{y}");
            let told = site.run(&["look", surface, "--at", &place, "--crs", "EPSG:28355", "--json"]);
            let found = number(&told.json(), "elevation_m");
            assert!((found - plane(x, y)).abs() < 1e-5, "{surface} {x} {y}: {found} {}", plane(x, y));
        }
    }
    // On its own, without a frame to bring it to, it is refused with advice; to look at it its UTM zone will do.
    assert_eq!(site.run(&["look", "dem.asc"]).code, 0);
    let told = site.run(&["volume", "dem.asc", "--below", "431 m"]);
    assert!(told.code == 2 && told.err.contains("in degrees: a site needs a projected one"), "{}", told.err);
}

/// The frame stands in a file beside the grid; zero stands for no data when it is said, and is told when it is not.
#[test]
fn a_text_grid_has_its_frame_beside_it_and_no_data_as_said() {
    let site = Site::new();
    let grid = "ncols 4\nnrows 3\nxllcorner 412000\nyllcorner 6187000\ncellsize 5\n430 431 432 0\n430 431 432 0\n430 431 432 433\n";
    site.write("dem.asc", grid);
    let told = site.run(&["look", "dem.asc", "--json"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let look = told.json();
    assert_eq!((look["kind"].as_str(), look["frame"]["crs"].as_str()), (Some("grid"), Some("local")), "{look}");
    assert!(look["notes"].as_array().unwrap().iter().any(|note| note["code"] == "grid::zeros"), "{look}");
    site.write("dem.prj", &resolve("EPSG:32755").unwrap().wkt.unwrap());
    let look = site.run(&["look", "dem.asc", "--no-data", "0", "--json"]).json();
    assert_eq!(look["frame"]["crs"], "EPSG:32755", "{look}");
    assert_eq!((number(&look, "nodes_without_elevation"), number(&look, "plan_area_m2")), (2.0, 25.0 * 4.5), "{look}");
    assert!(look["notes"].as_array().unwrap().is_empty(), "{look}");
    // What says the frame belongs to the grid: a run that it changes is not skipped.
    only_ground(&site, "grids = [{ file = \"dem.asc\", no-data = 0 }]", "");
    let first = site.run(&["run", "ground.toml"]);
    assert_eq!(first.code, 0, "{}", first.err);
    assert!(site.run(&["run", "ground.toml"]).err.contains("unchanged: "));
    let listed = site.json("ground/run.json")["inputs"].to_string();
    assert!(listed.contains("\"dem.prj\""), "{listed}");
    site.write("dem.prj", &resolve("EPSG:32754").unwrap().wkt.unwrap());
    let told = site.run(&["run", "ground.toml"]);
    assert!(told.code == 2 && told.err.contains("convert it first"), "{}", told.err);
    site.write("dem.prj", &resolve("EPSG:32755").unwrap().wkt.unwrap());
    // Another frame than the first surface's is refused.
    site.write("other.asc", grid);
    site.write("other.prj", &resolve("EPSG:32754").unwrap().wkt.unwrap());
    let told = site.run(&["volume", "dem.asc", "other.asc", "--no-data", "0"]);
    assert_eq!(told.code, 2, "{}", told.out);
    assert!(told.err.contains("convert it first"), "{}", told.err);
}

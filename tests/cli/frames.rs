//! A site whose base was set "here": fitted to its mark, with ground lengths, from the survey to the as-built check.

use crate::site::Site;

/// The sample's mark as known: 100 mm east and 102 mm above what the survey has.
const MARKS: &str = "point,easting,northing,elevation,code\nCP1,412020.100,6186994.000,432.593,mark\n";

fn fitted() -> Site {
    let site = Site::new();
    site.write("marks.csv", MARKS);
    let fit = "[survey]\nfit = { marks = \"marks.csv\", plan = \"shift\", height = \"shift\" }";
    site.edit("site.toml", "[survey]", fit);
    site.edit("site.toml", "[site]", "[site]\ncombined-factor = \"computed\"");
    site
}

#[test]
fn a_fit_is_told_and_serves_the_as_built_check_too() {
    let site = fitted();
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    assert!(told.err.contains("fitted to 1 mark of marks.csv, 0 of them checked"), "{}", told.err);
    assert!(told.err.contains("a blunder in one would not show"), "{}", told.err);
    assert!(told.err.contains("combined factor 0.99962"), "{}", told.err);
    assert!(
        told.err.contains("is not checked: its check shots stand on marks that the survey was fitted to"),
        "{}",
        told.err
    );
    let fit = &site.json("site/survey/survey.json")["fit"];
    assert!((fit["plan"]["shift_east_m"].as_f64().unwrap() - 0.1005).abs() < 1e-9, "{fit}");
    assert_eq!(fit["height"]["marks"][0]["standing"], "not-checked");
    assert!(site.read("site/sheets/dig-sheet.html").contains("Plan and height fitted to 1 mark of marks.csv"));

    // The rover of the as-built day stands on the same base, so its shots are off by the same shift.
    let list = site.read("site/stakes/asbuilt-shots.csv");
    let mut rows = list.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let head = rows.next().unwrap();
    let at = |name: &str| head.iter().position(|title| *title == name).unwrap();
    let mut book = "point,easting,northing,elevation,code\n".to_owned();
    for row in rows {
        let number = |name: &str| row[at(name)].parse::<f64>().unwrap();
        book += &format!(
            "{},{:.4},{:.4},{:.4},{}\n",
            row[at("shot")],
            number("easting_m") - 0.1005,
            number("northing_m") + 0.0005,
            number("design_elevation_m") - 0.1015,
            row[at("code")]
        );
    }
    site.write("built.csv", &book);
    let check = site.run(&["check", "site", "built.csv", "--json"]);
    let worst = check.json()["worst_m"].as_f64().unwrap();
    assert!(worst.abs() < 0.002, "as designed, but {worst} m off: {}", check.err);
}

#[test]
fn a_fit_that_cannot_be_made_is_told_at_its_key() {
    let site = fitted();
    site.edit("site.toml", "height = \"shift\"", "height = \"plane\"");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2, "{}", told.err);
    assert!(told.err.contains("needs 3 marks") && told.err.contains("marks.csv"), "{}", told.err);
    assert!(!site.path("site/survey").exists());
    site.edit("site.toml", "marks = \"marks.csv\"", "marks = \"absent.csv\"");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("absent.csv"), "{}", told.err);
    site.edit("site.toml", "[survey]", "[survey]\ngeoid = \"marks.csv\"");
    site.edit("site.toml", "absent.csv", "marks.csv");
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 2);
    assert!(told.err.contains("not that of a GTX grid"), "{}", told.err);
}

/// What elevations are above stands in every output: the user's words, and where the numbers are other than a datum's, that too.
#[test]
fn heights_that_are_not_the_datums_are_said_in_every_output() {
    let site = Site::new();
    let mut rover = "point,lat,lon,height,code\n".to_owned();
    for at in 0..40_u32 {
        let (row, column) = (f64::from(at / 8), f64::from(at % 8));
        rover +=
            &format!("{at},{:.9},{:.9},{:.3},gs\n", -34.45 + row * 1e-4, 146.04 + column * 1e-4, 430.0 + 0.1 * column);
    }
    site.write("rover.csv", &rover);
    let pipeline = "format = 1\n[site]\nname = \"Bare\"\ncrs = \"EPSG:32755\"\n[survey]\nshots = [\"rover.csv\"]\n";
    site.write("bare.toml", pipeline);
    assert_eq!(site.run(&["run", "bare.toml", "--until", "ground"]).code, 0);
    assert_eq!(site.json("bare/ground/ground.json")["frame"]["height"], "the ellipsoid in rover.csv");
    assert!(site.read("bare/survey/csv-metadata.json").contains("elevations: the ellipsoid in rover.csv"));
    site.edit("bare.toml", "crs =", "height = \"site datum\"\ncrs =");
    assert_eq!(site.run(&["run", "bare.toml", "--until", "ground"]).code, 0);
    assert_eq!(site.json("bare/ground/ground.json")["frame"]["height"], "site datum (the ellipsoid in rover.csv)");
}

//! What the user marks of the ground: test pits and unstable ground.

use crate::site::Site;

/// Files that carry cautions beside works.json and the sheet.
const WITH_WORDS: [&str; 4] = ["works/works.landxml", "works/works.gpkg", "stakes/stakes.gpkg", "stakes/stakes.kml"];

fn holds(site: &Site, name: &str, words: &str) {
    let bytes = std::fs::read(site.path("site").join(name)).unwrap();
    assert!(String::from_utf8_lossy(&bytes).contains(words), "{name} does not say {words}");
}

/// Every output with words tells what test pits prove, and none of them more than that.
#[test]
fn test_pits_are_carried_through() {
    let site = Site::new();
    let text = site.read("site.toml");
    let pit = |name: &str, easting: f64, met: &str| {
        format!(
            "[[test-pit]]\nname = \"{name}\"\nat = [{easting}, 6187041.0]\ndepth = \"1.0 m\"\nlayers = [{{ soil = \"{met}\" }}]\n"
        )
    };
    let run = |pits: &str| {
        site.write("site.toml", &format!("{text}\n{pits}"));
        let told = site.run(&["run", "site.toml"]);
        assert_eq!(told.code, 0, "{}", told.err);
        let standing = site.json("site/works/works.json")["swales"][0]["soil"]["standing"].clone();
        (told.err, standing)
    };
    let holds = |name: &str, words: &str| holds(&site, name, words);

    let (told, standing) = run("");
    assert!(told.contains("unproven until dug") && standing == "unproven", "{told}");
    WITH_WORDS.iter().for_each(|name| holds(name, "soil UNPROVEN"));
    // 80 m of swale and discs of 50 m: two pits, where the file says, prove it.
    let wanted = site.read("site/works/where-to-dig.csv");
    assert_eq!(wanted.lines().count(), 3, "{wanted}");
    assert!(told.contains("works/where-to-dig.csv says where 2 test pits would prove it"), "{told}");
    let asked: String = wanted
        .lines()
        .skip(1)
        .map(|row| {
            let cells: Vec<&str> = row.split(',').collect();
            format!(
                "[[test-pit]]\nname = \"{}\"\nat = [{}, {}]\ndepth = \"{} m\"\nlayers = [{{ soil = \"loam\" }}]\n",
                cells[0], cells[4], cells[5], cells[6]
            )
        })
        .collect();
    assert_eq!(run(&asked).1, "proven");
    assert!(!site.path("site/works/where-to-dig.csv").exists(), "nothing is left to prove");
    let (told, _) = run(&asked.replace("\"loam\" }]", "\"loam\", crumb = \"cloudy\" }]"));
    assert!(told.contains("DISPERSIVE SOIL is a stop") && told.contains(", DISPERSIVE SOIL\n"), "{told}");
    WITH_WORDS.iter().for_each(|name| holds(name, "DISPERSIVE SOIL is a stop"));
    holds("sheets/dig-sheet.html", "STOP: soil that disperses in water");
    holds("sheets/dig-sheet.html", "UNPROVEN UNTIL DUG");
    assert_eq!(site.json("site/earth/earth.json")["works"][0]["soil"], "loam, unproven");

    // The sample's swale runs from E 412025 to E 412105: 25 m about each pit hold all of it.
    let all = [pit("TP1", 412_040.0, "loam"), pit("TP2", 412_065.0, "loam"), pit("TP3", 412_090.0, "loam")].concat();
    let (told, standing) = run(&all);
    assert!(told.contains("soil proven as loam, by test pits") && standing == "proven", "{told}");
    holds("sheets/dig-sheet.html", "As taken in test pits TP");
    holds("sheets/dig-sheet.html", "TP2 1.00 m");

    let (told, standing) = run(&all.replacen("\"loam\"", "\"clay\"", 1));
    assert!(told.contains("NOT AS TAKEN") && standing == "contradicted", "{told}");
    WITH_WORDS.iter().for_each(|name| holds(name, "SOIL NOT AS TAKEN in test pits TP1"));
    holds("sheets/dig-sheet.html", "SOIL NOT AS TAKEN");
    let met = site.json("site/earth/earth.json")["soil_as_met"][0].clone();
    let number = |key: &str| met[key].as_f64().unwrap();
    // Clay swells to 1.43, loam to 1.25.
    let swell = number("loose_as_met_m3") / number("dug_bank_m3");
    assert!(swell > 1.25 && swell < 1.43, "{met}");
    assert_eq!(site.json("site/earth/earth.json")["works"][0]["soil"], "loam, not as taken");
}

/// A slip in the way of the water from the sill is told in every output with words; without a mark nothing is.
#[test]
fn unstable_ground_is_carried_through() {
    let site = Site::new();
    let sheet = "sheets/dig-sheet.html";
    let run = || {
        let told = site.run(&["run", "site.toml"]);
        assert_eq!(told.code, 0, "{}", told.err);
        told.err
    };
    let told = run();
    assert!(!told.contains("slip") && !site.read("site/sheets/dig-sheet.html").contains("UNSTABLE"), "{told}");
    let mark =
        "[[unstable-ground]]\nname = \"old slip\"\nkind = \"slip\"\nat = [412096.0, 6187052.0]\nradius = \"4 m\"\n";
    site.write("site.toml", &format!("{}\n{mark}", site.read("site.toml")));
    let told = run();
    assert!(
        told.contains("slip `old slip`: its dig comes within") && told.contains("its water from its sill lies on it"),
        "{told}"
    );
    WITH_WORDS.iter().for_each(|name| holds(&site, name, "water from its sill ON IT"));
    holds(&site, sheet, "water from its sill ON IT at chainage");
    holds(&site, sheet, "SLIP old slip");
    let near = &site.json("site/works/works.json")["swales"][0]["unstable_ground"];
    let outflow = near.as_array().unwrap().iter().find(|near| near["by"] == "outflow").expect("the outflow");
    assert_eq!(outflow["away_m"], 0.0);
}

/// A swapped pair is told at its key before anything is written.
#[test]
fn a_place_that_cannot_be_on_the_site_is_refused_at_its_key() {
    let site = Site::new();
    let text = site.read("site.toml");
    let at = "at = [6187041.0, 412040.0]";
    for (table, rest) in [
        ("test-pit", "depth = \"1.0 m\"\nlayers = [{ soil = \"loam\" }]"),
        ("unstable-ground", "kind = \"slip\"\nradius = \"4 m\""),
    ] {
        site.write("site.toml", &format!("{text}\n[[{table}]]\nname = \"one\"\n{at}\n{rest}\n"));
        let line = 1 + site.read("site.toml").lines().position(|line| line == at).unwrap();
        let told = site.run(&["run", "site.toml"]);
        assert_eq!(told.code, 2, "{}", told.err);
        for part in [&format!("site.toml:{line}:6]"), "the place E 6187041 N 412040 lies more than 65 km"] {
            assert!(told.err.contains(part), "{part}\n{}", told.err);
        }
    }
}

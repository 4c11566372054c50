//! Where a swale's level comes from, sets of swales and lines of constant fall, as a person asks for them.

use crate::site::Site;

const LEVEL: &str = "water-level = { through = [412066.0, 6187040.0] }";
const BETWEEN: &str = "between     = [[412025.0, 6187040.0], [412105.0, 6187040.0]]";

fn with(level: &str) -> Site {
    let site = Site::new();
    site.edit("site.toml", LEVEL, level);
    site.edit("site.toml", BETWEEN, "");
    site
}

fn table(site: &Site, name: &str) -> Vec<Vec<String>> {
    let text = site.read(name);
    text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("`{cell}` is no number"))
}

#[test]
fn a_place_is_taken_from_a_table_and_a_set_goes_down_from_it() {
    let site = with(
        "water-level = { place = { rank = 2, by = \"catches\", every = \"0.25 m\", to = \"431.5 m\", from = \"430.75 m\" } }\n\
         down-slope = { swales = 2, drop = \"0.6 m\" }",
    );
    let told = site.run(&["run", "site.toml", "--until", "stakes"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let swales = &site.json("site/works/works.json")["swales"];
    let level = |k: usize| swales[k]["water_level_m"].as_f64().unwrap();
    assert_eq!((&swales[0]["name"], &swales[1]["name"]), (&"first-1".into(), &"first-2".into()));
    assert!((level(0) - level(1) - 0.6).abs() < 1e-9, "{swales}");
    // The lower a line, the more it catches: of 431.5, 431.25, 431 and 430.75 m the second is 431 m.
    let places = table(&site, "site/works/places.csv");
    let taken: Vec<&Vec<String>> = places.iter().filter(|row| row[2] == "yes").collect();
    assert_eq!((places.len(), taken.len()), (4, 1), "{places:?}");
    assert_eq!((taken[0][1].as_str(), number(&taken[0][3]), level(0)), ("2", 431.0, 431.0));
    assert!(swales.as_array().unwrap().iter().all(|swale| swale["spillways"].as_array().unwrap().len() == 1));
    let stakes = table(&site, "site/stakes/stakes.csv");
    assert!(["first-1", "first-2"].iter().all(|name| stakes.iter().any(|row| row[1] == *name)));
}

#[test]
fn a_line_of_constant_fall_stands_in_every_file_with_its_elevations() {
    let site = Site::new();
    let text = site.read("site.toml");
    let works = text.find("[[swale]]").unwrap()..text.find("[earth]").unwrap();
    let line = "[[fall-line]]\nname = \"drain\"\nfrom = [412020.0, 6187050.0]\nto = [412110.0, 6187070.0]\nfall = [\"0.3 %\", \"1 %\"]\n\n";
    site.write("site.toml", &format!("{}{line}{}", &text[..works.start], &text[works.end..]));
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let found = site.json("site/works/works.json")["fall_lines"][0].clone();
    let (start, length) = (found["start_m"].as_f64().unwrap(), found["length_m"].as_f64().unwrap());
    let fall = found["fall_percent"].as_f64().unwrap() / 100.0;
    assert!(found["misses_m"].as_f64().unwrap() < 0.01 && (0.003..0.01).contains(&fall), "{found}");
    let rows = table(&site, "site/works/fall-lines.csv");
    assert!((number(&rows[rows.len() - 1][1]) - length).abs() < 2e-3);
    for row in &rows {
        assert!((number(&row[4]) - (start - fall * number(&row[1]))).abs() < 2e-3, "{row:?}");
        assert!((number(&row[5]) - number(&row[4]) - number(&row[6])).abs() < 2e-3, "{row:?}");
    }
    let database = rusqlite::Connection::open(site.path("site/works/works.gpkg")).unwrap();
    let lines: i64 = database.query_row("SELECT count(*) FROM fall_lines", [], |row| row.get(0)).unwrap();
    assert_eq!(lines, 1);
    assert!(site.read("site/works/works.landxml").contains("name=\"drain\""));
    // Nothing is dug, so only the line itself is pegged: at both ends and every 20 m.
    assert!(!site.path("site/sheets").exists() && table(&site, "site/stakes/stakes.csv").is_empty());
    let pegs = table(&site, "site/stakes/fall-line-pegs.csv");
    assert_eq!((pegs[0][0].as_str(), number(&pegs[0][2])), ("D000", 0.0));
    assert!(pegs.iter().any(|peg| peg[0] == "D040" && number(&peg[2]) == 40.0), "{pegs:?}");
    for peg in &pegs {
        assert!((number(&peg[6]) - (start - fall * number(&peg[2]))).abs() < 2e-3, "{peg:?}");
    }
    assert_eq!(site.read("site/stakes/rover-fall-line.csv").lines().count(), pegs.len());
    // The line is measured again by name, from the map file that was left.
    let again = site.run(&["on-contour", "site#drain", "--ground", "site", "--json"]).json();
    let sloping = again["worst_m"].as_f64().unwrap();
    assert!((sloping.abs() - fall * length / 2.0).abs() < 0.03, "off its mean by half its whole fall: {sloping}");
}

#[test]
fn a_level_that_cannot_be_found_is_told_at_its_place() {
    for (level, says) in [
        ("water-level = { to-catch = \"90 ha\" }", "no contour line catches 900000 m2 of surveyed ground: the most is"),
        ("water-level = { place = 40 }", "there is no place number 40: of "),
        ("water-level = { place = { every = \"1 mm\" } }", "makes more than 200 to compare"),
        ("water-level = { below = { by = \"1 m\", work = \"lower\" } }", "is named `lower`: before it stand none"),
        (
            "water-level = { elevation = \"431 m\" }\ndown-slope = { swales = 9, along-slope = \"30 m\" }",
            "no way down from `first-",
        ),
    ] {
        let site = with(level);
        let told = site.run(&["run", "site.toml", "--json"]);
        assert_eq!(told.code, 2, "{level}: {}", told.err);
        let error = &told.json()["error"];
        assert!(error["message"].as_str().unwrap().contains(says), "{level}: {error}");
        // Of a set it is the rule of the set, on the next line, that leaves no room.
        let line = 30 + level.lines().count() - 1;
        assert_eq!((&error["file"], &error["line"]), (&"site.toml".into(), &line.into()), "{level}: {error}");
        assert!(!site.path("site/works").exists());
    }
}

/// With a channel the same line is a drain: its bed in works.json, alignment, stakes and sheet is the line less its depth, and what is shot
/// where the list says passes the check.
#[test]
fn a_line_with_a_channel_is_a_drain_in_every_file() {
    let site = Site::new();
    let text = site.read("site.toml");
    let works = text.find("[[swale]]").unwrap()..text.find("[earth]").unwrap();
    let line = "[[storm]]\nname = \"25-year\"\nintensity = \"90 mm/h\"\n\n[[fall-line]]\nname = \"drain\"\nfrom = [412020.0, 6187050.0]\nto = [412110.0, 6187070.0]\n\
        fall = [\"0.3 %\", \"1 %\"]\n[fall-line.channel]\ndepth = \"to-carry\"\nflow = { for-storm = \"25-year\" }\nrunoff-coefficient = 0.5\ncatchment = \"2 ha\"\n\n";
    site.write("site.toml", &format!("{}{line}{}", &text[..works.start], &text[works.end..]));
    let told = site.run(&["run", "site.toml"]);
    assert_eq!(told.code, 0, "{}", told.err);
    let found = site.json("site/works/works.json");
    let (drain, line) = (&found["drains"][0], &found["fall_lines"][0]);
    let number_of = |json: &serde_json::Value| json.as_f64().unwrap_or_else(|| panic!("{json}"));
    // Q = C i A = 0.5 x 90 mm/h x 2 ha.
    let carries = &drain["carries"];
    assert!((number_of(&carries["flow_m3_per_s"]) - 0.25).abs() < 1e-6 && carries["carries"] == true, "{carries}");
    let depth = number_of(&drain["depth_m"]);
    let runs = number_of(&carries["runs"]["depth_m"]);
    assert!(runs + 0.1 <= depth + 1e-6 && runs + 0.12 > depth, "{runs} in {depth}: steps of 10 mm");
    let bed = |station: f64| number_of(&line["start_m"]) - number_of(&line["fall_percent"]) / 100.0 * station - depth;
    assert!((number_of(&drain["bed_to_m"]) - bed(number_of(&drain["bed_to_station_m"]))).abs() < 2e-3, "{drain}");
    let stakes = table(&site, "site/stakes/stakes.csv");
    let head = site.read("site/stakes/stakes.csv").lines().next().unwrap().to_owned();
    let column = |name: &str| head.split(',').position(|title| title.starts_with(name)).unwrap();
    let on_line: Vec<&Vec<String>> = stakes.iter().filter(|row| row[column("kind")] == "line").collect();
    assert!(on_line.len() >= 4, "{stakes:?}");
    for row in on_line {
        let level = bed(number(&row[column("station")]));
        assert!((number(&row[column("design_elevation")]) - level).abs() < 2e-3, "{row:?}");
    }
    assert!(!site.path("site/stakes/fall-line-pegs.csv").exists(), "a drain has stakes");
    assert!(site.read("site/works/works.landxml").contains("the profile is its bed"));
    assert!(site.read("site/sheets/dig-sheet.html").contains("Dig: drain &quot;drain&quot;"));
    assert!(table(&site, "site/works/where-to-shoot.csv").iter().any(|row| row[1] == "drain"));
    // Every shot of the list is held against the bed or crest at its own station. No mark proves them here, so none is judged.
    let shots = table(&site, "site/stakes/asbuilt-shots.csv");
    for high in [0.0, 0.1] {
        let built: Vec<String> = shots
            .iter()
            .map(|row| {
                let level = number(&row[6]) + if row[2] == "bed" { high } else { 0.0 };
                format!("{},{},{},{level:.3},{}", row[0], row[4], row[5], row[7])
            })
            .collect();
        site.write("built.csv", &format!("point,easting,northing,elevation,code\n{}\n", built.join("\n")));
        let checked = site.run(&["check", "site", "built.csv"]).out;
        assert!(checked.contains(&format!("{} shots compared, 0 not", shots.len())), "{checked}");
        assert_eq!(checked.contains("worst 100 mm high"), high > 0.0, "{checked}");
        assert_eq!(checked.contains(", 11 shots, mean 0 mm, allowed 50 mm low"), high == 0.0, "{checked}");
    }
}

//! The dig sheet as a whole: what must stand on it and what never may.

use super::*;
use crate::draw::hillside::{Hillside, METRIC, hillside};
use crate::notes::Note;
use crate::units::{Length, ReadingUnits};
use crate::works::{SwalePool, Work};

fn input<'a>(site: &'a Hillside, figures: Figures, region: Region, notes: &'a [Note]) -> DigSheetInput<'a> {
    DigSheetInput {
        site: "Kestrel Flat",
        issue: Issue { number: 2, date: Some("2025-03-14"), replaces: Some("issue 1 of 2025-03-02") },
        region,
        figures,
        stake_sides: StakeSides::default(),
        ground: &site.ground,
        survey: &site.survey,
        plan: &site.plan,
        quantities: &site.quantities,
        stakes: &site.stakes,
        tolerances: crate::asbuilt::GradeSettings::default(),
        roughness: Length::metres(0.025),
        notes,
    }
}

const FEET: Figures = Figures { units: ReadingUnits::Feet, feet: FeetStyle::Tenths };
const INCHES: Figures = Figures { units: ReadingUnits::Feet, feet: FeetStyle::FeetAndInches };

fn every_kind() -> Vec<(Figures, Region)> {
    [METRIC, FEET, INCHES].into_iter().flat_map(|figures| Region::ALL.map(|region| (figures, region))).collect()
}

/// The sheet without drawings, style and tags: what a person reads, a line a piece.
fn words_of(html: &str) -> String {
    let mut out = String::new();
    let body = html.split_once("</style>").map_or(html, |(_, body)| body);
    let mut rest = body;
    while let Some((before, after)) = rest.split_once("<svg") {
        out.push_str(before);
        rest = after.split_once("</svg>").map_or("", |(_, after)| after);
    }
    out.push_str(rest);
    let out = out.replace("</td><td>", " | ").replace("</th><th>", " | ");
    let (mut text, mut inside) = (String::new(), false);
    for c in out.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => text.push(c),
            _ => {}
        }
    }
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    lines.join("\n")
}

/// Cells of every row of the stake tables.
fn stake_rows(html: &str) -> Vec<Vec<String>> {
    html.split("<table class=\"stakes\">")
        .skip(1)
        .filter_map(|table| table.split_once("</table>").map(|(rows, _)| rows))
        .flat_map(|rows| rows.split("<tr>").skip(1))
        .map(|row| row.split("<td>").skip(1).map(|cell| cell.split("</td>").next().unwrap_or("").to_owned()).collect())
        .filter(|row: &Vec<String>| !row.is_empty())
        .collect()
}

#[test]
fn every_stake_is_told_with_one_word_and_one_number() {
    let mut site = hillside(110.0);
    // A hair off grade, which rounds to nothing at the sheet's step.
    site.stakes.stakes[0].action = Some(crate::stakeout::Action::Cut(0.0049));
    site.stakes.stakes[1].action = None;
    for (figures, region) in every_kind() {
        let rows = stake_rows(&dig_sheet(&input(&site, figures, region, &[])));
        assert_eq!(rows.len(), site.stakes.stakes.len());
        for stake in &site.stakes.stakes {
            assert!(rows.iter().any(|row| row[0] == stake.id), "{} is missing", stake.id);
        }
        for row in &rows {
            let (word, number) = row[4].split_once(' ').unwrap_or((&row[4], ""));
            assert!(["CUT", "FILL", "ON", "SHOOT"].contains(&word), "{row:?}");
            assert!(!row[4].contains(['-', '\u{2212}']), "{row:?}");
            let nothing = number.chars().filter(char::is_ascii_digit).all(|digit| digit == '0');
            assert!(word == "ON" || word == "SHOOT" || !nothing, "a nought is written as an amount: {row:?}");
        }
        assert_eq!(rows.iter().filter(|row| row[4] == "SHOOT IT").count(), 1);
    }
}

#[test]
fn what_the_field_wrote_cannot_leave_its_place() {
    let mut site = hillside(110.0);
    let evil = "<script>alert(1)</script>\" onload='x' & co";
    site.plan.swale_mut(0).wanted.name = evil.to_owned();
    site.stakes.stakes.iter_mut().for_each(|stake| stake.works = evil.to_owned());
    site.stakes.stakes[3].id = "<b>U1</b>".to_owned();
    site.survey.shots[0].id = evil.to_owned();
    site.survey.shots[4].code = evil.to_owned();
    site.ground.frame.name = evil.to_owned();
    site.plan.swale_mut(0).wanted.soil.name = evil.to_owned();
    let notes = [Note::new("x", evil)];
    let sheet = {
        let input = input(&site, METRIC, Region::Au, &notes);
        dig_sheet(&DigSheetInput { site: evil, issue: Issue { replaces: Some(evil), ..input.issue }, ..input })
    };
    assert!(!sheet.contains("<script") && !sheet.contains("<b>U1"));
    assert!(!sheet.contains("onload='"));
    assert!(sheet.contains("&lt;script&gt;alert(1)"));
}

#[test]
fn the_file_is_whole_in_itself_and_grey() {
    let site = hillside(320.0);
    let sheet = dig_sheet(&input(&site, METRIC, Region::Au, &[]));
    let elsewhere = sheet.replace("http://www.w3.org/2000/svg", "");
    for word in ["http", "url(", "@import", "<link", "src=", "<script", "href"] {
        assert!(!elsewhere.contains(word), "{word}");
    }
    for colour in sheet.split('#').skip(1).map(|after| after.chars().take_while(char::is_ascii_hexdigit)) {
        let colour: Vec<char> = colour.collect();
        let grey = match colour.len() {
            3 => colour[0] == colour[1] && colour[1] == colour[2],
            6 => colour[0..2] == colour[2..4] && colour[2..4] == colour[4..6],
            // An escaped apostrophe, `&#39;`.
            _ => true,
        };
        assert!(grey, "{colour:?}");
    }
    assert_eq!(sheet, dig_sheet(&input(&site, METRIC, Region::Au, &[])), "the same input makes the same bytes");
}

#[test]
fn nothing_is_smaller_than_twelve_points() {
    let site = hillside(320.0);
    for (figures, region) in every_kind() {
        let sheet = dig_sheet(&input(&site, figures, region, &[]));
        for size in sheet.split("font-size=\"").skip(1).filter_map(|after| after.split('"').next()) {
            // 12 pt are 12/72 of 25.4 mm.
            assert!(size.parse::<f64>().expect("a size") >= 12.0 / 72.0 * 25.4, "{size} mm");
        }
        for size in sheet.split("font-size: ").skip(1).filter_map(|after| after.split("pt").next()) {
            assert!(size.parse::<f64>().expect("a size") >= 12.0, "{size} pt");
        }
    }
}

#[test]
fn every_caution_stands_on_it() {
    let site = hillside(110.0);
    for (figures, region) in every_kind() {
        let input = input(&site, figures, region, &[]);
        let sheet = words_of(&dig_sheet(&input));
        let said = cautions::cautions(&input);
        for caution in &said {
            let escaped = crate::draw::escape(caution);
            assert!(sheet.contains(&escaped), "{caution}");
        }
        for subject in [
            "Services:",
            "Overhead lines:",
            "People and machine:",
            "Test pits:",
            "Roll-over:",
            "Weather:",
            "Finds:",
            "Water:",
            "First filling:",
            "Who to call:",
            "Marks in danger:",
        ] {
            assert!(said.iter().any(|caution| caution.starts_with(subject)), "{subject}");
        }
        assert!(sheet.contains("unproven until dug") || sheet.contains("UNPROVEN UNTIL DUG"));
    }
}

#[test]
fn a_service_under_the_dig_is_named_with_its_station() {
    // By hand: the run from (60, 0) to (68, 80) meets the line y = 60 + 10 sin(x / 45) at x 66.998, y 69.97; the line
    // starts at x 20, and its length to there is 47.40 (integrated apart).
    let site = hillside(110.0);
    let said = cautions::cautions(&input(&site, METRIC, Region::Au, &[]));
    assert!(said[0].contains("tel&co CROSSES upper at chainage 47.4"), "{}", said[0]);
    assert_eq!(said[0].matches("CROSSES").count(), 1);
}

#[test]
fn deep_faces_and_steep_ground_are_warned_of() {
    let mut site = hillside(110.0);
    let said = |site: &Hillside| cautions::cautions(&input(site, METRIC, Region::Au, &[])).join("\n");
    assert!(!said(&site).contains("Cut faces"), "0.76 m needs no way out");
    site.plan.pits_to_dig = vec![crate::works::PitToDig {
        name: "T1".to_owned(),
        works: "upper".to_owned(),
        part: "channel",
        station: crate::units::Station::metres(40.0),
        place: crate::geom::Point::new(60.0, 70.0),
        depth: Length::metres(1.6),
        proves: Vec::new(),
        put_back: false,
    }];
    assert!(said(&site).contains("nobody goes in"), "a test pit is a pit");
    site.plan.pits_to_dig.clear();
    let station = crate::units::Station::metres(40.0);
    site.plan.swale_mut(0).deepest_face = (Length::metres(1.25), station);
    assert!(said(&site).contains("Cut faces") && !said(&site).contains("nobody goes in"));
    site.plan.swale_mut(0).deepest_face = (Length::metres(1.6), station);
    assert!(said(&site).contains("nobody goes in"));
    site.plan.swale_mut(0).steepest = (crate::units::Fall::percent(17.0), station);
    assert!(said(&site).contains("STEEP GROUND: it falls 17 % across the line of upper at chainage 40."));
}

#[test]
fn no_sheet_says_dam_alone_and_each_keeps_to_one_unit_system() {
    let site = hillside(110.0);
    for (figures, region) in every_kind() {
        let sheet = words_of(&dig_sheet(&input(&site, figures, region, &[])));
        let words: Vec<&str> = sheet.split(|c: char| !c.is_alphanumeric()).collect();
        for (i, word) in words.iter().enumerate() {
            assert!(
                !word.eq_ignore_ascii_case("dam") || words.get(i + 1) == Some(&"wall"),
                "{:?}",
                words.get(i..i + 5)
            );
        }
        // Coordinates keep the frame's own unit, in the table of marks alone.
        let own = sheet.split_once("Marks\n").map_or(sheet.as_str(), |(before, _)| before);
        let wrong: &[&str] = match (figures.units, figures.feet) {
            (ReadingUnits::Metric, _) => &[" ft", "ft²", "yd³", "inch"],
            (_, FeetStyle::Tenths) => &[" m ", " m,", " m.", "m²", "m³", "\" "],
            (_, FeetStyle::FeetAndInches) => &[" m ", " m,", " m.", "m²", "m³", "tenths"],
        };
        for unit in wrong {
            assert!(!own.replace("\"upper\" ", "").contains(unit), "{figures:?}: {unit:?}");
        }
    }
}

#[test]
fn the_laser_line_leads_from_mark_to_sill() {
    // By hand: mark cp2 stands 1.789 m under the sill (429.461 against 431.25), so the staff reads more there than on
    // the sill; cp1 stands 1.253 m over it.
    let site = hillside(110.0);
    let sheet = words_of(&dig_sheet(&input(&site, METRIC, Region::Au, &[])));
    assert!(sheet.contains("STAFF ON cp2 (47 m off, bearing 200°): read it, take off 1.789 m = SILL"), "{sheet}");
    assert!(sheet.contains("PROVE ON cp1 (96 m off, bearing 288°): read it, add 1.253 m = the same"));
    // Going that way that far from the sill comes to the mark: half a metre and half a degree are let go.
    let lip = &site.plan.swale(0).spillways[0].lip;
    let sill = lip.at(lip.length() / 2.0);
    for (name, away, bearing) in [("cp2", 47.0, 200.0_f64), ("cp1", 96.0, 288.0)] {
        let mark = site.survey.shots.iter().find(|shot| shot.id == name).expect("a mark").place;
        let (sin, cos) = bearing.to_radians().sin_cos();
        let there = crate::geom::Point::new(sill.x + away * sin, sill.y + away * cos);
        assert!(there.distance(mark) < 1.4, "{name}: {there:?} {mark:?}");
    }
    // The nearest mark of all stands 5 m from the dig and is not used.
    assert!(sheet.contains("Marks in danger: cp&lt;3&gt;"));
}

#[test]
fn a_proving_mark_is_read_from_the_same_set_up_or_none_is_named() {
    let mut site = hillside(110.0);
    let text = |site: &Hillside| words_of(&dig_sheet(&input(site, METRIC, Region::Au, &[])));
    let lift = |site: &mut Hillside, by: f64| {
        site.survey.shots.iter_mut().filter(|shot| shot.id == "cp1").for_each(|shot| shot.elevation += by);
    };
    // By hand: cp1 stands 3.042 m over cp2; 3 m more and no staff reads both. cp<3> is 2.249 m over cp2 and goes, which
    // does not matter before the dig.
    lift(&mut site, 3.0);
    let other = text(&site);
    assert!(other.contains("PROVE ON cp&lt;3&gt;") && !other.contains("PROVE ON cp1"), "{other}");
    assert!(other.contains("too near the dig to live): read it, add 0.460 m = the same"), "{other}");
    site.survey.shots.retain(|shot| shot.id != "cp<3>");
    let none = text(&site);
    assert!(!none.contains("PROVE ON"), "{none}");
    assert!(
        none.contains(
            "No second mark can be read from one set-up. The nearest is cp1 (96 m off, bearing 288°), 6.042 m higher than cp2:"
        ),
        "{none}"
    );
    // A mark that is read with the sill comes before a nearer one that is not.
    site.survey.shots.iter_mut().filter(|shot| shot.id == "cp2").for_each(|shot| shot.elevation -= 5.0);
    lift(&mut site, -3.0);
    let far = text(&site);
    assert!(far.contains("STAFF ON cp1 (96 m off, bearing 288°): read it, add 1.253 m = SILL"), "{far}");
    assert!(far.contains("The nearest is cp2 (47 m off, bearing 200°), 8.042 m lower than cp1"), "{far}");
}

#[test]
fn the_worst_place_of_a_line_is_one_place_with_one_figure() {
    let mut site = hillside(110.0);
    let stations = &mut site.plan.swale_mut(0).contour.stations;
    for station in stations.iter_mut() {
        (station.deviation, station.sigma) = (0.0, Some(0.02));
    }
    // Half a millimetre is the most; a place that is surveyed less surely stands elsewhere.
    stations[9].deviation = 0.0005;
    (stations[3].deviation, stations[3].sigma) = (-0.0002, Some(0.03));
    let at = METRIC.station(stations[9].station);
    let sheet = dig_sheet(&input(&site, METRIC, Region::Au, &[]));
    assert!(sheet.contains("at worst 0.5 mm high<"), "the drawing");
    let said = words_of(&sheet);
    // 1.96 times 30 mm and 0.2 mm are 59.0 mm.
    let expected =
        format!("at worst 0.5 mm high at chainage {at} (with the doubt of the shots it lies within 0.060 m at 95 %)");
    assert!(said.contains(&expected), "{said}");
    assert!(!said.contains("at worst 0.005") && !sheet.contains("at worst 0.005"));
}

#[test]
fn the_first_sheet_of_paper_holds_what_to_build_and_no_more() {
    let site = hillside(110.0);
    let sheet = dig_sheet(&input(&site, METRIC, Region::Au, &[]));
    let pages: Vec<&str> = sheet.split("<section class=\"page\">").skip(1).collect();
    // A page for each work, and one run of paper for the rest.
    assert_eq!(pages.len(), site.plan.works.len() + 1);
    for says in ["SURVEY NOT CHECKED", "SHORT OF EARTH", "STAFF ON", "Typical cross section"] {
        assert!(pages[0].contains(says) && !pages[1].contains(says), "{says}");
    }
    for says in ["Order of work", "Plan of the works", "Hold points", "<h2>Earth to move"] {
        assert!(pages[1].contains(says) && !pages[0].contains(says), "{says}");
    }
    // What is signed does not break between two sheets.
    assert!(sheet.contains("<div class=\"whole\">\n<h2>Hold points"));
}

#[test]
fn a_tolerance_is_never_rounded_up() {
    let site = hillside(110.0);
    let said = |figures| words_of(&dig_sheet(&input(&site, figures, Region::Us, &[])));
    // 10 mm at this sill are 0.394 in and 0.0328 ft, 200 mm at the crest 7.87 in and 0.656 ft.
    assert!(
        said(INCHES)
            .contains("sill 1/4&quot; either way, crest never low, up to 7 3/4&quot; high, bed 1 3/4&quot; either way")
    );
    assert!(
        said(FEET).contains("sill 0.03 ft either way, crest never low, up to 0.65 ft high, bed 0.16 ft either way")
    );
}

#[test]
fn marks_have_their_elevation_in_the_unit_of_the_sheet_too() {
    let site = hillside(110.0);
    let said = |figures| words_of(&dig_sheet(&input(&site, figures, Region::Us, &[])));
    // 429.461 / 0.3048 = 1408.993.
    for figures in [FEET, INCHES] {
        assert!(said(figures).contains("| Elevation, m | Elevation, ft"));
        assert!(said(figures).contains("cp2 | 412405.000 | 6187220.000 | 429.461 | 1408.99\n"));
    }
    assert!(said(METRIC).contains("cp2 | 412405.000 | 6187220.000 | 429.461\n"));
}

#[test]
fn short_earth_is_told_with_the_work_and_a_missing_date_is_a_blank() {
    let site = hillside(110.0);
    let input = input(&site, METRIC, Region::Au, &[]);
    let said = words_of(&dig_sheet(&DigSheetInput { issue: Issue { date: None, ..input.issue }, ..input }));
    assert!(said.find("SHORT OF EARTH").expect("it is short") < said.find("Line: ").expect("the work"), "{said}");
    assert_eq!(said.matches("SHORT OF EARTH").count(), 1);
    assert!(said.contains("issue 2, date: ________, replaces issue 1 of 2025-03-02") && !said.contains("1970"));
}

#[test]
fn what_is_wrong_with_a_work_is_said_before_anyone_digs() {
    let mut site = hillside(110.0);
    let text = |site: &Hillside| words_of(&dig_sheet(&input(site, METRIC, Region::Us, &[])));
    let good = text(&site);
    for warning in ["NO SILL", "SILL PARTLY ON FILL", "WATER LEAVES ELSEWHERE", "OPEN END"] {
        assert!(!good.contains(warning), "{warning}");
    }
    let swale = site.plan.swale_mut(0);
    swale.ends[1].closed = false;
    swale.storage.at_sill = false;
    swale.storage.spill = swale.water_level - Length::metres(0.07);
    swale.spillways[0].on_fill = true;
    swale.spillways[0].ground_above_sill = (Length::metres(0.02), Length::metres(-0.04));
    let bad = text(&site);
    assert!(bad.contains("OPEN END: the ground at the last end"));
    assert!(bad.contains("0.07 BELOW the sill"));
    assert!(bad.contains("up to 0.040 m too low"));
    // A way out above the sill is told as what it is, once with room for the flood and once without.
    let swale = site.plan.swale_mut(0);
    let (level, freeboard) = (swale.water_level, Length::metres(0.2));
    swale.crest.freeboard = freeboard;
    swale.storage.spill = level + Length::metres(0.04);
    let stretch = (swale.spillways[0].from, swale.spillways[0].to);
    swale.pools = vec![SwalePool { from: stretch.0, to: stretch.1, has_sill: true, storage: swale.storage }];
    for (share, says) in [(0.5, "are left with the flood"), (1.5, "HEAD AND FREEBOARD DO NOT HOLD")] {
        let swale = site.plan.swale_mut(0);
        swale.pools[0].storage.spill = level + freeboard * share;
        let higher = text(&site);
        assert!(higher.contains("SILL BEHIND HIGHER GROUND") && higher.contains(says), "{higher}");
        assert!(!higher.contains("WATER LEAVES ELSEWHERE"));
    }
    site.plan.swale_mut(0).spillways.clear();
    assert!(text(&site).contains("NO SILL"));
    assert!(good.contains("SURVEY NOT CHECKED"), "no check shot and no note that it was checked");
    let notes = [Note::new("survey::checked", "day1.csv is checked")];
    assert!(!dig_sheet(&input(&site, METRIC, Region::Us, &notes)).contains("SURVEY NOT CHECKED"));
}

#[test]
fn a_line_off_its_contour_is_a_warning_with_place_and_number_and_claims_no_level() {
    let mut site = hillside(110.0);
    let text = |site: &Hillside| words_of(&dig_sheet(&input(site, METRIC, Region::Au, &[])));
    let good = text(&site);
    // 0.018 sin: every station lies within 18 mm.
    assert!(good.contains("Natural ground on it lies within 0.020 m of the sill, as surveyed."), "{good}");
    assert!(!good.contains("OFF CONTOUR"));
    site.plan.swale_mut(0).contour.stations[7].deviation = -0.072;
    let bad = text(&site);
    let station = METRIC.station(site.plan.swale(0).contour.stations[7].station);
    assert!(
        bad.contains(&format!(
            "OFF CONTOUR: natural ground on the line is 0.075 m too low at chainage {station}, and 0.050 m either way"
        )),
        "{bad}"
    );
    assert!(bad.find("OFF CONTOUR") < bad.find("Channel: bed"), "it stands at the top");
    assert!(bad.contains("NOT level") && !bad.contains("lies within"));
    site.plan.swale_mut(0).contour.stations.clear();
    assert!(text(&site).contains("was not measured"));
}

#[test]
fn notes_of_the_stages_are_not_copied_onto_the_sheet() {
    let mut site = hillside(110.0);
    let swale = site.plan.swale_mut(0);
    swale.wanted.uphill_batter = crate::units::Batter::horizontal_per_vertical(0.5);
    swale.contour.least_radius = (3.0, 70.0);
    let ground = |code: &str, place: crate::geom::Point| {
        let (easting, northing) = site.ground.frame.to_frame(place);
        Note::new(code, "swale `upper`: metres, ../files/day1.csv:3, coefficient 1.50")
            .at(crate::notes::Place::Ground { easting, northing })
    };
    let exit = swale.spillways[0].exit.clone().expect("a way out");
    let notes = [
        ground("works::exit-cut", exit.points()[1]),
        ground("works::exit-off-survey", exit.last()),
        ground("weir::coefficient", exit.last()),
        ground("survey::set-aside", exit.last()),
    ];
    for (figures, region) in every_kind() {
        let sheet = words_of(&dig_sheet(&input(&site, figures, region, &notes)));
        for forbidden in ["`", "../", ".csv", "coefficient", ".json"] {
            assert!(!sheet.contains(forbidden), "{forbidden}");
        }
        assert!(sheet.contains("upper, STEEP uphill side: 0.5H:1V"), "{sheet}");
        assert!(sheet.contains("upper, bend: it turns at"));
        assert!(sheet.contains("upper, way out: cut a channel"));
        assert!(sheet.contains("was not surveyed. Walk it before digging."));
        assert!(sheet.contains("4 notes on survey and design"));
    }
}

#[test]
fn a_berm_is_not_called_higher_for_its_earth_while_earth_is_short() {
    let mut site = hillside(110.0);
    let text = |site: &Hillside| words_of(&dig_sheet(&input(site, METRIC, Region::Au, &[])));
    assert!(site.quantities.works[0].surplus_bank.in_cubic_metres() < 0.0);
    assert!(text(&site).contains("the earth runs short") && !text(&site).contains("which makes it higher"));
    site.quantities.works[0].surplus_bank = crate::soil::BankVolume::cubic_metres(1.0);
    assert!(text(&site).contains("which makes it higher"));
}

#[test]
fn a_stake_in_the_dig_does_not_stay() {
    let mut site = hillside(110.0);
    let swale = site.plan.swale(0).clone();
    let text = |site: &Hillside| words_of(&dig_sheet(&input(site, METRIC, Region::Au, &[])));
    assert!(!text(&site).contains("these go"));
    let offset: Vec<usize> = (0..site.stakes.stakes.len())
        .filter(|&i| site.stakes.stakes[i].kind == crate::stakeout::StakeKind::Offset)
        .collect();
    // One into the cut, one 0.4 m uphill of its edge at 3.6 / 0.92 m.
    site.stakes.stakes[offset[0]].place = swale.line.at_offset(20.0, 2.0);
    site.stakes.stakes[offset[1]].place = swale.line.at_offset(40.0, 3.6 / 0.92 + 0.4);
    let said = text(&site);
    let goes = said.split_once("these go").expect("a table of its own").1;
    let id = &site.stakes.stakes[offset[0]].id;
    assert!(goes.split_once("upper: on").expect("the next table").0.contains(id.as_str()), "{said}");
    let near = &site.stakes.stakes[offset[1]].id;
    assert!(said.contains(&format!("may not live: {near} (0.40 m).")), "{said}");
}

#[test]
fn two_swales_are_dug_from_the_top() {
    let mut site = hillside(110.0);
    let mut lower = site.plan.swale(0).clone();
    lower.wanted.name = "lower".to_owned();
    lower.water_level = lower.water_level - Length::metres(3.0);
    site.plan.works.insert(0, Work::Swale(lower));
    let sheet = words_of(&dig_sheet(&input(&site, METRIC, Region::Neutral, &[])));
    assert!(sheet.contains("Top swale first: upper, then lower."));
    assert!(
        sheet.contains("Build: level swale &quot;lower&quot;")
            && sheet.contains("Build: level swale &quot;upper&quot;")
    );
}

#[test]
fn a_plan_without_works_says_so() {
    let mut site = hillside(110.0);
    site.plan.works.clear();
    site.plan.surfaces.clear();
    site.stakes.stakes.clear();
    assert!(dig_sheet(&input(&site, METRIC, Region::Neutral, &[])).contains("NOTHING TO DIG"));
}

#[test]
fn the_words_of_a_sheet() {
    let site = hillside(110.0);
    let notes = [Note::new("survey::not-checked", "no check shot opens day1.csv")];
    let words = words_of(&dig_sheet(&input(&site, METRIC, Region::Au, &notes)));
    assert!(words.len() < 20 * 1024);
    insta::assert_snapshot!("words_of_a_sheet_au_metric", words);
    let words = words_of(&dig_sheet(&input(&site, INCHES, Region::Us, &[])));
    insta::assert_snapshot!("words_of_a_sheet_us_inches", words);
}

#[test]
fn a_section_that_changes_is_told_and_drawn_with_its_stations() {
    use crate::units::{Batter, Station};
    use crate::works::SectionChange;
    let mut site = hillside(110.0);
    let change = SectionChange {
        width: Some(Length::metres(2.0)),
        step_down: Some(Length::metres(0.2)),
        berm_batter: Some(Batter::horizontal_per_vertical(4.0)),
        ..SectionChange::at(Station::metres(40.0), Length::metres(10.0))
    };
    site.plan.swale_mut(0).wanted.changes.push(change);
    let html = dig_sheet(&input(&site, METRIC, Region::Au, &[]));
    let words = words_of(&html);
    let says = words.lines().find(|line| line.starts_with("Change: ")).expect("it is told");
    for part in [
        "from chainage 40",
        "to 50",
        "2.00 m wide at the bed",
        "bed 0.80 m below the sill",
        "both batters of the berm 4H:1V",
    ] {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(words.contains("BED to 40 |") && words.contains("BED from 50 |"), "{words}");
    assert!(html.contains("Typical cross section of upper, from chainage 50"));
}

#[test]
fn an_end_left_open_is_told_and_no_warning() {
    let mut site = hillside(110.0);
    let end = &mut site.plan.swale_mut(0).ends[1];
    (end.closed, end.overflow) = (false, true);
    let words = words_of(&dig_sheet(&input(&site, METRIC, Region::Au, &[])));
    assert!(words.contains("The last end is left OPEN as an overflow: the berm stops at the sill"), "{words}");
    assert!(!words.contains("OPEN END"));
}

#[test]
fn a_crest_that_is_not_level_is_told_and_each_peg_has_its_own() {
    let mut site = hillside(110.0);
    let swale = site.plan.swale_mut(0);
    let built = swale.crest.built.in_metres();
    swale.crest_levels = swale.crest_axes.iter().map(|axis| vec![built + 0.2; axis.points().len()]).collect();
    swale.crest_levels[0][0] = built;
    let words = words_of(&dig_sheet(&input(&site, METRIC, Region::Au, &[])));
    assert!(
        words.contains("CREST NOT LEVEL: it follows the earth of the channel, from the 0.52 above to 0.72."),
        "{words}"
    );
    assert!(words.contains("BUILD TO 0.52 ABOVE"));
}

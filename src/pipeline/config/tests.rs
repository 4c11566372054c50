//! Tests of the pipeline file: what is read, and the place of every fault.

use super::*;
use crate::works::{Berm, EndShape, Ends, LineEdge, Measure, PlaceAmong, Spacing};
use std::path::Path;

const GOOD: &str = r#"
format = 1

[site]
name   = "Kestrel Flat"
crs    = "EPSG:32755"
units  = "metric"
region = "au"

[survey]
shots   = ["day1.csv", { file = "day2.txt", columns = "point, northing, easting, elevation, code", delimiter = "tab", units = "feet" }]
columns = "point, easting, northing, elevation, code"
roughness = "25 mm"
keep    = ["day1.csv:212"]
[survey.roles]
ground = ["gs"]
breakline = ["ridge", "drain"]
mark = ["cp"]

[ground]
longest-edge = "30 m"

[[swale]]
name      = "upper"
water-level = { at-shot = "day1.csv:117" }
line        = "downhill-lip"
within      = "paddock.geojson"
bottom-width = "1.2 m"
depth        = "2 ft"
uphill-batter = "2.5:1"
downhill-batter = "2:1"
berm         = "all-the-cut"
freeboard    = "0.3 m"
bend-radius  = "5 m"
ends         = "turn-up"

[[spillway]]
of    = "upper"
at    = { end = "last" }
sill-length  = "6 m"
sill-breadth = "1.5 m"
head         = "0.10 m"
exit-fall    = "0.5 %"
"#;

fn faults(text: &str) -> Vec<(u64, u64, &'static str, String)> {
    let all = read(Path::new("site.toml"), text).expect_err("a faulty file");
    all.faults.into_iter().map(|fault| (fault.line, fault.column, fault.code, fault.message)).collect()
}

/// The good file with one line changed.
fn with(line: &str, instead: &str) -> String {
    assert!(GOOD.contains(line), "{line}");
    GOOD.replace(line, instead)
}

#[test]
fn the_example_of_the_manual_reads_and_defaults_are_filled_in() {
    let file = read(Path::new("sites/kestrel.toml"), GOOD).unwrap();
    assert_eq!(file.site.name, "Kestrel Flat");
    assert_eq!(file.beside("day1.csv"), Path::new("sites/day1.csv"));
    assert_eq!(file.survey.shots[0].settings.columns.as_deref(), Some("point, easting, northing, elevation, code"));
    let second = &file.survey.shots[1].settings;
    assert_eq!(second.columns.as_deref(), Some("point, northing, easting, elevation, code"), "its own beats [survey]");
    assert_eq!(second.unit, Some(crate::units::LengthUnit::Feet));
    let swale = &file.swales[0];
    assert_eq!(swale.depth.in_metres(), 0.6096);
    assert_eq!(swale.line_edge, LineEdge::DownhillLip);
    assert!(matches!(swale.berm, Berm::AllTheCut { crest, .. } if crest.in_metres() == 1.0));
    assert_eq!(swale.ledge.in_metres(), 0.4, "the default");
    assert_eq!(swale.spillways.len(), 1);
    assert_eq!(file.earth.settlement, 0.12, "of track-walked fill");
    assert_eq!(file.resolved["swale"][0]["ledge"], "0.4 m", "the manifest prints the default");
    assert_eq!(file.resolved["earth"]["settlement"], "12 %");
}

#[test]
fn all_faults_come_at_once_in_the_order_of_the_file() {
    let text = with("depth        = \"2 ft\"", "depth = 0.6")
        .replace("[ground]", "[ground]\ncolour = 3")
        .replace("ends         = \"turn-up\"", "ends = \"open\"");
    let found = faults(&text);
    let codes: Vec<&str> = found.iter().map(|fault| fault.2).collect();
    assert_eq!(codes, ["pipeline::unknown-key", "pipeline::missing-unit", "pipeline::unknown-choice"]);
    assert_eq!(
        found[1].3,
        "`depth`: `0.6` has no unit: write it with one of mm, cm, m, km, in, ft, usft, such as `0.6 m`"
    );
}

#[test]
fn a_fault_has_line_and_column_of_the_value() {
    let text = "format = 1\n[site]\nname = \"A\"\ncrs = \"local\"\nunits = \"yards\"\n[survey]\nshots = [\"a.csv\"]\n";
    let found = faults(text);
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].0, found[0].1, found[0].2), (5, 9, "pipeline::unknown-choice"));
}

#[test]
fn an_unknown_key_lists_the_accepted_ones() {
    let all = read(Path::new("site.toml"), &with("bend-radius", "bend-radios")).unwrap_err();
    assert_eq!(all.faults[0].message, "unknown key `bend-radios` in [swale]");
    assert!(all.faults[0].help.as_ref().unwrap().contains("bend-radius"));
    assert!(all.to_string().starts_with("site.toml:34:1: unknown key `bend-radios`"), "{all}");
}

#[test]
fn what_a_later_version_will_have_is_refused_as_such() {
    let found = faults(&with("[ground]", "[[haul]]\nname = \"big\"\n[ground]"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].2, "pipeline::not-in-this-version");
}

#[test]
fn a_water_level_may_be_so_far_off_one_thing() {
    let level = |text: &str| with("{ at-shot = \"day1.csv:117\" }", text);
    let asked = |text: &str| read(Path::new("a.toml"), &level(text)).unwrap().swales[0].water_level.value.clone();
    let by = |metres| crate::units::Length::metres(metres);
    assert_eq!(
        asked("{ below = { by = \"0.3 m\", at-shot = \"day1.csv:41\" } }"),
        SwaleLevelAsked::From(WaterLevelAsked::Off(by(-0.3), ThingAsked::Shot("day1.csv:41".to_owned())))
    );
    assert_eq!(
        asked("{ above = { by = \"1 m\", through = [4.0, 5.0] } }"),
        SwaleLevelAsked::From(WaterLevelAsked::Off(by(1.0), ThingAsked::Place(4.0, 5.0)))
    );
    let area = crate::units::Area::square_metres(20_000.0);
    assert_eq!(asked("{ to-catch = \"2 ha\" }"), SwaleLevelAsked::ToCatch(area, None));
    let near = asked("{ to-catch = { area = \"2 ha\", near = [4.0, 5.0] } }");
    assert_eq!(near, SwaleLevelAsked::ToCatch(area, Some((4.0, 5.0))));
    assert_eq!(asked("{ place = 2 }"), SwaleLevelAsked::Place(PlaceAmong { rank: 2, ..PlaceAmong::default() }));
    let among = asked("{ place = { by = \"held\", from = \"430 m\", steepest = \"8 %\" } }");
    let wanted = PlaceAmong {
        by: Measure::Held,
        from: Some(crate::units::Elevation::metres(430.0)),
        steepest: crate::units::Fall::percent(8.0),
        ..PlaceAmong::default()
    };
    assert_eq!(among, SwaleLevelAsked::Place(wanted));
    for (text, code) in [
        ("{ place = 0 }", "pipeline::wrong-type"),
        ("{ place = { from = \"432 m\", to = \"430 m\" } }", "pipeline::out-of-range"),
        ("{ below = { by = \"0.3 m\" } }", "pipeline::one-choice"),
        ("{ below = { by = \"0.3 m\", through = [4.0, 5.0], at-shot = \"41\" } }", "pipeline::one-choice"),
        ("{ below = { by = \"-0.3 m\", at-shot = \"41\" } }", "pipeline::out-of-range"),
        ("{ below = { at-shot = \"41\" } }", "pipeline::missing-key"),
        ("{ below = { by = \"0.3 m\", shot = \"41\" } }", "pipeline::unknown-key"),
        ("{ below = \"0.3 m\" }", "pipeline::wrong-type"),
        ("{ to-catch = \"2 m\" }", "pipeline::unknown-unit"),
        ("{ to-catch = \"0 ha\" }", "pipeline::wrong-type"),
        ("{ to-catch = { near = [4.0, 5.0] } }", "pipeline::missing-key"),
        ("{ under = \"0.3 m\" }", "pipeline::unknown-choice"),
    ] {
        let found = faults(&level(text));
        assert_eq!(found[0].2, code, "{text}: {found:?}");
    }
}

#[test]
fn a_depth_is_said_or_the_water_to_hold() {
    let depth = |text: &str| with("depth        = \"2 ft\"", text);
    let asked = read(Path::new("a.toml"), &depth("depth = { to-hold = \"600 m3\" }")).unwrap();
    assert_eq!(asked.swales[0].to_hold.map(crate::units::Volume::in_cubic_metres), Some(600.0));
    assert_eq!(faults(&depth("depth = { to-hold = \"0 m3\" }"))[0].2, "pipeline::wrong-type");
    assert_eq!(faults(&depth("depth = { to-hold = \"600 m\" }")).len(), 1);
    assert_eq!(faults(&depth("depth = { hold = \"600 m3\" }")).len(), 1);
}

#[test]
fn a_channel_has_the_widths_of_its_shape() {
    use crate::works::ChannelShape;
    let shape = |line: &str| with("bottom-width = \"1.2 m\"", line);
    let read = |line: &str| read(Path::new("site.toml"), &shape(line)).unwrap().swales[0].shape;
    assert_eq!(read("shape = \"triangle\""), ChannelShape::Triangle);
    let round = |metres| ChannelShape::Parabola { top_width: crate::units::Length::metres(metres) };
    // The manual's example says a downhill batter, which a parabola does not have.
    let parabola = |more: &str| {
        let text = shape(&format!("shape = \"parabola\"\n{more}")).replace("downhill-batter = \"2:1\"\n", "");
        super::read(Path::new("site.toml"), &text).unwrap().swales[0].shape
    };
    assert_eq!(parabola(""), round(3.0));
    assert_eq!(parabola("top-width = \"4 m\""), round(4.0));
    for wrong in [
        "shape = \"parabola\"",
        "shape = \"triangle\"\nbottom-width = \"1 m\"",
        "shape = \"triangle\"\ntop-width = \"1 m\"",
        "top-width = \"1 m\"",
    ] {
        let found = faults(&shape(wrong));
        assert_eq!((found.len(), found[0].2), (1, "pipeline::out-of-range"), "{wrong}");
    }
    assert_eq!(faults(&shape("shape = \"round\""))[0].2, "pipeline::unknown-choice");
}

#[test]
fn a_key_is_dug_where_its_table_is_written() {
    let key = |line: &str| {
        let text = with("bottom-width = \"1.2 m\"", line);
        let file = read(Path::new("site.toml"), &text).unwrap();
        (file.swales[0].key, file.resolved["swale"][0]["key"].clone())
    };
    assert_eq!(key("").0, None);
    let (found, resolved) = key("key = { width = \"0.9 m\" }");
    assert_eq!(found.map(|key| (key.width.in_metres(), key.depth.in_metres())), Some((0.9, 0.3)));
    assert_eq!(resolved["depth"], "0.3 m", "the manifest prints the default");
    assert_eq!(faults(&with("bottom-width = \"1.2 m\"", "key = { deep = \"0.3 m\" }"))[0].2, "pipeline::unknown-key");
}

#[test]
fn a_set_of_swales_is_named_in_order_and_each_has_the_sets_spillway() {
    let set = |text: &str| with("bottom-width = \"1.2 m\"", &format!("down-slope = {text}"));
    let file = read(Path::new("site.toml"), &set("{ swales = 3, drop = \"1.2 m\" }")).unwrap();
    let names: Vec<&str> = file.swales.iter().map(|swale| swale.name.value.as_str()).collect();
    assert_eq!(names, ["upper-1", "upper-2", "upper-3"]);
    assert!(file.swales.iter().all(|swale| swale.spillways.len() == 1));
    let SwaleLevelAsked::Below(spacing, upper) = &file.swales[2].water_level.value else { panic!("below") };
    assert_eq!(*spacing, Spacing::Drop(crate::units::Length::metres(1.2)));
    assert_eq!(upper.name.value, "upper-2");
    let terraces =
        read(Path::new("site.toml"), &set("{ swales = 2, terraces = { x = \"0.6 ft\", y = \"2 ft\" } }")).unwrap();
    assert!(matches!(&terraces.swales[1].water_level.value, SwaleLevelAsked::Below(Spacing::Terraces { .. }, _)));
    for (text, code) in [
        ("{ swales = 1, drop = \"1.2 m\" }", "pipeline::wrong-type"),
        ("{ swales = 3 }", "pipeline::one-choice"),
        ("{ swales = 3, drop = \"1.2 m\", along-slope = \"40 m\" }", "pipeline::one-choice"),
        ("{ swales = 3, drop = \"0 m\" }", "pipeline::out-of-range"),
        ("{ swales = 3, terraces = { x = \"0.6 ft\" } }", "pipeline::missing-key"),
        ("4", "pipeline::wrong-type"),
    ] {
        let found = faults(&set(text));
        assert_eq!((found.len(), found[0].2), (1, code), "{text}: {found:?}");
    }
    let second = "\n[[swale]]\nname = \"upper\"\nwater-level = { elevation = \"431.25 m\" }\n";
    let twice = format!("{}{second}", set("{ swales = 3, drop = \"1.2 m\" }"));
    assert_eq!(faults(&twice)[0].2, "pipeline::name-twice");
}

#[test]
fn a_line_of_constant_fall_has_a_start_a_goal_and_one_fall_or_two() {
    let line = |text: &str| format!("{GOOD}\n[[fall-line]]\nname = \"drain\"\n{text}");
    let file = |text: &str| read(Path::new("site.toml"), &line(text)).unwrap().fall_lines.remove(0);
    let asked = file("from = \"day1.csv:117\"\nto = [5.0, 6.0]\nfall = \"1 in 200\"");
    assert_eq!(asked.from.value, SpotAsked::Shot("day1.csv:117".to_owned()));
    let percent = crate::units::Fall::percent;
    assert_eq!((asked.falls, asked.to, asked.length), ((percent(0.5), percent(0.5)), (5.0, 6.0), None));
    let asked = file("from = [1.0, 2.0]\nto = [5.0, 6.0]\nfall = [\"0.3 %\", \"1 %\"]\nlength = \"80 m\"");
    assert_eq!(asked.from.value, SpotAsked::Place(1.0, 2.0));
    assert_eq!(asked.falls, (percent(0.3), percent(1.0)));
    let start = "from = [1.0, 2.0]\nto = [5.0, 6.0]\n";
    for (text, code) in [
        (format!("{start}fall = \"0 %\""), "pipeline::out-of-range"),
        (format!("{start}fall = [\"1 %\", \"0.3 %\"]"), "pipeline::out-of-range"),
        (format!("{start}fall = [\"1 %\", \"2 %\", \"3 %\"]"), "pipeline::wrong-type"),
        (format!("{start}fall = \"0.5\""), "pipeline::missing-unit"),
        ("from = 3\nto = [5.0, 6.0]\nfall = \"1 %\"".to_owned(), "pipeline::wrong-type"),
        ("from = [1.0, 2.0]\nfall = \"1 %\"".to_owned(), "pipeline::missing-key"),
    ] {
        let found = faults(&line(&text));
        assert_eq!((found.len(), found[0].2), (1, code), "{text}: {found:?}");
    }
    let twice = line(&format!("{start}fall = \"1 %\"")).replace("\"drain\"", "\"upper\"");
    assert_eq!(faults(&twice)[0].2, "pipeline::name-twice");
}

#[test]
fn the_channel_of_a_line_has_sizes_that_are_said_or_found() {
    use crate::works::drain::{DrainBerm, Solved};
    let storm = "[[storm]]\nname = \"25-year\"\nintensity = \"80 mm/h\"\n";
    let line = |channel: &str| {
        format!(
            "{GOOD}\n{storm}[[fall-line]]\nname = \"drain\"\nfrom = [1.0, 2.0]\nto = [5.0, 6.0]\nfall = \"0.5 %\"\nchannel = {{ {channel} }}\n"
        )
    };
    let file =
        |channel: &str| read(Path::new("site.toml"), &line(channel)).unwrap().fall_lines.remove(0).channel.unwrap();
    let usual = file("");
    assert_eq!((usual.depth, usual.to_carry, usual.flow.clone()), (Length::metres(0.4), None, None));
    assert!(matches!(usual.berm, Some(DrainBerm::AllTheCut { crest, .. }) if crest == Length::metres(0.6)));
    let deep = file("depth = \"to-carry\", flow = \"0.25 m3/s\", berm = \"none\"");
    assert_eq!((deep.to_carry, deep.berm), (Some(Solved::Depth), None));
    let wide = file(
        "shape = \"parabola\", top-width = \"to-carry\", flow = { for-storm = \"25-year\" }, runoff-coefficient = 0.4, berm = { height = \"0.3 m\" }",
    );
    assert_eq!(wide.to_carry, Some(Solved::Width));
    assert!(matches!(wide.berm, Some(DrainBerm::Fixed { height, .. }) if height == Length::metres(0.3)));
    let Some(FlowAsked::Storm { intensity, catchment: None, .. }) = wide.flow else { panic!("{:?}", wide.flow) };
    assert!((intensity.in_millimetres_per_hour() - 80.0).abs() < 1e-9);
    for (channel, code, says) in [
        ("depth = \"to-carry\"", "pipeline::out-of-range", "needs the `flow`"),
        (
            "bottom-width = \"to-carry\", depth = \"to-carry\", flow = \"1 m3/s\"",
            "pipeline::out-of-range",
            "the other must be said",
        ),
        ("depth = \"to-hold\"", "pipeline::not-a-quantity", "depth"),
        ("shape = \"triangle\", bottom-width = \"1 m\"", "pipeline::out-of-range", "no flat bed"),
        ("shape = \"round\"", "pipeline::unknown-choice", "round"),
        ("berm = \"high\"", "pipeline::unknown-choice", "high"),
        ("flow = \"0 m3/s\"", "pipeline::out-of-range", "flow"),
        ("flow = { for-storm = \"25-year\" }", "pipeline::storm-without", "runoff-coefficient"),
        ("flow = { for-storm = \"5-year\" }, runoff-coefficient = 0.4", "pipeline::unknown-storm", "5-year"),
        ("catchment = \"2 ha\"", "pipeline::not-both", "for-storm"),
        ("width = \"1 m\"", "pipeline::unknown-key", "width"),
    ] {
        let all = read(Path::new("site.toml"), &line(channel)).unwrap_err();
        assert_eq!((all.faults.len(), all.faults[0].code), (1, code), "{channel}: {:?}", all.faults);
        assert!(all.faults[0].message.contains(says), "{channel}: {}", all.faults[0].message);
    }
}

#[test]
fn two_swales_of_one_name_show_both_places() {
    let second = "\n[[swale]]\nname = \"upper\"\nwater-level = { elevation = \"431.25 m\" }\n";
    let all = read(Path::new("site.toml"), &format!("{GOOD}{second}")).unwrap_err();
    assert_eq!(all.faults.len(), 1);
    assert_eq!(all.faults[0].code, "pipeline::name-twice");
    let (first, _) = all.faults[0].other.clone().unwrap();
    assert_eq!(&all.text[first], "\"upper\"");
}

#[test]
fn a_spillway_needs_a_swale_and_one_unknown() {
    assert_eq!(faults(&with("of    = \"upper\"", "of = \"lower\""))[0].2, "pipeline::unknown-name");
    let over_determined = with("head         = \"0.10 m\"", "head = \"0.10 m\"\nflow = \"0.25 m3/s\"");
    assert_eq!(faults(&over_determined)[0].2, "pipeline::out-of-range");
    let solved = read(Path::new("a.toml"), &with("head         = \"0.10 m\"", "flow = \"0.25 m3/s\"")).unwrap();
    assert_eq!(solved.swales[0].spillways[0].head, None);
}

#[test]
fn a_placed_floor_is_sized_for_its_yield() {
    let pit = |floor: &str, depth: &str| {
        let table = format!("[[borrow]]\nname = \"pit\"\nfloor = {floor}\ndepth = {depth}\n");
        format!("{}\n{table}", with("", ""))
    };
    let yields = "{ to-yield = { fill-of = \"upper\" } }";
    let file = read(Path::new("a.toml"), &pit("{ beside = \"upper\", clear = \"8 m\" }", yields)).unwrap();
    let FloorAsked::Beside { work, clear, deep, within: None, obstacles: None } = &file.pits[0].floor.value else {
        panic!("placed")
    };
    assert_eq!((work.value.as_str(), *clear, deep.in_metres()), ("upper", Some(Length::metres(8.0)), 1.5));
    assert_eq!(faults(&pit("{ beside = \"upper\" }", "\"2 m\""))[0].2, "pipeline::not-to-yield");
    let unknown = pit("{ beside = \"nowall\" }", yields);
    let fault = faults(&unknown).remove(0);
    assert_eq!(fault.2, "pipeline::unknown-name");
    let before = unknown.lines().take_while(|line| !line.contains("nowall")).count();
    assert_eq!(usize::try_from(fault.0).unwrap(), before + 1, "it points at the name");
    let corners = "{ corners = [[0, 0], [9, 0], [9, 9]], clear = \"8 m\" }";
    assert_eq!(faults(&pit(corners, yields))[0].2, "pipeline::not-both");
}

#[test]
fn a_sill_for_a_storm_needs_the_storm_and_what_drains_to_it() {
    let storm = "[[storm]]\nname = \"25-year\"\nintensity = \"80 mm/h\"\n";
    let asked = |tables: &str, keys: &str| {
        let text = format!("{}\n{tables}", with("", ""));
        text.replacen("[[spillway]]\n", &format!("[[spillway]]\n{keys}\n"), 1)
            .lines()
            .map(
                |line| if line.starts_with("sill-length") { "sill-length = { for-storm = \"25-year\" }" } else { line },
            )
            .collect::<Vec<_>>()
            .join("\n")
    };
    let all = "catchment = \"3.2 ha\"\nrunoff-coefficient = 0.4";
    let file = read(Path::new("a.toml"), &asked(storm, all)).unwrap();
    let SillAsked::ForStorm { intensity, catchment, coefficient, .. } = &file.swales[0].spillways[0].sill else {
        panic!("for a storm")
    };
    assert!((intensity.in_millimetres_per_hour() - 80.0).abs() < 1e-9);
    assert!((catchment.in_square_metres() - 32_000.0).abs() < 1e-6 && *coefficient == 0.4);
    let codes = |text: &str| faults(text).iter().map(|fault| fault.2).collect::<Vec<_>>();
    assert_eq!(codes(&asked(storm, "")), ["pipeline::storm-without"; 2]);
    assert_eq!(codes(&asked("", all)), ["pipeline::unknown-storm"]);
    assert_eq!(codes(&asked(&format!("{storm}{storm}"), all)), ["pipeline::name-twice"]);
    assert_eq!(codes(&asked(storm, &all.replace("0.4", "1.4"))), ["pipeline::out-of-range"]);
    assert_eq!(codes(&asked(&storm.replace("mm/h", "mm"), all)).len(), 1);
    let idle = with("[[spillway]]\n", "[[spillway]]\ncatchment = \"3 ha\"\n");
    assert_eq!(codes(&idle), ["pipeline::not-both"]);
}

#[test]
fn a_spillway_stands_where_its_work_has_such_a_place() {
    let pond =
        "[[pond]]\nname = \"tank\"\ndepth = \"2 m\"\nfloor = { at = [0, 0], length = \"20 m\", width = \"12 m\" }\n";
    let asked = |table: &str, of: &str, at: &str| {
        format!("{}\n{table}[[spillway]]\nof = \"{of}\"\nat = {at}\nsill-length = \"3 m\"\n", with("", ""))
    };
    let file = read(Path::new("a.toml"), &asked(pond, "tank", "{ rim = \"lowest\" }")).unwrap();
    assert_eq!(file.pits[0].spillway.as_ref().unwrap().at.value, PlaceAsked::LowRim);
    let code = |text: &str| faults(text)[0].2;
    assert_eq!(code(&asked(pond, "tank", "{ end = \"last\" }")), "pipeline::no-ends");
    assert_eq!(code(&asked(pond, "upper", "{ rim = \"lowest\" }")), "pipeline::no-rim");
    let borrow = pond.replace("[[pond]]", "[[borrow]]");
    assert_eq!(code(&asked(&borrow, "tank", "{ rim = \"lowest\" }")), "pipeline::no-spillway-here");
    let twice = format!(
        "{}[[spillway]]\nof = \"tank\"\nat = {{ rim = \"lowest\" }}\nsill-length = \"3 m\"\n",
        asked(pond, "tank", "{ rim = \"lowest\" }")
    );
    assert_eq!(code(&twice), "pipeline::two-spillways");
}

#[test]
fn nonsense_in_the_text_is_one_fault_with_its_place() {
    let found = faults("format = 1\n[site\nname = 3\n");
    assert_eq!(found[0].2, "pipeline::not-toml");
    assert_eq!(found[0].0, 2);
    // What follows a quote or a bracket that is missing is read wrongly too: one slip, one fault.
    for slip in ["format = 1\n[site]\nname \"x\"\n[survey]\nshots = [\"a\"\n", "a = \"x\nb = \"y\"\nc = [\n"] {
        assert_eq!(faults(slip).len(), 1, "{slip}");
    }
}

#[test]
fn values_that_cannot_be_meant() {
    for (line, instead) in [
        ("bottom-width = \"1.2 m\"", "bottom-width = \"0 m\""),
        ("freeboard    = \"0.3 m\"", "freeboard = \"-0.3 m\""),
        ("uphill-batter = \"2.5:1\"", "uphill-batter = \"0:1\""),
        ("[ground]", "[earth]\nsettlement = \"100 %\"\n[ground]"),
        ("[ground]", "[earth]\nsoil = { loose-per-bank = 12.5, placed-per-bank = 0.9 }\n[ground]"),
    ] {
        let found = faults(&with(line, instead));
        assert_eq!(found.len(), 1, "{instead}: {found:?}");
        assert_eq!(found[0].2, "pipeline::out-of-range", "{instead}");
    }
}

#[test]
fn columns_that_cannot_be_are_told_where_they_are_said() {
    let said = "columns = \"point, easting, northing, elevation, code\"";
    for (instead, due) in [
        (
            "columns = \"point, easting, nording, elevation, code\"",
            "unknown column `nording` in columns: accepted are point, northing",
        ),
        ("columns = \"point, easting, elevation, code\"", "no column for a northing"),
        (
            "columns = \"point 1-8, easting 20-9, northing 21-30, elevation 31-40\"",
            "`easting 20-9` in columns: characters count",
        ),
    ] {
        let found = faults(&with(said, instead));
        let [(line, column, "pipeline::columns", message)] = &found[..] else { panic!("{instead}: {found:?}") };
        let at = GOOD[..GOOD.find(said).unwrap()].lines().count() as u64 + 1;
        assert!(*line == at && *column > 8 && message.starts_with(due), "{instead}: {line}:{column} {message}");
    }
    // Of one file too.
    let found = faults(&with(
        "columns = \"point, northing, easting, elevation, code\", delimiter",
        "columns = \"point, nording\", delimiter",
    ));
    assert!(found.len() == 1 && found[0].2 == "pipeline::columns" && found[0].3.contains("`nording`"), "{found:?}");
}

#[test]
fn a_code_has_one_role() {
    assert_eq!(faults(&with("mark = [\"cp\"]", "mark = [\"GS\"]"))[0].2, "pipeline::code-twice");
}

#[test]
fn a_file_of_another_kind_is_told_in_one_place() {
    let points = "point,easting,northing,elevation,code\n".repeat(40);
    let faults = read(Path::new("shots.csv"), &points).unwrap_err();
    assert_eq!(faults.faults.len(), 1);
    assert!(faults.faults.iter().all(|fault| fault.help.as_deref().is_some_and(|help| help.contains("pipeline file"))));
}

#[test]
fn an_issue_is_a_whole_number_and_a_first_one_replaces_nothing() {
    let site = |more: &str| with("region = \"au\"", &format!("region = \"au\"\n{more}"));
    let says = |more: &str| {
        let file = read(Path::new("site.toml"), &site(more)).expect("it is read");
        file.site.issue("2026-03-14").to_string()
    };
    assert_eq!(says(""), "issue 1 of 2026-03-14, first issue");
    assert_eq!(says("issue = 3"), "issue 3 of 2026-03-14, replaces issue 2");
    assert_eq!(says("issue = 2\nreplaces = \"issue 1 of March\""), "issue 2 of 2026-03-14, replaces issue 1 of March");
    for nonsense in [
        "issue = 0",
        "issue = 1.5",
        "issue = -2",
        "issue = 20260314",
        "issue = \"two\"",
        "replaces = \"issue 1\"",
        "issue = 2\nreplaces = \" \"",
    ] {
        assert_eq!(faults(&site(nonsense)).len(), 1, "{nonsense}");
    }
}

#[test]
fn changes_of_a_section_are_read_in_order() {
    let line = "berm         = \"all-the-cut\"";
    let changes = |list: &str| with(line, &format!("{line}\nchanges = [{list}]"));
    let text = changes(
        r#"{ from = "60 m", bottom-width = "2 m", crest = "3 m" }, { from = "80 m", step-down = "0.2 m" }, { from = "90 m", over = "5 m", step-up = "0.1 m", batter = "4:1" }"#,
    );
    let file = read(Path::new("site.toml"), &text).unwrap();
    let found = &file.swales[0].changes;
    let sizes: Vec<(f64, f64, Option<f64>)> = found
        .iter()
        .map(|c| &c.value)
        .map(|c| (c.from.in_metres(), c.over.in_metres(), c.step_down.map(crate::units::Length::in_metres)))
        .collect();
    // The face of a step alone stands at 2:1.
    assert_eq!(sizes, [(60.0, 10.0, None), (80.0, 0.4, Some(0.2)), (90.0, 5.0, Some(-0.1))]);
    assert_eq!(found[0].value.width.map(crate::units::Length::in_metres), Some(2.0));
    assert_eq!(file.resolved["swale"][0]["changes"][1]["step-down"], "0.2 m");
    let fault = |list: &str| {
        let all = faults(&changes(list));
        assert_eq!(all.len(), 1, "{all:?}");
        (all[0].2, all[0].3.clone())
    };
    assert_eq!(fault(r#"{ from = "60 m" }"#).0, "pipeline::nothing-changes");
    assert_eq!(
        fault(r#"{ from = "60 m", depth = "1 m" }, { from = "65 m", depth = "1 m" }"#).0,
        "pipeline::changes-overlap"
    );
    assert_eq!(fault(r#"{ from = "60 m", depth = "1 m", step-up = "0.1 m" }"#).0, "pipeline::two-depths");
    assert_eq!(fault(r#"{ from = "60 m", over = "0 m", depth = "1 m" }"#).0, "pipeline::out-of-range");
    assert_eq!(fault(r#"{ from = "60 m", top-width = "4 m" }"#).0, "pipeline::out-of-range");
    assert_eq!(fault(r#"{ depth = "1 m" }"#).0, "pipeline::missing-key");
    assert_eq!(fault(r#"{ from = "60 m", deepth = "1 m" }"#).0, "pipeline::unknown-key");
}

#[test]
fn crossings_are_read_in_order() {
    let line = "berm         = \"all-the-cut\"";
    let crossings = |list: &str| with(line, &format!("{line}\ncrossings = [{list}]"));
    let text = crossings(r#"{ station = "60 m" }, { station = "90 m", width = "5 m", ramp = "10:1" }"#);
    let file = read(Path::new("site.toml"), &text).unwrap();
    let found: Vec<[f64; 3]> = file.swales[0]
        .crossings
        .iter()
        .map(|c| [c.value.at.in_metres(), c.value.width.in_metres(), c.value.ramp.in_horizontal_per_vertical()])
        .collect();
    assert_eq!(found, [[60.0, 4.0, 8.0], [90.0, 5.0, 10.0]]);
    assert_eq!(file.resolved["swale"][0]["crossings"][0]["ramp"], "8:1");
    let fault = |list: &str| faults(&crossings(list)).iter().map(|fault| fault.2).collect::<Vec<_>>();
    assert_eq!(fault(r#"{ station = "60 m" }, { station = "50 m" }"#), ["pipeline::not-in-order"]);
    assert_eq!(fault(r#"{ station = "60 m", width = "0 m" }"#), ["pipeline::out-of-range"]);
    assert_eq!(fault(r#"{ width = "4 m" }"#), ["pipeline::missing-key"]);
}

#[test]
fn ends_are_read_together_or_each_of_its_own() {
    let line = "ends         = \"turn-up\"";
    let ends =
        |text: &str| read(Path::new("site.toml"), &with(line, &format!("ends = {text}"))).unwrap().swales[0].ends;
    let (up, open) = (EndShape::TurnUp, EndShape::Overflow);
    assert_eq!(ends("\"overflow\""), Ends { first: open, last: open });
    assert_eq!(ends("{ last = \"overflow\" }"), Ends { first: up, last: open });
    let fault = |text: &str| faults(&with(line, &format!("ends = {text}"))).iter().map(|f| f.2).collect::<Vec<_>>();
    assert_eq!(fault("\"open\""), ["pipeline::unknown-choice"]);
    assert_eq!(fault("{ last = \"open\" }"), ["pipeline::unknown-choice"]);
    assert_eq!(fault("{ lsat = \"overflow\" }"), ["pipeline::unknown-key"]);
}

#[test]
fn a_batter_is_solved_where_the_crest_is_not() {
    let line = "berm         = \"all-the-cut\"";
    let berm = |text: &str| with(line, &format!("berm = {text}"));
    let file = read(Path::new("site.toml"), &berm("{ crest = \"1.5 m\", batter = \"to-balance\" }")).unwrap();
    assert!(matches!(file.swales[0].berm, Berm::ToBalance { crest, .. } if crest.in_metres() == 1.5));
    let file = read(Path::new("site.toml"), &berm("{ all-the-cut = { follow = \"20 m\" } }")).unwrap();
    assert_eq!(file.swales[0].follow.map(crate::units::Length::in_metres), Some(20.0));
    assert_eq!(faults(&berm("{ crest = \"1 m\", follow = \"20 m\" }"))[0].2, "pipeline::out-of-range");
    let both = faults(&berm("{ all-the-cut = { batter = \"to-balance\" } }"));
    assert_eq!(both.len(), 1, "{both:?}");
}

#[test]
fn a_test_pit_has_a_place_a_depth_and_layers_down_to_its_bottom() {
    let pit =
        |rest: &str| format!("{GOOD}\n[[test-pit]]\nname = \"TP1\"\nat = \"day1.csv:117\"\ndepth = \"1.6 m\"\n{rest}");
    let layers = "layers = [{ soil = \"topsoil\", to = \"0.1 m\" }, { soil = \"clay\", ribbon = \"60 mm\", crumb = \"hazy\" }]\n";
    let file = read(
        Path::new("site.toml"),
        &pit(&format!("{layers}water = \"1.2 m\"\nrock = \"1.6 m\"\ndate = \"2026-03-02\"")),
    );
    let asked = file.unwrap().test_pits.remove(0);
    assert_eq!(asked.at.value, SpotAsked::Shot("day1.csv:117".to_owned()));
    let m = crate::units::Length::metres;
    let found: Vec<_> = asked.layers.iter().map(|layer| (layer.met.name(), layer.to)).collect();
    assert_eq!(found, [("topsoil", m(0.1)), ("clay", m(1.6))]);
    let tried = |layer: &crate::works::Layer| (layer.ribbon, layer.crumb);
    assert_eq!(
        asked.layers.iter().map(tried).collect::<Vec<_>>(),
        [(None, None), (Some(m(0.06)), Some(crate::works::Crumb::Hazy))]
    );
    assert_eq!((asked.water, asked.rock, asked.date.as_deref()), (Some(m(1.2)), Some(m(1.6)), Some("2026-03-02")));
    for (text, code) in [
        // A depth of nothing, layers out of order, a layer without an end, one that ends too early or too deep.
        (pit(layers).replace("1.6 m", "0 m"), "pipeline::out-of-range"),
        (
            pit("layers = [{ soil = \"loam\", to = \"0.9 m\" }, { soil = \"clay\", to = \"0.4 m\" }]"),
            "pipeline::out-of-range",
        ),
        (pit("layers = [{ soil = \"loam\" }, { soil = \"clay\" }]"), "pipeline::missing-key"),
        (pit("layers = [{ soil = \"loam\", to = \"0.9 m\" }]"), "pipeline::out-of-range"),
        (pit("layers = [{ soil = \"loam\", to = \"1.9 m\" }]"), "pipeline::out-of-range"),
        (pit("layers = []"), "pipeline::wrong-type"),
        (pit("layers = [{ soil = \"clay\", crumb = \"muddy\" }]"), "pipeline::unknown-choice"),
        (pit("layers = [{ soil = \"clay\", ribbon = \"60\" }]"), "pipeline::missing-unit"),
        (pit("layers = [{ soil = \"gravel\" }]"), "pipeline::unknown-choice"),
        (pit(&format!("{layers}rock = \"1.2 m\"")), "pipeline::out-of-range"),
        (pit(&format!("{layers}water = \"1.9 m\"")), "pipeline::out-of-range"),
        (pit(&format!("{layers}date = \"2026-02-30\"")), "pipeline::not-a-date"),
        (pit(""), "pipeline::missing-key"),
    ] {
        let found = faults(&text);
        assert_eq!((found.len(), found[0].2), (1, code), "{text}: {found:?}");
    }
    let all = read(Path::new("site.toml"), &pit("layers = [{ soil = \"gravel\" }]")).expect_err("a faulty file");
    let help = all.faults[0].help.clone().unwrap();
    assert!(help.contains("sand, loam, clay, topsoil, or a table"), "{help}");
    let geoid = with("[survey]\n", "[survey]\ngeoid = []\n");
    assert_eq!(faults(&geoid).iter().map(|fault| fault.2).collect::<Vec<_>>(), ["pipeline::wrong-type"]);
    let twice = format!("{}\n[[test-pit]]\nname = \"TP1\"\nat = [1.0, 2.0]\ndepth = \"1.6 m\"\n{layers}", pit(layers));
    let found = faults(&twice);
    assert_eq!((found.len(), found[0].2), (1, "pipeline::name-twice"), "{found:?}");
    // The soil that the earth figures take is known by its own name.
    let factors = "soil = { name = \"our loam\", loose-per-bank = 1.2, placed-per-bank = 0.9 }";
    let own = format!("{}\n[earth]\n{factors}\n", pit("layers = [{ soil = \"our loam\" }]"));
    let file = read(Path::new("site.toml"), &own).unwrap();
    assert_eq!(file.test_pits[0].layers[0].met, crate::works::Met::Soil(file.earth.soil.clone()));
}

#[test]
fn unstable_ground_lies_round_a_place_or_within_an_outline() {
    let ground = |rest: &str| format!("{GOOD}\n[[unstable-ground]]\nname = \"old slip\"\nkind = \"slip\"\n{rest}");
    let file = |text: &str| read(Path::new("site.toml"), &ground(text)).unwrap().unstable.remove(0);
    let m = crate::units::Length::metres;
    let round = file("at = [1.0, 2.0]\nradius = \"8 m\"");
    assert!(matches!(round.area, UnstableAreaAsked::Round(_, radius) if radius == m(8.0)));
    assert_eq!(round.clearance, m(20.0));
    assert!(matches!(file("outline = \"slip.geojson\"").area, UnstableAreaAsked::File(_)));
    for (text, code) in [
        (ground(""), "pipeline::one-choice"),
        (ground("at = [1.0, 2.0]"), "pipeline::one-choice"),
        (ground("at = [1.0, 2.0]\nradius = \"8 m\"\noutline = \"slip.geojson\""), "pipeline::one-choice"),
        (ground("at = [1.0, 2.0]\nradius = \"0 m\""), "pipeline::out-of-range"),
        (ground("outline = \"slip.geojson\"").replace("\"slip\"", "\"bog\""), "pipeline::unknown-choice"),
        (ground("outline = \"slip.geojson\"\nclearance = \"-1 m\""), "pipeline::out-of-range"),
    ] {
        let found = faults(&text);
        assert_eq!((found.len(), found[0].2), (1, code), "{text}: {found:?}");
    }
    let one = "[[unstable-ground]]\nname = \"old slip\"\nkind = \"slip\"\noutline = \"slip.geojson\"\n";
    assert_eq!(faults(&format!("{GOOD}\n{one}{one}"))[0].2, "pipeline::name-twice");
}

//! Swales on closed-form hillsides.

use super::*;
use crate::geom::Point;
use crate::notes::Silent;
use crate::soil::{Placement, Soil};
use crate::surface::{cut_and_fill, triangulate};
use crate::units::Volume;
use crate::units::{Batter, Elevation, Fall, Length};

/// Ground on a grid with steps of `spacing` over 200 m by 100 m, nudged so that no diagonal is ambiguous.
pub(super) fn hillside(spacing: u32, height: impl Fn(f64, f64) -> f64) -> Ground {
    let mut points = Vec::new();
    let (columns, rows) = (200 / spacing, 100 / spacing);
    let spacing = f64::from(spacing);
    for i in 0..=columns {
        for j in 0..=rows {
            let (x, y) = (f64::from(i) * spacing, f64::from(j) * spacing);
            let nudge =
                if i > 0 && i < columns && j > 0 && j < rows { f64::from((i * 7 + j * 13) % 5) * 0.1 } else { 0.0 };
            let point = crate::geom::snap_point(Point::new(x + nudge, y - nudge));
            points.push(point.at(height(point.x, point.y)));
        }
    }
    Ground { spacing, ..Ground::of_points(&points) }
}

pub(super) fn wanted() -> SwaleWanted {
    SwaleWanted {
        berm: Berm::AllTheCut { crest: Length::metres(0.6), batter: Batter::horizontal_per_vertical(2.0) },
        tolerance: Length::metres(0.015),
        spillways: vec![SpillwayWanted::usual(Length::metres(6.0))],
        ..SwaleWanted::usual(
            "upper",
            WaterLevel::Elevation(Elevation::metres(432.0)),
            Soil::named("loam", Placement::TrackWalked).unwrap(),
        )
    }
}

#[test]
fn a_swale_on_a_plane_is_level_balanced_and_holds_to_its_sill() {
    // 4 % down to the south; the line at 432 m runs east-west at y = 50.
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let plan = design(&ground, &[wanted()], &Silent).unwrap();
    let swale = plan.value.swale(0);
    assert!(swale.contour.worst.abs() < 2e-6, "worst {}", swale.contour.worst);
    assert!(swale.storage.at_sill, "{:?}", swale.storage);
    assert!(swale.ends.iter().all(|end| end.closed));
    // Four lines: water level, head, freeboard, settlement; built to at least their sum.
    assert!(swale.crest.built >= swale.crest.built_required());
    // The berm lies downhill of the line, the channel uphill.
    assert!(swale.section.crest_offset < Length::ZERO && swale.section.bed_offset > Length::ZERO);

    // Balance by the exact volumes: within one crest step over the seat.
    let design = &plan.value.surfaces[0];
    let volumes = cut_and_fill(&ground.tin, design, None);
    let bank = cut_and_fill(&ground.tin.raised_by(-0.1), design, None).cut;
    let needed = (volumes.fill + 0.1 * volumes.fill_area) / wanted().soil.placed_per_bank;
    assert!((bank - needed).abs() < 0.006 * volumes.fill_area, "bank {bank} needed {needed}");

    // Water held: the prism below the water level in closed form. Channel 0.6 (1.2 + 0.6 x 2) = 1.44 m2 and, over
    // ledge and berm toe, a triangle between lip, toe and where the berm rises through the water level.
    let toe_depth = 0.04 * 0.4;
    let beyond = toe_depth * (0.4 + 2.0 * toe_depth) / 2.0;
    let channel = swale.bed_axis.length();
    let prism = (1.44 + beyond) * channel;
    let held = swale.storage.volume.in_cubic_metres();
    assert!(held > prism && held < prism * 1.06, "held {held}, prism {prism}: ends and sill add a little");
}

/// 6 m at 0.10 m and 3 m at 0.20 m: together q = c (6 x 0.1^1.5 + 3 x 0.2^1.5), over 9 m at one head.
#[test]
fn sills_under_one_water_share_its_flow_by_length() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let mut asked = wanted();
    let second = SpillwayWanted {
        at: SpillwayPlace::Station(crate::units::Station::metres(60.0)),
        sill_length: SillLength::Length(Length::metres(3.0)),
        head: Some(Length::metres(0.2)),
        ..asked.spillways[0].clone()
    };
    asked.spillways.push(second);
    let plan = design(&ground, &[asked], &Silent).unwrap();
    let swale = plan.value.swale(0);
    let head = ((6.0 * 0.1_f64.powf(1.5) + 3.0 * 0.2_f64.powf(1.5)) / 9.0).powf(2.0 / 3.0);
    let flows: Vec<f64> = swale.spillways.iter().map(|s| s.flow.unwrap().in_cubic_metres_per_second()).collect();
    assert!(swale.spillways.iter().all(|s| (s.head.in_metres() - head).abs() < 1e-9), "{head}");
    // Along the line the short one comes first.
    assert!((flows[1] / flows[0] - 2.0).abs() < 1e-9, "{flows:?}");
    assert!((swale.crest.head.in_metres() - head).abs() < 1e-9);
    assert!(plan.notes.iter().any(|note| note.code == "works::sills-share"));
}

#[test]
fn the_other_edges_shift_the_channel_by_its_width() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let offsets = [LineEdge::DownhillLip, LineEdge::Centre, LineEdge::UphillEdge].map(|edge| {
        let asked = SwaleWanted { line_edge: edge, ..wanted() };
        design(&ground, &[asked], &Silent).unwrap().value.swale(0).section.bed_offset.in_metres()
    });
    assert_eq!(offsets.map(|o| (o * 1000.0).round()), [1800.0, 0.0, -1800.0]);
}

#[test]
fn a_line_round_a_spur_keeps_its_bend_radius_and_stays_in_its_band() {
    // A spur with a nose of 12 m radius at the water level.
    let ground = hillside(4, |x, y| 440.0 - 0.05 * (x - 100.0).hypot(2.0 * (y - 60.0)) - 0.02 * (x - 100.0).abs());
    let asked = SwaleWanted {
        water_level: WaterLevel::Elevation(Elevation::metres(437.0)).into(),
        spillways: Vec::new(),
        between: Some((Point::new(70.0, 40.0), Point::new(130.0, 40.0))),
        ..wanted()
    };
    let plan = design(&ground, &[asked], &Silent).unwrap().value;
    let swale = plan.swale(0);
    assert!(swale.contour.least_radius.0 >= 5.0 * 0.999, "{:?}", swale.contour.least_radius);
    assert!(swale.contour.rms < 0.02, "{}", swale.contour.rms);
}

/// 80 mm/h on 0.9 ha of which 0.5 runs off are 0.1 m3/s: over 0.1 m of head a sill of 0.1 / (1.5 x 0.1^1.5) = 2.108 m.
#[test]
fn a_sill_is_as_long_as_its_storm_asks() {
    let mut asked = wanted();
    let storm = crate::water::rational::Storm {
        name: "25-year".to_owned(),
        intensity: crate::units::parse_rain_rate("80 mm/h").unwrap(),
        catchment: crate::units::Area::square_metres(9_000.0),
        coefficient: 0.5,
    };
    asked.spillways[0].sill_length = SillLength::ForStorm(storm.clone());
    asked.spillways[0].head = Some(Length::metres(0.1));
    let plan = design(&hillside(10, |_, y| 430.0 + 0.04 * y), &[asked], &Silent).unwrap();
    let spillway = &plan.value.swale(0).spillways[0];
    assert!((spillway.sill_length.in_metres() - 0.1 / (1.5 * 0.1_f64.powf(1.5))).abs() < 1e-9);
    assert_eq!(spillway.storm.as_ref(), Some(&storm));
    let told = plan.notes.iter().find(|note| note.code == "water::storm").expect("told");
    for number in ["80.0 mm/h", "0.90 ha", "0.50", "0.100 m3/s", "2.11 m", "0.10 m"] {
        assert!(told.text.contains(number), "{}", told.text);
    }
}

/// 80 mm/h on 1 ha and on 0.5 ha, 0.4 of it running off, are 0.0889 and 0.0444 m3/s. Asked at heads of 0.10 and 0.15 m they share
/// 0.1333 m3/s over 0.0889 / (1.5 x 0.1^1.5) + 0.0444 / (1.5 x 0.15^1.5) = 1.874 + 0.510 m: 0.0285 of it over the short one.
#[test]
fn a_sill_that_shares_says_which_part_of_the_flow_is_its_storms() {
    let storm = |catchment: f64| crate::water::rational::Storm {
        name: "25-year".to_owned(),
        intensity: crate::units::parse_rain_rate("80 mm/h").unwrap(),
        catchment: crate::units::Area::square_metres(catchment),
        coefficient: 0.4,
    };
    let sill = |at: SpillwayPlace, catchment: f64, head: f64| SpillwayWanted {
        at,
        sill_length: SillLength::ForStorm(storm(catchment)),
        head: Some(Length::metres(head)),
        ..wanted().spillways[0].clone()
    };
    let spillways = vec![sill(SpillwayPlace::Last, 10_000.0, 0.10), sill(SpillwayPlace::First, 5_000.0, 0.15)];
    let asked = SwaleWanted { spillways, ..wanted() };
    let plan = design(&hillside(10, |_, y| 430.0 + 0.04 * y), &[asked], &Silent).unwrap();
    let short = &plan.value.swale(0).spillways[0];
    let [flow, together] = [short.flow, short.together].map(|flow| flow.unwrap().in_cubic_metres_per_second());
    assert!((together - 0.4 / 3.0).abs() < 1e-9 && (flow - 0.0285).abs() < 1e-4, "{together} {flow}");
    let storms: Vec<&str> =
        plan.notes.iter().filter(|note| note.code == "water::storm").map(|note| note.text.as_str()).collect();
    let told = storms.iter().find(|text| text.contains("0.50 ha")).expect("told");
    for words in ["0.044 m3/s", "0.133 m3/s together", "0.51 m long, 0.029 m3/s"] {
        assert!(told.contains(words), "{told}");
    }
    assert!(!told.contains("passes that"), "{told}");
    assert_eq!(plan.notes.iter().filter(|note| note.code == "works::short-sill").count(), 1);
}

#[test]
fn what_cannot_be_built_is_said() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let fails = |asked: SwaleWanted| design(&ground, &[asked], &Silent).unwrap_err();
    let level = |z: f64| WaterLevel::Elevation(Elevation::metres(z)).into();
    assert!(matches!(
        fails(SwaleWanted { water_level: level(500.0), ..wanted() }),
        WorksError::WaterLevelOffGround { .. }
    ));
    assert!(matches!(
        fails(SwaleWanted { water_level: level(400.0), ..wanted() }),
        WorksError::WaterLevelOffGround { .. }
    ));
    let nowhere =
        crate::geom::Polygon::simple(vec![Point::new(0.0, 80.0), Point::new(9.0, 80.0), Point::new(9.0, 90.0)]);
    assert!(matches!(fails(SwaleWanted { within: Some(nowhere), ..wanted() }), WorksError::NoLineInRegion { .. }));
    let short = Some((Point::new(50.0, 50.0), Point::new(58.0, 50.0)));
    assert!(matches!(fails(SwaleWanted { between: short, ..wanted() }), WorksError::LineTooShort { .. }));
    // A depth that was meant in feet or centimetres: its section is wider than the survey, and neither line nor ends are to blame.
    let between = Some((Point::new(20.0, 50.0), Point::new(120.0, 50.0)));
    let deep = fails(SwaleWanted { depth: Length::metres(40.0), between, ..wanted() });
    assert!(matches!(deep, WorksError::NoRoomAcross { uphill, .. } if uphill > 80.0), "{deep}");
    let flat = Batter::horizontal_per_vertical(30.0);
    assert!(matches!(fails(SwaleWanted { uphill_batter: flat, ..wanted() }), WorksError::BatterNeverMeets { .. }));
}

#[test]
fn an_exit_is_cut_only_where_ground_falls_less_than_asked() {
    // 4 % above y = 49, 0.2 % below it: the exit asks for 1 %.
    let bench = |y: f64| if y > 49.0 { 431.96 + 0.04 * (y - 49.0) } else { 431.96 - 0.002 * (49.0 - y) };
    let ground = hillside(5, |_, y| bench(y));
    let asked = |fall: f64| {
        let mut asked = wanted();
        asked.spillways[0].at = SpillwayPlace::Station(crate::units::Station::metres(90.0));
        asked.spillways[0].exit_fall = Some(Fall::percent(fall));
        asked
    };
    let cut = design(&ground, &[asked(1.0)], &Silent).unwrap();
    assert!(cut.notes.iter().any(|note| note.code == "works::exit-cut"), "{:?}", cut.notes);
    let steep = hillside(10, |_, y| 430.0 + 0.04 * y);
    let uncut = design(&steep, &[asked(0.5)], &Silent).unwrap();
    assert!(uncut.notes.iter().all(|note| note.code != "works::exit-cut"));
}

#[test]
fn several_sills_leave_a_crest_piece_between_them_and_hold_to_the_sill() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let mut asked = wanted();
    asked.spillways.push(asked.spillways[0].clone());
    asked.spillways[0].at = SpillwayPlace::Station(crate::units::Station::metres(60.0));
    let plan = design(&ground, &[asked], &Silent).unwrap().value;
    let swale = plan.swale(0);
    assert_eq!(swale.crest_axes.len(), 3);
    assert!(swale.storage.at_sill, "{:?}", swale.storage);
    let names: Vec<String> = swale.spillways.iter().map(|spillway| swale.sill_name(spillway)).collect();
    assert_eq!(names, ["sill 1 of 2", "sill 2 of 2"]);
    // No fill on either sill.
    for spillway in &swale.spillways {
        assert!(!spillway.on_fill);
        let middle = spillway.lip.at(spillway.lip.length() / 2.0);
        assert!(swale.fill_footprint.iter().all(|polygon| !polygon.contains(middle)));
    }
}

#[test]
fn a_second_swale_stands_on_what_the_first_leaves_and_may_not_cut_its_berm() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let at = |name: &str, level: f64| SwaleWanted {
        name: name.to_owned(),
        water_level: WaterLevel::Elevation(Elevation::metres(level)).into(),
        ..wanted()
    };
    let plan = design(&ground, &[at("upper", 432.8), at("lower", 431.2)], &Silent).unwrap().value;
    assert_eq!(plan.surfaces.len(), 2);
    let both = cut_and_fill(&ground.tin, &plan.surfaces[1], None);
    let each =
        [cut_and_fill(&ground.tin, &plan.surfaces[0], None), cut_and_fill(&plan.surfaces[0], &plan.surfaces[1], None)];
    let net: f64 = each.iter().map(|part| part.fill - part.cut).sum();
    assert!((both.fill - both.cut - net).abs() < 1e-6, "rows add up in net");
    let clash = design(&ground, &[at("upper", 432.0), at("lower", 431.9)], &Silent).unwrap_err();
    assert!(matches!(clash, WorksError::CutsEarlierWork { .. }), "{clash}");
}

#[test]
fn a_sill_on_a_hollow_in_the_line_is_moved_uphill_or_told_to_stand_on_fill() {
    // A dip 40 mm deep and 8 m wide under the sill.
    let dip = |x: f64, y: f64| -0.04 * (-((x - 90.0) / 4.0).powi(2) - ((y - 50.0) / 3.0).powi(2)).exp();
    let ground = hillside(2, |x, y| 430.0 + 0.04 * y + dip(x, y));
    let mut asked = wanted();
    asked.bend_radius = Length::metres(20.0);
    asked.spillways[0].at = SpillwayPlace::Through(Point::new(90.0, 50.0));
    let plan = design(&ground, &[asked], &Silent).unwrap();
    let spillway = &plan.value.swale(0).spillways[0];
    assert!(!spillway.on_fill && spillway.ground_above_sill.1.in_metres() > -0.005, "{:?}", spillway.ground_above_sill);

    // With the middle of the bed on the contour the lip lies lower than the water level, out of reach of the shift.
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let mut centred = SwaleWanted { line_edge: LineEdge::Centre, ..wanted() };
    centred.spillways[0].sill_breadth = Length::metres(1.0);
    let plan = design(&ground, &[centred], &Silent).unwrap();
    assert!(plan.value.swale(0).spillways[0].on_fill);
    assert!(plan.notes.iter().any(|note| note.code == "works::sill-on-fill"));
}

/// The pool counted by a second way: a raster of 0.1 m cells flooded from the bed, each cell the ground at its middle.
fn flooded(surface: &Tin, from: Point, level: f64) -> f64 {
    const CELL: f64 = 0.1;
    /// Cells this shallow are the rim: a sill stands at the level to the last bit of rounding.
    const RIM: f64 = 1e-3;
    let ground = Locator::new(surface);
    let middle = |(i, j): (i32, i32)| from + crate::geom::Vector::new(f64::from(i) * CELL, f64::from(j) * CELL);
    let (mut seen, mut waiting) = (std::collections::BTreeSet::from([(0, 0)]), vec![(0, 0)]);
    let mut volume = 0.0;
    while let Some((i, j)) = waiting.pop() {
        let Some(depth) = ground.elevation(middle((i, j))).map(|z| level - z).filter(|&depth| depth > RIM) else {
            continue;
        };
        volume += depth * CELL * CELL;
        waiting.extend([(i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)].into_iter().filter(|&cell| seen.insert(cell)));
    }
    volume
}

#[test]
fn a_swale_asked_to_hold_a_volume_holds_it() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let asked = 300.0;
    let wanted = SwaleWanted { to_hold: Some(Volume::cubic_metres(asked)), ..wanted() };
    let made = design(&ground, &[wanted], &Silent).unwrap();
    let (swale, surface) = (&made.value.swale(0), &made.value.surfaces[0]);
    assert!(made.notes.iter().filter(|note| note.code == "works::depth-to-hold").count() == 1);
    let level = swale.water_level.in_metres();
    // A second exact way: the overlay with a level lid inside the shore.
    let shore = crate::surface::pool(surface, swale.bed_axis.points(), level - 1e-6).shore;
    let corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];
    let lid = corners.map(|(x, y)| Point::new(x, y).at(level));
    let lid = triangulate(&lid, &[]).unwrap().tin;
    let outer = shore.iter().max_by_key(|ring| ring.len()).unwrap().clone();
    let overlaid = cut_and_fill(surface, &lid, Some(&crate::geom::Polygon::simple(outer))).fill;
    assert!((overlaid / asked - 1.0).abs() < 1e-3, "asked {asked}, overlay {overlaid}");
    // And a raster, with its own error.
    let raster = flooded(surface, swale.bed_axis.at(swale.bed_axis.length() / 2.0), level);
    assert!((raster / asked - 1.0).abs() < 0.01, "asked {asked}, raster {raster}");
    assert!((swale.storage.volume.in_cubic_metres() / asked - 1.0).abs() < 1e-3);
}

#[test]
fn a_volume_that_no_depth_holds_is_refused_with_what_is_held() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let wanted = SwaleWanted { to_hold: Some(Volume::cubic_metres(0.5)), ..wanted() };
    let error = design(&ground, &[wanted], &Silent).unwrap_err();
    assert!(matches!(error, WorksError::CannotHold { .. }), "{error}");
}

fn said<'a>(notes: &'a [crate::notes::Note], code: &str) -> Option<&'a str> {
    notes.iter().find(|note| note.code == code).map(|note| note.text.as_str())
}

#[test]
fn sides_that_may_slump_and_a_turned_batter_are_told() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let half = Batter::horizontal_per_vertical(0.5);
    let turned = SwaleWanted { uphill_batter: half, ..wanted() };
    let notes = design(&ground, &[turned], &Silent).unwrap().notes;
    let says = said(&notes, "works::steep-batter").expect("it is told");
    assert!(says.contains("uphill side: 0.50 horizontal") && says.contains("`uphill-batter = \"2.0:1\"`"), "{says}");
    let sound = SwaleWanted { uphill_batter: Batter::horizontal_per_vertical(1.5), ..wanted() };
    assert!(said(&design(&ground, &[sound], &Silent).unwrap().notes, "works::steep-batter").is_none());
}

#[test]
fn a_cut_face_is_as_high_as_the_plane_says() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    for (depth, told) in [(0.6, None), (1.0, Some(false)), (1.35, Some(true))] {
        let deep = SwaleWanted { depth: Length::metres(depth), spillways: Vec::new(), ..wanted() };
        let plan = design(&ground, &[deep], &Silent).unwrap();
        let swale = plan.value.swale(0);
        let (face, _) = swale.deepest_face;
        // Level bed: lip at 0, near bed edge at 2 d, far edge at 2 d + 1.2, top where 0.04 o = (o - 2 d - 1.2) / 2 - d.
        let top = (4.0 * depth + 1.2) / (1.0 - 0.08);
        assert!((face.in_metres() - depth - 0.04 * top).abs() < 0.01, "{depth}: {face:?}");
        let says = said(&plan.notes, "works::deep-cut");
        assert_eq!(says.map(|says| says.contains("nobody goes in")), told, "{depth}: {face:?}");
    }
}

#[test]
fn a_crest_too_narrow_to_drive_is_told_with_how_much_of_it() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    // 3 m less 0.6 m over two sides of 2:1 are the top 0.6 m.
    let notes = design(&ground, &[wanted()], &Silent).unwrap().notes;
    assert!(said(&notes, "works::narrow-crest").is_some_and(|says| says.contains("its top 0.60 m")), "{notes:?}");
    let tipped = SwaleWanted { placement: Placement::Tipped, ..wanted() };
    assert!(said(&design(&ground, &[tipped], &Silent).unwrap().notes, "works::narrow-crest").is_none());
}

#[test]
fn steep_ground_is_told_with_the_steepest_place() {
    // 4 % west of x = 100, 12 % beyond it, the same level along y = 50.
    let fall = |x: f64| if x < 100.0 { 0.04 } else { 0.12 };
    let ground = hillside(10, |x, y| 432.0 + fall(x) * (y - 50.0));
    let asked = SwaleWanted { spillways: Vec::new(), ..wanted() };
    let plan = design(&ground, &[asked], &Silent).unwrap();
    let (steepest, station) = plan.value.swale(0).steepest;
    assert!((steepest.in_percent() - 12.0).abs() < 0.5, "{steepest:?}");
    let place = plan.value.swale(0).line.at(station.in_metres());
    assert!(place.x > 100.0, "{place:?}");
    assert!(said(&plan.notes, "works::steep").is_some_and(|says| says.contains("12 % at station")), "{:?}", plan.notes);
    let gentle = hillside(10, |_, y| 430.0 + 0.04 * y);
    assert!(said(&design(&gentle, &[wanted()], &Silent).unwrap().notes, "works::steep").is_none());
}

#[test]
fn a_sill_that_reaches_off_the_survey_is_refused() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let mut asked = wanted();
    asked.spillways[0].sill_breadth = Length::metres(60.0);
    let fault = design(&ground, &[asked], &Silent).unwrap_err();
    assert!(
        matches!(&fault, WorksError::PlaceOffSurvey { what, .. } if what.starts_with("part of the sill")),
        "{fault}"
    );
    assert!(fault.to_string().contains("lies off the survey at E"), "{fault}");
    // A hole of the survey in its strip is told as one, with its place.
    let ring = |corners: [(f64, f64); 4]| corners.map(|(x, y)| Point::new(x, y)).to_vec();
    let region = crate::geom::Polygon {
        outer: ring([(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)]),
        holes: vec![ring([(80.0, 60.0), (80.0, 64.0), (120.0, 64.0), (120.0, 60.0)])],
    };
    let holed = Ground { tin: ground.tin.trimmed(None, Some(&region)), ..ground };
    let mut asked = wanted();
    asked.spillways[0].at = SpillwayPlace::Through(Point::new(100.0, 50.0));
    asked.spillways[0].sill_breadth = Length::metres(12.0);
    let fault = design(&holed, &[asked], &Silent).unwrap_err().to_string();
    assert!(
        fault.contains("part of the sill")
            && fault.contains("lies in a hole of 50 m2 in the ground at E 97.00 N 62.00"),
        "{fault}"
    );
}

/// Marks on a hillside of one slope: one in the channel, one by the berm, one clear of all.
#[test]
fn marks_in_the_way_of_the_dig_are_named_and_too_few_are_told() {
    let ground = hillside(5, |_, y| 430.0 + 0.04 * y);
    let plan = design(&ground, &[wanted()], &Silent).unwrap().value;
    let swale = plan.swale(0);
    let on = |station: f64, offset: f64| swale.line.at_offset(station, offset);
    let marks = [("A", on(80.0, 1.5)), ("B", on(60.0, 12.5)), ("C", on(90.0, 40.0))];
    let marks: Vec<(String, Point)> = marks.into_iter().map(|(name, place)| (name.to_owned(), place)).collect();
    let fates = mark_fates(&marks, &plan);
    let found: Vec<(&str, bool)> = fates.iter().map(|fate| (fate.name.as_str(), fate.doomed)).collect();
    // The cut's uphill batter, 2:1 from the bed's edge 2.4 m uphill of the lip, meets ground that rises 4 % at
    // (0.6 + 2.4 / 2) / (1 / 2 - 0.04) = 3.913 m; B stands 12.5 m uphill.
    assert_eq!(found, [("A", true), ("B", true), ("C", false)]);
    assert_eq!(fates[0].clear_m, 0.0);
    assert!((fates[1].clear_m - (12.5 - 1.8 / 0.46)).abs() < 0.01, "{}", fates[1].clear_m);
    let notes = mark_notes(&fates, &plan);
    let codes: Vec<&str> = notes.iter().map(|note| note.code.as_str()).collect();
    // C, the only one that lives, stands 40 m uphill and some 95 m along from the sill: more than 100 m off.
    let due = ["works::mark-in-the-dig", "works::few-marks", "works::few-marks-near", "works::no-mark-near-sill"];
    assert_eq!(codes, due);
    assert!(notes[0].text.contains("A (inside the works of `upper`), B (8."), "{}", notes[0].text);

    let clear: Vec<(String, Point)> = (0..3).map(|i| (format!("M{i}"), on(60.0 + 30.0 * f64::from(i), 30.0))).collect();
    assert_eq!(mark_notes(&mark_fates(&clear, &plan), &plan), [], "three marks clear, near the sill: nothing to tell");
}

/// A sill behind ground that stands higher: the rise over it eats the freeboard, and then the head.
#[test]
fn a_sill_behind_higher_ground_is_told_with_what_is_left() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let made = design(&ground, &[wanted()], &Silent).unwrap();
    let swale = made.value.swale(0);
    assert!(said(&made.notes, "works::sill-behind-higher-ground").is_none());
    let crest = CrestLevels { freeboard: Length::metres(0.2), ..swale.crest };
    for (rise, says) in [(0.05, "0.15 m are left"), (0.3, "stands 0.10 m above the settled crest")] {
        let mut pools = swale.pools.clone();
        pools[0].storage.at_sill = false;
        pools[0].storage.spill = swale.water_level + Length::metres(rise);
        let mut notes = Vec::new();
        tell::pools(&ground, &swale.wanted, &pools, &crest, &mut notes);
        assert!(said(&notes, "works::sill-behind-higher-ground").is_some_and(|text| text.contains(says)), "{notes:?}");
    }
}

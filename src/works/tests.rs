//! Swales on closed-form hillsides.

use super::*;
use crate::frame::SiteFrame;
use crate::geom::Point;
use crate::notes::Silent;
use crate::soil::{Placement, Soil};
use crate::surface::{cut_and_fill, triangulate};
use crate::units::{Batter, Elevation, Fall, Length, LengthUnit};

fn frame() -> SiteFrame {
    SiteFrame {
        crs: "local".to_owned(),
        name: "site grid".to_owned(),
        height: "site datum".to_owned(),
        unit: LengthUnit::Metres,
        origin: Point::new(0.0, 0.0),
    }
}

/// Ground on a grid with steps of `spacing` over 200 m by 100 m, nudged so that no diagonal is ambiguous.
fn hillside(spacing: f64, height: impl Fn(f64, f64) -> f64) -> Ground {
    let mut points = Vec::new();
    let (columns, rows) = ((200.0 / spacing) as i32, (100.0 / spacing) as i32);
    for i in 0..=columns {
        for j in 0..=rows {
            let (x, y) = (f64::from(i) * spacing, f64::from(j) * spacing);
            let nudge =
                if i > 0 && i < columns && j > 0 && j < rows { f64::from((i * 7 + j * 13) % 5) * 0.1 } else { 0.0 };
            let point = crate::geom::snap_point(Point::new(x + nudge, y - nudge));
            points.push(point.at(height(point.x, point.y)));
        }
    }
    Ground { tin: triangulate(&points, &[]).unwrap().tin, frame: frame(), spacing }
}

pub(super) fn wanted() -> SwaleWanted {
    SwaleWanted {
        name: "upper".to_owned(),
        water_level: WaterLevel::Elevation(Elevation::metres(432.0)),
        line_edge: LineEdge::DownhillLip,
        within: None,
        between: None,
        bottom_width: Length::metres(1.2),
        depth: Length::metres(0.6),
        uphill_batter: Batter::horizontal_per_vertical(2.0),
        downhill_batter: Batter::horizontal_per_vertical(2.0),
        berm: Berm::AllTheCut { crest: Length::metres(0.6), batter: Batter::horizontal_per_vertical(2.0) },
        ledge: Length::metres(0.4),
        freeboard: Length::metres(0.3),
        bend_radius: Length::metres(5.0),
        ends: Ends::TurnUp,
        tolerance: Length::metres(0.015),
        spillways: vec![SpillwayWanted {
            at: SpillwayPlace::Last,
            sill_length: SillLength::Length(Length::metres(6.0)),
            sill_breadth: Length::metres(1.5),
            head: Some(Length::metres(0.1)),
            flow: None,
            exit_fall: Fall::percent(0.5),
        }],
        topsoil: Length::metres(0.1),
        soil: Soil::named("loam", Placement::TrackWalked).unwrap(),
        placement: Placement::TrackWalked,
        settlement: Placement::TrackWalked.settlement(),
    }
}

#[test]
fn a_swale_on_a_plane_is_level_balanced_and_holds_to_its_sill() {
    // 4 % down to the south; the line at 432 m runs east-west at y = 50.
    let ground = hillside(10.0, |_, y| 430.0 + 0.04 * y);
    let plan = design(&ground, &[wanted()], &Silent).unwrap();
    let swale = &plan.value.swales[0];
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

#[test]
fn the_other_edges_shift_the_channel_by_its_width() {
    let ground = hillside(10.0, |_, y| 430.0 + 0.04 * y);
    let offsets = [LineEdge::DownhillLip, LineEdge::Centre, LineEdge::UphillEdge].map(|edge| {
        let asked = SwaleWanted { line_edge: edge, ..wanted() };
        design(&ground, &[asked], &Silent).unwrap().value.swales[0].section.bed_offset.in_metres()
    });
    assert_eq!(offsets.map(|o| (o * 1000.0).round()), [1800.0, 0.0, -1800.0]);
}

#[test]
fn a_line_round_a_spur_keeps_its_bend_radius_and_stays_in_its_band() {
    // A spur with a nose of 12 m radius at the water level.
    let ground = hillside(4.0, |x, y| 440.0 - 0.05 * (x - 100.0).hypot(2.0 * (y - 60.0)) - 0.02 * (x - 100.0).abs());
    let asked = SwaleWanted {
        water_level: WaterLevel::Elevation(Elevation::metres(437.0)),
        spillways: Vec::new(),
        between: Some((Point::new(70.0, 40.0), Point::new(130.0, 40.0))),
        ..wanted()
    };
    let plan = design(&ground, &[asked], &Silent).unwrap().value;
    let swale = &plan.swales[0];
    assert!(swale.contour.least_radius.0 >= 5.0 * 0.999, "{:?}", swale.contour.least_radius);
    assert!(swale.contour.rms < 0.02, "{}", swale.contour.rms);
}

#[test]
fn what_cannot_be_built_is_said() {
    let ground = hillside(10.0, |_, y| 430.0 + 0.04 * y);
    let fails = |asked: SwaleWanted| design(&ground, &[asked], &Silent).unwrap_err();
    let level = |z: f64| WaterLevel::Elevation(Elevation::metres(z));
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
    let flat = Batter::horizontal_per_vertical(30.0);
    assert!(matches!(fails(SwaleWanted { uphill_batter: flat, ..wanted() }), WorksError::BatterNeverMeets { .. }));
}

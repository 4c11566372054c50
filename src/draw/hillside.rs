//! A hillside with a swale on it in closed form, for tests of drawings and sheets.
//!
//! Natural ground falls 4 % to the south of a wavy line: z = 431.25 + 0.04 (y - 60 - 10 sin(x / 45)), so the line at
//! the water level 431.25 is known exactly. The works are laid out along it by hand.

use crate::earth::{Quantities, QuantityRow};
use crate::frame::SiteFrame;
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::ground::Ground;
use crate::soil::{BankVolume, LooseVolume, PlacedVolume, Placement, Soil};
use crate::stakeout::{Action, Stake, StakeKind, StakeList, Target, Way};
use crate::surface::{Tin, triangulate};
use crate::survey::{Quality, Role, Setup, Shot, Survey};
use crate::units::Figures;
use crate::units::{Area, Batter, Elevation, Fall, Flow, Length, Station, Volume};
use crate::works::{
    ContourCheck, ContourStation, CrestLevels, End, LineEdge, LineEnd, Proof, Section, SitePlan, Spillway,
    SpillwayWanted, Storage, Swale, SwaleWanted, WaterLevel, Work,
};

const LEVEL: f64 = 431.25;
const FALL: f64 = 0.04;
/// Crest over the sill as built.
const CREST: f64 = 0.52;
const DEPTH: f64 = 0.6;

/// A whole site.
pub(crate) struct Hillside {
    pub(crate) ground: Ground,
    pub(crate) survey: Survey,
    pub(crate) plan: SitePlan,
    pub(crate) stakes: StakeList,
    pub(crate) quantities: Quantities,
}

fn line_y(x: f64) -> f64 {
    60.0 + 10.0 * (x / 45.0).sin()
}

fn natural(x: f64, y: f64) -> f64 {
    LEVEL + FALL * (y - line_y(x))
}

fn m(metres: f64) -> Length {
    Length::metres(metres)
}

/// A site whose swale is `length` metres long (in easting).
pub(crate) fn hillside(length: f64) -> Hillside {
    let frame = SiteFrame {
        crs: "EPSG:32755".to_owned(),
        name: "WGS 84 / UTM zone 55S".to_owned(),
        height: "height system of the <survey> & marks".to_owned(),
        unit: crate::units::LengthUnit::Metres,
        origin: Point::new(412_300.0, 6_187_200.0),
        combined_factor: 1.0,
    };
    let (west, east) = (20.0, 20.0 + length);
    let ground = Ground { tin: ground_tin(east + 20.0), frame: frame.clone(), spacing: 6.0 };
    let line = Polyline::new(
        (0..=200).map(|i| west + length * f64::from(i) / 200.0).map(|x| Point::new(x, line_y(x))).collect(),
    )
    .expect("a line");
    let swale = swale("upper", &line);
    let surface = surface_tin(&line, &swale);
    let stakes = stakes(&swale);
    Hillside {
        survey: survey(frame, east),
        quantities: quantities(),
        stakes,
        plan: SitePlan { works: vec![Work::Swale(swale)], surfaces: vec![surface], ..SitePlan::default() },
        ground,
    }
}

fn ground_tin(east: f64) -> Tin {
    let mut points = Vec::new();
    let (mut x, mut row) = (0.0, 0u32);
    while x <= east {
        for j in 0..21u32 {
            // Shifted rows, so that no four stand on one circle.
            let y = f64::from(j) * 6.0 + if row % 2 == 0 { 0.0 } else { 2.7 };
            points.push(Point3::new(x, y, natural(x, y)));
        }
        x += 5.3;
        row += 1;
    }
    triangulate(&points, &[]).expect("a grid").tin
}

/// The designed surface beside the sill, from its breaks at each station.
fn surface_tin(line: &Polyline, swale: &Swale) -> Tin {
    let sill = &swale.spillways[0];
    let mut points = Vec::new();
    let mut station = sill.from.in_metres() - 4.0;
    while station < sill.to.in_metres() + 4.0 {
        for (offset, height) in [
            (9.0, None),
            (5.43, Some(0.217)),
            (4.2, Some(-DEPTH)),
            (3.0, Some(-DEPTH)),
            (1.8, Some(0.0)),
            (0.3, Some(0.0)),
        ] {
            let place = line.at_offset(station, offset);
            points.push(place.at(height.map_or_else(|| natural(place.x, place.y), |h| LEVEL + h)));
        }
        for offset in [0.29, -4.0, -9.0] {
            let place = line.at_offset(station, offset);
            points.push(place.at(natural(place.x, place.y)));
        }
        station += 0.97;
    }
    triangulate(&points, &[]).expect("strips").tin
}

fn wanted(name: &str) -> SwaleWanted {
    SwaleWanted {
        depth: m(DEPTH),
        ledge: m(0.5),
        spillways: vec![SpillwayWanted::usual(m(6.0))],
        ..SwaleWanted::usual(
            name,
            WaterLevel::Elevation(Elevation::metres(LEVEL)),
            Soil::named("loam", Placement::TrackWalked).expect("a soil"),
        )
    }
}

/// A band along the line between two offsets.
fn band(line: &Polyline, from: f64, to: f64, left: f64, right: f64) -> Polygon {
    let stations: Vec<f64> = (0..=100).map(|i| from + (to - from) * f64::from(i) / 100.0).collect();
    let mut ring: Vec<Point> = stations.iter().map(|&s| line.at_offset(s, right)).collect();
    ring.extend(stations.iter().rev().map(|&s| line.at_offset(s, left)));
    Polygon::simple(ring)
}

fn along(line: &Polyline, from: f64, to: f64, offset: f64) -> Polyline {
    let place = |i: i32| line.at_offset(from + (to - from) * f64::from(i) / 100.0, offset);
    Polyline::new((0..=100).map(place).collect()).expect("a line")
}

fn swale(name: &str, line: &Polyline) -> Swale {
    let length = line.length();
    let (from, to) = (length - 12.0, length - 6.0);
    let (heel, crest_offset, toe) = (-0.5, -2.08, -3.9348);
    let stations: Vec<ContourStation> = (0..=20)
        .map(|i| {
            let station = length * f64::from(i) / 20.0;
            let deviation = 0.018 * (f64::from(i) * 1.3).sin();
            let place = line.at(station);
            ContourStation { station, place, ground: LEVEL + deviation, deviation, sigma: None, tin: LEVEL + deviation }
        })
        .collect();
    let lip = along(line, from, to, 0.3);
    let outlet = line.at_offset(f64::midpoint(from, to), 0.3);
    Swale {
        wanted: wanted(name),
        water_level: Elevation::metres(LEVEL),
        line: line.clone(),
        contour: ContourCheck {
            stations,
            worst: -0.018,
            rms: 0.012,
            tolerance: 0.05,
            least_radius: (38.0, 70.0),
            proof: Proof::default(),
        },
        section: Section {
            line_edge: LineEdge::DownhillLip,
            bed: Elevation::metres(LEVEL - DEPTH),
            bottom_width: m(1.2),
            channel: [(3.6 / 0.92, FALL * 3.6 / 0.92), (2.4, -DEPTH), (1.2, -DEPTH), (0.0, 0.0)]
                .map(|(x, y)| Point::new(x, y))
                .to_vec(),
            uphill_batter: Batter::horizontal_per_vertical(2.0),
            downhill_batter: Batter::horizontal_per_vertical(2.0),
            lip_offset: m(0.0),
            bed_offset: m(1.8),
            // Bed at 2.4 rises 1 in 2 to ground at 0.04 o: (2.4 + 2 * 0.6) / (1 - 2 * 0.04).
            top_offset: m(3.6 / 0.92),
            ledge: m(0.5),
            crest_offset: m(crest_offset),
            crest_width: m(1.0),
            berm_batter: Batter::horizontal_per_vertical(2.0),
            toe_offset: m(toe),
            cross_fall: Fall::percent(FALL * 100.0),
        },
        steepest: (Fall::percent(FALL * 100.0), Station::metres(0.0)),
        low_ground: crate::works::LowGround::default(),
        deepest_face: (m(DEPTH + FALL * 3.6 / 0.92), Station::metres(0.0)),
        crest: CrestLevels {
            water_level: Elevation::metres(LEVEL),
            head: m(0.1),
            freeboard: m(0.3),
            settlement: m(0.05),
            built: Elevation::metres(LEVEL + CREST),
        },
        bed_axis: along(line, 0.0, length, 1.8),
        bed_levels: vec![LEVEL - DEPTH; along(line, 0.0, length, 1.8).points().len()],
        key: Volume::ZERO,
        crest_levels: Vec::new(),
        haul: None,
        crest_axes: vec![along(line, 0.0, from - 1.0, crest_offset), along(line, to + 1.0, length, crest_offset)],
        spillways: vec![Spillway {
            from: Station::metres(from),
            to: Station::metres(to),
            sill: Elevation::metres(LEVEL),
            sill_length: m(6.0),
            sill_breadth: m(1.5),
            head: m(0.1),
            flow: Some(Flow::cubic_metres_per_second(0.285)),
            together: None,
            coefficient: 1.5,
            lip,
            strip: band(line, from, to, 1.8, 0.3),
            ground_above_sill: (m(0.07), m(0.01)),
            on_fill: false,
            exit: Polyline::new(vec![
                outlet,
                Point::new(outlet.x + 1.0, outlet.y - 12.0),
                Point::new(outlet.x + 3.0, outlet.y - 25.0),
            ]),
            exit_fall: Fall::percent(0.5),
            natural_exit_fall: Fall::percent(4.0),
            storm: None,
            outlet: None,
        }],
        ends: [
            End {
                name: LineEnd::First,
                place: line.at_offset(0.0, 8.0),
                turned_length: m(13.0),
                closed: true,
                overflow: false,
            },
            End {
                name: LineEnd::Last,
                place: line.at_offset(length, 8.0),
                turned_length: m(13.4),
                closed: true,
                overflow: false,
            },
        ],
        crossings: Vec::new(),
        pools: Vec::new(),
        storage: Storage {
            volume: Volume::cubic_metres(243.6),
            area: Area::square_metres(760.0),
            spill: Elevation::metres(LEVEL),
            spill_place: outlet,
            at_sill: true,
        },
        cut_footprint: vec![band(line, 0.0, length, 3.6 / 0.92, 0.0)],
        fill_footprint: vec![band(line, 0.0, from - 1.0, heel, toe), band(line, to + 1.0, length, heel, toe)],
        daylight: Vec::new(),
        trials: Vec::new(),
    }
}

fn stakes(swale: &Swale) -> StakeList {
    let line = &swale.line;
    let mut stakes = Vec::new();
    let mut push = |id: String, kind: StakeKind, station: f64, offset: f64, refers_to: Target, target: (f64, f64)| {
        let place = line.at_offset(station, offset);
        let predicted = natural(place.x, place.y);
        let down = predicted - (LEVEL + target.1);
        let action = match down {
            d if d.abs() < 0.005 => Action::OnGrade,
            d if d > 0.0 => Action::Cut(d),
            d => Action::Fill(-d),
        };
        stakes.push(Stake {
            writes: id.clone(),
            id,
            works: swale.wanted.name.clone(),
            kind,
            station,
            side: if offset > 0.0 { "uphill" } else { "on line" },
            offset,
            place,
            predicted_ground: Some(predicted),
            mark_elevation: None,
            refers_to,
            away: (target.0 - offset).abs(),
            way: if target.0 > offset { Way::Uphill } else { Way::Downhill },
            design_elevation: LEVEL + target.1,
            action: Some(action),
        });
    };
    let mut station = 0.0;
    while station <= line.length() {
        push(format!("U{station:03.0}"), StakeKind::Line, station, 0.0, Target::WaterLevel, (0.0, 0.0));
        push(format!("U{station:03.0}F"), StakeKind::Offset, station, 6.0, Target::Bed, (1.8, -DEPTH));
        push(format!("U{station:03.0}C"), StakeKind::Crest, station, -2.08, Target::Crest, (-2.08, CREST));
        station += 20.0;
    }
    let sill = &swale.spillways[0];
    for i in 0..4 {
        let station = sill.from.in_metres() + 2.0 * f64::from(i);
        push(format!("U{station:03.0}S"), StakeKind::Sill, station, 0.3, Target::Sill, (0.3, 0.0));
    }
    StakeList { stakes, as_built_shots: Vec::new() }
}

fn shot(id: &str, role: Role, code: &str, x: f64, y: f64, above: f64) -> Shot {
    Shot {
        id: id.to_owned(),
        file: 0,
        line: 1,
        place: Point::new(x, y),
        elevation: natural(x, y) + above,
        code: code.to_owned(),
        role,
        quality: Quality::default(),
        time: None,
        setup: Setup::default(),
        ellipsoid_height: None,
    }
}

fn survey(frame: SiteFrame, east: f64) -> Survey {
    let mut shots = vec![
        shot("cp1", Role::Mark, "cp", 30.0, 95.0, 0.1),
        shot("cp2", Role::Mark, "cp", east - 25.0, 20.0, 0.1),
        shot("cp<3>", Role::Mark, "cp", east - 30.0, line_y(east - 30.0) + 9.0, 0.1),
    ];
    shots.extend(
        (0..5).map(|i| shot("s", Role::Service, "tel&co", 60.0 + 2.0 * f64::from(i), 20.0 * f64::from(i), 0.0)),
    );
    shots.extend(
        (0..7).map(|i| shot("b", Role::Breakline, "ridge", 100.0 + 3.0 * f64::from(i), 18.0 * f64::from(i), 0.0)),
    );
    shots.extend((0..160).map(|i| {
        let (x, y) = (f64::from(i % 20) * east / 19.0, f64::from(i / 20) * 16.0);
        shot("g", Role::Ground, "gs", x, y, 0.0)
    }));
    let mut survey = Survey::empty(frame);
    survey.files.push("day1.csv".to_owned());
    survey.shots = shots;
    survey.breaklines.push((8..15).collect());
    survey
}

fn quantities() -> Quantities {
    let row = |works: &str| QuantityRow {
        works: works.to_owned(),
        topsoil_bank: BankVolume::cubic_metres(141.3),
        cut_bank: BankVolume::cubic_metres(268.2),
        key_bank: BankVolume::cubic_metres(0.0),
        fill_placed: PlacedVolume::cubic_metres(251.0),
        fill_bank: BankVolume::cubic_metres(271.0),
        seat_refill_placed: PlacedVolume::cubic_metres(62.0),
        surplus_bank: BankVolume::cubic_metres(-64.8),
        to_move_loose: LooseVolume::cubic_metres(511.0),
        cut_area: Area::square_metres(770.0),
        fill_area: Area::square_metres(620.0),
    };
    Quantities {
        works: vec![row("upper")],
        all: row("all"),
        three_ways: Vec::new(),
        storage: Vec::new(),
        soils: Vec::new(),
    }
}

/// Metres.
pub(crate) const METRIC: Figures =
    Figures { units: crate::units::ReadingUnits::Metric, feet: crate::units::FeetStyle::Tenths };

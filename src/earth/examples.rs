//! For tests: a straight swale of one cross section on a plane, all of it in closed form.
//!
//! The line runs east along y = 0 from x = 0 to 100 m, uphill to the north; ground is 100 + 0.04 y, water level 100, lip
//! on the line. The surfaces end square at both ends of the line, so a volume is an area times 100 m. A sill is noted
//! from station 80 to 86 m but not cut into the surface.

use crate::frame::SiteFrame;
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::ground::Ground;
use crate::soil::Soil;
use crate::surface::Tin;
use crate::units::{Area, Batter, Elevation, Fall, Length, Station, Volume};
use crate::works::{
    Berm, ContourCheck, CrestLevels, End, LineEdge, LineEnd, Proof, Section, SitePlan, Spillway, Storage, Swale,
    SwaleWanted, WaterLevel, Work,
};

/// Length of the swale.
pub(crate) const LENGTH: f64 = 100.0;
/// Elevation of the built crest.
pub(crate) const CREST: f64 = 100.5;
/// Fall of the ground across the line.
const FALL: f64 = 0.04;

/// The cross section as offsets and elevations, from the downhill edge of the surface to the uphill one.
pub(crate) fn section() -> [(f64, f64); 10] {
    let ground = |y: f64| 100.0 + FALL * y;
    // Batters are 2:1. The berm's uphill toe stands on the ledge at -0.3, its crest is 1 m wide.
    let inner_toe = -0.3;
    let crest_high = inner_toe - 2.0 * (CREST - ground(inner_toe));
    let crest_low = crest_high - 1.0;
    // CREST - (crest_low - y) / 2 = 100 + FALL y
    let outer_toe = (100.0 - CREST + crest_low / 2.0) / (0.5 - FALL);
    // 99.4 + (y - 2.4) / 2 = 100 + FALL y
    let top = 1.8 / (0.5 - FALL);
    [
        (-20.0, ground(-20.0)),
        (outer_toe, ground(outer_toe)),
        (crest_low, CREST),
        (crest_high, CREST),
        (inner_toe, ground(inner_toe)),
        (0.0, 100.0),
        (1.2, 99.4),
        (2.4, 99.4),
        (top, ground(top)),
        (20.0, ground(20.0)),
    ]
}

/// The surface that a cross section makes along the line.
pub(crate) fn extruded(section: &[(f64, f64)]) -> Tin {
    let vertices =
        section.iter().flat_map(|&(y, z)| [Point3::new(0.0, y, z), Point3::new(LENGTH, y, z)]).collect::<Vec<_>>();
    let strips = u32::try_from(section.len() - 1).unwrap();
    let triangles = (0..strips).map(|i| 2 * i).flat_map(|i| [[i, i + 1, i + 3], [i, i + 3, i + 2]]).collect();
    Tin::from_triangles(vertices, triangles).unwrap()
}

/// The ground of [`section`].
pub(crate) fn ground() -> Ground {
    let all = section();
    Ground { tin: extruded(&[all[0], all[9]]), frame: SiteFrame::site_grid(), spacing: 10.0 }
}

fn along(y: f64, from: f64, to: f64) -> Polyline {
    Polyline::new(vec![Point::new(from, y), Point::new(to, y)]).unwrap()
}

fn strip(low: f64, high: f64) -> Polygon {
    Polygon::simple(vec![
        Point::new(0.0, low),
        Point::new(LENGTH, low),
        Point::new(LENGTH, high),
        Point::new(0.0, high),
    ])
}

/// The plan of one swale named `upper`.
pub(crate) fn plan() -> SitePlan {
    let metres = Length::metres;
    let all = section();
    let crest_middle = f64::midpoint(all[2].0, all[3].0);
    let line = along(0.0, 0.0, LENGTH);
    let two = Batter::horizontal_per_vertical(2.0);
    let swale = Swale {
        wanted: SwaleWanted {
            berm: Berm::Fixed { crest: metres(1.0), batter: two },
            key: None,
            ledge: metres(0.3),
            settlement: 0.1,
            ..SwaleWanted::usual("upper", WaterLevel::Elevation(Elevation::metres(100.0)), Soil::of_tests())
        },
        water_level: Elevation::metres(100.0),
        contour: ContourCheck {
            stations: Vec::new(),
            worst: 0.0,
            rms: 0.0,
            tolerance: 0.05,
            least_radius: (f64::INFINITY, 0.0),
            proof: Proof::default(),
        },
        section: Section {
            line_edge: LineEdge::DownhillLip,
            bed: Elevation::metres(99.4),
            bottom_width: metres(1.2),
            channel: [8, 7, 6, 5].map(|i| Point::new(all[i].0, all[i].1 - 100.0)).to_vec(),
            uphill_batter: two,
            downhill_batter: two,
            lip_offset: metres(0.0),
            bed_offset: metres(1.8),
            top_offset: metres(all[8].0),
            ledge: metres(0.3),
            crest_offset: metres(crest_middle),
            crest_width: metres(1.0),
            berm_batter: two,
            toe_offset: metres(all[1].0),
            cross_fall: Fall::ratio(FALL),
        },
        steepest: (Fall::percent(4.0), Station::metres(0.0)),
        low_ground: crate::works::LowGround::default(),
        deepest_face: (metres(0.75), Station::metres(0.0)),
        crest: CrestLevels {
            water_level: Elevation::metres(100.0),
            head: metres(0.1),
            freeboard: metres(0.3),
            settlement: metres(0.1),
            built: Elevation::metres(CREST),
        },
        bed_axis: along(1.8, 0.0, LENGTH),
        bed_levels: vec![99.4; along(1.8, 0.0, LENGTH).points().len()],
        key: Volume::ZERO,
        crest_levels: Vec::new(),
        haul: None,
        crest_axes: vec![along(crest_middle, 0.0, 79.0), along(crest_middle, 87.0, LENGTH)],
        spillways: vec![Spillway {
            from: Station::metres(80.0),
            to: Station::metres(86.0),
            sill: Elevation::metres(100.0),
            sill_length: metres(6.0),
            sill_breadth: metres(1.5),
            head: metres(0.1),
            flow: None,
            together: None,
            coefficient: 1.5,
            lip: along(-1.5, 80.0, 86.0),
            strip: Polygon::simple(
                [(80.0, -1.5), (86.0, -1.5), (86.0, 0.0), (80.0, 0.0)].map(|(x, y)| Point::new(x, y)).to_vec(),
            ),
            ground_above_sill: (metres(0.0), metres(-0.06)),
            on_fill: false,
            exit: None,
            exit_fall: Fall::percent(0.5),
            natural_exit_fall: Fall::ratio(FALL),
            storm: None,
            outlet: None,
        }],
        ends: [(0.0, LineEnd::First), (LENGTH, LineEnd::Last)].map(|(x, name)| End {
            name,
            place: Point::new(x, 0.0),
            turned_length: metres(0.0),
            closed: true,
            overflow: false,
        }),
        crossings: Vec::new(),
        pools: Vec::new(),
        storage: Storage {
            volume: Volume::cubic_metres(0.0),
            area: Area::square_metres(0.0),
            spill: Elevation::metres(100.0),
            spill_place: Point::new(83.0, 0.0),
            at_sill: true,
        },
        cut_footprint: vec![strip(0.0, all[8].0)],
        fill_footprint: vec![strip(all[1].0, all[4].0)],
        daylight: Vec::new(),
        trials: Vec::new(),
        line,
    };
    SitePlan { works: vec![Work::Swale(swale)], surfaces: vec![extruded(&all)], ..SitePlan::default() }
}

//! Dams across valleys in closed form.

use super::*;
use crate::geom::snap_point;
use crate::ground::Ground;
use crate::notes::{Note, Silent};
use crate::surface::sound::assert_sound;
use crate::surface::{Locator, Tin, cut_and_fill};
use crate::units::Elevation;
use crate::works::pit::{PitDepth, PitWanted, Purpose};
use crate::works::{SitePlan, Wanted, Work, WorksError, design};

/// A V-shaped valley rising to the north at `fall`, with sides of `west` and `east`: two planes and their edge.
pub(crate) fn valley(fall: f64, west: f64, east: f64) -> Ground {
    let height = |x: f64, y: f64| 100.0 + fall * y + if x < 0.0 { -x * west } else { x * east };
    let mut points = Vec::new();
    for x in [-128.0, 0.0, 128.0] {
        for y in [-64.0, 320.0] {
            points.push(snap_point(Point::new(x, y)).at(height(x, y)));
        }
    }
    Ground::of_points(&points)
}

pub(crate) fn wanted(full: f64) -> DamWanted {
    DamWanted {
        name: "wall".to_owned(),
        axis: vec![Point::new(-60.0, 0.0), Point::new(60.0, 0.0)],
        full_supply: WaterLevel::Elevation(Elevation::metres(full)),
        flood_rise: Some(Length::metres(0.3)),
        wave: Length::ZERO,
        freeboard: Length::metres(0.3),
        crest_width: Some(Length::metres(3.0)),
        upstream: Batter::horizontal_per_vertical(3.0),
        downstream: Batter::horizontal_per_vertical(2.5),
        key: None,
        topsoil: Length::ZERO,
        soil: Soil::of_tests(),
        placement: Placement::LayeredRolled,
        settlement: 0.0,
        spillway: None,
    }
}

pub(super) fn made(ground: &Ground, asked: &DamWanted) -> (Dam, Tin, Vec<Note>) {
    let plan = design(ground, std::slice::from_ref(asked), &Silent).unwrap();
    let SitePlan { mut works, mut surfaces, .. } = plan.value;
    let Some(Work::Dam(dam)) = works.pop() else { panic!("a dam") };
    (dam, surfaces.pop().unwrap(), plan.notes)
}

/// Water between level, valley and a face that leaves the level at `y0` and falls at 1 in `s`: two tetrahedra with a
/// triangle along the valley's bottom in common.
fn behind_face(full: f64, fall: f64, sides: [f64; 2], y0: f64, s: f64) -> f64 {
    // The face at the bottom: full - (y - y0) / s = fall y.
    let meets = (full + y0 / s) / (fall + 1.0 / s);
    let triangle = (full / fall - y0) * (full - fall * meets) / 2.0;
    sides.iter().map(|side| triangle * (full - fall * y0) / side / 3.0).sum()
}

#[test]
fn water_behind_a_wall_is_its_closed_form() {
    // Upright, the formula is h3 / (6 g) (1 / m1 + 1 / m2) = 8,750 m3.
    assert!((behind_face(3.0, 0.015, [0.06, 0.08], 0.0, 1e-12) - 8750.0).abs() < 1e-4);
    let (dam, surface, notes) = made(&valley(0.015, 0.06, 0.08), &wanted(103.0));
    // The face leaves full supply 1.5 m + 3 x 0.6 m upstream of the axis.
    let exact = behind_face(3.0, 0.015, [0.06, 0.08], 1.5 + 3.0 * 0.6, 3.0);
    let held = dam.storage.volume.in_cubic_metres();
    assert!((held - exact).abs() < exact * 1e-6, "{held} {exact}");
    assert!((dam.height.0.in_metres() - 3.6).abs() < 1e-9);
    // Crest at 103.6 meets the sides at 60 m to the west and 45 m to the east.
    assert!((dam.line.length() - 105.0).abs() < 6.0, "{}", dam.line.length());
    assert!(dam.line.at_offset(20.0, 5.0).y > 0.0, "the water is on its left");
    assert_sound(&surface);
    assert!(notes.iter().any(|note| note.code == "works::no-spillway" && note.text.contains("NO SPILLWAY")));
    assert!(notes.iter().any(|note| note.code == "works::dam-law"));
    assert!(dam.largest_difference < 1e-4, "{}", dam.largest_difference);
}

#[test]
fn a_wall_in_a_channel_is_the_published_prism() {
    // Math Central: 15 ft high, 14 ft wide at the top, 100 ft at the bottom, 300 ft long: 256,500 ft3. Here as the end
    // area of the wall where it stands on level ground: 43 ft out on 15 ft down, both sides.
    const FOOT: f64 = 0.3048;
    let mut points = Vec::new();
    for (x, z) in [(-100.0, 140.0), (-90.0, 100.0), (90.0, 100.0), (100.0, 140.0)] {
        for y in [-80.0, 80.0] {
            points.push(snap_point(Point::new(x, y)).at(z));
        }
    }
    // Barely rising to the north, so that the water has a side.
    points.iter_mut().for_each(|p| p.z += p.y * 1e-6);
    // The water needs an end: a bank across the north.
    for x in [-100.0, -90.0, 90.0, 100.0] {
        points.push(snap_point(Point::new(x, 120.0)).at(140.0));
    }
    let batter = Batter::horizontal_per_vertical(43.0 / 15.0);
    let asked = DamWanted {
        axis: vec![Point::new(-80.0, 0.0), Point::new(80.0, 0.0)],
        full_supply: WaterLevel::Elevation(Elevation::metres(100.0 + 15.0 * FOOT - 0.6)),
        crest_width: Some(Length::metres(14.0 * FOOT)),
        upstream: batter,
        downstream: batter,
        ..wanted(0.0)
    };
    let ground = Ground::of_points(&points);
    let (dam, surface, _) = made(&ground, &asked);
    let length = 300.0 * FOOT;
    let window = Polygon::simple(
        [(-length / 2.0, -40.0), (length / 2.0, -40.0), (length / 2.0, 40.0), (-length / 2.0, 40.0)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec(),
    );
    let cubic_feet = cut_and_fill(&ground.tin, &surface, Some(&window)).fill / FOOT.powi(3);
    assert!((cubic_feet - 256_500.0).abs() < 30.0, "{cubic_feet}");
    assert_eq!(dam.beyond.len(), 0);
}

#[test]
fn a_wall_is_overbuilt_by_its_local_height_and_settles_level() {
    let ground = valley(0.015, 0.06, 0.08);
    let (settled_dam, settled_surface, _) = made(&ground, &wanted(103.0));
    let asked = DamWanted { settlement: 0.05, ..wanted(103.0) };
    let (dam, built, _) = made(&ground, &asked);
    // 5 % of 3.6 m at the middle, nothing at the ends.
    assert!((dam.crest.built.in_metres() - (103.6 + 0.18)).abs() < 1e-9);
    assert!((dam.built[0] - 103.6).abs() < 1e-9 && (dam.built[dam.built.len() - 1] - 103.6).abs() < 1e-9);
    let locator = Locator::new(&built);
    for station in [20.0, 45.0, 60.0, 80.0] {
        let found = locator.elevation(dam.line.at(station)).unwrap();
        assert!((found - dam.built_at(station)).abs() < 1e-3, "{station}: {found} {}", dam.built_at(station));
    }
    // The same feet, and a twentieth more fill.
    assert_eq!(dam.fill_footprint, settled_dam.fill_footprint);
    let fill = |after: &Tin| cut_and_fill(&ground.tin, after, None).fill;
    let (more, less) = (fill(&built), fill(&settled_surface));
    assert!((more / less - 1.05).abs() < 2e-3, "{}", more / less);
    // Storage is that of the settled wall, in the design and in the table.
    assert_eq!(dam.storage.volume, settled_dam.storage.volume);
    let plan = design(&ground, &[asked], &Silent).unwrap().value;
    let back = settled(&ground, &plan).unwrap();
    let apart = |p: Point| {
        (Locator::new(&back).elevation(p).unwrap() - Locator::new(&settled_surface).elevation(p).unwrap()).abs()
    };
    assert!([(0.0, 0.0), (-20.0, 4.0), (10.0, -3.0), (5.0, 8.0)].iter().all(|&(x, y)| apart(Point::new(x, y)) < 1e-6));
}

#[test]
fn a_cutoff_is_its_prism_and_is_filled_again() {
    let ground = valley(0.015, 0.06, 0.08);
    let batter = Batter::horizontal_per_vertical(1.0);
    let key = KeyWanted { width: Length::metres(2.5), depth: Length::metres(0.6), batter };
    let (dam, _, notes) = made(&ground, &DamWanted { key: Some(key), topsoil: Length::metres(0.15), ..wanted(103.0) });
    // 0.6 m deep, 2.5 m at the bottom and 3.7 m at the top, over the line's length and its two rounded ends.
    let prism = 0.6 * 3.1 * dam.line.length();
    let found = dam.key.in_cubic_metres();
    assert!(found > prism && found < prism + 2.0 * 0.6 * 3.7 * 1.85, "{found} {prism}");
    assert!(!notes.iter().any(|note| note.code == "works::no-cutoff"));
    assert!((dam.deepest_face.0.in_metres() - 0.75).abs() < 1e-9);
}

#[test]
fn a_pit_through_a_wall_is_refused_unless_it_says_so() {
    let ground = valley(0.015, 0.06, 0.08);
    let corners = [(-8.0, 6.0), (8.0, 6.0), (8.0, 18.0), (-8.0, 18.0)];
    let depth = PitDepth::Floor(Elevation::metres(99.0));
    let pit = |through: Option<&str>| PitWanted {
        through: through.map(str::to_owned),
        ..PitWanted::usual("pond", Purpose::Pond, &corners, 3.0, depth.clone())
    };
    let both = |through| design(&ground, &[wanted(103.0).into(), pit(through).into()] as &[Wanted; 2], &Silent);
    let refused = both(None).unwrap_err();
    assert!(matches!(&refused, WorksError::CutsEarlierWork { earlier, .. } if earlier == "wall"), "{refused}");
    let plan = both(Some("wall")).unwrap().value;
    assert_sound(plan.surfaces.last().unwrap());
    // The other way round the wall would stand in the dig.
    let turned = design(&ground, &[pit(None).into(), wanted(103.0).into()] as &[Wanted; 2], &Silent).unwrap_err();
    assert!(matches!(turned, WorksError::FillsEarlierDig { .. }), "{turned}");
}

#[test]
fn walls_that_cannot_be_built_are_told_with_their_place() {
    let ground = valley(0.015, 0.06, 0.08);
    let fails = |asked: DamWanted| design(&ground, &[asked], &Silent).unwrap_err();
    // Crest 8.6 m up wants 143 m of valley side to the west; the survey ends at 128 m.
    let low = fails(wanted(108.0));
    assert!(matches!(low, WorksError::NoAbutment { .. }), "{low}");
    let dry = fails(wanted(99.9));
    assert!(matches!(dry, WorksError::WaterLevelOff { .. }), "{dry}");
    // Full supply at 105 runs 333 m up the valley; the survey ends at 320 m.
    let long = fails(wanted(105.0));
    assert!(matches!(long, WorksError::ReservoirLeaks { what, .. } if what.contains("edge of the survey")), "{long}");
    let off = fails(DamWanted { axis: vec![Point::new(-200.0, 0.0), Point::new(60.0, 0.0)], ..wanted(103.0) });
    assert!(matches!(off, WorksError::PlaceOffSurvey { .. }), "{off}");
}

#[test]
fn a_wall_beyond_farm_practice_says_so() {
    // Steep and deep: 10.6 m high.
    let ground = valley(0.06, 0.3, 0.3);
    let (dam, _, notes) = made(&ground, &DamWanted { crest_width: None, ..wanted(110.0) });
    assert_eq!(dam.beyond.len(), 1, "{:?}", dam.beyond);
    assert!(notes.iter().any(|note| note.code == "works::beyond-small-dams"));
    assert!((dam.crest_width.in_metres() - 14.0 * 0.3048).abs() < 1e-9);
    let steep = DamWanted { upstream: Batter::horizontal_per_vertical(2.0), ..wanted(103.0) };
    let told = made(&valley(0.015, 0.06, 0.08), &steep).2;
    assert!(told.iter().any(|note| note.code == "works::steep-wall"));
}

#[test]
fn an_arc_across_a_rough_gully_is_sound() {
    let mut points = Vec::new();
    for i in 0..=32 {
        for j in 0..=24 {
            let inner = i > 0 && i < 32 && j > 0 && j < 24;
            let nudge = if inner { f64::from((i * 5 + j * 11) % 7) * 0.1 } else { 0.0 };
            let p = snap_point(Point::new(f64::from(i) * 6.0 - 96.0 + nudge, f64::from(j) * 8.0 - 60.0 - nudge));
            let bump = 0.12 * (p.x / 7.0).sin() * (p.y / 9.0).cos();
            points.push(p.at(100.0 + 0.03 * p.y + 8.0 * (1.0 - (-(p.x / 45.0).powi(2)).exp()) + bump));
        }
    }
    let ground = Ground::of_points(&points);
    // An arc bowed to the water, 60 m of radius.
    let axis =
        (-8..=8).map(|k| f64::from(k) * 0.08).map(|t| Point::new(60.0 * t.sin(), 60.0 * t.cos() - 60.0)).collect();
    let asked = DamWanted { axis, settlement: 0.1, ..wanted(103.0) };
    let (dam, surface, _) = made(&ground, &asked);
    assert_sound(&surface);
    assert!(dam.largest_difference < 1e-3, "{}", dam.largest_difference);
    assert_eq!(dam.fill_footprint.len(), 1);
    // Outside the footprint nothing has changed.
    let locator = Locator::new(&surface);
    for p in ground.tin.vertices() {
        if !dam.fill_footprint[0].contains(p.plan()) {
            assert!((locator.elevation(p.plan()).unwrap() - p.z).abs() < 1e-6);
        }
    }
}

//! A whole design on a hillside that bends: quantities, stakes and the as-built check agree with one another.

use std::sync::OnceLock;
use swalewright::asbuilt::{Design, GradeSettings, Mark, Measured, Part, Verdict, check};
use swalewright::earth::quantities;
use swalewright::frame::SiteFrame;
use swalewright::geom::{Point, snap_point};
use swalewright::ground::Ground;
use swalewright::notes::Silent;
use swalewright::soil::{Placement, Soil};
use swalewright::stakeout::{Action, StakeKind, StakeList, StakeSettings, stakes};
use swalewright::surface::{Locator, triangulate};
use swalewright::survey::{Quality, Role, Roles, Setup, Shot, Survey};
use swalewright::units::{Batter, Elevation, Length, ReadingUnits};
use swalewright::works::{Berm, SitePlan, SpillwayWanted, SwaleWanted, WaterLevel, design};

fn frame() -> SiteFrame {
    SiteFrame::site_grid()
}

/// A hillside that turns round a spur: 4 % away from a far top, surveyed every 8 m or so.
fn hillside() -> Ground {
    let mut points = Vec::new();
    for i in 0..=26_i32 {
        for j in 0..=14_i32 {
            let nudge = |k: i32| f64::from((i * 7 + j * 13 + k) % 5) * 0.3;
            let place = snap_point(Point::new(f64::from(i) * 8.0 + nudge(0), f64::from(j) * 8.0 + nudge(2)));
            let out = (place.x - 104.0).hypot(place.y - 260.0);
            points.push(place.at(440.0 - 0.04 * out));
        }
    }
    Ground { tin: triangulate(&points, &[]).unwrap().tin, frame: frame(), spacing: 8.0 }
}

fn wanted() -> SwaleWanted {
    SwaleWanted {
        between: Some((Point::new(30.0, 60.0), Point::new(175.0, 60.0))),
        berm: Berm::AllTheCut { crest: Length::metres(0.8), batter: Batter::horizontal_per_vertical(2.0) },
        spillways: vec![SpillwayWanted::usual(Length::metres(6.0))],
        ..SwaleWanted::usual(
            "upper",
            WaterLevel::Elevation(Elevation::metres(431.8)),
            Soil::named("loam", Placement::TrackWalked).unwrap(),
        )
    }
}

/// One design serves all tests: it takes seconds without optimisation.
fn planned() -> &'static (Ground, SitePlan) {
    static PLANNED: OnceLock<(Ground, SitePlan)> = OnceLock::new();
    PLANNED.get_or_init(|| {
        let ground = hillside();
        let plan = design(&ground, &[wanted()], &Silent).unwrap().value;
        (ground, plan)
    })
}

fn staked() -> StakeList {
    let (ground, plan) = planned();
    stakes(ground, plan, &StakeSettings::default()).value
}

/// A berm of all the cut: what the design solved for, the overlay finds again, and sections agree with both.
#[test]
fn the_berm_takes_what_the_ditch_gives() {
    let (ground, plan) = planned();
    let quantities = quantities(ground, plan).value;
    let row = &quantities.works[0];
    // Crests are built to whole centimetres, so the balance closes to a centimetre of berm.
    let centimetre = 0.01 * row.fill_area.in_square_metres();
    assert!(row.surplus_bank.in_cubic_metres().abs() <= centimetre, "{row:?}");
    let all = &quantities.all;
    assert_eq!((all.cut_bank, all.fill_placed), (row.cut_bank, row.fill_placed));
    // Two other methods: end areas overstate what tapers, a few per cent here.
    let ways = &quantities.three_ways[0];
    for by in [ways.cut.unwrap(), ways.fill] {
        assert!((by.end_area_m3 / by.overlay_m3 - 1.0).abs() < 0.03, "{ways:?}");
        assert!((by.prismoidal_m3 / by.overlay_m3 - 1.0).abs() < 0.01, "{ways:?}");
        assert!(by.of_it_curvature_m3.abs() > 1e-3 * by.overlay_m3, "the line bends round a spur: {ways:?}");
    }
    let full = quantities.storage[0].stages.last().unwrap();
    let held = plan.swales().next().unwrap().storage.volume.in_cubic_metres();
    assert!((full.volume_m3 - held).abs() < 1e-5 * held, "{full:?} {held}");
    assert!((full.volume_conic_m3 / full.volume_m3 - 1.0).abs() < 0.02, "{full:?}");
    assert!(quantities.storage[0].stages.is_sorted_by(|a, b| a.volume_m3 <= b.volume_m3));
}

/// Dig or fill at each stake what it says, and the place it names is at its elevation.
#[test]
fn every_stake_leads_to_the_designed_surface() {
    let (ground, plan) = planned();
    let (natural, designed) = (Locator::new(&ground.tin), Locator::new(plan.surfaces.last().unwrap()));
    let list = staked();
    for stake in &list.stakes {
        let own = natural.elevation(stake.place).unwrap();
        let there = match stake.action.unwrap() {
            Action::Cut(down) => own - down,
            Action::Fill(up) => own + up,
            Action::OnGrade => stake.design_elevation,
        };
        assert!((there - stake.design_elevation).abs() < 1e-9, "{stake:?}");
        assert_eq!(Some(own), stake.predicted_ground);
        // What stands on its own target stands on the designed surface there.
        if matches!(stake.kind, StakeKind::Crest | StakeKind::Sill) {
            let surface = designed.elevation(stake.place).unwrap();
            assert!((surface - stake.design_elevation).abs() < 0.02, "{stake:?} {surface}");
        }
    }
    // At the ends, where the channel has ended, the stake names the crest beside it.
    let first = list.stakes.iter().find(|stake| stake.id == "U000").unwrap();
    assert!(first.writes.starts_with("FILL") && first.writes.contains("CREST"), "{}", first.writes);
}

/// The shots of the list taken on works built true, save one low stretch of crest: it alone is found.
#[test]
fn the_list_of_shots_finds_a_low_stretch() {
    let (_, plan) = planned();
    let list = staked();
    let low = 60.0..=90.0;
    let mut survey = Survey::empty(frame());
    survey.files.push("asbuilt.csv".to_owned());
    let mut add = |role: Role, place: Point, elevation: f64| {
        let line = survey.shots.len() as u64 + 1;
        let quality = Quality { vertical_sigma: Some(0.010), ..Quality::default() };
        let (id, code) = (line.to_string(), String::new());
        survey.shots.push(Shot {
            id,
            file: 0,
            line,
            place,
            elevation,
            code,
            role,
            quality,
            time: None,
            ellipsoid_height: None,
            setup: Setup::default(),
        });
    };
    let mark = Point::new(100.0, 90.0);
    add(Role::Check, mark, 433.0);
    let roles = Roles::default();
    for shot in &list.as_built_shots {
        let error = match shot.part {
            "crest" if low.contains(&shot.station) => -0.12,
            "crest" => 0.05,
            _ => 0.0,
        };
        add(roles.read(&shot.code).role.unwrap(), shot.place, shot.design_elevation + error);
    }
    add(Role::Check, mark, 433.0);
    let mut design = Design::from_plan(plan);
    design.marks.push(Mark { name: "M1".to_owned(), place: mark, elevation_m: 433.0 });
    let answer = check(
        &design,
        plan.surfaces.last(),
        &Measured::shots(&survey),
        &GradeSettings::default(),
        ReadingUnits::Metric,
    )
    .value;
    assert_eq!(answer.verdict, Verdict::Fail);
    assert_eq!(answer.shots.len(), list.as_built_shots.len(), "{:?}", answer.unmatched);
    // Every shot finds the part that it was meant for, at its own elevation.
    for (part, name) in [(Part::Sill, "sill"), (Part::Crest, "crest"), (Part::Bed, "bed")] {
        let meant = list.as_built_shots.iter().filter(|shot| shot.part == name).count();
        let found = answer.shots.iter().filter(|shot| shot.part == part).count();
        assert!(found >= meant, "{name}: {found} of {meant}");
    }
    assert!(answer.shots.iter().all(|shot| shot.part == Part::Crest || shot.difference_m.abs() < 0.02));
    let [job] = answer.put_right.as_slice() else { panic!("{:?}", answer.put_right) };
    assert_eq!(job.part, Part::Crest);
    // Halfway to the good shots on either side: shots stand 10 m apart.
    assert!((60.0..=65.0).contains(&job.from_m) && (88.0..=95.0).contains(&job.to_m), "{job:?}");
    assert!((job.by_from_m - 0.12).abs() < 0.01);
    assert!(
        answer.headlines[0].starts_with("KEEP THE MACHINE: raise crest of upper by 0.12 m"),
        "{:?}",
        answer.headlines
    );
}

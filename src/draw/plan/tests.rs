//! A plan is true to its scale, names every stake or says so, and marks where water leaves first.

use super::*;
use crate::draw::base::FINE;
use crate::draw::hillside::{Hillside, METRIC, hillside};
use crate::draw::labels::away_from;
use crate::draw::{Item, Region, svg};
use crate::stakeout::StakeKind;

fn input(site: &Hillside) -> PlanInput<'_> {
    PlanInput {
        ground: &site.ground,
        survey: &site.survey,
        plan: &site.plan,
        stakes: &site.stakes,
        figures: METRIC,
        words: Region::Au.words(),
    }
}

#[test]
fn every_stake_is_named_on_some_plan_or_counted_as_left_out() {
    for length in [60.0, 110.0, 320.0] {
        let site = hillside(length);
        let (input, work) = (input(&site), site.plan.works[0].shared());
        let mut scenes = vec![site_plan(&input), spillway_plan(&input, work, &work.spillways[0])];
        scenes.extend(plan_pieces(&input, work));
        let unnamed: Vec<&str> = site
            .stakes
            .stakes
            .iter()
            .map(|stake| stake.id.as_str())
            .filter(|id| scenes.iter().all(|scene| scene.texts().all(|text| text != *id)))
            .collect();
        assert!(unnamed.len() <= 2, "{length}: {unnamed:?}");
        let told = scenes.iter().any(|scene| scene.texts().any(|text| text.starts_with("without room")));
        assert!(unnamed.is_empty() || told, "{unnamed:?}");
    }
}

#[test]
fn a_long_swale_is_drawn_in_pieces_that_cover_it() {
    let site = hillside(320.0);
    let input = input(&site);
    let windows = windows_along(&input, site.plan.works[0].shared());
    assert!(windows.len() >= 4, "{}", windows.len());
    for place in site.plan.swale(0).line.points() {
        assert!(windows.iter().any(|window| window.contains(*place)), "{place:?}");
    }
    assert_eq!(plan_pieces(&input, site.plan.works[0].shared()).len(), windows.len());
}

#[test]
fn the_parts_of_a_work_have_one_contour_interval() {
    let site = hillside(320.0);
    let pieces = plan_pieces(&input(&site), site.plan.works[0].shared());
    let said: Vec<&str> = pieces
        .iter()
        .map(|scene| {
            let says = scene.texts().find(|text| text.contains("contours every")).expect("an interval");
            says.split_once("every ").expect("a number").1
        })
        .collect();
    assert!(said.len() >= 4 && said.iter().all(|says| *says == said[0]), "{said:?}");
}

#[test]
fn a_name_nearer_to_another_mark_is_tied_to_its_own() {
    for length in [60.0, 110.0] {
        let site = hillside(length);
        let scene = site_plan(&input(&site));
        // The stakes' marks come first of all marks of their shapes, in the list's order; the key's come last.
        let spots: Vec<Spot> = scene
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Mark { at, shape: Shape::Dot | Shape::OpenSquare | Shape::Wedge | Shape::Diamond, .. } => {
                    Some(*at)
                }
                _ => None,
            })
            .take(site.stakes.stakes.len())
            .collect();
        let tied = |text: &Text| {
            let foot = text.at.moved(0.0, 0.28 * text.size);
            let ends = |item: &Item| matches!(item, Item::Line { through, pen } if *pen == FINE && through.last() == Some(&foot));
            scene.items.iter().any(ends)
        };
        let mut named = 0;
        for item in &scene.items {
            let Item::Text(text) = item else { continue };
            let Some(own) = site.stakes.stakes.iter().position(|stake| stake.id == text.says) else { continue };
            named += 1;
            let own = spots[own];
            let nearest = spots.iter().filter(|&&spot| spot != own).map(|&spot| away_from(text, spot));
            let nearest = nearest.fold(f64::INFINITY, f64::min);
            assert!(tied(text) || nearest > away_from(text, own) + 0.2, "{length}: {}", text.says);
        }
        assert!(named > 10, "{named}");
    }
}

#[test]
fn a_plan_is_true_to_its_scale_and_stays_on_its_paper() {
    let site = hillside(110.0);
    let scene = site_plan(&input(&site));
    // The site is 110 m and its margins long: more than 188 mm hold at 1:500, so 1:750 it is.
    assert!(scene.texts().any(|text| text.starts_with("1:750,")));
    let marks: Vec<Spot> = scene
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Mark { at, shape: Shape::OpenSquare, .. } => Some(*at),
            _ => None,
        })
        .collect();
    let stakes: Vec<Point> =
        site.stakes.stakes.iter().filter(|s| s.kind == StakeKind::Offset).map(|s| s.place).collect();
    let on_paper = marks[0].distance(marks[1]);
    assert!((on_paper - stakes[0].distance(stakes[1]) * 1000.0 / 750.0).abs() < 1e-9);
    for item in &scene.items {
        let Item::Line { through, .. } = item else { continue };
        for spot in through {
            assert!(
                spot.x >= -1e-9 && spot.x <= scene.width + 1e-9 && spot.y >= -1e-9 && spot.y <= scene.height,
                "{spot:?}"
            );
        }
    }
    assert_eq!(svg(&scene), svg(&site_plan(&input(&site))));
}

#[test]
fn a_place_where_water_leaves_first_is_marked() {
    let mut site = hillside(110.0);
    site.plan.swale_mut(0).storage.at_sill = false;
    site.plan.swale_mut(0).storage.spill_place = Point::new(80.0, 66.0);
    assert!(site_plan(&input(&site)).texts().any(|text| text == "SPILLS HERE FIRST"));
    // Held up by ground beyond its sill it leaves there all the same: no alarm.
    let level = site.plan.swale(0).water_level;
    site.plan.swale_mut(0).storage.spill = level + crate::units::Length::metres(0.04);
    let plan = site_plan(&input(&site));
    assert!(plan.texts().any(|text| text == "water leaves") && plan.texts().all(|text| text != "SPILLS HERE FIRST"));
}

#[test]
fn test_pits_and_unstable_ground_are_marked() {
    let mut site = hillside(110.0);
    let keyed = |site: &Hillside| site_plan(&input(site)).texts().any(|text| text.starts_with("test pit"));
    assert!(!keyed(&site));
    site.plan.test_pits = vec![crate::works::TestPit {
        name: "TP1".to_owned(),
        place: Point::new(80.0, 60.0),
        depth: crate::units::Length::metres(1.6),
        layers: Vec::new(),
        water: None,
        rock: None,
        date: None,
    }];
    assert!(keyed(&site) && site_plan(&input(&site)).texts().any(|text| text == "TP1 1.60 m"));
    let named = |site: &Hillside| site_plan(&input(site)).texts().any(|text| text == "SLIP old");
    assert!(!named(&site));
    site.plan.unstable = vec![crate::works::UnstableGround {
        name: "old".to_owned(),
        kind: crate::works::Unstable::Slip,
        area: crate::works::UnstableArea::Round(Point::new(60.0, 80.0), crate::units::Length::metres(6.0)),
        clearance: crate::units::Length::metres(20.0),
    }];
    assert!(named(&site) && site_plan(&input(&site)).texts().any(|text| text == "unstable ground"));
    let keyed = |site: &Hillside| site_plan(&input(site)).texts().any(|text| text == "obstacle, kept clear");
    assert!(!keyed(&site));
    let corners = [(60.0, 60.0), (70.0, 60.0), (70.0, 70.0)].map(|(x, y)| Point::new(x, y));
    site.plan.swale_mut(0).wanted.obstacles = vec![crate::geom::Polygon::simple(corners.to_vec())];
    assert!(keyed(&site));
}

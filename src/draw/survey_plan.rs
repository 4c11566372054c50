//! What a point file looks like: shots by role, lines set aside, breaklines, and the ground where there is one.
//!
//! Invariant: each role has its own mark; what was set aside is crossed out, never left away.

use super::base::{
    BREAKLINE, CONTOUR, EDGE_OF_SURVEY, KEY_ROW, Key, SERVICE, SHEET_WIDTH, TWELVE_POINT, board_of, breaklines,
    contours, grid_frame, key, key_rows, north_arrow, scale_bar,
};
use super::labels::{around, of_mark};
use super::plan::{service_runs, survey_lines};
use super::scene::{Scene, Shape, Spot, Text};
use super::view::View;
use crate::geom::{Bounds, Point};
use crate::surface::Tin;
use crate::survey::{Role, Survey};
use crate::units::Figures;

/// The mark of each role, in the order of the key.
const MARKS: [(Role, Shape, f64, &str); 13] = [
    (Role::Ground, Shape::Dot, 0.9, "ground"),
    (Role::Breakline, Shape::Dot, 1.3, "on a breakline"),
    (Role::Line, Shape::Ring, 1.8, "along a line"),
    (Role::Mark, Shape::Triangle, 4.0, "mark"),
    (Role::Check, Shape::OpenSquare, 2.4, "check on a mark"),
    (Role::Water, Shape::Diamond, 2.2, "water"),
    (Role::Service, Shape::Plus, 2.6, "service"),
    (Role::Boundary, Shape::Ring, 1.2, "edge of the survey"),
    (Role::KeepOut, Shape::Square, 2.4, "keep out"),
    (Role::Sill, Shape::Wedge, 2.0, "built: sill"),
    (Role::Crest, Shape::Diamond, 1.8, "built: crest"),
    (Role::Bed, Shape::Ring, 1.4, "built: bed"),
    (Role::Built, Shape::Square, 1.4, "built: other"),
];

/// Paper between the frame and the outermost shot, millimetres: a line of labels and a mark.
const LABEL_ROOM: f64 = 9.0;

/// A plan of a survey; `ground` adds its contours. What was set aside far from all the rest lies outside the plan and is
/// counted in the key.
#[must_use]
pub fn survey_plan(survey: &Survey, ground: Option<&Tin>, figures: Figures) -> Scene {
    let places = survey.shots.iter().map(|shot| shot.place);
    let cloud = survey.cloud.iter().map(|point| point.plan());
    let all = Bounds::around(places.chain(cloud));
    let all = all.unwrap_or(Bounds { low: Point::new(0.0, 0.0), high: Point::new(1.0, 1.0) });
    let margin = (all.width().max(all.height()) * 0.03).max(1.0);
    let set_aside: Vec<Point> = survey
        .set_aside
        .iter()
        .filter_map(|row| row.point)
        .map(crate::geom::Point3::plan)
        .filter(|&place| all.grown(margin).contains(place))
        .collect();
    let keys = keys(survey, &set_aside, ground);
    let foot = 18.0 + KEY_ROW * key_rows(&keys) as f64;
    // The labels of the frame stand on paper without shots: a margin in metres that the scale makes wide enough.
    let fit = |margin: f64| View::fit(all.grown(margin), Spot::new(1.0, foot), SHEET_WIDTH, 50.0, 225.0);
    let view = (0..4).fold(fit(margin), |view, _| fit(margin.max(LABEL_ROOM / view.millimetres_a_metre())));
    let mut scene = Scene::new(view.width() + 2.0, view.height() + foot + 1.0, "Plan of the survey");
    let mut board = board_of(&view);

    let drawn = ground.map(|tin| contours(&mut scene, &view, tin, figures, None));
    if let Some(tin) = ground {
        view_rim(&mut scene, &view, tin);
    }
    breaklines(&mut scene, &view, survey_lines(survey));
    for (_, run) in service_runs(&survey.shots) {
        view.line(&mut scene, &run, false, SERVICE);
    }
    let boundary: Vec<Point> =
        survey.boundary.iter().filter_map(|&i| survey.shots.get(i as usize)).map(|shot| shot.place).collect();
    view.line(&mut scene, &boundary, true, EDGE_OF_SURVEY);
    let mut dots = Vec::new();
    let mut names = Vec::new();
    for (role, shape, size, _) in MARKS {
        for shot in survey.shots.iter().filter(|shot| shot.role == role) {
            let at = view.spot(shot.place);
            scene.mark(at, shape, size);
            if role == Role::Mark {
                board.keep_mark(at, size);
                names.push((at, shot.id.as_str()));
            } else {
                dots.push(of_mark(at, size));
            }
        }
    }
    for at in set_aside.iter().map(|&place| view.spot(place)) {
        scene.mark(at, Shape::Cross, 2.8);
        dots.push(of_mark(at, 2.8));
    }
    for (at, name) in names {
        let text = Text::new(at, TWELVE_POINT, name).bold();
        scene.items.extend(board.place_off(around(at, 2.6, 20.0, &text), &dots).map(super::scene::Item::Text));
    }
    grid_frame(&mut scene, &view, &survey.frame, &mut board);
    if let Some(drawn) = drawn {
        drawn.label(&mut scene, &mut board);
    }
    north_arrow(&mut scene, Spot::new(5.0, foot - 15.0));
    scale_bar(&mut scene, Spot::new(24.0, foot - 9.0), &view, figures);
    key(&mut scene, Spot::new(2.0, foot - 16.0), &keys);
    scene
}

/// The rim of a surface: every edge without a neighbour.
fn view_rim(scene: &mut Scene, view: &View, tin: &Tin) {
    for triangle in tin.ids() {
        let corners = tin.corners(triangle);
        for edge in 0..3 {
            if tin.neighbour(triangle, edge).is_none() {
                view.line(scene, &[corners[edge].plan(), corners[(edge + 1) % 3].plan()], false, EDGE_OF_SURVEY);
            }
        }
    }
}

fn keys(survey: &Survey, set_aside: &[Point], ground: Option<&Tin>) -> Vec<Key> {
    let mut keys: Vec<Key> = MARKS
        .iter()
        .filter(|(role, ..)| survey.shots.iter().any(|shot| shot.role == *role))
        .map(|(role, shape, _, says)| {
            let count = survey.shots.iter().filter(|shot| shot.role == *role).count();
            Key::Mark(*shape, format!("{says}: {count}"))
        })
        .collect();
    if !survey.set_aside.is_empty() {
        let outside = survey.set_aside.len() - set_aside.len();
        let outside = if outside == 0 { String::new() } else { format!(", {outside} more outside the plan") };
        keys.push(Key::Mark(Shape::Cross, format!("set aside: {}{outside}", set_aside.len())));
    }
    if !survey.breaklines.is_empty() {
        keys.push(Key::Line(BREAKLINE, "breakline".to_owned()));
    }
    if ground.is_some() {
        keys.push(Key::Line(CONTOUR, "natural ground".to_owned()));
        keys.push(Key::Line(EDGE_OF_SURVEY, "edge of the ground".to_owned()));
    }
    keys
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Item;
    use crate::draw::hillside::{METRIC, hillside};
    use crate::survey::SetAside;

    #[test]
    fn every_shot_has_its_mark_and_the_key_counts_them() {
        let mut site = hillside(110.0);
        let places = [Some((55.0, 33.0)), Some((20.0, 90.0)), Some((90_000.0, 0.0)), None];
        site.survey.set_aside = places
            .map(|place| SetAside {
                file: "day1.csv".to_owned(),
                line: 1,
                shot: String::new(),
                reason: "not fixed".to_owned(),
                value: "float".to_owned(),
                point: place.map(|(x, y)| Point::new(x, y).at(0.0)),
            })
            .to_vec();
        let scene = survey_plan(&site.survey, Some(&site.ground.tin), METRIC);
        let texts: Vec<&str> = scene.texts().collect();
        for says in [
            "ground: 160",
            "on a breakline: 7",
            "mark: 3",
            "service: 5",
            "set aside: 2, 2 more outside the plan",
            "cp1",
            "cp<3>",
        ] {
            assert!(texts.contains(&says), "{says}: {texts:?}");
        }
        let crossed = |item: &&Item| matches!(item, Item::Mark { shape: Shape::Cross, size, .. } if *size == 2.8);
        assert_eq!(scene.items.iter().filter(crossed).count(), 2);
    }

    #[test]
    fn no_label_of_the_frame_stands_on_a_shot() {
        for length in [60.0, 110.0, 320.0] {
            let site = hillside(length);
            let scene = survey_plan(&site.survey, None, METRIC);
            let labels: Vec<&Text> = scene
                .items
                .iter()
                .filter_map(|item| match item {
                    Item::Text(text) if text.says.ends_with(" E") || text.says.ends_with(" N") => Some(text),
                    _ => None,
                })
                .collect();
            assert!(labels.len() >= 2, "{length}: {}", labels.len());
            for label in labels {
                // A line of text reaches 0.78 of its size above its foot and 0.22 under it; a dot is 0.45 mm in half.
                let (half, up, down) =
                    (label.width() / 2.0 + 0.45, 0.78 * TWELVE_POINT + 0.45, 0.22 * TWELVE_POINT + 0.45);
                for item in &scene.items {
                    let Item::Mark { at, shape: Shape::Dot, .. } = item else { continue };
                    // Marks under the frame are the key's.
                    let under = at.y < label.at.y - 30.0 && label.degrees == 0.0;
                    let (x, y) = (at.x - label.at.x, at.y - label.at.y);
                    // Turned, what was above it is on its left.
                    let (along, over) = if label.degrees == 0.0 { (x, y) } else { (y, -x) };
                    let on = along.abs() < half && over < up && over > -down;
                    assert!(under || !on, "{length}: {} at {at:?}", label.says);
                }
            }
        }
    }

    /// A mark with a shot just to its east, where its name would stand, and none to its west.
    #[test]
    fn the_name_of_a_mark_stands_off_the_shots_round_it() {
        let mut site = hillside(110.0);
        let mark = site.survey.shots.iter().find(|shot| shot.role == Role::Mark).unwrap().clone();
        let ground = site.survey.shots.iter().find(|shot| shot.role == Role::Ground).unwrap().clone();
        site.survey.shots.retain(|shot| shot.role != Role::Mark && shot.place.distance(mark.place) > 12.0);
        site.survey.breaklines.clear();
        site.survey.boundary.clear();
        for (x, y) in (0..5).flat_map(|i| (0..9).map(move |j| (1.5 + f64::from(i) * 1.5, f64::from(j) * 1.5 - 6.0))) {
            let place = mark.place + crate::geom::Vector::new(x, y);
            site.survey.shots.push(crate::survey::Shot { place, ..ground.clone() });
        }
        site.survey.shots.push(mark.clone());
        let scene = survey_plan(&site.survey, None, METRIC);
        let name = scene.items.iter().find_map(|item| match item {
            Item::Text(text) if text.says == mark.id => Some(text.clone()),
            _ => None,
        });
        let name = name.expect("the mark's name");
        for item in &scene.items {
            let Item::Mark { at, shape: Shape::Dot, size } = item else { continue };
            let away = crate::draw::labels::away_from(&name, *at);
            assert!(away > 0.0, "a dot of {size} mm at {at:?} under {name:?}");
        }
    }

    #[test]
    fn an_empty_survey_still_draws() {
        let mut survey = hillside(60.0).survey;
        survey.shots.clear();
        survey.breaklines.clear();
        assert!(crate::draw::svg(&survey_plan(&survey, None, METRIC)).starts_with("<svg"));
    }
}

//! The works in plan, north up: what is dug, what is heaped, the line, the sill and its exit, stakes, marks, services.
//!
//! Invariant: cut and berm are told apart by the direction of their hatching; a stake whose name found no room still
//! has its mark, and the scene says how many names are left to the table.

mod input;
mod key;
mod names;
#[cfg(test)]
mod tests;

pub use input::{PlanInput, service_runs};
pub(super) use input::{stake_shape, survey_lines};

use super::base::{
    BERM, CONTOUR_LINE, CUT, KEY_ROW, OBSTACLE, OUTLINE, SERVICE, SHEET_WIDTH, SILL, TWELVE_POINT, UNSTABLE,
    UNSTABLE_RIM, arrow_head, board_of, breaklines, contour_step, contours, grid_frame, key, key_rows, mark_size,
    north_arrow, scale_bar, way_off,
};
use super::cut::{FLOOR, WATER};
use super::drain::drain_on_plan;
use super::scene::{Fill, Scene, Shape, Spot, Text};
use super::view::View;
use crate::geom::{Bounds, Point, Polygon};
use crate::survey::Survey;
use crate::units::Figures;
use crate::works::{Shared, Spillway, Work};
use key::keys;
use names::{Names, marks, name_stakes, work_labels};

/// Ground around the works that a plan shows, metres.
const MARGIN: f64 = 10.0;

/// The smallest scale at which stakes 20 m apart can still carry their names.
const NAMES_ONE_TO: f64 = 750.0;

/// All works of the site on one plan; stakes are named when the scale lets them be.
#[must_use]
pub fn site_plan(input: &PlanInput) -> Scene {
    // The way of a drain's water below its end is on the plan as far as it is known.
    let below = |work: Shared<'_>| work.below.map_or_else(Vec::new, |way| way.points().to_vec());
    let wanted = Bounds::around(input.plan.shared().flat_map(|work| places(input, work).chain(below(work))));
    let view = view_of(wanted.unwrap_or_else(|| ground_bounds(input)).grown(MARGIN), 215.0);
    let names = if view.one_to <= NAMES_ONE_TO { Names::NotSills } else { Names::None };
    draw(input, view, names, None, true, "Plan of the works")
}

/// One work in as many plans as it takes to name its stakes; none when the site plan names them already.
#[must_use]
pub fn plan_pieces(input: &PlanInput, work: Shared<'_>) -> Vec<Scene> {
    let all = Bounds::around(input.plan.shared().flat_map(|work| places(input, work)));
    if all.is_none_or(|all| view_of(all.grown(MARGIN), 215.0).one_to <= NAMES_ONE_TO) {
        return Vec::new();
    }
    let windows = windows_along(input, work);
    let count = windows.len();
    // One interval for all parts: who turns the page reads the same ground.
    let step =
        contour_step(&input.ground.tin, input.figures, |place| windows.iter().any(|window| window.contains(place)));
    windows
        .into_iter()
        .enumerate()
        .map(|(i, window)| {
            let title = format!("Plan of {}, part {} of {count}", work.name, i + 1);
            draw(input, view_of(window, 120.0), Names::NotSills, step, false, &title)
        })
        .collect()
}

/// A spillway in plan, large enough to name the stakes on its sill.
#[must_use]
pub fn spillway_plan(input: &PlanInput, work: Shared<'_>, spillway: &Spillway) -> Scene {
    let middle = f64::midpoint(spillway.from.in_metres(), spillway.to.in_metres());
    let strip = spillway.strip.outer.iter().copied().chain(spillway.lip.points().iter().copied());
    let around_middle = Bounds::around(strip.chain([work.line.at(middle)])).unwrap_or_else(|| ground_bounds(input));
    let view = view_of(around_middle.grown(5.0), 80.0);
    draw(input, view, Names::All, None, false, &format!("Plan of the sill of {}", work.name))
}

fn view_of(wanted: Bounds, most_height: f64) -> View {
    View::fit(wanted, Spot::new(0.0, 0.0), SHEET_WIDTH, 50.0, most_height)
}

fn ground_bounds(input: &PlanInput) -> Bounds {
    input.ground.tin.bounds().unwrap_or(Bounds { low: Point::new(0.0, 0.0), high: Point::new(1.0, 1.0) })
}

/// Places that a plan of a work must hold.
fn places<'a>(input: &'a PlanInput, work: Shared<'a>) -> impl Iterator<Item = Point> + 'a {
    let footprints = work.cut_footprint.iter().chain(work.fill_footprint).flat_map(|polygon| &polygon.outer);
    let stakes = input.stakes.stakes.iter().filter(move |s| s.works == work.name).map(|s| s.place);
    footprints.chain(work.line.points()).copied().chain(stakes)
}

/// Windows along a line: as few equal stretches as fit about 90 m by 55 m each, neighbours sharing a few metres.
fn windows_along(input: &PlanInput, work: Shared<'_>) -> Vec<Bounds> {
    const SHARED: f64 = 4.0;
    let fits = |window: Bounds| window.width() <= SHEET_WIDTH * 0.5 && window.height() <= 58.0;
    let line = work.line.resampled(2.0);
    let all: Vec<(f64, Point)> = places(input, work).map(|place| (line.foot(place).station, place)).collect();
    let window = |from: f64, to: f64| {
        let near = all.iter().filter(|&&(station, _)| station >= from && station <= to).map(|&(_, place)| place);
        Bounds::around(near.chain([line.at(from.max(0.0)), line.at(to.min(line.length()))])).map(|b| b.grown(5.0))
    };
    let mut windows = Vec::new();
    // A turned end alone may be longer than a window; stretches under 20 m would not help it.
    for count in 1..=200u32 {
        let stretch = line.length() / f64::from(count);
        windows = (0..count)
            .filter_map(|i| window(f64::from(i) * stretch - SHARED, f64::from(i + 1) * stretch + SHARED))
            .collect();
        if windows.iter().all(|&window| fits(window)) || stretch < 20.0 {
            break;
        }
    }
    windows
}

/// Draws what a view shows.
fn draw(input: &PlanInput, view: View, names: Names, step: Option<f64>, with_key: bool, title: &str) -> Scene {
    // A detail is read beside the plan that carries the key.
    let keys = if with_key { keys(input, &view) } else { Vec::new() };
    let foot = 16.0 + KEY_ROW * key_rows(&keys) as f64;
    let view = View { corner: Spot::new(1.0, foot), ..view };
    let mut scene = Scene::new(view.width() + 2.0, view.height() + foot + 1.0, title);
    let mut board = board_of(&view);

    let drawn = contours(&mut scene, &view, &input.ground.tin, input.figures, step);
    breaklines(&mut scene, &view, survey_lines(input.survey));
    for outline in input.plan.unstable.iter().flat_map(|ground| ground.area.outlines()) {
        view.area(&mut scene, &outline, Some(Fill::Hatched(UNSTABLE)), Some(UNSTABLE_RIM));
    }
    for outline in input.plan.obstacles() {
        view.area(&mut scene, outline, None, Some(OBSTACLE));
    }
    for work in &input.plan.works {
        let shared = work.shared();
        areas(&mut scene, &view, shared.cut_footprint, CUT);
        areas(&mut scene, &view, shared.fill_footprint, BERM);
        match work {
            Work::Swale(_) => view.line(&mut scene, shared.line.points(), false, CONTOUR_LINE),
            Work::Drain(drain) => drain_on_plan(&mut scene, &view, drain),
            Work::Pit(_) | Work::Dam(_) => inner_lines(&mut scene, &view, work),
        }
        let work = shared;
        work.spillways.iter().for_each(|spillway| draw_spillway(&mut scene, &view, spillway));
    }
    services(&mut scene, &view, input.survey);

    let mut texts = Vec::new();
    for stake in input.stakes.stakes.iter().filter(|s| view.shows(s.place)) {
        let (at, shape) = (view.spot(stake.place), stake_shape(stake.kind));
        scene.mark(at, shape, mark_size(shape));
        board.keep_mark(at, mark_size(shape));
    }
    marks(&mut scene, input, &view, &mut board, &mut texts);
    work_labels(input, &view, &mut board, &mut texts);
    if names != Names::None {
        name_stakes(&mut scene, input, &view, names, &mut board, &mut texts);
    }
    let unnamed = board.left_out;
    grid_frame(&mut scene, &view, &input.ground.frame, &mut board);
    let interval = drawn.interval;
    drawn.label(&mut scene, &mut board);
    for text in texts {
        scene.text(text);
    }

    north_arrow(&mut scene, Spot::new(5.0, foot - 14.5));
    scale_bar(&mut scene, Spot::new(24.0, foot - 8.5), &view, input.figures);
    let says = scale_words(&view, interval, input.figures);
    scene.text(Text::new(Spot::new(SHEET_WIDTH, foot - 6.5), TWELVE_POINT, says).ending());
    if names != Names::None && unnamed > 0 {
        let says = format!("without room for a name here: {unnamed}, see the table");
        scene.text(Text::new(Spot::new(SHEET_WIDTH, foot - 12.0), TWELVE_POINT, says).ending());
    }
    key(&mut scene, Spot::new(2.0, foot - 15.0), &keys);
    scene
}

/// The floor of a pit, its sides numbered where they differ, and its ramp.
fn inner_lines(scene: &mut Scene, view: &View, work: &Work) {
    for line in work.lines() {
        let points: Vec<Point> = line.points.iter().map(|p| p.plan()).collect();
        view.line(
            scene,
            &points,
            false,
            match line.part {
                "full-supply" => WATER,
                "crest" => CONTOUR_LINE,
                _ => FLOOR,
            },
        );
        if line.part == "ramp" {
            let pieces = view.pieces(&points, false);
            if let Some([before, tip]) = pieces.last().and_then(|piece| piece.last_chunk::<2>()) {
                arrow_head(scene, *before, *tip, 3.0);
            }
        }
    }
}

fn scale_words(view: &View, interval: f64, figures: Figures) -> String {
    if interval > 0.0 {
        let step = figures.number(interval);
        let step = format!("{step:.2}");
        let step = step.trim_end_matches('0').trim_end_matches('.');
        format!("1:{:.0}, contours every {step} {}", view.one_to, figures.unit())
    } else {
        format!("1:{:.0}", view.one_to)
    }
}

fn areas(scene: &mut Scene, view: &View, polygons: &[Polygon], hatch: super::scene::Hatch) {
    for polygon in polygons {
        view.area(scene, polygon, Some(Fill::Hatched(hatch)), Some(OUTLINE));
    }
}

fn draw_spillway(scene: &mut Scene, view: &View, spillway: &Spillway) {
    view.area(scene, &spillway.strip, Some(Fill::Grey(255)), Some(OUTLINE));
    view.line(scene, spillway.lip.points(), false, SILL);
    if let Some(exit) = &spillway.exit {
        way_off(scene, view, exit);
    }
}

fn services(scene: &mut Scene, view: &View, survey: &Survey) {
    for (_, run) in service_runs(&survey.shots) {
        view.line(scene, &run, false, SERVICE);
        for &place in run.iter().filter(|&&place| view.shows(place)) {
            scene.mark(view.spot(place), Shape::Plus, 2.6);
        }
    }
}

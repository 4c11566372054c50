//! The works in plan, north up: what is dug, what is heaped, the line, the sill and its exit, stakes, marks, services.
//!
//! Invariant: cut and berm are told apart by the direction of their hatching; a stake whose name found no room still
//! has its mark, and the scene says how many names are left to the table.

use super::base::{
    BERM, BREAKLINE, CONTOUR, CONTOUR_LINE, CUT, EXIT, Key, OUTLINE, SERVICE, SHEET_WIDTH, SILL, TWELVE_POINT,
    arrow_head, board_of, breaklines, contour_step, contours, grid_frame, key, key_rows, mark_size, north_arrow,
    scale_bar,
};
use super::base::{FINE, KEY_ROW};
use super::cut::{FLOOR, WATER};
use super::labels::{LabelBoard, around, away_from};
use super::scene::{Fill, Pen, Scene, Shape, Spot, Text};
use super::view::View;
use super::words::Words;
use crate::geom::{Bounds, Point, Polygon};
use crate::ground::Ground;
use crate::stakeout::{Stake, StakeKind, StakeList};
use crate::survey::{Role, Shot, Survey};
use crate::units::Figures;
use crate::works::{Kind, Shared, SitePlan, Spillway, Work};

/// What a plan shows.
#[derive(Debug, Clone, Copy)]
pub struct PlanInput<'a> {
    /// Natural ground.
    pub ground: &'a Ground,
    /// Marks, services and breaklines.
    pub survey: &'a Survey,
    /// The works.
    pub plan: &'a SitePlan,
    /// The stakes.
    pub stakes: &'a StakeList,
    /// How numbers are written.
    pub figures: Figures,
    /// Whose words.
    pub words: &'static Words,
}

/// Ground around the works that a plan shows, metres.
const MARGIN: f64 = 10.0;

/// The smallest scale at which stakes 20 m apart can still carry their names.
const NAMES_ONE_TO: f64 = 750.0;

/// Which stakes are named on a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Names {
    /// None: an overview.
    None,
    /// All but those on sills, which stand too close.
    NotSills,
    /// All.
    All,
}

/// All works of the site on one plan; stakes are named when the scale lets them be.
#[must_use]
pub fn site_plan(input: &PlanInput) -> Scene {
    let wanted = Bounds::around(input.plan.shared().flat_map(|work| places(input, work)));
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
    for work in &input.plan.works {
        let shared = work.shared();
        areas(&mut scene, &view, shared.cut_footprint, CUT);
        areas(&mut scene, &view, shared.fill_footprint, BERM);
        match shared.kind {
            Kind::Swale | Kind::Drain => view.line(&mut scene, shared.line.points(), false, CONTOUR_LINE),
            Kind::Pond | Kind::Borrow | Kind::Dam => inner_lines(&mut scene, &view, work),
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
    marks(&mut scene, &view, input.survey, &mut board, &mut texts);
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
        let pieces = view.pieces(exit.points(), false);
        if let Some([before, tip]) = pieces.last().and_then(|piece| piece.last_chunk::<2>()) {
            arrow_head(scene, *before, *tip, 3.0);
        }
        for piece in pieces {
            scene.line(piece, EXIT);
        }
    }
}

/// Breaklines as runs of places.
pub(super) fn survey_lines(survey: &Survey) -> Vec<Vec<Point>> {
    let place = |&i: &u32| survey.shots.get(i as usize).map(|shot| shot.place);
    survey.breaklines.iter().map(|line| line.iter().filter_map(place).collect()).collect()
}

/// Services as runs of places with their code: shots of one code that follow each other in one file.
#[must_use]
pub fn service_runs(shots: &[Shot]) -> Vec<(String, Vec<Point>)> {
    let mut runs: Vec<(String, u32, Vec<Point>)> = Vec::new();
    for shot in shots.iter().filter(|shot| shot.role == Role::Service) {
        match runs.last_mut() {
            Some((code, file, run)) if *code == shot.code && *file == shot.file => run.push(shot.place),
            _ => runs.push((shot.code.clone(), shot.file, vec![shot.place])),
        }
    }
    runs.into_iter().map(|(code, _, run)| (code, run)).collect()
}

fn services(scene: &mut Scene, view: &View, survey: &Survey) {
    for (_, run) in service_runs(&survey.shots) {
        view.line(scene, &run, false, SERVICE);
        for &place in run.iter().filter(|&&place| view.shows(place)) {
            scene.mark(view.spot(place), Shape::Plus, 2.6);
        }
    }
}

/// Marks, places to keep out of and services: drawn, and named first of all labels.
fn marks(scene: &mut Scene, view: &View, survey: &Survey, board: &mut LabelBoard, texts: &mut Vec<Text>) {
    let mut name = |at: Spot, says: String, board: &mut LabelBoard| {
        let text = Text::new(at, TWELVE_POINT, says).bold();
        texts.extend(board.place(around(at, 2.6, 20.0, &text)));
    };
    for shot in survey.shots.iter().filter(|shot| view.shows(shot.place)) {
        let (shape, says) = match shot.role {
            Role::Mark => (Shape::Triangle, shot.id.clone()),
            Role::KeepOut => (Shape::Cross, "KEEP OUT".to_owned()),
            _ => continue,
        };
        let at = view.spot(shot.place);
        scene.mark(at, shape, 4.0);
        board.keep_mark(at, 4.0);
        name(at, says, board);
    }
    for (code, run) in service_runs(&survey.shots) {
        if let Some(&place) = run.iter().find(|&&place| view.shows(place)) {
            name(view.spot(place), format!("SERVICE {code}"), board);
        }
    }
}

/// Names of the works, sills with their lengths, and the place where water leaves when that is not the sill.
fn work_labels(input: &PlanInput, view: &View, board: &mut LabelBoard, texts: &mut Vec<Text>) {
    for crossing in input.plan.swales().flat_map(|swale| &swale.crossings) {
        let at = crossing.top()[0].towards(crossing.top()[1], 0.5);
        if view.shows(at) {
            let text = Text::new(view.spot(at), TWELVE_POINT, "CROSSING").bold();
            texts.extend(board.place(around(text.at, 4.0, 90.0, &text)));
        }
    }
    for work in input.plan.shared() {
        for spillway in work.spillways {
            let at = spillway.lip.at(spillway.lip.length() / 2.0);
            if view.shows(at) {
                let says = format!("SILL {}", input.figures.length(spillway.sill_length));
                let spot = view.spot(at);
                let downhill = spillway.lip.direction(spillway.lip.length() / 2.0).left() * -1.0;
                let lean = downhill.y.atan2(downhill.x).to_degrees();
                texts.extend(board.place(around(spot, 4.0, lean, &Text::new(spot, 5.0, says).bold())));
            }
        }
        if let Some(storage) = work.pool.map(|pool| pool.storage)
            && !storage.at_sill
            && work.kind != Kind::Dam
            && view.shows(storage.spill_place)
        {
            let spot = view.spot(storage.spill_place);
            let says = if work.kind == Kind::Swale { "SPILLS HERE FIRST" } else { "RUNS OVER HERE" };
            let text = Text::new(spot, TWELVE_POINT, says).bold();
            texts.extend(board.place(around(spot, 3.0, -90.0, &text)));
        }
        let middle = work.line.length() / 2.0;
        for share in [1.0, 0.7, 1.3, 0.4, 1.6] {
            let at = work.line.at(middle * share);
            if !view.shows(at) {
                continue;
            }
            let uphill = work.line.direction(middle * share).left();
            let spot = view.spot(at);
            let text = Text::new(spot, 5.6, work.name).bold();
            let reach = 7.0 * view.millimetres_a_metre();
            let ways = around(spot, reach, uphill.y.atan2(uphill.x).to_degrees(), &text);
            if let Some(text) = board.place(ways) {
                texts.push(text);
                break;
            }
            board.left_out -= 1;
        }
    }
}

fn name_stakes(
    scene: &mut Scene,
    input: &PlanInput,
    view: &View,
    names: Names,
    board: &mut LabelBoard,
    texts: &mut Vec<Text>,
) {
    let shown = |stake: &&Stake| view.shows(stake.place) && (names == Names::All || stake.kind != StakeKind::Sill);
    let mut stakes: Vec<&Stake> = input.stakes.stakes.iter().filter(shown).collect();
    // Those that stay through the dig first.
    stakes.sort_by_key(|stake| match stake.kind {
        StakeKind::Sill => 0,
        StakeKind::Offset => 1,
        StakeKind::Crest | StakeKind::Toe | StakeKind::Channel => 2,
        StakeKind::Line => 3,
    });
    for stake in stakes {
        let spot = view.spot(stake.place);
        let lean = input.plan.named(&stake.works).map_or(90.0, |work| {
            let line = work.line;
            let foot = line.foot(stake.place);
            let uphill = line.direction(foot.station).left();
            let degrees = uphill.y.atan2(uphill.x).to_degrees();
            if foot.offset < -0.3 || (stake.kind == StakeKind::Line) { degrees + 180.0 } else { degrees }
        });
        let text = Text::new(spot, TWELVE_POINT, stake.id.as_str());
        if let Some(text) = board.place(around(spot, 2.0, lean, &text)) {
            // A name that had to move away, or that stands nearer to another mark, is tied to its own.
            let own = away_from(&text, spot);
            let others = input.stakes.stakes.iter().filter(|other| other.id != stake.id && view.shows(other.place));
            let nearest = others.map(|other| away_from(&text, view.spot(other.place))).fold(f64::INFINITY, f64::min);
            if text.at.distance(spot) > 5.5 || nearest < own + 0.3 {
                scene.straight(spot, text.at.moved(0.0, 0.28 * text.size), FINE);
            }
            texts.push(text);
        }
    }
}

/// The mark of a stake by its series.
pub(super) const fn stake_shape(kind: StakeKind) -> Shape {
    match kind {
        StakeKind::Line => Shape::Dot,
        StakeKind::Offset => Shape::OpenSquare,
        StakeKind::Sill => Shape::Wedge,
        StakeKind::Crest => Shape::Diamond,
        StakeKind::Toe => Shape::Ring,
        StakeKind::Channel => Shape::Square,
    }
}

/// The key: only what the view shows.
fn keys(input: &PlanInput, view: &View) -> Vec<Key> {
    let words = input.words;
    let shows = |polygons: &[Polygon]| polygons.iter().flat_map(|p| &p.outer).any(|&p| view.shows(p));
    let mut keys = Vec::new();
    if input.plan.shared().any(|work| shows(work.cut_footprint)) {
        keys.push(Key::Area(CUT, "dig".to_owned()));
    }
    if input.plan.shared().any(|work| shows(work.fill_footprint)) {
        let wall = input.plan.shared().any(|work| work.kind == Kind::Dam);
        keys.push(Key::Area(BERM, if wall { "fill" } else { "berm" }.to_owned()));
    }
    let has = |kinds: &[Kind]| input.plan.shared().any(|work| kinds.contains(&work.kind));
    if has(&[Kind::Swale]) {
        keys.push(Key::Line(CONTOUR_LINE, "contour line".to_owned()));
    }
    if has(&[Kind::Dam]) {
        if !has(&[Kind::Swale]) {
            keys.push(Key::Line(CONTOUR_LINE, "middle of the crest".to_owned()));
        }
        keys.push(Key::Line(WATER, "water when full".to_owned()));
    }
    if has(&[Kind::Pond, Kind::Borrow]) {
        keys.push(Key::Line(FLOOR, "floor, ramp".to_owned()));
    }
    keys.push(Key::Line(CONTOUR, "natural ground".to_owned()));
    let spillways = || input.plan.shared().flat_map(|work| work.spillways);
    if spillways().any(|spillway| spillway.lip.points().iter().any(|&p| view.shows(p))) {
        keys.push(Key::Line(Pen { width: 1.6, ..SILL }, "sill".to_owned()));
        if spillways().any(|spillway| spillway.exit.is_some()) {
            keys.push(Key::Line(EXIT, "water runs off".to_owned()));
        }
    }
    if survey_lines(input.survey).iter().flatten().any(|&p| view.shows(p)) {
        keys.push(Key::Line(BREAKLINE, "breakline".to_owned()));
    }
    let shots = || input.survey.shots.iter().filter(|shot| view.shows(shot.place));
    if shots().any(|shot| shot.role == Role::Service) {
        keys.push(Key::Line(SERVICE, "service".to_owned()));
    }
    if shots().any(|shot| shot.role == Role::Mark) {
        keys.push(Key::Mark(Shape::Triangle, "mark".to_owned()));
    }
    let (offset, line) = match has(&[Kind::Pond, Kind::Borrow, Kind::Dam]) {
        false => ("uphill, stays", "on the line"),
        true if has(&[Kind::Swale]) => ("offset, stays", "on line or rim"),
        true => ("outside, stays", "on the rim"),
    };
    for (kind, what) in [
        (StakeKind::Offset, offset),
        (StakeKind::Line, line),
        (StakeKind::Sill, "on the sill"),
        (StakeKind::Crest, "on the crest"),
        (StakeKind::Toe, "at the foot"),
        (StakeKind::Channel, "in the spillway's cut"),
    ] {
        if input.stakes.stakes.iter().any(|stake| stake.kind == kind && view.shows(stake.place)) {
            keys.push(Key::Mark(stake_shape(kind), format!("{} {what}", words.stake)));
        }
    }
    keys
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::hillside::{Hillside, METRIC, hillside};
    use crate::draw::{Item, Region, svg};

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
                    Item::Mark {
                        at, shape: Shape::Dot | Shape::OpenSquare | Shape::Wedge | Shape::Diamond, ..
                    } => Some(*at),
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
    }
}

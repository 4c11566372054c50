//! The long section of a swale: crest, sill, bed and natural ground along its line.
//!
//! Invariant: heights are against the sill; it says how many times taller than long it is drawn.

use super::base::{BERM, CONTOUR_LINE, FINE, OUTLINE, SHEET_WIDTH, TWELVE_POINT};
use super::scene::{Fill, Pen, Scene, Shape, Spot, Text};
use super::view::round_step;
use super::words::Words;
use crate::geom::Polyline;
use crate::units::Figures;
use crate::units::{Length, Station};
use crate::works::Swale;

pub(super) const CREST: Pen = Pen::solid(0.8, 0);
const BED: Pen = Pen::solid(0.6, 0);
const SILL: Pen = Pen::solid(1.6, 0);
pub(super) const NATURAL: Pen = Pen { width: 0.4, grey: 0x55, dashes: &[2.0, 1.0] };

const GROUND_ALONE: Pen = Pen::solid(0.5, 0);
const TOLERANCE: Pen = Pen { width: 0.3, grey: 0x33, dashes: &[0.6, 1.4] };

/// Names of beds and crossings that would overlap stand this much over each other, millimetres.
const NAME_STEP: f64 = 5.2;
/// Least room for the names of the lines at the left, millimetres.
const NAMES: f64 = 40.0;

/// The long section of a swale.
#[must_use]
pub fn long_section(swale: &Swale, figures: Figures, words: &Words) -> Scene {
    let sill = swale.water_level;
    let length = swale.line.length();
    let bed = (swale.section.bed - sill).in_metres();
    let crest = (swale.crest.built - sill).in_metres();
    let levels = [("crest", crest), ("sill", 0.0), ("bed", bed)].map(|(name, height)| {
        let height_says = match name {
            "crest" => figures.crest_against_sill(Length::metres(height)),
            _ => figures.against_sill(Length::metres(height)),
        };
        let least = if name == "crest" && !swale.crest_levels.is_empty() { ", least" } else { "" };
        let says = format!("{name}{least} {height_says}");
        (height, Text::new(Spot::new(0.0, 0.0), TWELVE_POINT, says).ending().bold())
    });
    let left = levels.iter().map(|(_, text)| text.width() + 6.0).fold(NAMES, f64::max);
    let across = (SHEET_WIDTH - left - 6.0) / length;
    let natural: Vec<(f64, f64)> =
        swale.contour.stations.iter().map(|s| (s.station, s.ground - sill.in_metres())).collect();
    let lowest = (swale.lowest_bed() - sill).in_metres();
    let low = natural.iter().map(|&(_, z)| z).fold(bed.min(lowest), f64::min);
    let highest = (swale.highest_crest() - sill).in_metres();
    let high = natural.iter().map(|&(_, z)| z).fold(highest, f64::max);
    let taller = [500.0, 200.0, 100.0, 50.0, 40.0, 30.0, 25.0, 20.0, 15.0, 10.0, 5.0, 4.0, 3.0, 2.0]
        .into_iter()
        .find(|times| (high - low) * across * times <= 52.0)
        .unwrap_or(1.0);
    let up = across * taller;
    let zero = 22.0 - low * up;
    let mut scene = Scene::new(
        SHEET_WIDTH,
        zero + high * up + 12.0,
        format!("{} of {}", super::section::capital(words.long_section), swale.wanted.name),
    );
    let spot = |station: f64, height: f64| Spot::new(left + station * across, zero + height * up);

    for (i, axis) in swale.crest_axes.iter().enumerate() {
        let (from, to) = reach(&swale.line, axis);
        let top: Vec<Spot> = match swale.crest_levels.get(i) {
            None => vec![spot(from, crest), spot(to, crest)],
            Some(levels) => {
                let places = axis.points().iter().zip(levels);
                places.map(|(&place, z)| spot(swale.line.foot(place).station, z - sill.in_metres())).collect()
            }
        };
        let ring = [spot(from, 0.0), spot(to, 0.0)].into_iter().chain(top.iter().rev().copied()).collect();
        scene.area(vec![ring], Some(Fill::Hatched(BERM)), None);
        scene.line(top, CREST);
    }
    bed_line(&mut scene, swale, figures, &spot);
    scene.straight(spot(0.0, 0.0), spot(length, 0.0), CONTOUR_LINE);
    for spillway in &swale.spillways {
        let (from, to) = (spillway.from.in_metres(), spillway.to.in_metres());
        scene.straight(spot(from, 0.0), spot(to, 0.0), SILL);
        let middle = spot(f64::midpoint(from, to), 0.0);
        let text = Text::new(middle.moved(0.0, 3.0), TWELVE_POINT, "SILL").bold();
        let half = text.width() / 2.0;
        let x = middle.x.clamp(left + half, SHEET_WIDTH - half);
        scene.text(Text { at: Spot::new(x, middle.y + 3.0), ..text.centred() });
    }
    scene.line(natural.iter().map(|&(station, z)| spot(station, z)).collect(), NATURAL);

    level_names(&mut scene, left, zero, up, levels);
    station_axis(&mut scene, left, length, across, figures, words);
    let says = format!("drawn {taller:.0} times taller than long; dashed: natural ground on the line");
    scene.text(Text::new(Spot::new(1.0, zero + high * up + 6.0), TWELVE_POINT, says).grey(0x44));
    scene
}

/// Natural ground along the line against the sill, at an exaggeration of its own: the long section is too coarse to show
/// what the ground does within the tolerance. `None` when nothing is known of it.
#[must_use]
pub fn ground_section(swale: &Swale, figures: Figures, words: &Words) -> Option<Scene> {
    let stations = &swale.contour.stations;
    if stations.len() < 2 {
        return None;
    }
    let length = swale.line.length();
    let tolerance = swale.contour.tolerance;
    let reach = stations.iter().map(|s| s.deviation.abs()).fold(tolerance, f64::max);
    let bound = figures.allowed(tolerance);
    let levels =
        [(tolerance, format!("{bound} high")), (0.0, "sill 0".to_owned()), (-tolerance, format!("{bound} low"))]
            .map(|(height, says)| (height, Text::new(Spot::new(0.0, 0.0), TWELVE_POINT, says).ending().bold()));
    let left = levels.iter().map(|(_, text)| text.width() + 6.0).fold(NAMES, f64::max);
    let across = (SHEET_WIDTH - left - 6.0) / length;
    let taller = [5000.0, 2000.0, 1000.0, 500.0, 400.0, 300.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0]
        .into_iter()
        .find(|times| 2.0 * reach * across * times <= 40.0)
        .unwrap_or(1.0);
    let up = across * taller;
    let zero = 22.0 + reach * up;
    let mut scene = Scene::new(
        SHEET_WIDTH,
        zero + reach * up + 12.0,
        format!("Natural ground on the line of {}, against its sill", swale.wanted.name),
    );
    let spot = |station: f64, height: f64| Spot::new(left + station * across, zero + height * up);
    for height in [tolerance, -tolerance] {
        scene.straight(spot(0.0, height), spot(length, height), TOLERANCE);
    }
    scene.straight(spot(0.0, 0.0), spot(length, 0.0), CONTOUR_LINE);
    scene.line(stations.iter().map(|s| spot(s.station, s.deviation)).collect(), GROUND_ALONE);
    if let Some(worst) = swale.worst_station() {
        let at = spot(worst.station, worst.deviation);
        scene.mark(at, Shape::Ring, 2.4);
        let side = if worst.deviation < 0.0 { "low" } else { "high" };
        let says = format!("at worst {} {side}", figures.at_most(worst.deviation));
        let text = Text::new(at, TWELVE_POINT, says).bold().centred();
        let half = text.width() / 2.0;
        let x = at.x.clamp(left + half, (SHEET_WIDTH - half).max(left + half));
        let y = if worst.deviation < 0.0 { at.y - 5.5 } else { at.y + 2.5 };
        scene.text(Text { at: Spot::new(x, y.max(14.0)), ..text });
    }
    level_names(&mut scene, left, zero, up, levels);
    station_axis(&mut scene, left, length, across, figures, words);
    let says = format!("drawn {taller:.0} times taller than long; dotted: the tolerance");
    scene.text(Text::new(Spot::new(1.0, zero + reach * up + 6.0), TWELVE_POINT, says).grey(0x44));
    Some(scene)
}

/// The bed along the line, and how deep it lies where it is not as deep as at the first station.
fn bed_line(scene: &mut Scene, swale: &Swale, figures: Figures, spot: &dyn Fn(f64, f64) -> Spot) {
    let (from, to) = reach(&swale.line, &swale.bed_axis);
    let height = |station: f64| -swale.wanted.sizes_at(Station::metres(station)).depth.in_metres();
    let breaks = swale.wanted.section_breaks().into_iter().filter(|station| (from..to).contains(station));
    let stations: Vec<f64> = std::iter::once(from).chain(breaks).chain([to]).collect();
    // At a crossing no bed is dug: the line goes up to the crossing's top.
    let undug = |crossing: &crate::works::Crossing| [crossing.undug.0, crossing.undug.1].map(Station::in_metres);
    let starts = std::iter::once(from).chain(swale.crossings.iter().map(|c| undug(c)[1]));
    let ends = swale.crossings.iter().map(|c| undug(c)[0]).chain([to]);
    for (from, to) in starts.zip(ends) {
        let between = stations.iter().copied().filter(|&station| station > from && station < to);
        let piece = std::iter::once(from).chain(between).chain([to]);
        scene.line(piece.map(|station| spot(station, height(station))).collect(), BED);
    }
    let mut placed: Vec<Text> = Vec::new();
    let mut name = |station: f64, says: String| {
        let middle = spot(station, height(station));
        let text = Text::new(middle, TWELVE_POINT, says).bold();
        let half = text.width() / 2.0;
        let (least, most) = (spot(0.0, 0.0).x + half, SHEET_WIDTH - half - 1.0);
        let mut text = Text { at: Spot::new(middle.x.clamp(least, most.max(least)), middle.y + 1.5), ..text.centred() };
        let over = |text: &Text, other: &Text| {
            (text.at.x - other.at.x).abs() < f64::midpoint(text.width(), other.width()) + 1.0
                && (text.at.y - other.at.y).abs() < NAME_STEP - 0.1
        };
        while let Some(other) = placed.iter().find(|other| over(&text, other)) {
            text.at.y = other.at.y + NAME_STEP;
        }
        placed.push(text.clone());
        scene.text(text);
    };
    for crossing in &swale.crossings {
        name(crossing.wanted.at.in_metres(), "CROSSING".to_owned());
    }
    // One bed is named once, where most of it lies on one side of every crossing.
    let mut beds: Vec<(f64, f64)> = Vec::new();
    for pair in stations.windows(2).filter(|pair| height(pair[0]) == height(pair[1])) {
        match beds.last_mut() {
            Some(last) if last.1 == pair[0] => last.1 = pair[1],
            _ => beds.push((pair[0], pair[1])),
        }
    }
    let first = height(from);
    for (from, to) in beds.into_iter().filter(|bed| height(bed.0) != first) {
        let between = swale.crossings.iter().map(undug).filter(|gap| gap[0] > from && gap[1] < to);
        let (starts, ends): (Vec<f64>, Vec<f64>) = between.map(|gap| (gap[1], gap[0])).unzip();
        let pieces = std::iter::once(from).chain(starts).zip(ends.into_iter().chain([to]));
        let longest = pieces.max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0))).unwrap_or((from, to));
        let says = format!("bed {}", figures.against_sill(Length::metres(height(from))));
        name(f64::midpoint(longest.0, longest.1), says);
    }
}

/// The stations of a line between which another runs beside it.
fn reach(line: &Polyline, beside: &Polyline) -> (f64, f64) {
    let (a, b) = (line.foot(beside.first()).station, line.foot(beside.last()).station);
    (a.min(b), a.max(b))
}

/// Where a long section of a wall or of a spillway's cut stands on its sheet.
pub(super) struct LongScale {
    /// Where station nought is, behind the names of the levels.
    pub(super) left: f64,
    /// Millimetres on the sheet to a metre along, and up.
    pub(super) across: f64,
    pub(super) up: f64,
    /// How many times `up` is `across`.
    pub(super) taller: f64,
    /// Where height nought is.
    pub(super) zero: f64,
}

impl LongScale {
    /// For the named levels, a length, the lowest and highest place, and the most that this may take on the sheet.
    pub(super) fn of(levels: &[(f64, Text)], length: f64, (low, high): (f64, f64), most: f64) -> Self {
        let left = levels.iter().map(|(_, text)| text.width() + 6.0).fold(NAMES, f64::max);
        let across = (SHEET_WIDTH - left - 6.0) / length;
        let taller = [50.0, 20.0, 10.0, 5.0, 4.0, 3.0, 2.0]
            .into_iter()
            .find(|times| (high - low) * across * times <= most)
            .unwrap_or(1.0);
        let up = across * taller;
        Self { left, across, up, taller, zero: 22.0 - low * up }
    }
}

/// Names and heights of the levels at the left, from the highest down, moved apart where they would overlap.
pub(super) fn level_names(scene: &mut Scene, left: f64, zero: f64, up: f64, levels: [(f64, Text); 3]) {
    let mut above = f64::INFINITY;
    for (height, text) in levels {
        let y = zero + height * up;
        let text_y = (y - 1.4).min(above - 5.4);
        above = text_y;
        scene.text(Text { at: Spot::new(left - 5.0, text_y), ..text });
        scene.line(vec![Spot::new(left - 4.0, text_y + 1.4), Spot::new(left - 1.0, y), Spot::new(left, y)], FINE);
    }
}

pub(super) fn station_axis(scene: &mut Scene, left: f64, length: f64, across: f64, figures: Figures, words: &Words) {
    let y = 12.0;
    scene.straight(Spot::new(left, y), Spot::new(left + length * across, y), OUTLINE);
    let length = figures.number(length);
    let unit = across * figures.metres_in_one();
    let step = round_step(length, (SHEET_WIDTH - left) / 20.0);
    let mut station = 0.0;
    while station <= length {
        let at = Spot::new(left + station * unit, y);
        scene.straight(at, at.moved(0.0, -1.5), OUTLINE);
        scene.text(Text::new(at.moved(0.0, -6.0), TWELVE_POINT, format!("{station}")).centred());
        station += step;
    }
    let says = format!("{} ({})", words.station, figures.unit());
    scene.text(Text::new(Spot::new(left - 5.0, y - 6.0), TWELVE_POINT, says).ending());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::hillside::{METRIC, hillside};
    use crate::draw::{Item, Region};
    use crate::units::{Batter, Volume};
    use crate::works::{Crossing, CrossingWanted, SectionChange};

    #[test]
    fn a_bed_is_named_once_and_no_name_lies_over_another() {
        let mut site = hillside(110.0);
        let swale = site.plan.swale_mut(0);
        let change = |from: f64| SectionChange::at(Station::metres(from), Length::metres(1.0));
        let deep = Some(Length::metres(0.9));
        let wide = Some(Length::metres(2.0));
        swale.wanted.changes = vec![
            SectionChange { depth: deep, ..change(30.0) },
            SectionChange { crest: wide, ..change(50.0) },
            SectionChange { width: wide, ..change(70.0) },
        ];
        let wanted = CrossingWanted {
            at: Station::metres(70.0),
            width: Length::metres(4.0),
            ramp: Batter::horizontal_per_vertical(8.0),
            batter: Batter::horizontal_per_vertical(2.0),
        };
        let axis = Polyline::new(vec![swale.line.at_offset(70.0, 8.0), swale.line.at_offset(70.0, -8.0)]).unwrap();
        let undug = (Station::metres(66.0), Station::metres(74.0));
        let (levels, feet, fill) = (vec![432.0; 2], Vec::new(), Volume::ZERO);
        swale.crossings = vec![Crossing { wanted, undug, axis, levels, feet, fill }];
        let scene = long_section(swale, METRIC, Region::Au.words());
        let names: Vec<&Text> = scene
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Text(text) if text.says == "CROSSING" || text.says.starts_with("bed 0.90") => Some(text),
                _ => None,
            })
            .collect();
        assert_eq!(names.len(), 2, "{names:?}");
        let apart = (names[0].at.x - names[1].at.x).abs() > f64::midpoint(names[0].width(), names[1].width());
        assert!(apart || (names[0].at.y - names[1].at.y).abs() > 5.0, "{names:?}");
    }

    #[test]
    fn it_is_drawn_as_many_times_taller_as_it_says() {
        for length in [60.0, 110.0, 320.0] {
            let site = hillside(length);
            let swale = site.plan.swale(0);
            let scene = long_section(swale, METRIC, Region::Au.words());
            let says = scene.texts().find(|text| text.contains("times taller")).expect("it says so").to_owned();
            let taller: f64 = says.split_whitespace().nth(1).expect("a number").parse().expect("a number");
            let (crest, bed) = (&scene.lines_of(CREST)[0], &scene.lines_of(BED)[0]);
            let up = (crest[0].y - bed[0].y) / (swale.crest.built - swale.section.bed).in_metres();
            let across = (bed[1].x - bed[0].x) / swale.line.length();
            assert!((up / across / taller - 1.0).abs() < 0.02, "{says}: {}", up / across);
        }
    }

    #[test]
    fn natural_ground_is_drawn_against_the_sill_as_tall_as_it_says() {
        let site = hillside(110.0);
        let swale = site.plan.swale(0);
        let scene = ground_section(swale, METRIC, Region::Au.words()).expect("it is known");
        let says = scene.texts().find(|text| text.contains("times taller")).expect("it says so").to_owned();
        let taller: f64 = says.split_whitespace().nth(1).expect("a number").parse().expect("a number");
        let (ground, bounds) = (&scene.lines_of(GROUND_ALONE)[0], scene.lines_of(TOLERANCE));
        let across = (bounds[0][1].x - bounds[0][0].x) / swale.line.length();
        // 50 mm either way.
        assert!(((bounds[0][0].y - bounds[1][0].y) / (0.1 * across * taller) - 1.0).abs() < 1e-9);
        let zero = f64::midpoint(bounds[0][0].y, bounds[1][0].y);
        for (spot, station) in ground.iter().zip(&swale.contour.stations) {
            assert!((spot.y - zero - station.deviation * across * taller).abs() < 1e-9);
        }
        let mut none = swale.clone();
        none.contour.stations.clear();
        assert!(ground_section(&none, METRIC, Region::Au.words()).is_none());
    }

    #[test]
    fn the_crest_is_open_at_the_sill() {
        let site = hillside(110.0);
        let scene = long_section(site.plan.swale(0), METRIC, Region::Au.words());
        let (crests, sill) = (scene.lines_of(CREST), scene.lines_of(SILL));
        assert_eq!((crests.len(), sill.len()), (2, 1));
        assert!(crests[0][1].x < sill[0][0].x && sill[0][1].x < crests[1][0].x);
    }
}

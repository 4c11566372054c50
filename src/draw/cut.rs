//! Sections cut straight through natural ground and the designed surface, at one scale both ways.
//!
//! Invariant: what stands is drawn from the surfaces themselves; every level is written against the work's own nought, and
//! the names of the two sides stand at the top.

use super::base::{BERM, CUT, OUTLINE, SHEET_WIDTH, TWELVE_POINT};
use super::scene::{Fill, Pen, Scene, Spot, Text};
use super::section::{Across, BUILT, GROUND, LEVEL, capital, dimensions, water_sign};
use super::words::Words;
use crate::geom::{Point, Polyline};
use crate::ground::Ground;
use crate::surface::{Locator, ProfilePoint, Tin, profile};
use crate::units::{Elevation, Figures};
use crate::works::pit::{Pit, Purpose};

/// Ground shown beyond what is dug or filled, metres.
pub(super) const BEYOND: f64 = 4.0;
/// Nearer than this the two surfaces are one, metres.
const SAME: f64 = 1e-3;

/// A level that is named at the right of a section.
pub(super) struct Named {
    pub says: String,
    pub elevation: f64,
    /// True where water stands at it.
    pub water: bool,
}

/// What a section shows.
pub(super) struct Cut<'a> {
    pub title: String,
    /// From the left of the drawing to its right.
    pub line: &'a Polyline,
    /// The work's nought.
    pub zero: f64,
    pub levels: Vec<Named>,
    /// Stations of the line where water stands when it is full, one for each pool.
    pub wet: Vec<f64>,
    /// Stations to measure between; `None` for where the surface bends.
    pub ticks: Option<Vec<f64>>,
    /// Ground shown beyond what is dug or filled, metres.
    pub beyond: f64,
    /// What lies to the left and to the right.
    pub sides: [&'static str; 2],
}

/// Draws a section; it is cut to what differs between the surfaces and a little more.
pub(super) fn cut_section(ground: &Tin, surface: &Tin, cut: &Cut<'_>, figures: Figures) -> Scene {
    let known = |tin: &Tin| -> Vec<(f64, f64)> {
        let points = profile(&Locator::new(tin), cut.line);
        points.iter().filter_map(|ProfilePoint { station, elevation, .. }| Some((*station, (*elevation)?))).collect()
    };
    let (natural, built) = (known(ground), known(surface));
    let [from, to] = changed(&natural, &built);
    let (from, to) = ((from - cut.beyond).max(0.0), (to + cut.beyond).min(cut.line.length()));
    let (natural, built) = (window(&natural, from, to), window(&built, from, to));
    let (mut across, one_to) = Across::fit(-from, -to);
    let all = || natural.iter().chain(&built).map(|&(_, z)| z).chain(cut.levels.iter().map(|level| level.elevation));
    let low = (all().fold(f64::INFINITY, f64::min) - cut.zero) * across.scale();
    let high = (all().fold(f64::NEG_INFINITY, f64::max) - cut.zero) * across.scale();
    across.stand(16.0 - low);
    let top = 16.0 - low + high + 9.0;
    let mut scene = Scene::new(SHEET_WIDTH, top + 6.0 + 6.0 * cut.levels.len() as f64, cut.title.clone());
    let spot = |(station, z): (f64, f64)| across.spot(-station, z - cut.zero);
    for (above, hatch) in [(false, CUT), (true, BERM)] {
        for ring in between(&natural, &built, above) {
            scene.area(vec![ring.into_iter().map(spot).collect()], Some(Fill::Hatched(hatch)), None);
        }
    }
    scene.line(natural.iter().copied().map(spot).collect(), GROUND);
    scene.line(built.iter().copied().map(spot).collect(), BUILT);
    // Levels run where they stand clear of the earth; their names are listed over the drawing, each with its line.
    for (k, level) in cut.levels.iter().enumerate() {
        // Beyond a wall the level stands clear as well, and there is no water.
        let runs = clear_runs(&built, level.elevation);
        let wet = |run: &&(f64, f64)| cut.wet.iter().any(|&at| run.0 <= at && at <= run.1);
        for &(a, b) in runs.iter().filter(wet).filter(|_| level.water) {
            scene.straight(spot((a, level.elevation)), spot((b, level.elevation)), LEVEL);
            water_sign(&mut scene, spot((f64::midpoint(a, b), level.elevation)));
        }
        let at = Spot::new(1.0, top + 6.0 * (cut.levels.len() - 1 - k) as f64);
        scene.text_on_paper(Text::new(at, TWELVE_POINT, level.says.clone()).bold());
    }
    let marks = cut.ticks.clone().unwrap_or_else(|| breaks(&natural, &built));
    let ticks: Vec<f64> = marks.iter().map(|&station| -station).collect();
    dimensions(&mut scene, &across, &ticks, 6.0, figures);
    let y = 16.0 - low + high + 3.0;
    scene.text_on_paper(Text::new(Spot::new(1.0, y), TWELVE_POINT, cut.sides[0]).bold());
    scene.text_on_paper(Text::new(Spot::new(SHEET_WIDTH - 1.0, y), TWELVE_POINT, cut.sides[1]).ending().bold());
    let says = format!("true shape, 1:{one_to:.0}; dashed: natural ground");
    scene.text_on_paper(Text::new(Spot::new(SHEET_WIDTH - 1.0, top), TWELVE_POINT, says).ending().grey(0x44));
    scene
}

/// First and last station at which the surfaces differ.
fn changed(natural: &[(f64, f64)], built: &[(f64, f64)]) -> [f64; 2] {
    let differs = |station: f64| (height(natural, station) - height(built, station)).abs() > SAME;
    let stations = || natural.iter().chain(built).map(|&(s, _)| s);
    let within = || stations().filter(|&s| differs(s));
    let (low, high) = (within().fold(f64::INFINITY, f64::min), within().fold(f64::NEG_INFINITY, f64::max));
    if low > high {
        let all = || natural.iter().map(|&(s, _)| s);
        return [all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)];
    }
    // The surfaces part at the station before the first that differs.
    let before = stations().filter(|&s| s < low).max_by(f64::total_cmp);
    let after = stations().filter(|&s| s > high).min_by(f64::total_cmp);
    [before.unwrap_or(low), after.unwrap_or(high)]
}

/// Height at a station of a profile.
fn height(line: &[(f64, f64)], station: f64) -> f64 {
    let after = line.partition_point(|&(s, _)| s < station).clamp(1, line.len().max(2) - 1);
    let (Some(&(s0, z0)), Some(&(s1, z1))) = (line.get(after - 1), line.get(after)) else { return 0.0 };
    if s1 == s0 { z0 } else { z0 + (z1 - z0) * ((station - s0) / (s1 - s0)).clamp(0.0, 1.0) }
}

fn window(line: &[(f64, f64)], from: f64, to: f64) -> Vec<(f64, f64)> {
    let inner = line.iter().copied().filter(|&(s, _)| s > from && s < to);
    std::iter::once((from, height(line, from))).chain(inner).chain([(to, height(line, to))]).collect()
}

/// The areas between the profiles where the built one lies above (or below).
fn between(natural: &[(f64, f64)], built: &[(f64, f64)], above: bool) -> Vec<Vec<(f64, f64)>> {
    let mut stations: Vec<f64> = natural.iter().chain(built).map(|&(s, _)| s).collect();
    stations.sort_by(f64::total_cmp);
    stations.dedup();
    let lies = |s: f64| {
        let d = height(built, s) - height(natural, s);
        if above { d > SAME } else { d < -SAME }
    };
    let mut rings = Vec::new();
    let mut run: Vec<f64> = Vec::new();
    let mut close = |run: &mut Vec<f64>| {
        if run.len() > 1 {
            let there = run.iter().map(|&s| (s, height(built, s)));
            let back = run.iter().rev().map(|&s| (s, height(natural, s)));
            rings.push(there.chain(back).collect());
        }
        run.clear();
    };
    for pair in stations.windows(2) {
        if lies(f64::midpoint(pair[0], pair[1])) {
            if run.is_empty() {
                run.push(pair[0]);
            }
            run.push(pair[1]);
        } else {
            close(&mut run);
        }
    }
    close(&mut run);
    rings
}

/// Stations between which a level stands above the built profile.
fn clear_runs(built: &[(f64, f64)], level: f64) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for pair in built.windows(2) {
        let ((s0, z0), (s1, z1)) = (pair[0], pair[1]);
        let cross = |part: f64| s0 + (s1 - s0) * part;
        let part = (level - z0) / (z1 - z0);
        let piece = match (z0 < level, z1 < level) {
            (true, true) => (s0, s1),
            (true, false) => (s0, cross(part)),
            (false, true) => (cross(part), s1),
            (false, false) => continue,
        };
        match runs.last_mut() {
            Some(run) if (run.1 - piece.0).abs() < 1e-9 => run.1 = piece.1,
            _ => runs.push(piece),
        }
    }
    runs
}

/// Stations where the built profile bends inside what was changed: what an operator measures between.
fn breaks(natural: &[(f64, f64)], built: &[(f64, f64)]) -> Vec<f64> {
    let [from, to] = changed(natural, built);
    let mut marks = vec![from];
    for trio in built.windows(3) {
        let slope = |a: (f64, f64), b: (f64, f64)| (b.1 - a.1) / (b.0 - a.0).max(1e-9);
        let inside = trio[1].0 > from + 0.05 && trio[1].0 < to - 0.05;
        if inside && (slope(trio[0], trio[1]) - slope(trio[1], trio[2])).abs() > 0.04 {
            marks.push(trio[1].0);
        }
    }
    marks.push(to);
    marks.dedup_by(|b, a| (*b - *a).abs() < 0.05);
    marks
}

/// The two sections of a pit: through its ramp or first side, and square to that, both through the middle of the floor.
#[must_use]
pub fn pit_sections(ground: &Ground, surface: &Tin, pit: &Pit, figures: Figures, words: &Words) -> Vec<Scene> {
    let middle = pit.seeds.first().copied().unwrap_or_else(|| pit.rim.first());
    let along = match &pit.ramp {
        Some(ramp) => ramp.axis.direction(0.0),
        None => (pit.floor.outer[1] - pit.floor.outer[0]).unit().left() * -1.0,
    };
    let through = pit.ramp.as_ref().map_or(middle, |ramp| ramp.axis.first());
    let reach = pit.rim.points().iter().map(|p| p.distance(middle)).fold(0.0, f64::max) + 2.0 * BEYOND;
    let full = pit.water_level;
    let against = |elevation: Elevation| figures.against_sill(elevation - full);
    let mut levels = Vec::new();
    let rim = match pit.wanted.purpose {
        Purpose::Pond => {
            levels.push(Named {
                says: format!("LOW RIM {}", against(pit.storage.spill)),
                elevation: pit.storage.spill.in_metres(),
                water: false,
            });
            "FULL"
        }
        Purpose::Borrow => "LOW RIM",
    };
    levels.push(Named { says: format!("{rim} 0"), elevation: full.in_metres(), water: true });
    if let Some(shelf) = pit.shelf {
        levels.push(Named { says: format!("SHELF {}", against(shelf)), elevation: shelf.in_metres(), water: false });
    }
    levels.push(Named {
        says: format!("FLOOR {}", against(pit.floor_level)),
        elevation: pit.floor_level.in_metres(),
        water: false,
    });
    let section = |direction: crate::geom::Vector, through: Point, which: &str| {
        let line = Polyline::new(vec![through + direction * -reach, through + direction * reach])?;
        let title = format!("{} of {} {which}", capital(words.cross_section), pit.wanted.name);
        let levels = levels.iter().map(|l| Named { says: l.says.clone(), ..*l }).collect();
        let wet = vec![line.foot(through).station];
        let cut = Cut {
            title,
            line: &line,
            zero: full.in_metres(),
            levels,
            wet,
            ticks: None,
            beyond: BEYOND,
            sides: bearings(direction),
        };
        Some(cut_section(&ground.tin, surface, &cut, figures))
    };
    let first = if pit.ramp.is_some() { "along its ramp" } else { "through its middle" };
    [section(along, through, first), section(along.left(), middle, "square to that")].into_iter().flatten().collect()
}

/// The points of the compass at the left and the right of a section that runs in a direction.
pub(super) fn bearings(direction: crate::geom::Vector) -> [&'static str; 2] {
    const POINTS: [&str; 8] =
        ["NORTH", "NORTH-EAST", "EAST", "SOUTH-EAST", "SOUTH", "SOUTH-WEST", "WEST", "NORTH-WEST"];
    let eighths = (direction.x.atan2(direction.y).to_degrees() / 45.0).round().rem_euclid(8.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number from 0 to 7")]
    let right = eighths as usize % 8;
    [POINTS[(right + 4) % 8], POINTS[right]]
}

/// Pen of the shore of a full reservoir on a plan.
pub(super) const WATER: Pen = Pen { width: 0.45, grey: 0x33, dashes: &[5.0, 1.0, 1.0, 1.0] };
/// Pen of a floor's outline on a plan.
pub(super) const FLOOR: Pen = Pen { dashes: &[2.5, 1.0], ..OUTLINE };

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_between_two_profiles_is_closed() {
        let natural = [(0.0, 10.0), (20.0, 10.0)];
        let built = [(0.0, 10.0), (5.0, 10.0), (8.0, 8.0), (12.0, 8.0), (15.0, 10.0), (20.0, 10.0)];
        let rings = between(&natural, &built, false);
        assert_eq!(rings.len(), 1);
        assert!(between(&natural, &built, true).is_empty());
        assert_eq!(changed(&natural, &built), [5.0, 15.0]);
        assert_eq!(breaks(&natural, &built), [5.0, 8.0, 12.0, 15.0]);
        assert_eq!(clear_runs(&built, 9.0), [(6.5, 13.5)]);
        assert_eq!(bearings(crate::geom::Vector::new(0.0, 1.0)), ["SOUTH", "NORTH"]);
        assert_eq!(bearings(crate::geom::Vector::new(-1.0, -1.0)), ["NORTH-EAST", "SOUTH-WEST"]);
    }
}

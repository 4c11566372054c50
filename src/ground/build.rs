//! A survey to its ground: choose the shots, merge repeats, triangulate with the breaklines, trim the rim.

use super::cloud::{CloudOffset, beside_shots, offset};
use super::merge::merge;
use super::spacing::spacing;
use super::wall::first_wall;
use super::{Ground, GroundError};
use crate::frame::SiteFrame;
use crate::geom::{Point, Point3, Polygon};
use crate::notes::{Note, Noted, Place};
use crate::surface::{Tin, Triangulated, thin, triangulate};
use crate::survey::{Shot, Survey};
use crate::units::Length;

/// Times the spacing that an edge on the rim may be long when nothing is said; common practice, no source.
const LONGEST_EDGE_IN_SPACINGS: f64 = 3.0;

/// How the ground is made.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundSettings {
    /// Triangles on the rim with a longer edge are taken off, from the rim inwards. Default three times the median
    /// spacing of the points off the breaklines.
    pub longest_edge: Option<Length>,
    /// Triangles with a longer edge go wherever they are, so that gaps inside are holes. Default not: they are filled.
    pub gaps_are_holes: bool,
    /// Shots nearer than this are one point. Default 20 mm.
    pub merge_within: Length,
    /// Where the ground ends, local metres; else the boundary that was shot.
    pub boundary: Option<Polygon>,
    /// Cloud points nearer than this to a ground shot give way to it. Default 1 m.
    pub shots_rule_within: Length,
    /// The cloud is lowered by its offset above the shots, where that can be told. Default not.
    pub correct_cloud: bool,
    /// The ground is thinned so far that no point of it stands farther off than this. Default not.
    pub thin_to: Option<Length>,
}

impl Default for GroundSettings {
    fn default() -> Self {
        Self {
            longest_edge: None,
            gaps_are_holes: false,
            merge_within: Length::metres(0.020),
            boundary: None,
            shots_rule_within: Length::metres(1.0),
            correct_cloud: false,
            thin_to: None,
        }
    }
}

/// Makes the ground of a survey. Notes tell merged shots, crossings and passages of breaklines, and what was trimmed.
///
/// # Errors
/// [`GroundError`] when no shot is of the ground, when they make no surface, or when trimming leaves none.
pub fn build(survey: &Survey, settings: &GroundSettings) -> Result<Noted<Ground>, GroundError> {
    let chosen: Vec<usize> = (0..survey.shots.len()).filter(|&i| survey.shots[i].role.is_ground()).collect();
    if chosen.is_empty() && survey.cloud.is_empty() {
        return Err(GroundError::NoGroundShots { shots: survey.shots.len() });
    }
    let mut notes = Vec::new();
    let mut place_of = vec![None; survey.shots.len()];
    chosen.iter().enumerate().for_each(|(at, &i)| place_of[i] = Some(at));
    let points: Vec<Point3> = chosen.iter().map(|&i| survey.shots[i].point()).collect();
    let lines: Vec<Vec<usize>> = survey
        .breaklines
        .iter()
        .map(|line| line.iter().filter_map(|&i| place_of.get(i as usize).copied().flatten()).collect())
        .collect();
    refuse_walls(survey, &chosen, &points, &lines, settings.merge_within.in_metres())?;
    let mut on_breakline = vec![false; points.len()];
    lines.iter().flatten().for_each(|&at| on_breakline[at] = true);

    let merged = merge(&points, &on_breakline, settings.merge_within.in_metres());
    if merged.gone > 0 {
        let text = format!(
            "{} shots nearer than {:.0} mm to another became one point with it; their elevations differ by up to {:.3} m",
            merged.gone,
            settings.merge_within.in_metres() * 1000.0,
            merged.largest_dz
        );
        notes.push(Note::new("ground::merged", text));
    }
    let breaklines: Vec<Vec<u32>> = lines
        .iter()
        .map(|line| {
            let mut line: Vec<u32> = line.iter().map(|&at| merged.point_of[at]).collect();
            line.dedup();
            line
        })
        .filter(|line| line.len() > 1)
        .collect();
    let mut shot_of = vec![0; merged.points.len()];
    chosen.iter().enumerate().rev().for_each(|(at, &i)| shot_of[merged.point_of[at] as usize] = i);
    let mut all = merged.points;
    let cloud = cloud_beside(&all, &survey.cloud, settings, &mut notes);
    all.extend(cloud);
    let made = triangulate(&all, &breaklines)?;
    tell(&made, survey, &shot_of, &breaklines, &mut notes);

    let spacing = spacing(&made.tin);
    let longest = settings.longest_edge.map_or(LONGEST_EDGE_IN_SPACINGS * spacing, Length::in_metres);
    let shot_ring = || {
        let ring: Vec<Point> =
            survey.boundary.iter().filter_map(|&i| survey.shots.get(i as usize)).map(|shot| shot.place).collect();
        (ring.len() > 2).then(|| Polygon::simple(ring))
    };
    let boundary = settings.boundary.clone().or_else(shot_ring);
    let tin = made.tin.trimmed(Some(longest), boundary.as_ref());
    if tin.triangles().is_empty() {
        return Err(GroundError::AllTrimmed { triangles: made.tin.triangles().len(), longest_edge: longest });
    }
    trim_note(&made.tin, &tin, longest, settings.longest_edge.is_none(), &mut notes);
    drop(made);
    let tin = if settings.gaps_are_holes { with_holes(&tin, longest, &survey.frame, &mut notes)? } else { tin };
    let tin = match settings.thin_to {
        Some(bound) => thinned(&tin, bound.in_metres(), &mut notes)?,
        None => tin,
    };
    Ok(Noted { value: Ground { tin, frame: survey.frame.clone(), spacing }, notes })
}

/// Refuses two breaklines in one place at different heights.
fn refuse_walls(
    survey: &Survey,
    chosen: &[usize],
    points: &[Point3],
    lines: &[Vec<usize>],
    within: f64,
) -> Result<(), GroundError> {
    let Some(wall) = first_wall(points, lines, within) else { return Ok(()) };
    let [first, second] = wall.lines.map(|line| {
        let start = lines[line].first().and_then(|&at| survey.shots.get(chosen[at]));
        start.map_or_else(String::new, |shot| shot_name(survey, shot))
    });
    let (easting, northing) = survey.frame.to_frame(wall.place);
    Err(GroundError::Wall { first, second, dz: wall.dz, easting, northing })
}

/// The cloud as it joins the shots: corrected when asked, and away from them.
fn cloud_beside(shots: &[Point3], cloud: &[Point3], settings: &GroundSettings, notes: &mut Vec<Note>) -> Vec<Point3> {
    if shots.is_empty() || cloud.is_empty() {
        return cloud.to_vec();
    }
    let found = offset(shots, cloud);
    tell_offset(found, settings.correct_cloud, notes);
    let by = found.filter(|_| settings.correct_cloud).map_or(0.0, |found| found.offset);
    let within = settings.shots_rule_within.in_metres();
    let left = beside_shots(shots, cloud, within, by);
    if left.len() < cloud.len() {
        let text = format!(
            "{} of {} cloud points stand nearer than {within:.2} m to a shot and give way to it",
            cloud.len() - left.len(),
            cloud.len()
        );
        notes.push(Note::new("ground::cloud-gives-way", text));
    }
    left
}

/// Tells how the cloud stands against the shots.
fn tell_offset(found: Option<CloudOffset>, correct: bool, notes: &mut Vec<Note>) {
    let Some(found) = found else {
        let left = if correct { ", so it is not corrected" } else { "" };
        let text =
            format!("too few ground shots with cloud round them to tell how the cloud stands against the shots{left}");
        notes.push(Note::new("ground::cloud-offset-unknown", text));
        return;
    };
    let mm = |metres: f64| format!("{:.0} mm", 1000.0 * metres.abs());
    let side = if found.offset < 0.0 { "below" } else { "above" };
    let done = if correct {
        "the cloud is corrected by it"
    } else if found.offset.abs() > 2.0 * found.standard_error {
        "left as it is; [ground] cloud-offset = \"correct\" takes it off"
    } else {
        "within what chance explains"
    };
    let text = format!(
        "the cloud stands {} {side} the shots (standard error {}, {} shots, spread {}): {done}",
        mm(found.offset),
        mm(found.standard_error),
        found.shots,
        mm(found.spread)
    );
    notes.push(Note::new("ground::cloud-offset", text));
    for ((rise, error), way) in found.tilt.into_iter().flatten().zip(["east", "north"]) {
        if rise.abs() > 3.0 * error {
            let text = format!(
                "the cloud rises against the shots by {:+.0} mm in 100 m to the {way} (standard error {:.0} mm); a tilt is not taken off",
                1e5 * rise,
                1e5 * error
            );
            notes.push(Note::new("ground::cloud-tilt", text));
        }
    }
}

/// The ground with as few points as hold it within a bound.
fn thinned(full: &Tin, bound: f64, notes: &mut Vec<Note>) -> Result<Tin, GroundError> {
    let thin = thin(full, bound)?;
    let text = format!(
        "thinned from {} to {} points; the worst of those left out stands {:.1} mm off the ground, the bound is {:.1} mm",
        full.vertices().len(),
        thin.tin.vertices().len(),
        1000.0 * thin.worst,
        1000.0 * bound
    );
    notes.push(Note::new("ground::thinned", text));
    Ok(thin.tin)
}

/// Tells what the triangulation had to decide.
fn tell(made: &Triangulated, survey: &Survey, shot_of: &[usize], breaklines: &[Vec<u32>], notes: &mut Vec<Note>) {
    let shot = |point: u32| shot_of.get(point as usize).map(|&i| &survey.shots[i]);
    let name = |point: u32| shot(point).map_or_else(|| "a cloud point".to_owned(), |shot| shot_name(survey, shot));
    let line = |line: u32| breaklines.get(line as usize).map_or_else(String::new, |run| name(run[0]));
    if !made.duplicates.is_empty() {
        let worst = made.duplicates.iter().map(|d| d.dz.abs()).fold(0.0, f64::max);
        let text = format!(
            "{} points stand where another stands already and are left out; their elevations differ by up to {worst:.3} m",
            made.duplicates.len()
        );
        notes.push(Note::new("ground::duplicates", text));
    }
    for crossing in &made.crossings {
        let [first, second] = crossing.lines.map(line);
        let text = format!(
            "the breakline from {first} crosses the one from {second} without a shared shot; they differ by {:.2} m there, \
             and the first rules",
            crossing.dz
        );
        notes.push(Note::new("ground::breaklines-cross", text).at(on_ground(&survey.frame, crossing.place)));
    }
    for passed in &made.passed {
        let text = format!(
            "the breakline from {} passes through {}, which stands {:+.2} m from it: the line takes the shot's elevation",
            line(passed.line),
            name(passed.point),
            passed.dz
        );
        let note = Note::new("ground::breakline-through-shot", text);
        notes.push(match shot(passed.point) {
            Some(shot) => note.at(on_ground(&survey.frame, shot.place)),
            None => note,
        });
    }
    for &[first, second] in &made.overlapping {
        let text = format!("the breaklines from {} and from {} run on one another in part", line(first), line(second));
        notes.push(Note::new("ground::breaklines-overlap", text));
    }
}

fn shot_name(survey: &Survey, shot: &Shot) -> String {
    let file = survey.file_of(shot);
    if shot.id.is_empty() { format!("{file} line {}", shot.line) } else { format!("{file}:{}", shot.id) }
}

fn on_ground(frame: &SiteFrame, place: Point) -> Place {
    let (easting, northing) = frame.to_frame(place);
    Place::Ground { easting, northing }
}

/// Gaps told one by one, the largest first; more are told as a sum.
const GAPS_TOLD: usize = 5;

/// The ground with its gaps cut out, told with place, area and the breaklines that lie in them.
fn with_holes(filled: &Tin, longest: f64, frame: &SiteFrame, notes: &mut Vec<Note>) -> Result<Tin, GroundError> {
    let (tin, gaps) = filled.without_gaps(longest);
    if tin.triangles().is_empty() {
        return Err(GroundError::AllTrimmed { triangles: filled.triangles().len(), longest_edge: longest });
    }
    for gap in gaps.iter().take(GAPS_TOLD) {
        let breaklines = if gap.breaklines > 0.0 {
            format!(
                "; {:.1} m of breakline run through it without ground beside them and are not in the ground",
                gap.breaklines
            )
        } else {
            String::new()
        };
        let text = format!(
            "a gap of {:.1} m2 between points more than {longest:.1} m apart is a hole of the ground: no elevation, contour, volume or \
             works in it{breaklines}",
            gap.area
        );
        notes.push(Note::new("ground::hole", text).at(on_ground(frame, gap.middle)));
    }
    if let Some(rest) = gaps.get(GAPS_TOLD..).filter(|rest| !rest.is_empty()) {
        let text = format!(
            "{} smaller gaps, {:.1} m2 together with {:.1} m of breakline in them, are holes of the ground too",
            rest.len(),
            rest.iter().map(|gap| gap.area).sum::<f64>(),
            rest.iter().map(|gap| gap.breaklines).sum::<f64>()
        );
        notes.push(Note::new("ground::holes", text));
    }
    Ok(tin)
}

/// Tells what went off the rim: a little always does.
fn trim_note(before: &Tin, after: &Tin, longest: f64, assumed: bool, notes: &mut Vec<Note>) {
    let (whole, left) = (before.plan_area(), after.plan_area());
    let gone = before.triangles().len() - after.triangles().len();
    if gone > 0 {
        let standing = if assumed { "three times the median spacing" } else { "as said" };
        let text = format!(
            "{gone} triangles on the rim or outside the boundary taken off, {:.0} m2 of {whole:.0} m2; longest edge {longest:.1} \
             m, {standing}",
            whole - left
        );
        notes.push(Note::new("ground::trimmed", text));
    }
}

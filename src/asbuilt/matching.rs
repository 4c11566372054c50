//! Which part of which work a shot lies on: by its code's role, else by where it stands.

use super::design::{Design, SillDesign, WorkDesign};
use super::grade::{Part, ShotCheck, Unmatched};
use super::settings::{GradeSettings, Tolerance};
use crate::geom::{Foot, Point, Polygon, Polyline, contains};
use crate::stats::Verdict;
use crate::stats::normal_quantile;
use crate::surface::{Locator, Tin};
use crate::survey::{Role, Shot, Survey};
use crate::units::Length;
use crate::water::weir;
use crate::works::distance;

/// A shot coded as works, but as no part, counts as batter or ledge this near to a sill, crest or bed, metres; farther away
/// the designed surface is natural ground.
const BESIDE: f64 = 6.0;

/// A shot this far outside the outline of a pit or wall still stands on its rim or foot, metres.
const ON_OUTLINE: f64 = 1.0;

/// How far beyond half its width a part still claims a shot without a code when there is no designed surface, metres.
const EDGE: f64 = 0.25;

/// A compared shot with its place along its part.
pub(super) struct Matched {
    /// The comparison.
    pub(super) check: ShotCheck,
    /// Which work of the design.
    pub(super) work: usize,
    /// Which sill or piece of crest.
    pub(super) piece: usize,
    /// Metres along that piece.
    pub(super) along: f64,
    /// Metres from the middle of that piece.
    pub(super) aside: f64,
}

/// The lines of a work as polylines.
pub(super) struct Lines {
    line: Polyline,
    pub(super) sills: Vec<Polyline>,
    pub(super) crests: Vec<(usize, Polyline)>,
    bed: Option<Polyline>,
    /// Edge of a floor.
    floor: Option<Polyline>,
}

impl Lines {
    pub(super) fn of(work: &WorkDesign) -> Option<Self> {
        let pieces = |lines: &[Vec<Point>]| -> Vec<(usize, Polyline)> {
            lines.iter().enumerate().filter_map(|(i, line)| Some((i, Polyline::new(line.clone())?))).collect()
        };
        let line = Polyline::new(work.line.clone())?;
        // The sill of a swale runs with the line, station by station, so that its distances are the line's; that of a wall
        // lies beyond the line's end and that of a pond beside its rim: they have their own.
        let on_line = |sill: &SillDesign| line.between(sill.from_m, sill.to_m).filter(|_| work.floor.is_empty());
        let along = |sill: &SillDesign| on_line(sill).or_else(|| Polyline::new(sill.lip.clone()));
        let sills = work.sills.iter().map(along).collect::<Option<Vec<_>>>()?;
        Some(Self {
            line,
            sills,
            crests: pieces(&work.crest_axes),
            bed: Polyline::new(work.bed_axis.clone()),
            floor: closed(&work.floor),
        })
    }
}

fn closed(ring: &[Point]) -> Option<Polyline> {
    Polyline::new(ring.iter().chain(ring.first()).copied().collect())
}

/// Where a shot stands on a part.
struct Candidate {
    work: usize,
    part: Part,
    piece: usize,
    along: f64,
    /// Metres from the middle of the part.
    aside: f64,
    /// Metres outside the part; zero or less on it.
    outside: f64,
    design: f64,
}

/// Does a role say that the shot was taken on the works.
pub(super) const fn is_works(role: Role) -> bool {
    matches!(role, Role::Sill | Role::Crest | Role::Bed | Role::Built)
}

/// Compares every shot of the survey with the design; marks and check shots are left out, everything else that finds
/// no part is listed. Where any shot is coded as works, only those so coded are compared; else the place must say it.
pub(super) fn compare(
    design: &Design,
    surface: Option<&Tin>,
    survey: &Survey,
    settings: &GradeSettings,
) -> (Vec<Matched>, Vec<Unmatched>) {
    let lines: Vec<Option<Lines>> = design.works.iter().map(Lines::of).collect();
    let locator = surface.map(Locator::new);
    let coded = survey.shots.iter().any(|shot| is_works(shot.role));
    let (mut matched, mut unmatched) = (Vec::new(), Vec::new());
    for shot in survey.shots.iter().filter(|shot| !matches!(shot.role, Role::Mark | Role::Check)) {
        let name = shot_name(survey, shot);
        let meant = !coded || is_works(shot.role);
        let found = if meant {
            place_on(design, &lines, locator.as_ref(), shot, settings)
        } else {
            Err(format!("it is coded as {}, not as works", shot.role.name()))
        };
        match found {
            Ok(candidate) => matched.push(measure(design, &lines, name, shot, &candidate, settings)),
            Err(reason) => unmatched.push(Unmatched { shot: name, reason, meant }),
        }
    }
    (matched, unmatched)
}

/// The part a shot lies on, or, of a shot coded as works, the designed surface beside the parts; else why not.
fn place_on(
    design: &Design,
    lines: &[Option<Lines>],
    locator: Option<&Locator<'_>>,
    shot: &Shot,
    settings: &GradeSettings,
) -> Result<Candidate, String> {
    let wanted = match shot.role {
        Role::Sill => Some(Part::Sill),
        Role::Crest => Some(Part::Crest),
        Role::Bed => Some(Part::Bed),
        _ => None,
    };
    // Where the designed surface can speak, a shot without a code must stand on a part to be of it.
    let edge = if locator.is_some() { 0.0 } else { EDGE };
    let nearest = nearest(design, lines, shot.place, wanted);
    match (wanted, nearest) {
        (Some(part), None) => Err(format!("its code says {}, and no work has one", part.name())),
        (None, None) => Err("no work lies near it".to_owned()),
        (Some(part), Some(found)) if found.outside > settings.reach_m => Err(format!(
            "its code says {}, and the nearest lies {:.1} m away; accepted up to {:.1} m",
            part.name(),
            found.outside,
            settings.reach_m
        )),
        (None, Some(found)) if found.outside > edge => {
            if !is_works(shot.role) {
                return Err("it has no code of the works and lies on no sill, crest or bed".to_owned());
            }
            let within = within(design, shot.place);
            if found.outside > BESIDE && within.is_none() {
                return Err(format!(
                    "it lies beside the works: {:.1} m from the nearest sill, crest or bed; accepted up to {BESIDE} m",
                    found.outside
                ));
            }
            let elevation = locator.and_then(|locator| locator.elevation(shot.place));
            let design =
                elevation.ok_or("it lies on no sill, crest or bed, and there is no designed surface under it")?;
            Ok(Candidate {
                work: within.unwrap_or(found.work),
                part: Part::Other,
                piece: 0,
                along: 0.0,
                aside: 0.0,
                design,
                ..found
            })
        }
        (_, Some(found)) => Ok(found),
    }
}

/// The work whose outline holds a place, or nearly.
fn within(design: &Design, place: Point) -> Option<usize> {
    let holds = |ring: &Vec<Point>| distance(&Polygon::simple(ring.clone()), place) <= ON_OUTLINE;
    design.works.iter().position(|work| work.outlines.iter().any(holds))
}

fn shot_name(survey: &Survey, shot: &Shot) -> String {
    match survey.files.get(shot.file as usize) {
        Some(file) => shot_label(file, &shot.id),
        None => shot.id.clone(),
    }
}

/// A shot as `file:number`.
pub(super) fn shot_label(file: &str, id: &str) -> String {
    format!("{file}:{id}")
}

/// The part, of the wanted kind or of any, that a place lies on or nearest to.
fn nearest(design: &Design, lines: &[Option<Lines>], place: Point, wanted: Option<Part>) -> Option<Candidate> {
    let candidates = design
        .works
        .iter()
        .zip(lines)
        .enumerate()
        .filter_map(|(i, (work, lines))| Some(candidates(i, work, lines.as_ref()?, place)));
    candidates
        .flatten()
        .filter(|candidate| wanted.is_none_or(|part| candidate.part == part))
        .min_by(|a, b| a.outside.total_cmp(&b.outside))
}

/// What stands at a station of an axis: between values at its places, or the same everywhere where there are none.
fn along(axis: &Polyline, values: &[f64], station: f64, same: f64) -> f64 {
    if values.len() == axis.points().len() { axis.interpolated(values, station) } else { same }
}

fn candidates(work: usize, design: &WorkDesign, lines: &Lines, place: Point) -> Vec<Candidate> {
    let mut found = Vec::new();
    for (piece, (sill, along)) in design.sills.iter().zip(&lines.sills).enumerate() {
        let outside = if contains(&sill.strip, place) {
            -EDGE
        } else {
            Polyline::new(sill.strip.iter().copied().chain(sill.strip.first().copied()).collect())
                .map_or(f64::INFINITY, |rim| rim.foot(place).offset.abs())
        };
        let foot = along.foot(place);
        found.push(Candidate {
            work,
            part: Part::Sill,
            piece,
            along: foot.station,
            aside: foot.offset.abs(),
            outside,
            design: sill.elevation_m,
        });
    }
    let beside = |foot: &Foot, width: f64| foot.offset.abs() - width / 2.0;
    for (piece, axis) in &lines.crests {
        let foot = axis.foot(place);
        let of_piece = |values: &[Vec<f64>], same: f64| {
            along(axis, values.get(*piece).map_or(&[], Vec::as_slice), foot.station, same)
        };
        found.push(Candidate {
            work,
            part: Part::Crest,
            piece: *piece,
            along: foot.station,
            aside: foot.offset.abs(),
            outside: beside(&foot, of_piece(&design.crest_widths_m, design.crest_width_m)),
            design: of_piece(&design.crest_levels_m, design.crest_built_m),
        });
    }
    if let Some(axis) = &lines.bed {
        let foot = axis.foot(place);
        found.push(Candidate {
            work,
            part: Part::Bed,
            piece: 0,
            along: foot.station,
            aside: foot.offset.abs(),
            outside: beside(&foot, along(axis, &design.bottom_widths_m, foot.station, design.bottom_width_m)),
            design: along(axis, &design.bed_levels_m, foot.station, design.bed_m),
        });
    }
    if let Some(floor) = &lines.floor {
        let foot = floor.foot(place);
        let inside = contains(&design.floor, place);
        let (first, second) = (design.floor[0], design.floor[1]);
        found.push(Candidate {
            work,
            part: Part::Bed,
            piece: 0,
            // Along its first side: a floor that tilts shows it there.
            along: (place - first).dot((second - first).unit()),
            aside: 0.0,
            outside: if inside { -EDGE } else { foot.offset.abs() },
            design: design.bed_m,
        });
    }
    found
}

fn measure(
    design: &Design,
    lines: &[Option<Lines>],
    name: String,
    shot: &Shot,
    on: &Candidate,
    settings: &GradeSettings,
) -> Matched {
    let work = &design.works[on.work];
    let foot = lines[on.work].as_ref().map(|lines| lines.line.foot(shot.place));
    let tolerance = tolerance(work, on, settings);
    let difference = shot.elevation - on.design;
    let instrument = shot.quality.vertical_sigma.unwrap_or(settings.shot_sigma_m);
    let sigma = instrument.hypot(settings.roughness_m);
    Matched {
        check: ShotCheck {
            shot: name,
            works: work.name.clone(),
            part: on.part,
            station_m: foot.map_or(0.0, |foot| foot.station),
            offset_m: foot.map_or(0.0, |foot| foot.offset),
            place: shot.place,
            measured_m: shot.elevation,
            design_elevation_m: on.design,
            difference_m: difference,
            tolerance,
            sigma_m: sigma,
            shared_m: shot.quality.shared_sigma.unwrap_or_default().min(instrument),
            verdict: judge(difference, normal_quantile(0.975) * sigma, tolerance),
        },
        work: on.work,
        piece: on.piece,
        along: on.along,
        aside: on.aside,
    }
}

fn tolerance(work: &WorkDesign, on: &Candidate, settings: &GradeSettings) -> Tolerance {
    match on.part {
        Part::Sill => settings
            .sill
            .unwrap_or_else(|| Tolerance::both(weir::sill_tolerance(Length::metres(work.sills[on.piece].head_m)))),
        Part::Crest => settings.crest,
        Part::Bed => settings.bed,
        Part::Other => settings.other,
    }
}

/// In tolerance when the whole half width either side of the value is; out of it when none of that is.
pub(super) fn judge(value: f64, half_width: f64, tolerance: Tolerance) -> Verdict {
    if value + half_width < -tolerance.below_m || value - half_width > tolerance.above_m {
        Verdict::Fail
    } else if value - half_width > -tolerance.below_m && value + half_width < tolerance.above_m {
        Verdict::Pass
    } else {
        Verdict::CannotTell
    }
}

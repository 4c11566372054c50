//! The fit of a survey to its known marks: which shots observe which mark, the fit, its application, what is told.

use super::report::{FitReport, HeightReport, PlanReport};
use crate::frame::FrameDefinition;
use crate::frame::fit::{
    FitError, HeightModel, HeightPair, MarkTest, PlanModel, PlanPair, Standing, fit_heights, fit_plan,
};
use crate::geom::Point;
use crate::notes::{Note, Noted, Place};
use crate::stats::root_mean_square;
use crate::survey::{Fix, PointFile, Position, Record, Role, Roles, Settings, SurveyError, list_some};

/// How a survey is fitted to known marks.
#[derive(Debug, Clone, PartialEq)]
pub struct FitAsked {
    /// What may change in plan; `None` keeps it.
    pub plan: Option<PlanModel>,
    /// What may change in height; `None` keeps it.
    pub height: Option<HeightModel>,
    /// Standard deviation of a coordinate in plan, mark and observation together, metres.
    pub sigma_plan: f64,
    /// Standard deviation of an elevation, mark and observation together, metres.
    pub sigma_height: f64,
    /// Marks that the user leaves out.
    pub without: Vec<String>,
}

/// A mark as the survey observed it: the mean of its shots.
struct Observed {
    name: String,
    surveyed: Point,
    elevation: Option<f64>,
    given: Point,
    given_elevation: Option<f64>,
}

/// Fits the shots on known marks to the marks' given places.
pub(super) fn make(
    files: &[PointFile],
    places: &[Vec<Option<Point>>],
    marks: &PointFile,
    asked: &FitAsked,
    settings: &Settings,
    definition: &FrameDefinition,
) -> Result<Noted<FitReport>, SurveyError> {
    let fault = |error: FitError| SurveyError::Fit { marks: marks.name.clone(), why: error.to_string() };
    let (observed, not_observed) = observed(files, places, marks, asked, settings, definition)?;
    let mut notes = Vec::new();
    let plan = match asked.plan {
        None => None,
        Some(model) => {
            let pairs: Vec<PlanPair> = observed
                .iter()
                .map(|mark| PlanPair { mark: mark.name.clone(), surveyed: mark.surveyed, given: mark.given })
                .collect();
            let fit = fit_plan(&pairs, model, asked.sigma_plan).map_err(fault)?;
            let shift = fit.change.shift();
            Some(PlanReport {
                shift_east_m: shift.x,
                shift_north_m: shift.y,
                turn_seconds: fit.change.turn().to_degrees() * 3600.0,
                scale: fit.change.scale(),
                change: fit.change,
                degrees_of_freedom: fit.degrees,
                unit_sigma: fit.unit_sigma,
                marks: fit.marks,
            })
        }
    };
    let height = match asked.height {
        None => None,
        Some(model) => {
            let pairs: Vec<HeightPair> = observed
                .iter()
                .filter_map(|mark| {
                    let (surveyed, given) = (mark.elevation?, mark.given_elevation?);
                    Some(HeightPair { mark: mark.name.clone(), place: mark.given, surveyed, given })
                })
                .collect();
            let fit = fit_heights(&pairs, model, asked.sigma_height).map_err(fault)?;
            let moved = |place: Point| plan.as_ref().map_or(place, |plan| plan.change.apply(place));
            let shots = places.iter().flatten().flatten().map(|place| fit.standard_error_at(moved(*place)));
            Some(HeightReport {
                shift_m: fit.change.shift,
                tilt_east_ppm: fit.change.tilt_east * 1e6,
                tilt_north_ppm: fit.change.tilt_north * 1e6,
                worst_standard_error_m: shots.fold(0.0, f64::max),
                change: fit.change,
                degrees_of_freedom: fit.degrees,
                unit_sigma: fit.unit_sigma,
                marks: fit.marks,
            })
        }
    };
    let report = FitReport { marks_file: marks.name.clone(), plan, height, not_observed };
    tell(&report, asked, &mut notes);
    Ok(Noted { value: report, notes })
}

/// How far one file by itself misses the marks after the best fit of the asked kind, metres (root mean square of both
/// coordinates of all marks, blunders too); `None` where three marks are not observed.
pub(super) fn misfit(
    file: &PointFile,
    marks: &PointFile,
    asked: &FitAsked,
    settings: &Settings,
    definition: &FrameDefinition,
) -> Option<f64> {
    let files = std::slice::from_ref(file);
    let places = super::places(files, settings, definition).ok()?;
    let (observed, _) = observed(files, &places, marks, asked, settings, definition).ok()?;
    let pairs: Vec<PlanPair> = observed
        .iter()
        .map(|mark| PlanPair { mark: mark.name.clone(), surveyed: mark.surveyed, given: mark.given })
        .collect();
    let fit = fit_plan(&pairs, asked.plan?, asked.sigma_plan).ok().filter(|_| pairs.len() > 2)?;
    let misses: Vec<f64> = fit.marks.iter().flat_map(|mark| mark.residual_m.iter().copied()).collect();
    root_mean_square(&misses)
}

/// Brings the records into the grid of the marks; the file of marks itself is there already.
pub(super) fn apply(
    files: &mut [PointFile],
    places: &[Vec<Option<Point>>],
    report: &FitReport,
    definition: &FrameDefinition,
) {
    for (file, places) in files.iter_mut().zip(places).filter(|(file, _)| file.name != report.marks_file) {
        let scale = file.unit.unwrap_or(definition.unit).metres();
        for (record, place) in file.records.iter_mut().zip(places) {
            let Some(place) = *place else { continue };
            let moved = report.plan.as_ref().map_or(place, |plan| plan.change.apply(place));
            record.position = Position::Grid { easting: moved.x / scale, northing: moved.y / scale };
            if let (Some(height), Some(elevation)) = (&report.height, &mut record.elevation) {
                *elevation += height.change.at(moved) / scale;
            }
        }
    }
}

/// The file of known marks as a file of the survey: each a shot of role mark under its own name.
pub(super) fn as_marks(marks: &PointFile, settings: &Settings) -> PointFile {
    let mut file = marks.clone();
    file.records.retain(|mark| !mark.id.is_empty());
    for mark in &mut file.records {
        if settings.roles.read(&mark.code).role != Some(Role::Mark) {
            Role::Mark.name().clone_into(&mut mark.code);
        }
    }
    file
}

/// The known marks that were observed, and the names of those that were not.
fn observed(
    files: &[PointFile],
    places: &[Vec<Option<Point>>],
    marks: &PointFile,
    asked: &FitAsked,
    settings: &Settings,
    definition: &FrameDefinition,
) -> Result<(Vec<Observed>, Vec<String>), SurveyError> {
    let scale = marks.unit.unwrap_or(definition.unit).metres();
    let left_out = |name: &str| asked.without.iter().any(|out| out.eq_ignore_ascii_case(name));
    let (mut found, mut missing) = (Vec::new(), Vec::new());
    for mark in marks.records.iter().filter(|mark| !mark.id.is_empty() && !left_out(&mark.id)) {
        let Position::Grid { easting, northing } = mark.position else {
            return Err(SurveyError::Fit {
                marks: marks.name.clone(),
                why: "known marks need an easting and a northing in the site's frame".to_owned(),
            });
        };
        let mut shots: Vec<(&Record, Point, f64)> = files
            .iter()
            .zip(places)
            .filter(|(file, _)| file.name != marks.name)
            .flat_map(|(file, places)| {
                let unit = file.unit.unwrap_or(definition.unit).metres();
                file.records.iter().zip(places).filter_map(move |(record, place)| Some((record, (*place)?, unit)))
            })
            .filter(|(record, ..)| usable(record) && names(record, &settings.roles).contains(&mark.id.to_lowercase()))
            .collect();
        // A shot of role mark may be the place that a list gives; one of role check was certainly taken.
        let checks = |record: &Record| settings.roles.read(&record.code).role == Some(Role::Check);
        if shots.iter().any(|(record, ..)| checks(record)) {
            shots.retain(|(record, ..)| checks(record));
        }
        if shots.is_empty() {
            missing.push(mark.id.clone());
            continue;
        }
        let count = shots.len() as f64;
        let first = shots[0].1;
        let away =
            |of: fn(Point, Point) -> f64| shots.iter().map(|(_, place, _)| of(*place, first)).sum::<f64>() / count;
        let elevations: Option<Vec<f64>> =
            shots.iter().map(|(record, _, unit)| record.elevation.map(|elevation| elevation * unit)).collect();
        found.push(Observed {
            name: mark.id.clone(),
            surveyed: Point::new(first.x + away(|p, f| p.x - f.x), first.y + away(|p, f| p.y - f.y)),
            elevation: elevations.map(|all| all.iter().sum::<f64>() / count),
            given: Point::new(easting * scale, northing * scale),
            given_elevation: mark.elevation.map(|elevation| elevation * scale),
        });
    }
    Ok((found, missing))
}

/// A float or coarse shot observes no mark.
fn usable(record: &Record) -> bool {
    !matches!(record.quality.fix, Fix::Float | Fix::Coarse)
}

/// What a shot of role mark or check may mean: the words after its code, its code with its number, its point number.
fn names(record: &Record, roles: &Roles) -> Vec<String> {
    let read = roles.read(&record.code);
    if !matches!(read.role, Some(Role::Mark | Role::Check)) {
        return Vec::new();
    }
    let mut names: Vec<String> = read.rest.split_whitespace().map(str::to_lowercase).collect();
    if !read.number.is_empty() {
        names.push(format!("{}{}", read.word, read.number));
    }
    names.push(record.id.to_lowercase());
    names
}

/// What the user must know of the fit.
fn tell(report: &FitReport, asked: &FitAsked, notes: &mut Vec<Note>) {
    let place = || Place::File { file: report.marks_file.clone(), line: 0, column: 0 };
    let mut note = |code: &str, text: String| notes.push(Note::new(code, text).at(place()));
    let mut change = Vec::new();
    if let Some(plan) = &report.plan {
        change.push(format!(
            "moved {:+.3} m east, {:+.3} m north, turned {:+.1} seconds, scale {:.7}",
            plan.shift_east_m, plan.shift_north_m, plan.turn_seconds, plan.scale
        ));
    }
    if let Some(height) = &report.height {
        change.push(format!(
            "raised {:+.3} m, tilted {:+.1} mm/km to the east and {:+.1} mm/km to the north (known to {:.0} mm at the worst shot)",
            height.shift_m,
            height.tilt_east_ppm,
            height.tilt_north_ppm,
            1000.0 * height.worst_standard_error_m
        ));
    }
    note("fit::made", format!("{}: the survey was {}", report.sentence(), change.join("; ")));

    let parts = [
        ("plan", report.plan.as_ref().map(|plan| (&plan.marks, plan.degrees_of_freedom))),
        ("height", report.height.as_ref().map(|height| (&height.marks, height.degrees_of_freedom))),
    ];
    for (part, (marks, spare)) in parts.iter().filter_map(|(part, fit)| Some((part, (*fit)?))) {
        if spare == 0 {
            note(
                "fit::nothing-spare",
                format!(
                    "in {part} the marks just determine the fit: nothing checks them, a blunder in one would not show"
                ),
            );
        }
        let of = |standing: Standing| marks.iter().filter(move |mark| mark.standing == standing);
        let list = |standing: Standing, tell: fn(&MarkTest) -> String| {
            let told: Vec<String> = of(standing).map(tell).collect();
            (!told.is_empty()).then(|| list_some(&told, 8))
        };
        if spare > 0
            && let Some(list) = list(Standing::NotChecked, unseen)
        {
            note("fit::mark-not-checked", format!("in {part} not checked by the other marks: {list}"));
        }
        if let Some(list) = list(Standing::LeftOut, misses) {
            note(
                "fit::mark-left-out",
                format!(
                    "in {part} left out, largest first, because the others agree without it: {list}; look at its record"
                ),
            );
        }
        if let Some(list) = list(Standing::Doubtful, misses) {
            note(
                "fit::marks-disagree",
                format!(
                    "in {part} the marks disagree by more than chance and are too few to say which is wrong: {list}; observe more marks"
                ),
            );
        }
        let worst = of(Standing::Checked).filter_map(|mark| mark.detectable_m).fold(0.0, f64::max);
        if worst > 0.0 {
            note(
                "fit::limit",
                format!(
                    "in {part} a blunder below {:.0} mm in a checked mark may go unseen (0.1 % and 80 %)",
                    1000.0 * worst
                ),
            );
        }
    }
    let scale = report.plan.as_ref().map_or(1.0, |plan| (plan.scale - 1.0) * 1e6);
    if asked.plan == Some(PlanModel::Similarity) && scale.abs() > 20.0 {
        note(
            "fit::scale",
            format!(
                "the free scale differs from one by {scale:+.0} ppm: grid against ground, two kinds of feet or a mark that is not \
                 where it was; lengths on the ground follow the marks' grid now"
            ),
        );
    }
    if !report.not_observed.is_empty() {
        let text = format!("known marks that no shot observed: {}", list_some(&report.not_observed, 8));
        note("fit::not-observed", text);
    }
}

fn unseen(mark: &MarkTest) -> String {
    match mark.detectable_m {
        Some(visible) => {
            format!("{} (redundancy {:.2}, sees {:.0} mm at least)", mark.mark, mark.redundancy, 1000.0 * visible)
        }
        None => format!("{} (redundancy 0)", mark.mark),
    }
}

fn misses(mark: &MarkTest) -> String {
    let misses: Vec<String> =
        mark.residual_m.iter().map(|miss| format!("{:+.0}", (1000.0 * miss).round() + 0.0)).collect();
    format!("{} ({} mm fitted minus given)", mark.mark, misses.join(", "))
}

//! Bringing point files to the site: what the pipeline file asks of heights, marks and ground lengths, with its files read.

use super::PipelineError;
use super::config::{CloudHeights, FactorAsked, FitFile, PipelineFile, ScaleAsked};
use crate::frame::fit::PlanModel;
use crate::frame::{FrameDefinition, Geographic, Geoids, Projector, SiteFrame, grid_factor};
use crate::geom::Point3;
use crate::io::read::geoid;
use crate::io::read::points;
use crate::notes::{Note, Noted};
use crate::stats::median;
use crate::survey::{self, Bringing, Brought, FitAsked, FitReport, Fitting, PointFile};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Brings the files of a survey to the site.
pub(super) fn survey_files(
    file: &PipelineFile,
    files: Vec<PointFile>,
    definition: &FrameDefinition,
) -> Result<Noted<Brought>, PipelineError> {
    let grid = geoid_of(file)?;
    let marks = file.survey.bring.fit.as_ref();
    let marks = marks
        .map(|fit| points::read(&file.beside(&fit.marks.file.value), &fit.marks.settings).map(|marks| (fit, marks)))
        .transpose()?;
    let asked =
        marks.as_ref().map(|(fit, marks)| Ok::<_, PipelineError>((asked(file, fit, &files, definition)?, marks)));
    let asked = asked.transpose()?;
    let fit = match &asked {
        None => Fitting::None,
        Some((asked, marks)) => Fitting::Make(asked, marks),
    };
    let bringing = Bringing { geoid: grid.as_ref(), plane: file.survey.bring.plane, fit };
    survey::bring(files, &file.survey.settings, definition, &bringing).map_err(|error| at_key(file, error))
}

/// Brings later files of the same site (as-built shots) by the fit that its survey was given.
pub(super) fn later_files(
    file: &PipelineFile,
    files: Vec<PointFile>,
    definition: &FrameDefinition,
    fit: Option<&FitReport>,
) -> Result<Noted<Vec<PointFile>>, PipelineError> {
    let grid = if files.iter().flat_map(|file| &file.records).any(|record| record.ellipsoid_height.is_some()) {
        geoid_of(file)?
    } else {
        None
    };
    let fit = fit.map_or(Fitting::None, Fitting::Again);
    let bringing = Bringing { geoid: grid.as_ref(), plane: file.survey.bring.plane, fit };
    let brought = survey::bring(files, &file.survey.settings, definition, &bringing)?;
    Ok(Noted { value: brought.value.files, notes: brought.notes })
}

/// Brings the ground points of clouds to the site's heights, in the way that the pipeline file asks.
pub(super) fn cloud_heights(
    file: &PipelineFile,
    frame: &SiteFrame,
    points: &mut [Point3],
) -> Result<Vec<Note>, PipelineError> {
    let plane = file.survey.bring.plane.as_ref();
    let Some(first) = file.survey.clouds.first().filter(|_| !points.is_empty()) else { return Ok(Vec::new()) };
    if file.survey.clouds_asked.heights == CloudHeights::AsGiven {
        if file.survey.bring.geoids.is_empty() && plane.is_none() {
            return Ok(Vec::new());
        }
        let text = "the elevations of clouds are used as given: geoid and inclined plane are for the shots alone, unless [survey] \
                    cloud-heights = \"ellipsoidal\" says that clouds stand above the ellipsoid too";
        return Ok(vec![Note::new("survey::cloud-heights-as-given", text)]);
    }
    let fault = |why: &str| file.fault_at(first, "pipeline::cloud-heights", why);
    let Some(grid) = geoid_of(file)? else {
        return Err(fault("cloud-heights = \"ellipsoidal\" needs a geoid grid: name one in [survey] geoid").into());
    };
    let projector = Projector::new(frame, &Geographic::OwnDatum).map_err(|error| fault(&error.to_string()))?;
    let ellipsoid = projector.definition().ellipsoid;
    let mut least_and_most = (f64::INFINITY, f64::NEG_INFINITY);
    let mut by: BTreeMap<String, usize> = BTreeMap::new();
    for point in points.iter_mut() {
        let (longitude, latitude) = projector.to_lonlat(point.plan())?;
        let (geoid, name) = grid.height(longitude, latitude).map_err(|error| fault(&error.to_string()))?;
        match by.get_mut(name) {
            Some(count) => *count += 1,
            None => drop(by.insert(name.to_owned(), 1)),
        }
        least_and_most = (least_and_most.0.min(geoid), least_and_most.1.max(geoid));
        point.z -= geoid;
        if let (Some(plane), Some(ellipsoid)) = (plane, &ellipsoid) {
            point.z += plane.at(longitude, latitude, ellipsoid);
        }
    }
    let (least, most) = least_and_most;
    let text = format!(
        "{} elevations of clouds are ellipsoidal height minus geoid height by {} ({least:.3} to {most:.3} m){}{}",
        points.len(),
        grid.name(),
        survey::geoid_parts(&by, &grid),
        if plane.is_some() { ", with the inclined plane added" } else { "" }
    );
    Ok(vec![Note::new("survey::cloud-geoid-used", text)])
}

fn geoid_of(file: &PipelineFile) -> Result<Option<Geoids>, PipelineError> {
    let mut grids = Vec::new();
    for name in &file.survey.bring.geoids {
        let open = geoid::open(&file.beside(&name.value), &name.value);
        grids.extend(open.map_err(|error| file.fault_at(name, "pipeline::geoid", &error.to_string()))?);
    }
    Ok((!grids.is_empty()).then(|| Geoids::new(grids)))
}

/// What cannot be made of the survey as asked, at the key that asks for it.
pub(super) fn at_key(file: &PipelineFile, error: survey::SurveyError) -> PipelineError {
    let key = match &error {
        survey::SurveyError::Fit { .. } => file.survey.bring.fit.as_ref().map(|fit| &fit.marks.file),
        survey::SurveyError::KeptAndDropped { drop, .. } => file.survey.drop.iter().find(|asked| asked.value == *drop),
        _ => None,
    };
    match key {
        Some(key) => file.fault_at(key, error.code(), &error.to_string()).into(),
        None => error.into(),
    }
}

fn asked(
    file: &PipelineFile,
    fit: &FitFile,
    files: &[PointFile],
    definition: &FrameDefinition,
) -> Result<FitAsked, PipelineError> {
    let plan = match fit.plan {
        ScaleAsked::Keep => None,
        ScaleAsked::Shift => Some(PlanModel::Shift),
        ScaleAsked::Turn(scale) => Some(PlanModel::Turn { scale }),
        ScaleAsked::Similarity => Some(PlanModel::Similarity),
        ScaleAsked::TurnAtCombinedFactor => {
            // Ground lengths were surveyed, so the place of the factor is that of the marks.
            let marks = points::read(&file.beside(&fit.marks.file.value), &fit.marks.settings)?;
            let frame = frame_around(std::slice::from_ref(&marks), file, definition)?;
            let height = mean_elevation(files, definition);
            let scale = match file.site.combined_factor.as_ref().map(|asked| asked.value) {
                Some(FactorAsked::Said(scale)) => scale,
                _ => computed(&frame, height)?,
            };
            Some(PlanModel::Turn { scale })
        }
    };
    Ok(FitAsked {
        plan,
        height: fit.height,
        sigma_plan: fit.sigma_plan.in_metres(),
        sigma_height: fit.sigma_height.in_metres(),
        without: fit.without.clone(),
    })
}

fn frame_around(
    files: &[PointFile],
    file: &PipelineFile,
    definition: &FrameDefinition,
) -> Result<SiteFrame, PipelineError> {
    let middle = survey::middle(files, &file.survey.settings, definition)?;
    Ok(definition.site_frame(middle.unwrap_or_default(), None))
}

fn mean_elevation(files: &[PointFile], definition: &FrameDefinition) -> f64 {
    let of_file = |file: &PointFile| {
        let unit = file.unit.unwrap_or(definition.unit).metres();
        file.records
            .iter()
            .filter_map(move |record| record.elevation.map(|elevation| elevation * unit))
            .collect::<Vec<_>>()
    };
    median(&files.iter().flat_map(of_file).collect::<Vec<_>>()).unwrap_or_default()
}

fn computed(frame: &SiteFrame, height: f64) -> Result<f64, PipelineError> {
    let projector = Projector::new(frame, &Geographic::OwnDatum)?;
    let middle = crate::geom::Point::new(50.0, 50.0);
    Ok(grid_factor(&projector, middle, height)?.combined())
}

/// The factor as a run's files hold it: to a millionth, far below what the height behind it is known to.
fn kept(factor: f64) -> f64 {
    (factor * 1e6).round() / 1e6
}

/// Gives the frame its combined factor where one is asked for, and tells what it does, or what the lack of it does.
pub(super) fn ground_lengths(
    file: &PipelineFile,
    files: &[PointFile],
    definition: &FrameDefinition,
    frame: &mut SiteFrame,
    notes: &mut Vec<Note>,
) -> Result<(), PipelineError> {
    let asked = file.site.combined_factor.as_ref();
    if frame.is_local() {
        return match asked {
            Some(asked) => {
                let why = "a site grid has no combined factor: its lengths are those of the ground";
                Err(file.fault_at(asked, "pipeline::factor-of-local", why).into())
            }
            None => Ok(()),
        };
    }
    let height = mean_elevation(files, definition);
    let found = computed(frame, height);
    let shares = |factor: f64| {
        let length = (1.0 / factor - 1.0) * 1e6;
        let area = (1.0 / (factor * factor) - 1.0) * 1e6;
        format!("lengths on the ground are {length:+.0} ppm of those on the grid, areas and volumes {area:+.0} ppm")
    };
    match asked.map(|asked| asked.value) {
        Some(FactorAsked::Said(factor)) => {
            let factor = kept(factor);
            frame.combined_factor = factor;
            let mut text =
                format!("combined factor {factor:.6}, as said: {}; all of them are ground values here", shares(factor));
            if let Ok(found) = found
                && (found / factor - 1.0).abs() > 20e-6
            {
                let _ = write!(
                    text,
                    "; from the projection and a mean elevation of {height:.0} m it would be {found:.6}, {:+.0} ppm from it",
                    (found / factor - 1.0) * 1e6
                );
            }
            notes.push(Note::new("survey::ground-lengths", text));
        }
        Some(FactorAsked::Computed) => {
            let factor = kept(found?);
            frame.combined_factor = factor;
            let text = format!(
                "combined factor {factor:.6}, from the projection and a mean elevation of {height:.0} m: {}; all of them are ground \
                 values here",
                shares(factor)
            );
            notes.push(Note::new("survey::ground-lengths", text));
        }
        None => {
            // A site outside the frame's area has been told of already.
            if let Ok(factor) = found.as_ref()
                && (factor - 1.0).abs() > 100e-6
            {
                let text = format!(
                    "lengths, areas and volumes are those of the grid: {} (combined factor {factor:.6}); \
                     [site] combined-factor = \"computed\" makes them those of the ground",
                    shares(*factor)
                );
                notes.push(Note::new("survey::grid-lengths", text));
            }
        }
    }
    Ok(())
}

//! Records brought to the site before they are judged, in this order: northing and easting told apart, heights from the
//! ellipsoid to the geoid, an inclined-plane correction, files moved as a whole, a fit to known marks.
//!
//! Invariant: every record comes out in the order it went in; what cannot be brought is left for the later checks to
//! set aside with its reason. Files of known marks are in the site's frame already and are never changed. Nothing is
//! guessed: without a grid heights stay what they are.

mod fit;
mod height;
mod report;
mod shift;

pub use fit::FitAsked;
pub use height::{InclinedPlane, geoid_parts};
pub use report::{FitReport, HeightReport, PlanReport};

use super::candidate::refuse;
use super::order::{is_assumed, settled, settled_by};
use super::{PointFile, Position, Settings, SurveyError};
use crate::frame::{FrameDefinition, Geographic, Geoids, Projector, SiteFrame};
use crate::geom::Point;
use crate::notes::{Note, Noted, Place};
use crate::stats::median;
use crate::units::LengthUnit;
use std::borrow::Cow;

/// What is to be done with the records of a site's point files.
#[derive(Debug, Default)]
pub struct Bringing<'a> {
    /// Ellipsoidal heights become elevations by these grids.
    pub geoid: Option<&'a Geoids>,
    /// A plane added to every elevation.
    pub plane: Option<InclinedPlane>,
    /// How the survey is fitted to known marks.
    pub fit: Fitting<'a>,
}

/// How a survey comes to its fit.
#[derive(Debug, Default)]
pub enum Fitting<'a> {
    /// It is not fitted.
    #[default]
    None,
    /// It is fitted to the marks of this file, which join the survey where they do not stand in it.
    Make(&'a FitAsked, &'a PointFile),
    /// The change of an earlier fit of the same survey is used again.
    Again(&'a FitReport),
}

/// Records brought to the site.
#[derive(Debug)]
pub struct Brought {
    /// The files, their records on the site's grid.
    pub files: Vec<PointFile>,
    /// The fit that was made.
    pub fit: Option<FitReport>,
}

/// Brings the records of point files to the site.
///
/// # Errors
/// [`SurveyError`] when no geoid grid covers the site, when marks cannot be fitted, or when heights need a
/// longitude and latitude that a site grid does not have.
pub fn bring(
    mut files: Vec<PointFile>,
    settings: &Settings,
    definition: &FrameDefinition,
    bringing: &Bringing<'_>,
) -> Result<Noted<Brought>, SurveyError> {
    let mut notes = Vec::new();
    let marks = match bringing.fit {
        Fitting::Make(asked, marks) => Some((asked, marks_in_order(marks, &files, definition, &mut notes)?)),
        Fitting::None | Fitting::Again(_) => None,
    };
    let fit = marks.as_ref().map(|(asked, marks)| (*asked, &**marks));
    settle_order(&mut files, settings, definition, (&bringing.fit, fit), &mut notes)?;
    for file in &files {
        notes.extend(feet_of_two_kinds(file, definition));
    }
    if bringing.geoid.is_some() || bringing.plane.is_some() {
        for file in &mut files {
            height::correct(file, settings, definition, bringing, &mut notes)?;
        }
    }
    shift::apply(&mut files, settings, definition)?;
    let fit = match (&bringing.fit, fit) {
        (_, Some((asked, marks))) => {
            let places = places(&files, settings, definition)?;
            let report = fit::make(&files, &places, marks, asked, settings, definition)?.drain_into(&mut notes);
            fit::apply(&mut files, &places, &report, definition);
            if files.iter().all(|file| file.name != marks.name) {
                files.insert(0, fit::as_marks(marks, settings));
            }
            Some(report)
        }
        (Fitting::Again(report), None) => {
            let places = places(&files, settings, definition)?;
            fit::apply(&mut files, &places, report, definition);
            None
        }
        (Fitting::None | Fitting::Make(..), None) => None,
    };
    Ok(Noted { value: Brought { files, fit }, notes })
}

/// Northing and easting in their true order, before any place is used: by the frame's area of use, else by how the file fits
/// the known marks.
fn settle_order(
    files: &mut [PointFile],
    settings: &Settings,
    definition: &FrameDefinition,
    (fitting, marks): (&Fitting<'_>, Option<(&FitAsked, &PointFile)>),
    notes: &mut Vec<Note>,
) -> Result<(), SurveyError> {
    let frame = bare_frame(definition);
    let own_grid = !matches!(fitting, Fitting::None);
    let asked = files.iter().any(is_assumed) && !frame.is_local();
    let area = if asked { Projector::new(&frame, &Geographic::OwnDatum).ok() } else { None };
    for file in files.iter_mut().filter(|file| is_assumed(file)) {
        // Small numbers may well be metres of a survey's own grid.
        if !own_grid {
            refuse(file, &frame)?;
        }
        let misfit = |read: &PointFile| {
            let (asked, marks) = marks.filter(|(_, marks)| read.name != marks.name)?;
            fit::misfit(read, marks, asked, settings, definition)
        };
        *file = settled_by(file, &frame, area.as_ref(), misfit, notes)?.into_owned();
    }
    Ok(())
}

/// The known marks with northing and easting in their true order. They are what other files are held against, so that the area of
/// use alone can tell: mirrored marks would mirror the survey.
fn marks_in_order<'a>(
    marks: &'a PointFile,
    files: &[PointFile],
    definition: &FrameDefinition,
    notes: &mut Vec<Note>,
) -> Result<Cow<'a, PointFile>, SurveyError> {
    let frame = bare_frame(definition);
    let asked = is_assumed(marks) && !frame.is_local();
    let area = if asked { Projector::new(&frame, &Geographic::OwnDatum).ok() } else { None };
    // A file that is listed among the shots too is told of there.
    let mut told = Vec::new();
    let settled = settled(marks, &frame, area.as_ref(), &mut told)?;
    if files.iter().all(|file| file.name != marks.name) {
        notes.extend(told);
    }
    Ok(settled)
}

/// The frame's grid without a local origin, to convert in metres.
fn bare_frame(definition: &FrameDefinition) -> SiteFrame {
    let mut frame = definition.site_frame((0.0, 0.0), None);
    frame.origin = Point::new(0.0, 0.0);
    frame
}

/// The projection that a file with longitudes and latitudes needs; `None` for a file on the grid.
fn projector_of(
    file: &PointFile,
    settings: &Settings,
    definition: &FrameDefinition,
) -> Result<Option<Projector>, SurveyError> {
    let geographic = file.records.iter().any(|record| matches!(record.position, Position::Geographic { .. }));
    if !geographic {
        return Ok(None);
    }
    if definition.crs == "local" {
        return Err(SurveyError::NoProjection { file: file.name.clone() });
    }
    let meant = file.geographic.as_ref().unwrap_or(&settings.geographic);
    Projector::new(&bare_frame(definition), meant).map(Some).map_err(|error| SurveyError::Frame(error.to_string()))
}

/// Place of every record on the grid, metres; `None` where the frame cannot take it.
fn places(
    files: &[PointFile],
    settings: &Settings,
    definition: &FrameDefinition,
) -> Result<Vec<Vec<Option<Point>>>, SurveyError> {
    let of_file = |file: &PointFile| {
        let scale = file.unit.unwrap_or(definition.unit).metres();
        let projector = projector_of(file, settings, definition)?;
        let place = |position: &Position| match (*position, &projector) {
            (Position::Grid { easting, northing }, _) => Some(Point::new(easting * scale, northing * scale)),
            (Position::Geographic { longitude, latitude }, Some(projector)) => {
                projector.to_site(longitude, latitude).ok()
            }
            (Position::Geographic { .. }, None) => None,
        };
        Ok(file.records.iter().map(|record| place(&record.position)).collect())
    };
    files.iter().map(of_file).collect()
}

/// A file in one kind of feet on a frame in the other: 2 ppm apart, silent in the shape of a farm, metres in its place.
fn feet_of_two_kinds(file: &PointFile, definition: &FrameDefinition) -> Option<Note> {
    let said = file.unit.filter(|unit| *unit != definition.unit)?;
    if [said, definition.unit].contains(&LengthUnit::Metres) {
        return None;
    }
    let part = |northing: bool| {
        let values: Vec<f64> = file
            .records
            .iter()
            .filter_map(|record| match record.position {
                Position::Grid { easting, northing: n } => Some(if northing { n } else { easting }),
                Position::Geographic { .. } => None,
            })
            .collect();
        median(&values)
    };
    let (easting, northing) = (part(false)?, part(true)?);
    let shift = |value: f64| (value * (said.metres() - definition.unit.metres())).abs();
    let text = format!(
        "it is read in {}, the frame is in {}: 2 millionths apart, which moves the site by {:.3} m east and {:.3} m north \
         (about {:.4} m at 100 m of elevation); if its coordinates are in the frame's own feet, say so as its unit",
        said.name(),
        definition.unit.name(),
        shift(easting),
        shift(northing),
        shift(100.0 / said.metres())
    );
    let place = Place::File { file: file.name.clone(), line: 0, column: 0 };
    Some(Note::new("survey::feet-of-two-kinds", text).at(place))
}

#[cfg(test)]
mod tests;

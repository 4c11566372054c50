//! Which of two columns is the northing, where neither the user nor a header says it.
//!
//! A northing taken for an easting mirrors the ground, and no later test can see that. So an assumed order is held
//! against the area of use of the frame, both ways: what lies inside one way only is read that way. A survey that is
//! fitted to known marks may stand on another grid: there the marks decide, since no turn or shift fits a mirrored
//! survey to three of them. All else is refused with both readings. Size alone is no evidence: eastings and northings of
//! many grids are of one size.

use super::{ColumnsFrom, PointFile, Position, SurveyError};
use crate::frame::{Projector, SiteFrame};
use crate::geom::Point;
use crate::notes::{Note, Place};
use crate::stats::median;
use crate::units::LengthUnit;
use std::borrow::Cow;

/// True when a file's order of northing and easting was assumed.
pub(super) fn is_assumed(file: &PointFile) -> bool {
    let grid = |record: &super::Record| matches!(record.position, Position::Grid { .. });
    file.columns_from == ColumnsFrom::Assumed && file.records.iter().any(grid)
}

/// A file with northing and easting in the order that the frame's area of use gives.
pub(super) fn settled<'a>(
    file: &'a PointFile,
    frame: &SiteFrame,
    area: Option<&Projector>,
    notes: &mut Vec<Note>,
) -> Result<Cow<'a, PointFile>, SurveyError> {
    settled_by(file, frame, area, |_| None, notes)
}

/// As [`settled`]; where the area of use does not decide, `misfit` does: how far a reading of the file misses known marks,
/// metres (root mean square), where there is something to miss.
pub(super) fn settled_by<'a>(
    file: &'a PointFile,
    frame: &SiteFrame,
    area: Option<&Projector>,
    misfit: impl Fn(&PointFile) -> Option<f64>,
    notes: &mut Vec<Note>,
) -> Result<Cow<'a, PointFile>, SurveyError> {
    if !is_assumed(file) {
        return Ok(Cow::Borrowed(file));
    }
    let Some((easting, northing)) = middle_as_read(file) else { return Ok(Cow::Borrowed(file)) };
    let scale = file.unit.unwrap_or(frame.unit).metres();
    let inside = |easting: f64, northing: f64| {
        let place = frame.from_grid_metres(easting * scale, northing * scale);
        area.is_some_and(|area| area.to_lonlat(place).is_ok())
    };
    let both = (inside(easting, northing), inside(northing, easting));
    if both.0 != both.1 {
        let why = format!("only that way it lies in the area of use of {}", frame.crs);
        return Ok(Cow::Owned(read_as(file, both.1, "survey::order-by-area", &why, notes)));
    }
    let other = turned(file);
    if let Some((own, turned)) = misfit(file).zip(misfit(&other))
        && own.max(turned) > CLEAR * own.min(turned).max(LEAST_MISFIT)
    {
        let (best, worst) = (own.min(turned), own.max(turned));
        let why =
            format!("that way it fits the known marks within {best:.3} m, the other way only within {worst:.3} m");
        return Ok(Cow::Owned(read_as(file, turned < own, "survey::order-by-marks", &why, notes)));
    }
    let why = match area {
        None => "a site grid has no area of use to go by".to_owned(),
        Some(_) if both.0 => format!("both ways it lies in the area of use of {}", frame.crs),
        Some(area) => {
            let place = Point::new(easting * scale, northing * scale);
            let turned = Point::new(place.y, place.x);
            let unit =
                file.unit.is_none().then(|| other_unit(place, frame, area).or_else(|| other_unit(turned, frame, area)));
            let hint = unit.flatten().map_or("is the frame right?".to_owned(), |unit| {
                format!("as {} it would: say units = \"{}\" too", unit.name(), unit.name())
            });
            format!("neither way it lies in the area of use of {}: {hint}", frame.crs)
        }
    };
    Err(refused(file, &why))
}

/// One reading must miss the marks so many times as far as the other.
const CLEAR: f64 = 10.0;
/// What marks and their shots may miss by in any case, metres.
const LEAST_MISFIT: f64 = 0.02;

/// The file in one of the two orders, and the note that says so.
fn read_as(file: &PointFile, other_way: bool, code: &str, why: &str, notes: &mut Vec<Note>) -> PointFile {
    let order = if other_way { "easting, northing" } else { "northing, easting" };
    let text = format!("no header: read as {order}, since {why}");
    notes.push(Note::new(code, text).at(Place::File { file: file.name.clone(), line: 0, column: 0 }));
    let read = if other_way { turned(file) } else { file.clone() };
    PointFile { columns_from: ColumnsFrom::Settled, ..read }
}

/// The unit in which a place that lies outside the frame's area of use would lie inside.
pub(super) fn other_unit(grid: Point, frame: &SiteFrame, projector: &Projector) -> Option<LengthUnit> {
    let others = match frame.unit {
        LengthUnit::Metres => [LengthUnit::Feet, LengthUnit::UsSurveyFeet],
        LengthUnit::Feet => [LengthUnit::Metres, LengthUnit::UsSurveyFeet],
        LengthUnit::UsSurveyFeet => [LengthUnit::Metres, LengthUnit::Feet],
    };
    others.into_iter().find(|unit| {
        let scale = unit.metres() / frame.unit.metres();
        let place = frame.from_grid_metres(grid.x * scale, grid.y * scale);
        projector.to_lonlat(place).is_ok()
    })
}

/// Both readings of the first shot, for a note or a message.
pub(super) fn readings(file: &PointFile) -> String {
    let first = file.records.iter().find_map(|record| match record.position {
        Position::Grid { easting, northing } => Some((easting, northing)),
        Position::Geographic { .. } => None,
    });
    let (easting, northing) = first.unwrap_or_default();
    format!(
        "as northing, easting its first shot is E {easting:.3} N {northing:.3}, as easting, northing it is \
         E {northing:.3} N {easting:.3}"
    )
}

fn refused(file: &PointFile, why: &str) -> SurveyError {
    let swapped: Vec<&str> = turned(file).columns.iter().map(|column| column.name()).collect();
    let read: Vec<&str> = file.columns.iter().map(|column| column.name()).collect();
    SurveyError::OrderUnknown {
        file: file.name.clone(),
        why: why.to_owned(),
        readings: readings(file),
        read: read.join(", "),
        swapped: swapped.join(", "),
    }
}

fn middle_as_read(file: &PointFile) -> Option<(f64, f64)> {
    let grid = file.records.iter().filter_map(|record| match record.position {
        Position::Grid { easting, northing } => Some((easting, northing)),
        Position::Geographic { .. } => None,
    });
    let (eastings, northings): (Vec<f64>, Vec<f64>) = grid.unzip();
    median(&eastings).zip(median(&northings))
}

/// The file the other way round.
fn turned(file: &PointFile) -> PointFile {
    use super::Column;
    let mut file = file.clone();
    for record in &mut file.records {
        if let Position::Grid { easting, northing } = record.position {
            record.position = Position::Grid { easting: northing, northing: easting };
        }
    }
    for column in &mut file.columns {
        *column = match *column {
            Column::Easting => Column::Northing,
            Column::Northing => Column::Easting,
            other => other,
        };
    }
    file
}

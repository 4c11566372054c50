//! Which of two columns is the northing, where neither the user nor a header says it.
//!
//! A northing taken for an easting mirrors the ground, and no later test can see that. So an assumed order is held
//! against the area of use of the frame, both ways: what lies inside one way only is read that way, and all else is
//! refused with both readings. Size alone is no evidence: eastings and northings of many grids are of one size.

use super::{ColumnsFrom, PointFile, Position, SurveyError};
use crate::frame::{Projector, SiteFrame};
use crate::notes::{Note, Place};
use crate::stats::median;
use std::borrow::Cow;

/// True when a file's order of northing and easting was assumed.
pub(super) fn is_assumed(file: &PointFile) -> bool {
    let grid = |record: &super::Record| matches!(record.position, Position::Grid { .. });
    file.columns_from == ColumnsFrom::Assumed && file.records.iter().any(grid)
}

/// A file with northing and easting in the order that the evidence gives.
pub(super) fn settled<'a>(
    file: &'a PointFile,
    frame: &SiteFrame,
    area: Option<&Projector>,
    notes: &mut Vec<Note>,
) -> Result<Cow<'a, PointFile>, SurveyError> {
    if !is_assumed(file) {
        return Ok(Cow::Borrowed(file));
    }
    let Some(area) = area else { return Err(refused(file, "a site grid has no area of use to go by")) };
    let scale = file.unit.unwrap_or(frame.unit).metres();
    let Some((easting, northing)) = middle_as_read(file) else { return Ok(Cow::Borrowed(file)) };
    let inside =
        |easting: f64, northing: f64| area.to_lonlat(frame.from_grid_metres(easting * scale, northing * scale)).is_ok();
    let told = |order: &str| {
        let text =
            format!("no header: read as {order}, since only that way it lies in the area of use of {}", frame.crs);
        Note::new("survey::order-by-area", text).at(Place::File { file: file.name.clone(), line: 0, column: 0 })
    };
    match (inside(easting, northing), inside(northing, easting)) {
        (true, false) => {
            notes.push(told("northing, easting"));
            Ok(Cow::Borrowed(file))
        }
        (false, true) => {
            notes.push(told("easting, northing"));
            Ok(Cow::Owned(turned(file)))
        }
        (true, true) => Err(refused(file, &format!("both ways it lies in the area of use of {}", frame.crs))),
        (false, false) => {
            Err(refused(file, &format!("neither way it lies in the area of use of {}: is the frame right?", frame.crs)))
        }
    }
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

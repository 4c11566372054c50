//! Records brought into the local frame, each with what speaks against it.
//!
//! Invariant: one candidate for every record, in file order; units and projection are dealt with here and nowhere else.
//! A frame that most of a file contradicts is an error; a single shot that it cannot take is set aside.

use super::order::{is_assumed, other_unit, settled};
use super::{CodeRead, Column, ColumnsFrom, PointFile, Position, Record, Role, Settings, Shot, SurveyError};
use crate::frame::{Geographic, Projector, SiteFrame};
use crate::geom::{LIMIT, Point};
use crate::notes::{Note, Place};
use crate::stats::median;
use crate::units::LengthUnit;
use std::collections::BTreeMap;

/// Why a shot is not used.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Against {
    /// Stable word or two.
    pub(super) reason: &'static str,
    /// The value that decided.
    pub(super) value: String,
    /// True when the user may put the shot back.
    pub(super) can_keep: bool,
    /// False when the line gives no place or height that could be drawn.
    pub(super) has_place: bool,
}

/// A record as a shot, with what speaks against it.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) shot: Shot,
    pub(super) read: CodeRead,
    pub(super) against: Option<Against>,
    /// Easting and northing as the file gives them, metres; zero when it gives degrees.
    pub(super) grid: Point,
    /// The user asked for it to be put back.
    pub(super) keep: bool,
    /// Something spoke against it that this overruled.
    pub(super) spared: bool,
}

impl Candidate {
    /// True when nothing speaks against it so far.
    pub(super) const fn stands(&self) -> bool {
        self.against.is_none()
    }

    /// Speaks against it, unless something did already or the user keeps it.
    pub(super) fn set_aside(&mut self, reason: &'static str, value: String) {
        if self.keep {
            self.spared = true;
        } else if self.against.is_none() {
            self.against = Some(Against { reason, value, can_keep: true, has_place: true });
        }
    }

    /// Speaks against it whatever the user says: there is nothing that could be used.
    fn cannot_be_used(&mut self, reason: &'static str, value: String) {
        self.against = Some(Against { reason, value, can_keep: false, has_place: false });
    }
}

/// How a person finds a shot: its file and point number, or line.
pub(super) fn name_of(candidate: &Candidate, files: &[String]) -> String {
    let file = &files[candidate.shot.file as usize];
    if candidate.shot.id.is_empty() {
        format!("{file} line {}", candidate.shot.line)
    } else {
        format!("{file}:{}", candidate.shot.id)
    }
}

/// Brings every record into the local frame.
pub(super) fn candidates(
    files: &[PointFile],
    settings: &Settings,
    frame: &SiteFrame,
    notes: &mut Vec<Note>,
) -> Result<Vec<Candidate>, SurveyError> {
    let mut all = Vec::new();
    unit_note(files, frame, notes);
    // Opening PROJ costs milliseconds, so the one that knows the area of use serves all files.
    let area = if frame.is_local() { None } else { Projector::new(frame, &Geographic::OwnDatum).ok() };
    for (index, file) in files.iter().enumerate() {
        refuse(file, frame)?;
        let file = &*settled(file, frame, area.as_ref(), notes)?;
        let projector = projector(file, settings, frame)?;
        let scale = file.unit.unwrap_or(frame.unit).metres();
        let mut outside = None;
        let first = all.len();
        for record in &file.records {
            let placed = match record.position {
                Position::Grid { easting, northing } => Ok(frame.from_grid_metres(easting * scale, northing * scale)),
                Position::Geographic { longitude, latitude } => match &projector {
                    Some(projector) => projector.to_site(longitude, latitude).map_err(|error| error.to_string()),
                    None => Err("there is no projection".to_owned()),
                },
            };
            let far = |place: &Point| place.x.abs() > LIMIT || place.y.abs() > LIMIT;
            let (place, reason) = match placed {
                Ok(place) if far(&place) => (place, Some(("far outside the survey", shown(record)))),
                Ok(place) => (place, None),
                Err(why) => {
                    outside = outside.or(Some((record.line, why)));
                    (Point::new(0.0, 0.0), Some(("outside the frame", shown(record))))
                }
            };
            let mut candidate = candidate(index, record, place, scale, settings);
            if let Some((reason, value)) = reason {
                candidate.cannot_be_used(reason, value);
            } else if record.elevation.is_none() {
                candidate.cannot_be_used("no elevation", "empty".to_owned());
            }
            all.push(candidate);
        }
        refuse_if_most_lie_outside(file, frame, &all[first..], outside)?;
        if projector.is_none() && !is_assumed(file) {
            doubt_order(file, frame, area.as_ref(), &all[first..], notes)?;
        }
    }
    mark_kept(files, settings, &mut all, notes)?;
    code_notes(files, &all, notes);
    Ok(all)
}

fn candidate(index: usize, record: &Record, place: Point, scale: f64, settings: &Settings) -> Candidate {
    let read = settings.roles.read(&record.code);
    let mut quality = record.quality;
    for length in [
        &mut quality.horizontal_sigma,
        &mut quality.vertical_sigma,
        &mut quality.horizontal_scatter,
        &mut quality.vertical_scatter,
        &mut quality.base_distance,
        &mut quality.antenna_height,
    ] {
        *length = length.map(|value| value * scale);
    }
    let grid = match record.position {
        Position::Grid { easting, northing } => Point::new(easting * scale, northing * scale),
        Position::Geographic { .. } => Point::new(0.0, 0.0),
    };
    Candidate {
        grid,
        shot: Shot {
            id: record.id.clone(),
            file: u32::try_from(index).unwrap_or(u32::MAX),
            line: record.line,
            place,
            elevation: record.elevation.unwrap_or_default() * scale,
            ellipsoid_height: record.ellipsoid_height.map(|height| height * scale),
            code: record.code.clone(),
            role: read.role.unwrap_or(Role::Ground),
            quality,
            time: record.time.clone(),
            setup: record.setup.clone(),
        },
        read,
        against: None,
        keep: false,
        spared: false,
    }
}

fn shown(record: &Record) -> String {
    match record.position {
        Position::Grid { easting, northing } => format!("E {easting:.3} N {northing:.3}"),
        Position::Geographic { longitude, latitude } => format!("longitude {longitude:.6} latitude {latitude:.6}"),
    }
}

fn in_file(file: &PointFile, line: u64) -> Place {
    Place::File { file: file.name.clone(), line, column: 0 }
}

fn unit_note(files: &[PointFile], frame: &SiteFrame, notes: &mut Vec<Note>) {
    let silent: Vec<&str> = files.iter().filter(|file| file.unit.is_none()).map(|file| file.name.as_str()).collect();
    if !silent.is_empty() {
        let text = format!("no unit said in {}: taken as {}, the frame's own", silent.join(", "), frame.unit.name());
        notes.push(Note::new("survey::unit-assumed", text));
    }
}

/// Refuses a file whose numbers are degrees, or that names another frame.
pub(super) fn refuse(file: &PointFile, frame: &SiteFrame) -> Result<(), SurveyError> {
    refuse_degrees(file, frame)?;
    refuse_other_frame(file, frame)
}

/// Numbers that fit in degrees where a projected frame has metres or feet.
fn refuse_degrees(file: &PointFile, frame: &SiteFrame) -> Result<(), SurveyError> {
    if frame.is_local() && !within_one_degree(file) {
        return Ok(());
    }
    let like_degrees = |record: &&Record| match record.position {
        Position::Grid { easting, northing } => {
            let (low, high) = (easting.abs().min(northing.abs()), easting.abs().max(northing.abs()));
            low <= 90.0 && high <= 180.0 && (easting != 0.0 || northing != 0.0)
        }
        Position::Geographic { .. } => false,
    };
    let mut found = file.records.iter().filter(like_degrees);
    let Some(first) = found.next() else { return Ok(()) };
    if 2 * (found.count() + 1) < file.records.len() {
        return Ok(());
    }
    let Position::Grid { easting, northing } = first.position else { return Ok(()) };
    let column = file.columns.iter().position(|c| *c == Column::Easting).map_or(0, |at| at as u64 + 1);
    Err(SurveyError::Degrees {
        file: file.name.clone(),
        line: first.line,
        column,
        easting,
        northing,
        crs: frame.crs.clone(),
        unit: frame.unit.name(),
    })
}

/// True when no site is so small: a site grid's shots all within one unit of one another are degrees.
fn within_one_degree(file: &PointFile) -> bool {
    let places = || {
        file.records.iter().filter_map(|record| match record.position {
            Position::Grid { easting, northing } => Some((easting, northing)),
            Position::Geographic { .. } => None,
        })
    };
    let Some(first) = places().next() else { return false };
    let near = |(easting, northing): (f64, f64)| (easting - first.0).abs() < 1.0 && (northing - first.1).abs() < 1.0;
    // Close to the origin of a grid a handful of shots may well lie within a metre.
    places().count() > 3 && first.0.abs().max(first.1.abs()) > 2.0 && places().all(near)
}

/// Grid coordinates of another frame than the site's.
fn refuse_other_frame(file: &PointFile, frame: &SiteFrame) -> Result<(), SurveyError> {
    match &file.crs {
        Some(own) if !frame.is_local() && *own != frame.crs => Err(SurveyError::OtherFrame {
            file: file.name.clone(),
            own: own.clone(),
            site: format!("{} ({})", frame.crs, frame.name),
        }),
        _ => Ok(()),
    }
}

fn projector(file: &PointFile, settings: &Settings, frame: &SiteFrame) -> Result<Option<Projector>, SurveyError> {
    let geographic = file.records.iter().any(|record| matches!(record.position, Position::Geographic { .. }));
    match (geographic, frame.is_local()) {
        (false, _) => Ok(None),
        (true, true) => Err(SurveyError::NoProjection { file: file.name.clone() }),
        (true, false) => {
            // A format that says which system its degrees are in is believed, unless the user says another.
            let own = file.geographic.as_ref().filter(|_| settings.geographic == Geographic::OwnDatum);
            let meant = own.unwrap_or(&settings.geographic);
            Projector::new(frame, meant).map(Some).map_err(|error| SurveyError::Frame(error.to_string()))
        }
    }
}

fn refuse_if_most_lie_outside(
    file: &PointFile,
    frame: &SiteFrame,
    candidates: &[Candidate],
    outside: Option<(u64, String)>,
) -> Result<(), SurveyError> {
    let unusable = |reason: &str| {
        candidates.iter().filter(|c| c.against.as_ref().is_some_and(|a| a.reason == reason)).count() * 2
            > candidates.len()
    };
    if let (Some((line, why)), true) = (outside, unusable("outside the frame")) {
        return Err(SurveyError::OutsideFrame { file: file.name.clone(), line, why });
    }
    if unusable("far outside the survey") {
        let line = file.records.first().map_or(0, |record| record.line);
        let why = format!(
            "most of its shots lie more than {:.0} km from the rest of the site, such as {}{}",
            LIMIT / 1000.0,
            file.records.first().map(shown).unwrap_or_default(),
            nearer_in(file, frame).map_or_else(String::new, |unit| format!(
                "; in {unit} they would lie with the rest: say units = \"{unit}\", and units of each file where they differ"
            ))
        );
        return Err(SurveyError::OutsideFrame { file: file.name.clone(), line, why });
    }
    Ok(())
}

/// The unit in which a file that says none would lie with the rest of the site.
fn nearer_in(file: &PointFile, frame: &SiteFrame) -> Option<&'static str> {
    let near = |unit: &LengthUnit| {
        let place = file.records.iter().find_map(|record| match record.position {
            Position::Grid { easting, northing } => {
                Some(frame.from_grid_metres(easting * unit.metres(), northing * unit.metres()))
            }
            Position::Geographic { .. } => None,
        });
        place.is_some_and(|place| place.x.abs() <= LIMIT && place.y.abs() <= LIMIT)
    };
    let others =
        [LengthUnit::Metres, LengthUnit::Feet].into_iter().filter(|unit| file.unit.is_none() && *unit != frame.unit);
    others.into_iter().find(near).map(LengthUnit::name)
}

/// Where the user or the header says the order, the frame's area of use may still contradict.
fn doubt_order(
    file: &PointFile,
    frame: &SiteFrame,
    area: Option<&Projector>,
    candidates: &[Candidate],
    notes: &mut Vec<Note>,
) -> Result<(), SurveyError> {
    let Some(projector) = area else { return Ok(()) };
    let places: Vec<Point> = candidates.iter().filter(|c| c.stands()).map(|c| c.shot.place).collect();
    let middle = |part: fn(&Point) -> f64| median(&places.iter().map(part).collect::<Vec<_>>());
    let (Some(x), Some(y)) = (middle(|p| p.x), middle(|p| p.y)) else { return Ok(()) };
    let Err(why) = projector.to_lonlat(Point::new(x, y)) else { return Ok(()) };
    let grid = frame.to_grid_metres(Point::new(x, y));
    let swapped = frame.from_grid_metres(grid.y, grid.x);
    if projector.to_lonlat(swapped).is_ok() {
        let how = match file.columns_from {
            ColumnsFrom::Header => "in the header",
            ColumnsFrom::Said | ColumnsFrom::Assumed | ColumnsFrom::Settled => "said",
        };
        let unit = frame.unit.metres();
        return Err(SurveyError::Swapped {
            file: file.name.clone(),
            easting: grid.x / unit,
            northing: grid.y / unit,
            crs: frame.crs.clone(),
            how,
        });
    }
    if let (None, Some(unit)) = (file.unit, other_unit(grid, frame, projector)) {
        return Err(SurveyError::UnitForgotten {
            file: file.name.clone(),
            easting: grid.x / frame.unit.metres(),
            northing: grid.y / frame.unit.metres(),
            crs: frame.crs.clone(),
            taken: frame.unit.name(),
            unit: unit.name(),
        });
    }
    let unit = frame.unit.metres();
    let text = format!(
        "easting {:.0}, northing {:.0} in {}: {why}; is that the frame of this file? What is laid on a map by it will lie there",
        grid.x / unit,
        grid.y / unit,
        frame.unit.name()
    );
    notes.push(Note::new("survey::outside-area", text).at(in_file(file, 0)));
    Ok(())
}

/// What the user keeps in any case, and what the user leaves out.
fn mark_kept(
    files: &[PointFile],
    settings: &Settings,
    all: &mut [Candidate],
    notes: &mut Vec<Note>,
) -> Result<(), SurveyError> {
    let mut kept: BTreeMap<usize, &str> = BTreeMap::new();
    for wanted in &settings.keep {
        for i in named(wanted, files, all, "keep", notes) {
            all[i].keep = true;
            kept.entry(i).or_insert(wanted);
            if let Some(against) = all[i].against.as_ref().filter(|against| !against.can_keep) {
                let text = format!("`{wanted}` cannot be put back: {} ({})", against.reason, against.value);
                notes.push(Note::new("survey::keep-not-possible", text));
            }
        }
    }
    for wanted in &settings.drop {
        for i in named(wanted, files, all, "drop", notes) {
            if let Some(keep) = kept.get(&i) {
                return Err(SurveyError::KeptAndDropped {
                    drop: wanted.clone(),
                    keep: (*keep).to_owned(),
                    file: files[all[i].shot.file as usize].name.clone(),
                    line: all[i].shot.line,
                });
            }
            all[i].set_aside("left out as asked", format!("drop names `{wanted}`"));
        }
    }
    Ok(())
}

/// The shots that `file:point` or `file:line 243` names; also `file:243` for a line when no point of the file has that
/// number.
fn named(wanted: &str, files: &[PointFile], all: &[Candidate], key: &str, notes: &mut Vec<Note>) -> Vec<usize> {
    let (name, point) = wanted.rsplit_once(':').unwrap_or(("", wanted));
    let of_file = |c: &Candidate| name.is_empty() || super::same_file(&files[c.shot.file as usize].name, name);
    let by_id = all.iter().any(|c| of_file(c) && c.shot.id == point);
    let line = super::find::line_of(point).or_else(|| point.parse().ok());
    let is_meant = |c: &Candidate| of_file(c) && if by_id { c.shot.id == point } else { line == Some(c.shot.line) };
    let found: Vec<usize> = (0..all.len()).filter(|&i| is_meant(&all[i])).collect();
    if found.is_empty() {
        let text = format!("{key} names `{wanted}`, but no shot has that file and point number or line");
        notes.push(Note::new(&format!("survey::{key}-without-shot"), text));
    }
    // What is written as a point number and means a line may be a slip of the pen; shots without numbers have no other name.
    for shot in found.iter().map(|&i| &all[i].shot).filter(|shot| !by_id && shot.id != point && !shot.id.is_empty()) {
        if super::find::line_of(point).is_none() {
            let text = format!(
                "{key} names `{wanted}`, and no shot has that number: line {point} is taken, point {}; write `line {point}` if that is meant",
                shot.id
            );
            notes.push(Note::new("survey::line-for-point", text).at(in_file(&files[shot.file as usize], shot.line)));
        }
    }
    found
}

/// Codes that the table does not know, and point numbers that a file gives twice.
fn code_notes(files: &[PointFile], all: &[Candidate], notes: &mut Vec<Note>) {
    let mut unknown: BTreeMap<&str, usize> = BTreeMap::new();
    for candidate in all.iter().filter(|c| c.read.role.is_none()) {
        *unknown.entry(&candidate.read.word).or_default() += 1;
    }
    let without = unknown.remove("").unwrap_or(0);
    if without > 0 {
        notes.push(Note::new("survey::no-code", format!("{without} shots have no code: taken as ground")));
    }
    if !unknown.is_empty() {
        let list: Vec<String> = unknown.iter().map(|(word, count)| format!("{word} ({count})")).collect();
        let text = format!("codes that [survey.roles] does not name, taken as ground: {}", super::list_some(&list, 12));
        notes.push(Note::new("survey::code-without-role", text));
    }
    for (index, file) in files.iter().enumerate() {
        let mut lines: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
        for record in all.iter().filter(|c| c.shot.file as usize == index && !c.shot.id.is_empty()) {
            lines.entry(&record.shot.id).or_default().push(record.shot.line);
        }
        lines.retain(|_, lines| lines.len() > 1);
        if !lines.is_empty() {
            let list: Vec<String> = lines
                .iter()
                .map(|(id, lines)| {
                    format!("{id} (lines {})", lines.iter().map(u64::to_string).collect::<Vec<_>>().join(", "))
                })
                .collect();
            let text = format!("point numbers that stand more than once: {}", super::list_some(&list, 8));
            notes.push(Note::new("survey::number-twice", text).at(in_file(file, 0)));
        }
    }
}

/// The middle of the files' shots as easting and northing in the frame's unit: where the site's local frame is put.
/// `None` when there is no shot.
///
/// # Errors
/// [`SurveyError::NoProjection`] for latitudes in a local frame, and what the frame says of a place outside its area.
pub fn middle(
    files: &[PointFile],
    settings: &Settings,
    definition: &crate::frame::FrameDefinition,
) -> Result<Option<(f64, f64)>, SurveyError> {
    let (mut eastings, mut northings) = (Vec::new(), Vec::new());
    let frame = definition.site_frame((0.0, 0.0), None);
    let asked = files.iter().any(is_assumed) && !frame.is_local();
    let area = if asked { Projector::new(&frame, &Geographic::OwnDatum).ok() } else { None };
    for file in files {
        refuse(file, &frame)?;
        let file = &*settled(file, &frame, area.as_ref(), &mut Vec::new())?;
        let projector = projector(file, settings, &frame)?;
        let scale = file.unit.unwrap_or(definition.unit).metres() / definition.unit.metres();
        let mut fault = None;
        for record in &file.records {
            let place = match (record.position, &projector) {
                (Position::Grid { easting, northing }, _) => Ok((easting * scale, northing * scale)),
                (Position::Geographic { longitude, latitude }, Some(projector)) => {
                    projector.to_grid(longitude, latitude)
                }
                (Position::Geographic { .. }, None) => continue,
            };
            match place {
                Ok((easting, northing)) => {
                    eastings.push(easting);
                    northings.push(northing);
                }
                Err(why) => fault = fault.or_else(|| Some((record.line, why.to_string()))),
            }
        }
        if let (Some((line, why)), true) = (fault, eastings.is_empty()) {
            return Err(SurveyError::OutsideFrame { file: file.name.clone(), line, why });
        }
    }
    Ok(median(&eastings).zip(median(&northings)))
}

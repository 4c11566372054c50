//! What is in a point file, before any pipeline exists: how it was understood, its codes, its quality, what a survey made
//! of it would set aside.
//!
//! Invariant: nothing need be known of the site. Without a frame the files stand in a site grid of their own unit, and
//! latitudes are laid flat around their middle, true enough to see spacing and blunders by; codes that no table explains
//! are guessed from common words, and each guess is marked as one.

use super::check::judge;
use super::order::{is_assumed, readings, settled};
use super::{
    CheckShot, ColumnsFrom, Fix, Format, PointFile, Position, Role, Roles, SetAside, Settings, Survey, SurveyError,
};
use crate::frame::{FrameDefinition, Geographic, Projector, SiteFrame};
use crate::notes::{Note, Noted, Place, Silent};
use crate::stats::median;
use crate::units::LengthUnit;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// What is in some point files.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Look {
    /// Always `points`.
    pub kind: &'static str,
    /// Lines that hold a point.
    pub points: usize,
    /// Each file by itself.
    pub files: Vec<FileLook>,
    /// Where the kept shots lie; `None` when none is kept.
    pub extent: Option<Extent>,
    /// Median distance to the nearest other ground shot, metres.
    pub spacing_m: f64,
    /// Shots that a survey would use.
    pub shots_kept: usize,
    /// Shots that a survey would set aside, and why.
    pub set_aside: Vec<SetAside>,
    /// Breaklines that the codes make.
    pub breaklines: usize,
    /// Check shots against their marks.
    pub checks: Vec<CheckShot>,
    /// The code table as it was understood, role to codes: what `[survey.roles]` could say.
    pub roles: BTreeMap<&'static str, Vec<String>>,
    /// What was guessed or is doubtful.
    pub notes: Vec<Note>,
}

/// One file as it was understood.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct FileLook {
    /// The file as the user named it.
    pub name: String,
    /// Lines that hold a point.
    pub points: usize,
    /// What kind of file it is.
    pub format: Format,
    /// What its columns hold.
    pub columns: Vec<&'static str>,
    /// How that came to be known.
    pub columns_from: ColumnsFrom,
    /// Its header's titles.
    pub titles: Vec<String>,
    /// Its unit, when it says one.
    pub unit: Option<LengthUnit>,
    /// True when its places are latitude and longitude.
    pub geographic: bool,
    /// Its codes by number of shots.
    pub codes: Vec<CodeLook>,
    /// Shots by kind of solution.
    pub fixes: FixCounts,
    /// Least, median and greatest stated vertical sigma, metres.
    pub vertical_sigma_m: Option<[f64; 3]>,
    /// Least, median and greatest stated horizontal sigma, metres.
    pub horizontal_sigma_m: Option<[f64; 3]>,
    /// Least, median and greatest PDOP.
    pub pdop: Option<[f64; 3]>,
    /// First and last time as the file gives them.
    pub times: Option<[String; 2]>,
}

/// A code and its shots.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct CodeLook {
    /// The code's word, without number.
    pub code: String,
    /// Shots that bear it.
    pub shots: usize,
    /// Different string numbers.
    pub strings: usize,
    /// What it is taken for.
    pub role: Role,
    /// How that came to be known.
    pub role_from: RoleFrom,
}

/// How a code came to its role.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RoleFrom {
    /// The code table says so, or it is the plain name of the role.
    Said,
    /// A common word.
    Guessed,
    /// Nothing known: taken as ground.
    Unknown,
}

/// Shots by kind of solution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct FixCounts {
    /// Fixed.
    pub fixed: usize,
    /// Float.
    pub float: usize,
    /// Code or autonomous.
    pub coarse: usize,
    /// Not said.
    pub unknown: usize,
}

/// Where shots lie, in the frame's unit.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
#[serde(into = "ExtentInMetres")]
pub struct Extent {
    /// Least easting.
    pub west: f64,
    /// Greatest easting.
    pub east: f64,
    /// Least northing.
    pub south: f64,
    /// Greatest northing.
    pub north: f64,
    /// Least elevation.
    pub lowest: f64,
    /// Greatest elevation.
    pub highest: f64,
    /// The unit of all of these.
    pub unit: LengthUnit,
}

/// An extent as it is written for programs.
#[derive(serde::Serialize)]
struct ExtentInMetres {
    west_m: f64,
    east_m: f64,
    south_m: f64,
    north_m: f64,
    lowest_m: f64,
    highest_m: f64,
    unit: LengthUnit,
}

impl From<Extent> for ExtentInMetres {
    fn from(extent: Extent) -> Self {
        let metres = |value: f64| value * extent.unit.metres();
        Self {
            west_m: metres(extent.west),
            east_m: metres(extent.east),
            south_m: metres(extent.south),
            north_m: metres(extent.north),
            lowest_m: metres(extent.lowest),
            highest_m: metres(extent.highest),
            unit: extent.unit,
        }
    }
}

/// A report, and the survey behind it for the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Looked {
    /// What is told.
    pub look: Look,
    /// What can be drawn.
    pub survey: Survey,
}

/// Looks at point files, in a frame when the user names one.
///
/// # Errors
/// [`SurveyError`] when the files contradict the frame; without one, hardly ever.
pub fn look(files: &[PointFile], settings: &Settings, frame: Option<&SiteFrame>) -> Result<Looked, SurveyError> {
    let said = &settings.roles;
    let guessed = guess(files, said);
    let settings = Settings { roles: guessed.clone(), ..settings.clone() };
    let Noted { value: survey, mut notes } = if let Some(frame) = frame {
        judge(files, &settings, frame, None, &Silent)?
    } else {
        let mut flat = flatten(files);
        for file in flat.iter_mut().filter(|file| is_assumed(file)) {
            let text = format!("northing and easting cannot be told apart without a frame: {}", readings(file));
            file.notes.push(Note::new("look::order-assumed", text).at(Place::File {
                file: file.name.clone(),
                line: 0,
                column: 0,
            }));
            // A look goes on where a run would refuse.
            file.columns_from = ColumnsFrom::Said;
        }
        judge(&flat, &settings, &own_frame(&flat), None, &Silent)?
    };
    if frame.is_none() && files.iter().any(is_geographic) {
        let text =
            "latitude and longitude are laid flat around their middle here; a run projects them to the site's crs";
        notes.push(Note::new("look::laid-flat", text));
    }
    let looks: Vec<FileLook> =
        files.iter().map(|file| file_look(&as_read(file, frame), &guessed, said, frame)).collect();
    let is_guess = |code: &&CodeLook| code.role_from == RoleFrom::Guessed;
    let mut guesses: Vec<String> = looks
        .iter()
        .flat_map(|file| &file.codes)
        .filter(is_guess)
        .map(|code| format!("{} = {}", code.code, code.role.name()))
        .collect();
    guesses.sort();
    guesses.dedup();
    if !guesses.is_empty() {
        let text = format!("codes guessed by common words, say them in [survey.roles]: {}", guesses.join(", "));
        notes.push(Note::new("look::roles-guessed", text));
    }
    let mut roles: BTreeMap<&'static str, Vec<String>> = BTreeMap::new();
    for code in looks.iter().flat_map(|file| &file.codes).filter(|code| !code.code.is_empty()) {
        let codes = roles.entry(code.role.name()).or_default();
        if !codes.contains(&code.code) {
            codes.push(code.code.clone());
        }
    }
    let look = Look {
        kind: "points",
        points: files.iter().map(|file| file.records.len()).sum(),
        files: looks,
        extent: extent(&survey),
        spacing_m: survey.spacing(),
        shots_kept: survey.shots.len(),
        set_aside: survey.set_aside.clone(),
        breaklines: survey.breaklines.len(),
        checks: survey.checks.clone(),
        roles,
        notes,
    };
    Ok(Looked { look, survey })
}

/// A file in the order in which a frame's area of use has it read; without a frame, or where that does not decide, as it is.
fn as_read<'a>(file: &'a PointFile, frame: Option<&SiteFrame>) -> Cow<'a, PointFile> {
    let Some(frame) = frame.filter(|frame| !frame.is_local() && is_assumed(file)) else { return Cow::Borrowed(file) };
    let area = Projector::new(frame, &Geographic::OwnDatum).ok();
    // What is told of it the survey tells.
    settled(file, frame, area.as_ref(), &mut Vec::new()).unwrap_or(Cow::Borrowed(file))
}

fn is_geographic(file: &PointFile) -> bool {
    file.records.iter().any(|record| matches!(record.position, Position::Geographic { .. }))
}

/// The files with latitudes laid flat, one degree of latitude 111.2 km: for the eye, never for works.
fn flatten(files: &[PointFile]) -> Vec<PointFile> {
    let (mut longitudes, mut latitudes) = (Vec::new(), Vec::new());
    for record in files.iter().flat_map(|file| &file.records) {
        if let Position::Geographic { longitude, latitude } = record.position {
            longitudes.push(longitude);
            latitudes.push(latitude);
        }
    }
    let Some((east, north)) = median(&longitudes).zip(median(&latitudes)) else { return files.to_vec() };
    let mut files = files.to_vec();
    for file in files.iter_mut().filter(|file| is_geographic(file)) {
        let degree = 111_200.0 / file.unit.unwrap_or_default().metres();
        for record in &mut file.records {
            if let Position::Geographic { longitude, latitude } = record.position {
                record.position = Position::Grid {
                    easting: (longitude - east) * degree * north.to_radians().cos(),
                    northing: (latitude - north) * degree,
                };
            }
        }
    }
    files
}

fn own_frame(files: &[PointFile]) -> SiteFrame {
    // A file that does not say is taken in metres, so one that does must not speak for it.
    let unit =
        files.first().and_then(|file| file.unit).filter(|unit| files.iter().all(|file| file.unit == Some(*unit)));
    let unit = unit.unwrap_or_default();
    let middle = |part: fn(&Position) -> f64| {
        let values: Vec<f64> = files
            .iter()
            .flat_map(|file| {
                let scale = file.unit.unwrap_or(unit).metres() / unit.metres();
                file.records.iter().map(move |record| part(&record.position) * scale)
            })
            .collect();
        median(&values).unwrap_or(0.0)
    };
    let easting = |position: &Position| match *position {
        Position::Grid { easting, .. } => easting,
        Position::Geographic { longitude, .. } => longitude,
    };
    let northing = |position: &Position| match *position {
        Position::Grid { northing, .. } => northing,
        Position::Geographic { latitude, .. } => latitude,
    };
    FrameDefinition::local(unit).site_frame((middle(easting), middle(northing)), None)
}

/// Common words of field codes; common practice, no source. Only `look` guesses: a run goes by the user's table.
const GUESSES: [(Role, &[&str]); 7] = [
    (Role::Ground, &["gs", "g", "gl", "gr", "ns", "ng", "nat", "spot", "sp", "topo", "level", "surface"]),
    (
        Role::Breakline,
        &[
            "ridge", "drain", "gully", "creek", "top", "toe", "tob", "bob", "bank", "track", "road", "ditch",
            "channel", "invert", "bl", "break",
        ],
    ),
    (Role::Mark, &["cp", "bm", "tbm", "pm", "ctrl", "peg"]),
    (Role::Check, &["chk", "ck"]),
    (Role::Water, &["wl", "we", "waterline"]),
    (Role::Service, &["pole", "power", "pipe", "cable", "gas", "hydrant", "valve"]),
    (Role::KeepOut, &["tree", "well", "grave", "bore"]),
];

/// The code table with common words for the codes that it does not name; of `track-top` the first part may speak.
fn guess(files: &[PointFile], said: &Roles) -> Roles {
    let mut roles = said.clone();
    let common = |word: &str| GUESSES.iter().find(|(_, words)| words.contains(&word)).map(|(role, _)| *role);
    for record in files.iter().flat_map(|file| &file.records) {
        let read = said.read(&record.code);
        let first_part = read.word.split(['-', '_']).next().unwrap_or_default();
        if let (None, Some(role)) = (read.role, common(&read.word).or_else(|| common(first_part))) {
            roles.set(&read.word, role);
        }
    }
    // A word that nothing explains, but with numbers that recur or words that begin and end lines, makes lines.
    let mut strings: BTreeMap<(String, String), usize> = BTreeMap::new();
    for record in files.iter().flat_map(|file| &file.records) {
        let read = roles.read(&record.code);
        if read.role.is_none() && (!read.number.is_empty() || read.figure.is_some() || read.arc) {
            let weight = if read.figure.is_some() || read.arc { 2 } else { 1 };
            *strings.entry((read.word, read.number)).or_default() += weight;
        }
    }
    for ((word, _), _) in strings.into_iter().filter(|((word, _), weight)| *weight > 1 && !word.is_empty()) {
        roles.set(&word, Role::Breakline);
    }
    roles
}

fn file_look(file: &PointFile, guessed: &Roles, said: &Roles, frame: Option<&SiteFrame>) -> FileLook {
    let metres = file.unit.or(frame.map(|frame| frame.unit)).unwrap_or_default().metres();
    let mut codes: BTreeMap<String, (usize, Vec<String>)> = BTreeMap::new();
    let mut fixes = FixCounts::default();
    for record in &file.records {
        let read = guessed.read(&record.code);
        let (shots, strings) = codes.entry(read.word).or_default();
        *shots += 1;
        if !read.number.is_empty() && !strings.contains(&read.number) {
            strings.push(read.number);
        }
        match record.quality.fix {
            Fix::Fixed => fixes.fixed += 1,
            Fix::Float => fixes.float += 1,
            Fix::Coarse => fixes.coarse += 1,
            Fix::Unknown => fixes.unknown += 1,
        }
    }
    let mut codes: Vec<CodeLook> = codes
        .into_iter()
        .map(|(code, (shots, strings))| {
            let role_from = match (said.read(&code).role, guessed.read(&code).role) {
                (Some(_), _) => RoleFrom::Said,
                (None, Some(_)) => RoleFrom::Guessed,
                (None, None) => RoleFrom::Unknown,
            };
            let role = guessed.read(&code).role.unwrap_or(Role::Ground);
            CodeLook { code, shots, strings: strings.len(), role, role_from }
        })
        .collect();
    codes.sort_by(|a, b| b.shots.cmp(&a.shots).then_with(|| a.code.cmp(&b.code)));
    let spread = |of: fn(&super::Quality) -> Option<f64>, scale: f64| {
        let values: Vec<f64> = file.records.iter().filter_map(|r| of(&r.quality)).map(|value| value * scale).collect();
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        median(&values).map(|middle| [low, middle, high])
    };
    let mut times = file.records.iter().filter_map(|record| record.time.clone());
    let first = times.next();
    let last = times.next_back().or_else(|| first.clone());
    FileLook {
        name: file.name.clone(),
        points: file.records.len(),
        format: file.format,
        columns: file.columns.iter().map(|column| column.name()).collect(),
        columns_from: file.columns_from,
        titles: file.titles.clone(),
        unit: file.unit,
        geographic: is_geographic(file),
        codes,
        fixes,
        vertical_sigma_m: spread(|quality| quality.vertical_sigma, metres),
        horizontal_sigma_m: spread(|quality| quality.horizontal_sigma, metres),
        pdop: spread(|quality| quality.pdop, 1.0),
        times: first.zip(last).map(|(first, last)| [first, last]),
    }
}

fn extent(survey: &Survey) -> Option<Extent> {
    let bounds = crate::geom::Bounds::around(survey.shots.iter().map(|shot| shot.place))?;
    let frame = &survey.frame;
    let ((west, south), (east, north)) = (frame.to_frame(bounds.low), frame.to_frame(bounds.high));
    let elevations = || survey.shots.iter().map(|shot| frame.elevation_to_frame(shot.elevation));
    let lowest = elevations().fold(f64::INFINITY, f64::min);
    let highest = elevations().fold(f64::NEG_INFINITY, f64::max);
    Some(Extent { west, east, south, north, lowest, highest, unit: frame.unit })
}

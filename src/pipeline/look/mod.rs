//! What is in a file, and does it look right: told before any pipeline exists.

mod cloud;
mod frame;
mod levels;
mod surface;

pub use surface::look_at;

use super::foreign::ending;
use super::open::frame_for;
use super::{PipelineError, PointOptions};
use crate::draw::{Scene, cloud_plan, surface_plan, survey_plan};
use crate::frame::SiteFrame;
use crate::geom::{Bounds, Point};
use crate::ground::Sketch;
use crate::io::read::{grid, level_book, points};
use crate::notes::Note;
use crate::surface::Tin;
use crate::survey::{self, ColumnsFrom, FileLook, Format, Looked, RoleFrom, Survey};
use crate::units::{Figures, LengthUnit};
use serde_json::{Value as Json, json};
use std::path::PathBuf;

/// What a look at files found.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// For programs: `kind`, `points` and more.
    pub json: Json,
    /// For people.
    pub lines: Vec<String>,
    /// What is to be told beside it.
    pub notes: Vec<Note>,
    /// What can be drawn.
    pub drawable: Drawable,
}

/// What a look can draw.
#[derive(Debug, Clone, PartialEq)]
pub enum Drawable {
    /// The shots of point files.
    Survey(Box<Survey>),
    /// A cloud in cells.
    Cloud(Sketch, SiteFrame),
    /// A surface.
    Surface(Tin, SiteFrame),
    /// Nothing, and why.
    Nothing(&'static str),
}

impl Drawable {
    /// The drawing.
    ///
    /// # Errors
    /// In words, when there is nothing to draw.
    pub fn scene(&self) -> Result<Scene, &'static str> {
        let figures = Figures::default();
        match self {
            Self::Survey(survey) if survey.shots.is_empty() && survey.set_aside.is_empty() => {
                Err("no shot has a place")
            }
            Self::Survey(survey) => Ok(survey_plan(survey, None, figures)),
            Self::Cloud(sketch, frame) => Ok(cloud_plan(sketch, frame, figures)),
            Self::Surface(tin, frame) => Ok(surface_plan(tin, frame, figures)),
            Self::Nothing(why) => Err(why),
        }
    }
}

/// Looks at point files, all together as one survey, or at one cloud or surface.
///
/// # Errors
/// [`PipelineError`] when a file cannot be read.
pub fn look(paths: &[PathBuf], options: &PointOptions) -> Result<Vec<Look>, PipelineError> {
    let (points, others): (Vec<&PathBuf>, Vec<&PathBuf>) = paths.iter().partition(|path| points::is_points(path));
    let (books, points): (Vec<&PathBuf>, Vec<&PathBuf>) =
        points.into_iter().partition(|path| options.columns.is_none() && level_book::is_one_at(path));
    let mut found = Vec::new();
    for book in books {
        found.push(levels::look(book, options)?);
    }
    if !points.is_empty() {
        found.push(at_points(&points, options)?);
    }
    for path in others {
        let mut look = match ending(path).as_str() {
            "las" | "laz" if !path.is_dir() => cloud::look(path)?,
            _ if grid::is_grid(path) => surface::look_at_grid(path, options)?,
            _ => surface::look(path, options)?,
        };
        look.json["file"] = json!(path.display().to_string());
        look.json["notes"] = json!(look.notes);
        look.lines.insert(0, path.display().to_string());
        found.push(look);
    }
    Ok(found)
}

fn at_points(paths: &[&PathBuf], options: &PointOptions) -> Result<Look, PipelineError> {
    let files = paths.iter().map(|path| Ok(points::read(path, &options.file())?));
    let files = files.collect::<Result<Vec<_>, PipelineError>>()?;
    let named = files.iter().any(|file| file.crs.is_some());
    let frame =
        if named || options.crs.is_some() { Some(frame_for(&files, options, None, &mut Vec::new())?) } else { None };
    let Looked { look, survey } = survey::look(&files, &options.settings(), frame.as_ref())?;
    let mut json = serde_json::to_value(&look).map_err(|error| PipelineError::Fault { what: error.to_string() })?;
    // What the shots were judged in: without a frame that is known, a site grid.
    json["frame"] = json!(survey.frame);
    let mut lines: Vec<String> = look.files.iter().flat_map(file_lines).collect();
    let in_words = match &frame {
        Some(frame) => {
            format!("{}{}", frame::known(frame), if options.crs.is_none() { ", as the file says" } else { "" })
        }
        None => frame::of_points(&files),
    };
    lines.push(format!("frame {in_words}"));
    if let Some(extent) = look.extent {
        lines.push(format!(
            "easting {:.1} to {:.1}, northing {:.1} to {:.1}, elevation {:.2} to {:.2}, in {}",
            extent.west,
            extent.east,
            extent.south,
            extent.north,
            extent.lowest,
            extent.highest,
            extent.unit.name()
        ));
    }
    lines.push(format!(
        "{} shots would be used, {} set aside; {} breaklines; ground shots {:.1} m apart (median)",
        look.shots_kept,
        look.set_aside.len(),
        look.breaklines,
        look.spacing_m
    ));
    for row in look.set_aside.iter().take(SHOWN) {
        lines
            .push(format!("  set aside: {}:{} point {}: {} ({})", row.file, row.line, row.shot, row.reason, row.value));
    }
    if look.set_aside.len() > SHOWN {
        lines.push(format!("  and {} more", look.set_aside.len() - SHOWN));
    }
    lines.extend(text_map(&survey));
    Ok(Look { json, lines, notes: look.notes, drawable: Drawable::Survey(Box::new(survey)) })
}

/// Most rows of a list on the screen.
const SHOWN: usize = 12;

fn file_lines(file: &FileLook) -> Vec<String> {
    let from = match file.columns_from {
        ColumnsFrom::Said => "as said",
        ColumnsFrom::Header => "from its header",
        ColumnsFrom::Assumed => "assumed",
        ColumnsFrom::Settled => "found out",
    };
    let mut lines = vec![
        format!("{}: {} points", file.name, file.points),
        match file.format {
            Format::Text(delimiter) => {
                format!("  columns {from}, {} between them: {}", delimiter.name(), file.columns.join(", "))
            }
            format => format!("  {}, columns {from}: {}", format.name(), file.columns.join(", ")),
        },
    ];
    let codes: Vec<String> = file
        .codes
        .iter()
        .map(|code| {
            let how = match code.role_from {
                RoleFrom::Said => "",
                RoleFrom::Guessed => " (guessed)",
                RoleFrom::Unknown => " (not known, so taken for it)",
            };
            format!(
                "{} {} = {}{how}",
                code.shots,
                if code.code.is_empty() { "without code" } else { &code.code },
                code.role.name()
            )
        })
        .collect();
    lines.push(format!("  codes: {}", codes.join(", ")));
    let fixes = &file.fixes;
    lines.push(format!(
        "  solutions: {} fixed, {} float, {} coarse, {} not said",
        fixes.fixed, fixes.float, fixes.coarse, fixes.unknown
    ));
    let sigma = |[least, median, greatest]: [f64; 3]| {
        format!("{:.0} / {:.0} / {:.0} mm", least * 1000.0, median * 1000.0, greatest * 1000.0)
    };
    if let Some(vertical) = file.vertical_sigma_m {
        lines.push(format!("  vertical sigma, least / median / greatest: {}", sigma(vertical)));
    }
    if let Some([first, last]) = &file.times {
        lines.push(format!("  from {first} to {last}"));
    }
    lines
}

fn extent(survey: &Survey) -> Option<(Bounds, f64, f64)> {
    let bounds = Bounds::around(survey.shots.iter().map(|shot| shot.place))?;
    let elevations = || survey.shots.iter().map(|shot| shot.elevation);
    Some((bounds, elevations().fold(f64::INFINITY, f64::min), elevations().fold(f64::NEG_INFINITY, f64::max)))
}

fn extent_line(frame: &SiteFrame, bounds: Bounds, lowest: f64, highest: f64) -> String {
    let (west, south) = frame.to_frame(bounds.low);
    let (east, north) = frame.to_frame(bounds.high);
    format!(
        "easting {west:.1} to {east:.1}, northing {south:.1} to {north:.1}, elevation {:.2} to {:.2}, in {}",
        frame.elevation_to_frame(lowest),
        frame.elevation_to_frame(highest),
        frame.unit.name()
    )
}

/// Columns of the drawing.
const WIDE: usize = 64;

/// The shots drawn in characters, north up: 0 the lowest ground of the file to 9 the highest, `+` marks and checks,
/// `-` breaklines. A character is about twice as high as wide.
fn text_map(survey: &Survey) -> Vec<String> {
    let Some((bounds, lowest, highest)) = extent(survey) else { return Vec::new() };
    let (width, height) = (bounds.width().max(1e-9), bounds.height().max(1e-9));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of lines, bounded")]
    let high = ((WIDE as f64 * height / width / 2.0).round().clamp(3.0, 40.0)) as usize;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the drawing by construction")]
    let cell = |place: Point| {
        let across = (place.x - bounds.low.x) / width * (WIDE - 1) as f64;
        let down = (bounds.high.y - place.y) / height * (high - 1) as f64;
        (down.round() as usize, across.round() as usize)
    };
    let mut drawing = vec![vec![' '; WIDE]; high];
    for shot in &survey.shots {
        let (row, column) = cell(shot.place);
        let mark = match shot.role {
            survey::Role::Mark | survey::Role::Check => '+',
            survey::Role::Breakline if drawing[row][column] == ' ' => '-',
            role if role.is_ground() && drawing[row][column] != '+' => {
                let share = (shot.elevation - lowest) / (highest - lowest).max(1e-9);
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 9")]
                let digit = (share * 9.0).round() as u32;
                char::from_digit(digit, 10).unwrap_or('?')
            }
            _ => continue,
        };
        drawing[row][column] = mark;
    }
    let unit = survey.frame.unit;
    let [low, high] = [lowest, highest].map(|height| height / unit.metres());
    let unit = if unit == LengthUnit::Metres { "m" } else { unit.name() };
    let mut lines = vec![format!("  north up; 0 is {low:.2}, 9 is {high:.2} {unit}, + a mark, - a breakline")];
    lines.extend(drawing.into_iter().map(|row| format!("  |{}|", row.into_iter().collect::<String>())));
    lines
}

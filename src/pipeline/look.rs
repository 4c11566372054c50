//! What is in a file, and does it look right: told before any pipeline exists.

use super::open::{ending, frame_for};
use super::{PipelineError, PointOptions, open_surface};
use crate::frame::SiteFrame;
use crate::geom::{Bounds, Point};
use crate::io::read::{cloud, points};
use crate::notes::Note;
use crate::survey::{self, Survey};
use serde_json::{Value as Json, json};
use std::path::Path;

/// What a look at a file found.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// For programs: `kind`, `points` and more.
    pub json: Json,
    /// For people.
    pub lines: Vec<String>,
    /// What is to be told beside it.
    pub notes: Vec<Note>,
}

/// Looks at a point file, a cloud or a surface.
///
/// # Errors
/// [`PipelineError`] when it cannot be read.
pub fn look(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    let found = match ending(path).as_str() {
        _ if path.is_dir() => at_surface(path, options),
        "las" | "laz" => at_cloud(path),
        "xml" | "landxml" => at_surface(path, options),
        _ => at_points(path, options),
    };
    found.map(|mut look| {
        look.json["file"] = json!(path.display().to_string());
        look.json["notes"] = json!(look.notes);
        look.lines.insert(0, path.display().to_string());
        look
    })
}

fn at_points(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    let file = points::read(path, &options.file())?;
    let mut notes = Vec::new();
    let frame = frame_for(std::slice::from_ref(&file), options, None, &mut notes)?;
    let columns: Vec<&str> = file.columns.iter().map(|column| column.name()).collect();
    let survey = survey::check(std::slice::from_ref(&file), &options.settings(), &frame)?.drain_into(&mut notes);
    let figures = survey.figures();
    let mut json = serde_json::to_value(&figures).unwrap_or_default();
    json["kind"] = json!("points");
    json["points"] = json!(file.records.len());
    json["columns"] = json!(columns);
    json["columns_from"] = json!(file.columns_from);
    json["delimiter"] = json!(file.delimiter.name());
    json["unit"] = json!(frame.unit);
    json["frame"] = json!(frame);
    json["set_aside"] = json!(survey.set_aside);
    json["checks"] = json!(survey.checks);
    let mut lines = vec![
        format!(
            "  point file, {} points, {} between the columns {}",
            file.records.len(),
            file.delimiter.name(),
            columns.join(", ")
        ),
        format!("  frame {} ({}), numbers in {}", frame.crs, frame.name, frame.unit.name()),
    ];
    if let Some((bounds, lowest, highest)) = extent(&survey) {
        lines.push(format!("  {}", extent_line(&frame, bounds, lowest, highest)));
        json["lowest_m"] = json!(lowest);
        json["highest_m"] = json!(highest);
    }
    lines.push(format!(
        "  {} used, {} set aside; median spacing {:.1} m",
        survey.shots.len(),
        survey.set_aside.len(),
        survey.spacing()
    ));
    let mut roles: Vec<String> = Vec::new();
    for shot in &survey.shots {
        let role = shot.role.name().to_owned();
        if !roles.contains(&role) {
            roles.push(role);
        }
    }
    lines.push(format!("  roles met: {}", roles.join(", ")));
    for row in survey.set_aside.iter().take(12) {
        lines.push(format!("  set aside: line {}, point {}: {} ({})", row.line, row.shot, row.reason, row.value));
    }
    if survey.set_aside.len() > 12 {
        lines.push(format!("  and {} more", survey.set_aside.len() - 12));
    }
    lines.extend(text_map(&survey));
    Ok(Look { json, lines, notes })
}

fn at_cloud(path: &Path) -> Result<Look, PipelineError> {
    let mut notes = Vec::new();
    let cloud = cloud::read(path)?.drain_into(&mut notes);
    let json = json!({
        "kind": "cloud",
        "points": cloud.points(),
        "ground_points": cloud.ground.len(),
        "classes": cloud.classes,
        "withheld": cloud.withheld,
        "crs": cloud.crs,
        "bounds": cloud.bounds,
    });
    let classes: Vec<String> = cloud.classes.iter().map(|(class, count)| format!("{class}: {count}")).collect();
    let mut lines = vec![
        format!("  cloud, {} points, {} of class ground (2)", cloud.points(), cloud.ground.len()),
        format!("  points by class: {}", classes.join(", ")),
        format!("  frame {}", cloud.crs.as_deref().unwrap_or("not named in the file")),
    ];
    if let Some([lowest, highest]) = cloud.bounds {
        lines.push(format!(
            "  easting {:.1} to {:.1}, northing {:.1} to {:.1}, elevation {:.2} to {:.2}",
            lowest[0], highest[0], lowest[1], highest[1], lowest[2], highest[2]
        ));
    }
    Ok(Look { json, lines, notes })
}

fn at_surface(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    let surface = open_surface(&path.display().to_string(), options, None)?;
    let tin = &surface.value.tin;
    let (lowest, highest) = tin.elevation_range().unwrap_or_default();
    let json = json!({
        "kind": "surface",
        "points": tin.vertices().len(),
        "triangles": tin.triangles().len(),
        "plan_area_m2": tin.plan_area(),
        "lowest_m": lowest,
        "highest_m": highest,
        "frame": surface.value.frame,
    });
    let mut lines = vec![format!(
        "  surface, {} points, {} triangles, {:.2} ha",
        tin.vertices().len(),
        tin.triangles().len(),
        tin.plan_area() / 10_000.0
    )];
    if let Some(bounds) = tin.bounds() {
        lines.push(format!("  {}", extent_line(&surface.value.frame, bounds, lowest, highest)));
    }
    Ok(Look { json, lines, notes: surface.notes })
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
        "easting {west:.1} to {east:.1}, northing {south:.1} to {north:.1}, elevation {:.2} to {:.2}",
        frame.elevation_to_frame(lowest),
        frame.elevation_to_frame(highest)
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
    let mut lines = vec![format!("  north up; 0 is {lowest:.2} m, 9 is {highest:.2} m, + a mark, - a breakline")];
    lines.extend(drawing.into_iter().map(|row| format!("  |{}|", row.into_iter().collect::<String>())));
    lines
}

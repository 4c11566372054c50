//! What is in a file, and does it look right: told before any pipeline exists.

use super::foreign::ending;
use super::open::{frame_for, of_grid, read_grid};
use super::{OpenSurface, PipelineError, PointOptions, open_surface};
use crate::frame::{SiteFrame, resolve};
use crate::geom::{Bounds, Point};
use crate::ground::{Ground, aspect};
use crate::io::read::{cloud, grid, points};
use crate::notes::{Note, Noted};
use crate::survey::{self, ColumnsFrom, FileLook, Format, Looked, RoleFrom, Survey};
use serde_json::{Value as Json, json};
use std::path::{Path, PathBuf};

/// What a look at files found.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// For programs: `kind`, `points` and more.
    pub json: Json,
    /// For people.
    pub lines: Vec<String>,
    /// What is to be told beside it.
    pub notes: Vec<Note>,
    /// The shots of point files, to be drawn.
    pub survey: Option<Survey>,
}

/// Looks at point files, all together as one survey, or at one cloud or surface.
///
/// # Errors
/// [`PipelineError`] when a file cannot be read.
pub fn look(paths: &[PathBuf], options: &PointOptions) -> Result<Vec<Look>, PipelineError> {
    let (points, others): (Vec<&PathBuf>, Vec<&PathBuf>) = paths.iter().partition(|path| points::is_points(path));
    let mut found = Vec::new();
    if !points.is_empty() {
        found.push(at_points(&points, options)?);
    }
    for path in others {
        let mut look = match ending(path).as_str() {
            "las" | "laz" if !path.is_dir() => at_cloud(path)?,
            _ if grid::is_grid(path) => at_grid(path, options)?,
            _ => at_surface(path, options)?,
        };
        look.json["file"] = json!(path.display().to_string());
        look.json["notes"] = json!(look.notes);
        look.lines.insert(0, path.display().to_string());
        found.push(look);
    }
    Ok(found)
}

/// Looks at one place of a surface (easting and northing in the frame's unit): elevation, slope, the way it falls, the nearest
/// breakline.
///
/// # Errors
/// [`PipelineError`] when the surface cannot be read, or the place lies off it.
pub fn look_at(path: &Path, (easting, northing): (f64, f64), options: &PointOptions) -> Result<Look, PipelineError> {
    let Noted { value: surface, notes } = open_surface(&path.display().to_string(), options, None)?;
    let ground = Ground { tin: surface.tin, frame: surface.frame, spacing: 0.0 };
    let place = ground.frame.to_local(easting, northing);
    let locator = ground.locator();
    let (Some(elevation), Some(gradient)) = (locator.elevation(place), locator.gradient(place)) else {
        let why = format!("the place {easting},{northing} lies off this surface");
        return Err(PipelineError::Unreadable { path: path.to_owned(), why });
    };
    let slope = gradient.length();
    let falls = aspect(gradient).map(f64::to_degrees);
    let breakline = ground.nearest_breakline(place);
    let json = json!({
        "kind": "place",
        "file": path.display().to_string(),
        "elevation_m": elevation,
        "slope_percent": 100.0 * slope,
        "falls_towards_degrees": falls,
        "nearest_breakline_m": breakline.map(|near| near.distance),
        "breakline_elevation_m": breakline.map(|near| near.foot.z),
        "notes": notes,
    });
    let mut lines = vec![
        path.display().to_string(),
        format!("  elevation {:.3} {}", ground.frame.elevation_to_frame(elevation), ground.frame.unit.suffix()),
        match falls {
            Some(falls) => {
                format!("  slope {:.2} %, falling towards {falls:.0} degrees (0 is north, 90 east)", 100.0 * slope)
            }
            None => "  level".to_owned(),
        },
    ];
    lines.extend(breakline.map(|near| {
        let z = ground.frame.elevation_to_frame(near.foot.z);
        format!("  nearest breakline {:.2} m away, there at {z:.3} {}", near.distance, ground.frame.unit.suffix())
    }));
    Ok(Look { json, lines, notes, survey: None })
}

fn at_points(paths: &[&PathBuf], options: &PointOptions) -> Result<Look, PipelineError> {
    let files = paths.iter().map(|path| Ok(points::read(path, &options.file())?));
    let files = files.collect::<Result<Vec<_>, PipelineError>>()?;
    let known = options.crs.is_some() || files.iter().any(|file| file.crs.is_some());
    let frame = if known { Some(frame_for(&files, options, None, &mut Vec::new())?) } else { None };
    let Looked { look, survey } = survey::look(&files, &options.settings(), frame.as_ref())?;
    let json = serde_json::to_value(&look).map_err(|error| PipelineError::Fault { what: error.to_string() })?;
    let mut lines: Vec<String> = look.files.iter().flat_map(file_lines).collect();
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
    Ok(Look { json, lines, notes: look.notes, survey: Some(survey) })
}

/// Most rows of a list on the screen.
const SHOWN: usize = 12;

fn file_lines(file: &FileLook) -> Vec<String> {
    let from = match file.columns_from {
        ColumnsFrom::Said => "as said",
        ColumnsFrom::Header => "from its header",
        ColumnsFrom::Assumed => "assumed",
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

fn at_cloud(path: &Path) -> Result<Look, PipelineError> {
    let mut notes = Vec::new();
    let cloud = cloud::read(path, &[cloud::GROUND])?.drain_into(&mut notes);
    let json = json!({
        "kind": "cloud",
        "points": cloud.points(),
        "ground_points": cloud.ground.len(),
        "classes": cloud.classes,
        "withheld": cloud.withheld,
        "crs": cloud.file.crs,
        "bounds": cloud.bounds,
    });
    let classes: Vec<String> = cloud.classes.iter().map(|(class, count)| format!("{class}: {count}")).collect();
    let mut lines = vec![
        format!("  cloud, {} points, {} of class ground (2)", cloud.points(), cloud.ground.len()),
        format!("  points by class: {}", classes.join(", ")),
        format!("  frame {}", frame_name(cloud.file.crs.as_deref())),
    ];
    if let Some([[west, south, lowest], [east, north, highest]]) = cloud.bounds {
        lines.push(format!(
            "  easting {west:.1} to {east:.1}, northing {south:.1} to {north:.1}, elevation {lowest:.2} to {highest:.2}"
        ));
    }
    Ok(Look { json, lines, notes, survey: None })
}

/// A frame in a few words: a cloud may carry all of its definition.
fn frame_name(crs: Option<&str>) -> String {
    match crs.map(|crs| (crs, resolve(crs))) {
        None => "not named in the file".to_owned(),
        Some((_, Ok(definition))) => format!("{} ({})", definition.crs, definition.name),
        Some((crs, Err(_))) => crs.chars().take(60).collect(),
    }
}

fn at_grid(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    let file = read_grid(path, options)?;
    let (columns, rows, step, nodes) = (file.value.columns, file.value.rows(), file.value.step, file.value.nodes());
    let crs = file.value.crs.clone();
    let surface = of_grid(file, options, None)?;
    let unit = surface.value.frame.unit;
    let mut look = of_surface(surface);
    look.json["kind"] = json!("grid");
    look.json["columns"] = json!(columns);
    look.json["rows"] = json!(rows);
    look.json["nodes_without_elevation"] = json!(columns * rows - nodes);
    look.json[format!("step_east_{}", unit.suffix())] = json!(step[0]);
    look.json[format!("step_north_{}", unit.suffix())] = json!(step[1]);
    look.json["crs"] = json!(crs);
    look.lines.insert(
        0,
        format!(
            "  grid, {columns} columns, {rows} rows, nodes {} by {} {} apart; {} of {} have no elevation; frame {}",
            step[0],
            step[1],
            unit.name(),
            columns * rows - nodes,
            columns * rows,
            frame_name(crs.as_deref())
        ),
    );
    Ok(look)
}

fn at_surface(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    Ok(of_surface(open_surface(&path.display().to_string(), options, None)?))
}

fn of_surface(surface: Noted<OpenSurface>) -> Look {
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
    Look { json, lines, notes: surface.notes, survey: None }
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

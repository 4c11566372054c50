//! What is in a surface or a grid, and at one place of it.

use super::{Drawable, Look, extent_line, frame};
use crate::frame::{FrameError, resolve};
use crate::ground::{Ground, aspect};
use crate::notes::{Note, Noted};
use crate::pipeline::open::{of_grid, read_grid};
use crate::pipeline::{OpenSurface, PipelineError, PointOptions, open_surface};
use serde_json::json;
use std::path::Path;

/// A surface: how large, between which elevations, where.
///
/// # Errors
/// [`PipelineError`] when it cannot be read.
pub(super) fn look(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    let surface = open_surface(&path.display().to_string(), options, None)?;
    let frame = format!("  frame {}", frame::known(&surface.value.frame));
    let mut look = of_surface(surface);
    look.lines.insert(1, frame);
    Ok(look)
}

/// A grid: its nodes, and the surface through them.
///
/// # Errors
/// [`PipelineError`] when it cannot be read.
pub(super) fn look_at_grid(path: &Path, options: &PointOptions) -> Result<Look, PipelineError> {
    let mut file = read_grid(path, options)?;
    let mut options = options.clone();
    if options.crs.is_none()
        && file.value.crs.as_deref().is_some_and(|crs| matches!(resolve(crs), Err(FrameError::Geographic { .. })))
    {
        // A run brings such a grid to the site's frame; to look at it any projected system around it will do.
        let (longitude, latitude) = file.value.middle();
        options.crs = frame::utm_zone(longitude, latitude);
        if let Some(zone) = &options.crs {
            let text = format!(
                "{} stands in degrees: it is shown in {zone}, its UTM zone; a run brings it to the site's frame",
                path.display()
            );
            file.notes.push(Note::new("look::shown-in-zone", text));
        }
    }
    let (columns, rows, step, nodes) = (file.value.columns, file.value.rows(), file.value.step, file.value.nodes());
    let crs = file.value.crs.clone();
    let surface = of_grid(file, &options, None)?;
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
    let OpenSurface { tin, frame, .. } = surface.value;
    Look { json, lines, notes: surface.notes, drawable: Drawable::Surface(tin, frame) }
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
    Ok(Look { json, lines, notes, drawable: Drawable::Nothing("one place is no drawing") })
}

/// A frame in a few words: a file may carry all of its definition.
fn frame_name(crs: Option<&str>) -> String {
    match crs.map(|crs| (crs, resolve(crs))) {
        None => "not named in the file".to_owned(),
        Some((_, Ok(definition))) => format!("{} ({})", definition.crs, definition.name),
        Some((crs, Err(_))) => crs.chars().take(60).collect(),
    }
}

//! A look at a cloud: its classes, frame and unit, how dense it is, what is doubtful, and a picture.
//!
//! Invariant: the points are gone through twice and never held, so memory does not follow the cloud's size.

use super::frame::likeness;
use super::{Drawable, Look};
use crate::frame::{FrameDefinition, FrameError, SiteFrame, resolve};
use crate::geom::{Bounds, Point3};
use crate::ground::{Density, Sketch};
use crate::io::read::cloud::{self, Cloud, GROUND, class_name};
use crate::notes::{Note, Noted};
use crate::pipeline::PipelineError;
use crate::units::LengthUnit;
use serde_json::json;
use std::path::Path;

/// A cloud that covers less of the rectangle around it than this is a strip, or has points far off; a choice of this program.
const SPARSE: f64 = 0.1;
/// Metres in a degree of latitude, near enough for the eye.
const DEGREE: f64 = 111_200.0;

/// How the numbers of the file are laid in local metres.
struct Laid {
    frame: SiteFrame,
    /// Degrees laid flat around this place.
    flat: Option<(f64, f64)>,
}

impl Laid {
    fn place(&self, [x, y, z]: [f64; 3]) -> Point3 {
        match self.flat {
            Some((east, north)) => {
                let across = (x - east) * DEGREE * north.to_radians().cos();
                self.frame.to_local(across, (y - north) * DEGREE).at(z)
            }
            None => self.frame.to_local(x, y).at(z * self.frame.unit.metres()),
        }
    }
}

pub(super) fn look(path: &Path) -> Result<Look, PipelineError> {
    let mut notes = Vec::new();
    // Without ground classes no point is held.
    let cloud = cloud::read(path, &[])?.drain_into(&mut notes);
    let ground = cloud.classes.get(&GROUND).copied().unwrap_or_default();
    let Noted { value: laid, notes: of_frame } = laid(&cloud);
    notes.extend(of_frame);
    let sketch = sketch(&cloud, &laid)?;
    let density = sketch.as_ref().and_then(Sketch::density);
    doubts(&cloud, sketch.as_ref(), density, &mut notes);
    let spacing = |density: f64| (density > 0.0).then(|| 1.0 / density.sqrt());
    let named = cloud.file.crs.as_deref().map(resolve);
    let unit = if let Some(Ok(own)) = &named { Some(own.unit) } else { None };
    let json = json!({
        "kind": "cloud",
        "format": cloud.file.format,
        "points": cloud.points(),
        "ground_points": ground,
        "classes": cloud.classes,
        "withheld": cloud.withheld,
        "crs": cloud.file.crs,
        "unit": unit,
        "bounds": cloud.bounds,
        "density_per_m2": density.map(|found| found.all),
        "ground_density_per_m2": density.map(|found| found.ground),
        "spacing_m": density.and_then(|found| spacing(found.all)),
        "ground_spacing_m": density.and_then(|found| spacing(found.ground)),
        "covered_m2": density.map(|found| found.covered),
        "share_without_ground": density.map(|found| found.without_ground),
    });
    let mut lines = vec![format!(
        "  cloud, {}, {} points, {ground} of class ground (2){}",
        cloud.file.format,
        cloud.points(),
        if cloud.withheld > 0 { format!("; {} marked withheld are left out", cloud.withheld) } else { String::new() }
    )];
    for (class, count) in &cloud.classes {
        lines.push(format!("    class {class:>3} {:<24} {count:>10}", class_name(*class, cloud.file.extended)));
    }
    lines.push(format!("  frame {}", frame_words(&cloud, named)));
    if let Some([[west, south, lowest], [east, north, highest]]) = cloud.bounds {
        let (x, y, digits) = if laid.flat.is_some() { ("first", "second", 6) } else { ("easting", "northing", 1) };
        lines.push(format!(
            "  {x} {west:.digits$} to {east:.digits$}, {y} {south:.digits$} to {north:.digits$}, elevation {lowest:.2} to {highest:.2}"
        ));
    }
    if let (Some(found), Some(sketch)) = (density, &sketch) {
        let dense = |what: &str, density: f64| match spacing(density) {
            Some(metres) => {
                let digits = if density < 0.1 { 4 } else { 2 };
                format!("  {density:.digits$} {what} a square metre, about {metres:.2} m apart")
            }
            None => format!("  no {what}"),
        };
        lines.push(dense("points", found.all));
        lines.push(dense("ground points", found.ground));
        lines.push(format!(
            "  covers {:.2} ha in cells of {:.1} m; {:.0} % of them hold no ground point",
            found.covered / 1e4,
            sketch.cell,
            100.0 * found.without_ground
        ));
    }
    let drawable = sketch.map_or(Drawable::Nothing("it holds no points"), |sketch| Drawable::Cloud(sketch, laid.frame));
    Ok(Look { json, lines, notes, drawable })
}

/// The frame around the cloud: the one it names, else a grid of its own in metres.
fn laid(cloud: &Cloud) -> Noted<Laid> {
    let middle = crate::pipeline::foreign::middle_of_cloud(cloud).unwrap_or_default();
    let named = cloud.file.crs.as_deref().map(resolve);
    let geographic = matches!(named, Some(Err(FrameError::Geographic { .. })));
    if geographic {
        let frame = FrameDefinition::local(LengthUnit::Metres).site_frame((0.0, 0.0), None);
        let text = format!(
            "{} stands in degrees: it is laid flat around its middle here; a run refuses it, convert it to a projected system",
            cloud.path()
        );
        return Noted { value: Laid { frame, flat: Some(middle) }, notes: vec![Note::new("look::laid-flat", text)] };
    }
    let mut notes = Vec::new();
    let definition = match named {
        Some(Ok(own)) => own,
        Some(Err(why)) => {
            let text = format!(
                "the frame of {} cannot be used as it is, its numbers are taken as metres: {why}",
                cloud.path()
            );
            notes.push(Note::new("cloud::frame-not-understood", text));
            FrameDefinition::local(LengthUnit::Metres)
        }
        None => {
            let text =
                format!("{} names no frame; a run takes its numbers as the site's, here they are metres", cloud.path());
            notes.push(Note::new("cloud::no-frame", text));
            FrameDefinition::local(LengthUnit::Metres)
        }
    };
    Noted { value: Laid { frame: definition.site_frame(middle, None), flat: None }, notes }
}

/// A frame in a few words: a cloud may carry all of its definition. Without one, what the numbers look like.
fn frame_words(cloud: &Cloud, named: Option<Result<FrameDefinition, FrameError>>) -> String {
    match (named, cloud.file.crs.as_deref(), cloud.bounds) {
        (Some(Ok(own)), ..) => format!("{} ({}), unit {}", own.crs, own.name, own.unit.name()),
        (Some(Err(FrameError::Geographic { name, .. })), ..) => format!("{name}, unit degree"),
        (Some(Err(_)), Some(crs), _) => format!("{}, not understood", crs.chars().take(60).collect::<String>()),
        (_, _, Some([[west, south, _], [east, north, _]])) => {
            format!("not named in the file; the numbers look like {}", likeness([west, south], [east, north]))
        }
        _ => "not named in the file".to_owned(),
    }
}

fn sketch(cloud: &Cloud, laid: &Laid) -> Result<Option<Sketch>, PipelineError> {
    let Some(corners) = cloud.bounds else { return Ok(None) };
    let Some(bounds) = Bounds::around(corners.map(|corner| laid.place(corner).plan())) else { return Ok(None) };
    let mut sketch = Sketch::over(bounds, cloud.points());
    cloud.file.pass(&mut |point| {
        if !point.withheld {
            sketch.take(laid.place(point.place), point.class == GROUND);
        }
    })?;
    Ok(Some(sketch))
}

fn doubts(cloud: &Cloud, sketch: Option<&Sketch>, density: Option<Density>, notes: &mut Vec<Note>) {
    let path = cloud.path();
    if cloud.points() == 0 {
        notes.push(Note::new("look::no-points", format!("{path} holds no points that could be used")));
    } else if !cloud.classes.contains_key(&GROUND) {
        let text = format!("{path} calls no point ground: a run finds its ground itself ([survey] classify)");
        notes.push(Note::new("look::no-ground", text));
    }
    if let (Some(sketch), Some(found)) = (sketch, density) {
        let whole = sketch.wide as f64 * sketch.high as f64 * sketch.cell * sketch.cell;
        if found.covered < SPARSE * whole && cloud.points() > 100 {
            let text = format!(
                "{path} covers {:.1} % of the rectangle around it: a narrow strip, or stray points far off",
                100.0 * found.covered / whole
            );
            notes.push(Note::new("look::sparse", text));
        }
    }
}

//! A line in plan that a person names on the command line: `FILE`, or `FILE#NAME` where it holds several. A run's folder
//! stands for its works.

use super::foreign::{self, ending};
use super::{PipelineError, PointOptions};
use crate::frame::SiteFrame;
use crate::geom::{Point, Polyline};
use crate::io::read::{Shape, points};
use crate::notes::{Note, Noted};
use crate::stakeout;
use crate::survey::{self, PointFile, Settings, Survey};
use crate::units::Length;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A line in plan: of a map file, of a LandXML alignment, or through the points of a point file in their order. Of several
/// lines the one that is named, else the only one that is a work's own line.
pub(super) fn open_line(
    named: &Path,
    options: &PointOptions,
    frame: &SiteFrame,
) -> Result<Noted<Polyline>, PipelineError> {
    let text = named.to_string_lossy();
    let (path, name) = match text.rsplit_once('#') {
        Some((file, name)) if !named.exists() => (Path::new(file), Some(name)),
        _ => (named, None),
    };
    let path = &if path.is_dir() { path.join("works/works.gpkg") } else { path.to_owned() };
    let no_line = |why: String| PipelineError::Unreadable { path: path.to_owned(), why };
    let ignored = Note::new("on-contour::heights-ignored", "heights in the line's own file are ignored");
    if matches!(ending(path).as_str(), "geojson" | "json" | "gpkg" | "xml" | "landxml") {
        let Noted { value: shapes, mut notes } = foreign::shapes(path, frame)?;
        let (line, heights) = pick(&shapes, name).map_err(no_line)?;
        notes.extend(heights.then_some(ignored));
        return Ok(Noted { value: line, notes });
    }
    let file = points::read(path, &options.file())?;
    // Heights are ignored, so no shot is set aside for one.
    let settings = Settings { gross: Length::metres(1e6), ..options.settings() };
    let survey = survey::check(std::slice::from_ref(&file), &settings, frame)?;
    let places = places(&file, &survey.value, name).map_err(no_line)?;
    let line = Polyline::new(places).ok_or_else(|| no_line("it must hold a line: two places or more".to_owned()))?;
    let mut notes = survey.notes;
    notes.push(ignored);
    Ok(Noted { value: line, notes })
}

/// The line that is meant, and whether its file gives heights; else what there is to choose from.
fn pick(shapes: &[Shape], name: Option<&str>) -> Result<(Polyline, bool), String> {
    let lines: Vec<(&Shape, Polyline)> = shapes.iter().filter_map(|shape| Some((shape, shape.as_line()?))).collect();
    let bears = |shape: &Shape, name: &str| {
        let mut names = shape.attributes.values().chain([&shape.layer]);
        names.any(|own| own == name) || name_of(shape) == name
    };
    let named: Vec<_> = lines.iter().filter(|(shape, _)| name.is_none_or(|name| bears(shape, name))).collect();
    // A run's works hold a bed, a crest and a sill beside the line that all of them follow.
    let own = |shape: &Shape| shape.attributes.get("part").is_some_and(|part| part == "line");
    let main: Vec<_> = named.iter().copied().filter(|(shape, _)| own(shape)).collect();
    match (named.as_slice(), main.as_slice()) {
        ([(shape, line)], _) | (_, [(shape, line)]) => Ok((line.clone(), shape.with_elevation)),
        _ => {
            let names: BTreeSet<String> =
                lines.iter().map(|(shape, _)| name_of(shape)).filter(|name| !name.is_empty()).collect();
            let wanted = name.map_or_else(String::new, |name| format!(" named `{name}`"));
            let choice = match names.len() {
                0 => String::new(),
                _ => format!(
                    "; name one behind the file as FILE#NAME, of {}",
                    names.into_iter().collect::<Vec<_>>().join(", ")
                ),
            };
            Err(format!("it must hold one line{wanted}, found {}{choice}", named.len()))
        }
    }
}

/// What a line can be named by: its work, and its part of it when it is not the work's own line; else its name or layer.
fn name_of(shape: &Shape) -> String {
    let of = |key: &str| shape.attributes.get(key).map(String::as_str).filter(|text| !text.is_empty());
    match (of("works"), of("part")) {
        (Some(works), Some(part)) if part != "line" => format!("{works} {part}"),
        (Some(works), _) => works.to_owned(),
        _ => of("name").unwrap_or(&shape.layer).to_owned(),
    }
}

/// The stakes on a work's line, of our own stake list; every place of another file.
fn places(file: &PointFile, survey: &Survey, name: Option<&str>) -> Result<Vec<Point>, String> {
    if !file.titles.iter().any(|title| title.trim() == "stake") {
        return match name {
            None => Ok(survey.shots.iter().map(|shot| shot.place).collect()),
            Some(_) => Err("a point file is one line and has no names: leave out what stands behind #".to_owned()),
        };
    }
    let mut works: BTreeMap<&str, Vec<Point>> = BTreeMap::new();
    for shot in &survey.shots {
        if let Some(letters) = stakeout::work_of_line_stake(&shot.id) {
            works.entry(letters).or_default().push(shot.place);
        }
    }
    let letters: Vec<&str> = works.keys().copied().collect();
    match (name, letters.as_slice()) {
        (None, [only]) => Ok(works[only].clone()),
        (Some(name), _) if works.contains_key(name) => Ok(works[name].clone()),
        _ => Err(format!(
            "it must hold one line of stakes, found {}; name one by its stakes' first letter as FILE#LETTER, of {}",
            letters.len(),
            letters.join(", ")
        )),
    }
}

//! The points of a LandXML document as shots: coordinate geometry points, else the points of its surface.
//!
//! A point's text is `northing easting [elevation]`; its attributes give name, code, description, time, standard errors
//! and ellipsoidal height. The surface named behind `#`, or the only one where there are no coordinate geometry points,
//! gives its points without codes.

use super::content::FORMAT;
use super::parse::{elevation_metres, linear_metres};
use crate::frame::resolve;
use crate::io::read::ReadError;
use crate::io::read::points::{FileSettings, Header, PointFileError, Row, Table, decode};
use crate::notes::{Note, Place};
use crate::survey::{Format, PointFile};
use crate::units::LengthUnit;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeMap;
use std::path::Path;

/// What the fields of a row hold, in their order; those that no point fills are left out.
const TITLES: [&str; 10] = [
    "point",
    "northing",
    "easting",
    "elevation",
    "height",
    "code",
    "time",
    "north sigma",
    "east sigma",
    "vertical sigma",
];

/// True for a document that holds points of their own and no surface, by the names of its elements alone: taking it
/// apart is left to whoever reads it.
pub(in crate::io::read) fn only_points(path: &Path) -> bool {
    let Ok(bytes) = std::fs::read(path) else { return false };
    let Ok((text, _)) = decode(&bytes, &path.display().to_string()) else { return false };
    has_element(&text, "CgPoint") && !has_element(&text, "Surface")
}

/// True where an element of that name begins, with or without a prefix.
fn has_element(text: &str, name: &str) -> bool {
    text.match_indices(name).any(|(at, _)| {
        let before = text[..at].rsplit(['<', '>']).next().unwrap_or_default();
        let opened = text[..at].ends_with('<') || (text[..at].ends_with(':') && !before.contains([' ', '/', '"']));
        opened && text[at + name.len()..].starts_with([' ', '>', '/', '\t', '\r', '\n'])
    })
}

/// Reads a document that is in memory.
pub(in crate::io::read) fn parse(
    bytes: &[u8],
    name: &str,
    part: Option<&str>,
    settings: &FileSettings,
) -> Result<PointFile, PointFileError> {
    let (text, _) = decode(bytes, name)?;
    let found = walk(&text, name)?;
    let lacks = |why: String| PointFileError::Lacks { file: name.to_owned(), why };
    let names = || found.surfaces.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", ");
    let (rows, of_surface) = match (part, found.surfaces.as_slice()) {
        (Some(part), surfaces) => {
            let surface = surfaces.iter().find(|(name, _)| name == part);
            let surface = surface.ok_or_else(|| lacks(format!("no surface `{part}` in it: it has {}", names())))?;
            (surface.1.clone(), true)
        }
        (None, _) if !found.points.is_empty() => (found.points.clone(), false),
        (None, [only]) => (only.1.clone(), true),
        (None, []) => return Err(lacks("neither points nor a surface in it".to_owned())),
        (None, _) => {
            return Err(lacks(format!("no points in it but surfaces: name one of {}, as {name}#NAME", names())));
        }
    };
    let filled: Vec<usize> =
        (0..TITLES.len()).filter(|&at| at < 4 || rows.iter().any(|row| !row.fields[at].is_empty())).collect();
    let titles = filled.iter().map(|&at| TITLES[at].to_owned()).collect();
    let rows = rows
        .into_iter()
        .map(|row| Row { line: row.line, fields: filled.iter().map(|&at| row.fields[at].clone()).collect() });
    let rows = rows.collect();
    let header = Some(Header { line: 0, titles });
    let table = Table { name: name.to_owned(), format: Format::LandXml, header, rows, notes: Vec::new() };
    let own = FileSettings { columns: None, unit: found.unit.or(settings.unit), ..settings.clone() };
    let mut file = table.into_file(&own)?;
    let place = Place::File { file: name.to_owned(), line: 0, column: 0 };
    if of_surface {
        let text = "the points of a surface, which have no codes: their breaklines are not in them";
        file.notes.push(Note::new("landxml::points-of-surface", text).at(place.clone()));
    }
    if found.not_of_the_ground > 0 {
        let text = format!(
            "{} points are marked as not of the ground (DTMAttribute donotinclude): give their codes a role",
            found.not_of_the_ground
        );
        file.notes.push(Note::new("landxml::not-of-the-ground", text).at(place.clone()));
    }
    if found.elevations_assumed {
        let text = "it has no elevationUnit among feet: by the schema its elevations are metres; if they are feet, say so in the file";
        file.notes.push(Note::new("landxml::elevations-in-metres", text).at(place));
    }
    file.crs = found.crs.and_then(|crs| resolve(&crs).ok()).map(|own| own.crs);
    Ok(file)
}

/// What a document holds.
#[derive(Default)]
struct Found {
    crs: Option<String>,
    /// Metres in the unit of its coordinates, and of its elevations.
    metres: Option<(f64, f64)>,
    unit: Option<LengthUnit>,
    points: Vec<Row>,
    surfaces: Vec<(String, Vec<Row>)>,
    not_of_the_ground: u64,
    /// Its coordinates are in feet, and nothing says what its elevations are in.
    elevations_assumed: bool,
}

fn walk(text: &str, name: &str) -> Result<Found, PointFileError> {
    let mut reader = Reader::from_str(text);
    let mut found = Found::default();
    let mut open: Vec<String> = Vec::new();
    let mut element: Option<(u64, BTreeMap<String, String>)> = None;
    let mut inside = String::new();
    let (mut counted, mut line) = (0, 1);
    loop {
        let at = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX).min(text.len());
        line += text.as_bytes()[counted..at].split(|byte| *byte == b'\n').count() as u64 - 1;
        counted = at;
        let fault = |found: String, accepted: &str| ReadError::Fault {
            path: name.to_owned(),
            line,
            column: 0,
            found,
            accepted: accepted.to_owned(),
        };
        match reader.read_event().map_err(|why| fault(why.to_string(), FORMAT))? {
            Event::Start(start) => {
                let (kind, attributes) = read_start(&start).map_err(|why| fault(why, "attributes of XML"))?;
                if open.is_empty() && kind != "LandXML" {
                    return Err(fault(format!("a document of <{kind}>"), "a document of <LandXML>").into());
                }
                found.opened(&kind, &attributes).map_err(|(what, accepted)| fault(what, accepted))?;
                open.push(kind);
                element = Some((line, attributes));
                inside.clear();
            }
            Event::Empty(start) => {
                let (kind, attributes) = read_start(&start).map_err(|why| fault(why, "attributes of XML"))?;
                found.opened(&kind, &attributes).map_err(|(what, accepted)| fault(what, accepted))?;
            }
            Event::Text(part) => inside.push_str(&part.xml10_content()),
            Event::End(_) => {
                let kind = open.pop().unwrap_or_default();
                if let (Some((line, attributes)), "CgPoint" | "P") = (element.take(), kind.as_str())
                    && (kind == "CgPoint" || open.last().is_some_and(|parent| parent == "Pnts"))
                    && !inside.trim().is_empty()
                {
                    found.point(&kind, line, &attributes, &inside).map_err(|(what, accepted)| fault(what, accepted))?;
                }
                inside.clear();
            }
            Event::Eof if open.is_empty() => return Ok(found),
            Event::Eof => {
                let kind = open.pop().unwrap_or_default();
                return Err(fault(format!("the end of the file inside <{kind}>"), &format!("</{kind}>")).into());
            }
            _ => {}
        }
    }
}

fn read_start(start: &BytesStart<'_>) -> Result<(String, BTreeMap<String, String>), String> {
    let kind = String::from_utf8_lossy(start.local_name().as_ref().as_ref()).into_owned();
    let mut attributes = BTreeMap::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|why| why.to_string())?;
        let key = String::from_utf8_lossy(attribute.key.local_name().as_ref().as_ref()).into_owned();
        let value = attribute.normalized_value(quick_xml::XmlVersion::Explicit1_0).map(std::borrow::Cow::into_owned);
        attributes.insert(key, value.unwrap_or_default());
    }
    Ok((kind, attributes))
}

type What = (String, &'static str);

impl Found {
    fn opened(&mut self, kind: &str, attributes: &BTreeMap<String, String>) -> Result<(), What> {
        match kind {
            "Metric" | "Imperial" => {
                let linear = attributes.get("linearUnit").map_or("", String::as_str);
                let elevation = attributes.get("elevationUnit").map(String::as_str);
                let metres = linear_metres(linear).ok_or((
                    format!("linearUnit `{linear}`"),
                    "meter, millimeter, centimeter, kilometer, foot, USSurveyFoot",
                ))?;
                let up = elevation_metres(elevation, linear).ok_or_else(|| {
                    (format!("elevationUnit `{}`", elevation.unwrap_or_default()), "meter, kilometer, feet")
                })?;
                self.metres = Some((metres, up));
                self.elevations_assumed = elevation.is_none() && kind == "Imperial";
                self.unit = Some(match linear {
                    "foot" => LengthUnit::Feet,
                    "USSurveyFoot" => LengthUnit::UsSurveyFeet,
                    _ => LengthUnit::Metres,
                });
            }
            "CoordinateSystem" => {
                let code = attributes.get("epsgCode").map(|code| code.trim()).filter(|code| !code.is_empty());
                self.crs = code.map(|code| format!("EPSG:{code}"));
            }
            "Surface" => self.surfaces.push((attributes.get("name").cloned().unwrap_or_default(), Vec::new())),
            _ => {}
        }
        Ok(())
    }

    fn point(&mut self, kind: &str, line: u64, attributes: &BTreeMap<String, String>, text: &str) -> Result<(), What> {
        let numbers: Option<Vec<f64>> =
            text.split_whitespace().map(|part| part.parse().ok().filter(|n: &f64| n.is_finite())).collect();
        let numbers = numbers.unwrap_or_default();
        let (&[northing, easting], rest) = numbers.split_first_chunk::<2>().ok_or_else(|| {
            (format!("`{}` as a point", text.trim()), "northing, easting and perhaps elevation, as numbers")
        })?;
        if rest.len() > 1 {
            return Err((format!("{} numbers", numbers.len()), "northing, easting and perhaps elevation"));
        }
        let (metres, up) = self.metres.ok_or_else(|| ("coordinates before <Units>".to_owned(), "<Units> first"))?;
        let unit = self.unit.unwrap_or_default().metres();
        let scaled = |value: f64, metres: f64| if metres == unit { value } else { value * metres / unit };
        let said = |key: &str| attributes.get(key).map_or("", |value| value.trim());
        let length =
            |key: &str| said(key).parse().map_or_else(|_| String::new(), |v: f64| scaled(v, metres).to_string());
        let code = match (said("code"), said("desc")) {
            (code, "") => code.to_owned(),
            (code, description) if code.is_empty() || description.starts_with(code) => description.to_owned(),
            (code, description) => format!("{code} {description}"),
        };
        self.not_of_the_ground += u64::from(said("DTMAttribute") == "donotinclude");
        let name = if kind == "P" { said("id") } else { said("name") };
        let fields = vec![
            name.to_owned(),
            scaled(northing, metres).to_string(),
            scaled(easting, metres).to_string(),
            rest.first().map_or_else(String::new, |elevation| scaled(*elevation, up).to_string()),
            length("ellipsoidHeight"),
            code,
            said("timeStamp").to_owned(),
            length("northingStdError"),
            length("eastingStdError"),
            length("elevationStdError"),
        ];
        let row = Row { line, fields };
        match (kind, self.surfaces.last_mut()) {
            ("P", Some((_, points))) => points.push(row),
            ("P", None) => {}
            _ => self.points.push(row),
        }
        Ok(())
    }
}

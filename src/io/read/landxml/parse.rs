//! The walk through a LandXML text, element by element, with the line of every fault.

use super::content::{Alignment, FORMAT, LandXml, Surface};
use crate::frame::HEIGHT_NOT_SAID;
use crate::io::read::ReadError;
use crate::notes::{Note, Noted};
use crate::units::{METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Chords stay this near to their arc, metres.
const CHORD_ERROR: f64 = 0.005;
/// The ends of an arc may stand so differently far from its center, metres: files round to the centimetre.
const UNEVEN: f64 = 0.05;
/// Two pieces of an alignment join when they are this near, metres.
const JOIN: f64 = 0.001;

pub(super) fn parse(text: &str, path: &str) -> Result<Noted<LandXml>, ReadError> {
    let mut walk = Walk::new(text, path);
    let mut reader = Reader::from_str(text);
    loop {
        walk.at = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX).min(text.len());
        let event = reader.read_event().map_err(|why| ReadError::Fault {
            path: path.to_owned(),
            line: walk.line(usize::try_from(reader.error_position()).unwrap_or_default()),
            column: 0,
            found: why.to_string(),
            accepted: FORMAT.to_owned(),
        })?;
        match event {
            Event::Start(start) => walk.open(&start)?,
            Event::Empty(start) => {
                walk.open(&start)?;
                walk.close()?;
            }
            Event::Text(part) => walk.text.push_str(&part.xml10_content()),
            Event::End(_) => walk.close()?,
            Event::Eof => break,
            _ => {}
        }
    }
    walk.finish()
}

/// Metres in a `linearUnit`; `None` for a word that the schema does not have.
pub(super) fn linear_metres(word: &str) -> Option<f64> {
    Some(match word {
        "meter" => 1.0,
        "millimeter" => 0.001,
        "centimeter" => 0.01,
        "kilometer" => 1000.0,
        "foot" => METRES_PER_FOOT,
        "USSurveyFoot" => METRES_PER_US_SURVEY_FOOT,
        _ => return None,
    })
}

/// Metres in an `elevationUnit`, beside this `linearUnit`; by the schema metres where there is none.
pub(super) fn elevation_metres(word: Option<&str>, linear: &str) -> Option<f64> {
    Some(match word {
        None | Some("meter") => 1.0,
        Some("kilometer") => 1000.0,
        Some("feet") if linear == "USSurveyFoot" => METRES_PER_US_SURVEY_FOOT,
        Some("feet") => METRES_PER_FOOT,
        Some(_) => return None,
    })
}

/// One piece of an alignment while it is open.
#[derive(Default)]
struct Piece {
    start: Option<[f64; 2]>,
    end: Option<[f64; 2]>,
    center: Option<[f64; 2]>,
    between: Vec<[f64; 2]>,
    clockwise: bool,
}

struct Walk<'a> {
    source: &'a str,
    path: &'a str,
    /// Byte where the current event starts.
    at: usize,
    /// Lines counted up to a byte, so that counting goes on from there.
    counted: (usize, u64),
    open: Vec<String>,
    text: String,
    attributes: BTreeMap<String, String>,
    out: LandXml,
    notes: Vec<Note>,
    metres: Option<f64>,
    elevation_metres: f64,
    ids: BTreeMap<u64, u32>,
    piece: Piece,
    invisible: u64,
    arcs: usize,
    points: BTreeMap<String, [f64; 2]>,
}

impl<'a> Walk<'a> {
    fn new(source: &'a str, path: &'a str) -> Self {
        Self {
            source,
            path,
            at: 0,
            counted: (0, 1),
            open: Vec::new(),
            text: String::new(),
            attributes: BTreeMap::new(),
            out: LandXml { path: path.to_owned(), ..Default::default() },
            notes: Vec::new(),
            metres: None,
            elevation_metres: 1.0,
            ids: BTreeMap::new(),
            piece: Piece::default(),
            invisible: 0,
            arcs: 0,
            points: BTreeMap::new(),
        }
    }

    fn line(&mut self, byte: usize) -> u64 {
        let byte = byte.min(self.source.len());
        if byte < self.counted.0 {
            self.counted = (0, 1);
        }
        let passed = self.source.as_bytes()[self.counted.0..byte].split(|&byte| byte == b'\n').count() as u64 - 1;
        self.counted = (byte, self.counted.1 + passed);
        self.counted.1
    }

    fn fault(&mut self, found: impl Into<String>, accepted: impl Into<String>) -> ReadError {
        let line = self.line(self.at);
        ReadError::Fault { path: self.path.to_owned(), line, column: 0, found: found.into(), accepted: accepted.into() }
    }

    fn inside(&self, element: &str) -> bool {
        self.open.iter().any(|open| open == element)
    }

    /// Parcels and other features have the same geometry inside; only that of alignments is read.
    fn in_alignment(&self) -> bool {
        self.inside("Alignment") && self.inside("CoordGeom")
    }

    fn open(&mut self, start: &BytesStart) -> Result<(), ReadError> {
        let element = start.local_name().as_ref().to_owned();
        let element = String::from_utf8_lossy(element.as_ref()).into_owned();
        if self.open.is_empty() && element != "LandXML" {
            return Err(self.fault(format!("a document of <{element}>"), "a document of <LandXML>"));
        }
        self.text.clear();
        self.attributes.clear();
        for attribute in start.attributes() {
            let attribute = match attribute {
                Ok(attribute) => attribute,
                Err(why) => return Err(self.fault(why.to_string(), "attributes of XML")),
            };
            let key = String::from_utf8_lossy(attribute.key.local_name().as_ref().as_ref()).into_owned();
            let value =
                attribute.normalized_value(quick_xml::XmlVersion::Explicit1_0).map(std::borrow::Cow::into_owned);
            let value = value.unwrap_or_default();
            self.attributes.insert(key, value);
        }
        match element.as_str() {
            "Metric" | "Imperial" => self.units(&element)?,
            "CoordinateSystem" => {
                let code = self.attributes.get("epsgCode").map(|code| code.trim().to_owned());
                self.out.crs = code.filter(|code| !code.is_empty() && code.bytes().all(|b| b.is_ascii_digit()));
                self.out.crs = self.out.crs.take().map(|code| format!("EPSG:{code}"));
                let height = ["verticalDatum", "verticalCoordinateSystemName"].map(|key| self.attributes.get(key));
                let height = height.into_iter().flatten().map(|name| name.trim().to_owned());
                self.out.height = height.into_iter().find(|name| !name.is_empty() && name != HEIGHT_NOT_SAID);
            }
            "Surface" => {
                let name = self.attributes.get("name").cloned().unwrap_or_default();
                self.out.surfaces.push(Surface { name, ..Default::default() });
                self.ids.clear();
            }
            "Definition" if self.inside("Surface") => {
                let kind = self.attributes.get("surfType").cloned().unwrap_or_default();
                if kind != "TIN" {
                    return Err(self.fault(format!("a surface of type `{kind}`"), "surfaces of type `TIN`"));
                }
            }
            "Alignment" => {
                let name = self.attributes.get("name").cloned().unwrap_or_default();
                let start_station = match self.attributes.get("staStart").cloned() {
                    Some(text) => self.number(&text)? * self.scale()?,
                    None => 0.0,
                };
                self.out.alignments.push(Alignment { name, start_station, places: Vec::new() });
            }
            "Line" | "IrregularLine" | "Curve" if self.in_alignment() => {
                let clockwise = match (element.as_str(), self.attributes.get("rot").map(String::as_str)) {
                    ("Curve", Some("cw")) => true,
                    ("Curve", Some("ccw")) | ("Line" | "IrregularLine", _) => false,
                    (_, rot) => {
                        let found =
                            rot.map_or_else(|| "<Curve> without `rot`".to_owned(), |rot| format!("rot=`{rot}`"));
                        return Err(self.fault(found, "rot=`cw` or rot=`ccw`"));
                    }
                };
                self.piece = Piece { clockwise, ..Piece::default() };
            }
            "Spiral" | "Chain" if self.in_alignment() => {
                return Err(self.fault(format!("<{element}> in an alignment"), "<Line>, <Curve> and <IrregularLine>"));
            }
            _ => {}
        }
        self.open.push(element);
        Ok(())
    }

    fn close(&mut self) -> Result<(), ReadError> {
        let Some(element) = self.open.pop() else { return Ok(()) };
        match element.as_str() {
            "P" if self.inside("Pnts") => self.surface_point()?,
            "F" if self.inside("Faces") => self.face()?,
            "CgPoint" => {
                if let Some(name) = self.attributes.get("name").cloned()
                    && !self.text.trim().is_empty()
                {
                    let place = self.plan()?;
                    self.points.insert(name, place);
                }
            }
            "Start" if self.in_alignment() => self.piece.start = Some(self.plan()?),
            "End" if self.in_alignment() => self.piece.end = Some(self.plan()?),
            "Center" if self.in_alignment() => self.piece.center = Some(self.plan()?),
            "PntList2D" | "PntList3D" if self.in_alignment() => {
                let width = if element == "PntList2D" { 2 } else { 3 };
                let (numbers, scale) = (self.numbers()?, self.scale()?);
                if numbers.len() % width != 0 {
                    return Err(self.fault(format!("{} numbers", numbers.len()), format!("{width} for each point")));
                }
                self.piece.between = numbers.chunks(width).map(|at| [at[1] * scale, at[0] * scale]).collect();
            }
            "Line" | "IrregularLine" | "Curve" if self.in_alignment() => self.end_piece(&element)?,
            _ => {}
        }
        self.text.clear();
        Ok(())
    }

    fn units(&mut self, element: &str) -> Result<(), ReadError> {
        let linear = self.attributes.get("linearUnit").cloned().unwrap_or_default();
        let Some(metres) = linear_metres(&linear) else {
            let accepted = "meter, millimeter, centimeter, kilometer, foot, USSurveyFoot";
            return Err(self.fault(format!("linearUnit `{linear}`"), accepted));
        };
        self.metres = Some(metres);
        let elevation = self.attributes.get("elevationUnit").cloned();
        let Some(elevation_metres) = elevation_metres(elevation.as_deref(), &linear) else {
            let found = format!("elevationUnit `{}`", elevation.unwrap_or_default());
            return Err(self.fault(found, "meter, kilometer, feet"));
        };
        self.elevation_metres = elevation_metres;
        if elevation.is_none() && element == "Imperial" {
            let text = format!("{} has no elevationUnit: by the schema its elevations are metres", self.path);
            self.notes.push(Note::new("landxml::elevations-in-metres", text));
        }
        Ok(())
    }

    fn scale(&mut self) -> Result<f64, ReadError> {
        match self.metres {
            Some(metres) => Ok(metres),
            None => Err(self.fault("coordinates before <Units>", "<Units> first")),
        }
    }

    fn number(&mut self, text: &str) -> Result<f64, ReadError> {
        match text.trim().parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(self.fault(format!("`{}`", text.trim()), "a number")),
        }
    }

    fn numbers(&mut self) -> Result<Vec<f64>, ReadError> {
        let text = std::mem::take(&mut self.text);
        text.split_whitespace().map(|part| self.number(part)).collect()
    }

    /// Northing comes first; given back easting first, metres.
    fn plan(&mut self) -> Result<[f64; 2], ReadError> {
        let reference = self.attributes.get("pntRef").cloned();
        if let (true, Some(name)) = (self.text.trim().is_empty(), reference) {
            return match self.points.get(&name) {
                Some(place) => Ok(*place),
                None => Err(self.fault(format!("pntRef `{name}`"), "the name of a <CgPoint> before it")),
            };
        }
        let (numbers, scale) = (self.numbers()?, self.scale()?);
        match numbers[..] {
            [northing, easting] | [northing, easting, _] => Ok([easting * scale, northing * scale]),
            _ => Err(self.fault(format!("{} numbers", numbers.len()), "northing, easting and perhaps elevation")),
        }
    }

    fn surface_point(&mut self) -> Result<(), ReadError> {
        let text = self.attributes.get("id").cloned().unwrap_or_default();
        let Ok(id) = text.trim().parse::<u64>() else {
            return Err(self.fault(format!("point id `{text}`"), "a whole number above zero"));
        };
        let (numbers, scale) = (self.numbers()?, self.scale()?);
        let [northing, easting, elevation] = numbers[..] else {
            return Err(self.fault(format!("{} numbers in point {id}", numbers.len()), "northing, easting, elevation"));
        };
        let place = [easting * scale, northing * scale, elevation * self.elevation_metres];
        let Some(surface) = self.out.surfaces.last_mut() else { return Ok(()) };
        let index = u32::try_from(surface.points.len()).unwrap_or(u32::MAX);
        surface.points.push(place);
        if self.ids.insert(id, index).is_some() {
            return Err(self.fault(format!("a second point with id {id}"), "ids that are unique in their surface"));
        }
        Ok(())
    }

    fn face(&mut self) -> Result<(), ReadError> {
        if self.attributes.get("i").is_some_and(|invisible| invisible == "1") {
            self.invisible += 1;
            return Ok(());
        }
        let bits = match self.attributes.get("b").map(|bits| bits.trim().to_owned()) {
            None => 0,
            Some(bits) => match bits.parse::<u8>() {
                Ok(bits) if bits < 8 => bits,
                _ => return Err(self.fault(format!("breakline sides b=`{bits}`"), "0 to 7, the sum of 1, 2 and 4")),
            },
        };
        let text = std::mem::take(&mut self.text);
        let mut corners = Vec::new();
        for part in text.split_whitespace() {
            match part.parse::<u64>().ok().and_then(|id| self.ids.get(&id)) {
                Some(index) => corners.push(*index),
                None => return Err(self.fault(format!("a face at point `{part}`"), "ids of points of its surface")),
            }
        }
        let face: [u32; 3] = match corners[..] {
            [a, b, c] if a != b && b != c && c != a => [a, b, c],
            _ => return Err(self.fault(format!("a face of points `{}`", text.trim()), "three different points")),
        };
        let line = self.line(self.at);
        let Some(surface) = self.out.surfaces.last_mut() else { return Ok(()) };
        surface.faces.push(face);
        surface.breaks.push([0, 1, 2].map(|side| bits & (1 << side) != 0));
        surface.lines.push(line);
        Ok(())
    }

    fn end_piece(&mut self, element: &str) -> Result<(), ReadError> {
        let piece = std::mem::take(&mut self.piece);
        let (Some(start), Some(end)) = (piece.start, piece.end) else {
            return Err(self.fault(format!("<{element}> without both ends"), "<Start> and <End>"));
        };
        let mut places = vec![start];
        if element == "Curve" {
            let Some(center) = piece.center else {
                return Err(self.fault("<Curve> without a center", "<Start>, <Center> and <End>"));
            };
            let radius = |end: [f64; 2]| (end[0] - center[0]).hypot(end[1] - center[1]);
            if (radius(start) - radius(end)).abs() > UNEVEN {
                let found =
                    format!("a <Curve> whose ends stand {:.3} and {:.3} m from its center", radius(start), radius(end));
                return Err(self.fault(found, format!("ends as far from it, to {UNEVEN} m")));
            }
            self.arcs += 1;
            places.extend(arc(start, center, end, piece.clockwise));
        }
        places.extend(piece.between);
        places.push(end);
        let Some(alignment) = self.out.alignments.last_mut() else { return Ok(()) };
        let mut gap = None;
        for place in places {
            let near = |other: &[f64; 2]| (place[0] - other[0]).hypot(place[1] - other[1]);
            match alignment.places.last().map(near) {
                Some(distance) if distance <= JOIN => {}
                Some(distance) if place == start && distance > JOIN => gap = Some(distance),
                _ => alignment.places.push(place),
            }
        }
        match gap {
            Some(distance) => {
                Err(self
                    .fault(format!("a gap of {distance:.3} m before <{element}>"), "pieces that follow on each other"))
            }
            None => Ok(()),
        }
    }

    /// Which way round faces run says nothing in the schema, and all of them clockwise is a habit of some programs; a
    /// mixture is a sign of trouble where the file was made.
    fn note_winding(&mut self) {
        for surface in &self.out.surfaces {
            let area = |face: &[u32; 3]| {
                let [a, b, c] = face.map(|at| surface.points[at as usize]);
                (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
            };
            let clockwise = surface.faces.iter().filter(|face| area(face) < 0.0).count();
            if clockwise > 0 && clockwise < surface.faces.len() {
                let (name, all) = (&surface.name, surface.faces.len());
                let text =
                    format!("{clockwise} of {all} faces of surface `{name}` run clockwise, the others do not: turned");
                self.notes.push(Note::new("landxml::mixed-winding", text));
            }
        }
    }

    fn finish(mut self) -> Result<Noted<LandXml>, ReadError> {
        if let Some(open) = self.open.last().cloned() {
            self.at = self.source.len();
            return Err(self.fault(format!("the end of the file inside <{open}>"), format!("</{open}>")));
        }
        if let Some(bare) = self.out.surfaces.iter().find(|surface| surface.faces.is_empty()) {
            let why = format!("surface `{}` has {} points and no face: faces are needed", bare.name, bare.points.len());
            return Err(ReadError::Lacks { path: self.path.to_owned(), why });
        }
        self.note_winding();
        if self.invisible > 0 {
            let text = format!("{} faces of {} are marked invisible and left out", self.invisible, self.path);
            self.notes.push(Note::new("landxml::invisible-faces", text));
        }
        if self.arcs > 0 {
            let text = format!(
                "{} arcs in the alignments of {} became chords, nowhere more than {:.0} mm off them",
                self.arcs,
                self.path,
                1000.0 * CHORD_ERROR
            );
            self.notes.push(Note::new("landxml::arcs-as-chords", text));
        }
        Ok(Noted { value: self.out, notes: self.notes })
    }
}

/// Places along an arc between its ends.
fn arc(start: [f64; 2], center: [f64; 2], end: [f64; 2], clockwise: bool) -> Vec<[f64; 2]> {
    let angle = |place: [f64; 2]| (place[1] - center[1]).atan2(place[0] - center[0]);
    let radius = (start[0] - center[0]).hypot(start[1] - center[1]);
    let turn = if clockwise {
        (angle(start) - angle(end)).rem_euclid(TAU)
    } else {
        (angle(end) - angle(start)).rem_euclid(TAU)
    };
    let step = if radius > CHORD_ERROR { 2.0 * (1.0 - CHORD_ERROR / radius).acos() } else { TAU };
    let parts = (turn / step).ceil().clamp(1.0, 10_000.0);
    let signed = if clockwise { -turn } else { turn };
    let mut places = Vec::new();
    let mut part = 1.0;
    while part < parts {
        let at = angle(start) + signed * part / parts;
        places.push([center[0] + radius * at.cos(), center[1] + radius * at.sin()]);
        part += 1.0;
    }
    places
}

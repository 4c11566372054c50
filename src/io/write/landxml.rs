//! LandXML 1.2: TIN surfaces, alignments, points.
//!
//! Points are written `northing easting elevation`, in the frame's unit. Every unit attribute is written, since the
//! schema's defaults (metres for elevations, radians for angles) hold even among feet. The schema knows no US survey
//! foot for elevations: those say `feet`, which is 0.6 mm off at 300 m. Date and time are the site's, not the clock's.
//! Faces carry the breakline bits of the schema (`b`: 1, 2, 4 for the sides in order).

use super::{MapContext, WriteError, atomic, xml::clean};
use crate::geom::{Point, Point3};
use crate::surface::Tin;
use crate::units::{self, LengthUnit};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use std::fmt::Write as _;
use std::path::Path;

type Xml<'a> = Writer<&'a mut dyn std::io::Write>;

/// A surface to write.
#[derive(Debug, Clone, Copy)]
pub struct Surface<'a> {
    /// Its name, unique in the file.
    pub name: &'a str,
    /// What it is.
    pub description: &'a str,
    /// The mesh.
    pub tin: &'a Tin,
}

/// A line to write.
#[derive(Debug, Clone, Copy)]
pub struct Alignment<'a> {
    /// Its name, unique in the file.
    pub name: &'a str,
    /// What it is.
    pub description: &'a str,
    /// The line in plan.
    pub line: &'a [Point],
    /// Station of its start, metres.
    pub start_station: f64,
    /// Stations and elevations along it, metres; empty for a line in plan only.
    pub profile: &'a [(f64, f64)],
}

/// A point to write.
#[derive(Debug, Clone, Copy)]
pub struct CogoPoint<'a> {
    /// Its name, unique in the file.
    pub name: &'a str,
    /// Its code; may be empty.
    pub code: &'a str,
    /// What it is; may be empty.
    pub description: &'a str,
    /// Where, local metres.
    pub place: Point,
    /// Elevation, metres.
    pub elevation: Option<f64>,
}

/// What a file holds.
#[derive(Debug, Clone, Copy, Default)]
pub struct Content<'a> {
    /// The site's name.
    pub project: &'a str,
    /// Surfaces.
    pub surfaces: &'a [Surface<'a>],
    /// Lines.
    pub alignments: &'a [Alignment<'a>],
    /// Points.
    pub points: &'a [CogoPoint<'a>],
}

/// Writes a file.
///
/// # Errors
/// [`WriteError::File`].
pub fn write(path: &Path, content: &Content, context: &MapContext) -> Result<(), WriteError> {
    atomic::write_with(path, |out| {
        let mut xml: Xml = Writer::new_with_indent(out, b' ', 1);
        xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
        xml.create_element("LandXML")
            .with_attribute(("xmlns", "http://www.landxml.org/schema/LandXML-1.2"))
            .with_attribute(("date", context.date.as_str()))
            .with_attribute(("time", "00:00:00"))
            .with_attribute(("version", "1.2"))
            .write_inner_content(|xml| {
                units(xml, context.frame.unit)?;
                coordinate_system(xml, context)?;
                xml.create_element("Project").with_attribute(("name", &*clean(content.project))).write_empty()?;
                xml.create_element("Application")
                    .with_attribute(("name", "swalewright"))
                    .with_attribute(("version", env!("CARGO_PKG_VERSION")))
                    .write_empty()?;
                group(xml, "CgPoints", content.points, |xml, point| cogo_point(xml, point, context))?;
                group(xml, "Alignments", content.alignments, |xml, line| alignment(xml, line, context))?;
                group(xml, "Surfaces", content.surfaces, |xml, one| surface(xml, one, context))
            })?;
        xml.get_mut().write_all(b"\n")
    })
}

fn group<T>(
    xml: &mut Xml,
    element: &str,
    items: &[T],
    mut each: impl FnMut(&mut Xml, &T) -> std::io::Result<()>,
) -> std::io::Result<()> {
    if items.is_empty() {
        return Ok(());
    }
    xml.create_element(element).write_inner_content(|xml| items.iter().try_for_each(|item| each(xml, item)))?;
    Ok(())
}

fn units(xml: &mut Xml, unit: LengthUnit) -> std::io::Result<()> {
    let metric = [
        ("areaUnit", "squareMeter"),
        ("linearUnit", "meter"),
        ("volumeUnit", "cubicMeter"),
        ("temperatureUnit", "celsius"),
        ("pressureUnit", "HPA"),
        ("elevationUnit", "meter"),
    ];
    let linear = if unit == LengthUnit::UsSurveyFeet { "USSurveyFoot" } else { "foot" };
    let imperial = [
        ("areaUnit", "squareFoot"),
        ("linearUnit", linear),
        ("volumeUnit", "cubicYard"),
        ("temperatureUnit", "fahrenheit"),
        ("pressureUnit", "inHG"),
        ("elevationUnit", "feet"),
    ];
    let (element, lengths) = if unit == LengthUnit::Metres { ("Metric", metric) } else { ("Imperial", imperial) };
    let angles = [
        ("angularUnit", "decimal degrees"),
        ("directionUnit", "decimal degrees"),
        ("latLongAngularUnit", "decimal degrees"),
    ];
    xml.create_element("Units").write_inner_content(|xml| {
        xml.create_element(element).with_attributes(lengths).with_attributes(angles).write_empty()?;
        Ok(())
    })?;
    Ok(())
}

fn coordinate_system(xml: &mut Xml, context: &MapContext) -> std::io::Result<()> {
    let definition = &context.definition;
    let mut element = xml.create_element("CoordinateSystem").with_attribute(("name", &*clean(&context.frame.name)));
    let epsg = definition.epsg().map(|code| code.to_string());
    if let Some(code) = &epsg {
        element = element.with_attribute(("epsgCode", code.as_str()));
    }
    if let Some(datum) = &definition.datum {
        element = element.with_attribute(("horizontalDatum", &*clean(datum)));
    }
    element = element.with_attribute(("verticalDatum", &*clean(&context.frame.height)));
    let name = if context.frame.is_local() { "localCoordinateSystemName" } else { "projectedCoordinateSystemName" };
    element.with_attribute((name, &*clean(&context.frame.name))).write_empty()?;
    Ok(())
}

fn cogo_point(xml: &mut Xml, point: &CogoPoint, context: &MapContext) -> std::io::Result<()> {
    let mut element = xml.create_element("CgPoint").with_attribute(("name", &*clean(point.name)));
    for (attribute, text) in [("code", point.code), ("desc", point.description)] {
        if !text.is_empty() {
            element = element.with_attribute((attribute, &*clean(text)));
        }
    }
    let plan = plan(point.place, context);
    let text = point.elevation.map_or_else(|| plan.clone(), |z| format!("{plan} {}", elevation(z, context)));
    element.write_text_content(BytesText::new(&text))?;
    Ok(())
}

fn alignment(xml: &mut Xml, alignment: &Alignment, context: &MapContext) -> std::io::Result<()> {
    let in_frame = |metres: f64| units::metres(metres / context.frame.unit.metres(), 6);
    let length: f64 = alignment.line.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    xml.create_element("Alignment")
        .with_attribute(("name", &*clean(alignment.name)))
        .with_attribute(("length", in_frame(length).as_str()))
        .with_attribute(("staStart", in_frame(alignment.start_station).as_str()))
        .with_attribute(("desc", &*clean(alignment.description)))
        .write_inner_content(|xml| {
            xml.create_element("CoordGeom").write_inner_content(|xml| {
                for pair in alignment.line.windows(2) {
                    xml.create_element("Line").write_inner_content(|xml| {
                        place(xml, "Start", pair[0], context)?;
                        place(xml, "End", pair[1], context)
                    })?;
                }
                Ok(())
            })?;
            if alignment.profile.len() < 2 {
                return Ok(());
            }
            xml.create_element("Profile").write_inner_content(|xml| {
                xml.create_element("ProfAlign").with_attribute(("name", &*clean(alignment.name))).write_inner_content(
                    |xml| {
                        for &(station, z) in alignment.profile {
                            let text = format!("{} {}", in_frame(station), elevation(z, context));
                            xml.create_element("PVI").write_text_content(BytesText::new(&text))?;
                        }
                        Ok(())
                    },
                )?;
                Ok(())
            })?;
            Ok(())
        })?;
    Ok(())
}

fn surface(xml: &mut Xml, surface: &Surface, context: &MapContext) -> std::io::Result<()> {
    let tin = surface.tin;
    xml.create_element("Surface")
        .with_attribute(("name", &*clean(surface.name)))
        .with_attribute(("desc", &*clean(surface.description)))
        .write_inner_content(|xml| {
            let mut definition = xml.create_element("Definition").with_attribute(("surfType", "TIN"));
            if let Some((low, high)) = tin.elevation_range() {
                definition = definition
                    .with_attribute(("elevMin", elevation(low, context).as_str()))
                    .with_attribute(("elevMax", elevation(high, context).as_str()));
            }
            definition.write_inner_content(|xml| {
                xml.create_element("Pnts").write_inner_content(|xml| points(xml.get_mut(), tin, context))?;
                xml.create_element("Faces").write_inner_content(|xml| faces(xml.get_mut(), tin))?;
                Ok(())
            })?;
            Ok(())
        })?;
    Ok(())
}

/// The points of a mesh. They and the faces are nearly all of a file and hold nothing but numbers: written as plain lines
/// they take a third of the time.
fn points(out: &mut dyn std::io::Write, tin: &Tin, context: &MapContext) -> std::io::Result<()> {
    let mut numbers = String::new();
    for (index, vertex) in tin.vertices().iter().enumerate() {
        let Point3 { z, .. } = *vertex;
        numbers.clear();
        plan_into(&mut numbers, vertex.plan(), context);
        numbers.push(' ');
        elevation_into(&mut numbers, z, context);
        write!(out, "\n     <P id=\"{}\">{numbers}</P>", index + 1)?;
    }
    Ok(())
}

/// The faces of a mesh with their breakline bits.
fn faces(out: &mut dyn std::io::Write, tin: &Tin) -> std::io::Result<()> {
    for (id, corners) in tin.ids().zip(tin.triangles()) {
        let bits: u8 = (0..3).filter(|&edge| tin.is_break(id, edge)).map(|edge| 1 << edge).sum();
        let [a, b, c] = corners.map(|corner| corner + 1);
        if bits > 0 {
            write!(out, "\n     <F b=\"{bits}\">{a} {b} {c}</F>")?;
        } else {
            write!(out, "\n     <F>{a} {b} {c}</F>")?;
        }
    }
    Ok(())
}

fn place(xml: &mut Xml, element: &str, place: Point, context: &MapContext) -> std::io::Result<()> {
    xml.create_element(element).write_text_content(BytesText::new(&plan(place, context)))?;
    Ok(())
}

fn plan(place: Point, context: &MapContext) -> String {
    let mut text = String::new();
    plan_into(&mut text, place, context);
    text
}

fn elevation(metres: f64, context: &MapContext) -> String {
    let mut text = String::new();
    elevation_into(&mut text, metres, context);
    text
}

/// Northing first. Seven decimals, so that a place on the lattice (0.95 um) comes back to the same lattice point and the
/// thinnest triangle stays one.
fn plan_into(text: &mut String, place: Point, context: &MapContext) {
    let (easting, northing) = context.frame.to_frame(place);
    short(text, northing, 7);
    text.push(' ');
    short(text, easting, 7);
}

/// Nine decimals, so that two surfaces that coincide still do when they are read back.
fn elevation_into(text: &mut String, metres: f64, context: &MapContext) {
    short(text, context.frame.elevation_to_frame(metres), 9);
}

/// Without the zeros at its end, but with one decimal at least; never `-0.0`.
fn short(text: &mut String, value: f64, decimals: usize) {
    let start = text.len();
    let _ = write!(text, "{value:.decimals$}");
    let digits = start + text[start..].trim_end_matches('0').len();
    let least = text[start..].find('.').map_or(text.len(), |point| start + point + 2);
    text.truncate(digits.max(least));
    if text[start..] == *"-0.0" {
        text.replace_range(start..=start, "");
    }
}

//! KML 2.2 (OGC 07-147r2), to show the landholder: longitude and latitude, laid on the ground.
//!
//! KML heights would be above the EGM96 geoid, which a survey's elevations need not be, so there are none in the
//! geometry: elevations stand in the data of each placemark, with their unit in the name.

use super::geojson::HEIGHTS;
use super::{MapContext, WriteError, atomic, cell, ring::closed};
use crate::frame::{FrameError, Projector};
use crate::geom::Point3;
use crate::io::{ColumnKind, Feature, Geometry, Layer, Value};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use std::fmt::Write as _;
use std::path::Path;

type Xml = Writer<Vec<u8>>;

/// Writes the layers as folders; the first text of a feature is its name.
///
/// # Errors
/// [`WriteError::Frame`] for a site grid or a place outside the frame's area of use, [`WriteError::File`].
pub fn write(path: &Path, title: &str, layers: &[Layer], context: &MapContext) -> Result<(), WriteError> {
    let frame_fault = |source| WriteError::Frame { path: path.to_owned(), source };
    let projector = context.projector.as_ref().ok_or_else(|| frame_fault(FrameError::Local))?;
    // Places first, so that the writing below can only fail as a file.
    let mut places = Vec::new();
    for feature in layers.iter().flat_map(|layer| &layer.features) {
        places.push(coordinates(&feature.geometry, projector).map_err(frame_fault)?);
    }
    let bytes = document(title, layers, &places, context).map_err(|source| WriteError::file(path, source))?;
    atomic::write(path, &bytes)
}

fn document(title: &str, layers: &[Layer], places: &[Vec<String>], context: &MapContext) -> std::io::Result<Vec<u8>> {
    let mut places = places.iter();
    let mut xml = Writer::new_with_indent(Vec::new(), b' ', 1);
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let root = xml.create_element("kml").with_attribute(("xmlns", "http://www.opengis.net/kml/2.2"));
    root.write_inner_content(|xml| {
        xml.create_element("Document").write_inner_content(|xml| {
            text(xml, "name", title)?;
            let about = format!("longitude and latitude: WGS 84, degrees; survey: {}", context.frame.words());
            text(xml, "description", &about)?;
            for layer in layers {
                xml.create_element("Folder").write_inner_content(|xml| {
                    text(xml, "name", &layer.name)?;
                    text(xml, "description", &layer.description)?;
                    for feature in &layer.features {
                        let rings = places.next().map_or(&[][..], Vec::as_slice);
                        placemark(xml, layer, feature, rings, context)?;
                    }
                    Ok(())
                })?;
            }
            Ok(())
        })?;
        Ok(())
    })?;
    let mut bytes = xml.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

fn placemark(
    xml: &mut Xml,
    layer: &Layer,
    feature: &Feature,
    rings: &[String],
    context: &MapContext,
) -> std::io::Result<()> {
    let name = feature.values.iter().find_map(|value| if let Value::Text(text) = value { Some(text) } else { None });
    xml.create_element("Placemark").write_inner_content(|xml| {
        text(xml, "name", name.map_or(&*layer.name, String::as_str))?;
        if !layer.columns.is_empty() {
            xml.create_element("ExtendedData").write_inner_content(|xml| {
                for (column, value) in layer.columns.iter().zip(&feature.values) {
                    let name = cell::header(column, context.frame.unit);
                    xml.create_element("Data").with_attribute(("name", name.as_str())).write_inner_content(|xml| {
                        text(xml, "value", &cell::text(column.kind, value, &context.frame))
                    })?;
                }
                if layer.columns.iter().any(|column| column.kind == ColumnKind::Elevation) {
                    xml.create_element("Data")
                        .with_attribute(("name", HEIGHTS))
                        .write_inner_content(|xml| text(xml, "value", &context.frame.height))?;
                }
                Ok(())
            })?;
        }
        geometry(xml, &feature.geometry, rings)
    })?;
    Ok(())
}

fn geometry(xml: &mut Xml, geometry: &Geometry, rings: &[String]) -> std::io::Result<()> {
    let element = match geometry {
        Geometry::Point(_) => "Point",
        Geometry::Line(_) => "LineString",
        Geometry::Polygon(_) => "Polygon",
    };
    xml.create_element(element).write_inner_content(|xml| {
        if !matches!(geometry, Geometry::Point(_)) {
            text(xml, "tessellate", "1")?;
        }
        for (at, ring) in rings.iter().enumerate() {
            if matches!(geometry, Geometry::Polygon(_)) {
                let boundary = if at == 0 { "outerBoundaryIs" } else { "innerBoundaryIs" };
                xml.create_element(boundary).write_inner_content(|xml| {
                    xml.create_element("LinearRing").write_inner_content(|xml| text(xml, "coordinates", ring))?;
                    Ok(())
                })?;
            } else {
                text(xml, "coordinates", ring)?;
            }
        }
        Ok(())
    })?;
    Ok(())
}

fn coordinates(geometry: &Geometry, projector: &Projector) -> Result<Vec<String>, FrameError> {
    let line = |points: &[Point3]| {
        let mut text = String::new();
        for point in points {
            let (longitude, latitude) = projector.to_lonlat(point.plan())?;
            let space = if text.is_empty() { "" } else { " " };
            let _ = write!(text, "{space}{longitude:.9},{latitude:.9}");
        }
        Ok(text)
    };
    match geometry {
        Geometry::Point(place) => Ok(vec![line(&[*place])?]),
        Geometry::Line(points) => Ok(vec![line(points)?]),
        Geometry::Polygon(rings) => rings.iter().enumerate().map(|(at, ring)| line(&closed(ring, at == 0))).collect(),
    }
}

fn text(xml: &mut Xml, element: &str, content: &str) -> std::io::Result<()> {
    xml.create_element(element).write_text_content(BytesText::new(&super::xml::clean(content)))?;
    Ok(())
}

//! Map files, clouds and surfaces by the ending of their names.

use super::PipelineError;
use crate::frame::{FrameDefinition, SiteFrame, resolve};
use crate::geom::Point;
use crate::io::Geometry;
use crate::io::read::cloud::Cloud;
use crate::io::read::{ReadError, Shape, geojson, geopackage, landxml};
use crate::notes::Noted;
use crate::surface::Tin;
use std::collections::BTreeMap;
use std::path::Path;

/// The ending of a file's name in lower case.
pub(super) fn ending(path: &Path) -> String {
    path.extension().unwrap_or_default().to_string_lossy().to_lowercase()
}

/// The shapes of a map file in the local frame: GeoPackage, LandXML alignments, else GeoJSON.
pub(super) fn shapes(path: &Path, frame: &SiteFrame) -> Result<Noted<Vec<Shape>>, ReadError> {
    match ending(path).as_str() {
        "gpkg" => geopackage::read(path, None, frame),
        "xml" | "landxml" => {
            let mut read = landxml::read(path)?;
            read.notes.extend(read.value.check_frame(frame)?);
            let shape = |alignment: &landxml::Alignment| Shape {
                geometry: Geometry::line(&alignment.local(frame)),
                with_elevation: false,
                layer: alignment.name.clone(),
                attributes: BTreeMap::new(),
            };
            Ok(Noted { value: read.value.alignments.iter().map(shape).collect(), notes: read.notes })
        }
        _ => geojson::read(path, frame),
    }
}

/// The only surface of a LandXML file, in the frame of an earlier surface, else in the file's own.
pub(super) fn surface(path: &Path, like: Option<&SiteFrame>) -> Result<Noted<(Tin, SiteFrame)>, PipelineError> {
    let mut read = landxml::read(path)?;
    let surface = read.value.surface(None)?;
    let frame = match like {
        Some(frame) => {
            read.notes.extend(read.value.check_frame(frame)?);
            frame.clone()
        }
        None => own_frame(read.value.crs.as_deref(), read.value.height.as_deref(), surface.origin())?,
    };
    let tin = read.value.tin(surface, &frame)?;
    Ok(Noted { value: (tin, frame), notes: read.notes })
}

/// A place in the middle of a cloud, for a site without point files.
pub(super) fn middle_of_cloud(cloud: &Cloud) -> Option<(f64, f64)> {
    let [lowest, highest] = cloud.bounds?;
    Some((f64::midpoint(lowest[0], highest[0]), f64::midpoint(lowest[1], highest[1])))
}

fn own_frame(crs: Option<&str>, height: Option<&str>, origin: Point) -> Result<SiteFrame, PipelineError> {
    let definition = match crs {
        Some(crs) => resolve(crs)?,
        None => FrameDefinition::local(crate::units::LengthUnit::Metres),
    };
    let mut frame = definition.site_frame((0.0, 0.0), height);
    frame.origin = origin;
    Ok(frame)
}

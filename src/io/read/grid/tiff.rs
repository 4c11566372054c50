//! Elevations in a `GeoTIFF`: one channel, values at nodes or in the middles of cells, strips or tiles.

use super::{GridFile, ReadError, bounded, broken};
use crate::io::read::geotiff::{Raster, is_none};
use crate::units::LengthUnit;
use std::fs::File;

/// More than the packing of a TIFF ever gains.
const DENSEST: usize = 1_500;

pub(super) fn read(file: File, name: &str, no_data: Option<f64>) -> Result<GridFile, ReadError> {
    let fault = |why: String| broken(name, why);
    let length = file.metadata().map_err(|source| ReadError::Open { path: name.to_owned(), source })?.len();
    let mut raster = Raster::open(file).map_err(fault)?;
    if raster.samples > 1 {
        return Err(fault(format!("it has {} channels: accepted is one, of elevations", raster.samples)));
    }
    let (columns, rows) = (raster.columns, raster.rows);
    let nodes = bounded(name, columns, rows)?;
    if 2 * nodes / DENSEST > usize::try_from(length).unwrap_or(usize::MAX) {
        return Err(fault(format!("its header says {columns} columns and {rows} rows, in a file of {length} bytes")));
    }
    let crs = if raster.keys.is_geographic() {
        raster.keys.code().or_else(|| Some("EPSG:4326".to_owned()))
    } else {
        raster.keys.code().or_else(|| raster.keys.definition().map(str::to_owned))
    };
    let north_up = raster.step[1] < 0.0;
    let step = [raster.step[0], raster.step[1].abs()];
    let last = raster.first[1] + (rows - 1) as f64 * raster.step[1];
    let low = [raster.first[0], raster.first[1].min(last)];
    let [scale, offset] = raster.scale_and_offset(0);
    let no_values: Vec<f64> = raster.no_value.into_iter().chain(no_data).collect();
    let none = |value: f64| !value.is_finite() || no_values.iter().any(|no_value| is_none(value, *no_value));
    let elevation = |value: f64| if none(value) { f64::NAN } else { value * scale + offset };
    let unit = unit(&raster).map_err(fault)?;
    let mut elevations = vec![f64::NAN; nodes];
    for index in 0..raster.chunks() {
        let chunk = raster.chunk(index, 0).map_err(fault)?;
        for (line, values) in chunk.values.chunks_exact(chunk.columns).enumerate() {
            let row = chunk.row + line;
            let row = if north_up { rows - 1 - row } else { row };
            let start = row * columns + chunk.column;
            for (node, &value) in elevations[start..start + chunk.columns].iter_mut().zip(values) {
                *node = elevation(value);
            }
        }
    }
    Ok(GridFile { path: name.to_owned(), crs, unit, columns, low, step, elevations })
}

/// The unit of the elevations: of the heights' system, else of the channel.
fn unit(raster: &Raster) -> Result<Option<LengthUnit>, String> {
    let by_key = raster.keys.vertical_unit().filter(|code| *code != 0 && *code != 32767);
    if let Some(code) = by_key {
        return match code {
            9001 => Ok(Some(LengthUnit::Metres)),
            9002 => Ok(Some(LengthUnit::Feet)),
            9003 => Ok(Some(LengthUnit::UsSurveyFeet)),
            _ => {
                Err(format!("the unit of its elevations has code {code}: accepted are metre, foot and US survey foot"))
            }
        };
    }
    let word = raster.of_sample("unittype", 0).unwrap_or_default().to_lowercase();
    match word.as_str() {
        "" => Ok(None),
        "m" | "metre" | "meter" | "metres" | "meters" => Ok(Some(LengthUnit::Metres)),
        "ft" | "foot" | "feet" | "international foot" => Ok(Some(LengthUnit::Feet)),
        "us-ft" | "ftus" | "us survey foot" | "us survey feet" | "foot_us" => Ok(Some(LengthUnit::UsSurveyFeet)),
        other => Err(format!("the unit of its elevations is `{other}`: accepted are metre, foot and US survey foot")),
    }
}

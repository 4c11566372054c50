//! What can be typed.

use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;
use swalewright::io::read::points::Confidence;
use swalewright::pipeline::{PointOptions, Stage};
use swalewright::survey::{Delimiter, Epochs, Meaning};
use swalewright::units::{Elevation, Length, LengthUnit, parse_elevation, parse_length};

/// From field shots to stakes: level swales, spillways, earth quantities, dig sheets and as-built checks.
#[derive(Debug, Parser)]
#[command(version, about, max_term_width = 100, disable_help_subcommand = true)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
    /// Print one JSON object on stdout, and nothing else there.
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Leave out progress and notes; the result and faults stay.
    #[arg(long, short, global = true)]
    pub(crate) quiet: bool,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Lay out a site folder: a commented pipeline file and a small sample that runs at once.
    New {
        /// The folder: new, or empty.
        folder: PathBuf,
    },
    /// Run pipeline files: from shots to stakes and sheets.
    Run {
        /// Pipeline files.
        #[arg(required = true, value_name = "PIPELINE.toml")]
        pipelines: Vec<PathBuf>,
        /// Output folder; without it, beside the pipeline file and named after it. Of several pipeline files each gets a
        /// folder in it.
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
        /// The last stage to run.
        #[arg(long, value_name = "STAGE", value_parser = stage)]
        until: Option<Stage>,
        /// Make every stage again, whatever has not changed.
        #[arg(long)]
        fresh: bool,
    },
    /// What is in this point file, cloud, grid or surface; does it look right.
    Look {
        /// Files.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
        /// Draw what is in them into this SVG file as well: shots, a cloud's ground and density, a surface's contours.
        #[arg(long, value_name = "FILE.svg")]
        svg: Option<PathBuf>,
        /// Of the ground or surface in the file: elevation, slope and the way it falls at this place, easting,northing.
        #[arg(long, value_name = "E,N", value_parser = pair, allow_hyphen_values = true)]
        at: Option<(f64, f64)>,
        #[command(flatten)]
        points: PointArguments,
    },
    /// Is this line truly on contour: its deviation station by station.
    OnContour {
        /// A GeoJSON or GeoPackage line, a LandXML alignment, or a point file in order.
        line: PathBuf,
        /// The ground: a point file, a cloud, a grid (GeoTIFF or text), a LandXML surface, or a run's folder (OUT, or
        /// OUT#works).
        #[arg(long, value_name = "G")]
        ground: String,
        /// The elevation to measure against; without it, the length-weighted mean ground along the line.
        #[arg(long, value_name = "ELEVATION", value_parser = parse_elevation)]
        at: Option<Elevation>,
        /// Allowed deviation [default: 50 mm, common practice, no source].
        #[arg(long, value_name = "T", value_parser = parse_length)]
        tolerance: Option<Length>,
        #[command(flatten)]
        points: PointArguments,
    },
    /// Cut and fill between two surfaces, or water below an elevation.
    #[command(override_usage = "swalewright volume FROM TO [--within POLYGON]\n       \
                                swalewright volume G --below ELEVATION [--at E,N]")]
    Volume {
        /// The surface before; or the only one, with --below.
        from: String,
        /// The surface after: cut is where it lies below FROM.
        #[arg(conflicts_with = "below", required_unless_present = "below")]
        to: Option<String>,
        /// Count only inside this polygon (GeoJSON or GeoPackage).
        #[arg(long, value_name = "POLYGON", conflicts_with = "below")]
        within: Option<PathBuf>,
        /// Water area and volume below this elevation, such as "431.25 m".
        #[arg(long, value_name = "ELEVATION", value_parser = parse_elevation)]
        below: Option<Elevation>,
        /// Only in the hollow at this place: easting,northing.
        #[arg(long, value_name = "E,N", value_parser = pair, requires = "below", allow_hyphen_values = true)]
        at: Option<(f64, f64)>,
        #[command(flatten)]
        points: PointArguments,
    },
    /// As-built check: what was dug against what was designed.
    Check {
        /// A run's output folder.
        works: PathBuf,
        /// The point file of the shots taken after the dig.
        book: PathBuf,
        /// Replaces the tolerance of every part.
        #[arg(long, value_name = "T", value_parser = parse_length)]
        tolerance: Option<Length>,
        #[command(flatten)]
        points: PointArguments,
    },
}

/// How point files and grids are written, where their header does not say.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Point files and grids")]
pub(crate) struct PointArguments {
    /// Columns in order, such as "point, easting, northing, elevation, code".
    #[arg(long, value_name = "NAMES")]
    columns: Option<String>,
    /// The frame, such as EPSG:32755; "local" for a site grid.
    #[arg(long, value_name = "FRAME")]
    crs: Option<String>,
    /// Unit of the numbers (of a grid: of its elevations): metres, feet or us-survey-feet.
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    units: Option<LengthUnit>,
    /// What field codes mean, such as "ground=gs, breakline=ridge, breakline=drain".
    #[arg(long, value_name = "ROLE=CODE", value_parser = role, value_delimiter = ',')]
    roles: Vec<(Meaning, String)>,
    /// What stands between two columns: comma, semicolon, tab or space.
    #[arg(long, value_name = "NAME", value_parser = delimiter)]
    delimiter: Option<Delimiter>,
    /// Numbers are written with a decimal comma.
    #[arg(long)]
    decimal_comma: bool,
    /// What the stated precisions are, where titles do not say: one-sigma, 95-percent or two-sigma.
    #[arg(long, value_name = "KIND", value_parser = sigmas)]
    sigmas: Option<Confidence>,
    /// What is made of the epochs of a log: a shot where the rover stood still (standing), or from every one (every).
    #[arg(long, value_name = "WHICH", value_parser = epochs)]
    epochs: Option<Epochs>,
    /// The value that stands in a grid where there is no elevation, beside the one that its file names.
    #[arg(long, value_name = "VALUE", allow_negative_numbers = true)]
    no_data: Option<f64>,
}

impl From<PointArguments> for PointOptions {
    fn from(typed: PointArguments) -> Self {
        Self {
            columns: typed.columns,
            crs: typed.crs,
            units: typed.units,
            roles: typed.roles,
            delimiter: typed.delimiter,
            decimal_comma: typed.decimal_comma,
            sigmas: typed.sigmas,
            epochs: typed.epochs.unwrap_or_default(),
            no_data: typed.no_data,
        }
    }
}

fn stage(text: &str) -> Result<Stage, String> {
    Stage::from_name(text).ok_or_else(|| {
        let names: Vec<&str> = Stage::ALL.into_iter().map(Stage::name).collect();
        format!("the stages are {}", names.join(", "))
    })
}

fn unit(text: &str) -> Result<LengthUnit, String> {
    LengthUnit::from_name(text).ok_or_else(|| "accepted are metres, feet and us-survey-feet".to_owned())
}

fn delimiter(text: &str) -> Result<Delimiter, String> {
    Delimiter::from_name(text).ok_or_else(|| "accepted are comma, semicolon, tab and space".to_owned())
}

fn sigmas(text: &str) -> Result<Confidence, String> {
    choice(text, &Confidence::NAMES)
}

fn epochs(text: &str) -> Result<Epochs, String> {
    choice(text, &Epochs::NAMES)
}

fn choice<T: Copy>(text: &str, names: &[(&str, T)]) -> Result<T, String> {
    let found = names.iter().find(|(name, _)| *name == text).map(|(_, value)| *value);
    found.ok_or_else(|| {
        let names: Vec<&str> = names.iter().map(|(name, _)| *name).collect();
        format!("accepted are {}", names.join(", "))
    })
}

fn role(text: &str) -> Result<(Meaning, String), String> {
    let (name, code) = text.split_once('=').ok_or("write it as role=code, such as ground=gs")?;
    let meaning = Meaning::from_name(name.trim()).ok_or_else(|| {
        let names: Vec<&str> = Meaning::names().collect();
        format!("`{}` is no role: accepted are {}", name.trim(), names.join(", "))
    })?;
    Ok((meaning, code.trim().to_owned()))
}

fn pair(text: &str) -> Result<(f64, f64), String> {
    let number = |part: &str| part.trim().parse::<f64>().ok().filter(|number| number.is_finite());
    let parts: Vec<Option<f64>> = text.split(',').map(number).collect();
    match parts.as_slice() {
        [Some(easting), Some(northing)] => Ok((*easting, *northing)),
        _ => Err("write it as two bare numbers with a comma: easting,northing".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;
    use swalewright::survey::Role;

    #[test]
    fn the_arguments_are_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn places_and_roles() {
        assert_eq!(pair("412350.0, 6187220"), Ok((412_350.0, 6_187_220.0)));
        assert!(pair("412350").is_err());
        assert!(pair("NaN,0").is_err());
        assert_eq!(role("breakline = ridge"), Ok((Meaning::Role(Role::Breakline), "ridge".to_owned())));
        assert!(role("hedge=h").unwrap_err().contains("keep-out"));
    }
}

//! Surfaces, lines and regions from what a person names on the command line.
//!
//! A surface is a point file, a cloud, a grid, a LandXML surface, or what a run left: its folder is its ground, `OUT#works`
//! the ground with all works on it. The first surface says the frame; the next ones are brought into it.

use super::config::CloudsAsked;
use super::foreign::{self, ending, middle_of_cloud};
use super::line::open_line;
use super::{Manifest, PipelineError, clouds};
use crate::frame::{self, FrameDefinition, FrameError, SiteFrame};
use crate::geom::Polygon;
use crate::ground::{self, GroundSettings};
use crate::io::read::grid::{self, GridFile, GridSettings};
use crate::io::read::points::{self, Confidence, FileSettings};
use crate::io::read::tin::{self, TinFile};
use crate::io::read::{ReadError, Shape};
use crate::notes::{Note, Noted, Silent};
use crate::surface::{Grid, Locator, Tin};
use crate::survey::{self, Delimiter, Epochs, Meaning, PointFile, Roles, Settings, Survey};
use crate::units::{Elevation, Length, LengthUnit};
use crate::works::{self, ContourCheck};
use std::path::Path;

/// What a person says of the point files on the command line; the rest the files say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PointOptions {
    /// Columns in order.
    pub columns: Option<String>,
    /// The frame.
    pub crs: Option<String>,
    /// The unit of the numbers.
    pub units: Option<LengthUnit>,
    /// What codes mean.
    pub roles: Vec<(Meaning, String)>,
    /// What stands between two columns.
    pub delimiter: Option<Delimiter>,
    /// Numbers are written with a decimal comma.
    pub decimal_comma: bool,
    /// What the stated sigmas are.
    pub sigmas: Option<Confidence>,
    /// What is made of the epochs of a log.
    pub epochs: Epochs,
    /// The value that stands in a grid where there is no elevation.
    pub no_data: Option<f64>,
}

impl PointOptions {
    /// How a file is written.
    pub(super) fn file(&self) -> FileSettings {
        FileSettings {
            name: None,
            columns: self.columns.clone(),
            delimiter: self.delimiter,
            unit: self.units,
            decimal_comma: self.decimal_comma,
            sigmas: self.sigmas,
            epochs: self.epochs,
        }
    }

    /// The code table on top of another.
    pub(super) fn over(&self, mut roles: Roles) -> Roles {
        self.roles.iter().for_each(|(meaning, word)| roles.set_meaning(word, *meaning));
        roles
    }

    /// How shots are judged.
    #[must_use]
    pub fn settings(&self) -> Settings {
        Settings { roles: self.over(Roles::default()), ..Settings::default() }
    }

    /// The frame said, else a site grid.
    ///
    /// # Errors
    /// When PROJ does not know the frame.
    pub fn definition(&self) -> Result<Noted<FrameDefinition>, PipelineError> {
        match self.crs.as_deref().map(str::trim) {
            Some(crs) if crs != "local" => Ok(Noted::plain(frame::resolve(crs)?)),
            said => {
                let note = Note::new(
                    "open::frame-assumed",
                    "no frame said (--crs): coordinates are taken as a site grid".to_owned(),
                );
                Ok(Noted {
                    value: FrameDefinition::local(self.units.unwrap_or_default()),
                    notes: if said.is_none() { vec![note] } else { Vec::new() },
                })
            }
        }
    }
}

/// A surface that was named.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenSurface {
    /// `points`, `cloud`, `grid`, `landxml`, `tin` or `run`.
    pub kind: &'static str,
    /// The surface in the local frame.
    pub tin: Tin,
    /// The frame.
    pub frame: SiteFrame,
    /// The grid that it goes through, when it came as one.
    pub grid: Option<Grid>,
}

/// Two grids on the same nodes become surfaces whose diagonals all run one way, so that net volumes between them are those of
/// the cells; others stay as they are.
pub fn part_cells_alike(one: &mut OpenSurface, other: &mut OpenSurface) {
    if let (Some(a), Some(b)) = (&one.grid, &other.grid)
        && a.same_nodes(b)
        && let (Ok(first), Ok(second)) = (a.tin_one_way(), b.tin_one_way())
    {
        one.tin = first;
        other.tin = second;
    }
}

/// Opens a surface, in the frame of an earlier one when there is one.
///
/// # Errors
/// [`PipelineError`] with what cannot be read or used.
pub fn open_surface(
    named: &str,
    options: &PointOptions,
    like: Option<&SiteFrame>,
) -> Result<Noted<OpenSurface>, PipelineError> {
    let (path, part) = match named.rsplit_once('#') {
        Some((folder, part)) if Path::new(folder).is_dir() => (Path::new(folder), Some(part)),
        _ => (Path::new(named), None),
    };
    if path.is_dir() {
        return of_run(path, part, like);
    }
    if points::is_points(path) {
        return of_points(path, options, like);
    }
    match ending(path).as_str() {
        "las" | "laz" => of_cloud(path, options, like),
        "xml" | "landxml" => of_landxml(path, like),
        "tin" => {
            let (tin, frame) = of_tin(tin::read(path)?, like)?;
            Ok(Noted::plain(OpenSurface { kind: "tin", tin, frame, grid: None }))
        }
        "tif" | "tiff" => of_grid(read_grid(path, options)?, options, like),
        _ if grid::is_grid(path) => of_grid(read_grid(path, options)?, options, like),
        _ => of_points(path, options, like),
    }
}

fn of_run(folder: &Path, part: Option<&str>, like: Option<&SiteFrame>) -> Result<Noted<OpenSurface>, PipelineError> {
    let manifest = Manifest::open(folder)?;
    let file = match part {
        None | Some("ground") if manifest.lists("works/natural.tin") => "works/natural.tin",
        None | Some("ground" | "shots") => "ground/ground.tin",
        Some("works") => "works/works.tin",
        Some(other) => {
            return Err(PipelineError::Unreadable {
                path: folder.to_owned(),
                why: format!("`#{other}` names no surface of a run: accepted are #ground, #shots and #works"),
            });
        }
    };
    let (tin, frame) = surface_of_run(&manifest, file, like)?;
    Ok(Noted::plain(OpenSurface { kind: "run", tin, frame, grid: None }))
}

/// A surface that a run left, unchanged since, in the frame of an earlier one or in its own.
pub(super) fn surface_of_run(
    manifest: &Manifest,
    file: &str,
    like: Option<&SiteFrame>,
) -> Result<(Tin, SiteFrame), PipelineError> {
    let name = manifest.folder.join(file).display().to_string();
    of_tin(tin::from_bytes(&manifest.read(file)?, &name)?, like)
}

fn of_tin(file: TinFile, like: Option<&SiteFrame>) -> Result<(Tin, SiteFrame), PipelineError> {
    let frame = like.unwrap_or(&file.frame).clone();
    Ok((file.in_frame(&frame)?, frame))
}

fn of_points(
    path: &Path,
    options: &PointOptions,
    like: Option<&SiteFrame>,
) -> Result<Noted<OpenSurface>, PipelineError> {
    let file = points::read_measured(path, &options.file())?;
    let mut notes = Vec::new();
    let frame = frame_for(std::slice::from_ref(&file), options, like, &mut notes)?;
    let survey = survey::check(&[file], &options.settings(), &frame)?.drain_into(&mut notes);
    let ground = ground::build(&survey, &GroundSettings::default())?.drain_into(&mut notes);
    Ok(Noted { value: OpenSurface { kind: "points", tin: ground.tin, frame, grid: None }, notes })
}

/// The frame of an earlier surface, else the one said, around the shots.
pub(super) fn frame_for(
    files: &[PointFile],
    options: &PointOptions,
    like: Option<&SiteFrame>,
    notes: &mut Vec<Note>,
) -> Result<SiteFrame, PipelineError> {
    if let Some(frame) = like {
        return Ok(frame.clone());
    }
    let own = files.iter().find_map(|file| file.crs.as_deref()).filter(|_| options.crs.is_none());
    let mut definition = match own {
        Some(own) => frame::resolve(own)?,
        None => options.definition()?.drain_into(notes),
    };
    if definition.crs == "local"
        && let Some(unit) = files.iter().find_map(|file| file.unit)
    {
        definition = FrameDefinition::local(unit);
    }
    let middle = survey::middle(files, &options.settings(), &definition)?;
    Ok(definition.site_frame(middle.unwrap_or_default(), None))
}

fn of_cloud(
    path: &Path,
    options: &PointOptions,
    like: Option<&SiteFrame>,
) -> Result<Noted<OpenSurface>, PipelineError> {
    let mut notes = Vec::new();
    let asked = CloudsAsked::default();
    let mut read = clouds::read(&[path.to_owned()], &asked)?.drain_into(&mut notes);
    let Some(cloud) = read.pop() else { return Err(PipelineError::Fault { what: "a cloud was lost".to_owned() }) };
    let frame = match (like, &cloud.file.crs, &options.crs) {
        (Some(frame), ..) => frame.clone(),
        (None, Some(own), None) => frame::resolve(own)?.site_frame(middle_of_cloud(&cloud).unwrap_or_default(), None),
        (None, ..) => {
            let definition = options.definition()?.drain_into(&mut notes);
            definition.site_frame(middle_of_cloud(&cloud).unwrap_or_default(), None)
        }
    };
    let mut survey = Survey::empty(frame.clone());
    survey.cloud = clouds::ground(vec![cloud], &asked, &frame, &Silent)?.drain_into(&mut notes).points;
    let ground = ground::build(&survey, &GroundSettings::default())?.drain_into(&mut notes);
    Ok(Noted { value: OpenSurface { kind: "cloud", tin: ground.tin, frame, grid: None }, notes })
}

/// A grid as it stands in its file.
pub(super) fn read_grid(path: &Path, options: &PointOptions) -> Result<Noted<GridFile>, PipelineError> {
    let settings = GridSettings { no_data: options.no_data, unit: options.units };
    Ok(grid::read(path, &path.display().to_string(), &settings)?)
}

/// The surface through the nodes of a grid.
pub(super) fn of_grid(
    file: Noted<GridFile>,
    options: &PointOptions,
    like: Option<&SiteFrame>,
) -> Result<Noted<OpenSurface>, PipelineError> {
    let Noted { value: file, mut notes } = file;
    let frame = match (like, &options.crs, &file.crs) {
        (Some(frame), ..) => frame.clone(),
        (None, None, Some(own)) => frame::resolve(own)
            .map_err(|source| match source {
                FrameError::Geographic { .. } => {
                    ReadError::Lacks { path: file.path.clone(), why: format!("{source}: say one (--crs)") }
                }
                source => ReadError::Frame { path: file.path.clone(), source },
            })?
            .site_frame(file.middle(), None),
        (None, ..) => {
            // Plan coordinates are in the frame's unit, whatever the elevations are in.
            let plan = PointOptions { crs: options.crs.clone(), ..PointOptions::default() };
            let definition = plan.definition()?.drain_into(&mut notes);
            definition.site_frame(file.middle_in(&definition)?, None)
        }
    };
    let grid = file.in_frame(&frame)?.drain_into(&mut notes);
    let tin = grid.tin().map_err(|why| ReadError::Lacks { path: file.path.clone(), why: why.to_string() })?;
    Ok(Noted { value: OpenSurface { kind: "grid", tin, frame, grid: Some(grid) }, notes })
}

fn of_landxml(path: &Path, like: Option<&SiteFrame>) -> Result<Noted<OpenSurface>, PipelineError> {
    let Noted { value: (tin, frame), notes } = foreign::surface(path, like)?;
    Ok(Noted { value: OpenSurface { kind: "landxml", tin, frame, grid: None }, notes })
}

/// The one polygon of a map file.
///
/// # Errors
/// [`PipelineError`] when it cannot be read, or holds none or several.
pub fn open_region(path: &Path, frame: &SiteFrame) -> Result<Polygon, PipelineError> {
    let shapes = foreign::shapes(path, frame)?.value;
    let regions: Vec<Polygon> = shapes.iter().filter_map(Shape::as_polygon).collect();
    match <[Polygon; 1]>::try_from(regions) {
        Ok([region]) => Ok(region),
        Err(regions) => Err(PipelineError::Unreadable {
            path: path.to_owned(),
            why: format!("it must hold one polygon, found {}", regions.len()),
        }),
    }
}

/// A line against the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct OnContour {
    /// The elevation it was held against, metres.
    pub level: f64,
    /// Station by station.
    pub check: ContourCheck,
    /// The frame.
    pub frame: SiteFrame,
}

/// Is a line truly on contour.
///
/// # Errors
/// [`PipelineError`] when something cannot be read, or the line lies nowhere on the ground.
pub fn on_contour(
    line: &Path,
    ground: &str,
    at: Option<Elevation>,
    tolerance: Length,
    options: &PointOptions,
) -> Result<Noted<OnContour>, PipelineError> {
    let Noted { value: surface, mut notes } = open_surface(ground, options, None)?;
    let line_read = open_line(line, options, &surface.frame)?.drain_into(&mut notes);
    let locator = Locator::new(&surface.tin);
    let level = at.map(Elevation::in_metres);
    let Some((level, check)) = works::contour_check(&line_read, &locator, level, tolerance.in_metres()) else {
        return Err(PipelineError::Unreadable {
            path: line.to_owned(),
            why: format!("the line lies nowhere on the surface {ground}"),
        });
    };
    Ok(Noted { value: OnContour { level, check, frame: surface.frame }, notes })
}

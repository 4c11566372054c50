//! `GeoTIFF` geoid grids, as PROJ's grids are kept: a geographic system, single or double precision or scaled integers,
//! metadata that says which channel holds what. Every image of the file is a grid but for overviews and masks; one that does not say
//! what it is takes that from the first.
//!
//! Source: the description of geodetic grids in PROJ's manual.

use super::{Kept, broken};
use crate::frame::{GeoidGrid, GridLayout};
use crate::io::read::ReadError;
use crate::io::read::geotiff::{GeoKeys, Item, Raster, images, is_none};
use std::cell::RefCell;
use std::fs::File;

/// What a channel may be called that holds the height of the geoid over the ellipsoid.
const CHANNELS: [&str; 2] = ["geoid_undulation", "vertical_offset"];

/// The kind of grid that turns ellipsoidal heights into elevations, and those that do something else.
const GEOID_KIND: &str = "VERTICAL_OFFSET_GEOGRAPHIC_TO_VERTICAL";

pub(super) struct TiffGrid {
    name: String,
    layout: GridLayout,
    raster: RefCell<Raster>,
    chunks: RefCell<Kept>,
    sample: usize,
    no_value: Option<f64>,
    scale: f64,
    offset: f64,
    /// Row zero of the image lies in the north.
    north_up: bool,
}

impl std::fmt::Debug for TiffGrid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TiffGrid").field("name", &self.name).field("layout", &self.layout).finish_non_exhaustive()
    }
}

impl TiffGrid {
    /// All grids of a file, those with finer steps first.
    pub(super) fn open_all(open: &dyn Fn() -> Result<File, ReadError>, name: &str) -> Result<Vec<Self>, ReadError> {
        let images = images(open()?).map_err(|why| broken(name, why))?;
        let (mut grids, mut first): (Vec<Self>, Option<(GeoKeys, Vec<Item>)>) = (Vec::new(), None);
        for image in images {
            let fault = |why: String| {
                let which = if image == 0 { String::new() } else { format!("image {}: ", image + 1) };
                broken(name, which + &why)
            };
            let raster = Raster::open_image(open()?, image, first.as_ref().map(|(keys, _)| keys)).map_err(fault)?;
            let items = first.as_ref().map(|(_, items)| items).filter(|_| raster.items.is_empty());
            let items = items.unwrap_or(&raster.items).clone();
            if first.is_none() {
                first = Some((raster.keys.clone(), items.clone()));
            }
            grids.push(Self::of(raster, &items, name).map_err(fault)?);
        }
        let cell = |grid: &Self| grid.layout.step_east * grid.layout.step_north;
        grids.sort_by(|a, b| cell(a).total_cmp(&cell(b)));
        Ok(grids)
    }

    fn of(raster: Raster, items: &[Item], name: &str) -> Result<Self, String> {
        let sample = channel(items, raster.samples)?;
        let layout = layout(&raster)?;
        let [scale, offset] = raster.scale_and_offset(sample);
        Ok(Self {
            name: name.to_owned(),
            layout,
            sample,
            no_value: raster.no_value,
            scale,
            offset,
            north_up: raster.step[1] < 0.0,
            raster: RefCell::new(raster),
            chunks: RefCell::default(),
        })
    }
}

impl GeoidGrid for TiffGrid {
    fn name(&self) -> &str {
        &self.name
    }

    fn layout(&self) -> GridLayout {
        self.layout
    }

    fn node(&self, column: usize, row: usize) -> Result<Option<f64>, String> {
        let row = if self.north_up { self.layout.rows - 1 - row } else { row };
        let mut raster = self.raster.borrow_mut();
        let index = raster.chunk_of(column, row);
        let mut chunks = self.chunks.borrow_mut();
        let chunk = chunks.get_or(index as u64, || raster.chunk(index, self.sample))?;
        let value = chunk.values[(row - chunk.row) * chunk.columns + column - chunk.column];
        let missing = !value.is_finite() || self.no_value.is_some_and(|no_value| is_none(value, no_value));
        Ok((!missing).then_some(value * self.scale + self.offset))
    }
}

fn layout(raster: &Raster) -> Result<GridLayout, String> {
    if !raster.keys.is_geographic() {
        return Err("its nodes are not in longitude and latitude: accepted are geographic grids".to_owned());
    }
    let [step_east, step] = raster.step;
    if step_east >= 90.0 || step.abs() >= 90.0 {
        return Err(format!("its steps of {step_east} and {step} degrees cannot be"));
    }
    let [west, first] = raster.first;
    let last = first + (raster.rows - 1) as f64 * step;
    Ok(GridLayout {
        west,
        south: first.min(last),
        step_east,
        step_north: step.abs(),
        columns: raster.columns,
        rows: raster.rows,
    })
}

/// The channel that holds the geoid's height; an error when the file says that it holds something else.
fn channel(items: &[Item], samples: usize) -> Result<usize, String> {
    if let Some(kind) = items.iter().find(|item| item.name == "TYPE").map(|item| item.text.trim())
        && kind != GEOID_KIND
    {
        return Err(format!("it is of type {kind}: accepted is {GEOID_KIND}"));
    }
    let described: Vec<&Item> = items.iter().filter(|item| item.role == "description").collect();
    let fits = |item: &&&Item| CHANNELS.contains(&item.text.trim());
    if let Some(item) = described.iter().find(fits) {
        return Ok(item.sample.unwrap_or(0).min(samples - 1));
    }
    match (described.first(), samples) {
        (Some(item), _) => Err(format!("its channel is `{}`: accepted is {}", item.text.trim(), CHANNELS.join(" or "))),
        (None, 1) => Ok(0),
        (None, _) => Err(format!("it has {samples} channels and does not say which holds the geoid's height")),
    }
}

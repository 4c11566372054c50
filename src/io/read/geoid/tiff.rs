//! GeoTIFF geoid grids, as PROJ's grids are kept: a geographic system, single or double precision or scaled integers,
//! metadata that says which channel holds what. The first image of the file is the grid.
//!
//! Source: OGC 19-008 (GeoTIFF 1.1) for the place of the nodes, and the description of geodetic grids in PROJ's manual.

use super::{Kept, broken};
use crate::frame::{GeoidGrid, GridLayout};
use crate::io::read::ReadError;
use quick_xml::Reader;
use quick_xml::events::Event;
use std::cell::RefCell;
use std::fs::File;
use std::io::BufReader;
use tiff::decoder::{Decoder, DecodingResult};
use tiff::tags::Tag;

const PIXEL_SCALE: Tag = Tag::Unknown(33550);
const TIEPOINT: Tag = Tag::Unknown(33922);
const TRANSFORMATION: Tag = Tag::Unknown(34264);
const GEO_KEYS: Tag = Tag::Unknown(34735);
const GDAL_METADATA: Tag = Tag::Unknown(42112);
const GDAL_NODATA: Tag = Tag::Unknown(42113);

/// Geo keys.
const MODEL_TYPE: u16 = 1024;
const RASTER_TYPE: u16 = 1025;
const GEOGRAPHIC: u16 = 2;
const PIXEL_IS_AREA: u16 = 1;

/// What a channel may be called that holds the height of the geoid over the ellipsoid.
const CHANNELS: [&str; 2] = ["geoid_undulation", "vertical_offset"];

/// The kind of grid that turns ellipsoidal heights into elevations, and those that do something else.
const GEOID_KIND: &str = "VERTICAL_OFFSET_GEOGRAPHIC_TO_VERTICAL";

pub(super) struct TiffGrid {
    name: String,
    layout: GridLayout,
    decoder: RefCell<Decoder<BufReader<File>>>,
    chunks: RefCell<Kept>,
    image: Image,
    no_value: Option<f64>,
    scale: f64,
    offset: f64,
}

/// How the image is laid out in chunks (strips or tiles).
#[derive(Debug, Clone, Copy)]
struct Image {
    width: usize,
    chunk_width: usize,
    chunk_height: usize,
    samples: usize,
    sample: usize,
    planar: bool,
    chunks_a_plane: usize,
    /// Row zero of the image lies in the north.
    north_up: bool,
}

impl std::fmt::Debug for TiffGrid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TiffGrid").field("name", &self.name).field("layout", &self.layout).finish_non_exhaustive()
    }
}

impl TiffGrid {
    pub(super) fn open(file: File, name: &str) -> Result<Self, ReadError> {
        let fault = |why: tiff::TiffError| broken(name, why.to_string());
        let mut decoder = Decoder::new(BufReader::new(file)).map_err(fault)?;
        let (width, height) = decoder.dimensions().map_err(fault)?;
        let (width, height) = (width as usize, height as usize);
        if width < 2 || height < 2 {
            return Err(broken(name, "it has fewer than two rows or columns"));
        }
        let samples = decoder.find_tag_unsigned::<usize>(Tag::SamplesPerPixel).map_err(fault)?.unwrap_or(1).max(1);
        let planar =
            samples > 1 && decoder.find_tag_unsigned::<u16>(Tag::PlanarConfiguration).map_err(fault)? == Some(2);
        let bits = decoder.find_tag_unsigned_vec::<u16>(Tag::BitsPerSample).map_err(fault)?.unwrap_or_default();
        if bits.iter().any(|bits| *bits < 16) {
            return Err(broken(name, "its values have fewer than 16 bits: a geoid grid holds heights, not grey tones"));
        }
        let metadata = decoder.get_tag_ascii_string(GDAL_METADATA).unwrap_or_default();
        let items = items(&metadata).map_err(|why| broken(name, why))?;
        let sample = channel(&items, samples).map_err(|why| broken(name, why))?;
        let of_sample = |role: &str| {
            let item = items.iter().find(|item| item.role == role && item.sample.unwrap_or(0) == sample);
            item.and_then(|item| item.text.parse::<f64>().ok())
        };
        let no_value = decoder.get_tag_ascii_string(GDAL_NODATA).ok();
        let no_value = no_value.and_then(|text| text.trim_end_matches('\0').trim().parse::<f64>().ok());
        let (layout, north_up) = placed(&mut decoder, width, height).map_err(|why| broken(name, why))?;
        let (chunk_width, chunk_height) = decoder.chunk_dimensions();
        let (chunk_width, chunk_height) = (chunk_width as usize, chunk_height as usize);
        let image = Image {
            width,
            chunk_width,
            chunk_height,
            samples,
            sample,
            planar,
            chunks_a_plane: width.div_ceil(chunk_width) * height.div_ceil(chunk_height),
            north_up,
        };
        Ok(Self {
            name: name.to_owned(),
            layout,
            decoder: RefCell::new(decoder),
            chunks: RefCell::default(),
            image,
            no_value,
            scale: of_sample("scale").unwrap_or(1.0),
            offset: of_sample("offset").unwrap_or(0.0),
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
        let image = self.image;
        let line = if image.north_up { self.layout.rows - 1 - row } else { row };
        let across = image.width.div_ceil(image.chunk_width);
        let chunk = line / image.chunk_height * across + column / image.chunk_width;
        let plane = if image.planar { image.sample * image.chunks_a_plane } else { 0 };
        let chunk = u32::try_from(chunk + plane).map_err(|error| error.to_string())?;
        let mut decoder = self.decoder.borrow_mut();
        // Chunks on the rim hold only what is inside the image.
        let (own_width, _) = decoder.chunk_data_dimensions(chunk);
        let mut chunks = self.chunks.borrow_mut();
        let values = chunks.get_or(u64::from(chunk), || {
            decoder.read_chunk(chunk).map_err(|error| error.to_string()).and_then(|values| numbers(&values))
        })?;
        let pixel = line % image.chunk_height * own_width as usize + column % image.chunk_width;
        let at = if image.planar { pixel } else { pixel * image.samples + image.sample };
        let value = *values.get(at).ok_or("a strip or tile is shorter than it should be")?;
        let missing = !value.is_finite()
            || self.no_value.is_some_and(|no_value| (value - no_value).abs() <= 1e-6 * no_value.abs());
        Ok((!missing).then_some(value * self.scale + self.offset))
    }
}

fn numbers(values: &DecodingResult) -> Result<Vec<f64>, String> {
    Ok(match values {
        DecodingResult::F32(values) => values.iter().map(|value| f64::from(*value)).collect(),
        DecodingResult::F64(values) => values.clone(),
        DecodingResult::U16(values) => values.iter().map(|value| f64::from(*value)).collect(),
        DecodingResult::I16(values) => values.iter().map(|value| f64::from(*value)).collect(),
        DecodingResult::U32(values) => values.iter().map(|value| f64::from(*value)).collect(),
        DecodingResult::I32(values) => values.iter().map(|value| f64::from(*value)).collect(),
        _ => return Err("accepted are values of 16 or 32 bits, or of single or double precision".to_owned()),
    })
}

/// Where the nodes lie, and whether the first row is the northern one.
fn placed(decoder: &mut Decoder<BufReader<File>>, width: usize, height: usize) -> Result<(GridLayout, bool), String> {
    let keys = decoder.get_tag_u16_vec(GEO_KEYS).map_err(|_| "it has no geographic keys: a GeoTIFF is needed")?;
    let key = |wanted: u16| keys.chunks_exact(4).skip(1).find(|key| key[0] == wanted && key[1] == 0).map(|key| key[3]);
    if key(MODEL_TYPE) != Some(GEOGRAPHIC) {
        return Err("its nodes are not in longitude and latitude: accepted are geographic grids".to_owned());
    }
    let numbers = |decoder: &mut Decoder<BufReader<File>>, tag| decoder.get_tag_f64_vec(tag).ok();
    // Longitude = a column + c, latitude = e row + f.
    let (a, c, e, f) = match (numbers(decoder, PIXEL_SCALE), numbers(decoder, TIEPOINT)) {
        (Some(scale), Some(tie)) if scale.len() >= 2 && tie.len() >= 6 => {
            (scale[0], tie[3] - tie[0] * scale[0], -scale[1], tie[4] + tie[1] * scale[1])
        }
        _ => match numbers(decoder, TRANSFORMATION) {
            Some(m) if m.len() >= 8 && m[1] == 0.0 && m[4] == 0.0 => (m[0], m[3], m[5], m[7]),
            _ => return Err("it does not say where its nodes lie, or they are turned".to_owned()),
        },
    };
    if !(a > 0.0 && a < 90.0 && e != 0.0 && e.abs() < 90.0) {
        return Err(format!("its steps of {a} and {e} degrees cannot be"));
    }
    // Cells with a value in their middle, or nodes; the default is the cell.
    let half = if key(RASTER_TYPE).unwrap_or(PIXEL_IS_AREA) == PIXEL_IS_AREA { 0.5 } else { 0.0 };
    let (first, last) = (f + half * e, f + (half + (height - 1) as f64) * e);
    let layout = GridLayout {
        west: c + half * a,
        south: first.min(last),
        step_east: a,
        step_north: e.abs(),
        columns: width,
        rows: height,
    };
    Ok((layout, e < 0.0))
}

/// One item of GDAL's metadata.
#[derive(Debug, Clone, PartialEq, Default)]
struct Item {
    name: String,
    role: String,
    sample: Option<usize>,
    text: String,
}

fn items(xml: &str) -> Result<Vec<Item>, String> {
    let mut reader = Reader::from_str(xml.trim_end_matches('\0'));
    let mut items = Vec::new();
    let mut open: Option<Item> = None;
    loop {
        match reader.read_event().map_err(|error| format!("its metadata cannot be read: {error}"))? {
            Event::Start(tag) if tag.name().as_ref() == "Item" => {
                let mut item = Item::default();
                for attribute in tag.attributes().flatten() {
                    let value = attribute.value.to_string();
                    match attribute.key.as_ref() {
                        "name" => item.name = value,
                        "role" => item.role = value,
                        "sample" => item.sample = value.parse().ok(),
                        _ => {}
                    }
                }
                open = Some(item);
            }
            Event::Text(text) => {
                if let Some(item) = &mut open {
                    item.text.push_str(&text);
                }
            }
            Event::End(tag) if tag.name().as_ref() == "Item" => items.extend(open.take()),
            Event::Eof => return Ok(items),
            _ => {}
        }
    }
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

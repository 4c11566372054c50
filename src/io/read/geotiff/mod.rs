//! Numbers on an even grid in a TIFF file, with where its nodes lie: what geoid grids and grids of the ground have in
//! common. The first image of the file is the grid, unless another is asked for.
//!
//! Invariant: a strip or tile is decoded only when it is asked for, and only as large as it is in the file; what the file
//! says has no value is none. Faults are told in words; the format's own reader says which file.
//! Source: OGC 19-008 (GeoTIFF 1.1) for the keys and the place of the nodes.

mod keys;
mod metadata;

pub(super) use keys::GeoKeys;
pub(super) use metadata::Item;

use crate::io::of_library;
use std::fs::File;
use std::io::BufReader;
use tiff::decoder::{Decoder, DecodingResult};
use tiff::tags::Tag;

const PIXEL_SCALE: Tag = Tag::Unknown(33550);
const TIEPOINT: Tag = Tag::Unknown(33922);
const TRANSFORMATION: Tag = Tag::Unknown(34264);
const GEO_KEYS: Tag = Tag::Unknown(34735);
const GEO_TEXTS: Tag = Tag::Unknown(34737);
const GDAL_METADATA: Tag = Tag::Unknown(42112);
const GDAL_NODATA: Tag = Tag::Unknown(42113);

/// Most images of a file; a choice of this program.
const MOST_IMAGES: usize = 1000;

/// True when a file begins as a TIFF or `BigTIFF` does.
pub(super) const fn begins_so(start: &[u8]) -> bool {
    matches!(start, [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..])
}

/// The images of a file that are no overviews, masks or pages, by their number from zero.
pub(super) fn images(file: File) -> Result<Vec<usize>, String> {
    let fault = |why: tiff::TiffError| of_library(&why);
    let mut decoder = Decoder::new(BufReader::new(file)).map_err(fault)?;
    let mut found = Vec::new();
    for image in 0..MOST_IMAGES {
        let kind = decoder.find_tag_unsigned::<u32>(Tag::NewSubfileType).map_err(fault)?.unwrap_or(0);
        if kind == 0 {
            found.push(image);
        }
        if !decoder.more_images() {
            return Ok(found);
        }
        decoder.next_image().map_err(fault)?;
    }
    Err(format!("it has more than {MOST_IMAGES} images"))
}

/// An opened file.
pub(super) struct Raster {
    decoder: Decoder<BufReader<File>>,
    /// Nodes in a row.
    pub(super) columns: usize,
    /// Rows of nodes.
    pub(super) rows: usize,
    /// Channels.
    pub(super) samples: usize,
    /// Its geo keys.
    pub(super) keys: GeoKeys,
    /// Its metadata, item by item.
    pub(super) items: Vec<Item>,
    /// Where the first node of the first row lies, in the file's coordinates.
    pub(super) first: [f64; 2],
    /// From column to column eastwards, and from row to row northwards (below zero when the first row is the northern one).
    pub(super) step: [f64; 2],
    /// What stands where there is no value.
    pub(super) no_value: Option<f64>,
    planar: bool,
    chunk_size: [usize; 2],
}

/// A strip or tile: one channel of a rectangle of nodes, row by row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Chunk {
    /// Column of its first node.
    pub(super) column: usize,
    /// Row of its first node.
    pub(super) row: usize,
    /// Its columns.
    pub(super) columns: usize,
    /// As stored.
    pub(super) values: Vec<f64>,
}

impl Raster {
    /// The first image of a file.
    pub(super) fn open(file: File) -> Result<Self, String> {
        Self::open_image(file, 0, None)
    }

    /// An image of a file, from zero; without keys of its own it has those given.
    pub(super) fn open_image(file: File, image: usize, keys: Option<&GeoKeys>) -> Result<Self, String> {
        let fault = |why: tiff::TiffError| of_library(&why);
        let mut decoder = Decoder::new(BufReader::new(file)).map_err(fault)?;
        if image > 0 {
            decoder.seek_to_image(image).map_err(fault)?;
        }
        let (width, height) = decoder.dimensions().map_err(fault)?;
        if width < 2 || height < 2 {
            return Err("it has fewer than two rows or columns".to_owned());
        }
        let samples = decoder.find_tag_unsigned::<usize>(Tag::SamplesPerPixel).map_err(fault)?.unwrap_or(1).max(1);
        let planar =
            samples > 1 && decoder.find_tag_unsigned::<u16>(Tag::PlanarConfiguration).map_err(fault)? == Some(2);
        let bits = decoder.find_tag_unsigned_vec::<u16>(Tag::BitsPerSample).map_err(fault)?.unwrap_or_default();
        if bits.iter().any(|bits| *bits < 16) {
            return Err("its values have fewer than 16 bits: a grid of heights is needed, not grey tones".to_owned());
        }
        let keys = match (decoder.get_tag_u16_vec(GEO_KEYS), keys) {
            (Ok(words), first) => {
                let own = GeoKeys::new(&words, &decoder.get_tag_ascii_string(GEO_TEXTS).unwrap_or_default());
                match first {
                    Some(first) => own.in_system_of(first),
                    None => own,
                }
            }
            (Err(_), Some(first)) => first.clone(),
            (Err(_), None) => return Err("it has no geographic keys: a GeoTIFF is needed".to_owned()),
        };
        let items = metadata::items(&decoder.get_tag_ascii_string(GDAL_METADATA).unwrap_or_default())?;
        let no_value = decoder.get_tag_ascii_string(GDAL_NODATA).ok();
        let no_value = no_value.and_then(|text| text.trim_end_matches('\0').trim().parse::<f64>().ok());
        let (first, step) = placed(&mut decoder, &keys)?;
        let (chunk_width, chunk_height) = decoder.chunk_dimensions();
        if chunk_width == 0 || chunk_height == 0 {
            return Err("its strips or tiles have no size".to_owned());
        }
        Ok(Self {
            decoder,
            columns: width as usize,
            rows: height as usize,
            samples,
            keys,
            items,
            first,
            step,
            no_value,
            planar,
            chunk_size: [chunk_width as usize, chunk_height as usize],
        })
    }

    /// What its metadata says of a channel in a role, such as its unit.
    pub(super) fn of_sample(&self, role: &str, sample: usize) -> Option<&str> {
        let item = self.items.iter().find(|item| item.role == role && item.sample.unwrap_or(0) == sample);
        item.map(|item| item.text.trim())
    }

    /// Scale and offset of a channel's values.
    pub(super) fn scale_and_offset(&self, sample: usize) -> [f64; 2] {
        let number =
            |role: &str, usual: f64| self.of_sample(role, sample).and_then(|text| text.parse().ok()).unwrap_or(usual);
        [number("scale", 1.0), number("offset", 0.0)]
    }

    fn chunks_across(&self) -> usize {
        self.columns.div_ceil(self.chunk_size[0])
    }

    /// How many strips or tiles a channel has.
    pub(super) fn chunks(&self) -> usize {
        self.chunks_across() * self.rows.div_ceil(self.chunk_size[1])
    }

    /// Which strip or tile holds a node.
    pub(super) fn chunk_of(&self, column: usize, row: usize) -> usize {
        row / self.chunk_size[1] * self.chunks_across() + column / self.chunk_size[0]
    }

    /// Decodes one channel of a strip or tile.
    pub(super) fn chunk(&mut self, index: usize, sample: usize) -> Result<Chunk, String> {
        let plane = if self.planar { sample * self.chunks() } else { 0 };
        let number = u32::try_from(index + plane).map_err(|error| error.to_string())?;
        // Those on the rim hold only what is inside the image.
        let (columns, rows) = self.decoder.chunk_data_dimensions(number);
        let (columns, rows) = (columns as usize, rows as usize);
        let mut values = numbers(&self.decoder.read_chunk(number).map_err(|error| of_library(&error))?)?;
        if !self.planar && self.samples > 1 {
            values = values.into_iter().skip(sample).step_by(self.samples).collect();
        }
        if values.len() < columns * rows {
            return Err("a strip or tile is shorter than it should be".to_owned());
        }
        let across = self.chunks_across();
        let (column, row) = (index % across * self.chunk_size[0], index / across * self.chunk_size[1]);
        Ok(Chunk { column, row, columns, values })
    }
}

/// True when a value is what stands for none.
pub(super) fn is_none(value: f64, no_value: f64) -> bool {
    // The text of the value and the value may be of different precision.
    (value - no_value).abs() <= 1e-6 * no_value.abs()
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

/// Where the first node lies, and the steps from column to column and from row to row.
fn placed(decoder: &mut Decoder<BufReader<File>>, keys: &GeoKeys) -> Result<([f64; 2], [f64; 2]), String> {
    let numbers = |decoder: &mut Decoder<BufReader<File>>, tag| decoder.get_tag_f64_vec(tag).ok();
    // East = a column + c, north = e row + f.
    let (a, c, e, f) = match (numbers(decoder, PIXEL_SCALE), numbers(decoder, TIEPOINT)) {
        (Some(scale), Some(tie)) if scale.len() >= 2 && tie.len() >= 6 => {
            (scale[0], tie[3] - tie[0] * scale[0], -scale[1], tie[4] + tie[1] * scale[1])
        }
        _ => match numbers(decoder, TRANSFORMATION) {
            Some(m) if m.len() >= 8 && m[1] == 0.0 && m[4] == 0.0 => (m[0], m[3], m[5], m[7]),
            _ => return Err("it does not say where its nodes lie, or they are turned".to_owned()),
        },
    };
    if !(a > 0.0 && a.is_finite() && e != 0.0 && e.is_finite() && c.is_finite() && f.is_finite()) {
        return Err(format!("its steps of {a} and {e} cannot be"));
    }
    // Cells with a value in their middle, or nodes.
    let half = if keys.values_are_nodes() { 0.0 } else { 0.5 };
    Ok(([c + half * a, f + half * e], [a, e]))
}

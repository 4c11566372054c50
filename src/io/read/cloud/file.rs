//! One cloud as a file: its header checked once, its points gone through in pieces as often as asked.
//!
//! Memory is one piece of [`PIECE_BYTES`], whatever the file holds.

use super::super::ReadError;
use super::checks::{Claims, Packing};
use super::known::AsKnown;
use super::system::named_frame;
use crate::io::of_library;
use crate::notes::{Note, Noted};
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

/// Bytes of points read at a time.
const PIECE_BYTES: u64 = 16 << 20;
const FORMAT: &str = "LAS or LAZ cloud";
/// Class 12 of the formats before LAS 1.4: points where flight lines overlap.
const OVERLAP: u8 = 12;

/// A cloud whose header is in order.
#[derive(Debug, Clone)]
pub struct CloudFile {
    path: PathBuf,
    name: String,
    points: u64,
    record_len: u64,
    /// Its version and point format, for people.
    pub format: String,
    /// Of point format 6 or later, where classes and flags have the meanings of LAS 1.4.
    pub extended: bool,
    /// Why it cannot be written again with other classes, when it cannot.
    pub not_written: Option<&'static str>,
    /// The frame that the file names: a code such as `EPSG:2154`, or WKT.
    pub crs: Option<String>,
}

/// One point as the file has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Record {
    /// Easting, northing, elevation in the file's own frame and unit.
    pub place: [f64; 3],
    /// Its class, as it stands in the file.
    pub class: u8,
    /// Marked withheld.
    pub withheld: bool,
    /// The last return of its pulse, or the only one.
    pub last: bool,
    /// Of class 12 in a format where that means overlap, and nothing is said of what it is.
    pub overlap: bool,
}

impl Record {
    /// It may be ground, if nothing is known but what kind of point it is: no noise, no water, no overlap.
    #[must_use]
    pub const fn may_be_ground(&self) -> bool {
        !self.withheld && !self.overlap && !matches!(self.class, 7 | 9 | 18)
    }
}

impl CloudFile {
    /// Opens a cloud and holds what its header claims against the file.
    ///
    /// # Errors
    /// [`ReadError::Open`], [`ReadError::Empty`], and [`ReadError::Format`] with what is wrong in the file.
    pub fn open(path: &Path) -> Result<Noted<Self>, ReadError> {
        let name = path.display().to_string();
        let open = |source| ReadError::Open { path: name.clone(), source };
        let bad = |why: String| ReadError::Format { path: name.clone(), format: FORMAT, why };
        let mut file = File::open(path).map_err(open)?;
        let length = file.metadata().map_err(open)?.len();
        if length == 0 {
            return Err(ReadError::Empty { path: name, accepted: FORMAT });
        }
        let claimed = Claims::read(&mut file, length).map_err(bad)?;
        let reader = reader(file.try_clone().map_err(open)?).map_err(bad)?;
        let header = reader.header();
        for (axis, transform) in
            [("x", header.transforms().x), ("y", header.transforms().y), ("z", header.transforms().z)]
        {
            if !(transform.scale.is_finite() && transform.offset.is_finite()) || transform.scale == 0.0 {
                let (scale, offset) = (transform.scale, transform.offset);
                return Err(bad(format!(
                    "scale {scale} and offset {offset} of {axis}: both must be numbers, the scale not zero"
                )));
            }
        }
        if header.point_format().is_compressed && claimed.points > 0 {
            Packing::read(header)
                .and_then(|packing| packing.check(&mut file, claimed.start, length, claimed.points))
                .map_err(bad)?;
        }
        let mut notes: Vec<Note> = Vec::new();
        let crs = named_frame(header, &name, &mut notes);
        let record_len = u64::from(header.point_format().len());
        let newer = AsKnown::is_newer(&mut file).map_err(open)?;
        let not_written = if newer {
            Some("is LAS 1.5")
        } else if header.point_format().has_waveform {
            Some("carries waveforms")
        } else {
            None
        };
        let (version, kind) = (header.version(), header.point_format());
        let minor = if newer { "5".to_owned() } else { version.minor.to_string() };
        let packed = if kind.is_compressed { ", packed" } else { "" };
        let format =
            format!("LAS {}.{minor}, point format {}{packed}", version.major, kind.to_u8().unwrap_or_default() & 0x7f);
        let (path, points, extended) = (path.to_owned(), claimed.points, kind.is_extended);
        Ok(Noted { value: Self { path, name, points, record_len, format, extended, not_written, crs }, notes })
    }

    /// The file as the user named it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Hands over the points piece by piece, as the file packs them, with the header they stand under, until the taker says
    /// no.
    ///
    /// # Errors
    /// [`ReadError::Open`] and [`ReadError::Format`].
    pub fn pieces(&self, take: &mut dyn FnMut(&las::Header, &las::PointData) -> bool) -> Result<(), ReadError> {
        let bad = |why: String| ReadError::Format { path: self.name.clone(), format: FORMAT, why };
        let file = File::open(&self.path).map_err(|source| ReadError::Open { path: self.name.clone(), source })?;
        let mut reader = reader(file).map_err(bad)?;
        let header = reader.header().clone();
        let mut piece = las::PointDataBuilder::new().for_header(&header).build();
        let most = (PIECE_BYTES / self.record_len.max(1)).max(1);
        let mut left = self.points;
        while left > 0 {
            let before = self.points - left;
            let came = guarded(|| reader.fill_points(left.min(most), &mut piece))
                .map_err(|why| bad(format!("the points after the first {before} cannot be read: {why}")))?;
            if came == 0 {
                return Err(bad(format!("the header says {} points, the file ends after {before}", self.points)));
            }
            left -= came;
            if !take(&header, &piece) {
                return Ok(());
            }
        }
        Ok(())
    }

    /// Hands over every point.
    ///
    /// # Errors
    /// [`ReadError::Open`] and [`ReadError::Format`].
    pub fn pass(&self, take: &mut dyn FnMut(Record)) -> Result<(), ReadError> {
        self.pieces(&mut |header, piece| {
            records(header, piece).for_each(&mut *take);
            true
        })
    }
}

/// The points of a piece.
pub(in crate::io) fn records<'a>(
    header: &las::Header,
    piece: &'a las::PointData,
) -> impl Iterator<Item = Record> + use<'a> {
    let extended = header.point_format().is_extended;
    // Byte 15 holds the flags (1.4 formats: bit 2) or class and flags (older ones: bit 7). The classes come from the bytes too:
    // the library's own points give class 12 as class 1.
    let withheld = move |record: &[u8]| record[15] & if extended { 0b100 } else { 0b1000_0000 } != 0;
    let raw = piece.raw_bytes().chunks_exact(piece.record_len());
    let returns = piece.return_number().zip(piece.number_of_returns());
    let places = piece.x().zip(piece.y()).zip(piece.z());
    places.zip(piece.classification()).zip(returns).zip(raw).map(
        move |(((((x, y), z), class), (number, of)), record)| Record {
            place: [x, y, z],
            class,
            withheld: withheld(record),
            last: number >= of,
            overlap: !extended && class == OVERLAP,
        },
    )
}

fn reader(file: File) -> Result<las::Reader, String> {
    // One thread: the parallel reader sets buffers aside by what the file's table of chunks claims.
    let options = las::ReaderOptions::default().with_laz_parallelism(las::LazParallelism::No);
    let source = AsKnown::new(BufReader::with_capacity(1 << 20, file)).map_err(|why| of_library(&why))?;
    guarded(|| las::Reader::with_options(source, options))
}

/// The unpacking library stops the program at some broken bytes; here that is one more broken file.
fn guarded<T>(work: impl FnOnce() -> las::Result<T>) -> Result<T, String> {
    match std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)) {
        Ok(done) => done.map_err(|why| of_library(&why)),
        Err(_) => Err("its packed points are broken".to_owned()),
    }
}

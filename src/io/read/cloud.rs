//! Point clouds: LAS 1.0 to 1.4 and LAZ, of which the ground class is kept.
//!
//! The header's claims (points, records, chunks) are held against the file's length before anything is set aside for
//! them; points come in pieces of [`PIECE`]. Kept are points of class 2 (ground) that are not withheld; water (9),
//! noise (7, 18) and the rest are counted. Numbers stay in the file's own frame and unit: [`Cloud::in_frame`] brings
//! them to a site. Classes as in the LAS 1.4 specification, table 17 (ASPRS).

use super::ReadError;
use crate::frame::{FrameError, SiteFrame, resolve};
use crate::geom::Point3;
use crate::notes::{Note, Noted};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::Path;

/// Points read at a time.
const PIECE: u64 = 500_000;
/// The ground class.
const GROUND: u8 = 2;
const FORMAT: &str = "LAS or LAZ cloud";

/// What a cloud holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Cloud {
    /// The file as the user named it.
    pub path: String,
    /// Ground points: easting, northing, elevation in the file's own frame and unit.
    pub ground: Vec<[f64; 3]>,
    /// How many points of each class, withheld ones left out.
    pub classes: BTreeMap<u8, u64>,
    /// Points marked withheld.
    pub withheld: u64,
    /// The frame that the file names: a code such as `EPSG:2154`, or WKT.
    pub crs: Option<String>,
    /// Lowest and highest easting, northing and elevation of all points that are not withheld.
    pub bounds: Option<[[f64; 3]; 2]>,
}

impl Cloud {
    /// Points that are not withheld.
    #[must_use]
    pub fn points(&self) -> u64 {
        self.classes.values().sum()
    }

    /// The ground points in the local frame of a site, metres.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] without a ground class, or when the file names another frame than the site's.
    pub fn in_frame(&self, frame: &SiteFrame) -> Result<Noted<Vec<Point3>>, ReadError> {
        let lacks = |why: String| ReadError::Lacks { path: self.path.clone(), why };
        if self.ground.is_empty() {
            let found: Vec<String> =
                self.classes.iter().map(|(class, count)| format!("{class} ({count} points)")).collect();
            return Err(lacks(if found.is_empty() {
                "no points in this file".to_owned()
            } else {
                format!("no ground class in this file; classify first (class 2 is ground, found {})", found.join(", "))
            }));
        }
        let mut notes = Vec::new();
        match self.crs.as_deref().map(resolve) {
            Some(Ok(own)) if own.crs == frame.crs => {}
            Some(Ok(own)) if frame.is_local() => notes.push(Note::new(
                "cloud::frame-left-out",
                format!("{} stands in {}; its numbers are taken as the site grid's", self.path, own.name),
            )),
            Some(Ok(own)) => {
                return Err(lacks(format!(
                    "it stands in {} ({}), the site in {} ({}): convert the cloud first",
                    own.crs, own.name, frame.crs, frame.name
                )));
            }
            // Known, but in degrees, or with elevations in another unit: its numbers cannot be taken as they are.
            Some(Err(why)) if !matches!(why, FrameError::Unknown { .. }) => {
                return Err(ReadError::Frame { path: self.path.clone(), source: why });
            }
            Some(Err(why)) => notes.push(Note::new(
                "cloud::frame-not-understood",
                format!("the frame of {} is taken as the site's ({}): {why}", self.path, frame.name),
            )),
            None => notes.push(Note::new(
                "cloud::no-frame",
                format!("{} names no frame; its numbers are taken as {}", self.path, frame.name),
            )),
        }
        let metres = frame.unit.metres();
        let value = self.ground.iter().map(|&[e, n, z]| frame.to_local(e, n).at(z * metres)).collect();
        Ok(Noted { value, notes })
    }
}

/// Reads a cloud.
///
/// # Errors
/// [`ReadError::Open`], [`ReadError::Empty`], and [`ReadError::Format`] with what is wrong in the file.
pub fn read(path: &Path) -> Result<Noted<Cloud>, ReadError> {
    let name = path.display().to_string();
    let open = |source| ReadError::Open { path: name.clone(), source };
    let bad = |why: String| ReadError::Format { path: name.clone(), format: FORMAT, why };
    let mut file = File::open(path).map_err(open)?;
    let length = file.metadata().map_err(open)?.len();
    if length == 0 {
        return Err(ReadError::Empty { path: name, accepted: FORMAT });
    }
    let claimed = Claims::read(&mut file, length).map_err(bad)?;
    file.seek(SeekFrom::Start(0)).map_err(open)?;
    // One thread: the parallel reader sets buffers aside by what the file's table of chunks claims.
    let options = las::ReaderOptions::default().with_laz_parallelism(las::LazParallelism::No);
    let source = BufReader::with_capacity(1 << 20, file);
    let mut reader = guarded(|| las::Reader::with_options(source, options)).map_err(bad)?;

    let header = reader.header();
    for (axis, transform) in [("x", header.transforms().x), ("y", header.transforms().y), ("z", header.transforms().z)]
    {
        if !(transform.scale.is_finite() && transform.offset.is_finite()) || transform.scale == 0.0 {
            let (scale, offset) = (transform.scale, transform.offset);
            return Err(bad(format!(
                "scale {scale} and offset {offset} of {axis}: both must be numbers, the scale not zero"
            )));
        }
    }
    let extended = header.point_format().is_extended;
    if header.point_format().is_compressed {
        let mut file = File::open(path).map_err(open)?;
        Packing::read(header)
            .and_then(|packing| packing.check(&mut file, claimed.start, length, claimed.points))
            .map_err(bad)?;
    }
    let mut notes = Vec::new();
    let crs = named_frame(header, &name, &mut notes);
    let mut cloud =
        Cloud { path: name.clone(), ground: Vec::new(), classes: BTreeMap::new(), withheld: 0, crs, bounds: None };
    let mut piece = las::PointDataBuilder::new().for_header(header).build();
    let mut left = claimed.points;
    while left > 0 {
        let came = guarded(|| reader.fill_points(left.min(PIECE), &mut piece)).map_err(|why| {
            bad(format!("the points after the first {} cannot be read: {why}", claimed.points - left))
        })?;
        if came == 0 {
            return Err(bad(format!(
                "the header says {} points, the file ends after {}",
                claimed.points,
                claimed.points - left
            )));
        }
        left -= came;
        take(&piece, extended, &mut cloud);
    }
    if let Some(corner) = cloud.bounds.iter().flatten().find(|corner| corner.iter().any(|value| !value.is_finite())) {
        return Err(bad(format!("scale and offset of its header give places such as {corner:?}")));
    }
    Ok(Noted { value: cloud, notes })
}

/// The unpacking library stops the program at some broken bytes; here that is one more broken file.
fn guarded<T>(work: impl FnOnce() -> las::Result<T>) -> Result<T, String> {
    match std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)) {
        Ok(done) => done.map_err(|why| why.to_string()),
        Err(_) => Err("its packed points are broken".to_owned()),
    }
}

fn take(piece: &las::PointData, extended: bool, cloud: &mut Cloud) {
    // Byte 15 holds the flags (1.4 formats: bit 2) or class and flags (older ones: bit 7).
    let withheld = |record: &[u8]| record[15] & if extended { 0b100 } else { 0b1000_0000 } != 0;
    let records = piece.raw_bytes().chunks_exact(piece.record_len());
    let places = piece.x().zip(piece.y()).zip(piece.z());
    for ((((x, y), z), class), record) in places.zip(piece.classification()).zip(records) {
        if withheld(record) {
            cloud.withheld += 1;
            continue;
        }
        *cloud.classes.entry(class).or_default() += 1;
        let [low, high] = cloud.bounds.get_or_insert([[x, y, z]; 2]);
        for (axis, value) in [x, y, z].into_iter().enumerate() {
            low[axis] = low[axis].min(value);
            high[axis] = high[axis].max(value);
        }
        if class == GROUND {
            cloud.ground.push([x, y, z]);
        }
    }
}

/// What the header claims, held against the file's length.
struct Claims {
    points: u64,
    /// Byte at which they start.
    start: u64,
}

impl Claims {
    fn read(file: &mut File, length: u64) -> Result<Self, String> {
        let header = las::raw::Header::read_from(&mut *file).map_err(|why| why.to_string())?;
        let start = u64::from(header.offset_to_point_data);
        let (size, records) = (u64::from(header.header_size), u64::from(header.number_of_variable_length_records));
        if size < 227 || start < size || start > length {
            return Err(format!("header of {size} bytes, points from byte {start}, in a file of {length} bytes"));
        }
        // A record before the points has a head of 54 bytes.
        if records * 54 > start - size {
            return Err(format!(
                "the header says {records} records before the points, there is room for {}",
                (start - size) / 54
            ));
        }
        if let Some(extended) = &header.evlr {
            let at = extended.start_of_first_evlr;
            let own = extended_length(file, at, length).map_err(|why| why.to_string())?;
            if own.is_none_or(|own| own > length - at - 60) {
                return Err(format!(
                    "the record after the points at byte {at} does not fit in a file of {length} bytes"
                ));
            }
        }
        let points = header
            .large_file
            .as_ref()
            .map_or(u64::from(header.number_of_point_records), |large| large.number_of_point_records);
        let record = u64::from(header.point_data_record_length);
        let compressed = header.point_data_record_format & 0x80 != 0;
        if record < 20 {
            return Err(format!("point records of {record} bytes, the least is 20"));
        }
        if compressed {
            check_chunks(file, start, length)?;
            // Even well-packed points take a bit each; no real cloud comes near.
            if points / 8 > length {
                return Err(format!("the header says {points} points in a file of {length} bytes"));
            }
        } else if points > (length - start) / record {
            return Err(format!(
                "the header says {points} points of {record} bytes, the file has room for {}",
                (length - start) / record
            ));
        }
        Ok(Self { points, start })
    }
}

/// The length that the record after the points claims; `None` when it lies outside the file.
fn extended_length(file: &mut File, at: u64, length: u64) -> std::io::Result<Option<u64>> {
    if at.checked_add(60).is_none_or(|end| end > length) {
        return Ok(None);
    }
    let mut head = [0; 28];
    file.seek(SeekFrom::Start(at))?;
    file.read_exact(&mut head)?;
    Ok(head[20..28].try_into().ok().map(u64::from_le_bytes))
}

/// The table of chunks of a LAZ file: as many as could stand in the file.
fn check_chunks(file: &mut File, start: u64, length: u64) -> Result<(), String> {
    let number = |file: &mut File, at: u64| -> std::io::Result<u64> {
        let mut bytes = [0; 8];
        file.seek(SeekFrom::Start(at))?;
        file.read_exact(&mut bytes)?;
        Ok(u64::from_le_bytes(bytes))
    };
    if start + 8 > length {
        return Ok(());
    }
    let broken = |why: std::io::Error| format!("its table of chunks cannot be read: {why}");
    let mut table = number(file, start).map_err(broken)?;
    if table == u64::MAX {
        // Written by a stream: the place of the table stands at the very end.
        table = number(file, length - 8).map_err(broken)?;
    }
    if table.checked_add(8).is_none_or(|end| end > length) {
        return Err(format!("its table of chunks should start at byte {table}, the file ends at {length}"));
    }
    let chunks = number(file, table).map_err(broken)? >> 32;
    // A chunk starts with one whole point, 20 bytes at least.
    if chunks > length / 20 {
        return Err(format!("its table of chunks lists {chunks}, there is room for {}", length / 20));
    }
    Ok(())
}

/// How a LAZ file packs its points: the parts that make up a record, and for the 1.4 formats the sizes of the layers in
/// each chunk. The reader sets memory aside by these sizes, so they are held against the file's length first.
/// Source: the laszip record (its parts stand after 32 bytes: their number, then kind, size and version of each), and
/// the layered chunk of LAZ for LAS 1.4 (first point, count, layer sizes, layers).
struct Packing {
    layered: bool,
    layers: u64,
    record: u64,
}

impl Packing {
    fn read(header: &las::Header) -> Result<Self, String> {
        let packing =
            header.vlrs().iter().find(|record| record.user_id == "laszip encoded" && record.record_id == 22204);
        let data =
            packing.map(|record| record.data.as_slice()).ok_or("its record of how points are packed is missing")?;
        let word = |at: usize| Some(u16::from_le_bytes(data.get(at..at + 2)?.try_into().ok()?));
        let parts = usize::from(word(32).unwrap_or_default());
        let items = (0..parts).map(|part| Some((word(34 + part * 6)?, u64::from(word(36 + part * 6)?))));
        let items = items.collect::<Option<Vec<_>>>().unwrap_or_default();
        let packed: u64 = items.iter().map(|(_, size)| size).sum();
        let record = u64::from(header.point_format().len());
        if items.is_empty() || packed != record {
            return Err(format!("points of {record} bytes are packed as {} parts of {packed} bytes", items.len()));
        }
        if header.point_format().has_waveform {
            return Err(
                "its points carry waveforms: accepted are point formats 0 to 3 and 6 to 8 when packed".to_owned()
            );
        }
        let layers = items.iter().map(|&(kind, size)| match kind {
            10 => 9,
            12 => 2,
            14 => size,
            _ => 1,
        });
        Ok(Self { layered: items[0].0 == 10, layers: layers.sum(), record })
    }

    /// Walks the chunks of a layered file.
    fn check(&self, file: &mut (impl Read + Seek), start: u64, length: u64, points: u64) -> Result<(), String> {
        if !self.layered {
            return Ok(());
        }
        let (mut at, mut left) = (start + 8, points);
        while left > 0 {
            let broken = |why: std::io::Error| format!("the chunk at byte {at} cannot be read: {why}");
            let mut head = vec![0; usize::try_from(4 + 4 * self.layers).unwrap_or_default()];
            file.seek(SeekFrom::Start(at + self.record)).map_err(broken)?;
            file.read_exact(&mut head).map_err(broken)?;
            let mut words =
                head.chunks_exact(4).map(|word| u64::from(u32::from_le_bytes([word[0], word[1], word[2], word[3]])));
            let count = words.next().unwrap_or_default();
            let size = self.record + 4 + 4 * self.layers + words.sum::<u64>();
            if count == 0 || at + size > length {
                return Err(format!(
                    "the chunk at byte {at} claims {count} points in {size} bytes, the file ends at {length}"
                ));
            }
            at += size;
            left = left.saturating_sub(count);
        }
        Ok(())
    }
}

/// The frame that the file names: WKT where it has it, else the GeoTIFF keys (OGC 19-008: 3072 projected, 2048
/// geographic, 32767 is user-defined).
fn named_frame(header: &las::Header, name: &str, notes: &mut Vec<Note>) -> Option<String> {
    let wkt = header.get_wkt_crs_bytes().map(|bytes| {
        let text = String::from_utf8_lossy(bytes);
        text.trim_matches(|c: char| c == '\0' || c.is_whitespace()).to_owned()
    });
    if let Some(wkt) = wkt.filter(|wkt| !wkt.is_empty()) {
        return Some(wkt);
    }
    let keys = header.all_vlrs().find(|record| record.is_geotiff_crs() && record.record_id == 34735)?;
    let words: Vec<u16> = keys.data.chunks_exact(2).map(|pair| u16::from_le_bytes([pair[0], pair[1]])).collect();
    let value = |key: u16| {
        let entries = words.get(4..).unwrap_or_default().chunks_exact(4);
        entries
            .filter(|entry| entry[0] == key && entry[1] == 0)
            .map(|entry| entry[3])
            .find(|code| (1024..32767).contains(code))
    };
    let code = value(3072).or_else(|| value(2048)).map(|code| format!("EPSG:{code}"));
    if code.is_none() && !words.is_empty() {
        notes.push(Note::new(
            "cloud::frame-not-understood",
            format!("{name} describes its frame by keys without a code, which are not read"),
        ));
    }
    code
}

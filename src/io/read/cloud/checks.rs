//! The claims of a cloud's header, held against the file's length before memory is set aside for them.

use super::known::AsKnown;
use crate::io::of_library;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};

/// What the header claims, held against the file's length.
pub(super) struct Claims {
    pub(super) points: u64,
    /// Byte at which they start.
    pub(super) start: u64,
}

impl Claims {
    pub(super) fn read(file: &mut File, length: u64) -> Result<Self, String> {
        let known = AsKnown::new(&mut *file).map_err(|why| of_library(&why))?;
        let header = las::raw::Header::read_from(known).map_err(|why| of_library(&why))?;
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
            let own = extended_length(file, at, length).map_err(|why| of_library(&why))?;
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
pub(super) struct Packing {
    layered: bool,
    layers: u64,
    record: u64,
}

impl Packing {
    pub(super) fn read(header: &las::Header) -> Result<Self, String> {
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
        let layers = items.iter().map(|&(kind, size)| match kind {
            10 => 9,
            12 => 2,
            14 => size,
            _ => 1,
        });
        Ok(Self { layered: items[0].0 == 10, layers: layers.sum(), record })
    }

    /// Walks the chunks of a layered file.
    pub(super) fn check(
        &self,
        file: &mut (impl Read + Seek),
        start: u64,
        length: u64,
        points: u64,
    ) -> Result<(), String> {
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

//! A cloud with classes of our own: the file as it came, each point's class set, everything else kept bit for bit.

use super::WriteError;
use super::atomic::{flush, replace};
use crate::io::read::ReadError;
use crate::io::read::cloud::{CloudFile, Record, records};
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

/// The bits of a class in the formats before LAS 1.4; flags stand above them.
const CLASS_BITS: u8 = 0b0001_1111;

/// Why a classified cloud could not be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ClassifiedError {
    /// The cloud it is made from cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The file cannot be written.
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// Writes a cloud again, packed, with the class that `class` gives each point (`None` keeps its own).
///
/// # Errors
/// [`ClassifiedError`]; nothing is left behind then.
pub fn classified(path: &Path, file: &CloudFile, class: &dyn Fn(&Record) -> Option<u8>) -> Result<(), ClassifiedError> {
    let fault = |why: las::Error| WriteError::file(path, std::io::Error::other(why));
    // What went wrong inside the reader's loop: reading, or writing.
    let mut broken: Option<ClassifiedError> = None;
    let done = replace(path, |temporary| {
        let mut writer: Option<las::Writer<BufWriter<File>>> = None;
        let read = file.pieces(&mut |header, piece| {
            let points = with_classes(header, piece, class);
            let step = points.and_then(|points| {
                let writer = match &mut writer {
                    Some(writer) => writer,
                    none => none.insert(begin(temporary, header)?),
                };
                writer.write_points(&points)
            });
            step.map_err(|why| broken = Some(fault(why).into())).is_ok()
        });
        match (read, writer) {
            (Err(why), _) => broken = Some(why.into()),
            (Ok(()), Some(mut writer)) if broken.is_none() => writer.close().map_err(fault)?,
            (Ok(()), _) => {}
        }
        if broken.is_some() {
            return Err(WriteError::file(path, std::io::Error::other("not written")));
        }
        flush(temporary).map_err(|source| WriteError::file(path, source))
    });
    match broken {
        Some(why) => Err(why),
        None => Ok(done?),
    }
}

fn with_classes(
    header: &las::Header,
    piece: &las::PointData,
    class: &dyn Fn(&Record) -> Option<u8>,
) -> las::Result<las::PointData> {
    let extended = header.point_format().is_extended;
    let at = if extended { 16 } else { 15 };
    let mut bytes = piece.raw_bytes().to_vec();
    for (point, bytes) in records(header, piece).zip(bytes.chunks_exact_mut(piece.record_len())) {
        if let Some(class) = class(&point) {
            bytes[at] = if extended { class } else { (bytes[at] & !CLASS_BITS) | (class & CLASS_BITS) };
        }
    }
    las::PointDataBuilder::new()
        .with_format(*header.point_format())
        .with_transforms(*header.transforms())
        .build_from_bytes(bytes)
}

/// The file's own header with all its records, but those that tell how its points were packed and indexed.
fn begin(path: &Path, header: &las::Header) -> las::Result<las::Writer<BufWriter<File>>> {
    let mut builder = las::Builder::from(header.clone());
    builder.point_format.is_compressed = true;
    let stays = |record: &las::Vlr| !matches!(record.user_id.as_str(), "laszip encoded" | "copc");
    builder.vlrs.retain(stays);
    builder.evlrs.retain(stays);
    let options = las::WriterOptions::default().with_laz_parallelism(las::LazParallelism::No);
    let out = BufWriter::with_capacity(1 << 20, File::create(path)?);
    las::Writer::with_options(out, builder.into_header()?, options)
}

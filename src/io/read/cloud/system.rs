//! The frame that a cloud names, and where it contradicts itself.

use crate::frame::resolve;
use crate::io::read::geotiff::GeoKeys;
use crate::notes::Note;

/// The frame that the file names: by WKT, or by GeoTIFF keys (OGC 19-008: 3072 projected, 2048 geographic, 32767 is
/// user-defined). Where both stand in it, the flag in the header says which rules (LAS 1.4, global encoding, bit 4).
pub(super) fn named_frame(header: &las::Header, name: &str, notes: &mut Vec<Note>) -> Option<String> {
    let (wkt, code) = (wkt(header), code(header, name, notes));
    let (Some(wkt), Some(code)) = (wkt.clone(), code.clone()) else { return wkt.or(code) };
    let (rules, other, how) = if header.has_wkt_crs() { (wkt, code, "WKT") } else { (code, wkt, "GeoTIFF keys") };
    let known = |text: &str| resolve(text).map_or_else(|_| text.chars().take(60).collect(), |found| found.crs);
    if known(&rules) != known(&other) {
        let text = format!(
            "{name} names two frames, {} and {}; its {how} rule, as its header says",
            known(&rules),
            known(&other)
        );
        notes.push(Note::new("cloud::two-frames", text));
    }
    Some(rules)
}

fn wkt(header: &las::Header) -> Option<String> {
    let text = String::from_utf8_lossy(header.get_wkt_crs_bytes()?).into_owned();
    let text = text.trim_matches(|c: char| c == '\0' || c.is_whitespace());
    (!text.is_empty()).then(|| text.to_owned())
}

fn code(header: &las::Header, name: &str, notes: &mut Vec<Note>) -> Option<String> {
    let keys = header.all_vlrs().find(|record| record.is_geotiff_crs() && record.record_id == 34735)?;
    let words: Vec<u16> = keys.data.chunks_exact(2).map(|pair| u16::from_le_bytes([pair[0], pair[1]])).collect();
    let code = GeoKeys::new(&words, "").code();
    if code.is_none() && !words.is_empty() {
        notes.push(Note::new(
            "cloud::frame-not-understood",
            format!("{name} describes its frame by keys without a code, which are not read"),
        ));
    }
    code
}

//! The names of classes. Source: LAS 1.4 specification, tables 9 and 17 (ASPRS); 19 to 22 as its revision 15 has them.

/// What a class is called; in the formats before LAS 1.4 some numbers meant something else.
#[must_use]
pub const fn class_name(class: u8, extended: bool) -> &'static str {
    match (class, extended) {
        (0, _) => "never classified",
        (1, _) => "unclassified",
        (2, _) => "ground",
        (3, _) => "low vegetation",
        (4, _) => "medium vegetation",
        (5, _) => "high vegetation",
        (6, _) => "building",
        (7, _) => "low noise",
        (8, false) => "model key points",
        (9, _) => "water",
        (10, true) => "rail",
        (11, true) => "road surface",
        (12, false) => "overlap of flight lines",
        (13, true) => "guard wire",
        (14, true) => "conductor wire",
        (15, true) => "transmission tower",
        (16, true) => "wire connector",
        (17, true) => "bridge deck",
        (18, true) => "high noise",
        (19, true) => "overhead structure",
        (20, true) => "ignored ground",
        (21, true) => "snow",
        (22, true) => "temporal exclusion",
        (64.., true) => "the producer's own",
        _ => "reserved",
    }
}

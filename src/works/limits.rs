//! Limits that works are warned at, by the note of a design and by the sheet alike.
//!
//! Invariant: these only warn; what they warn of is designed as asked.

/// Slope across the line above which contour works are unusual, share (contour works are usual on 2 to 10 %: grade banks
/// 2-10 %, contour bunds 2-6 %, secondary transcriptions of extension texts).
pub const STEEP: f64 = 0.10;
/// Slope above which soaking water into the ground may start a slide, share; common practice, no source.
pub const SLIDES: f64 = 0.15;
/// Sides steeper than this, horizontal to one vertical, may slump in soil that nobody has proven; common practice, no
/// source.
pub const LEAST_BATTER: f64 = 1.5;
/// Height of a cut face from which there must be a way out, metres: 4 ft of 29 CFR 1926.651, from memory, as metric rules
/// round it.
pub const WAY_OUT: f64 = 1.2;
/// Height of a cut face from which nobody goes in unsupported, metres: 5 ft of 29 CFR 1926.652, from memory, as metric
/// rules round it.
pub const NO_ENTRY: f64 = 1.5;
/// A face this close under a limit counts as reaching it, metres: dug ground is not drawn ground.
pub const NEARLY: f64 = 0.05;
/// Width of fill that a machine can be driven on, metres: the machine and a metre; common practice, no source.
pub const DRIVEN: f64 = 3.0;

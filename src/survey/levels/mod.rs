//! Level books: staff readings reduced to elevations, closed on known marks, with their own sigma.
//!
//! Invariant: an elevation follows from a known mark (or a said height of collimation) by backsights and foresights in
//! the order of the book; readings are metres here. A run that closes within its limit is adjusted between its marks in
//! proportion to the set-ups; one that does not is left as read and told.
//! Source: height of collimation and rise and fall as the US Navy training course prints them (NAVEDTRA 14071); the limit
//! by distance is that of third-order levelling.

mod error;
mod reduce;

pub use error::LevelError;
pub use reduce::reduce;

use crate::notes::Note;
use crate::units::LengthUnit;

/// One line of a level book; readings in the book's unit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LevelRow {
    /// Line in the file, from one.
    pub line: u64,
    /// What the staff stood on: a mark, a stake, a turning point.
    pub station: String,
    /// Staff reading that opens a set-up, on a point whose elevation is known by then.
    pub backsight: Option<f64>,
    /// Staff reading within a set-up.
    pub intermediate: Option<f64>,
    /// Staff reading that ends a set-up.
    pub foresight: Option<f64>,
    /// Height of collimation of a set-up that the book gives outright, such as a laser's.
    pub collimation: Option<f64>,
    /// Elevation written in the book: the known one of a mark, or one that was reduced by hand.
    pub elevation: Option<f64>,
    /// Length of the sight; metres or feet as the book's unit.
    pub sight: Option<f64>,
    /// Remark.
    pub remark: String,
}

/// A level book as read.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelBook {
    /// The file as the user named it.
    pub name: String,
    /// The unit of its readings and elevations, when the file or the user says so.
    pub unit: Option<LengthUnit>,
    /// Its lines in file order.
    pub rows: Vec<LevelRow>,
    /// What was guessed or noticed on reading.
    pub notes: Vec<Note>,
}

/// How far a run may miss the mark that it closes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LevelLimit {
    /// So many metres times the root of the length in kilometres; needs the sights' lengths.
    PerRootKilometre(f64),
    /// So many metres times the root of the number of set-ups.
    PerRootSetup(f64),
}

/// What a level book goes by.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelSettings {
    /// Limit of the misclosure where the sights' lengths are known. Default 12 mm: third order of the US standards for
    /// geodetic control (FGCC 1984), as texts quote it.
    pub per_root_kilometre: f64,
    /// Limit of the misclosure where they are not. Default 5 mm: common practice, no source.
    pub per_root_setup: f64,
    /// Standard deviation of one staff reading. Default 2 mm: builder's level on pasture, common practice, no source.
    pub reading_sigma: f64,
    /// A longer sight is told. Default 60 m: common practice, no source.
    pub longest_sight: f64,
    /// Marks with their known elevations, metres.
    pub marks: Vec<(String, f64)>,
}

impl Default for LevelSettings {
    fn default() -> Self {
        Self {
            per_root_kilometre: 0.012,
            per_root_setup: 0.005,
            reading_sigma: 0.002,
            longest_sight: 60.0,
            marks: Vec::new(),
        }
    }
}

/// What a reading was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LevelKind {
    /// The known point that the run starts from.
    Start,
    /// An intermediate sight.
    Intermediate,
    /// A foresight: a turning point or the end.
    Turn,
}

/// A levelled point.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct LevelPoint {
    /// Line of the book, from one.
    pub line: u64,
    /// What the staff stood on.
    pub station: String,
    /// What the reading was.
    pub kind: LevelKind,
    /// Elevation as read, metres.
    pub read_m: f64,
    /// Elevation after adjustment, metres; as read where the run is not closed within its limit.
    pub elevation_m: f64,
    /// Standard deviation against the marks, metres.
    pub sigma_m: f64,
    /// The part of it that all readings of its set-up share, metres: what was carried to the line of sight.
    pub shared_m: f64,
    /// Set-ups between it and the start of its run.
    pub setups: usize,
    /// Remark of the line.
    pub remark: String,
}

/// A run between two known elevations.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Closure {
    /// Where it started.
    pub from: String,
    /// Where it closed.
    pub to: String,
    /// Line of the closing sight.
    pub line: u64,
    /// Levelled minus known, metres.
    pub misclosure_m: f64,
    /// How much is allowed, metres.
    pub limit_m: f64,
    /// Set-ups.
    pub setups: usize,
    /// Length of its sights, metres; `None` where the book does not give them all.
    pub length_m: Option<f64>,
    /// True when it closed on the mark it started from: a wrong elevation of that mark does not show.
    pub on_itself: bool,
    /// True when the misclosure is within the limit.
    pub within: bool,
}

impl Closure {
    /// Where from and to, the misclosure and its limit, in words.
    #[must_use]
    pub fn sentence(&self) -> String {
        format!(
            "{} to {}: {:+.1} mm over {} set-up{}{}, limit {:.1} mm",
            self.from,
            self.to,
            self.misclosure_m * 1000.0,
            self.setups,
            if self.setups == 1 { "" } else { "s" },
            self.length_m.map_or(String::new(), |length| format!(" and {length:.0} m")),
            self.limit_m * 1000.0
        )
    }
}

/// A reduced level book.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct LevelRun {
    /// The file as the user named it.
    pub file: String,
    /// Its points in the order of the book.
    pub points: Vec<LevelPoint>,
    /// Its closures on known marks.
    pub closures: Vec<Closure>,
    /// Sum of the backsights less sum of the foresights, metres: must be the last elevation less the first.
    pub sights_m: f64,
    /// Sum of the rises less sum of the falls, metres: must be the same.
    pub rises_m: f64,
    /// True when some of its points hang on one known elevation and no closure covers them.
    pub open: bool,
}

impl LevelRun {
    /// True when every part of the book lies between known marks and closes within its limit, on a second mark.
    #[must_use]
    pub fn is_checked(&self) -> bool {
        !self.open
            && self.closures.iter().any(|closure| !closure.on_itself)
            && self.closures.iter().all(|closure| closure.within)
    }
}

#[cfg(test)]
mod tests;

//! What the test pits of a site prove of a work: the result, as it is carried through every output.

use super::pit::{Odds, READ_TO};
use super::samples::{Extent, Sample};
use crate::geom::Point;
use crate::soil::Soil;
use crate::units::{Length, Station};

/// Depths of a dig that differ by less than this are alike, metres.
const ALIKE: f64 = 0.02;

/// How well the ground under a work is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SoilStanding {
    /// No test pit speaks for any of it.
    Unproven,
    /// Test pits speak for part of it, and it is as taken there.
    PartlyProven,
    /// Test pits speak for all of it, and it is as taken.
    Proven,
    /// A test pit met something else.
    Contradicted,
}

impl SoilStanding {
    /// Its words, as tables and the sheet have them.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Unproven => "unproven",
            Self::PartlyProven => "partly proven",
            Self::Proven => "proven",
            Self::Contradicted => "not as taken",
        }
    }
}

/// What the test pits prove of one work.
#[derive(Debug, Clone, PartialEq)]
pub struct SoilProof {
    /// The work's name.
    pub works: String,
    /// How far a pit speaks.
    pub reach: Length,
    /// Part by part.
    pub parts: Vec<PartProof>,
    /// Every pit within reach of it, the nearest first.
    pub pits: Vec<PitWord>,
    /// What its dig is made of where the pits say so and as taken elsewhere: factors for all of it; `None` where that is the soil
    /// taken.
    pub mix: Option<Soil>,
    /// Share of its dig that lies under rock that a pit met.
    pub rock: f64,
}

/// What the test pits prove of one part of a work.
#[derive(Debug, Clone, PartialEq)]
pub struct PartProof {
    /// Such as "channel".
    pub part: &'static str,
    /// How it is measured.
    pub by: Extent,
    /// All of it, metres or square metres.
    pub whole: f64,
    /// Where it is as taken.
    pub proven: f64,
    /// Where a pit met something else.
    pub otherwise: f64,
    /// Stretches of the work's line over which nothing is proven, of a part along it.
    pub open: Vec<(Station, Station)>,
    /// Where nothing is proven, the place furthest from every pit, and how far it is from the nearest; no distance without any.
    pub furthest: Option<(Point, Option<Length>)>,
}

/// What one test pit says of a work.
#[derive(Debug, Clone, PartialEq)]
pub struct PitWord {
    /// Its name.
    pub pit: String,
    /// Where it is.
    pub place: Point,
    /// From it to the nearest place that the work digs.
    pub away: Length,
    /// Which part of the work that is.
    pub part: &'static str,
    /// Where along the work's line that is, or where what it met stands highest in the dig.
    pub station: Station,
    /// That place.
    pub met_at: Point,
    /// How deep the pit was dug.
    pub dug: Length,
    /// How deep the work goes there.
    pub cut: Length,
    /// What it met that is not as taken.
    pub odds: Vec<Odds>,
}

impl PitWord {
    /// It was not dug as deep as the work goes there.
    #[must_use]
    pub fn too_shallow(&self) -> bool {
        (self.cut - self.dug).in_metres() > READ_TO
    }
}

impl PitWord {
    /// What it met is told where the work goes deepest into it, and of places alike at the nearest.
    pub(super) fn meets(&mut self, part: &'static str, sample: &Sample, odds: Vec<Odds>) {
        let deeper = sample.depth() - self.cut.in_metres();
        let nearer = sample.place.distance(self.place) < self.met_at.distance(self.place);
        if self.odds.is_empty() || deeper > ALIKE || (deeper > -ALIKE && nearer) {
            (self.part, self.odds, self.met_at) = (part, odds, sample.place);
            self.station = Station::metres(sample.station);
            self.cut = Length::metres(sample.depth());
        }
    }
}

impl PartProof {
    /// Share that is as taken.
    #[must_use]
    pub fn share(&self) -> f64 {
        if self.whole > 0.0 { self.proven / self.whole } else { 0.0 }
    }
}

impl SoilProof {
    /// A pit met soil in the dig that disperses in water, or may.
    #[must_use]
    pub fn disperses(&self) -> bool {
        self.pits.iter().flat_map(|pit| &pit.odds).any(|odds| matches!(odds, Odds::Disperses { .. }))
    }

    /// How well its ground is known.
    #[must_use]
    pub fn standing(&self) -> SoilStanding {
        let left = |part: &PartProof| part.whole - part.proven;
        if self.pits.iter().any(|pit| !pit.odds.is_empty()) {
            SoilStanding::Contradicted
        } else if self.parts.iter().all(|part| part.proven == 0.0) {
            SoilStanding::Unproven
        } else if self.parts.iter().all(|part| left(part) <= 1e-9 * part.whole) {
            SoilStanding::Proven
        } else {
            SoilStanding::PartlyProven
        }
    }
}

//! The section of a swale at any station of its line: where channel and berm lie there on the mean cross fall.
//!
//! Invariant: everything that is laid out along a line asks here what lies across it; a section that does not change is the
//! same bits at every station.

use super::WorksError;
use super::plan::{Section, Swale};
use super::section::{self, BermLine, Channel};
use super::sizes::Sizes;
use super::wanted::{ChannelShape, Entry, SwaleWanted};
use crate::units::Station;

/// Greatest height between a side whose batter or round bed changes and the facets it is laid in, metres.
const CHORD_ERROR: f64 = 0.005;
/// No rows across stand nearer than this, metres.
const LEAST_STEP: f64 = 0.1;

/// The section as a function of the station.
#[derive(Debug, Clone, Copy)]
pub(super) struct Along<'a> {
    pub wanted: &'a SwaleWanted,
    /// Mean cross fall of natural ground, positive rising uphill.
    pub fall: f64,
}

impl<'a> Along<'a> {
    /// Checked: every section's sides meet ground of that fall.
    pub(super) fn new(wanted: &'a SwaleWanted, fall: f64) -> Result<Self, WorksError> {
        for (k, (_, sizes)) in wanted.all_sizes().into_iter().enumerate() {
            let entry = k.checked_sub(1).map_or(Entry::Section, Entry::Change);
            section::check(wanted.ditch(), entry, &sizes, fall)?;
        }
        Ok(Self { wanted, fall })
    }

    pub(super) fn sizes(&self, station: f64) -> Sizes {
        self.wanted.sizes_at(Station::metres(station))
    }

    /// The channel at a station.
    pub(super) fn channel(&self, station: f64) -> Channel {
        section::channel(self.wanted.ditch(), &self.sizes(station), self.fall)
    }

    /// The berm at a station, its crest at a height above the water level.
    pub(super) fn berm(&self, station: f64, crest_above_water: f64) -> BermLine {
        let sizes = self.sizes(station);
        let channel = section::channel(self.wanted.ditch(), &sizes, self.fall);
        section::berm(self.wanted.ditch(), &sizes, &channel, self.fall, crest_above_water)
    }

    /// The greatest of something over all sections that the line has on some length. In between everything lies between.
    pub(super) fn greatest(&self, measure: impl Fn(&Sizes) -> f64) -> f64 {
        self.wanted.all_sizes().iter().map(|(_, sizes)| measure(sizes)).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Stations between two at which a row across must stand: where a change begins or ends, and between those as many that
    /// facets stand within [`CHORD_ERROR`] of sides that twist.
    pub(super) fn rows(&self, from: f64, to: f64) -> Vec<f64> {
        let mut rows = Vec::new();
        for change in &self.wanted.changes {
            let [first, last] = [change.from, change.to()].map(Station::in_metres);
            let [a, b] = [first, last].map(|station| self.sizes(station));
            let count = self.twist(&a, &b).min((last - first) / LEAST_STEP).ceil().max(1.0);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a count of rows, some hundreds"
            )]
            let steps = count as u32;
            rows.extend((0..=steps).map(|k| first + (last - first) * f64::from(k) / count));
        }
        rows.retain(|station| (from..=to).contains(station));
        rows.dedup();
        rows
    }

    /// In how many pieces a change from one section to another is laid: a quad over which the batter goes from m to n along a
    /// side h high stands a quarter of its twist, h |n - m| / m, off its facets, and a piece has its share of that.
    fn twist(&self, a: &Sizes, b: &Sizes) -> f64 {
        let height = a.depth.in_metres().max(b.depth.in_metres()) + 1.0;
        let batters = [
            [a.uphill_batter, b.uphill_batter],
            [a.downhill_batter, b.downhill_batter],
            [a.berm_batter, b.berm_batter],
        ]
        .map(|pair| pair.map(crate::units::Batter::in_horizontal_per_vertical));
        let of = |[m, n]: [f64; 2]| height * (n - m).abs() / m.min(n).max(0.1);
        let mut twist = batters.into_iter().map(of).fold(0.0, f64::max);
        if matches!(self.wanted.shape, ChannelShape::Parabola { .. }) {
            // Its sides are as steep as 4 d / w at the water level.
            let steep = |sizes: &Sizes| sizes.width.in_metres() / (4.0 * sizes.depth.in_metres());
            twist = twist.max(of([steep(a), steep(b)]));
        }
        twist / (4.0 * CHORD_ERROR)
    }
}

/// The crest above the water level along a line: one height, or heights at stations and evenly between them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CrestLine(Vec<(f64, f64)>);

impl CrestLine {
    /// One height all along.
    pub(super) fn level(height: f64) -> Self {
        Self(vec![(0.0, height)])
    }

    /// Heights at stations in order; at least one.
    pub(super) fn through(knots: Vec<(f64, f64)>) -> Self {
        debug_assert!(!knots.is_empty());
        Self(knots)
    }

    /// The height at a station; beyond the first and the last theirs.
    pub(super) fn at(&self, station: f64) -> f64 {
        let after = self.0.partition_point(|knot| knot.0 < station);
        match (after.checked_sub(1).map(|before| self.0[before]), self.0.get(after)) {
            (Some(from), Some(&to)) => from.1 + (to.1 - from.1) * (station - from.0) / (to.0 - from.0),
            (Some(only), None) => only.1,
            (None, only) => only.map_or(0.0, |only| only.1),
        }
    }

    pub(super) fn least(&self) -> f64 {
        self.0.iter().map(|knot| knot.1).fold(f64::INFINITY, f64::min)
    }

    /// Stations at which it bends; none where it is level.
    pub(super) fn bends(&self) -> impl Iterator<Item = f64> {
        let level = self.0.len() == 1;
        self.0.iter().filter(move |_| !level).map(|knot| knot.0)
    }

    pub(super) fn is_level(&self) -> bool {
        self.0.len() == 1
    }
}

impl Swale {
    /// The cross section at a station of its line, away from ends and spillways.
    #[must_use]
    pub fn section_at(&self, station: Station) -> Section {
        if self.wanted.changes.is_empty() && self.crest_levels.is_empty() {
            return self.section.clone();
        }
        let along = Along { wanted: &self.wanted, fall: self.section.cross_fall.in_ratio() };
        let crest = self.crest_at(self.line.at(station.in_metres()));
        let berm = along.berm(station.in_metres(), (crest - self.water_level).in_metres());
        let channel = along.channel(station.in_metres());
        section::section(
            self.wanted.ditch(),
            &along.sizes(station.in_metres()),
            self.water_level,
            along.fall,
            &channel,
            &berm,
        )
    }

    /// Every section that it has on some length, with the station from which it has it.
    #[must_use]
    pub fn sections(&self) -> Vec<(Station, Section)> {
        self.wanted.all_sizes().into_iter().map(|(from, _)| (from, self.section_at(from))).collect()
    }
}

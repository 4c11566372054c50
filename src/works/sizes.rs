//! The sizes of a swale's section as a function of the station.
//!
//! Invariant: between two stations at which a change begins or ends every size runs evenly from the one value to the other;
//! before the first change and after the last it keeps its value.

use super::wanted::{Berm, ChannelShape, SectionChange, SwaleWanted};
use crate::units::{Batter, Length, Station};

/// What a swale's section measures at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sizes {
    /// Width of the bed; of a parabola its width at the water level, of a triangle nothing.
    pub width: Length,
    /// Bed below water level.
    pub depth: Length,
    /// Side slope uphill of the bed.
    pub uphill_batter: Batter,
    /// Side slope downhill of the bed; a parabola has none.
    pub downhill_batter: Batter,
    /// Width of the berm's crest.
    pub crest: Length,
    /// Batter of both sides of the berm.
    pub berm_batter: Batter,
}

impl Sizes {
    /// With what a change says.
    fn changed(self, change: &SectionChange) -> Self {
        Self {
            width: change.width.unwrap_or(self.width),
            depth: change.depth.unwrap_or(self.depth + change.step_down.unwrap_or_default()),
            uphill_batter: change.uphill_batter.unwrap_or(self.uphill_batter),
            downhill_batter: change.downhill_batter.unwrap_or(self.downhill_batter),
            crest: change.crest.unwrap_or(self.crest),
            berm_batter: change.berm_batter.unwrap_or(self.berm_batter),
        }
    }

    /// A share of the way to others.
    fn towards(self, other: Self, share: f64) -> Self {
        let length = |from: Length, to: Length| from + (to - from) * share;
        let batter = |from: Batter, to: Batter| {
            let [from, to] = [from, to].map(Batter::in_horizontal_per_vertical);
            Batter::horizontal_per_vertical(from + (to - from) * share)
        };
        Self {
            width: length(self.width, other.width),
            depth: length(self.depth, other.depth),
            uphill_batter: batter(self.uphill_batter, other.uphill_batter),
            downhill_batter: batter(self.downhill_batter, other.downhill_batter),
            crest: length(self.crest, other.crest),
            berm_batter: batter(self.berm_batter, other.berm_batter),
        }
    }

    /// Width of the level bed in a channel of a shape.
    #[must_use]
    pub const fn bed_width(&self, shape: &ChannelShape) -> Length {
        match shape {
            ChannelShape::Trapezoid { .. } => self.width,
            ChannelShape::Triangle | ChannelShape::Parabola { .. } => Length::ZERO,
        }
    }

    /// The channel's sides with the key that says each, and its batter where it is steepest.
    #[must_use]
    pub fn channel_sides(&self, shape: &ChannelShape) -> [(&'static str, &'static str, Batter); 2] {
        let second = match shape {
            ChannelShape::Trapezoid { .. } | ChannelShape::Triangle => {
                ("downhill side", "downhill-batter", self.downhill_batter)
            }
            ChannelShape::Parabola { .. } => {
                let steepest = self.width.in_metres() / (4.0 * self.depth.in_metres());
                ("round sides at the water level", "top-width", Batter::horizontal_per_vertical(steepest))
            }
        };
        [("uphill side", "uphill-batter", self.uphill_batter), second]
    }
}

impl SwaleWanted {
    /// What the section measures before any change.
    #[must_use]
    pub fn first_sizes(&self) -> Sizes {
        let (Berm::AllTheCut { crest, batter } | Berm::Fixed { crest, batter } | Berm::ToBalance { crest, batter }) =
            self.berm;
        let width = match self.shape {
            ChannelShape::Trapezoid { bottom_width: width } | ChannelShape::Parabola { top_width: width } => width,
            ChannelShape::Triangle => Length::ZERO,
        };
        Sizes {
            width,
            depth: self.depth,
            uphill_batter: self.uphill_batter,
            downhill_batter: self.downhill_batter,
            crest,
            berm_batter: batter,
        }
    }

    /// What the section measures at a station of the line.
    #[must_use]
    pub fn sizes_at(&self, station: Station) -> Sizes {
        let mut sizes = self.first_sizes();
        for change in &self.changes {
            let share = (station.in_metres() - change.from.in_metres()) / change.over.in_metres();
            if share <= 0.0 {
                break;
            }
            let changed = sizes.changed(change);
            sizes = if share < 1.0 { sizes.towards(changed, share) } else { changed };
        }
        sizes
    }

    /// Every section that the swale has on some length: the first, and the one after each change.
    #[must_use]
    pub fn all_sizes(&self) -> Vec<(Station, Sizes)> {
        let first = (Station::metres(0.0), self.first_sizes());
        let mut all = vec![first];
        let mut sizes = first.1;
        for change in &self.changes {
            sizes = sizes.changed(change);
            all.push((change.to(), sizes));
        }
        all
    }

    /// Stations at which a change begins or ends, metres.
    #[must_use]
    pub fn section_breaks(&self) -> Vec<f64> {
        let mut breaks: Vec<f64> =
            self.changes.iter().flat_map(|change| [change.from.in_metres(), change.to().in_metres()]).collect();
        breaks.dedup();
        breaks
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::works::tests::wanted;

    #[test]
    fn sizes_run_evenly_between_the_stations_of_a_change() {
        let (station, metres) = (Station::metres, Length::metres);
        let wider = SectionChange { width: Some(metres(2.0)), ..SectionChange::at(station(50.0), metres(10.0)) };
        let deeper = SectionChange { depth: Some(metres(0.8)), ..SectionChange::at(station(60.0), metres(5.0)) };
        let asked = SwaleWanted { changes: vec![wider, deeper], ..wanted() };
        let at = |s: f64| {
            let sizes = asked.sizes_at(station(s));
            [sizes.width.in_metres(), sizes.depth.in_metres()].map(|value| (value * 1e9).round() / 1e9)
        };
        assert_eq!(at(0.0), [1.2, 0.6]);
        assert_eq!(at(50.0), [1.2, 0.6]);
        assert_eq!(at(52.5), [1.4, 0.6]);
        assert_eq!(at(60.0), [2.0, 0.6]);
        assert_eq!(at(62.5), [2.0, 0.7]);
        assert_eq!(at(90.0), [2.0, 0.8]);
        assert_eq!(asked.section_breaks(), [50.0, 60.0, 65.0]);
        assert_eq!(asked.all_sizes().len(), 3);
    }
}

//! Soil and placement class: the factors between bank, loose and placed volumes, and how much a fill settles.
//!
//! Source of the soil rows: multiplier table of FM 5-434 (15 June 2000, Table 1-1), from memory except the sand bank
//! row, which is also quoted in a Navy training manual. The share by which a class reaches less than full compaction
//! and its settlement are common practice, no source; a user's own numbers override all of it.

use super::{BankVolume, LooseVolume, PlacedVolume};

/// How fill is put down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Placement {
    /// Tipped from the bucket and left.
    Tipped,
    /// Tipped and walked over with the tracks.
    #[default]
    TrackWalked,
    /// In level layers, each rolled.
    LayeredRolled,
}

impl Placement {
    /// Height that the fill loses afterwards, as a share of its settled height. Common practice, no source: 10-20 %
    /// for tipped and tracked fill; at least 5 % for rolled fill (NRCS Code 378, from memory).
    #[must_use]
    pub const fn settlement(self) -> f64 {
        match self {
            Self::Tipped => 0.20,
            Self::TrackWalked => 0.12,
            Self::LayeredRolled => 0.05,
        }
    }

    /// Name as the pipeline file writes it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tipped => "tipped",
            Self::TrackWalked => "track-walked",
            Self::LayeredRolled => "layered-rolled",
        }
    }
}

/// How one bank cubic metre of a soil swells when dug and what it makes in the fill.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Soil {
    /// Its name for people.
    pub name: String,
    /// Loose cubic metres from one bank cubic metre.
    pub loose_per_bank: f64,
    /// Placed cubic metres from one bank cubic metre, in the placement class that the design asks for, as built.
    pub placed_per_bank: f64,
}

impl Soil {
    /// Sand, common earth (`loam`) or `clay` with the placement class's factor; `None` for another name.
    ///
    /// Placed per bank is the table's compacted figure for rolled layers. Between that and loose, track-walked fill
    /// stands a third of the way up and tipped fill two thirds (common practice, no source).
    #[must_use]
    pub fn named(name: &str, placement: Placement) -> Option<Self> {
        let (loose, compacted) = match name {
            "sand" => (1.11, 0.95),
            "loam" => (1.25, 0.90),
            "clay" => (1.43, 0.90),
            _ => return None,
        };
        let share = match placement {
            Placement::LayeredRolled => 0.0,
            Placement::TrackWalked => 1.0 / 3.0,
            Placement::Tipped => 2.0 / 3.0,
        };
        Some(Self {
            name: name.to_owned(),
            loose_per_bank: loose,
            placed_per_bank: compacted + share * (loose - compacted),
        })
    }

    /// What bank earth makes in the fill.
    #[must_use]
    pub fn place(&self, bank: BankVolume) -> PlacedVolume {
        PlacedVolume::cubic_metres(bank.in_cubic_metres() * self.placed_per_bank)
    }

    /// Bank earth needed for a placed volume.
    #[must_use]
    pub fn bank_for(&self, placed: PlacedVolume) -> BankVolume {
        BankVolume::cubic_metres(placed.in_cubic_metres() / self.placed_per_bank)
    }

    /// What bank earth swells to in the bucket.
    #[must_use]
    pub fn loosen(&self, bank: BankVolume) -> LooseVolume {
        LooseVolume::cubic_metres(bank.in_cubic_metres() * self.loose_per_bank)
    }
}

#[cfg(test)]
impl Soil {
    /// The soil of tests: a quarter more in the bucket, a tenth less in the fill.
    pub(crate) fn of_tests() -> Self {
        Self { name: "test".to_owned(), loose_per_bank: 1.25, placed_per_bank: 0.9 }
    }
}

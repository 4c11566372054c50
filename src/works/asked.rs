//! A work of any kind as asked for.

use super::dam::DamWanted;
use super::fall_line::FallLine;
use super::pit::PitWanted;
use super::wanted::SwaleWanted;

/// A work as asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Wanted {
    /// A swale.
    Swale(SwaleWanted),
    /// A pond or borrow pit.
    Pit(PitWanted),
    /// A dam.
    Dam(DamWanted),
    /// The channel of a line of constant fall, which is traced already; nothing for one without a channel.
    Drain(FallLine),
}

impl From<FallLine> for Wanted {
    fn from(line: FallLine) -> Self {
        Self::Drain(line)
    }
}

impl From<DamWanted> for Wanted {
    fn from(dam: DamWanted) -> Self {
        Self::Dam(dam)
    }
}

impl From<SwaleWanted> for Wanted {
    fn from(swale: SwaleWanted) -> Self {
        Self::Swale(swale)
    }
}

impl From<PitWanted> for Wanted {
    fn from(pit: PitWanted) -> Self {
        Self::Pit(pit)
    }
}

//! What was measured of the works as dug: shots, and level books whose stations are names of the design's own lists.

use crate::geom::Point;
use crate::stakeout::{StakeKind, StakeList};
use crate::survey::{LevelRun, Role, Survey};

/// A place that has a name: a stake, or a shot to take after the dig.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedPlace {
    /// The name on the stake or in the list.
    pub name: String,
    /// Where, local metres.
    pub place: Point,
    /// What a staff there stands on, as far as the name says: a part of the works, anything of them, or natural ground.
    pub role: Role,
}

impl NamedPlace {
    /// The names of a stake list and of the shots to take after the dig.
    #[must_use]
    pub fn of(list: &StakeList) -> Vec<Self> {
        let stakes = list.stakes.iter().map(|stake| Self {
            name: stake.id.clone(),
            place: stake.place,
            role: Self::role_at(stake.kind),
        });
        let shots = list.as_built_shots.iter().map(|shot| Self {
            name: shot.id.clone(),
            place: shot.place,
            role: Role::from_name(&shot.code).unwrap_or(Role::Built),
        });
        stakes.chain(shots).collect()
    }

    /// What a staff held at a stake stands on.
    #[must_use]
    pub const fn role_at(kind: StakeKind) -> Role {
        match kind {
            StakeKind::Sill => Role::Sill,
            StakeKind::Crest => Role::Crest,
            // Once it is dug and filled, the place says whether that is lip, batter, bed or toe.
            StakeKind::Line | StakeKind::Toe | StakeKind::Channel => Role::Built,
            // It stands clear of the works.
            StakeKind::Offset => Role::Ground,
        }
    }
}

/// What was measured of the works as dug.
#[derive(Debug, Clone, Copy)]
pub struct Measured<'a> {
    /// Shots in the frame; none of them where the works were levelled only.
    pub survey: &'a Survey,
    /// Level books, reduced.
    pub levels: &'a [LevelRun],
    /// The names that stations of level books may be.
    pub names: &'a [NamedPlace],
}

impl<'a> Measured<'a> {
    /// Shots only.
    #[must_use]
    pub const fn shots(survey: &'a Survey) -> Self {
        Self { survey, levels: &[], names: &[] }
    }
}

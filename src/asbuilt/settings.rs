//! Tolerances and the scatter of a shot.

use crate::stakeout::StakeSettings;
use crate::units::Length;

/// How far below and above its design elevation a part may lie, both not below zero.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Tolerance {
    /// Allowed below the design, metres.
    pub below_m: f64,
    /// Allowed above the design, metres.
    pub above_m: f64,
}

impl Tolerance {
    /// The same both ways.
    #[must_use]
    pub fn both(tolerance: Length) -> Self {
        Self { below_m: tolerance.in_metres(), above_m: tolerance.in_metres() }
    }

    /// The allowance on the side on which a difference lies.
    #[must_use]
    pub fn towards(self, difference: f64) -> f64 {
        if difference < 0.0 { self.below_m } else { self.above_m }
    }

    /// Metres beyond the tolerance: negative inside it, by the distance to its nearer bound.
    #[must_use]
    pub fn excess(self, difference: f64) -> f64 {
        (-self.below_m - difference).max(difference - self.above_m)
    }
}

/// What the check is held to. Defaults are common practice, no source, unless said.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct GradeSettings {
    /// Of a sill, both ways; `None` takes the lesser of 15 mm and a tenth of the design head.
    pub sill: Option<Tolerance>,
    /// Of a crest: never low, 200 mm high. A berm takes what the ditch gives; higher does no harm but was earth moved
    /// for nothing.
    pub crest: Tolerance,
    /// Of a bed: 50 mm both ways (earth cut by bucket; 30 mm is asked of a spillway's bed only).
    pub bed: Tolerance,
    /// Of batters and everything else: 100 mm both ways.
    pub other: Tolerance,
    /// Standard deviation of a shot's height when its file gives none, metres: 20 mm, an RTK height (US National
    /// Geodetic Survey, User Guidelines for Single Base Real Time GNSS Positioning, gives 2-4 cm at 95 % for its best
    /// class).
    pub shot_sigma_m: f64,
    /// Standard deviation of one reading of a levelling staff, metres: 2 mm.
    pub staff_sigma_m: f64,
    /// Standard deviation that the built surface adds under the pole, metres: 5 mm on a trimmed surface.
    pub roughness_m: f64,
    /// Greatest distance of a coded shot from the part that its code names, metres: 3 m.
    pub reach_m: f64,
    /// A check shot may miss its mark by this much in height before the whole file is doubted, metres: 60 mm,
    /// the limit of the survey's own checks.
    pub check_limit_m: f64,
    /// How far apart shots along a sill were asked for, metres: 1 m. See [`GradeSettings::asked_every`].
    pub sill_interval_m: f64,
    /// The same along crests and over floors: 10 m.
    pub interval_m: f64,
}

impl Default for GradeSettings {
    fn default() -> Self {
        Self {
            sill: None,
            crest: Tolerance { below_m: 0.0, above_m: 0.200 },
            bed: Tolerance { below_m: 0.050, above_m: 0.050 },
            other: Tolerance { below_m: 0.100, above_m: 0.100 },
            shot_sigma_m: 0.020,
            staff_sigma_m: 0.002,
            roughness_m: 0.005,
            reach_m: 3.0,
            check_limit_m: 0.060,
            sill_interval_m: 1.0,
            interval_m: 10.0,
        }
    }
}

impl GradeSettings {
    /// Held to the intervals at which the stake settings ask for shots: what lies a few of them from any shot is not proven.
    #[must_use]
    pub fn asked_every(self, stakes: &StakeSettings) -> Self {
        let (sill_interval_m, interval_m) = (stakes.as_built_sill.in_metres(), stakes.as_built_interval.in_metres());
        Self { sill_interval_m, interval_m, ..self }
    }

    /// The same tolerance for every part, both ways.
    #[must_use]
    pub fn with_tolerance(self, tolerance: Length) -> Self {
        let both = Tolerance::both(tolerance);
        Self { sill: Some(both), crest: both, bed: both, other: both, ..self }
    }
}

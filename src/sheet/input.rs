//! What a dig sheet is made from.

use crate::asbuilt::GradeSettings;
use crate::draw::{PlanInput, Region, Words};
use crate::earth::Quantities;
use crate::ground::Ground;
use crate::notes::Note;
use crate::stakeout::StakeList;
use crate::survey::Survey;
use crate::units::{Figures, Length};
use crate::works::SitePlan;

/// Which side of a stake says what; customs differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StakeSides {
    /// The side that faces the works says what to do there, the other side which stake it is.
    #[default]
    WorkTowards,
    /// The side that faces the works says which stake it is, the other side what to do.
    WorkAway,
}

/// Which issue of a sheet or stake list this is; its text is `issue 2 of 2025-03-14, replaces issue 1 of 2025-03-02`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Issue<'a> {
    /// From one.
    pub number: u32,
    /// Its date, such as `2025-03-14`; `None` when nothing says one, which leaves a blank to be filled in by hand.
    pub date: Option<&'a str>,
    /// What it replaces, such as `issue 1 of 2025-03-02`; `None` for a first issue.
    pub replaces: Option<&'a str>,
}

impl std::fmt::Display for Issue<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.date {
            Some(date) => write!(f, "issue {} of {date}", self.number)?,
            None => write!(f, "issue {}, date: ________", self.number)?,
        }
        match (self.replaces, self.number) {
            (Some(old), _) => write!(f, ", replaces {old}"),
            (None, 1) => f.write_str(", first issue"),
            (None, number) => write!(f, ", replaces issue {}", number - 1),
        }
    }
}

/// Everything that a dig sheet tells.
#[derive(Debug, Clone, Copy)]
pub struct DigSheetInput<'a> {
    /// Name of the site.
    pub site: &'a str,
    /// Which issue of the sheet it is.
    pub issue: Issue<'a>,
    /// Whose trade words it uses.
    pub region: Region,
    /// How numbers are written.
    pub figures: Figures,
    /// Which side of a stake says what.
    pub stake_sides: StakeSides,
    /// Natural ground; its frame is the sheet's.
    pub ground: &'a Ground,
    /// The survey: marks, services, breaklines.
    pub survey: &'a Survey,
    /// The works.
    pub plan: &'a SitePlan,
    /// What they move.
    pub quantities: &'a Quantities,
    /// The stakes.
    pub stakes: &'a StakeList,
    /// What the as-built check will hold the dig to.
    pub tolerances: GradeSettings,
    /// Roughness of the ground under the pole: how sure the surveyed ground is.
    pub roughness: Length,
    /// Notes of every stage; those of `survey::not-checked` and its like go on the first page.
    pub notes: &'a [Note],
}

impl DigSheetInput<'_> {
    /// The region's words.
    pub(super) fn words(&self) -> &'static Words {
        self.region.words()
    }

    /// What the plans show.
    pub(super) fn plan_input(&self) -> PlanInput<'_> {
        PlanInput {
            ground: self.ground,
            survey: self.survey,
            plan: self.plan,
            stakes: self.stakes,
            figures: self.figures,
            words: self.words(),
        }
    }
}

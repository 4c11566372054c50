//! The operator's dig sheet: what it is made from, and its parts in the order that a cab reads them.

use crate::draw::{Figures, Region, escape};
use crate::frame::SiteFrame;
use crate::ground::Ground;
use crate::notes::Note;
use crate::stakeout::StakeList;
use crate::survey::Survey;
use crate::units::Length;
use crate::works::SitePlan;

/// Everything that a dig sheet tells.
#[derive(Debug, Clone, Copy)]
pub struct DigSheetInput<'a> {
    /// Name of the site.
    pub site: &'a str,
    /// Date of the sheet, such as `2025-03-14`.
    pub date: &'a str,
    /// Issue number, from one.
    pub issue: u32,
    /// What this issue replaces, such as `issue 1 of 2025-03-02`; `None` for a first issue.
    pub replaces: Option<&'a str>,
    /// The frame that coordinates stand in.
    pub frame: &'a SiteFrame,
    /// Whose trade words it uses.
    pub region: Region,
    /// How numbers are written.
    pub figures: Figures,
    /// Natural ground.
    pub ground: &'a Ground,
    /// The survey: marks, services, breaklines.
    pub survey: &'a Survey,
    /// The works.
    pub plan: &'a SitePlan,
    /// The stakes.
    pub stakes: &'a StakeList,
    /// Roughness of the ground under the pole: how sure the surveyed ground is.
    pub roughness: Length,
    /// Notes of every stage; `survey::not-checked` among them puts a warning on the first page.
    pub notes: &'a [Note],
}

/// The dig sheet as one HTML document.
#[must_use]
pub fn dig_sheet(input: &DigSheetInput) -> String {
    format!("<!doctype html>\n<title>Dig sheet: {}</title>\n", escape(input.site))
}

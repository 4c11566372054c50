//! `[[unstable-ground]]`: slips, springs, soft and filled ground that the user marks.

use super::fall_line::{SpotAsked, spot};
use super::fault::{Fault, Gathered, Located};
use super::keys;
use super::walk::Table;
use crate::units::{Length, parse_length};
use crate::works::Unstable;

/// Unstable ground as the file marks it.
#[derive(Debug, Clone, PartialEq)]
pub struct UnstableAsked {
    /// Its name.
    pub name: Located<String>,
    /// What is wrong with it.
    pub kind: Unstable,
    /// Where it lies.
    pub area: UnstableAreaAsked,
    /// What comes nearer is told.
    pub clearance: Length,
}

/// Where unstable ground lies, as the file has it.
#[derive(Debug, Clone, PartialEq)]
pub enum UnstableAreaAsked {
    /// So far round a place.
    Round(Located<SpotAsked>, Length),
    /// A map file with its outlines.
    File(Located<String>),
}

pub(super) fn read(table: &Table<'_>) -> Option<UnstableAsked> {
    let name = table.text(&keys::UNSTABLE_NAME);
    let kind = table.choice(&keys::UNSTABLE_KIND, &Unstable::ALL.map(|kind| (kind.name(), kind)));
    let clearance = table.at_least_zero(&keys::UNSTABLE_CLEARANCE, parse_length);
    let written = |key| table.peek(key).is_some();
    let both = written(&keys::UNSTABLE_AT) && written(&keys::UNSTABLE_OUTLINE);
    let neither = !written(&keys::UNSTABLE_AT) && !written(&keys::UNSTABLE_OUTLINE);
    if both || neither || written(&keys::UNSTABLE_AT) != written(&keys::UNSTABLE_RADIUS) {
        let message = "unstable ground lies either `at` a place with a `radius`, or within an `outline`";
        table.faults().add(Fault::new("pipeline::one-choice", table.span(), message).help(format!(
            "write `at = {}` and `radius = {}`, or `outline = {}`",
            "[412350.0, 6187220.0]", "\"8 m\"", "\"slip.geojson\""
        )));
        return None;
    }
    let area = if written(&keys::UNSTABLE_OUTLINE) {
        table.text(&keys::UNSTABLE_OUTLINE).map(UnstableAreaAsked::File)
    } else {
        let at = table.with(&keys::UNSTABLE_AT, spot);
        let radius = table.above_zero(&keys::UNSTABLE_RADIUS, parse_length);
        at.zip(radius).map(|(at, radius)| UnstableAreaAsked::Round(at, radius))
    };
    Some(UnstableAsked { name: name?, kind: kind?, area: area?, clearance: clearance? })
}

/// Every unstable ground has a name of its own.
pub(super) fn check_names(areas: &[UnstableAsked], faults: &Gathered) {
    super::works::check_own_names("unstable grounds", areas.iter().map(|area| &area.name), faults);
}

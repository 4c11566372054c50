//! The crest at which a berm takes what its ditch gives, and what a work is short of.
//!
//! A first guess from the closed-form section, then secant steps on the exact volumes between the surfaces, each crest a
//! whole step above the water level so that one number on sheet and stake is the design.

use super::section::{self, BermLine, Channel};
use super::wanted::SwaleWanted;
use super::work::SitePlan;
use super::{WorksError, layout};
use crate::geom::{Polygon, Polyline, area_of_ring};
use crate::ground::Ground;
use crate::surface::{Tin, cut_and_fill};
use crate::units::Length;

/// Crests are built to whole steps of this above the water level, metres.
const CREST_STEP: f64 = 0.005;
/// Trials of the exact balance.
const TRIALS: usize = 4;

/// A berm on the surface.
pub(super) struct Raised {
    pub crest_above_water: f64,
    pub berm: BermLine,
    pub axes: Vec<Polyline>,
    pub ends: [layout::TurnedEnd; 2],
    pub tin: Tin,
    pub footprint: Vec<Polygon>,
    /// Bank earth dug for the key under it, cubic metres.
    pub key: f64,
}

/// Bank earth under the topsoil that a dig gives, cubic metres.
pub(super) fn bank_dug(before: &Tin, dug: &Tin, topsoil: Length) -> f64 {
    cut_and_fill(&before.raised_by(-topsoil.in_metres()), dug, None).cut
}

/// Bank earth that an earlier work of a plan takes beyond what it digs itself, cubic metres; `None` when there is none of
/// that name.
pub(super) fn short_of(ground: &Ground, plan: &SitePlan, name: &str) -> Option<f64> {
    let index = plan.shared().position(|work| work.name == name)?;
    let work = plan.works[index].shared();
    let before = index.checked_sub(1).map_or(&ground.tin, |earlier| &plan.surfaces[earlier]);
    let after = &plan.surfaces[index];
    let whole = cut_and_fill(before, after, None);
    let (topsoil, key) = (work.topsoil.in_metres().max(0.0), work.key.in_cubic_metres());
    let placed = whole.fill + topsoil * whole.fill_area + key;
    Some(placed / work.soil.placed_per_bank - bank_dug(before, after, work.topsoil) - key)
}

/// Solves the crest so that the berm takes what the channel gives; not below what head, freeboard and settlement need.
pub(super) fn balanced(
    raise: &dyn Fn(f64) -> Result<Raised, WorksError>,
    dug: &Tin,
    wanted: &SwaleWanted,
    bank_dug: f64,
    guess: f64,
    required: f64,
) -> Result<Raised, WorksError> {
    let mut crest = round_down(guess).max(required);
    let mut tried: Option<Raised> = None;
    for _ in 0..TRIALS {
        let raised = raise(crest)?;
        let volumes = cut_and_fill(dug, &raised.tin, None);
        let refill = wanted.topsoil.in_metres() * volumes.fill_area;
        let short = (volumes.fill + refill + raised.key) / wanted.soil.placed_per_bank - bank_dug - raised.key;
        // Raising the crest adds about one seat's area a metre.
        let change = short * wanted.soil.placed_per_bank / volumes.fill_area.max(1.0);
        let next = round_down(crest - change).max(required);
        let done = (next - crest).abs() < CREST_STEP / 2.0;
        tried = Some(raised);
        if done {
            break;
        }
        crest = next;
    }
    tried.map_or_else(|| raise(required), Ok)
}

fn round_down(height: f64) -> f64 {
    (height / CREST_STEP + 1e-9).floor() * CREST_STEP
}

/// The next whole step up.
pub(super) fn round_up(height: f64) -> f64 {
    (height / CREST_STEP - 1e-9).ceil() * CREST_STEP
}

/// Crest above the water level at which the section's fill takes the section's cut: the first guess.
pub(super) fn section_balance(wanted: &SwaleWanted, channel: &Channel, fall: f64) -> Result<f64, WorksError> {
    let topsoil = wanted.topsoil.in_metres();
    let outline = section::outline(wanted, channel, fall);
    let give =
        (area_of_ring(&outline).abs() - topsoil * (channel.top - channel.lip)).max(0.0) * wanted.soil.placed_per_bank;
    let (mut low, mut high) = (0.0, 6.0);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        let berm = section::berm(wanted, channel, fall, middle)?;
        if berm.area + topsoil * berm.seat > give { high = middle } else { low = middle }
    }
    Ok(low)
}

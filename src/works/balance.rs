//! The crest, or the batter, at which a berm takes what its ditch gives, and what a work is short of.
//!
//! A first guess from the closed-form section, then secant steps on the exact volumes between the surfaces, each crest a
//! whole step above the water level so that one number on sheet and stake is the design.

use super::along::{Along, CrestLine};
use super::layout::{Axis, TurnedEnd};
use super::limits::LEAST_BATTER;
use super::plan::{Crossing, Swale};
use super::solve::{Found, Sought, find};
use super::topsoil::Topsoil;
use super::wanted::SwaleWanted;
use super::work::SitePlan;
use super::{WorksError, section};
use crate::geom::{Polygon, area_of_ring};
use crate::ground::Ground;
use crate::surface::{Tin, cut_and_fill};
use crate::units::{Batter, Length};

/// Crests are built to whole steps of this above the water level, metres.
pub(super) const CREST_STEP: f64 = 0.005;
/// Trials of the exact balance at most: a crest a third of the right one takes six, one that is right two.
const TRIALS: usize = 12;

/// A berm on the surface.
pub(super) struct Raised {
    /// Its crest above the water level.
    pub crest: CrestLine,
    pub axes: Vec<Axis>,
    pub ends: [TurnedEnd; 2],
    pub crossings: Vec<Crossing>,
    pub tin: Tin,
    pub footprint: Vec<Polygon>,
    /// Bank earth dug for the key under it, cubic metres.
    pub key: f64,
}

impl Raised {
    /// The crest at each place of each axis, metres; empty where it is one level.
    pub(super) fn levels(&self, water: f64) -> Vec<Vec<f64>> {
        let axes = self.axes.iter().filter(|_| !self.crest.is_level());
        axes.map(|axis| axis.at.iter().map(|&station| water + self.crest.at(station)).collect()).collect()
    }
}

/// What a berm's balance asks of the earth.
#[derive(Debug, Clone, Copy)]
pub(super) struct Earth {
    /// Topsoil stripped from its seat, which is filled again.
    pub topsoil: Length,
    /// Placed for one in the bank.
    pub placed_per_bank: f64,
}

/// Something heaped on a dug surface: the surface with it, and the bank earth dug for a key under it, cubic metres.
pub(super) trait Heaped {
    fn heaped(&self) -> (&Tin, f64);
}

impl Heaped for Raised {
    fn heaped(&self) -> (&Tin, f64) {
        (&self.tin, self.key)
    }
}

impl SwaleWanted {
    pub(super) fn earth(&self) -> Earth {
        Earth { topsoil: self.topsoil, placed_per_bank: self.soil.placed_per_bank }
    }
}

/// Bank earth that an earlier work of a plan takes beyond what it digs itself, cubic metres; `None` when there is none of
/// that name.
pub(super) fn short_of(ground: &Ground, plan: &SitePlan, name: &str) -> Option<f64> {
    let index = plan.shared().position(|work| work.name == name)?;
    let work = plan.works[index].shared();
    let before = index.checked_sub(1).map_or(&ground.tin, |earlier| &plan.surfaces[earlier]);
    let after = &plan.surfaces[index];
    let whole = cut_and_fill(before, after, None);
    let stripped = Topsoil::new(&ground.tin, before, work.topsoil).stripped(after, &whole);
    let key = work.key.in_cubic_metres();
    Some((whole.fill + stripped.seat + key) / work.soil.placed_per_bank - stripped.under - key)
}

/// Solves the crest so that the berm takes what the channel gives; not below what head, freeboard and settlement need.
pub(super) fn balanced<H: Heaped>(
    raise: &dyn Fn(&CrestLine) -> Result<H, WorksError>,
    dug: &Tin,
    earth: Earth,
    bank_dug: f64,
    guess: f64,
    required: f64,
) -> Result<H, WorksError> {
    let mut crest = round_down(guess).max(required);
    let mut tried: Option<H> = None;
    for _ in 0..TRIALS {
        let raised = raise(&CrestLine::level(crest))?;
        let (short, seat) = short_on(dug, &raised, earth, bank_dug);
        // Raising the crest adds about one seat's area a metre.
        let change = short * earth.placed_per_bank / seat.max(1.0);
        let next = round_down(crest - change).max(required);
        let done = (next - crest).abs() < CREST_STEP / 2.0;
        tried = Some(raised);
        if done {
            break;
        }
        crest = next;
    }
    tried.map_or_else(|| raise(&CrestLine::level(required)), Ok)
}

/// Bank earth that a raised berm takes beyond what the dig gives, and the area of its seat.
pub(super) fn short_on(dug: &Tin, raised: &impl Heaped, earth: Earth, bank_dug: f64) -> (f64, f64) {
    let (tin, key) = raised.heaped();
    let volumes = cut_and_fill(dug, tin, None);
    let refill = earth.topsoil.in_metres() * volumes.fill_area;
    let short = (volumes.fill + refill + key) / earth.placed_per_bank - bank_dug - key;
    (short, volumes.fill_area)
}

pub(super) fn round_down(height: f64) -> f64 {
    (height / CREST_STEP + 1e-9).floor() * CREST_STEP
}

/// The next whole step up.
pub(super) fn round_up(height: f64) -> f64 {
    (height / CREST_STEP - 1e-9).ceil() * CREST_STEP
}

/// How near a berm's fill must come to what the ditch gives when its batter is solved, as a share of it.
const NEAR: f64 = 1e-3;
/// The flattest batter that is tried; common practice, no source: beyond it the fill is spread, not built.
const FLATTEST: f64 = 10.0;
/// A batter this share of the flattest that meets the ground at all is the flattest that is tried.
const SHORT_OF_GROUND: f64 = 0.8;

/// What a swale takes of what it digs, as a share.
fn share_taken((before, topsoil): (&Tin, &Topsoil<'_>), after: &Tin, wanted: &SwaleWanted, key: f64) -> f64 {
    let whole = cut_and_fill(before, after, None);
    let stripped = topsoil.stripped(after, &whole);
    (whole.fill + stripped.seat + key) / wanted.soil.placed_per_bank / (stripped.under + key)
}

/// How a batter came out that was solved to balance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum BatterFound {
    /// The fill takes the cut.
    Balanced,
    /// The flattest that is tried takes this share of the cut.
    Flattest(f64),
    /// The steepest that is tried takes this share of the cut, more than there is.
    Steepest(f64),
}

/// Finds the batter at which a berm of a given crest takes what the ditch gives; `guess` is tried first. Where none does the
/// steepest or the flattest stands.
pub(super) fn batter(
    (natural, before): (&Tin, &Tin),
    wanted: &SwaleWanted,
    guess: Batter,
    design: &mut dyn FnMut(Batter) -> Result<(Swale, Tin), WorksError>,
) -> Result<((Swale, Tin), BatterFound), WorksError> {
    let topsoil = Topsoil::new(natural, before, wanted.topsoil);
    let mut trial = |batter: f64| {
        let made = design(Batter::horizontal_per_vertical(batter))?;
        let share = share_taken((before, &topsoil), &made.1, wanted, made.0.key.in_cubic_metres());
        Ok::<_, WorksError>((made, share))
    };
    let guess = guess.in_horizontal_per_vertical();
    let (first, share) = trial(guess)?;
    if (share - 1.0).abs() <= NEAR {
        return Ok((first, BatterFound::Balanced));
    }
    let fall = first.0.section.cross_fall.in_ratio().max(first.0.steepest.0.in_ratio());
    let flattest = if fall > 0.0 { FLATTEST.min(SHORT_OF_GROUND / fall) } else { FLATTEST }.max(LEAST_BATTER);
    let sought = Sought { wanted: 1.0, near: NEAR, guess, range: (LEAST_BATTER, flattest) };
    Ok(match find(sought, &mut trial)? {
        Found::Design(made) => (made, BatterFound::Balanced),
        Found::Nothing { gave, .. } if gave < 1.0 => (trial(flattest)?.0, BatterFound::Flattest(gave)),
        Found::Nothing { gave, .. } => (trial(LEAST_BATTER)?.0, BatterFound::Steepest(gave)),
    })
}

/// Stations at which a section that changes is looked at for the first guess.
const LOOKED_AT: u32 = 40;

/// Crest above the water level at which the sections' fill takes the sections' cut, along a line so long: the first guess.
pub(super) fn section_balance(along: Along<'_>, length: f64) -> f64 {
    let wanted = along.wanted;
    let topsoil = wanted.topsoil.in_metres();
    let count = if wanted.changes.is_empty() { 1 } else { LOOKED_AT };
    let stations: Vec<f64> = (0..count).map(|k| length * (f64::from(k) + 0.5) / f64::from(count)).collect();
    let gives = |station: f64| {
        let channel = along.channel(station);
        let outline = section::outline(wanted.ditch(), &along.sizes(station), &channel, along.fall);
        (area_of_ring(&outline).abs() - topsoil * (channel.top - channel.lip)).max(0.0) * wanted.soil.placed_per_bank
    };
    let give: f64 = stations.iter().map(|&station| gives(station)).sum();
    let takes = |crest: f64| -> f64 {
        let berms = stations.iter().map(|&station| along.berm(station, crest));
        berms.map(|berm| berm.area + topsoil * berm.seat).sum()
    };
    let (mut low, mut high) = (0.0, 6.0);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if takes(middle) > give { high = middle } else { low = middle }
    }
    low
}

//! Quantities by exact overlay of the surface before a work and the surface after it.
//!
//! Topsoil of depth t comes off everything that is cut or filled, exact also where the dig is shallower than the topsoil; under
//! the fill the stripped seat is t deep everywhere and is refilled. Where an earlier work dug or filled there is none left.

use super::quantities::{Quantities, QuantityRow};
use super::sections::{differ_note, three_ways};
use super::soil_met;
use super::storage::storage;
use crate::ground::Ground;
use crate::notes::{Note, Noted};
use crate::soil::{BankVolume, PlacedVolume, Soil};
use crate::surface::{CutFill, Tin, cut_and_fill};
use crate::units::{Area, Length, Volume};
use crate::works::{Kind, SitePlan, Stripped, Topsoil, dam};

/// What every work of a plan moves, in the order applied, and all of them together.
#[must_use]
pub fn quantities(ground: &Ground, plan: &SitePlan) -> Noted<Quantities> {
    let mut notes = Vec::new();
    let befores = std::iter::once(&ground.tin).chain(&plan.surfaces);
    let mut works = Vec::new();
    let mut ways = Vec::new();
    let mut soils = Vec::new();
    for ((work, before), after) in plan.works.iter().zip(befores).zip(&plan.surfaces) {
        let shared = work.shared();
        let overlay = Overlay::of(&ground.tin, before, after, shared.topsoil);
        let row = overlay.row(shared.name, shared.soil, shared.key);
        notes.extend(overlay.left_out_note(shared.name));
        notes.extend(balance_note(plan, shared.kind, &row));
        if let Some(found) = three_ways(work, before, after, &overlay.whole) {
            notes.extend(differ_note(&found));
            ways.push(found);
        }
        if let Some(found) = plan.soil_of(shared.name).and_then(|proof| soil_met::change(shared, proof, &row)) {
            notes.push(soil_met::note(&found));
            soils.push(found);
        }
        works.push(row);
    }
    let all = all_works(ground, plan, &works);
    // Water stands behind walls as they have settled.
    let storage = dam::settled(ground, plan).map_or_else(Vec::new, |surface| storage(plan, &surface));
    Noted { value: Quantities { works, all, three_ways: ways, storage, soils }, notes }
}

/// What a work moves, and what of it is topsoil.
struct Overlay {
    whole: CutFill,
    stripped: Stripped,
}

impl Overlay {
    fn of(natural: &Tin, before: &Tin, after: &Tin, topsoil: Length) -> Self {
        let whole = cut_and_fill(before, after, None);
        Self { whole, stripped: Topsoil::new(natural, before, topsoil).stripped(after, &whole) }
    }

    /// `key` is dug under the seat and filled again, and so no part of either surface.
    fn row(&self, works: &str, soil: &Soil, key: Volume) -> QuantityRow {
        let seat = self.stripped.seat;
        let topsoil = BankVolume::cubic_metres(self.stripped.dug + seat);
        let cut_bank = BankVolume::cubic_metres(self.stripped.under);
        let fill_placed = PlacedVolume::cubic_metres(self.whole.fill);
        let seat_refill_placed = PlacedVolume::cubic_metres(seat + key.in_cubic_metres());
        let fill_bank = soil.bank_for(fill_placed + seat_refill_placed);
        let key_bank = BankVolume::cubic_metres(key.in_cubic_metres());
        QuantityRow {
            works: works.to_owned(),
            topsoil_bank: topsoil,
            cut_bank,
            key_bank,
            fill_placed,
            fill_bank,
            seat_refill_placed,
            surplus_bank: cut_bank + key_bank - fill_bank,
            to_move_loose: soil.loosen(topsoil + cut_bank + key_bank),
            cut_area: Area::square_metres(self.whole.cut_area),
            fill_area: Area::square_metres(self.whole.fill_area),
        }
    }

    fn left_out_note(&self, works: &str) -> Option<Note> {
        // Where only one surface exists nothing is counted; a composed surface has the ground's own rim.
        (self.whole.area_left_out > 1e-3).then(|| {
            let text = format!(
                "{:.2} m2 of `{works}` lie where only one of the two surfaces exists: nothing is counted there",
                self.whole.area_left_out
            );
            Note::new("earth::left-out", text)
        })
    }
}

/// A shortage, or more earth left over than a twentieth of the dig: less is spread without a thought. A pit dug for the
/// fill of a wall settles both.
fn balance_note(plan: &SitePlan, kind: Kind, row: &QuantityRow) -> Option<Note> {
    let surplus = row.surplus_bank.in_cubic_metres();
    let cut = row.cut_bank.in_cubic_metres();
    let works = &row.works;
    let settled = plan.fill_from(works).is_some() || plan.yields_for(works).is_some();
    if surplus > (cut / 20.0).max(2.0) && !settled {
        let text = match kind {
            Kind::Swale => format!(
                "`{works}` leaves {surplus:.1} m3 (bank) of {cut:.1} m3 over: it wants a place before the dig (a higher or wider berm, the \
                 downhill toe in thin layers, a crossing), never the ditch, the sill or the outlet; or dig less"
            ),
            Kind::Drain => format!(
                "`{works}` leaves {surplus:.1} m3 (bank) of {cut:.1} m3 over: it wants a place before the dig (a berm on the downhill side, \
                 a road, a pad), never the drain or where its water leaves"
            ),
            Kind::Pond | Kind::Borrow | Kind::Dam => format!(
                "`{works}` gives {surplus:.1} m3 (bank): it wants a place before the dig (a wall, a road, a pad), never the gully or \
                 where water leaves"
            ),
        };
        return Some(Note::new("earth::left-over", text));
    }
    (surplus < -0.5 && !settled).then(|| {
        let text = match kind {
            Kind::Swale | Kind::Drain => format!(
                "`{works}` is short of {:.1} m3 (bank) of fill: what the ditch gives does not make the berm; deepen or widen the \
                 ditch, lower the berm, or borrow",
                -surplus
            ),
            Kind::Pond | Kind::Borrow | Kind::Dam => format!(
                "`{works}` takes {:.1} m3 (bank) of fill from elsewhere: a [[borrow]] or [[pond]] after it with \
                 `depth = {{ to-yield = {{ fill-of = \"{works}\" }} }}` yields just that",
                -surplus
            ),
        };
        Note::new("earth::short", text)
    })
}

/// Ground against the final surface. Depth of topsoil and soil factors may differ from work to work: topsoil of the cut
/// is then the sum of the works', and fill turns to bank with the works' mean factor, weighted by volume.
fn all_works(ground: &Ground, plan: &SitePlan, works: &[QuantityRow]) -> QuantityRow {
    let last = plan.surfaces.last().unwrap_or(&ground.tin);
    let mut depths = plan.shared().map(|work| work.topsoil);
    let first = depths.next().unwrap_or(Length::ZERO);
    let soil = mean_soil(plan, works);
    let key = plan.shared().map(|work| work.key).sum();
    if depths.all(|depth| depth == first) {
        return Overlay::of(&ground.tin, &ground.tin, last, first).row("all", &soil, key);
    }
    let mut row = Overlay::of(&ground.tin, &ground.tin, last, Length::ZERO).row("all", &soil, key);
    let topsoil: BankVolume = works.iter().map(|work| work.topsoil_bank).sum();
    let refill: PlacedVolume = works.iter().map(|work| work.seat_refill_placed).sum();
    // The seats' own share of the topsoil was not part of the dig.
    let dug = topsoil - BankVolume::cubic_metres((refill.in_cubic_metres() - key.in_cubic_metres()).max(0.0));
    row.topsoil_bank = topsoil;
    row.cut_bank = row.cut_bank - dug;
    row.seat_refill_placed = refill;
    row.fill_bank = soil.bank_for(row.fill_placed + refill);
    row.surplus_bank = row.cut_bank + row.key_bank - row.fill_bank;
    row.to_move_loose = soil.loosen(row.topsoil_bank + row.cut_bank + row.key_bank);
    row
}

fn mean_soil(plan: &SitePlan, works: &[QuantityRow]) -> Soil {
    let fallback = || Soil { name: "none".to_owned(), loose_per_bank: 1.0, placed_per_bank: 1.0 };
    let first = plan.shared().next().map_or_else(fallback, |work| work.soil.clone());
    if plan.shared().all(|work| *work.soil == first) {
        return first;
    }
    let sum = |volume: &dyn Fn(&QuantityRow) -> f64| works.iter().map(volume).sum::<f64>();
    let placed = sum(&|row| (row.fill_placed + row.seat_refill_placed).in_cubic_metres());
    let bank = sum(&|row| row.fill_bank.in_cubic_metres());
    let loose = sum(&|row| row.to_move_loose.in_cubic_metres());
    let dug = sum(&|row| (row.topsoil_bank + row.cut_bank + row.key_bank).in_cubic_metres());
    let ratio = |over: f64, under: f64, otherwise: f64| if under > 0.0 { over / under } else { otherwise };
    Soil {
        name: "mean of the works".to_owned(),
        loose_per_bank: ratio(loose, dug, first.loose_per_bank),
        placed_per_bank: ratio(placed, bank, first.placed_per_bank),
    }
}

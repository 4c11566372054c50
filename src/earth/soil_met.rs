//! What the earth of a work would come to with the ground that test pits met.
//!
//! Where a pit met another soil than the one taken its layers count with their own factors; the rest of the dig stays as taken.

use super::quantities::{QuantityRow, SoilChange};
use crate::notes::Note;
use crate::works::{Shared, SoilProof};

/// Less than this of a dig under rock is not told, cubic metres.
const LEAST_ROCK: f64 = 0.05;

/// What a work's dig comes to, taken and met; nothing where the pits met nothing else.
pub(super) fn change(work: Shared<'_>, proof: &SoilProof, row: &QuantityRow) -> Option<SoilChange> {
    let dug = row.cut_bank + row.key_bank;
    let rock = crate::soil::BankVolume::cubic_metres(dug.in_cubic_metres() * proof.rock);
    let met = proof.mix.as_ref();
    if met.is_none() && rock.in_cubic_metres() < LEAST_ROCK {
        return None;
    }
    let met = met.unwrap_or(work.soil);
    Some(SoilChange {
        works: work.name.to_owned(),
        dug_bank: dug,
        loose: work.soil.loosen(dug),
        loose_as_met: met.loosen(dug),
        placed: work.soil.place(dug),
        placed_as_met: met.place(dug),
        rock_bank: rock,
    })
}

/// The change in words.
pub(super) fn note(change: &SoilChange) -> Note {
    let mut says = Vec::new();
    let (loose, met) = (change.loose.in_cubic_metres(), change.loose_as_met.in_cubic_metres());
    let (placed, makes) = (change.placed.in_cubic_metres(), change.placed_as_met.in_cubic_metres());
    if loose != met || placed != makes {
        says.push(format!(
            "its dig of {:.1} m3 (bank) swells to {met:.1} m3 loose and not {loose:.1}, and makes {makes:.1} m3 placed and not {placed:.1}",
            change.dug_bank.in_cubic_metres()
        ));
    }
    let rock = change.rock_bank.in_cubic_metres();
    if rock >= LEAST_ROCK {
        says.push(format!("about {rock:.1} m3 (bank) of it lie under the rock that was met"));
    }
    let text = format!("`{}`: if the ground is as the test pits met it around them, {}", change.works, says.join("; "));
    Note::new("earth::soil-not-as-taken", text)
}

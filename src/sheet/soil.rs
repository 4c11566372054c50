//! The ground under the works, as taken and as test pits met it, in the crew's words.
//!
//! Invariant: what no pit speaks for is unproven until dug, and no number of pits makes a wall's ground anything but an engineer's.

use super::html::Html;
use super::input::DigSheetInput;
use crate::draw::capital;
use crate::units::{Length, Station};
use crate::works::{Kind, Layer, Odds, PartProof, PitToDig, PitWord, Shared, SoilStanding, TestPit};
use std::fmt::Write as _;

/// Test pits to dig that the sheet names; a work has a handful.
const SHOWN: usize = 12;

/// Said where a work's ground is met otherwise than it is taken; it stands with the work.
pub(super) fn warning(input: &DigSheetInput, name: &str) -> Option<String> {
    let (work, proof) = input.plan.named(name).zip(input.plan.soil_of(name))?;
    (proof.standing() == SoilStanding::Contradicted).then(|| {
        let met: Vec<String> =
            proof.pits.iter().filter(|word| !word.odds.is_empty()).map(|word| otherwise(input, word)).collect();
        let stop = if proof.disperses() {
            "STOP: soil that disperses in water is carried out of a bank from within. Not dug, not placed, before an engineer has said how."
        } else {
            "Ask before digging."
        };
        format!("SOIL NOT AS TAKEN: it is drawn as {}. {}. {stop}", work.soil.name, met.join(". "))
    })
}

/// How well the soil of a work is known, after what it is taken as.
pub(super) fn standing(input: &DigSheetInput, work: Shared<'_>) -> String {
    let unproven = || "UNPROVEN UNTIL DUG.".to_owned();
    let Some(proof) = input.plan.soil_of(work.name) else { return unproven() };
    let names = proof.pits.iter().map(|word| word.pit.as_str()).collect::<Vec<_>>().join(", ");
    let says = match proof.standing() {
        SoilStanding::Unproven if proof.pits.is_empty() => return unproven(),
        SoilStanding::Unproven => {
            let shallow: Vec<String> = proof.pits.iter().map(|word| not_deep(input, word)).collect();
            format!("UNPROVEN UNTIL DUG: {}.", shallow.join("; "))
        }
        SoilStanding::PartlyProven => {
            let parts = proof.parts.iter().map(|part| share(input, part));
            let shallow = proof.pits.iter().filter(|word| word.too_shallow()).map(|word| not_deep(input, word));
            let says: Vec<String> = parts.chain(shallow).collect();
            format!("PARTLY PROVEN by test pits {names}: {}. The rest UNPROVEN UNTIL DUG.", says.join("; "))
        }
        SoilStanding::Proven => format!("As taken in test pits {names}, each as deep as the dig."),
        SoilStanding::Contradicted => {
            let soil = input.quantities.soils.iter().find(|change| change.works == work.name);
            let met: Vec<String> =
                proof.pits.iter().filter(|word| !word.odds.is_empty()).map(|word| otherwise(input, word)).collect();
            let change = soil.map_or_else(String::new, |change| {
                let figures = input.figures;
                let rock = change.rock_bank.in_cubic_metres();
                let rock = if rock > 0.0 {
                    format!(" About {} in place lie under the rock.", figures.earth(rock))
                } else {
                    String::new()
                };
                let earth = |volume: f64| figures.earth(volume);
                let (loose, met) = (earth(change.loose.in_cubic_metres()), earth(change.loose_as_met.in_cubic_metres()));
                let (placed, makes) =
                    (earth(change.placed.in_cubic_metres()), earth(change.placed_as_met.in_cubic_metres()));
                // Rock alone changes no volume.
                if (&loose, &placed) == (&met, &makes) {
                    rock
                } else {
                    format!(" If it is so around the pits, the dig makes {met} loose and not {loose}, {makes} placed and not {placed}.{rock}")
                }
            });
            format!("NOT AS TAKEN: {}.{change}", met.join("; "))
        }
    };
    match work.kind {
        Kind::Dam => format!("{says} An engineer who may judges whether it carries a wall and holds water."),
        Kind::Swale | Kind::Pond | Kind::Borrow | Kind::Drain => says,
    }
}

fn share(input: &DigSheetInput, part: &PartProof) -> String {
    let percent = (100.0 * part.share()).floor();
    let station = |station: Station| input.figures.station(station.in_metres());
    let open: Vec<String> =
        part.open.iter().map(|&(from, to)| format!("{} to {}", station(from), station(to))).collect();
    match (open.as_slice(), part.furthest) {
        ([], None) => format!("{} all of it", part.part),
        ([], Some((place, _))) => {
            let (easting, northing) = input.ground.frame.to_frame(place);
            format!("{} over {percent:.0} % of its area, not at E {easting:.1} N {northing:.1}", part.part)
        }
        _ => format!("{} over {percent:.0} %, not from {} {}", part.part, input.words().station, open.join(", ")),
    }
}

fn not_deep(input: &DigSheetInput, word: &PitWord) -> String {
    let length = |length: Length| input.figures.length(length);
    format!(
        "test pit {}, {} away, was dug {} and the {} goes {} deep there",
        word.pit,
        length(word.away),
        length(word.dug),
        word.part,
        length(word.cut)
    )
}

fn otherwise(input: &DigSheetInput, word: &PitWord) -> String {
    let length = |length: Length| input.figures.length(length);
    let met: Vec<String> = word
        .odds
        .iter()
        .map(|odds| match odds {
            Odds::Soil { met, from, to } => format!("{met} from {} to {}", length(*from), length(*to)),
            Odds::Disperses { met, crumb, from, to } => {
                format!("{met} {} from {} to {}", crumb.words(), length(*from), length(*to))
            }
            Odds::Rock(at) => format!("rock at {}", length(*at)),
            Odds::Water(at) => format!("water at {}", length(*at)),
        })
        .collect();
    format!(
        "Test pit {} met {} where the {} goes {} deep ({} {})",
        word.pit,
        met.join(", "),
        word.part,
        length(word.cut),
        input.words().station,
        input.figures.station(word.station.in_metres())
    )
}

/// What was met in each test pit.
pub(super) fn pits(html: &mut Html, input: &DigSheetInput) {
    let length = |length: Length| input.figures.length(length);
    let one = |pit: &TestPit| {
        let (easting, northing) = input.ground.frame.to_frame(pit.place);
        let layer = |layer: &Layer| {
            let ribbon = layer.ribbon.map(|ribbon| format!("ribbon {:.0} mm", 1000.0 * ribbon.in_metres()));
            let crumb = layer.crumb.map(|crumb| format!("crumb {}", crumb.name()));
            let tried: Vec<String> = ribbon.into_iter().chain(crumb).collect();
            let tried = if tried.is_empty() { String::new() } else { format!(" ({})", tried.join(", ")) };
            format!("{}{tried} to {}", layer.met.name(), length(layer.to))
        };
        let layers: Vec<String> = pit.layers.iter().map(layer).collect();
        let mut says = format!("Test pit {}: E {easting:.1} N {northing:.1}, {}", pit.name, layers.join(", "));
        says += &pit.rock.map_or_else(String::new, |rock| format!(", stopped by rock at {}", length(rock)));
        says += &pit.water.map_or_else(String::new, |water| format!(", water stood at {}", length(water)));
        says += &pit.date.as_ref().map_or_else(String::new, |date| format!(" ({date})"));
        says + "."
    };
    let says: Vec<String> = input.plan.test_pits.iter().map(one).collect();
    if !says.is_empty() {
        html.list(false, &says);
    }
    to_dig(html, input);
}

/// Test pits that are still wanted, the first few; the table of the run has them all.
fn to_dig(html: &mut Html, input: &DigSheetInput) {
    let wanted = &input.plan.pits_to_dig;
    if wanted.is_empty() {
        return;
    }
    let one = |pit: &PitToDig| {
        let (easting, northing) = input.ground.frame.to_frame(pit.place);
        format!(
            "Test pit {} to dig: {} of {}, {} {}, E {easting:.1} N {northing:.1}, {} deep{}.",
            pit.name,
            pit.part,
            pit.works,
            input.words().station,
            input.figures.station(pit.station.in_metres()),
            input.figures.length(pit.depth),
            if pit.put_back { "; filled again in thin rolled layers" } else { "" }
        )
    };
    let mut says: Vec<String> = wanted.iter().take(SHOWN).map(one).collect();
    if wanted.len() > SHOWN {
        says.push(format!("{} more in works/where-to-dig.csv.", wanted.len() - SHOWN));
    }
    says.push(
        "Write down of each layer: depth, soil, sand, rock, water; how long a ribbon its moist soil makes; whether a crumb clouds a cup of still rain water.".to_owned(),
    );
    html.list(false, &says);
}

/// What the sheet promises of the ground.
pub(super) fn promise(input: &DigSheetInput) -> String {
    if input.plan.test_pits.is_empty() {
        return "Soil: depth, clay, rock and water in the ground are unproven until dug.".to_owned();
    }
    let reach = input.plan.soils.first().map_or(Length::ZERO, |proof| proof.reach);
    format!(
        "Soil: each test pit tells of its own hole on its own day, and is taken to speak for {} around it. What lies between, and how water stands in another season, is unproven until dug.",
        super::levels::about(input, reach)
    )
}

/// How test pits are left, those that a fill or a floor comes over by name.
pub(super) fn left_open(input: &DigSheetInput) -> String {
    let mut says = "Test pits: cover or fill them the same day; under the berm in thin rolled layers.".to_owned();
    for work in &input.plan.works {
        let shared = work.shared();
        let under = |pit: &&TestPit| match work {
            crate::works::Work::Pit(dug) => {
                shared.kind == Kind::Pond && dug.floor.contains(pit.place) && pit.depth > dug.depth
            }
            crate::works::Work::Swale(_) | crate::works::Work::Dam(_) | crate::works::Work::Drain(_) => {
                shared.fill_footprint.iter().any(|area| area.contains(pit.place))
            }
        };
        let names: Vec<&str> = input.plan.test_pits.iter().filter(under).map(|pit| pit.name.as_str()).collect();
        if !names.is_empty() {
            let what = match shared.kind {
                Kind::Swale | Kind::Drain => "berm",
                Kind::Dam => "wall",
                Kind::Pond | Kind::Borrow => "floor",
            };
            let _ = write!(
                says,
                " {} {} under the {what} of {}: dug out to firm ground and filled in thin rolled layers before it.",
                capital(&names.join(", ")),
                if names.len() == 1 { "lies" } else { "lie" },
                shared.name
            );
        }
    }
    says
}

//! What is to be told of the soil under the works: notes, and the words that no output may leave out.

use super::pit::Odds;
use super::samples::Extent;
use super::standing::{PartProof, PitWord, SoilProof, SoilStanding};
use crate::ground::Ground;
use crate::notes::{Note, Place};
use crate::works::SitePlan;
use crate::works::work::{Kind, Shared};

/// What soil that disperses means. Common practice, no source.
const DISPERSES: &str = "DISPERSIVE SOIL is a stop: water carries it out of a bank from within. Have it tested and ask an engineer before any is dug or placed";

/// Notes on the soil under every work, and on pits that speak for none.
pub(super) fn notes(plan: &SitePlan, ground: &Ground) -> Vec<Note> {
    if plan.test_pits.is_empty() {
        let taken: Vec<String> = plan.shared().map(|work| format!("`{}` as {}", work.name, work.soil.name)).collect();
        let text = format!(
            "the soil is taken without proof, {}: unproven until dug. works/where-to-dig.csv says where {} would prove it, and how deep; write what {} met as [[test-pit]]",
            taken.join(", "),
            counted(plan.pits_to_dig.len()),
            if plan.pits_to_dig.len() == 1 { "it" } else { "they" }
        );
        return if taken.is_empty() { Vec::new() } else { vec![Note::new("works::soil-unproven", text)] };
    }
    let mut notes = Vec::new();
    for (work, proof) in plan.shared().zip(&plan.soils) {
        notes.push(of_work(work, proof, ground));
    }
    if !plan.pits_to_dig.is_empty() {
        let text = format!(
            "{} more would show the ground under the works that none speaks for: works/where-to-dig.csv says where and how deep",
            counted(plan.pits_to_dig.len())
        );
        notes.push(Note::good("works::where-to-dig", text));
    }
    for pit in &plan.test_pits {
        if plan.soils.iter().all(|proof| proof.pits.iter().all(|word| word.pit != pit.name)) {
            let reach = plan.soils.first().map_or(0.0, |proof| proof.reach.in_metres());
            let (easting, northing) = ground.frame.to_frame(pit.place);
            let off = if ground.elevation(pit.place).is_none() {
                ", and it lies off the survey; look whether its coordinates are right"
            } else {
                ""
            };
            let text = format!(
                "test pit `{}` lies further than {reach:.1} m from everything that is dug: it speaks for no work{off}",
                pit.name
            );
            notes.push(Note::new("works::test-pit-apart", text).at(Place::Ground { easting, northing }));
        }
    }
    notes
}

/// `1 test pit`, `2 test pits`.
fn counted(pits: usize) -> String {
    if pits == 1 { "1 test pit".to_owned() } else { format!("{pits} test pits") }
}

fn of_work(work: Shared<'_>, proof: &SoilProof, ground: &Ground) -> Note {
    let soil = &work.soil.name;
    let subject = format!("{} `{}`", work.kind.name(), work.name);
    let judges = match work.kind {
        Kind::Dam => "; whether it carries a wall and holds water is for a licensed engineer to judge",
        Kind::Swale | Kind::Pond | Kind::Borrow | Kind::Drain => "",
    };
    let pits: Vec<&str> = proof.pits.iter().map(|word| word.pit.as_str()).collect();
    match proof.standing() {
        SoilStanding::Proven => Note::good(
            "works::soil-proven",
            format!(
                "{subject}: soil proven as {soil}, by test pits {} as deep as the works go and within {:.1} m of all that is dug{judges}",
                pits.join(", "),
                proof.reach.in_metres()
            ),
        ),
        SoilStanding::PartlyProven => {
            let shallow = proof.pits.iter().filter(|word| word.too_shallow()).map(not_deep);
            let says: Vec<String> = proof.parts.iter().map(|part| share(part, ground)).chain(shallow).collect();
            Note::new(
                "works::soil-partly-proven",
                format!("{subject}: soil partly proven as {soil}: {}{judges}", says.join("; ")),
            )
        }
        SoilStanding::Unproven => {
            let why: Vec<String> = proof.pits.iter().map(not_deep).collect();
            let why = if why.is_empty() {
                format!("no test pit lies within {:.1} m of what is dug", proof.reach.in_metres())
            } else {
                why.join("; ")
            };
            Note::new("works::soil-unproven", format!("{subject}: soil taken as {soil}, unproven: {why}{judges}"))
        }
        SoilStanding::Contradicted => {
            let mut says: Vec<String> = proof.pits.iter().filter(|word| !word.odds.is_empty()).map(otherwise).collect();
            let proven = proof.parts.iter().filter(|part| part.proven > 0.0);
            says.extend(proven.map(|part| format!("as taken in the {}", share(part, ground))));
            let stop = if proof.disperses() { format!("; {DISPERSES}") } else { String::new() };
            let note = Note::new(
                "works::soil-not-as-taken",
                format!("{subject}: soil NOT AS TAKEN, which is {soil}: {}{stop}{judges}", says.join("; ")),
            );
            let worst = proof.pits.iter().find(|word| !word.odds.is_empty());
            match worst {
                Some(word) => {
                    let (easting, northing) = ground.frame.to_frame(word.place);
                    note.at(Place::Ground { easting, northing })
                }
                None => note,
            }
        }
    }
}

/// Over what of a part it is proven, and where not.
fn share(part: &PartProof, ground: &Ground) -> String {
    // Never more than is proven.
    let percent = (100.0 * part.share()).floor();
    let (of, unit) = match part.by {
        Extent::Length => ("length", "m"),
        Extent::Area => ("area", "m2"),
    };
    let open = match (part.open.as_slice(), part.furthest) {
        _ if part.share() >= 1.0 - 1e-9 => String::new(),
        ([], Some((place, away))) => {
            let (easting, northing) = ground.frame.to_frame(place);
            let away =
                away.map_or_else(String::new, |away| format!(", {:.0} m from the nearest pit", away.in_metres()));
            format!(", not at E {easting:.1} N {northing:.1}{away}")
        }
        (open, _) => {
            let open: Vec<String> =
                open.iter().map(|(from, to)| format!("{:.0}-{:.0}", from.in_metres(), to.in_metres())).collect();
            format!(", not at stations {} m", open.join(", "))
        }
    };
    format!("{} over {percent:.0} % of its {of} ({:.0} of {:.0} {unit}){open}", part.part, part.proven, part.whole)
}

fn not_deep(word: &PitWord) -> String {
    format!(
        "test pit `{}`, {:.1} m away, was dug {:.2} m deep and the {} goes {:.2} m deep there",
        word.pit,
        word.away.in_metres(),
        word.dug.in_metres(),
        word.part,
        word.cut.in_metres()
    )
}

/// What a pit met, with its numbers.
fn otherwise(word: &PitWord) -> String {
    let met: Vec<String> = word
        .odds
        .iter()
        .map(|odds| match odds {
            Odds::Soil { met, from, to } => format!("{met} from {:.2} to {:.2} m", from.in_metres(), to.in_metres()),
            Odds::Disperses { met, crumb, from, to } => {
                format!("{met} {} from {:.2} to {:.2} m", crumb.words(), from.in_metres(), to.in_metres())
            }
            Odds::Rock(at) => format!("rock at {:.2} m", at.in_metres()),
            Odds::Water(at) => format!("water at {:.2} m", at.in_metres()),
        })
        .collect();
    format!(
        "test pit `{}`, {:.1} m away, met {} where the {} goes {:.2} m deep (station {:.1} m)",
        word.pit,
        word.away.in_metres(),
        met.join(", "),
        word.part,
        word.cut.in_metres(),
        word.station.in_metres()
    )
}

impl SoilProof {
    /// What no output of its work that has words may leave out.
    #[must_use]
    pub fn caution(&self, kind: Kind) -> String {
        let pits = |odds: bool| {
            let named = self.pits.iter().filter(|word| !odds || !word.odds.is_empty()).map(|word| word.pit.as_str());
            named.collect::<Vec<_>>().join(", ")
        };
        let says = match self.standing() {
            SoilStanding::Unproven => "soil UNPROVEN until dug".to_owned(),
            SoilStanding::PartlyProven => {
                let parts: Vec<String> = self
                    .parts
                    .iter()
                    .map(|part| format!("{} {:.0} %", part.part, (100.0 * part.share()).floor()))
                    .collect();
                format!("soil PARTLY PROVEN by test pits ({})", parts.join(", "))
            }
            SoilStanding::Proven => format!("soil as taken in test pits {}", pits(false)),
            SoilStanding::Contradicted if self.disperses() => {
                format!("SOIL NOT AS TAKEN in test pits {}: {DISPERSES}", pits(true))
            }
            SoilStanding::Contradicted => format!("SOIL NOT AS TAKEN in test pits {}", pits(true)),
        };
        match kind {
            Kind::Dam => format!("{says}, for a licensed engineer to judge"),
            Kind::Swale | Kind::Pond | Kind::Borrow | Kind::Drain => says,
        }
    }
}

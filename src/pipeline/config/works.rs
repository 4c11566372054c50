//! The works of a file together: each has a name of its own, and each spillway its work.

use super::dam::DamAsked;
use super::fault::{Fault, Gathered, Located};
use super::pit::PitAsked;
use super::spillway::{PlaceAsked, SpillwayAsked};
use super::swale::SwaleAsked;
use crate::works::pit::Purpose;

/// Every work of a site has a name of its own, whatever its kind.
pub(super) fn check_names(swales: &[SwaleAsked], pits: &[PitAsked], dams: &[DamAsked], faults: &Gathered) {
    let mut names: Vec<&Located<String>> = swales.iter().map(|swale| &swale.name).collect();
    for name in pits.iter().map(|pit| &pit.name).chain(dams.iter().map(|dam| &dam.name)) {
        if let Some(first) = names.iter().find(|other| other.value == name.value) {
            faults.add(
                Fault::new(
                    "pipeline::name-twice",
                    name.span.clone().unwrap_or_default(),
                    format!("two works are named `{}`", name.value),
                )
                .beside(first.span.clone().unwrap_or_default(), "the other one")
                .help("give each work its own name"),
            );
        }
        names.push(name);
    }
}

/// Puts every spillway to its swale, dam or pond; names that are used twice or not at all are faults. When a work was faulty
/// itself, a name that is missing is not told: it would only repeat that fault.
pub(super) fn join(
    swales: &mut [SwaleAsked],
    dams: &mut [DamAsked],
    pits: &mut [PitAsked],
    spillways: Vec<SpillwayAsked>,
    works_are_sound: bool,
    faults: &Gathered,
) {
    for (index, swale) in swales.iter().enumerate() {
        if let Some(first) = swales[..index].iter().find(|other| other.name.value == swale.name.value) {
            faults.add(
                Fault::new(
                    "pipeline::name-twice",
                    swale.name.span.clone().unwrap_or_default(),
                    format!("two swales are named `{}`", swale.name.value),
                )
                .beside(first.name.span.clone().unwrap_or_default(), "the first one")
                .help("give each swale its own name"),
            );
        }
    }
    for spillway in spillways {
        let of = spillway.of.clone();
        let span = || of.span.clone().unwrap_or_default();
        let at_rim = spillway.at.value == PlaceAsked::LowRim;
        let place_of = |spillway: &SpillwayAsked| spillway.at.span.clone().unwrap_or_default();
        if let Some(swale) = swales.iter_mut().find(|swale| swale.name.value == of.value) {
            if at_rim {
                faults.add(
                    Fault::new(
                        "pipeline::no-rim",
                        place_of(&spillway),
                        format!("`{}` is a swale, and has no rim", of.value),
                    )
                    .help("say one of its ends, a station of its line, or a place"),
                );
            }
            swale.spillways.push(spillway);
        } else if let Some(dam) = dams.iter_mut().find(|dam| dam.name.value == of.value) {
            if at_rim {
                faults.add(
                    Fault::new(
                        "pipeline::no-rim",
                        place_of(&spillway),
                        format!("`{}` is a dam, and has no rim", of.value),
                    )
                    .help("say one of its ends, or a place on natural ground"),
                );
            }
            one(&mut dam.spillway, spillway, "dam", faults);
        } else if let Some(pit) = pits.iter_mut().find(|pit| pit.name.value == of.value) {
            if pit.purpose == Purpose::Borrow {
                faults.add(
                    Fault::new(
                        "pipeline::no-spillway-here",
                        span(),
                        format!("`{}` is a borrow pit, which is dug for its earth and takes no spillway", of.value),
                    )
                    .help("a [[pond]] takes one; a borrow pit runs over at the lowest place of its rim, which is told"),
                );
            } else if matches!(spillway.at.value, PlaceAsked::First | PlaceAsked::Last) {
                faults.add(
                    Fault::new(
                        "pipeline::no-ends",
                        place_of(&spillway),
                        format!("`{}` is a pond, and has no ends", of.value),
                    )
                    .help("write `at = { rim = \"lowest\" }`, a station of its rim, or a place beside it"),
                );
            } else {
                one(&mut pit.spillway, spillway, "pond", faults);
            }
        } else if works_are_sound {
            let names: Vec<&str> = swales
                .iter()
                .map(|swale| &swale.name)
                .chain(dams.iter().map(|dam| &dam.name))
                .chain(pits.iter().filter(|pit| pit.purpose == Purpose::Pond).map(|pit| &pit.name))
                .map(|name| name.value.as_str())
                .collect();
            faults.add(
                Fault::new("pipeline::unknown-name", span(), format!("no swale, dam or pond is named `{}`", of.value))
                    .help(format!("swales, dams and ponds of this file: {}", names.join(", "))),
            );
        }
    }
    for dam in dams.iter().filter(|dam| dam.flood_rise.is_none()) {
        let says_head = |spillway: &SpillwayAsked| spillway.head.is_some() || spillway.flow.is_some();
        if works_are_sound && !dam.spillway.as_ref().is_some_and(says_head) {
            faults.add(
                Fault::new(
                    "pipeline::no-flood-rise",
                    dam.name.span.clone().unwrap_or_default(),
                    format!("nothing says how far a flood stands over full supply at dam `{}`", dam.name.value),
                )
                .help("write its flood-rise, or the head or the flow of its spillway"),
            );
        }
    }
}

/// Puts the one spillway to a work that takes one at most.
fn one(of_work: &mut Option<SpillwayAsked>, spillway: SpillwayAsked, kind: &str, faults: &Gathered) {
    let of = &spillway.of;
    match of_work {
        None => *of_work = Some(spillway),
        Some(first) => faults.add(
            Fault::new(
                "pipeline::two-spillways",
                of.span.clone().unwrap_or_default(),
                format!("{kind} `{}` has a spillway already", of.value),
            )
            .beside(first.of.span.clone().unwrap_or_default(), "the first one")
            .help(format!("a {kind} has one spillway in this version: make its sill longer")),
        ),
    }
}

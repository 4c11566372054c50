//! The works of a file together: each has a name of its own, and each spillway its work.

use super::dam::DamAsked;
use super::fault::{Fault, Gathered, Located};
use super::pit::PitAsked;
use super::spillway::SpillwayAsked;
use super::swale::SwaleAsked;

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

/// Puts every spillway to its swale or dam; names that are used twice or not at all are faults. When a work was faulty
/// itself, a name that is missing is not told: it would only repeat that fault.
pub(super) fn join(
    swales: &mut [SwaleAsked],
    dams: &mut [DamAsked],
    pits: &[PitAsked],
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
        if let Some(swale) = swales.iter_mut().find(|swale| swale.name.value == of.value) {
            swale.spillways.push(spillway);
        } else if let Some(dam) = dams.iter_mut().find(|dam| dam.name.value == of.value) {
            match &dam.spillway {
                None => dam.spillway = Some(spillway),
                Some(first) => faults.add(
                    Fault::new("pipeline::two-spillways", span(), format!("dam `{}` has a spillway already", of.value))
                        .beside(first.of.span.clone().unwrap_or_default(), "the first one")
                        .help("a dam has one spillway in this version: make its sill longer"),
                ),
            }
        } else if pits.iter().any(|pit| pit.name.value == of.value) {
            faults.add(
                Fault::new("pipeline::no-spillway-here", span(), format!("`{}` is a pit, and a pit takes no spillway in this version", of.value))
                    .help("it runs over at the lowest place of its rim, which is told; let it out by a swale's sill or a dam's"),
            );
        } else if works_are_sound {
            let names: Vec<&str> = swales
                .iter()
                .map(|swale| &swale.name)
                .chain(dams.iter().map(|dam| &dam.name))
                .map(|name| name.value.as_str())
                .collect();
            faults.add(
                Fault::new("pipeline::unknown-name", span(), format!("no swale or dam is named `{}`", of.value))
                    .help(format!("swales and dams of this file: {}", names.join(", "))),
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

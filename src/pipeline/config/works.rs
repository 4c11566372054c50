//! The works of a file together: each has a name of its own, and each spillway its work.

use super::dam::DamAsked;
use super::down_slope::DownSlope;
use super::fall_line::FallLineAsked;
use super::fault::{Fault, Gathered, Located};
use super::pit::{FloorAsked, PitAsked};
use super::spillway::{PlaceAsked, SpillwayAsked};
use super::swale::{SwaleAsked, SwaleLevelAsked};
use crate::works::pit::Purpose;

/// Every work of a site has a name of its own, whatever its kind, and so has every line of constant fall.
pub(super) fn check_names(
    swales: &[SwaleAsked],
    pits: &[PitAsked],
    dams: &[DamAsked],
    fall_lines: &[FallLineAsked],
    faults: &Gathered,
) {
    let mut names: Vec<&Located<String>> = swales.iter().map(|swale| &swale.name).collect();
    let others = pits.iter().map(|pit| &pit.name).chain(dams.iter().map(|dam| &dam.name));
    for name in others.chain(fall_lines.iter().map(|line| &line.name)) {
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

/// Things of one sort, such as `test pits`, have a name each.
pub(super) fn check_own_names<'a>(sort: &str, names: impl Iterator<Item = &'a Located<String>>, faults: &Gathered) {
    let mut known: Vec<&Located<String>> = Vec::new();
    for name in names {
        if let Some(first) = known.iter().find(|other| other.value == name.value) {
            faults.add(
                Fault::new(
                    "pipeline::name-twice",
                    name.span.clone().unwrap_or_default(),
                    format!("two {sort} are named `{}`", name.value),
                )
                .beside(first.span.clone().unwrap_or_default(), "the other one")
                .help("give each its own name"),
            );
        }
        known.push(name);
    }
}

/// Every swale of every set on its own, named in order from the top: a swale like any other, with a level of its own. `set` keeps
/// the name that was written, by which a spillway is given to all of them.
pub(super) fn spread(swales: Vec<SwaleAsked>) -> Vec<SwaleAsked> {
    let mut all = Vec::new();
    for asked in swales {
        let Some(DownSlope { swales, spacing }) = asked.down_slope else {
            all.push(SwaleAsked { set_at: None, ..asked });
            continue;
        };
        let named =
            |number: u32| Located { value: format!("{}-{number}", asked.name.value), span: asked.name.span.clone() };
        let base = SwaleAsked { down_slope: None, set: Some(asked.name.value.clone()), ..asked.clone() };
        let mut upper = SwaleAsked { name: named(1), set_at: None, ..base.clone() };
        for number in 2..=swales {
            let level = SwaleLevelAsked::Below(spacing, Box::new(upper.clone()));
            let water_level = Located { value: level, span: asked.set_at.clone() };
            all.push(std::mem::replace(&mut upper, SwaleAsked { name: named(number), water_level, ..base.clone() }));
        }
        all.push(upper);
    }
    all
}

/// A pit is placed beside a work that stands before it in the file.
fn check_beside(swales: &[SwaleAsked], dams: &[DamAsked], pits: &[PitAsked], faults: &Gathered) {
    let start = |name: &Located<String>| name.span.as_ref().map_or(0, |span| span.start);
    let names = swales.iter().map(|swale| &swale.name).chain(dams.iter().map(|dam| &dam.name));
    let mut names: Vec<&Located<String>> = names.chain(pits.iter().map(|pit| &pit.name)).collect();
    names.sort_by_key(|name| start(name));
    for pit in pits {
        let FloorAsked::Beside { work, .. } = &pit.floor.value else { continue };
        let earlier: Vec<&str> =
            names.iter().filter(|name| start(name) < start(&pit.name)).map(|name| name.value.as_str()).collect();
        if earlier.contains(&work.value.as_str()) {
            continue;
        }
        let help = if earlier.is_empty() {
            "no work stands before this pit: write the work first".to_owned()
        } else {
            format!("works before this pit: {}", earlier.join(", "))
        };
        let message = format!("no work before `{}` in this file is named `{}`", pit.name.value, work.value);
        let span = work.span.clone().unwrap_or_default();
        faults.add(Fault::new("pipeline::unknown-name", span, message).help(help));
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
        // A set shares its name with no other swale, or a spillway could not tell which is meant.
        let set_of_that_name = swales.iter().find(|other| other.set.as_ref() == Some(&swale.name.value));
        if let Some(first) = set_of_that_name {
            faults.add(
                Fault::new(
                    "pipeline::name-twice",
                    swale.name.span.clone().unwrap_or_default(),
                    format!("a swale and a set of swales are named `{}`", swale.name.value),
                )
                .beside(first.name.span.clone().unwrap_or_default(), "the set")
                .help("give each its own name"),
            );
        }
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
    if works_are_sound {
        check_beside(swales, dams, pits, faults);
    }
    for spillway in spillways {
        let of = spillway.of.clone();
        let span = || of.span.clone().unwrap_or_default();
        let set = |swale: &SwaleAsked| swale.set.as_ref() == Some(&of.value);
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
        } else if swales.iter().any(set) {
            swales.iter_mut().filter(|swale| set(swale)).for_each(|swale| swale.spillways.push(spillway.clone()));
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

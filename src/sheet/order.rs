//! The order of the work, in the words of the region.

use super::input::DigSheetInput;
use crate::draw::capital;
use crate::units::Length;
use crate::works::{Kind, Swale};

/// Every step that the works of this site take, in order.
pub(super) fn order_of_work(input: &DigSheetInput) -> Vec<String> {
    let words = input.words();
    let topsoil = input.plan.shared().map(|work| work.topsoil).fold(Length::ZERO, Length::max);
    let has = |kind: Kind| input.plan.shared().any(|work| work.kind == kind);
    let swales = has(Kind::Swale);
    let pits = has(Kind::Pond) || has(Kind::Borrow);
    let seats = input.plan.shared().any(|work| !work.fill_footprint.is_empty());
    let ditches = swales || has(Kind::Drain);
    let places = if ditches { "the berm's seat and the channel" } else { "every seat and dig" };
    let stripped =
        if ditches { "channel and seat, heaped uphill," } else { "everything dug or filled, heaped uphill," };
    let mut steps = vec![
        format!(
            "Before the machine comes: permits in hand; services located and marked by {}; every mark found; access, weather and ground dry enough.",
            words.before_you_dig
        ),
        "Stock out. Water from above turned away.".to_owned(),
        format!("Clear: stumps and roots out of {places}, holes refilled in thin rolled layers; old drains dug out."),
        format!(
            "Strip: {} of {} off {stripped} clear of water and of the way earth is carried. It is never fill.",
            input.figures.length(topsoil),
            words.topsoil
        ),
    ];
    if input.plan.swales().count() > 1 {
        steps.push(format!(
            "Top swale first: {}. Each sill is open and safe before the next swale is begun.",
            top_down(input).join(", then ")
        ));
    }
    if swales {
        steps.push("Sill and its way out first: cut to level, then STOP for its check (hold point).".to_owned());
        if input.plan.swales().any(|swale| swale.wanted.key.is_some()) {
            steps.push(format!("Key: dug along the middle of the berm's seat into firm ground, then STOP: looked at before it is filled (hold point). Filled again in pressed {}.", words.layers));
        }
        steps.push(format!("Seat: rip it across the slope so that the berm keys in; look at it before it is covered; put the first {} down in it.", words.layer));
        steps.push(format!("Channel and berm: dig to the {}, put the earth straight onto the berm in level {}. Leave no low gap overnight.", words.stakes, words.layers));
    }
    if has(Kind::Drain) {
        steps.push("Drain: its lower end and its run-out first, then the bed from there UP, so that rain always runs out. The bed is proven at every station before the machine moves on: it falls all the way.".to_owned());
        if input.plan.drains().any(|drain| drain.berm.is_some()) {
            steps.push(format!("Berm of the drain: its seat ripped, earth from the channel straight onto it in level {}, on the downhill side only. No gap, no earth uphill.", words.layers));
        }
        steps.push(
            "Water is let into the drain last: when its bed is grassed or lined and the way below its end is safe."
                .to_owned(),
        );
    }
    if has(Kind::Dam) {
        let without = input.plan.shared().any(|work| work.kind == Kind::Dam && work.spillways.is_empty());
        let with = input.plan.shared().any(|work| work.kind == Kind::Dam && !work.spillways.is_empty());
        if with {
            steps.push("Spillway before the wall: channel from its outlet up, sides to slope, sill cut to level in ground that was never dug or filled and left whole, approach last. Then STOP for its check (hold point). Grass on it at once.".to_owned());
        }
        if without {
            steps.push("Spillway and safe outlet first, on natural ground. This sheet has none: without one the wall is not begun.".to_owned());
        }
        steps.push(format!("Cutoff: dug along the crest's middle and up both ends into tight ground, then STOP: looked at before it is filled (hold point). Filled with the best clay in rolled {}.", words.layers));
        steps.push(format!(
            "Seat: stripped, stump holes refilled rolled, ripped and moistened so that the first {} keys in.",
            words.layer
        ));
        steps.push(format!("Wall: moist fill in level {} over its whole width, rolled; the sides cut back to the {}; overbuilt as each {} says.", words.layers, words.stakes, words.stake));
    }
    if input.plan.shared().any(|work| work.kind == Kind::Pond && !work.spillways.is_empty()) {
        steps.push("Spillway of the pond before the pond: channel from its outlet up, sides to slope, sill cut to level in ground that is left whole. Then STOP for its check (hold point). The ground between sill and pond is opened last. Grass on it at once.".to_owned());
    }
    if pits {
        steps.push(format!("Pits: dig from the rim {} inwards and down, sides first and floor last, with the way out open behind the machine. Look at floor and sides: sand, gravel or rock in a pond wants a clay blanket before water.", words.stakes));
    }
    if has(Kind::Drain) && !seats && !pits {
        steps.push("Trim: sides never steeper than drawn, the bed without a hump or a hollow.".to_owned());
    } else if seats {
        steps.push("Trim: crest to BUILD TO, never lower; sides never steeper than drawn.".to_owned());
    } else {
        steps.push(
            "Trim: sides never steeper than drawn, the floor never deeper than the clay that was proven.".to_owned(),
        );
    }
    steps.push("Check: the as-built shots are taken and read BEFORE the machine leaves.".to_owned());
    steps.push(if seats {
        format!("Finish: {} back over berm and sides, seed, fence.", words.topsoil)
    } else if has(Kind::Drain) && !pits {
        format!("Finish: {} back over bed and sides, seed at once, fence.", words.topsoil)
    } else {
        format!("Finish: {} back over bare sides above water, seed, fence.", words.topsoil)
    });
    steps.push("First filling: someone watches it.".to_owned());
    steps.iter().map(|step| capital(step)).collect()
}

/// Names of the swales from the highest water level down.
fn top_down(input: &DigSheetInput) -> Vec<String> {
    let mut swales: Vec<&Swale> = input.plan.swales().collect();
    swales.sort_by(|a, b| b.water_level.in_metres().total_cmp(&a.water_level.in_metres()));
    swales.iter().map(|swale| swale.wanted.name.clone()).collect()
}

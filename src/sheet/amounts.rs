//! What is moved and what is held: quantities with low and high, and promises with their bounds.

use super::html::Html;
use super::input::DigSheetInput;
use crate::draw::capital;
use crate::earth::QuantityRow;
use crate::units::{Flow, Length, Volume};
use crate::works::{Kind, Pooled, Shared, Spillway, Storage, Swale};

/// How far a sill is expected to be off after a careful dig, metres. Common practice, no source.
const SILL_TOLERANCE: f64 = 0.015;

/// The table of earth.
pub(super) fn earth(html: &mut Html, input: &DigSheetInput) {
    let figures = input.figures;
    html.heading(2, "Earth to move");
    let row = |row: &QuantityRow, name: &str| {
        let surplus = row.surplus_bank.in_cubic_metres();
        let word = if surplus < 0.0 { "short" } else { "spare" };
        vec![
            name.to_owned(),
            figures.earth(row.topsoil_bank.in_cubic_metres()),
            figures.earth(row.cut_bank.in_cubic_metres() + row.key_bank.in_cubic_metres()),
            figures.earth(row.fill_placed.in_cubic_metres()),
            figures.earth(row.seat_refill_placed.in_cubic_metres()),
            format!("{word} {}", figures.earth(surplus)),
            figures.earth(row.to_move_loose.in_cubic_metres()),
        ]
    };
    let mut rows: Vec<Vec<String>> = input.quantities.works.iter().map(|work| row(work, &work.works)).collect();
    if rows.len() != 1 {
        rows.push(row(&input.quantities.all, "All together"));
    }
    let topsoil = format!("{} stripped, in place", capital(input.words().topsoil));
    let fill = if input.plan.shared().all(|work| matches!(work.kind, Kind::Swale | Kind::Drain)) {
        "Berm, as placed"
    } else {
        "Fill, as placed"
    };
    let head = [
        "",
        &topsoil,
        "Dig, in place",
        fill,
        "Refill of the stripped seat, as placed",
        "Left over, in place",
        "To carry, loose",
    ];
    html.table("numbers", &head, &rows);
    let key = input.quantities.all.key_bank.in_cubic_metres();
    if key > 0.0 {
        html.paragraph("", &format!("The dig has the key under the seat in it, {}.", figures.earth(key)));
    }
    for row in &input.quantities.works {
        if let Some(pit) = input.plan.fill_from(&row.works) {
            let says = format!("{}: its earth comes out of {}, dug to give just that.", row.works, pit.name);
            html.paragraph("", &says);
        }
    }
    let soils: Vec<String> = input
        .plan
        .shared()
        .map(|work| {
            let soil = work.soil;
            format!(
                "{}: taken as {}; 1 in place makes {:.2} loose and {:.2} placed ({}). {}",
                work.name,
                soil.name,
                soil.loose_per_bank,
                soil.placed_per_bank,
                work.placement.name(),
                super::soil::standing(input, work)
            )
        })
        .collect();
    html.list(false, &soils);
    super::soil::pits(html, input);
    html.paragraph("", "In place: as it lies in the ground, which is what is dug and paid for. Rock, wet ground and standing time are extra, to be agreed before they are met.");
}

/// The warning that a work's dig does not give the earth of its fill and no pit is there for it; it stands with the work.
pub(super) fn short_of_earth(input: &DigSheetInput, name: &str) -> Option<String> {
    let row = input.quantities.works.iter().find(|row| row.works == name)?;
    let surplus = row.surplus_bank.in_cubic_metres();
    (surplus < -0.5 && input.plan.fill_from(name).is_none()).then(|| {
        format!(
            "SHORT OF EARTH: its dig gives {} in place less than its fill takes. Ask where the rest is dug before starting. Never lower the crest to make it fit.",
            input.figures.earth(surplus)
        )
    })
}

/// True when a swale's fill takes more earth than its dig gives, by an amount that the sheet shows.
pub(super) fn runs_short(input: &DigSheetInput, swale: &Swale) -> bool {
    let row = input.quantities.works.iter().find(|row| row.works == swale.wanted.name);
    row.is_some_and(|row| row.surplus_bank.in_cubic_metres() < -0.05)
}

/// What each work holds, and what its sill sheds.
pub(super) fn water(html: &mut Html, input: &DigSheetInput) {
    if input.plan.shared().all(|work| work.pool.is_none()) {
        return;
    }
    html.heading(2, "Water held");
    let rows: Vec<Vec<String>> = input
        .plan
        .shared()
        .filter_map(|work| Some((work, work.pool?)))
        .map(|(work, pool)| {
            let storage = pool.storage;
            let (low, high) = held(input, storage);
            vec![
                work.name.to_owned(),
                format!("about {}", input.figures.water(storage.volume)),
                format!("{} to {}", input.figures.water(low), input.figures.water(high)),
                input.figures.area(storage.area),
                leaves_at(input, work, pool),
            ]
        })
        .collect();
    let full = if input.plan.shared().all(|work| matches!(work.kind, Kind::Swale | Kind::Drain)) {
        "Full to the sill"
    } else {
        "When full"
    };
    html.table("numbers", &["", full, "Low and high", "Water surface", "Leaves first at"], &rows);
    let doubt = Length::metres(SILL_TOLERANCE) + input.roughness;
    html.paragraph(
        "",
        &format!(
            "Low and high: ground and {} together {} lower or higher than drawn. How fast it soaks away is unproven until dug.",
            if input.plan.swales().count() > 0 { "sill" } else { "full level" },
            input.figures.at_most(doubt.in_metres())
        ),
    );
}

/// Where a full work runs over first.
fn leaves_at(input: &DigSheetInput, work: Shared<'_>, pool: Pooled<'_>) -> String {
    if pool.storage.at_sill {
        return "its sill".to_owned();
    }
    let (easting, northing) = input.ground.frame.to_frame(pool.storage.spill_place);
    let against = input.figures.against_sill(pool.storage.spill - pool.water_level);
    match work.kind {
        Kind::Swale if pool.storage.spill > pool.water_level => format!(
            "its sill, past ground beyond it that stands up to {} higher, E {easting:.1} N {northing:.1}",
            input.figures.with_unit(input.figures.size_up((pool.storage.spill - pool.water_level).in_metres()))
        ),
        Kind::Swale => format!("E {easting:.1} N {northing:.1}, {against} the sill"),
        Kind::Dam if work.spillways.is_empty() => "over the wall: NO SPILLWAY".to_owned(),
        Kind::Dam => "its sill, once the engineer's lined part stands".to_owned(),
        Kind::Pond | Kind::Borrow | Kind::Drain => {
            format!("E {easting:.1} N {northing:.1}, the lowest place of its rim")
        }
    }
}

/// The least and the most that a work may hold: its water surface times the doubt in ground and sill.
fn held(input: &DigSheetInput, storage: &Storage) -> (Volume, Volume) {
    let doubt = storage.area * (Length::metres(SILL_TOLERANCE) + input.roughness);
    ((storage.volume - doubt).max(Volume::ZERO), storage.volume + doubt)
}

/// What the sheet promises, and no more than that.
pub(super) fn promises(html: &mut Html, input: &DigSheetInput) {
    let (figures, words) = (input.figures, input.words());
    html.heading(2, "What this sheet promises, and what not");
    let mut says = Vec::new();
    for work in input.plan.shared().filter(|work| work.kind != Kind::Swale) {
        for spillway in work.spillways {
            let over = if work.kind == Kind::Dam { "the wall" } else { "the rim" };
            says.push(sheds(input, work.name, ("sill", over), spillway));
        }
    }
    for drain in input.plan.drains() {
        let flow = |flow: Flow| figures.units.flow(flow).replace("m3", "m³").replace("ft3", "ft³");
        let storm = drain.carries.storm.as_ref().map_or_else(String::new, |storm| {
            format!(
                " Its flow is the peak of storm \"{}\": {} of rain on {}, {:.0} % of it running off.",
                storm.name,
                figures.units.rain(storm.intensity),
                figures.area(storm.catchment),
                storm.coefficient * 100.0
            )
        });
        says.push(format!(
            "{}: carries {} in even flow with {} of freeboard, clean and as drawn.{storm} More than that, silt, growth or a blocked end stands it higher and it runs over.",
            drain.name(),
            flow(drain.carries.capacity),
            figures.length(drain.wanted.freeboard)
        ));
    }
    for swale in input.plan.swales() {
        let name = &swale.wanted.name;
        if let Some(worst) = swale.worst_station() {
            let side = if worst.deviation < 0.0 { "low" } else { "high" };
            let sure = match swale.line_within() {
                Some(within) if within.at_95 => {
                    format!(
                        "with the doubt of the shots it lies within {} at 95 %",
                        figures.at_most(within.distance.in_metres())
                    )
                }
                _ => "shot by shot; between shots the ground is unproven".to_owned(),
            };
            says.push(format!(
                "{name}, line: natural ground on it is at worst {} {side} at {} {} ({sure}).",
                figures.at_most(worst.deviation),
                words.station,
                figures.station(worst.station)
            ));
        }
        for spillway in &swale.spillways {
            says.push(sheds(input, name, (&swale.sill_name(spillway), "the berm"), spillway));
            let (wanted, natural) = (spillway.exit_fall.in_percent(), spillway.natural_exit_fall.in_percent());
            says.push(format!(
                "{name}, way out: asked to fall {wanted:.1} %; natural ground there falls {natural:.1} %. Its grass, not this sheet, keeps it from washing."
            ));
        }
    }
    says.push(super::soil::promise(input));
    says.push(
        "Checks: the as-built shots show what was built within the accuracy of the survey, not closer.".to_owned(),
    );
    says.push("Edges: the limit of the survey is not a property boundary.".to_owned());
    html.list(false, &says);
}

/// What a sill sheds, and what comes of more.
fn sheds(input: &DigSheetInput, name: &str, (sill, over): (&str, &str), spillway: &Spillway) -> String {
    let figures = input.figures;
    let flow = spillway.flow.map_or_else(
        || "no design flow was given".to_owned(),
        |flow| {
            format!(
                "{} runs over it {} deep",
                figures.units.flow(flow).replace("m3", "m³").replace("ft3", "ft³"),
                figures.length(spillway.head)
            )
        },
    );
    let storm = spillway.storm.as_ref().map_or_else(String::new, |storm| {
        let flow = |flow: Flow| figures.units.flow(flow).replace("m3", "m³").replace("ft3", "ft³");
        let part = spillway.together.map_or_else(
            || "It is".to_owned(),
            |together| {
                format!(
                    "It is its part of what is asked of all sills of its pool together, {}. Of that, {} is",
                    flow(together),
                    flow(storm.peak())
                )
            },
        );
        format!(
            " {part} the peak of storm \"{}\": {} of rain on {}, {:.0} % of it running off, all as stated to us.",
            storm.name,
            figures.units.rain(storm.intensity),
            figures.area(storm.catchment),
            storm.coefficient * 100.0
        )
    });
    format!("{name}, {sill}: {flow}.{storm} More water than that stands higher and can run over {over}.")
}

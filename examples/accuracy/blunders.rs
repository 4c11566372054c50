//! How many planted height blunders are found, by size, and how many good shots are taken for one.

use crate::planted::{Planting, SIZES, Shot, Tally, Terrain, share, tally};
use crate::report::{Data, Outcome, Section, Table};
use crate::{field, truth};
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use std::fmt::Write as _;

pub(crate) const SECTION: Section = Section { name: "blunders", measure };

/// Lists of each ground: the demo's hill, then the real grounds share the rest.
const LISTS: u64 = 100;
/// Blunders in a hundred shots.
const PER_HUNDRED: f64 = 1.0;

fn measure(data: &Data) -> Result<Outcome, Box<dyn std::error::Error>> {
    let files = match data.files("samples", &["laz"]) {
        Ok(files) => files,
        Err(not_run) => return Ok(not_run),
    };
    let lists = std::env::var("SWALEWRIGHT_LISTS").ok().and_then(|text| text.parse().ok()).unwrap_or(LISTS);
    let hill: Vec<Vec<Shot>> = (0..lists).map(on_the_hill).collect();
    let mut walks: Vec<(String, Vec<Vec<Shot>>)> = Vec::new();
    for path in &files {
        let terrain = Terrain::new(swalewright::io::read::cloud::read(path, &[2])?.value.ground);
        let walk = |seed: u64| {
            let mut random = ChaCha8Rng::seed_from_u64(40_000 + seed);
            let spacing = random.random_range(5.0..15.0);
            terrain.walked(spacing, &mut random)
        };
        let name = path.file_stem().and_then(|name| name.to_str()).unwrap_or_default().replace('_', " ");
        walks.push((format!("{name}, 5-15 m, faces coded"), (0..lists).map(walk).collect()));
    }
    let mut rows: Vec<(String, Tally)> = Vec::new();
    let counted = |lists: &[Vec<Shot>], planting: Planting| {
        let mut all = Tally::default();
        for (seed, shots) in (0..).zip(lists) {
            all.add(&tally(shots, (PER_HUNDRED, planting), seed));
        }
        all
    };
    for (planting, how) in [(Planting::Apart, ""), (Planting::Anywhere, ", blunders side by side too")] {
        rows.push((format!("Kestrel Flat, 11 m, banks and gully coded{how}"), counted(&hill, planting)));
        let mut all = Tally::default();
        for (name, lists) in &walks {
            let here = counted(lists, planting);
            all.add(&here);
            if planting == Planting::Apart {
                rows.push((name.clone(), here));
            }
        }
        rows.push((format!("**all real ground{how}**"), all));
    }
    Ok(Outcome::Measured(table(&rows)?))
}

/// A walk over the demo's hill.
fn on_the_hill(seed: u64) -> Vec<Shot> {
    let shots = field::walked(seed).into_iter();
    shots
        .map(|([e, n, z], code)| {
            let (u, v) = truth::to_site(e, n);
            ([e, n, z], code, on_bank(u, v))
        })
        .collect()
}

/// True on the face of the track's bank and on the sides of the gully.
fn on_bank(u: f64, v: f64) -> bool {
    let step = 0.2;
    let fall = [(step, 0.0), (0.0, step)]
        .map(|(du, dv)| (truth::ground(u + du, v + dv) - truth::ground(u - du, v - dv)) / (2.0 * step));
    fall[0].hypot(fall[1]) > 0.15
}

fn table(rows: &[(String, Tally)]) -> Result<Table, std::fmt::Error> {
    let mut table = Table::default();
    let text = &mut table.markdown;
    write!(text, "| ground | lists | median s, mm | steps of clean lists, s |")?;
    SIZES.iter().try_for_each(|size| write!(text, " {size} s |"))?;
    writeln!(text, " false alarms | of shots on banks |\n|---|---|---|---|{}---|---|", "---|".repeat(SIZES.len()))?;
    for (name, tally) in rows {
        let mut deviations = tally.deviations.clone();
        deviations.sort_by(f64::total_cmp);
        let (squares, count) = tally.squares;
        let (middle, spread) = (1000.0 * deviations[deviations.len() / 2], (squares / f64::from(count)).sqrt());
        write!(text, "| {name} | {} | {middle:.0} | {spread:.2} |", tally.lists)?;
        for size in SIZES {
            let planted = tally.blunders.get(&size).map_or(0, |count| count.1);
            write!(text, " {:.1} % of {planted} |", 100.0 * tally.rate(size))?;
        }
        let banks = if tally.on_banks.1 == 0 {
            "none".to_owned()
        } else {
            format!("{} of {}", tally.on_banks.0, tally.on_banks.1)
        };
        writeln!(text, " {:.2} % | {banks} |", 100.0 * share(tally.false_alarms))?;
    }
    let real = rows.iter().position(|(name, _)| name.starts_with("**")).unwrap_or_default();
    for (name, tally) in [&rows[0], &rows[real]] {
        table.at_most(&format!("shots on banks taken for blunders, {name}"), f64::from(tally.on_banks.0), 0.0);
        table.at_most(&format!("missed of 5 s, {name}"), 1.0 - tally.rate(5), 0.02);
        table.at_most(&format!("missed of 6 s, {name}"), 1.0 - tally.rate(6), 0.005);
        table.at_most(&format!("false alarms, {name}"), share(tally.false_alarms), 0.01);
    }
    Ok(table)
}

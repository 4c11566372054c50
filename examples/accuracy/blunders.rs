//! How many planted height blunders are found, by size, and how many good shots are taken for one.

use crate::planted::{SIZES, Tally, Terrain, share, tally};
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
    let mut rows: Vec<(String, Tally)> = Vec::new();
    let mut hill = Tally::default();
    for seed in 0..lists {
        let shots: Vec<_> = field::walked(seed)
            .into_iter()
            .map(|([e, n, z], code)| {
                let (u, v) = truth::to_site(e, n);
                ([e, n, z], code, on_bank(u, v))
            })
            .collect();
        hill.add(&tally(&shots, PER_HUNDRED, seed));
    }
    rows.push(("Kestrel Flat, 11 m, banks and gully coded".to_owned(), hill));
    let mut all = Tally::default();
    for path in &files {
        let terrain = Terrain::new(swalewright::io::read::cloud::read(path, &[2])?.value.ground);
        let mut here = Tally::default();
        for seed in 0..lists {
            let mut random = ChaCha8Rng::seed_from_u64(40_000 + seed);
            let spacing = random.random_range(5.0..15.0);
            here.add(&tally(&terrain.walked(spacing, &mut random), PER_HUNDRED, seed));
        }
        all.add(&here);
        let name = path.file_stem().and_then(|name| name.to_str()).unwrap_or_default().replace('_', " ");
        rows.push((format!("{name}, 5-15 m, faces coded"), here));
    }
    rows.push(("**all real ground**".to_owned(), all));
    Ok(Outcome::Measured(table(&rows)?))
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
    write!(text, "| ground | lists | median s, mm |")?;
    SIZES.iter().try_for_each(|size| write!(text, " {size} s |"))?;
    writeln!(text, " false alarms | of shots on banks |\n|---|---|---|{}---|---|", "---|".repeat(SIZES.len()))?;
    for (name, tally) in rows {
        let mut deviations = tally.deviations.clone();
        deviations.sort_by(f64::total_cmp);
        write!(text, "| {name} | {} | {:.0} |", tally.lists, 1000.0 * deviations[deviations.len() / 2])?;
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
    let last = rows.len() - 1;
    for (name, tally) in [&rows[0], &rows[last]] {
        table.at_most(&format!("missed of 5 s, {name}"), 1.0 - tally.rate(5), 0.02);
        table.at_most(&format!("missed of 6 s, {name}"), 1.0 - tally.rate(6), 0.005);
        table.at_most(&format!("false alarms, {name}"), share(tally.false_alarms), 0.01);
    }
    Ok(table)
}

//! How far contour lines stand off their level, and how well the program knows it.

use crate::levels::{Case, Sampling, Tally};
use crate::report::{Data, Outcome, Section, Table};
use std::fmt::Write as _;

pub(crate) const SECTION: Section = Section { name: "contour-line", measure };

/// Surveys of each ground, spacing and sampling.
const SEEDS: u64 = 200;

fn measure(_: &Data) -> Result<Outcome, Box<dyn std::error::Error>> {
    let seeds = std::env::var("SWALEWRIGHT_LISTS").ok().and_then(|text| text.parse().ok()).unwrap_or(SEEDS);
    let mut table = Table::default();
    writeln!(
        table.markdown,
        "| ground | shots | worst | rms | in 95 % | standard error / true | told too far apart | bend radius kept |\n|---|---|---|---|---|---|---|---|"
    )?;
    for (sampling, name) in Sampling::ALL {
        let mut of_sampling = Vec::new();
        for (demo, ground) in [(true, "the demo's waves"), (false, "six waves")] {
            for spacing in [8.0, 15.0] {
                let tally = Tally::of(Case { demo, spacing, sampling }, seeds);
                row(&mut table, &format!("{ground}, {name}"), &format!("{spacing:.0} m"), &tally)?;
                of_sampling.push(tally);
            }
        }
        let all = Tally::joined(&of_sampling.iter().collect::<Vec<_>>());
        row(&mut table, &format!("**{name}**"), "all", &all)?;
        bars(&mut table, sampling, name, &all);
    }
    Ok(Outcome::Measured(table))
}

fn row(table: &mut Table, ground: &str, shots: &str, tally: &Tally) -> std::fmt::Result {
    let kept = tally.scores.iter().filter(|score| score.radius_kept).count();
    writeln!(
        table.markdown,
        "| {ground} | {shots} | {:.2} | {:.2} | {:.1} % | {:.2} | {:.0} % of lines, {:.0} % of length | {kept} of {} |",
        tally.worst(),
        tally.rms(),
        100.0 * tally.covered(),
        tally.error_ratio(),
        100.0 * tally.any_flagged(),
        100.0 * tally.flagged(),
        tally.scores.len()
    )
}

fn bars(table: &mut Table, sampling: Sampling, name: &str, all: &Tally) {
    let (worst, rms) = match sampling {
        Sampling::Smooth => (0.55, 0.65),
        Sampling::Rough => (0.80, 0.85),
        Sampling::Undersampled => (1.0, 1.0),
    };
    table.at_most(&format!("worst deviation against the bare contour, {name},"), all.worst(), worst);
    table.at_most(&format!("rms deviation against the bare contour, {name},"), all.rms(), rms);
    let (least, most) = if sampling == Sampling::Undersampled { (0.90, 1.0) } else { (0.93, 0.995) };
    table.at_most(&format!("share in 95 %, {name},"), all.covered(), most);
    table.at_most(&format!("share outside 95 %, {name},"), 1.0 - all.covered(), 1.0 - least);
    if sampling == Sampling::Undersampled {
        table.at_most("share of undersampled lines that are not told,", 1.0 - all.any_flagged(), 0.05);
    } else {
        table.at_most(&format!("standard error against the true error, {name},"), all.error_ratio(), 1.5);
    }
    let silent = all.scores.iter().filter(|score| !score.radius_kept_or_told).count();
    table.at_most("lines that bend tighter than asked without a word,", silent as f64, 0.0);
}

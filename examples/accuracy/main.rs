//! Measures the program against reference data and writes the tables of `docs/accuracy.md`:
//!
//! ```text
//! cargo run --release --example accuracy -- [--write] [DATA] [SECTION...]
//! ```
//!
//! Each section is one file here with one function; it tells what it measured, or why it did not. A section that needs
//! reference data says "not run" without it, never "passed". With `--write` the table of every section that was measured
//! takes its place in `docs/accuracy.md`. Ends with 1 when a section misses its bar.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

mod blunders;
mod cloud_files;
mod clouds;
#[path = "../kestrel_flat/field.rs"]
#[allow(dead_code, reason = "the demo's generator writes more than is measured here")]
mod field;
mod levels;
mod line;
mod page;
mod pasture;
mod planted;
mod report;
mod schemas;
#[path = "../kestrel_flat/truth.rs"]
#[allow(dead_code, reason = "the demo's generator knows more than is measured here")]
mod truth;

use report::{Data, Outcome, Section};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// All sections, in the order of the page. A new one: a file, its `SECTION`, its line here, its marks in the page.
const SECTIONS: &[&Section] = &[
    &blunders::SECTION,
    &cloud_files::SECTION,
    &clouds::SECTION,
    &line::SECTION,
    &pasture::SECTION,
    &schemas::SECTION,
];

fn main() -> Result<ExitCode, Box<dyn std::error::Error>> {
    let mut words: Vec<String> = std::env::args().skip(1).collect();
    let write = words.iter().position(|word| word == "--write").map(|at| words.remove(at)).is_some();
    let (chosen, rest): (Vec<String>, Vec<String>) =
        words.into_iter().filter(|word| !word.is_empty()).partition(|word| SECTIONS.iter().any(|s| s.name == word));
    let data = match rest.as_slice() {
        [] => Data::none(),
        [folder] if Path::new(folder).is_dir() => Data::at(PathBuf::from(folder)),
        [other, ..] => {
            let names: Vec<&str> = SECTIONS.iter().map(|section| section.name).collect();
            return Err(format!("`{other}` is neither a folder nor a section ({})", names.join(", ")).into());
        }
    };
    let page_at = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/accuracy.md");
    let mut page = std::fs::read_to_string(&page_at)?;
    let mut missed = false;
    for section in SECTIONS.iter().filter(|s| chosen.is_empty() || chosen.iter().any(|name| name == s.name)) {
        match (section.measure)(&data)? {
            Outcome::NotRun(why) => println!("{}: not run ({why})", section.name),
            Outcome::Measured(table) => {
                let word = if table.missed.is_empty() { "passed" } else { "MISSED" };
                println!("{}: {word}\n{}", section.name, table.markdown.trim_end());
                table.missed.iter().for_each(|miss| println!("  missed: {miss}"));
                missed |= !table.missed.is_empty();
                page = page::replaced(&page, section.name, &table.markdown)?;
            }
        }
    }
    if write {
        std::fs::write(&page_at, page)?;
    }
    Ok(if missed { ExitCode::FAILURE } else { ExitCode::SUCCESS })
}

//! The schema check: LandXML and KML of the demo's run held against the published schemas by `xmllint`.

use crate::report::{Data, Outcome, Section, Table};
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use swalewright::notes::Silent;
use swalewright::pipeline::{RunOptions, run};

pub(crate) const SECTION: Section = Section { name: "schemas", measure };

/// Schema, and the files of a run that must follow it.
const PAIRS: &[(&str, &[&str])] = &[
    ("LandXML-1.2.xsd", &["ground/ground.landxml", "works/works.landxml", "stakes/stakes.landxml"]),
    ("ogckml22.xsd", &["stakes/stakes.kml"]),
];

fn measure(data: &Data) -> Result<Outcome, Box<dyn std::error::Error>> {
    let schemas = match data.part("schemas") {
        Ok(part) => part,
        Err(not_run) => return Ok(not_run),
    };
    if Command::new("xmllint").arg("--version").output().is_err() {
        return Ok(Outcome::NotRun("there is no xmllint on this machine".to_owned()));
    }
    let folder = tempfile::tempdir()?;
    let pipeline = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/kestrel-flat.toml");
    let out = folder.path().join("run");
    run(&pipeline, &RunOptions { out: Some(out.clone()), ..RunOptions::default() }, &Silent)?;
    // The KML schema imports its address schema by a web address: a catalogue leads xmllint to the copy in the folder.
    let catalogue = folder.path().join("catalogue.xml");
    std::fs::write(&catalogue, catalogue_of(&schemas.canonicalize()?))?;
    let mut table =
        Table { markdown: "| file | schema | xmllint says |\n|---|---|---|\n".to_owned(), ..Table::default() };
    for (schema, files) in PAIRS {
        for file in *files {
            let said = Command::new("xmllint")
                .args(["--noout", "--nonet", "--schema"])
                .arg(schemas.join(schema))
                .arg(out.join(file))
                .env("XML_CATALOG_FILES", &catalogue)
                .output()?;
            let verdict = if said.status.success() { "follows it" } else { "does not follow it" };
            writeln!(table.markdown, "| `{file}` | {schema} | {verdict} |")?;
            if !said.status.success() {
                let why = String::from_utf8_lossy(&said.stderr);
                table.missed.push(format!("{file} against {schema}: {}", why.lines().next().unwrap_or_default()));
            }
        }
    }
    Ok(Outcome::Measured(table))
}

fn catalogue_of(schemas: &Path) -> String {
    let address = "http://docs.oasis-open.org/election/external/xAL.xsd";
    let copy = schemas.join("xAL.xsd");
    format!(
        "<catalog xmlns=\"urn:oasis:names:tc:entity:xmlns:xml:catalog\"><system systemId=\"{address}\" uri=\"file://{0}\"/>\
         <uri name=\"{address}\" uri=\"file://{0}\"/></catalog>\n",
        copy.display()
    )
}

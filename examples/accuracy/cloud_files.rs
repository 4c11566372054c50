//! Clouds of every version and point format read beside an independent reader, and faulty clouds that must end in one
//! message or a clean read.

use crate::report::{Data, Outcome, Section, Table};
use serde_json::Value as Json;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use swalewright::io::read::ReadError;
use swalewright::io::read::cloud;

pub(crate) const SECTION: Section = Section { name: "cloud-files", measure };

/// More memory than this for a file of a megabyte follows a claim and not what is there, bytes: one piece of points is 16 MiB, and
/// it comes twice.
const MOST_MEMORY: u64 = 128 << 20;

/// What a reader says of a file: points and how many the header claims, withheld, classes of the rest, lowest and highest places.
#[derive(Debug, Clone, PartialEq)]
struct Found {
    points: u64,
    claimed: u64,
    withheld: u64,
    classes: BTreeMap<String, u64>,
    bounds: Option<[[f64; 3]; 2]>,
}

impl Found {
    /// The same, places to a millionth: two programs multiply and add in their own order.
    fn agrees(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-6;
        let bounds = match (self.bounds, other.bounds) {
            (None, None) => true,
            (Some(a), Some(b)) => a.as_flattened().iter().zip(b.as_flattened()).all(|(a, b)| near(*a, *b)),
            _ => false,
        };
        bounds && (self.points, self.withheld, &self.classes) == (other.points, other.withheld, &other.classes)
    }
}

fn measure(data: &Data) -> Result<Outcome, Box<dyn std::error::Error>> {
    let folders = match (data.part("las-formats"), data.part("las-faults")) {
        (Ok(formats), Ok(faults)) => [formats, faults],
        (Err(not_run), _) | (_, Err(not_run)) => return Ok(not_run),
    };
    let Some(python) = python() else {
        return Ok(Outcome::NotRun(
            "no independent reader: `.ci/setup accuracy` makes target/cloud-reader, or SWALEWRIGHT_CLOUD_PYTHON names a \
             Python that has laspy and lazrs"
                .to_owned(),
        ));
    };
    let [formats, faults] = folders.map(|folder| clouds_below(&folder));
    let mut table = Table::default();
    compare(&mut table, &formats?, &python)?;
    survive(&mut table, &faults?, &python)?;
    Ok(Outcome::Measured(table))
}

/// All files read by both, gathered by version and point format.
fn compare(table: &mut Table, files: &[PathBuf], python: &Path) -> std::fmt::Result {
    // Point formats in the order of their numbers.
    let place = |format: &str| match format.split_once("format ") {
        Some((version, kind)) => format!("{version}{:0>2}", kind.split(',').next().unwrap_or_default()) + kind,
        None => "refused".to_owned(),
    };
    let mut rows: BTreeMap<String, (u64, u64, u64, String)> = BTreeMap::new();
    let mut apart = Vec::new();
    for path in files {
        let name = short(path);
        let (format, ours) = ours(path);
        let row = rows.entry(place(&format)).or_default();
        row.0 += 1;
        row.3 = format;
        let sibling = path.with_extension("las");
        match (ours, theirs(path, python)) {
            // A packing that the other reader does not know: held against the same points loose.
            (Ok(ours), Err(why)) if sibling != *path && sibling.exists() => match theirs(&sibling, python) {
                Ok(loose) if ours.agrees(&loose) => {
                    apart.push((
                        name,
                        format!("reads {} points, as the other reader in `{}`", ours.points, short(&sibling)),
                        why,
                    ));
                }
                other => {
                    table.missed.push(format!("{name}: here {ours:?}, loose {other:?}"));
                    apart.push((name, "differs from the same file loose".to_owned(), why));
                }
            },
            (Ok(ours), Ok(theirs)) if ours.agrees(&theirs) => {
                row.1 += 1;
                row.2 += ours.points;
            }
            (Ok(ours), Ok(theirs)) => {
                table.missed.push(format!("{name}: here {ours:?}, the other reader {theirs:?}"));
                apart.push((name, "differs".to_owned(), "differs".to_owned()));
            }
            // What a header claims and the file does not hold is refused here on purpose.
            (Err(why), Ok(theirs)) if theirs.points < theirs.claimed => {
                let there = format!("reads {} of the {} points claimed", theirs.points, theirs.claimed);
                apart.push((name, why, there));
            }
            (Err(why), Ok(_)) => {
                table.missed.push(format!("{name}: {why}, but the other reader reads it"));
                apart.push((name, why, "reads it".to_owned()));
            }
            (Ok(ours), Err(why)) => apart.push((name, format!("reads {} points", ours.points), why)),
            (Err(why), Err(other)) => apart.push((name, why, other)),
        }
    }
    writeln!(table.markdown, "| version and point format | files | read alike by both | points |\n|---|---|---|---|")?;
    for (files, alike, points, format) in rows.values() {
        writeln!(table.markdown, "| {format} | {files} | {alike} | {points} |")?;
    }
    let total = rows.values().fold((0, 0, 0), |a, b| (a.0 + b.0, a.1 + b.1, a.2 + b.2));
    writeln!(table.markdown, "| **all** | {} | {} | {} |", total.0, total.1, total.2)?;
    if !apart.is_empty() {
        writeln!(table.markdown, "\n| not read by both | here | the other reader |\n|---|---|---|")?;
        for (name, here, there) in apart {
            writeln!(table.markdown, "| `{name}` | {here} | {there} |")?;
        }
    }
    Ok(())
}

/// Faulty files: an answer, or one message that names the file; little memory; what the other reader makes of the same.
fn survive(table: &mut Table, files: &[PathBuf], python: &Path) -> std::fmt::Result {
    writeln!(table.markdown, "\n| faulty file | here | memory, MB | the other reader |\n|---|---|---|---|")?;
    for path in files {
        let name = short(path);
        let before = peak_memory(true);
        let ours = std::panic::catch_unwind(|| ours(path).1);
        let taken = peak_memory(false).zip(before).map(|(after, before)| after.saturating_sub(before));
        let theirs = theirs(path, python);
        let here = match (&ours, &theirs) {
            (Err(_), _) => {
                table.missed.push(format!("{name}: a panic"));
                "a panic".to_owned()
            }
            (Ok(Err(why)), _) if why.lines().count() != 1 => {
                table.missed.push(format!("{name}: more than one line: {why}"));
                why.clone()
            }
            (Ok(Err(why)), _) => why.clone(),
            (Ok(Ok(ours)), Ok(theirs)) if !ours.agrees(theirs) => {
                table.missed.push(format!("{name}: here {ours:?}, the other reader {theirs:?}"));
                "differs".to_owned()
            }
            (Ok(Ok(ours)), _) => format!("reads {} points", ours.points),
        };
        if taken.is_some_and(|bytes| bytes > MOST_MEMORY) {
            table.missed.push(format!("{name}: {} MB of memory", taken.unwrap_or_default() >> 20));
        }
        let memory = taken.map_or("not measured".to_owned(), |bytes| (bytes >> 20).to_string());
        let there = theirs.map_or_else(|why| why, |found| format!("reads {} points", found.points));
        writeln!(table.markdown, "| `{name}` | {here} | {memory} | {there} |")?;
    }
    Ok(())
}

/// What this program finds, with the version and point format; the message without the folder in it.
fn ours(path: &Path) -> (String, Result<Found, String>) {
    let plain = |why: ReadError| why.to_string().replace(&path.display().to_string(), "it").replace('|', "/");
    match cloud::read(path, &[]) {
        Ok(read) => {
            let cloud = read.value;
            let found = Found {
                points: cloud.points() + cloud.withheld,
                claimed: cloud.points() + cloud.withheld,
                withheld: cloud.withheld,
                classes: cloud.classes.iter().map(|(class, count)| (class.to_string(), *count)).collect(),
                bounds: cloud.bounds,
            };
            (cloud.file.format, Ok(found))
        }
        Err(why) => ("refused".to_owned(), Err(plain(why))),
    }
}

/// What the independent reader finds: in a program of its own, half a minute at most.
fn theirs(path: &Path, python: &Path) -> Result<Found, String> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/accuracy/read_clouds.py");
    let spoken = Command::new("timeout").arg("30").arg(python).arg(script).arg(path).output();
    let spoken = spoken.map_err(|why| format!("cannot be asked: {why}"))?;
    let answer: Json = serde_json::from_slice(&spoken.stdout).map_err(|_| "no answer in 30 s".to_owned())?;
    if let Some(why) = answer["error"].as_str() {
        return Err(why.replace('|', "/").replace('\n', " "));
    }
    let part = |key: &str| answer[key].clone();
    let read = || -> serde_json::Result<Found> {
        Ok(Found {
            points: serde_json::from_value(part("points"))?,
            claimed: serde_json::from_value(part("claimed"))?,
            withheld: serde_json::from_value(part("withheld"))?,
            classes: serde_json::from_value(part("classes"))?,
            bounds: serde_json::from_value(part("bounds"))?,
        })
    };
    read().map_err(|why| format!("its answer is not understood: {why}"))
}

fn python() -> Option<PathBuf> {
    let said = std::env::var_os("SWALEWRIGHT_CLOUD_PYTHON").map(PathBuf::from);
    let made = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/cloud-reader/bin/python");
    said.or(Some(made)).filter(|python| python.exists())
}

/// The clouds of a folder and of those in it, by name.
fn clouds_below(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            found.extend(clouds_below(&path)?);
        } else if path.extension().is_some_and(|ending| ending == "las" || ending == "laz") {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

fn short(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// The most memory this program has had, bytes, counted anew when asked; `None` where the system does not tell.
fn peak_memory(anew: bool) -> Option<u64> {
    if anew {
        std::fs::write("/proc/self/clear_refs", "5").ok()?;
    }
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? * 1024)
}

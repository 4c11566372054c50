//! How long a cloud takes from file to thinned ground, and in how much memory:
//!
//! ```text
//! cargo run --release --example cloud_at_size -- cloud.laz...
//! ```
//!
//! Each file by itself, step by step: reading it with its own classes, finding its ground anew, triangulating that, thinning
//! it to 50 mm. Wall time of one run, and the most memory the program has had up to the end of the step, measured anew for
//! each file (Linux tells it). The rows stand in `docs/performance.md`.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::path::Path;
use std::time::Instant;
use swalewright::frame::{FrameDefinition, SiteFrame, resolve};
use swalewright::ground::classify::{ClassifySettings, PointStream, Verdict, classify};
use swalewright::ground::{GroundSettings, build};
use swalewright::io::read::cloud::{self, CloudFile, GROUND, Unclassified};
use swalewright::notes::Silent;
use swalewright::surface::thin;
use swalewright::survey::Survey;
use swalewright::units::LengthUnit;

/// How far a point that thinning leaves out may stand off, metres.
const BOUND: f64 = 0.05;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    println!("| cloud | step | result | wall, s | most memory, MB |\n|---|---|---|---|---|");
    for name in std::env::args().skip(1) {
        measure(Path::new(&name))?;
    }
    Ok(())
}

fn measure(path: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let short = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let row = |step: &str, result: String, began: Instant| {
        let memory = peak_memory().map_or_else(|| "not known".to_owned(), |bytes| (bytes >> 20).to_string());
        println!("| {short} | {step} | {result} | {:.2} | {memory} |", began.elapsed().as_secs_f64());
    };
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    let began = Instant::now();
    let read = cloud::read(path, &[])?.value;
    row("read, nothing held", format!("{} points", read.points()), began);
    let frame = frame(&read);

    let began = Instant::now();
    let clouds = Unclassified { files: vec![CloudFile::open(path)?.value], frame: frame.clone() };
    let classifier = classify(&clouds, &ClassifySettings::default(), &Silent)?.value;
    row("ground found", "surface".to_owned(), began);
    let (began, mut found) = (Instant::now(), 0_u64);
    clouds.pass(&mut |point| found += u64::from(classifier.verdict(point) == Verdict::Ground))?;
    row("every point asked", format!("{found} ground points"), began);
    drop(classifier);

    let _ = std::fs::write("/proc/self/clear_refs", "5");
    let began = Instant::now();
    let own = cloud::read(path, &[GROUND])?.value;
    let mut survey = Survey::empty(frame.clone());
    survey.cloud = own.in_frame(&frame)?.value;
    row("read, ground held", format!("{} ground points", survey.cloud.len()), began);
    drop(own);
    let began = Instant::now();
    let ground = build(&survey, &GroundSettings::default())?.value;
    drop(survey);
    row("triangulated", format!("{} triangles", ground.tin.triangles().len()), began);
    let began = Instant::now();
    let thinned = thin(&ground.tin, BOUND)?;
    let result = format!("{} points, worst {:.1} mm off", thinned.tin.vertices().len(), 1e3 * thinned.worst);
    row("thinned to 50 mm", result, began);
    Ok(())
}

fn frame(read: &cloud::Cloud) -> SiteFrame {
    let named = read.file.crs.as_deref().and_then(|crs| resolve(crs).ok());
    let [low, high] = read.bounds.unwrap_or_default();
    let middle = (f64::midpoint(low[0], high[0]), f64::midpoint(low[1], high[1]));
    named.unwrap_or_else(|| FrameDefinition::local(LengthUnit::Metres)).site_frame(middle, None)
}

/// The most memory this program has had since it was last counted anew, bytes.
fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? * 1024)
}

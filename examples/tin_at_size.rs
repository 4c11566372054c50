//! How long a surface of millions of points takes, and how much memory, beside an independent library.
//!
//! `cargo run --release --example tin_at_size -- 1000000 tile.laz 20000000` makes clouds of so many points in scan lines half a
//! metre apart, with a hundred breaklines of a thousand segments of a metre that wander over them and cross; of a LAS or LAZ
//! file it takes the ground class, as it is. It tells for each engine the processor time (others may be at work) and the peak of memory over the points themselves. Each is
//! measured in a process of its own. Ours is checked afterwards: triangles anticlockwise, empty circles off the breaklines, Euler's formula.

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a program for the terminal")]

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation as _};
use std::path::Path;
use std::process::{Command, ExitCode};
use swalewright::frame::FrameDefinition;
use swalewright::geom::{Point, Point3, Side, circle, orient, snap_point};
use swalewright::io::read;
use swalewright::surface::{Locator, Tin, contour, thin, triangulate};
use swalewright::units::LengthUnit;

const LINES: u32 = 100;
const SEGMENTS: u32 = 1_000;

const ENGINES: [&str; 2] = ["ours", "spade"];

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let [engine, source] = words.as_slice()
        && ENGINES.contains(&engine.as_str())
    {
        measure(engine, source);
        return ExitCode::SUCCESS;
    }
    let known = |word: &String| word.parse::<u32>().is_ok() || Path::new(word).is_file();
    if words.is_empty() || !words.iter().all(known) {
        eprintln!("give numbers of points or LAS and LAZ files, such as 1000000 tile.laz 20000000");
        return ExitCode::from(2);
    }
    let Ok(own) = std::env::current_exe() else { return ExitCode::FAILURE };
    for source in words {
        for engine in ENGINES {
            let ended = Command::new(&own).args([engine, &source]).status();
            if !ended.is_ok_and(|status| status.success()) {
                return ExitCode::FAILURE;
            }
        }
    }
    ExitCode::SUCCESS
}

/// Points, and breaklines through some of them: so many made up, or the ground of a cloud without breaklines.
fn source(word: &str) -> (Vec<Point3>, Vec<Vec<u32>>) {
    if let Ok(count) = word.parse() {
        let mut points = cloud(count);
        let runs = breaklines(&mut points);
        return (points, runs);
    }
    let read = read::cloud::read(Path::new(word), &[read::cloud::GROUND]).unwrap_or_else(|why| panic!("{why}")).value;
    let near = read.bounds.map_or((0.0, 0.0), |[low, _]| (low[0], low[1]));
    let frame = FrameDefinition::local(LengthUnit::Metres).site_frame(near, None);
    let ground = read.in_frame(&frame).unwrap_or_else(|why| panic!("{why}")).value;
    (ground.into_iter().map(|p| snap_point(p.plan()).at(p.z)).collect(), Vec::new())
}

/// Scan lines half a metre apart, moved by a few centimetres, over rolling ground.
fn cloud(count: u32) -> Vec<Point3> {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let across = f64::from(count).sqrt().ceil();
    (0..count)
        .map(|i| {
            let (row, column) = ((f64::from(i) / across).floor(), f64::from(i) % across);
            let mut near = || rng.random_range(-0.02..0.02);
            let (x, y) = (0.5 * column + near(), 0.5 * row + near());
            snap_point(Point::new(x, y)).at(ground(x, y) + near())
        })
        .collect()
}

fn ground(x: f64, y: f64) -> f64 {
    430.0 + 0.02 * x + 2.0 * (x / 60.0).sin() * (y / 45.0).cos()
}

/// Adds the shots of the breaklines and gives their runs.
fn breaklines(points: &mut Vec<Point3>) -> Vec<Vec<u32>> {
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let side = 0.5 * (points.len() as f64).sqrt();
    let mut runs = Vec::new();
    for _ in 0..LINES {
        let first = u32::try_from(points.len()).unwrap_or(u32::MAX);
        let (mut x, mut y) = (rng.random_range(0.1..0.9) * side, rng.random_range(0.1..0.9) * side);
        let mut turn: f64 = rng.random_range(0.0..std::f64::consts::TAU);
        for _ in 0..=SEGMENTS {
            points.push(snap_point(Point::new(x, y)).at(ground(x, y)));
            turn += rng.random_range(-0.1..0.1);
            if !(0.02 * side..0.98 * side).contains(&x) || !(0.02 * side..0.98 * side).contains(&y) {
                turn = (side / 2.0 - y).atan2(side / 2.0 - x);
            }
            (x, y) = (x + turn.cos(), y + turn.sin());
        }
        runs.push((first..=first + SEGMENTS).collect());
    }
    runs
}

fn measure(engine: &str, word: &str) {
    let (points, runs) = source(word);
    let name = Path::new(word).file_name().unwrap_or_default().to_string_lossy().into_owned();
    let count = format!("{name} ({} points)", points.len());
    if engine == "spade" {
        let places: Vec<Point2<f64>> = points.iter().map(|p| Point2::new(p.x, p.y)).collect();
        drop(points);
        let edges: Vec<[usize; 2]> =
            runs.iter().flat_map(|run| run.windows(2)).map(|pair| [pair[0] as usize, pair[1] as usize]).collect();
        let (before, start) = (memory("VmRSS"), Seconds::now());
        let mut crossing = 0;
        let made = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(places, edges, |_| crossing += 1);
        let took = start.elapsed();
        let faces = made.map(|made| made.num_inner_faces()).unwrap_or_default();
        let peak = memory("VmHWM") - before;
        println!(
            "spade {count}: {took:.2} s, {peak:.0} MB over the points, {faces} triangles, {crossing} segments left out where they cross"
        );
        return;
    }
    let (before, start) = (memory("VmRSS"), Seconds::now());
    let made = match triangulate(&points, &runs) {
        Ok(made) => made,
        Err(why) => return eprintln!("{why}"),
    };
    let took = start.elapsed();
    let (tin, peak) = (made.tin, memory("VmHWM") - before);
    println!(
        "ours {count}: {took:.2} s, {peak:.0} MB over the points, {} triangles, {} crossings cut, {} shots on lines of others",
        tin.triangles().len(),
        made.crossings.len(),
        made.passed.len()
    );
    drop(points);
    check(&tin);
    let start = Seconds::now();
    let locator = Locator::new(&tin);
    println!("  locator made ready: {:.2} s", start.elapsed());
    questions(&tin, &locator);
    drop(locator);
    let start = Seconds::now();
    let (low, high) = tin.elevation_range().unwrap_or_default();
    let lines = contour(&tin, f64::midpoint(low, high));
    let vertices: usize = lines.iter().map(|line| line.points.len()).sum();
    println!("  contour at one level: {:.3} s, {} lines, {vertices} vertices", start.elapsed(), lines.len());
    for bound in [0.05, 0.1] {
        let (before, start) = (memory("VmRSS"), Seconds::now());
        match thin(&tin, bound) {
            Ok(thinned) => println!(
                "  thinned to {bound} m: {:.2} s, {} points left, worst {:.4} m; peak so far {:.0} MB over what stood",
                start.elapsed(),
                thinned.tin.vertices().len(),
                thinned.worst,
                memory("VmHWM") - before
            ),
            Err(why) => eprintln!("{why}"),
        }
    }
}

/// Elevations along a path of a million places, and at a million places at random.
fn questions(tin: &Tin, locator: &Locator) {
    let Some(bounds) = tin.bounds() else { return };
    let mut walker = locator.walker();
    let (asked, turns) = (1_000_000_u32, 40.0);
    let start = Seconds::now();
    let mut sum = 0.0;
    for i in 0..asked {
        let part = f64::from(i) / f64::from(asked);
        let (x, y) = ((part * turns).fract(), part);
        // To and fro in forty lanes.
        let x = 2.0 * (x - 0.5).abs();
        let place = Point::new(bounds.low.x + bounds.width() * x, bounds.low.y + bounds.height() * y);
        sum += walker.elevation(place).unwrap_or(0.0);
    }
    let took = start.elapsed();
    println!(
        "  a million places along a path: {took:.2} s, {:.2} triangles looked at for each (mean {:.2} m)",
        walker.steps() as f64 / f64::from(asked),
        sum / f64::from(asked)
    );
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let start = Seconds::now();
    let mut sum = 0.0;
    for _ in 0..asked {
        let (x, y) = (rng.random_range(bounds.low.x..bounds.high.x), rng.random_range(bounds.low.y..bounds.high.y));
        sum += locator.elevation(Point::new(x, y)).unwrap_or(0.0);
    }
    println!("  a million places at random: {:.2} s (mean {:.2} m)", start.elapsed(), sum / f64::from(asked));
}

/// Tells what does not hold of a constrained Delaunay triangulation.
fn check(tin: &Tin) {
    let place = |v: u32| tin.vertices()[v as usize].plan();
    let (mut turned, mut filled, mut rim) = (0, 0, 0);
    for (t, corners) in tin.ids().zip(tin.triangles()) {
        let [a, b, c] = corners.map(place);
        turned += u32::from(orient(a, b, c) != Side::Left);
        for k in 0..3 {
            let Some(across) = tin.neighbour(t, k) else {
                rim += 1;
                continue;
            };
            let beyond = tin.triangles()[across.0 as usize].into_iter().find(|v| !corners.contains(v));
            let full = !tin.is_break(t, k) && beyond.is_none_or(|v| circle(a, b, c, place(v)) > 0.0);
            filled += u32::from(full);
        }
    }
    let euler = tin.triangles().len() + 2 + rim == 2 * tin.vertices().len();
    println!(
        "  checked: {turned} triangles turned or flat, {filled} circles not empty, Euler's formula {}",
        if euler { "holds" } else { "does not hold" }
    );
}

/// Processor time of this process, seconds.
struct Seconds(f64);

impl Seconds {
    /// User and system time of `/proc/self/stat`, in ticks of a hundredth.
    fn now() -> Self {
        let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
        let ticks = stat.split_whitespace().skip(13).take(2).filter_map(|word| word.parse::<f64>().ok());
        Self(ticks.sum::<f64>() / 100.0)
    }

    fn elapsed(&self) -> f64 {
        Self::now().0 - self.0
    }
}

/// A line of `/proc/self/status` in megabytes; zero elsewhere.
fn memory(name: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with(name));
    let kilobytes = line.and_then(|line| line.split_whitespace().nth(1)).and_then(|word| word.parse::<f64>().ok());
    kilobytes.unwrap_or(0.0) / 1000.0
}

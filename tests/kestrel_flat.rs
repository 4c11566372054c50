//! The demo's sample: the committed files are what the generator writes, and hold what they promise.

#[path = "../examples/kestrel_flat/field.rs"]
mod field;
#[path = "../examples/kestrel_flat/truth.rs"]
mod truth;

use std::path::Path;
use swalewright::units::METRES_PER_FOOT;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/data-samples/kestrel-flat");

fn committed(name: &str) -> String {
    std::fs::read_to_string(Path::new(FOLDER).join(name)).expect("a committed sample")
}

/// Line, easting, northing, elevation (metres) and code of every shot of both days.
fn shots() -> Vec<(&'static str, usize, [f64; 3], String)> {
    let mut shots = Vec::new();
    for (index, line) in committed("day1.csv").lines().enumerate().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let number = |at: usize| fields[at].parse::<f64>().expect("a number");
        shots.push(("day1.csv", index + 1, [number(1), number(2), number(3)], fields[4].to_owned()));
    }
    for (index, line) in committed("day2.txt").lines().enumerate() {
        let fields: Vec<&str> = line.split('\t').collect();
        if let [_, northing, easting, elevation, code] = fields.as_slice() {
            let metres = |text: &str| text.parse::<f64>().expect("a number") * METRES_PER_FOOT;
            shots.push((
                "day2.txt",
                index + 1,
                [metres(easting), metres(northing), metres(elevation)],
                (*code).to_owned(),
            ));
        }
    }
    shots
}

fn planted() -> Vec<(String, usize, String)> {
    committed("planted.csv")
        .lines()
        .skip(1)
        .map(|line| {
            let fields: Vec<&str> = line.split(',').collect();
            (fields[0].to_owned(), fields[1].parse().expect("a line number"), fields[2].to_owned())
        })
        .collect()
}

#[test]
fn committed_files_are_what_the_generator_writes() {
    let sample = field::sample();
    for (name, text) in [
        ("marks.csv", sample.marks),
        ("day1.csv", sample.day1),
        ("day2.txt", sample.day2),
        ("planted.csv", sample.planted),
    ] {
        assert!(committed(name) == text, "{name} differs; `make samples` writes it anew");
    }
}

#[test]
fn clean_shots_scatter_round_the_truth_as_promised() {
    let planted = planted();
    let residuals: Vec<f64> = shots()
        .iter()
        .filter(|(file, line, _, code)| {
            !code.starts_with("chk") && !planted.iter().any(|(f, l, _)| f == file && l == line)
        })
        .map(|(_, _, [easting, northing, elevation], _)| {
            let (u, v) = truth::to_site(*easting, *northing);
            elevation - truth::ground(u, v)
        })
        .collect();
    let count = residuals.len() as f64;
    let mean = residuals.iter().sum::<f64>() / count;
    let deviation = (residuals.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt();
    // Receiver 15 mm, ground 25 mm, 8 mm of plan error on a slope of 5 % and up to 0.5 in the gully: 29 to 31 mm.
    // Limits at three standard errors of mean and deviation.
    let sigma = 0.030;
    assert!(count > 580.0, "{count} clean shots");
    assert!(mean.abs() < 3.0 * sigma / count.sqrt(), "mean {mean:.4} m");
    assert!((deviation - sigma).abs() < 0.001 + 3.0 * sigma / (2.0 * count).sqrt(), "deviation {deviation:.4} m");
}

#[test]
fn every_kind_of_blunder_is_planted() {
    let kinds: std::collections::BTreeSet<String> = planted().into_iter().map(|(_, _, kind)| kind).collect();
    for kind in [
        "float",
        "false fix",
        "pole height",
        "swapped",
        "duplicate number",
        "impossible height",
        "ellipsoidal height",
        "repeat disagrees",
    ] {
        assert!(kinds.contains(kind), "no `{kind}`");
    }
}

#[test]
fn shots_of_breaklines_lie_where_the_ground_breaks() {
    for (_, line, [easting, northing, _], code) in shots() {
        let (u, v) = truth::to_site(easting, northing);
        let off = (u - truth::gully_middle(v)).abs();
        let expected = match code.trim_end_matches(char::is_numeric) {
            "drain" => off,
            "ridge" => off - truth::GULLY_HALF_WIDTH,
            "track-top" => truth::track_edge(u) - v,
            "track-toe" => truth::track_edge(u) - v - truth::TRACK_FACE,
            _ => continue,
        };
        assert!(expected.abs() < 0.05, "line {line}: {code} is {expected:.3} m off its line");
    }
}

//! The demo's sample: the committed files are what the generator writes, and hold what they promise.

#[path = "../examples/kestrel_flat/field.rs"]
mod field;
#[path = "../examples/kestrel_flat/truth.rs"]
mod truth;

use std::path::Path;
use swalewright::frame::SiteFrame;
use swalewright::ground::GroundSettings;
use swalewright::units::{LengthUnit, METRES_PER_FOOT};

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
            "track-back" => truth::track_edge(u) - v + truth::TRACK_WIDTH,
            "track-top" => truth::track_edge(u) - v,
            "track-toe" => truth::track_edge(u) - v - truth::TRACK_FACE,
            _ => continue,
        };
        assert!(expected.abs() < 0.05, "line {line}: {code} is {expected:.3} m off its line");
    }
}

/// The survey as the demo's pipeline asks for it.
fn survey() -> swalewright::notes::Noted<swalewright::survey::Survey> {
    use swalewright::pipeline::config;
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/kestrel-flat.toml");
    let text = std::fs::read_to_string(&path).expect("the demo's pipeline");
    let pipeline = config::read(&path, &text).unwrap_or_else(|faults| panic!("{faults}"));
    let files: Vec<_> = pipeline
        .survey
        .shots
        .iter()
        .map(|shots| {
            let mut settings = shots.settings.clone();
            settings.name = shots.file.value.rsplit('/').next().map(str::to_owned);
            swalewright::io::read::points::read(&pipeline.beside(&shots.file.value), &settings)
                .expect("a readable file")
        })
        .collect();
    let frame = SiteFrame {
        crs: "EPSG:32755".to_owned(),
        name: "WGS 84 / UTM zone 55S".to_owned(),
        height: "site datum".to_owned(),
        unit: LengthUnit::Metres,
        origin: SiteFrame::origin_near(412_080.0, 6_187_050.0),
        combined_factor: 1.0,
    };
    swalewright::survey::check(&files, &pipeline.survey.settings, &frame).expect("a survey")
}

/// Which reason each kind of blunder must be set aside for. A number used twice spoils no height:
/// it stays in.
#[test]
fn planted_blunders_are_set_aside_and_nothing_else() {
    let survey = survey().value;
    let expected: Vec<(String, u64, &str)> = planted()
        .into_iter()
        .filter_map(|(file, line, kind)| {
            let reason = match kind.as_str() {
                "float" => "not fixed",
                "false fix" | "ellipsoidal height" | "pole height" => "off its neighbours",
                "swapped" => "far outside the survey",
                "impossible height" => "impossible elevation",
                "repeat disagrees" => "repeats disagree",
                "duplicate number" => return None,
                _ => panic!("a kind of blunder without a judgement: {kind}"),
            };
            Some((file, line as u64, reason))
        })
        .collect();
    let found: Vec<(String, u64, &str)> =
        survey.set_aside.iter().map(|aside| (aside.file.clone(), aside.line, aside.reason.as_str())).collect();
    let (due, others): (Vec<_>, Vec<_>) = found.into_iter().partition(|row| expected.contains(row));
    assert_eq!(due, expected);
    // A top of the rough ground, shot once, may go with them: shots 11 m apart cannot tell it from a blunder.
    assert!(others.len() <= 1 && others.iter().all(|row| row.2 == "off its neighbours"), "{others:?}");
}

#[test]
fn both_days_are_checked_on_marks_and_breaklines_joined() {
    let noted = survey();
    let survey = noted.value;
    assert_eq!(survey.checks.len(), 4);
    assert!(survey.checks.iter().all(|check| check.within), "{:?}", survey.checks);
    // Three lines of the gully on each day, three of the track.
    assert_eq!(survey.breaklines.len(), 9);
    let twice = noted.notes.iter().find(|note| note.code == "survey::number-twice").expect("a note on the number");
    assert!(twice.text.contains("243"), "{}", twice.text);
}

/// The surface against the truth on a grid of 3 m. Noise of 29 mm averages to 0.7 of itself inside a triangle; waves of
/// 120 m bend 6 mm between shots 11 m apart; humps of three spacings are cut off by up to half their height. The pole
/// 0.20 m too long and the gully's ends stand in the worst figure.
#[test]
fn the_surface_lies_on_the_truth_within_the_noise() {
    let survey = survey().value;
    let ground = swalewright::ground::build(&survey, &GroundSettings::default()).expect("a ground").value;
    let locator = ground.locator();
    let (mut ordinary, mut humps) = (Vec::new(), Vec::new());
    for (i, j) in (0..95_u32).flat_map(|i| (0..78_u32).map(move |j| (i, j))) {
        let (u, v) = (f64::from(i) * 3.0, f64::from(j) * 3.0);
        let (easting, northing) = truth::to_grid(u, v);
        let Some(elevation) = locator.elevation(ground.frame.to_local(easting, northing)) else { continue };
        let difference = elevation - truth::ground(u, v);
        if (25.0..135.0).contains(&u) && v > 183.0 { humps.push(difference) } else { ordinary.push(difference) }
    }
    let rms = |all: &[f64]| (all.iter().map(|d| d * d).sum::<f64>() / all.len() as f64).sqrt();
    let worst = |all: &[f64]| all.iter().fold(0.0_f64, |worst, d| worst.max(d.abs()));
    assert!(ordinary.len() > 6400 && humps.len() > 500, "{} and {} places", ordinary.len(), humps.len());
    assert!(rms(&ordinary) < 0.027, "ordinary ground {:.4} m", rms(&ordinary));
    assert!(worst(&ordinary) < 0.23, "ordinary ground {:.4} m at worst", worst(&ordinary));
    assert!((0.035..0.050).contains(&rms(&humps)), "humps {:.4} m", rms(&humps));
}

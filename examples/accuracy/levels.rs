//! Contour lines of swales on noisy shots of ground that is known everywhere, against the contour of the bare triangles.
//!
//! Two grounds, both tilted: the waves of the demo's hill with its humps all over it, and six waves in directions, lengths
//! and phases drawn anew. Shots stand on a grid, each nudged by a tenth of the spacing, with 15 mm of noise in height. The
//! water level is the true ground in the middle. How far the true ground on a line stands off the level is measured every
//! half metre, one spacing inside the survey.

#![allow(dead_code, reason = "the test that shares this file measures less")]

use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, StandardNormal};
use std::f64::consts::TAU;
use std::fmt::Write as _;
use swalewright::frame::SiteFrame;
use swalewright::geom::{Point, Polyline};
use swalewright::ground::{self, GroundSettings};
use swalewright::io::read::points::{self, FileSettings};
use swalewright::soil::{Placement, Soil};
use swalewright::surface::contour;
use swalewright::survey::{self, Settings, Survey};
use swalewright::units::{Batter, Elevation, Length, LengthUnit};
use swalewright::works::{Berm, SwaleWanted, WaterLevel, contour_line, natural_ground};

/// Noise of a shot's height, metres.
const NOISE: f64 = 0.015;
/// Shots along the hill and up it.
const SHOTS: (u32, u32) = (25, 15);

/// Length of the shortest waves against the spacing of the shots.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sampling {
    /// Five spacings and more.
    Smooth,
    /// Three to five.
    Rough,
    /// Less than three.
    Undersampled,
}

impl Sampling {
    pub(crate) const ALL: [(Self, &'static str); 3] = [
        (Self::Smooth, "waves of 5 spacings and more"),
        (Self::Rough, "waves of 3 to 5 spacings"),
        (Self::Undersampled, "waves of less than 3 spacings"),
    ];

    const fn spacings(self) -> (f64, f64) {
        match self {
            Self::Smooth => (5.0, 15.0),
            Self::Rough => (3.0, 5.0),
            Self::Undersampled => (1.7, 3.0),
        }
    }
}

/// What is measured together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Case {
    /// The demo's waves, else drawn ones.
    pub(crate) demo: bool,
    /// Metres between shots.
    pub(crate) spacing: f64,
    pub(crate) sampling: Sampling,
}

/// A wave: length, direction, phase, height.
#[derive(Debug, Clone, Copy)]
struct Wave([f64; 4]);

impl Wave {
    fn at(self, x: f64, y: f64) -> f64 {
        let [length, direction, phase, height] = self.0;
        height * (TAU * (x * direction.cos() + y * direction.sin()) / length + phase).cos()
    }
}

/// Ground that is known everywhere.
#[derive(Debug, Clone)]
struct Truth {
    slope: f64,
    waves: Vec<Wave>,
    /// Length, height and phases of humps.
    humps: Option<[f64; 4]>,
}

impl Truth {
    fn drawn(case: Case, slope: f64, random: &mut ChaCha8Rng) -> Self {
        let (least, most) = case.sampling.spacings();
        let short = case.spacing * least * (most / least).powf(random.random_range(0.0..1.0));
        // The demo's humps are 0.12 m high and 33 m long; on gentle slopes they are lower, or the ground would be hills.
        let steep = (0.12 / 33.0_f64).min(0.3 * slope / TAU);
        let mut phase = || random.random_range(0.0..TAU);
        if case.demo {
            let long = (0.22_f64 / 120.0).min(0.3 * slope / TAU) * 120.0;
            let waves = vec![
                Wave([120.0, 20.0_f64.to_radians(), phase(), long]),
                Wave([120.0, 75.0_f64.to_radians(), phase(), long * 0.08 / 0.22]),
            ];
            return Self { slope, waves, humps: Some([short, steep * short, phase(), phase()]) };
        }
        let waves = (0..6)
            .map(|k| {
                let length = if k == 0 { short } else { short * random.random_range(1.0..2.0) };
                let turn = random.random_range(0.0..TAU);
                Wave([length, turn, random.random_range(0.0..TAU), steep * length / 3.0_f64.sqrt()])
            })
            .collect();
        Self { slope, waves, humps: None }
    }

    /// Height of the shortest waves.
    fn short_height(&self) -> f64 {
        self.humps.map_or(self.waves[0].0[3], |[_, height, ..]| height)
    }

    fn at(&self, place: Point) -> f64 {
        let waves: f64 = self.waves.iter().map(|wave| wave.at(place.x, place.y)).sum();
        let humps = self.humps.map_or(0.0, |[length, height, a, b]| {
            height * (TAU * place.x / length + a).sin() * (TAU * place.y / length + b).cos()
        });
        430.0 + self.slope * place.y + waves + humps
    }
}

/// One line on one survey, bare and as the program lays it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Score {
    /// Greatest deviation and root mean square of the bare triangles' contour, metres.
    pub(crate) bare: (f64, f64),
    /// The same of the program's line.
    pub(crate) line: (f64, f64),
    /// Places on the line whose ground lies within 1.96 standard errors, and places.
    pub(crate) covered: (u32, u32),
    /// Sums over the places: standard error, squared error of the estimated ground.
    pub(crate) errors: (f64, f64),
    /// Share of those places told as having their shots too far apart.
    pub(crate) flagged: f64,
    /// The shortest waves are higher than the noise of a shot.
    pub(crate) high: bool,
    /// The bend radius is kept everywhere, or the place is told.
    pub(crate) radius_kept_or_told: bool,
    pub(crate) radius_kept: bool,
}

fn frame() -> SiteFrame {
    SiteFrame {
        crs: "local".to_owned(),
        name: "site grid".to_owned(),
        height: "as surveyed".to_owned(),
        unit: LengthUnit::Metres,
        combined_factor: 1.0,
        origin: Point::new(0.0, 0.0),
    }
}

fn settings() -> Settings {
    Settings { vertical_sigma: Length::metres(NOISE), roughness: Length::metres(0.0), ..Settings::default() }
}

fn shot(truth: &Truth, spacing: f64, random: &mut ChaCha8Rng) -> Survey {
    let mut text = String::from("point,easting,northing,elevation,code\n");
    for i in 0..SHOTS.0 * SHOTS.1 {
        let nudge: [f64; 2] = [random.random_range(-0.1..0.1), random.random_range(-0.1..0.1)];
        let (x, y) = (f64::from(i % SHOTS.0) + nudge[0], f64::from(i / SHOTS.0) + nudge[1]);
        let place = Point::new(((x * spacing) * 1000.0).round() / 1000.0, ((y * spacing) * 1000.0).round() / 1000.0);
        let noise: f64 = StandardNormal.sample(random);
        let z = truth.at(place) + NOISE * noise;
        writeln!(text, "{},{:.3},{:.3},{z:.4},ground", i + 1, place.x, place.y).expect("a text takes what is written");
    }
    let file = points::parse(text.as_bytes(), "walk.csv", &FileSettings::default()).expect("a list of shots");
    survey::check(&[file], &settings(), &frame()).expect("a survey").value
}

fn wanted(level: f64, tolerance: f64) -> SwaleWanted {
    SwaleWanted {
        berm: Berm::AllTheCut { crest: Length::metres(0.6), batter: Batter::horizontal_per_vertical(2.0) },
        tolerance: Length::metres(tolerance),
        ..SwaleWanted::usual(
            "line",
            WaterLevel::Elevation(Elevation::metres(level)),
            Soil::named("loam", Placement::TrackWalked).expect("a known soil"),
        )
    }
}

/// Greatest deviation and root mean square of the true ground on a line, one spacing inside; nothing when little is inside.
fn off(truth: &Truth, line: &Polyline, level: f64, spacing: f64) -> Option<(f64, f64)> {
    let places = inside(line, spacing);
    let found: Vec<f64> = places.iter().map(|&place| truth.at(place) - level).collect();
    let worst = found.iter().fold(0.0_f64, |worst, d| worst.max(d.abs()));
    (f64::from(u32::try_from(found.len()).ok()?) * 0.5 > 3.0 * spacing)
        .then(|| (worst, (found.iter().map(|d| d * d).sum::<f64>() / found.len() as f64).sqrt()))
}

fn inside(line: &Polyline, spacing: f64) -> Vec<Point> {
    let (east, north) = (f64::from(SHOTS.0 - 1) * spacing, f64::from(SHOTS.1 - 1) * spacing);
    let even = line.resampled(0.5);
    let within = |p: &&Point| p.x > spacing && p.x < east - spacing && p.y > spacing && p.y < north - spacing;
    even.points().iter().filter(within).copied().collect()
}

/// Measures one survey; nothing when no line of length runs through its middle.
pub(crate) fn score(case: Case, slope: f64, seed: u64) -> Option<Score> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let truth = Truth::drawn(case, slope, &mut random);
    let survey = shot(&truth, case.spacing, &mut random);
    let bare = ground::build(&survey, &GroundSettings::default()).ok()?.value;
    let middle = Point::new(f64::from(SHOTS.0 - 1) * case.spacing / 2.0, f64::from(SHOTS.1 - 1) * case.spacing / 2.0);
    let level = truth.at(middle);
    let raw = contour(&bare.tin, level)
        .into_iter()
        .filter_map(|line| Polyline::new(line.points))
        .max_by(|a, b| a.length().total_cmp(&b.length()))?;
    let asked = wanted(level, 0.05);
    let fitted = natural_ground(&bare, &survey, &settings(), &[asked.clone().into()], &[]).ok()??;
    let found = contour_line(&fitted, &bare, &asked).ok()?;
    let (line, check) = (&found.value.0, &found.value.1);
    let locator = fitted.ground.locator();
    let (mut covered, mut errors, mut flagged) = ((0, 0), (0.0, 0.0), 0);
    for place in inside(line, case.spacing) {
        let Some(sigma) = fitted.standard_error(&locator, place) else { continue };
        let error = locator.elevation(place)? - truth.at(place);
        covered = (covered.0 + u32::from(error.abs() <= 1.96 * sigma), covered.1 + 1);
        errors = (errors.0 + sigma, errors.1 + error * error);
        let station = line.foot(place).station;
        let in_one = |&(from, to): &(f64, f64)| from <= station && station <= to;
        flagged += u32::from(check.proof.too_far_apart.iter().any(in_one));
    }
    let kept = check.least_radius.0 >= 5.0 * 0.999;
    let told = found.notes.iter().any(|note| note.code == "works::bend-too-tight");
    Some(Score {
        bare: off(&truth, &raw, level, case.spacing)?,
        line: off(&truth, line, level, case.spacing)?,
        covered,
        errors,
        flagged: f64::from(flagged) / f64::from(covered.1),
        high: truth.short_height() > NOISE,
        radius_kept_or_told: kept || told,
        radius_kept: kept,
    })
}

/// Many surveys of one case.
#[derive(Debug, Clone, Default)]
pub(crate) struct Tally {
    pub(crate) scores: Vec<Score>,
    /// Surveys without a line to measure.
    pub(crate) none: u32,
}

/// Slopes, one after the other from seed to seed.
const SLOPES: [f64; 5] = [0.01, 0.02, 0.04, 0.08, 0.15];

impl Tally {
    pub(crate) fn of(case: Case, seeds: u64) -> Self {
        let mut tally = Self::default();
        for seed in 0..seeds {
            let slope = SLOPES[usize::try_from(seed).expect("few seeds") % SLOPES.len()];
            match score(case, slope, seed) {
                Some(score) => tally.scores.push(score),
                None => tally.none += 1,
            }
        }
        tally
    }

    pub(crate) fn joined(tallies: &[&Self]) -> Self {
        let scores = tallies.iter().flat_map(|tally| tally.scores.iter().copied()).collect();
        Self { scores, none: tallies.iter().map(|tally| tally.none).sum() }
    }

    fn median(&self, of: impl Fn(&Score) -> f64) -> f64 {
        let mut values: Vec<f64> = self.scores.iter().map(of).collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
    }

    /// Median of the worst deviation against that of the bare triangles' contour.
    pub(crate) fn worst(&self) -> f64 {
        self.median(|score| score.line.0 / score.bare.0)
    }

    /// The same of the root mean square.
    pub(crate) fn rms(&self) -> f64 {
        self.median(|score| score.line.1 / score.bare.1)
    }

    /// Share of places whose ground lies within 1.96 standard errors.
    pub(crate) fn covered(&self) -> f64 {
        let sum = |of: fn(&Score) -> u32| f64::from(self.scores.iter().map(of).sum::<u32>());
        sum(|score| score.covered.0) / sum(|score| score.covered.1)
    }

    /// Mean standard error against the root mean square of the ground's true error.
    pub(crate) fn error_ratio(&self) -> f64 {
        let sum = |of: fn(&Score) -> f64| self.scores.iter().map(of).sum::<f64>();
        let places = sum(|score| f64::from(score.covered.1));
        sum(|score| score.errors.0) / places / (sum(|score| score.errors.1) / places).sqrt()
    }

    /// Mean share of the line that is told as having its shots too far apart.
    pub(crate) fn flagged(&self) -> f64 {
        self.scores.iter().map(|score| score.flagged).sum::<f64>() / self.scores.len() as f64
    }

    /// Share with any such stretch, of the lines over waves higher than the noise.
    pub(crate) fn any_flagged(&self) -> f64 {
        let high: Vec<&Score> = self.scores.iter().filter(|score| score.high).collect();
        high.iter().filter(|score| score.flagged > 0.0).count() as f64 / high.len() as f64
    }
}

//! Two mornings with a rover on Kestrel Flat: where the surveyor walked, the noise of every shot, and the blunders.
//!
//! Noise: 8 mm in easting and in northing, 15 mm in height from the receiver, 25 mm in height from the ground under the
//! tip, all normal and independent. Day one covers the upper hill, in metres with a header line and the receiver's own
//! quality figures; day two the lower hill, tab-separated without a header, northing first, in feet, its point numbers
//! begun anew. Each file opens and closes with a check shot on a mark. Every blunder is told in `planted.csv`.

use crate::truth;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, StandardNormal};
use std::fmt::Write as _;

/// Marks: name and place on the site's axes. Their heights are the true ground and 0.05 m, for a peg stands proud.
pub(crate) const MARKS: [(&str, f64, f64); 3] = [("CP1", 10.0, 172.0), ("CP2", 243.0, 178.0), ("CP3", 118.0, 24.0)];
/// Day one lies above this place up the hill, day two below.
const SEAM: f64 = 104.0;
const METRES_PER_FOOT: f64 = 0.3048;
/// Ellipsoidal height less height above the site's datum, where one shot was stored with the wrong one.
const GEOID: f64 = 15.42;

/// The sample as text, file by file.
#[derive(Debug)]
pub(crate) struct Sample {
    pub(crate) marks: String,
    pub(crate) day1: String,
    pub(crate) day2: String,
    pub(crate) planted: String,
}

/// Makes the whole sample; the same bytes each time.
pub(crate) fn sample() -> Sample {
    let mut day1 = Book::new(1, 30_000);
    let mut day2 = Book::new(2, 28_800);
    let mut planted = Vec::new();

    day1.check("CP1");
    day2.check("CP1");
    for (book, from, to) in [(&mut day1, SEAM, truth::EXTENT.1), (&mut day2, 0.0, SEAM)] {
        book.walk(from, to);
    }
    day1.gully(SEAM, truth::GULLY_HEAD, 1);
    day2.gully(0.0, SEAM, 4);
    day2.track();
    day1.things();

    planted.extend(blunders_of_day_one(&mut day1));
    planted.extend(blunders_of_day_two(&mut day2));
    day1.check("CP2");
    day2.check("CP3");

    let (day1_text, lines1) = day1.as_metres();
    let (day2_text, lines2) = day2.as_feet();
    Sample { marks: marks(), day1: day1_text, day2: day2_text, planted: told(&planted, &lines1, &lines2) }
}

/// About so many clean shots on the same hill in one file, and a pipeline file with the demo's swale on them.
#[allow(dead_code, reason = "the tests of the sample share this file and have no use for it")]
pub(crate) fn many(count: u32) -> (String, String) {
    let mut book = Book::new(3, 0);
    let spacing = (truth::EXTENT.0 * truth::EXTENT.1 / f64::from(count)).sqrt();
    let (columns, rows) = (whole(truth::EXTENT.0 / spacing), whole(truth::EXTENT.1 / spacing));
    for (column, row) in (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row))) {
        let jitter = (0.2 * spacing * book.normal(), 0.2 * spacing * book.normal());
        book.shoot((f64::from(column) + 0.5) * spacing + jitter.0, (f64::from(row) + 0.5) * spacing + jitter.1, "gs");
    }
    let mut pipeline = String::from("format = 1\n\n[site]\nname = \"Kestrel Flat\"\ncrs = \"EPSG:32755\"\n");
    pipeline.push_str("\n[survey]\nshots = [\"shots.csv\"]\nroles.ground = [\"gs\"]\n");
    pipeline.push_str("\n[[swale]]\nname = \"upper\"\nwater-level = { elevation = \"431.36 m\" }\n");
    pipeline.push_str("between = [[412139.6, 6187251.0], [412335.0, 6187201.3]]\n");
    pipeline.push_str("\n[[spillway]]\nof = \"upper\"\nat = { end = \"last\" }\nsill-length = \"6 m\"\n");
    (book.as_metres().0, pipeline)
}

/// Easting, northing, elevation and code of every shot of both days, walked anew and without a blunder.
#[allow(dead_code, reason = "only what measures how many blunders are found asks for it")]
pub(crate) fn walked(seed: u64) -> Vec<([f64; 3], String)> {
    let mut book = Book { shots: Vec::new(), random: ChaCha8Rng::seed_from_u64(seed), second: 0 };
    book.walk(SEAM, truth::EXTENT.1);
    book.walk(0.0, SEAM);
    book.gully(0.0, truth::GULLY_HEAD, 1);
    book.track();
    book.shots.into_iter().map(|shot| ([shot.easting, shot.northing, shot.elevation], shot.code)).collect()
}

/// A standard normal number.
pub(crate) fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// Easting, northing and elevation of a mark.
pub(crate) fn mark(name: &str) -> (f64, f64, f64) {
    let &(_, u, v) = MARKS.iter().find(|(known, ..)| *known == name).expect("a mark of this site");
    let (easting, northing) = truth::to_grid(u, v);
    (round(easting), round(northing), round(truth::ground(u, v) + 0.05))
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "counts of steps on a farm")]
fn whole(count: f64) -> u32 {
    count as u32
}

fn round(metres: f64) -> f64 {
    (metres * 1000.0).round() / 1000.0
}

fn marks() -> String {
    let mut text = String::from("point,easting,northing,elevation,code\n");
    for (name, ..) in MARKS {
        let (easting, northing, elevation) = mark(name);
        let _ = writeln!(text, "{name},{easting:.3},{northing:.3},{elevation:.3},cp");
    }
    text
}

/// One stored shot, metres.
#[derive(Debug, Clone)]
struct Stored {
    point: u32,
    easting: f64,
    northing: f64,
    elevation: f64,
    code: String,
    fix: &'static str,
    sigma: (f64, f64),
    pdop: f64,
    second: u32,
}

/// A blunder: which file, which entry, what kind, what a reader should know.
struct Planted {
    day: u8,
    index: usize,
    kind: &'static str,
    value: String,
}

/// One day's shots in the order taken.
struct Book {
    shots: Vec<Stored>,
    random: ChaCha8Rng,
    second: u32,
}

impl Book {
    fn new(day: u8, second: u32) -> Self {
        Self { shots: Vec::new(), random: ChaCha8Rng::seed_from_u64(730 + u64::from(day)), second }
    }

    fn normal(&mut self) -> f64 {
        normal(&mut self.random)
    }

    /// Holds the pole on the ground at a true place and stores a shot.
    fn shoot(&mut self, u: f64, v: f64, code: &str) {
        let height = truth::ground(u, v) + 0.025 * self.normal();
        self.store(u, v, height, code);
    }

    /// Stores a shot of a tip that truly stands at a place and height.
    fn store(&mut self, u: f64, v: f64, height: f64, code: &str) {
        let (easting, northing) = truth::to_grid(u, v);
        let sigma = (0.007 + 0.002 * self.normal().abs(), 0.012 + 0.004 * self.normal().abs());
        let shot = Stored {
            point: u32::try_from(self.shots.len()).expect("a day's shots") + 1,
            easting: easting + 0.008 * self.normal(),
            northing: northing + 0.008 * self.normal(),
            elevation: height + 0.015 * self.normal(),
            code: code.to_owned(),
            fix: "fixed",
            sigma,
            pdop: 1.4 + 0.2 * self.normal().abs(),
            second: self.second,
        };
        self.second += 11;
        self.shots.push(shot);
    }

    fn check(&mut self, name: &str) {
        let (easting, northing, elevation) = mark(name);
        let (u, v) = truth::to_site(easting, northing);
        self.store(u, v, elevation, &format!("chk {}", name.to_lowercase()));
    }

    /// Walks to and fro along the hill, about 11 m between rows and 11.3 m between shots, never straight.
    fn walk(&mut self, from: f64, to: f64) {
        let rows = ((to - from - 4.0) / 11.0).floor();
        let (mut row, mut forward) = (0.0, true);
        while row <= rows {
            let middle = from + 2.0 + row * (to - from - 4.0) / rows;
            let shots = ((truth::EXTENT.0 - 6.0) / 11.3).floor();
            let start = 3.0 + 2.0 * self.normal().clamp(-1.2, 2.0);
            for step in 0..=whole(shots) {
                let along = start + f64::from(step) * 11.3 + 0.9 * self.normal().clamp(-2.0, 2.0);
                let u = if forward { along } else { truth::EXTENT.0 - along };
                let v = middle + 1.4 * (u / 37.0 + row).sin() + 0.6 * self.normal().clamp(-2.0, 2.0);
                if (0.0..=truth::EXTENT.0).contains(&u) && !near_a_breakline(u, v) {
                    self.shoot(u, v, "gs");
                }
            }
            row += 1.0;
            forward = !forward;
        }
    }

    /// Up the west lip, down the bottom, up the east lip of the gully, with string numbers from `first`.
    fn gully(&mut self, from: f64, to: f64, first: u32) {
        let half = truth::GULLY_HALF_WIDTH;
        for (line, (off, word)) in [(-half, "ridge"), (0.0, "drain"), (half, "ridge")].into_iter().enumerate() {
            let code = format!("{word}{}", first as usize + line);
            // The lips meet at the head, so they stop short of it.
            let top = if word == "ridge" { to - 3.0 } else { to };
            let steps = ((top - from) / 11.0).ceil();
            for step in 0..=whole(steps) {
                let share = f64::from(step) / steps;
                let v = if line == 1 { top + share * (from - top) } else { from + share * (top - from) };
                self.shoot(truth::gully_middle(v) + off, v, &code);
            }
        }
    }

    /// The back of the track, its outer edge on the way back, then the toe of its bank.
    fn track(&mut self) {
        let lines = [
            ("track-back1", -truth::TRACK_WIDTH, true),
            ("track-top1", 0.0, false),
            ("track-toe1", truth::TRACK_FACE, true),
        ];
        for (code, below, forward) in lines {
            let steps = 21_u32;
            for step in 0..=steps {
                let share = f64::from(step) / f64::from(steps);
                let u = 2.0 + (truth::TRACK_END - 4.0) * if forward { share } else { 1.0 - share };
                self.shoot(u, truth::track_edge(u) - below, code);
            }
        }
    }

    /// Two poles of an overhead line and a tree to keep, in the upper east.
    fn things(&mut self) {
        for (u, v, code) in [(214.0, 231.0, "pole1"), (281.0, 214.0, "pole1"), (196.0, 205.0, "tree big red gum")] {
            self.shoot(u, v, code);
        }
    }

    /// The entry of a ground shot nearest to a place.
    fn nearest(&self, u: f64, v: f64) -> usize {
        let (easting, northing) = truth::to_grid(u, v);
        let distance = |shot: &Stored| (shot.easting - easting).hypot(shot.northing - northing);
        (0..self.shots.len())
            .filter(|index| self.shots[*index].code == "gs")
            .min_by(|a, b| distance(&self.shots[*a]).total_cmp(&distance(&self.shots[*b])))
            .expect("ground shots")
    }

    /// Day one as its file, and the line of each entry.
    fn as_metres(&self) -> (String, Vec<usize>) {
        let mut text =
            String::from("point,easting,northing,elevation,code,fix,horizontal sigma,vertical sigma,pdop,time\n");
        let mut lines = Vec::new();
        for shot in &self.shots {
            lines.push(text.matches('\n').count() + 1);
            let (hour, minute, second) = (shot.second / 3600 % 24, shot.second / 60 % 60, shot.second % 60);
            let _ = writeln!(
                text,
                "{},{:.3},{:.3},{:.3},{},{},{:.3},{:.3},{:.1},2026-03-14T{hour:02}:{minute:02}:{second:02}",
                shot.point,
                shot.easting,
                shot.northing,
                shot.elevation,
                shot.code,
                shot.fix,
                shot.sigma.0,
                shot.sigma.1,
                shot.pdop
            );
        }
        (text, lines)
    }

    /// Day two as its file, and the line of each entry.
    fn as_feet(&self) -> (String, Vec<usize>) {
        let mut text = String::from("# Kestrel Flat, lower hill, feet\n");
        let mut lines = Vec::new();
        for (index, shot) in self.shots.iter().enumerate() {
            if shot.code.starts_with("track") && !self.shots[index - 1].code.starts_with("track") {
                text.push_str("\n# track\n");
            }
            lines.push(text.matches('\n').count() + 1);
            let feet = |metres: f64| metres / METRES_PER_FOOT;
            let (northing, easting, elevation) = (feet(shot.northing), feet(shot.easting), feet(shot.elevation));
            let _ = writeln!(text, "{}\t{northing:.3}\t{easting:.3}\t{elevation:.3}\t{}", shot.point, shot.code);
        }
        (text, lines)
    }
}

/// The surveyor shoots breaklines by themselves and leaves the grid out beside them.
fn near_a_breakline(u: f64, v: f64) -> bool {
    let gully = v < truth::GULLY_HEAD + 4.0 && (u - truth::gully_middle(v)).abs() < truth::GULLY_HALF_WIDTH + 2.5;
    let track = u < truth::TRACK_END + 2.0
        && (-truth::TRACK_WIDTH - 2.0..truth::TRACK_FACE + 2.5).contains(&(truth::track_edge(u) - v));
    gully || track
}

fn blunders_of_day_one(book: &mut Book) -> Vec<Planted> {
    let mut planted = Vec::new();
    let mut tell = |index, kind, value| planted.push(Planted { day: 1, index, kind, value });

    for (u, v, off) in [(70.0, 215.0, 0.41), (150.0, 222.0, -0.33), (205.0, 118.0, 0.56)] {
        let at = book.nearest(u, v);
        let shot = &mut book.shots[at];
        (shot.fix, shot.sigma, shot.pdop) = ("float", (0.21, 0.38), 3.9);
        (shot.easting, shot.elevation) = (shot.easting + 0.6 * off, shot.elevation + off);
        tell(at, "float", format!("{off:+.2} m"));
    }
    let at = book.nearest(52.0, 160.0);
    book.shots[at].elevation += 1.83;
    tell(at, "false fix", "+1.83 m".to_owned());

    let first = book.nearest(160.0, 196.0);
    for at in [first, first + 1] {
        book.shots[at].elevation += 0.20;
        tell(at, "pole height", "+0.20 m".to_owned());
    }
    let at = book.nearest(112.0, 190.0);
    let shot = &mut book.shots[at];
    (shot.easting, shot.northing) = (shot.northing, shot.easting);
    tell(at, "swapped", "easting and northing".to_owned());

    let at = book.nearest(232.0, 220.0);
    book.shots[at].elevation += GEOID;
    tell(at, "ellipsoidal height", format!("{GEOID:+.2} m"));

    let at = book.nearest(20.0, 225.0);
    book.shots[at].point = book.shots[at - 1].point;
    tell(at, "duplicate number", format!("{}", book.shots[at].point));

    // Shot again at the end of the day: three repeats that agree and one that does not.
    for (u, v, off) in [(40.0, 130.0, 0.0), (118.0, 132.0, 0.0), (190.0, 170.0, 0.0), (90.0, 118.0, 0.24)] {
        let at = book.nearest(u, v);
        let (u, v) = truth::to_site(book.shots[at].easting, book.shots[at].northing);
        book.shoot(u, v, "gs");
        let last = book.shots.len() - 1;
        if off != 0.0 {
            book.shots[last].elevation += off;
            tell(last, "repeat disagrees", format!("{off:+.2} m"));
        }
    }
    planted
}

fn blunders_of_day_two(book: &mut Book) -> Vec<Planted> {
    let at = book.nearest(150.0, 84.0);
    book.shots[at].elevation -= 2.64;
    let zero = book.nearest(76.0, 20.0);
    book.shots[zero].elevation = 0.0;
    vec![
        Planted { day: 2, index: at, kind: "false fix", value: "-2.64 m".to_owned() },
        Planted { day: 2, index: zero, kind: "impossible height", value: "0.000".to_owned() },
    ]
}

fn told(planted: &[Planted], lines1: &[usize], lines2: &[usize]) -> String {
    let mut rows: Vec<(u8, usize, &str, &str)> = planted
        .iter()
        .map(|blunder| {
            let lines = if blunder.day == 1 { lines1 } else { lines2 };
            (blunder.day, lines[blunder.index], blunder.kind, blunder.value.as_str())
        })
        .collect();
    rows.sort_unstable();
    let mut text = String::from("file,line,kind,value\n");
    for (day, line, kind, value) in rows {
        let file = if day == 1 { "day1.csv" } else { "day2.txt" };
        let _ = writeln!(text, "{file},{line},{kind},{value}");
    }
    text
}

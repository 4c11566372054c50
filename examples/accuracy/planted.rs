//! Height blunders planted in lists of shots, and how many of them a check of the survey finds.
//!
//! A list is walked over a ground of which every point is known: the hidden ground of Kestrel Flat with its coded gully
//! and track bank, or the ground points of a real cloud, one in a jittered cell of 5 to 15 m, with 15 mm of noise in
//! height and 8 mm in plan; shots on faces steeper than one in four are coded as breaks, each for itself, all others as ground. The list is checked once as it is: that gives the standard deviation
//! s of each shot against its neighbours. Then about one shot in a hundred is moved up or down by so many s, anywhere or
//! so far apart that no shot has two of them among its neighbours, and the list is checked again; so for each size anew, at the same
//! places. A blunder counts as found when its shot is set aside or told as off its neighbours; a good shot
//! of which the same is said is a false alarm.

#![allow(dead_code, reason = "the test that shares this file measures less")]

use rand::seq::SliceRandom as _;
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, StandardNormal};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use swalewright::frame::SiteFrame;
use swalewright::geom::Point;
use swalewright::io::read::points::{self, FileSettings};
use swalewright::notes::Noted;
use swalewright::survey::{self, PointFile, Role, Roles, Settings, Survey};
use swalewright::units::LengthUnit;

/// A shot: easting, northing, elevation, code, and whether it stands on a bank.
pub(crate) type Shot = ([f64; 3], String, bool);

/// Sizes that are planted, in standard deviations.
pub(crate) const SIZES: [u32; 5] = [3, 4, 5, 6, 8];

/// How near to each other blunders are planted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Planting {
    /// As chance has it: side by side too.
    Anywhere,
    /// Six mean spacings at least from one to the next: a shot on the ground is judged by what stands within three.
    Apart,
}

/// What was counted.
#[derive(Debug, Clone, Default)]
pub(crate) struct Tally {
    pub(crate) lists: u32,
    /// Found and planted, by size.
    pub(crate) blunders: BTreeMap<u32, (u32, u32)>,
    /// Good shots set aside, and good shots.
    pub(crate) false_alarms: (u32, u32),
    /// The same of those on banks.
    pub(crate) on_banks: (u32, u32),
    /// Every s, metres.
    pub(crate) deviations: Vec<f64>,
    /// Sum of the squares of the steps of clean lists in their own s, and how many.
    pub(crate) squares: (f64, u32),
}

impl Tally {
    pub(crate) fn add(&mut self, other: &Self) {
        let sum = |a: &mut (u32, u32), b: (u32, u32)| *a = (a.0 + b.0, a.1 + b.1);
        self.lists += other.lists;
        for (&size, &count) in &other.blunders {
            sum(self.blunders.entry(size).or_default(), count);
        }
        sum(&mut self.false_alarms, other.false_alarms);
        sum(&mut self.on_banks, other.on_banks);
        self.squares = (self.squares.0 + other.squares.0, self.squares.1 + other.squares.1);
        self.deviations.extend(&other.deviations);
    }

    /// Share found of one size.
    pub(crate) fn rate(&self, size: u32) -> f64 {
        self.blunders.get(&size).map_or(f64::NAN, |&count| share(count))
    }
}

/// The share that a count is of its whole.
pub(crate) fn share((part, whole): (u32, u32)) -> f64 {
    f64::from(part) / f64::from(whole)
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// A real ground to walk over.
#[derive(Debug)]
pub(crate) struct Terrain {
    ground: Vec<[f64; 3]>,
    tree: kdtree::KdTree<f64, usize, [f64; 2]>,
}

impl Terrain {
    pub(crate) fn new(ground: Vec<[f64; 3]>) -> Self {
        let mut tree = kdtree::KdTree::with_capacity(2, 64);
        for (i, [x, y, _]) in ground.iter().enumerate() {
            tree.add([*x, *y], i).expect("finite coordinates");
        }
        Self { ground, tree }
    }

    fn near(&self, x: f64, y: f64, reach: f64) -> Vec<[f64; 3]> {
        let found = self.tree.within(&[x, y], reach * reach, &kdtree::distance::squared_euclidean);
        found.expect("finite coordinates").into_iter().map(|(_, &i)| self.ground[i]).collect()
    }

    /// True where the ground within three metres is steeper than one in four: the face of a bank, ditch or pond.
    fn is_bank(&self, [x, y, _]: [f64; 3]) -> bool {
        let points = self.near(x, y, 3.0);
        let count = points.len() as f64;
        if points.len() < 5 {
            return false;
        }
        let mean = |k: usize| points.iter().map(|p| p[k]).sum::<f64>() / count;
        let middle = [mean(0), mean(1), mean(2)];
        let product = |a: usize, b: usize| points.iter().map(|p| (p[a] - middle[a]) * (p[b] - middle[b])).sum::<f64>();
        let (xx, xy, yy, xz, yz) = (product(0, 0), product(0, 1), product(1, 1), product(0, 2), product(1, 2));
        let determinant = xx * yy - xy * xy;
        let slope = [(xz * yy - yz * xy) / determinant, (yz * xx - xz * xy) / determinant];
        slope[0].hypot(slope[1]) > 0.25
    }

    /// Shots about so far apart.
    pub(crate) fn walked(&self, spacing: f64, random: &mut ChaCha8Rng) -> Vec<Shot> {
        let low = |k: usize| self.ground.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min);
        let high = |k: usize| self.ground.iter().map(|p| p[k]).fold(f64::NEG_INFINITY, f64::max);
        let (mut shots, mut taken) = (Vec::new(), BTreeSet::new());
        let mut y = low(1) + spacing / 2.0;
        while y < high(1) {
            let mut x = low(0) + spacing / 2.0;
            while x < high(0) {
                let place = [x + 0.2 * spacing * normal(random), y + 0.2 * spacing * normal(random)];
                let nearest =
                    self.tree.nearest(&place, 1, &kdtree::distance::squared_euclidean).expect("finite places");
                if let Some(&(squared, &i)) = nearest.first()
                    && squared < 1.0
                    && taken.insert(i)
                {
                    let [x, y, z] = self.ground[i];
                    let shot = [x + 0.008 * normal(random), y + 0.008 * normal(random), z + 0.015 * normal(random)];
                    let bank = self.is_bank(shot);
                    let code = if bank { format!("ridge{}", shots.len() + 1) } else { "gs".to_owned() };
                    shots.push((shot, code, bank));
                }
                x += spacing;
            }
            y += spacing;
        }
        shots
    }
}

/// The survey of a list.
pub(crate) fn checked(shots: &[Shot]) -> Survey {
    told(shots).value
}

/// The survey of a list with what is told of it.
pub(crate) fn told(shots: &[Shot]) -> Noted<Survey> {
    let mut text = String::from("point,easting,northing,elevation,code\n");
    for (i, ([x, y, z], code, _)) in shots.iter().enumerate() {
        writeln!(text, "{},{x:.3},{y:.3},{z:.3},{code}", i + 1).expect("a text takes what is written");
    }
    let file: PointFile =
        points::parse(text.as_bytes(), "walk.csv", &FileSettings::default()).expect("a list of shots");
    let [x, y, _] = shots[0].0;
    let frame = SiteFrame {
        crs: "local".to_owned(),
        name: "site grid".to_owned(),
        height: "as surveyed".to_owned(),
        unit: LengthUnit::Metres,
        combined_factor: 1.0,
        origin: Point::new(x.round(), y.round()),
    };
    let codes = ["ridge", "drain", "track-back", "track-top", "track-toe"].map(|code| (Role::Breakline, code));
    let roles = Roles::with(codes.into_iter().chain([(Role::Ground, "gs")]));
    survey::check(&[file], &Settings { roles, ..Settings::default() }, &frame).expect("a survey")
}

fn distance(a: &Shot, b: &Shot) -> f64 {
    (a.0[0] - b.0[0]).hypot(a.0[1] - b.0[1])
}

/// Side of the square that a shot has for itself, of the rectangle round all of them.
fn mean_spacing(shots: &[Shot]) -> f64 {
    let side = |k: usize| {
        let of = || shots.iter().map(|shot| shot.0[k]);
        of().fold(f64::NEG_INFINITY, f64::max) - of().fold(f64::INFINITY, f64::min)
    };
    (side(0) * side(1) / shots.len() as f64).sqrt()
}

/// Plants blunders of each size in one list and counts.
pub(crate) fn tally(shots: &[Shot], (per_hundred, planting): (f64, Planting), seed: u64) -> Tally {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let clean = checked(shots);
    let mut tally = Tally { lists: 1, ..Tally::default() };
    let mut deviations = BTreeMap::new();
    for (shot, standing) in clean.shots.iter().zip(&clean.neighbours) {
        let Some(standing) = standing else { continue };
        deviations.insert(usize::try_from(shot.line).expect("a short list") - 2, standing.sigma);
        tally.deviations.push(standing.sigma);
        tally.squares.0 += (standing.off / standing.sigma).powi(2);
        tally.squares.1 += 1;
    }
    let mut candidates: Vec<usize> = deviations.keys().copied().collect();
    candidates.shuffle(&mut random);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a list of shots")]
    let count = ((shots.len() as f64 * per_hundred / 100.0).round() as usize).max(1);
    let room = if planting == Planting::Apart { 6.0 * mean_spacing(shots) } else { 0.0 };
    // Place and direction of each.
    let mut chosen: Vec<(usize, f64)> = Vec::new();
    for i in candidates {
        if chosen.len() < count && chosen.iter().all(|&(j, _)| distance(&shots[i], &shots[j]) >= room) {
            chosen.push((i, if random.random() { 1.0 } else { -1.0 }));
        }
    }
    for size in SIZES {
        let moved: BTreeMap<usize, f64> =
            chosen.iter().map(|&(i, up)| (i, up * f64::from(size) * deviations[&i])).collect();
        count_told(shots, &moved, size, &mut tally);
    }
    tally
}

/// Checks a list in which some shots are moved up by so many metres, and counts which are told.
fn count_told(shots: &[Shot], moved: &BTreeMap<usize, f64>, size: u32, tally: &mut Tally) {
    let told = told_of(&spoiled(shots, moved));
    for (i, shot) in shots.iter().enumerate() {
        let out = u32::from(told.contains(&i));
        if moved.contains_key(&i) {
            let count = tally.blunders.entry(size).or_default();
            *count = (count.0 + out, count.1 + 1);
        } else {
            tally.false_alarms = (tally.false_alarms.0 + out, tally.false_alarms.1 + 1);
            if shot.2 {
                tally.on_banks = (tally.on_banks.0 + out, tally.on_banks.1 + 1);
            }
        }
    }
}

/// A list with some shots moved up by so many metres.
pub(crate) fn spoiled(shots: &[Shot], moved: &BTreeMap<usize, f64>) -> Vec<Shot> {
    let mut spoiled = shots.to_vec();
    moved.iter().for_each(|(&i, up)| spoiled[i].0[2] += up);
    spoiled
}

/// Which shots of a list are set aside or told as off their neighbours.
pub(crate) fn told_of(shots: &[Shot]) -> BTreeSet<usize> {
    let found = checked(shots);
    let lines = found.set_aside.iter().map(|row| row.line);
    let doubtful = found.doubtful.iter().map(|&index| found.shots[index as usize].line);
    lines.chain(doubtful).map(|line| usize::try_from(line).expect("a short list") - 2).collect()
}

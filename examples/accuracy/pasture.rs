//! Ground found on real pasture with planted objects: tufts, shrubs, a vehicle and low outliers on a cloud of bare ground.

use crate::clouds::Score;
use crate::report::{Data, Outcome, Section, Table};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::convert::Infallible;
use std::fmt::Write as _;
use std::path::Path;
use swalewright::frame::FrameDefinition;
use swalewright::geom::{Point, Point3};
use swalewright::ground::classify::{ClassifySettings, CloudPoint, PointStream, Verdict, classify};
use swalewright::io::read::cloud::{CloudFile, GROUND};
use swalewright::notes::Silent;

pub(crate) const SECTION: Section = Section { name: "pasture", measure };

/// What is planted.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    /// Of grass: 0.6 m across, 0.3 to 0.6 m high; the laser's points fall anywhere in its upper two thirds.
    Tuft,
    /// 2 m across, 0.8 to 1.8 m high.
    Shrub,
    /// 2 by 5 m, 1.6 m high.
    Vehicle,
    /// A lone point 1 to 12 m below.
    Low,
}

const KINDS: [(Kind, &str, usize); 4] = [
    (Kind::Tuft, "tufts of grass (0.6 m across, 0.3 to 0.6 m high)", 600),
    (Kind::Shrub, "shrubs (2 m across, 0.8 to 1.8 m high)", 40),
    (Kind::Vehicle, "vehicles (2 by 5 m, 1.6 m high)", 2),
    (Kind::Low, "lone low points (1 to 12 m below)", 60),
];

struct Planted {
    points: Vec<(Point3, Point3, Option<Kind>)>,
}

impl PointStream for Planted {
    type Error = Infallible;

    fn pass(&self, take: &mut dyn FnMut(CloudPoint)) -> Result<(), Infallible> {
        self.points.iter().for_each(|(place, ..)| take(CloudPoint { place: *place, last: true }));
        Ok(())
    }
}

fn measure(data: &Data) -> Result<Outcome, Box<dyn std::error::Error>> {
    let path = match data.part("samples/field_and_ditch_120m.laz") {
        Ok(path) => path,
        Err(not_run) => return Ok(not_run),
    };
    let scene = planted(&path)?;
    let classifier = classify(&scene, &ClassifySettings::default(), &Silent)?.value;
    let accepted: Vec<bool> = scene
        .points
        .iter()
        .map(|(place, ..)| classifier.verdict(CloudPoint { place: *place, last: true }) == Verdict::Ground)
        .collect();
    let mut score = Score::default();
    let mut table = Table::default();
    writeln!(table.markdown, "| planted | points | accepted as ground |\n|---|---|---|")?;
    for (kind, name, _) in KINDS {
        let of = |(_, accepted): &(&(Point3, Point3, Option<Kind>), &bool)| **accepted;
        let all: Vec<_> = scene.points.iter().zip(&accepted).filter(|((_, _, own), _)| *own == Some(kind)).collect();
        let taken = all.iter().filter(|pair| of(pair)).count();
        writeln!(table.markdown, "| {name} | {} | {taken} |", all.len())?;
    }
    let mut errors = Vec::new();
    for ((place, truth, kind), accepted) in scene.points.iter().zip(&accepted) {
        score.count(kind.is_none(), *accepted);
        if *accepted {
            errors.push(place.z - truth.z);
        }
    }
    let bias = errors.iter().sum::<f64>() / errors.len() as f64;
    let surface = surface_bias(&scene, &accepted);
    writeln!(
        table.markdown,
        "\nOf {} ground points {:.2} % are refused; of {} planted ones {:.2} % are accepted. Accepted points stand {:.1} mm above \
         the bare ground on average; the mean of the accepted points stands {:.1} mm above the mean of the bare ground, cell by \
         cell of 1 m, and {:.1} mm in the cells where something was planted.",
        score.ground_kept + score.ground_lost,
        score.type_one(),
        score.other_taken + score.other_left,
        score.type_two(),
        bias * 1000.0,
        surface.0 * 1000.0,
        surface.1 * 1000.0
    )?;
    table.at_most("planted points accepted, percent,", score.type_two(), 5.0);
    table.at_most("the mean height bias, mm,", bias.abs() * 1000.0, 20.0);
    table.at_most("the mean height bias by cells, mm,", surface.0.abs() * 1000.0, 20.0);
    Ok(Outcome::Measured(table))
}

/// Mean difference, cell by cell of 1 m, between accepted points and bare ground: everywhere, and where something was planted.
fn surface_bias(scene: &Planted, accepted: &[bool]) -> (f64, f64) {
    let mut cells: std::collections::BTreeMap<(i64, i64), [f64; 5]> = std::collections::BTreeMap::new();
    for ((place, truth, kind), accepted) in scene.points.iter().zip(accepted) {
        #[expect(clippy::cast_possible_truncation, reason = "a place in metres")]
        let cell = cells.entry((place.x.floor() as i64, place.y.floor() as i64)).or_default();
        // Heights, not differences: an accepted object lifts its cell. Both sums over what stands there.
        if *accepted {
            cell[0] += place.z - truth.z;
            cell[1] += 1.0;
        }
        if kind.is_some() {
            cell[4] += 1.0;
        }
        cell[2] += 1.0;
    }
    let mean = |planted: bool| {
        let differences: Vec<f64> = cells
            .values()
            .filter(|cell| cell[1] > 0.0 && (!planted || cell[4] > 0.0))
            .map(|cell| cell[0] / cell[1])
            .collect();
        differences.iter().sum::<f64>() / differences.len().max(1) as f64
    };
    (mean(false), mean(true))
}

/// The ground of the file with objects planted on it; each point with where the ground is under it.
fn planted(path: &Path) -> Result<Planted, Box<dyn std::error::Error>> {
    let file = CloudFile::open(path)?.value;
    let mut first = None;
    let mut ground = Vec::new();
    file.pass(&mut |record| {
        let [x, y, _] = *first.get_or_insert(record.place);
        if record.class == GROUND {
            let frame = FrameDefinition::local(swalewright::units::LengthUnit::Metres).site_frame((x, y), None);
            let place = frame.to_local(record.place[0], record.place[1]);
            ground.push(place.at(record.place[2]));
        }
    })?;
    let mut random = ChaCha8Rng::seed_from_u64(31);
    let mut objects = Vec::new();
    for (kind, _, count) in KINDS {
        for _ in 0..count {
            let at = ground[random.random_range(0..ground.len())].plan();
            objects.push((kind, at, random.random_range(0.0..1.0), random.random_range(0.0..std::f64::consts::TAU)));
        }
    }
    let mut points = Vec::new();
    for place in ground {
        let on = objects.iter().find(|(kind, at, _, turn)| stands_on(*kind, place.plan() - *at, *turn));
        points.push(match on {
            Some((kind, _, size, _)) => {
                let share: f64 = random.random_range(0.0..1.0);
                let height = match kind {
                    Kind::Tuft => (0.3 + 0.3 * size) * (1.0 + 2.0 * share) / 3.0,
                    Kind::Shrub => (0.8 + size) * (1.0 + 2.0 * share) / 3.0,
                    Kind::Vehicle => 1.6 - 0.05 * share,
                    Kind::Low => 0.0,
                };
                (Point3::new(place.x, place.y, place.z + height), place, Some(*kind))
            }
            None => (place, place, None),
        });
    }
    // The low ones stand beside what is there.
    for (_, at, size, _) in objects.iter().filter(|(kind, ..)| *kind == Kind::Low) {
        let near = points.iter().map(|(_, truth, _)| *truth);
        let truth = near.min_by(|a, b| a.plan().distance(*at).total_cmp(&b.plan().distance(*at)));
        if let Some(truth) = truth {
            points.push((at.at(truth.z - 1.0 - 11.0 * size), at.at(truth.z), Some(Kind::Low)));
        }
    }
    Ok(Planted { points })
}

fn stands_on(kind: Kind, from: swalewright::geom::Vector, turn: f64) -> bool {
    match kind {
        Kind::Tuft => from.length() < 0.3,
        Kind::Shrub => from.length() < 1.0,
        Kind::Vehicle => {
            let along = Point::new(turn.cos(), turn.sin());
            let (length, width) = (from.x * along.x + from.y * along.y, from.y * along.x - from.x * along.y);
            length.abs() < 2.5 && width.abs() < 1.0
        }
        Kind::Low => false,
    }
}

//! What the test pits of a site prove of the ground under each work.
//!
//! Each place of a work is judged by the nearest pit within reach that has something to say of a dig as deep as the one there: a pit
//! that was not dug so deep and met nothing strange leaves the word to the next.

use super::pit::{Layer, Met, Odds, Says, TestPit};
use super::samples::{Extent, Part, Sample, parts};
use super::standing::{PartProof, PitWord, SoilProof};
use super::tell;
use super::to_dig::{Unseen, to_dig};
use crate::geom::Point;
use crate::ground::Ground;
use crate::notes::Noted;
use crate::soil::Soil;
use crate::surface::Locator;
use crate::units::{Length, Station};
use crate::works::{SitePlan, Work};

/// Stretches of a line nearer to each other than this are one, metres.
const ONE_STRETCH: f64 = 1.5;

/// Holds the test pits against every work of a plan: what they prove goes into it, what is to be told beside it.
pub fn prove_soil(plan: &mut Noted<SitePlan>, ground: &Ground, pits: &[TestPit], reach: Length) {
    let natural = Locator::new(&ground.tin);
    let SitePlan { works, surfaces, .. } = &plan.value;
    let (mut soils, mut unseen) = (Vec::new(), Vec::new());
    for (work, after) in works.iter().zip(surfaces) {
        soils.push(of_work(work, &parts(work, &natural, &Locator::new(after)), pits, reach, &mut unseen));
    }
    plan.value.pits_to_dig = to_dig(&unseen, pits, reach);
    plan.value.soils = soils;
    plan.value.test_pits = pits.to_vec();
    let notes = tell::notes(&plan.value, ground);
    plan.notes.extend(notes);
}

/// What a place came to.
enum Judged<'a> {
    Open,
    AsTaken,
    Otherwise(&'a TestPit, Vec<Odds>),
}

fn of_work<'a>(
    work: &'a Work,
    parts: &[Part],
    pits: &[TestPit],
    reach: Length,
    unseen: &mut Vec<Unseen<'a>>,
) -> SoilProof {
    let shared = work.shared();
    let judge = |sample: &Sample| {
        let mut near: Vec<(f64, &TestPit)> = pits
            .iter()
            .map(|pit| (pit.place.distance(sample.place), pit))
            .filter(|near| near.0 <= reach.in_metres())
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let words = near.into_iter().map(|(_, pit)| (pit, pit.says(shared.soil, shared.topsoil, sample.depth())));
        for (pit, says) in words {
            match says {
                Says::AsTaken => return Judged::AsTaken,
                Says::Otherwise(odds) => return Judged::Otherwise(pit, odds),
                Says::NotDeepEnough => {}
            }
        }
        Judged::Open
    };
    let mut words: Vec<PitWord> = pits.iter().filter_map(|pit| nearest(pit, parts, reach)).collect();
    let mut dig = DigMade::default();
    let mut proofs = Vec::new();
    for part in parts {
        let mut proof = PartProof {
            part: part.name,
            by: part.by,
            whole: 0.0,
            proven: 0.0,
            otherwise: 0.0,
            open: Vec::new(),
            furthest: None,
        };
        let mut open = Vec::new();
        let whole: f64 = part.samples.iter().map(|sample| sample.weight).sum();
        for sample in &part.samples {
            proof.whole += sample.weight;
            let judged = judge(sample);
            dig.add(sample, shared.soil, shared.topsoil.in_metres(), &judged);
            match judged {
                Judged::Open => {
                    open.push(sample);
                    unseen.push(Unseen {
                        works: shared.name,
                        kind: shared.kind,
                        part: part.name,
                        place: sample.place,
                        station: sample.station,
                        depth: sample.depth(),
                        share: sample.weight / whole,
                    });
                }
                Judged::AsTaken => proof.proven += sample.weight,
                Judged::Otherwise(pit, odds) => {
                    proof.otherwise += sample.weight;
                    open.push(sample);
                    if let Some(word) = words.iter_mut().find(|word| word.pit == pit.name) {
                        word.meets(part.name, sample, odds);
                    }
                }
            }
        }
        if part.by == Extent::Length {
            proof.open = stretches(&open);
        }
        proof.furthest = furthest(&open, pits);
        proofs.push(proof);
    }
    words.sort_by(|a, b| a.away.in_metres().total_cmp(&b.away.in_metres()));
    let (mix, rock) = dig.made(shared.soil);
    SoilProof { works: shared.name.to_owned(), reach, parts: proofs, pits: words, mix, rock }
}

/// Where a work comes nearest to a pit, within its reach.
fn nearest(pit: &TestPit, parts: &[Part], reach: Length) -> Option<PitWord> {
    let places = parts.iter().flat_map(|part| part.samples.iter().map(move |sample| (part.name, sample)));
    let far = |sample: &Sample| sample.place.distance(pit.place);
    let (part, sample) = places.min_by(|a, b| far(a.1).total_cmp(&far(b.1)))?;
    (far(sample) <= reach.in_metres()).then(|| PitWord {
        pit: pit.name.clone(),
        place: pit.place,
        away: Length::metres(far(sample)),
        part,
        station: Station::metres(sample.station),
        met_at: sample.place,
        dug: pit.depth,
        cut: Length::metres(sample.depth()),
        odds: Vec::new(),
    })
}

/// Places along a line joined to stretches.
fn stretches(samples: &[&Sample]) -> Vec<(Station, Station)> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    for sample in samples {
        let (from, to) = (sample.station - sample.weight / 2.0, sample.station + sample.weight / 2.0);
        match found.last_mut() {
            Some(last) if from - last.1 < ONE_STRETCH => last.1 = to,
            _ => found.push((from, to)),
        }
    }
    found.into_iter().map(|(from, to)| (Station::metres(from.max(0.0)), Station::metres(to))).collect()
}

/// The place furthest from every pit.
fn furthest(samples: &[&Sample], pits: &[TestPit]) -> Option<(Point, Option<Length>)> {
    let far = |place: Point| pits.iter().map(|pit| pit.place.distance(place)).reduce(f64::min);
    let places = samples.iter().map(|sample| (sample.place, far(sample.place)));
    let last = places.max_by(|a, b| a.1.unwrap_or(0.0).total_cmp(&b.1.unwrap_or(0.0)))?;
    Some((last.0, last.1.map(Length::metres)))
}

/// What a dig under its topsoil is made of, cubic metres.
#[derive(Debug, Default)]
struct DigMade {
    whole: f64,
    rock: f64,
    loose: f64,
    placed: f64,
    otherwise: bool,
}

impl DigMade {
    /// A column at a time, by the layers of the pit that speaks for it; as taken where none does, and under a pit's bottom.
    fn add(&mut self, sample: &Sample, taken: &Soil, topsoil: f64, judged: &Judged<'_>) {
        for &(depth, area) in &sample.columns {
            let bank = (depth - topsoil).max(0.0) * area;
            self.whole += bank;
            let mut told = 0.0;
            if let Judged::Otherwise(pit, _) = judged {
                for (from, to, Layer { met, .. }) in pit.layers_between(topsoil, depth) {
                    let part = (to - from) * area;
                    told += part;
                    // Topsoil that goes deeper than is stripped is carried like the soil taken and is never fill.
                    let (loose, placed) = match met {
                        Met::Topsoil => (taken.loose_per_bank, 0.0),
                        Met::Soil(soil) => (soil.loose_per_bank, soil.placed_per_bank),
                    };
                    self.loose += part * loose;
                    self.placed += part * placed;
                    self.otherwise |= !matches!(met, Met::Soil(soil) if soil == taken);
                }
                self.rock += pit.rock.map_or(0.0, |rock| (depth - rock.in_metres().max(topsoil)).max(0.0) * area);
            }
            self.loose += (bank - told).max(0.0) * taken.loose_per_bank;
            self.placed += (bank - told).max(0.0) * taken.placed_per_bank;
        }
    }

    /// The soil that it makes together, where it is not the one taken, and the share of rock.
    fn made(&self, taken: &Soil) -> (Option<Soil>, f64) {
        if self.whole <= 0.0 {
            return (None, 0.0);
        }
        let mix = self.otherwise.then(|| Soil {
            name: format!("{} and what test pits met", taken.name),
            loose_per_bank: self.loose / self.whole,
            placed_per_bank: self.placed / self.whole,
        });
        (mix, self.rock / self.whole)
    }
}

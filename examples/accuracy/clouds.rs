//! Ground found in the reference samples of the ISPRS filter test, held against the classes in them.

use crate::report::{Data, Outcome, Section, Table};
use std::fmt::Write as _;
use std::path::Path;
use swalewright::frame::FrameDefinition;
use swalewright::ground::classify::{ClassifySettings, Verdict, classify};
use swalewright::io::read::cloud::{CloudFile, GROUND, Unclassified};
use swalewright::notes::Silent;

pub(crate) const SECTION: Section = Section { name: "ground-classification", measure };

/// How often ground and the rest were told apart rightly.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Score {
    pub(crate) ground_kept: f64,
    pub(crate) ground_lost: f64,
    pub(crate) other_taken: f64,
    pub(crate) other_left: f64,
}

impl Score {
    pub(crate) const fn count(&mut self, truth: bool, found: bool) {
        match (truth, found) {
            (true, true) => self.ground_kept += 1.0,
            (true, false) => self.ground_lost += 1.0,
            (false, true) => self.other_taken += 1.0,
            (false, false) => self.other_left += 1.0,
        }
    }

    fn points(self) -> f64 {
        self.ground_kept + self.ground_lost + self.other_taken + self.other_left
    }

    /// Ground refused, percent of the ground.
    pub(crate) fn type_one(self) -> f64 {
        100.0 * self.ground_lost / (self.ground_kept + self.ground_lost)
    }

    /// The rest accepted, percent of the rest.
    pub(crate) fn type_two(self) -> f64 {
        100.0 * self.other_taken / (self.other_taken + self.other_left)
    }

    /// All that is wrong, percent of all.
    pub(crate) fn total(self) -> f64 {
        100.0 * (self.ground_lost + self.other_taken) / self.points()
    }

    /// Cohen's kappa, percent.
    pub(crate) fn kappa(self) -> f64 {
        let n = self.points();
        let agreed = (self.ground_kept + self.other_left) / n;
        let by_chance = ((self.ground_kept + self.ground_lost) * (self.ground_kept + self.other_taken)
            + (self.other_taken + self.other_left) * (self.ground_lost + self.other_left))
            / (n * n);
        100.0 * (agreed - by_chance) / (1.0 - by_chance)
    }
}

fn measure(data: &Data) -> Result<Outcome, Box<dyn std::error::Error>> {
    let files = match data.files("isprs", &["laz", "las"]) {
        Ok(files) => files,
        Err(not_run) => return Ok(not_run),
    };
    let mut table = Table::default();
    writeln!(table.markdown, "| sample | points | ground refused % | rest accepted % | total error % | kappa % |")?;
    writeln!(table.markdown, "|---|---|---|---|---|---|")?;
    let mut scores = Vec::new();
    for path in &files {
        let score = score(path)?;
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        row(&mut table, name.trim_end_matches("-utm"), &format!("{}", score.points()), figures(score))?;
        table.at_most(&format!("total error of {name}"), score.total(), 9.0);
        scores.push(score);
    }
    let mean = |of: fn(Score) -> f64| scores.iter().map(|score| of(*score)).sum::<f64>() / scores.len() as f64;
    let (total, kappa) = (mean(Score::total), mean(Score::kappa));
    row(&mut table, "mean", "", [mean(Score::type_one), mean(Score::type_two), total, kappa])?;
    table.at_most("mean total error", total, 4.1);
    table.at_most("86 less the mean kappa", 86.0 - kappa, 0.0);
    Ok(Outcome::Measured(table))
}

fn figures(score: Score) -> [f64; 4] {
    [score.type_one(), score.type_two(), score.total(), score.kappa()]
}

fn row(table: &mut Table, name: &str, points: &str, figures: [f64; 4]) -> std::fmt::Result {
    let [one, two, total, kappa] = figures;
    writeln!(table.markdown, "| {name} | {points} | {one:.2} | {two:.2} | {total:.2} | {kappa:.2} |")
}

/// One file: the classes in it are hidden from the classifier and then compared with what it says.
fn score(path: &Path) -> Result<Score, Box<dyn std::error::Error>> {
    let file = CloudFile::open(path)?.value;
    let mut middle = (0.0, 0.0);
    file.pass(&mut |record| middle = (record.place[0], record.place[1]))?;
    let frame = FrameDefinition::local(swalewright::units::LengthUnit::Metres).site_frame(middle, None);
    let clouds = Unclassified { files: vec![file], frame };
    let classifier = classify(&clouds, &ClassifySettings::default(), &Silent)?.value;
    let mut score = Score::default();
    clouds.files[0].pass(&mut |record| {
        if let Some(point) = clouds.asked(&record) {
            score.count(record.class == GROUND, classifier.verdict(point) == Verdict::Ground);
        }
    })?;
    Ok(score)
}

//! The ground of clouds: their ground class where they have one, else found here.

use super::PipelineError;
use super::config::{Classify, CloudsAsked};
use crate::frame::SiteFrame;
use crate::geom::Point3;
use crate::ground::classify::{self, Classifier, ClassifyError, ClassifySettings, Verdict};
use crate::io::read::ReadError;
use crate::io::read::cloud::{self, Cloud, CloudFile, Record, Unclassified};
use crate::io::write::cloud::{ClassifiedError, classified};
use crate::notes::{Note, Noted, Reporter};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The ground of some clouds.
#[derive(Debug, Default)]
pub(super) struct CloudGround {
    /// Ground points, local metres.
    pub(super) points: Vec<Point3>,
    /// What found it, when some were without.
    pub(super) found: Option<Found>,
}

/// Ground found anew: how, and in which files.
#[derive(Debug)]
pub(super) struct Found {
    classifier: Classifier,
    clouds: Unclassified,
}

/// Reads clouds, with as many ground points in all as the memory allows.
pub(super) fn read(paths: &[PathBuf], asked: &CloudsAsked) -> Result<Noted<Vec<Cloud>>, PipelineError> {
    let mut notes = Vec::new();
    let mut clouds = Vec::with_capacity(paths.len());
    let (mut room, mut points) = (asked.most_points(), 0);
    for path in paths {
        let ground: &[u8] = if asked.classify == Classify::Always { &[] } else { &asked.ground_classes };
        let cloud = cloud::read_at_most(path, ground, room)?.drain_into(&mut notes);
        points += cloud.ground_points;
        room = room.saturating_sub(cloud.ground_points);
        clouds.push(cloud);
    }
    if points > asked.most_points() {
        return Err(too_many(clouds.iter().map(|cloud| &cloud.file), asked, points));
    }
    notes.extend(absent_classes(&clouds, asked));
    Ok(Noted { value: clouds, notes })
}

/// Classes that the pipeline file names and no point has: a slip, since nobody names a class that is not there.
fn absent_classes(clouds: &[Cloud], asked: &CloudsAsked) -> Option<Note> {
    let there = |class: &u8| clouds.iter().any(|cloud| cloud.classes.contains_key(class));
    let absent: Vec<String> = asked.ground_classes.iter().filter(|class| !there(class)).map(u8::to_string).collect();
    // Without the usual one a cloud is told to be unclassified.
    if clouds.is_empty() || absent.is_empty() || asked.ground_classes == [cloud::GROUND] {
        return None;
    }
    let classes: BTreeSet<u8> = clouds.iter().flat_map(|cloud| cloud.classes.keys().copied()).collect();
    let classes: Vec<String> = classes.iter().map(u8::to_string).collect();
    let text = format!(
        "no point of a cloud has class {}, which cloud-ground names: there are {}",
        absent.join(", "),
        classes.join(", ")
    );
    Some(Note::new("cloud::class-not-there", text))
}

fn too_many<'a>(files: impl Iterator<Item = &'a CloudFile>, asked: &CloudsAsked, points: u64) -> PipelineError {
    let names: Vec<&str> = files.map(CloudFile::name).collect();
    PipelineError::Unreadable { path: names.join(", ").into(), why: asked.too_many(points) }
}

/// The ground of all clouds in the site's frame; those without a ground class are told apart together, as one.
pub(super) fn ground(
    clouds: Vec<Cloud>,
    asked: &CloudsAsked,
    frame: &SiteFrame,
    reporter: &dyn Reporter,
) -> Result<Noted<CloudGround>, PipelineError> {
    let mut notes = Vec::new();
    let mut made = CloudGround::default();
    let mut files: Vec<CloudFile> = Vec::new();
    for cloud in clouds {
        if cloud.is_unclassified() && asked.classify != Classify::Never {
            notes.extend(cloud.check_frame(frame)?);
            files.push(cloud.file);
        } else {
            made.points.extend(cloud.in_frame(frame)?.drain_into(&mut notes));
        }
    }
    if files.is_empty() {
        return Ok(Noted { value: made, notes });
    }
    let clouds = Unclassified { files, frame: frame.clone() };
    let mut settings = ClassifySettings::default();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an area above zero")]
    let most_cells = (asked.largest.in_square_metres() / (settings.cell * settings.cell)) as u64;
    settings.most_cells = most_cells;
    let names: Vec<&str> = clouds.files.iter().map(CloudFile::name).collect();
    let names = names.join(", ");
    let classifier = classify::classify(&clouds, &settings, reporter)
        .map_err(|why| match why {
            ClassifyError::Stream(why) => PipelineError::Read(why),
            ClassifyError::Cancelled(why) => why.into(),
            why => PipelineError::Read(ReadError::Lacks { path: names.clone(), why: why.to_string() }),
        })?
        .drain_into(&mut notes);
    let (mut ground, mut all, mut low) = (Vec::new(), 0_usize, 0_usize);
    let (mut points, most) = (made.points.len() as u64, asked.most_points());
    classify::PointStream::pass(&clouds, &mut |point| {
        all += 1;
        match classifier.verdict(point) {
            Verdict::Ground => {
                points += 1;
                if points <= most {
                    ground.push(point.place);
                }
            }
            Verdict::Low => low += 1,
            Verdict::Other => {}
        }
    })?;
    if points > most {
        return Err(too_many(clouds.files.iter(), asked, points));
    }
    let share = 100.0 * ground.len() as f64 / all.max(1) as f64;
    let text = format!(
        "{names}: ground found here in {all} points, {} of them ({share:.0} %), {low} far too low; check the ground against \
         shots, see docs/accuracy.md for how often it errs",
        ground.len()
    );
    notes.push(Note::new("cloud::ground-found", text));
    made.points.append(&mut ground);
    made.found = Some(Found { classifier, clouds });
    Ok(Noted { value: made, notes })
}

/// Classes of the LAS specification that are written.
const NEVER_CLASSIFIED: u8 = 0;
const UNCLASSIFIED: u8 = 1;
const LOW_NOISE: u8 = 7;

impl Found {
    /// Writes the clouds with ground as class 2 and far too low points as class 7: `classified.laz`, or
    /// `classified-1.laz` and so on in the order of the files.
    pub(super) fn write(&self, folder: &Path) -> Result<Vec<Note>, PipelineError> {
        let mut notes = Vec::new();
        let files = &self.clouds.files;
        for (at, file) in files.iter().enumerate() {
            let name = match files.len() {
                1 => "classified.laz".to_owned(),
                _ => format!("classified-{}.laz", at + 1),
            };
            if let Some(why) = file.not_written {
                let text = format!("{} {why}, so its points are not written as {name}", file.name());
                notes.push(Note::new("cloud::not-written", text));
                continue;
            }
            classified(&folder.join(&name), file, &|record| self.class(record)).map_err(|why| match why {
                ClassifiedError::Write(why) => PipelineError::Write(why),
                ClassifiedError::Read(why) => PipelineError::Read(why),
            })?;
            notes.push(Note::new("cloud::written", format!("{name} holds {} with its ground", file.name())));
        }
        Ok(notes)
    }

    fn class(&self, record: &Record) -> Option<u8> {
        let other = if matches!(record.class, NEVER_CLASSIFIED | cloud::GROUND) { UNCLASSIFIED } else { record.class };
        self.clouds.asked(record).map(|point| match self.classifier.verdict(point) {
            Verdict::Ground => cloud::GROUND,
            Verdict::Low => LOW_NOISE,
            Verdict::Other => other,
        })
    }
}

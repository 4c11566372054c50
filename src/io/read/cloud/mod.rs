//! Point clouds: LAS 1.0 to 1.5 and LAZ (COPC is read as plain LAZ).
//!
//! The header's claims (points, records, chunks) are held against the file's length before anything is set aside for
//! them; points come in pieces ([`CloudFile`]). Kept are points of the ground classes that are not withheld; all others
//! are counted. Numbers stay in the file's own frame and unit until [`Cloud::in_frame`] brings them to a site. A cloud without ground
//! class can be gone through again and again to find its ground ([`Unclassified`]). Classes as in the LAS 1.4
//! specification, table 17 (ASPRS).

mod checks;
mod classes;
mod file;
mod known;
mod system;

use super::ReadError;
use crate::frame::{FrameError, SiteFrame, resolve};
use crate::geom::Point3;
use crate::ground::classify::{CloudPoint, PointStream};
use crate::notes::{Note, Noted};
pub use classes::class_name;
pub(in crate::io) use file::records;
pub use file::{CloudFile, Record};
use std::collections::BTreeMap;
use std::path::Path;

/// The ground class of the LAS specification.
pub const GROUND: u8 = 2;

/// What a cloud holds.
#[derive(Debug, Clone)]
pub struct Cloud {
    /// The file, to go through its points again.
    pub file: CloudFile,
    /// Ground points: easting, northing, elevation in the file's own frame and unit; no more than were asked for.
    pub ground: Vec<[f64; 3]>,
    /// How many ground points it has, held or not.
    pub ground_points: u64,
    /// How many points of each class, as it stands in the file; withheld ones left out.
    pub classes: BTreeMap<u8, u64>,
    /// Points marked withheld.
    pub withheld: u64,
    /// Of class 12 where that means overlap of flight lines.
    pub overlap: u64,
    /// Lowest and highest easting, northing and elevation of all points that are not withheld.
    pub bounds: Option<[[f64; 3]; 2]>,
}

impl Cloud {
    /// The file as the user named it.
    #[must_use]
    pub fn path(&self) -> &str {
        self.file.name()
    }

    /// Points that are not withheld.
    #[must_use]
    pub fn points(&self) -> u64 {
        self.classes.values().sum()
    }

    /// It has points and none of them is called ground.
    #[must_use]
    pub fn is_unclassified(&self) -> bool {
        self.ground_points == 0 && self.points() > 0
    }

    /// The classes with their numbers of points, for people.
    #[must_use]
    pub fn classes_in_words(&self) -> String {
        let found: Vec<String> =
            self.classes.iter().map(|(class, count)| format!("{class} ({count} points)")).collect();
        found.join(", ")
    }

    /// The ground points in the local frame of a site, metres.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] without ground points, or when the file names another frame than the site's.
    pub fn in_frame(&self, frame: &SiteFrame) -> Result<Noted<Vec<Point3>>, ReadError> {
        if self.ground.is_empty() {
            return Err(self.lacks(if self.classes.is_empty() {
                "no points in this file".to_owned()
            } else {
                format!(
                    "no ground class in this file; classify it (class {GROUND} is ground, found {})",
                    self.classes_in_words()
                )
            }));
        }
        let notes = self.check_frame(frame)?;
        Ok(Noted { value: self.ground.iter().map(|place| local(frame, *place)).collect(), notes })
    }

    /// Holds the frame that the file names against the site's.
    ///
    /// # Errors
    /// [`ReadError::Lacks`] when it is another, [`ReadError::Frame`] when its numbers cannot be taken as they are.
    pub fn check_frame(&self, frame: &SiteFrame) -> Result<Vec<Note>, ReadError> {
        let path = self.path();
        let note = match self.file.crs.as_deref().map(resolve) {
            Some(Ok(own)) if own.crs == frame.crs => return Ok(Vec::new()),
            Some(Ok(own)) if frame.is_local() => Note::new(
                "cloud::frame-left-out",
                format!("{path} stands in {}; its numbers are taken as the site grid's", own.name),
            ),
            Some(Ok(own)) => {
                return Err(self.lacks(format!(
                    "it stands in {} ({}), the site in {} ({}): convert the cloud first",
                    own.crs, own.name, frame.crs, frame.name
                )));
            }
            // Known, but in degrees, or with elevations in another unit: its numbers cannot be taken as they are.
            Some(Err(why)) if !matches!(why, FrameError::Unknown { .. }) => {
                return Err(ReadError::Frame { path: path.to_owned(), source: why });
            }
            Some(Err(why)) => Note::new(
                "cloud::frame-not-understood",
                format!("the frame of {path} is taken as the site's ({}): {why}", frame.name),
            ),
            None => {
                Note::new("cloud::no-frame", format!("{path} names no frame; its numbers are taken as {}", frame.name))
            }
        };
        Ok(vec![note])
    }

    fn lacks(&self, why: String) -> ReadError {
        ReadError::Lacks { path: self.path().to_owned(), why }
    }

    /// What a person should know of its classes.
    fn class_notes(&self, ground: &[u8]) -> Vec<Note> {
        let path = self.path();
        let mut notes = Vec::new();
        if self.overlap > 0 && !ground.contains(&12) {
            let text = format!("{path}: {} points of class 12 (overlap of flight lines) are left out", self.overlap);
            notes.push(Note::new("cloud::overlap", text));
        }
        // Ground under another name, which a user may want beside class 2.
        let kin = [(8, false, "model key points, a choice of the ground points"), (11, true, "road surface")];
        for (class, extended, words) in kin {
            let count = self.classes.get(&class).copied().unwrap_or_default();
            if count > 0 && extended == self.file.extended && !ground.is_empty() && !ground.contains(&class) {
                let text = format!(
                    "{path}: {count} points of class {class} ({words}) are left out; `cloud-ground = [2, {class}]` takes them"
                );
                notes.push(Note::new("cloud::kin-of-ground", text));
            }
        }
        // Classes that the specification leaves to the producer or to later versions.
        let own: Vec<String> = self
            .classes
            .iter()
            .filter(|(class, _)| **class > 18 && !ground.contains(class))
            .map(|(class, count)| format!("{class} ({count} points)"))
            .collect();
        if !own.is_empty() {
            let text = format!(
                "{path}: classes {} are the producer's own or newer than this program; they are left out, unless \
                 `cloud-ground` names them",
                own.join(", ")
            );
            notes.push(Note::new("cloud::own-classes", text));
        }
        notes
    }
}

/// Reads a cloud, keeping the points of the ground classes.
///
/// # Errors
/// [`ReadError::Open`], [`ReadError::Empty`], and [`ReadError::Format`] with what is wrong in the file.
pub fn read(path: &Path, ground: &[u8]) -> Result<Noted<Cloud>, ReadError> {
    read_at_most(path, ground, u64::MAX)
}

/// Reads a cloud, keeping so many points of the ground classes at most; the rest are counted, so that what is too much for the
/// memory allowed is known without holding it.
///
/// # Errors
/// As [`read`].
pub fn read_at_most(path: &Path, ground: &[u8], most: u64) -> Result<Noted<Cloud>, ReadError> {
    let mut notes = Vec::new();
    let file = CloudFile::open(path)?.drain_into(&mut notes);
    let mut cloud = Cloud {
        file,
        ground: Vec::new(),
        ground_points: 0,
        classes: BTreeMap::new(),
        withheld: 0,
        overlap: 0,
        bounds: None,
    };
    cloud.file.clone().pass(&mut |point| {
        if point.withheld {
            cloud.withheld += 1;
            return;
        }
        *cloud.classes.entry(point.class).or_default() += 1;
        cloud.overlap += u64::from(point.overlap);
        let [low, high] = cloud.bounds.get_or_insert([point.place; 2]);
        for (axis, value) in point.place.into_iter().enumerate() {
            low[axis] = low[axis].min(value);
            high[axis] = high[axis].max(value);
        }
        if ground.contains(&point.class) {
            cloud.ground_points += 1;
            if cloud.ground_points <= most {
                cloud.ground.push(point.place);
            }
        }
    })?;
    if let Some(corner) = cloud.bounds.iter().flatten().find(|corner| corner.iter().any(|value| !value.is_finite())) {
        return Err(ReadError::Format {
            path: cloud.path().to_owned(),
            format: "LAS or LAZ cloud",
            why: format!("scale and offset of its header give places such as {corner:?}"),
        });
    }
    notes.extend(cloud.class_notes(ground));
    Ok(Noted { value: cloud, notes })
}

fn local(frame: &SiteFrame, [easting, northing, elevation]: [f64; 3]) -> Point3 {
    frame.to_local(easting, northing).at(elevation * frame.unit.metres())
}

/// Clouds whose ground is to be found, all as one: tiles have no seam.
#[derive(Debug, Clone)]
pub struct Unclassified {
    /// The files.
    pub files: Vec<CloudFile>,
    /// The site's frame, in which their numbers stand.
    pub frame: SiteFrame,
}

impl Unclassified {
    /// A point as the classifier looks at it; `None` for one that is not asked: withheld, noise, water, overlap.
    #[must_use]
    pub fn asked(&self, record: &Record) -> Option<CloudPoint> {
        record.may_be_ground().then(|| CloudPoint { place: local(&self.frame, record.place), last: record.last })
    }
}

impl PointStream for Unclassified {
    type Error = ReadError;

    fn pass(&self, take: &mut dyn FnMut(CloudPoint)) -> Result<(), ReadError> {
        self.files.iter().try_for_each(|file| {
            file.pass(&mut |record| {
                if let Some(point) = self.asked(&record) {
                    take(point);
                }
            })
        })
    }
}

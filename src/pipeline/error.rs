//! Everything that can end a run, with its place, its stable code, and whose fault it is.

use super::config::Faults;
use crate::frame::FrameError;
use crate::ground::GroundError;
use crate::io::read::ReadError;
use crate::io::read::points::PointFileError;
use crate::io::write::WriteError;
use crate::notes::{Cancelled, Place};
use crate::survey::{LevelError, SurveyError};
use std::path::{Path, PathBuf};

/// Whose fault it is that work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fatality {
    /// What was given cannot be used.
    BadInput,
    /// A fault of this program.
    OurFault,
    /// The user asked to stop.
    Interrupted,
}

/// Why a run ended.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PipelineError {
    /// The pipeline file is faulty, or asks for what cannot be.
    #[error(transparent)]
    File(#[from] Faults),
    /// A file that was named on the command line cannot be read.
    #[error("{}: {why}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        why: String,
    },
    /// The output folder cannot be written to.
    #[error("the output folder {} cannot be written to: {why}", path.display())]
    OutputFolder {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        why: String,
    },
    /// A folder that a run did not leave whole.
    #[error("{} is not the output folder of a whole run: {}", path.display(), lacks(path))]
    NoRun {
        /// The folder.
        path: PathBuf,
    },
    /// A run's file is missing, or is not as the run left it.
    #[error("{} is not as the run left it: {why}", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// A cloud, a map file, or a surface.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The ground.
    #[error(transparent)]
    Ground(#[from] GroundError),
    /// A point file.
    #[error(transparent)]
    Points(#[from] PointFileError),
    /// The survey.
    #[error(transparent)]
    Survey(SurveyError),
    /// A level book.
    #[error(transparent)]
    Levels(#[from] LevelError),
    /// The frame.
    #[error(transparent)]
    Frame(#[from] FrameError),
    /// A file could not be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// Stopped on request.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// Something that cannot happen did.
    #[error("a fault of this program: {what}")]
    Fault {
        /// What.
        what: String,
    },
}

impl From<SurveyError> for PipelineError {
    fn from(error: SurveyError) -> Self {
        match error {
            SurveyError::Cancelled(why) => Self::Cancelled(why),
            error => Self::Survey(error),
        }
    }
}

impl PipelineError {
    /// Whose fault it is; decides the exit code.
    #[must_use]
    pub const fn fatality(&self) -> Fatality {
        match self {
            Self::Cancelled(_) => Fatality::Interrupted,
            Self::Fault { .. } | Self::Write(WriteError::Database { .. }) => Fatality::OurFault,
            _ => Fatality::BadInput,
        }
    }

    /// A stable name for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::File(faults) => faults.faults.first().map_or("pipeline::faulty", |fault| fault.code),
            Self::Unreadable { .. } => "input::unreadable",
            Self::OutputFolder { .. } => "output::not-writable",
            Self::NoRun { .. } => "run::not-whole",
            Self::Damaged { .. } => "run::damaged",
            Self::Read(error) => error.code(),
            Self::Ground(error) => error.code(),
            Self::Points(error) => error.code(),
            Self::Survey(error) => error.code(),
            Self::Levels(error) => error.code(),
            Self::Frame(error) => error.code(),
            Self::Write(error) => error.code(),
            Self::Cancelled(_) => "interrupted",
            Self::Fault { .. } => "fault",
        }
    }

    /// File, line and column (zero where there is none).
    #[must_use]
    pub fn place(&self) -> Option<(String, u64, u64)> {
        let of = |place: Option<Place>| match place {
            Some(Place::File { file, line, column }) => Some((file, line, column)),
            _ => None,
        };
        match self {
            Self::File(faults) => {
                let first = faults.faults.first()?;
                Some((faults.file.display().to_string(), first.line, first.column))
            }
            Self::Unreadable { path, .. }
            | Self::OutputFolder { path, .. }
            | Self::NoRun { path }
            | Self::Damaged { path, .. } => Some((path.display().to_string(), 0, 0)),
            Self::Read(error) => of(Some(error.place())),
            Self::Points(error) => of(Some(error.place())),
            Self::Survey(error) => of(error.place()),
            Self::Levels(error) => of(Some(error.place())),
            Self::Write(error) => Some((error.path().display().to_string(), 0, 0)),
            _ => None,
        }
    }
}

/// What keeps a folder from being that of a run.
fn lacks(folder: &Path) -> &'static str {
    if folder.is_dir() {
        "it has no run.json"
    } else if folder.exists() {
        "it is a file, and the folder that a run left is wanted"
    } else {
        "there is no such folder"
    }
}

//! Why a file could not be written.

use crate::frame::FrameError;
use std::path::{Path, PathBuf};

/// Why a file could not be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WriteError {
    /// The system refused.
    #[error("cannot write {}: {}", path.display(), crate::io::reason(source))]
    File {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The database library refused.
    #[error("cannot write {}: {source}", path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// What the library says.
        source: rusqlite::Error,
    },
    /// A place has no longitude and latitude.
    #[error("cannot write {}: {source}", path.display())]
    Frame {
        /// The file.
        path: PathBuf,
        /// Why.
        source: FrameError,
    },
}

impl WriteError {
    /// Stable name of the fault, for programs to recognise.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::File { .. } => "write::file",
            Self::Database { .. } => "write::database",
            Self::Frame { .. } => "write::frame",
        }
    }

    /// The file or folder.
    #[must_use]
    pub fn path(&self) -> &Path {
        match self {
            Self::File { path, .. } | Self::Database { path, .. } | Self::Frame { path, .. } => path,
        }
    }

    pub(super) fn file(path: &Path, source: std::io::Error) -> Self {
        Self::File { path: path.to_owned(), source }
    }
}

//! What a section is given and what it tells.

#![allow(dead_code, reason = "helpers that not every section uses")]

use std::path::{Path, PathBuf};

/// The folder with the reference data, when one was named.
#[derive(Debug, Clone)]
pub(crate) struct Data(Option<PathBuf>);

impl Data {
    pub(crate) const fn none() -> Self {
        Self(None)
    }

    pub(crate) const fn at(folder: PathBuf) -> Self {
        Self(Some(folder))
    }

    /// A part of it, or the words that say it is not there.
    pub(crate) fn part(&self, name: &str) -> Result<PathBuf, Outcome> {
        let folder =
            self.0.as_deref().ok_or_else(|| Outcome::NotRun("no folder of reference data named".to_owned()))?;
        let part = folder.join(name);
        if part.exists() { Ok(part) } else { Err(Outcome::NotRun(format!("the folder holds no `{name}`"))) }
    }

    /// The files of a part with one of these endings, in order of their names.
    pub(crate) fn files(&self, name: &str, endings: &[&str]) -> Result<Vec<PathBuf>, Outcome> {
        let part = self.part(name)?;
        let why = |error: std::io::Error| Outcome::NotRun(format!("`{name}`: {error}"));
        let entries = std::fs::read_dir(part).map_err(why)?.collect::<Result<Vec<_>, _>>().map_err(why)?;
        let fits = |path: &Path| path.extension().is_some_and(|found| endings.iter().any(|ending| found == *ending));
        let mut files: Vec<PathBuf> = entries.into_iter().map(|entry| entry.path()).filter(|path| fits(path)).collect();
        files.sort();
        if files.is_empty() {
            Err(Outcome::NotRun(format!("`{name}` holds no {}", endings.join(", "))))
        } else {
            Ok(files)
        }
    }
}

/// What was measured, and where it misses its bar.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    /// The text that stands in the page: tables, and the figures of the bar.
    pub(crate) markdown: String,
    /// One line for each figure that misses its bar.
    pub(crate) missed: Vec<String>,
}

impl Table {
    /// Holds a figure against the most it may be.
    pub(crate) fn at_most(&mut self, what: &str, found: f64, most: f64) {
        // Written so that a figure that is no number misses its bar.
        if !matches!(found.partial_cmp(&most), Some(std::cmp::Ordering::Less | std::cmp::Ordering::Equal)) {
            self.missed.push(format!("{what} is {found:.4}, {most} at most"));
        }
    }
}

/// How a section ended.
#[derive(Debug, Clone)]
pub(crate) enum Outcome {
    /// It did its work.
    Measured(Table),
    /// It could not, and why.
    NotRun(String),
}

/// One topic.
pub(crate) struct Section {
    /// Its name on the command line and in the marks of the page.
    pub(crate) name: &'static str,
    /// Does its work; an error is a fault of the program or of the runner, not a missed bar.
    pub(crate) measure: fn(&Data) -> Result<Outcome, Box<dyn std::error::Error>>,
}

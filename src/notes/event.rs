//! Progress as events, and stopping on request.

use super::Note;
use std::path::PathBuf;
use std::sync::Mutex;

/// Something that happened during a run; a closed list, so that it can be logged and replayed.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Event {
    /// A stage begins.
    StageStarted {
        /// Its name.
        stage: &'static str,
    },
    /// A stage is under way; `total` is zero when it is not known.
    StageAdvanced {
        /// Its name.
        stage: &'static str,
        /// Steps done.
        done: u64,
        /// Steps in all.
        total: u64,
    },
    /// A stage has ended, or was skipped because nothing it depends on has changed.
    StageFinished {
        /// Its name.
        stage: &'static str,
        /// One line of figures for a person.
        summary: String,
        /// True when the earlier result was still good.
        skipped: bool,
    },
    /// Something to be told.
    Note(Note),
    /// A file was written.
    Wrote(PathBuf),
}

/// The run was asked to stop and did, leaving nothing half-written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("stopped on request")]
pub struct Cancelled;

/// Takes events; implemented by the program for the terminal, by tests to record.
pub trait Reporter: Send + Sync {
    /// Takes one event.
    fn event(&self, event: &Event);

    /// True when the user wants the work to stop.
    fn stop_wanted(&self) -> bool {
        false
    }

    /// `Err` when the user wants the work to stop; called between steps of long work.
    ///
    /// # Errors
    /// [`Cancelled`] when a stop is wanted.
    fn checkpoint(&self) -> Result<(), Cancelled> {
        if self.stop_wanted() { Err(Cancelled) } else { Ok(()) }
    }
}

/// Takes no notice: for library users.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Reporter for Silent {
    fn event(&self, _event: &Event) {}
}

/// Keeps every event: for tests and logs.
#[derive(Debug, Default)]
pub struct Recorder {
    events: Mutex<Vec<Event>>,
}

impl Recorder {
    /// The events so far.
    #[must_use]
    pub fn events(&self) -> Vec<Event> {
        self.events.lock().map(|events| events.clone()).unwrap_or_default()
    }
}

impl Reporter for Recorder {
    fn event(&self, event: &Event) {
        if let Ok(mut events) = self.events.lock() {
            events.push(event.clone());
        }
    }
}

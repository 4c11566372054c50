//! Progress on stderr: a bar on a terminal, plain lines otherwise. The only file that knows the progress library.

use crate::message;
use indicatif::{ProgressBar, ProgressStyle};
use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use swalewright::notes::{Event, Note, Reporter};

static STOP: AtomicBool = AtomicBool::new(false);

/// Ctrl-C asks the work to stop at its next step; a second one stops at once.
pub(crate) fn listen_for_stop() {
    // Without a handler the program simply dies on Ctrl-C; nothing half-written stands in an output folder even then.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::SeqCst) {
            #[expect(clippy::exit, reason = "the user insists, and the work does not come to its next step")]
            std::process::exit(130);
        }
    });
}

/// So many notes of one code a stage are shown; a run may have hundreds.
const NOTES_OF_A_CODE: usize = 3;

/// Tells what happens.
#[derive(Debug)]
pub(crate) struct Progress {
    quiet: bool,
    /// How many notes of each code the stage under way has told.
    told: Mutex<BTreeMap<String, usize>>,
    bar: Option<Mutex<ProgressBar>>,
}

impl Progress {
    pub(crate) fn new(quiet: bool) -> Self {
        let bar = (!quiet && std::io::stderr().is_terminal()).then(|| {
            let bar = ProgressBar::new_spinner();
            if let Ok(style) = ProgressStyle::with_template("{spinner} {prefix:<8} {wide_msg}") {
                bar.set_style(style);
            }
            Mutex::new(bar)
        });
        Self { quiet, told: Mutex::default(), bar }
    }

    /// One line, above the bar where there is one.
    pub(crate) fn line(&self, text: &str) {
        if !self.quiet {
            self.always(text);
        }
    }

    /// One line, also where progress and notes are left out: what the run was asked to find.
    pub(crate) fn always(&self, text: &str) {
        let text = message::printable(text);
        match self.bar.as_ref().and_then(|bar| bar.lock().ok()) {
            Some(bar) => bar.suspend(|| message::tell(&text)),
            None => message::tell(&text),
        }
    }

    /// The first few notes of a code; the rest are counted.
    fn note(&self, note: &Note) {
        let count = self.told.lock().map_or(1, |mut told| {
            let count = told.entry(note.code.clone()).or_default();
            *count += 1;
            *count
        });
        if count <= NOTES_OF_A_CODE {
            self.line(&format!("         {}", message::note(note)));
        }
    }

    fn tell_unshown(&self) {
        let told = self.told.lock().map(|mut told| std::mem::take(&mut *told)).unwrap_or_default();
        let unshown: usize = told.values().map(|count| count.saturating_sub(NOTES_OF_A_CODE)).sum();
        if unshown > 0 {
            self.line(&format!("         note: {unshown} more of these kinds, all in run.json"));
        }
    }

    fn with_bar(&self, change: impl FnOnce(&ProgressBar)) {
        if let Some(bar) = self.bar.as_ref().and_then(|bar| bar.lock().ok()) {
            change(&bar);
        }
    }
}

impl Reporter for Progress {
    fn event(&self, event: &Event) {
        match event {
            Event::StageStarted { stage } => self.with_bar(|bar| {
                bar.set_prefix(*stage);
                bar.set_message("...");
                bar.enable_steady_tick(Duration::from_millis(100));
            }),
            Event::StageAdvanced { done, total, .. } => self.with_bar(|bar| {
                bar.set_message(if *total == 0 { format!("{done}") } else { format!("{done} of {total}") });
            }),
            Event::StageFinished { stage, summary, skipped } => {
                self.tell_unshown();
                self.with_bar(|bar| {
                    bar.disable_steady_tick();
                    bar.set_prefix("");
                    bar.set_message("");
                });
                let word = if *skipped { "unchanged: " } else { "" };
                self.line(&format!("{stage:<8} {word}{summary}"));
            }
            Event::Note(note) => self.note(note),
            _ => {}
        }
    }

    fn stop_wanted(&self) -> bool {
        STOP.load(Ordering::SeqCst)
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.with_bar(ProgressBar::finish_and_clear);
    }
}

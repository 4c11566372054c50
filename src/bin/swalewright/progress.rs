//! Progress on stderr: a bar on a terminal, plain lines otherwise. The only file that knows the progress library.

use crate::message;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::IsTerminal;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use swalewright::notes::{Event, Reporter};

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

/// Tells what happens.
#[derive(Debug)]
pub(crate) struct Progress {
    quiet: bool,
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
        Self { quiet, bar }
    }

    /// One line, above the bar where there is one.
    #[expect(clippy::print_stderr, reason = "progress belongs on stderr")]
    pub(crate) fn line(&self, text: &str) {
        if self.quiet {
            return;
        }
        match self.bar.as_ref().and_then(|bar| bar.lock().ok()) {
            Some(bar) => bar.suspend(|| eprintln!("{text}")),
            None => eprintln!("{text}"),
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
                self.with_bar(|bar| {
                    bar.disable_steady_tick();
                    bar.set_prefix("");
                    bar.set_message("");
                });
                let word = if *skipped { "unchanged: " } else { "" };
                self.line(&format!("{stage:<8} {word}{summary}"));
            }
            Event::Note(note) => self.line(&format!("         {}", message::note(note))),
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

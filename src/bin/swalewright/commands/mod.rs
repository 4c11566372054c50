//! One file a command. Each gives its exit, or the error that ends the program.

mod check;
mod look;
mod new;
mod on_contour;
mod run;
mod volume;

use crate::arguments::{Arguments, Command};
use crate::exit::Exit;
use crate::message;
use crate::progress::{self, Progress};
use serde_json::Value as Json;
use swalewright::notes::Note;
use swalewright::pipeline::PipelineError;

/// What every command needs.
pub(crate) struct Told {
    json: bool,
    progress: Progress,
}

pub(crate) fn run(arguments: Arguments) -> Result<Exit, PipelineError> {
    progress::listen_for_stop();
    let told = Told { json: arguments.json, progress: Progress::new(arguments.quiet || arguments.json) };
    match arguments.command {
        Command::New { folder } => new::run(&folder, &told),
        Command::Run { pipelines, out, until, fresh } => run::run(&pipelines, out.as_deref(), until, fresh, &told),
        Command::Look { files, svg, at, points } => look::run(&files, svg.as_deref(), at, &points.into(), &told),
        Command::OnContour { line, ground, at, tolerance, points } => {
            on_contour::run(&line, &ground, at, tolerance, &points.into(), &told)
        }
        Command::Volume { from, to, within, below, at, points } => {
            volume::run(&volume::Asked { from, to, within, below, at }, &points.into(), &told)
        }
        Command::Check { works, book, tolerance, points } => {
            check::run(&works, &book, tolerance, &points.into(), &told)
        }
    }
}

impl Told {
    /// Notes on stderr; with `--json` they are in the object.
    fn notes(&self, notes: &[Note]) {
        for note in notes {
            self.progress.line(&message::note(note));
        }
    }

    /// The result: one object, or lines for a person.
    fn result(&self, json: &Json, lines: &[String]) {
        if self.json {
            message::print(&format!("{:#}", swalewright::pipeline::rounded(json.clone())));
        } else {
            for line in lines {
                message::print(&message::printable(line));
            }
        }
    }
}

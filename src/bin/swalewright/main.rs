//! The command line: arguments, progress, messages, exit codes. No maths here.
//!
//! Invariant: stdout carries results only (with `--json` exactly one object); progress, notes and faults go to stderr.

mod arguments;
mod commands;
mod exit;
mod message;
mod progress;
mod quiet;

use arguments::Arguments;
use clap::Parser;
use exit::Exit;
use std::process::ExitCode;
use swalewright::pipeline::PipelineError;

fn main() -> ExitCode {
    quiet::proj();
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return message::usage(&error).into(),
    };
    let json = arguments.json;
    let outcome = std::panic::catch_unwind(|| commands::run(arguments)).unwrap_or_else(|_| {
        Err(PipelineError::Fault {
            what: "it stopped where it never should; what it says above helps to mend it".to_owned(),
        })
    });
    match outcome {
        Ok(exit) => exit.into(),
        Err(error) => {
            message::error(&error, json);
            Exit::of(&error).into()
        }
    }
}

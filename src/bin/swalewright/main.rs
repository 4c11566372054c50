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

fn main() -> ExitCode {
    quiet::proj();
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return message::usage(&error).into(),
    };
    let json = arguments.json;
    match commands::run(arguments) {
        Ok(exit) => exit.into(),
        Err(error) => {
            message::error(&error, json);
            Exit::of(&error).into()
        }
    }
}

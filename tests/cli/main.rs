//! The program as a person runs it: the real binary in a folder of its own.

#![allow(clippy::format_push_string, clippy::format_collect, reason = "small files are written in tests as they read")]

mod answers;
mod bad_input;
mod folder;
mod frames;
mod ground;
mod help;
mod levels;
mod lines;
mod look;
mod outputs;
#[path = "../promised/mod.rs"]
mod promised;
mod site;
mod soil;
mod survey_keys;
mod water;

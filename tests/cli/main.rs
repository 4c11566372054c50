//! The program as a person runs it: the real binary in a folder of its own.

mod answers;
mod bad_input;
mod folder;
mod site;

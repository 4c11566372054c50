//! The pipeline file, the stages in order, what is skipped, and the manifest of a run.

pub mod config;

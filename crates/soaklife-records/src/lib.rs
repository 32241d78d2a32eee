//! The logbook on disk.
mod problem;
mod record;
pub use problem::{Problem, ProblemKind, Problems, Severity};

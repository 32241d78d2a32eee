//! The fleet report: a summary, the budget, and every pit, for the office that looks after many.
//!
//! `content` says what it says, as data; `layout` breaks it into pages of paper; `html` and `pdf` write it.

mod content;
mod html;
mod layout;
mod pdf;
#[cfg(test)]
mod tests;

pub use content::FleetReport;

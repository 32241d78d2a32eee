//! Figures.

//! Many pits at once.

pub mod pooling;

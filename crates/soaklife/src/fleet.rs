//! Many pits at once.

pub mod mixed;
pub mod pooling;

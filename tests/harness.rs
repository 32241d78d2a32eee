//! Shared by the published-reference tests.

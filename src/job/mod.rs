//! The job: its file types, its reading and checking into typed values.

pub mod model;

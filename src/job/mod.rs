//! The job: its file types, its reading and checking into typed values.
//!
//! [`load`] is the only place of the program that reads files. All that it does with
//! what it read is done by [`read`], which is pure: text in, a checked [`model::Job`] or
//! every fault of it out.

pub mod defaults;
pub mod file;
pub mod limits;
pub mod model;
mod near;
pub mod schema;
mod tree;

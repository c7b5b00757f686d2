//! The job: its file types, its reading and checking into typed values.
//!
//! [`load`] is one of the two places of the program that read files (the other is
//! `found::load`). All that it does with
//! what it read is done by [`read`], which is pure: text in, a checked [`model::Job`] or
//! every fault of it out.

pub mod defaults;
pub mod docs;
pub mod file;
pub mod ground_file;
pub mod hand_work;
pub mod limits;
mod load;
pub mod model;
pub(crate) mod near;
pub mod rates;
mod read;
pub mod schema;
pub mod task;
pub mod template;
mod tree;
pub mod words;

pub use load::load;
pub use read::read;

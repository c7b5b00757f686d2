//! x
pub(crate) mod lattice;
mod mend;

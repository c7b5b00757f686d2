//! Swardlane plans the care of a natural-turf sports ground.
pub mod cli;
pub mod coverage;
pub mod fault;
pub mod formats;
pub mod ground;
pub mod job;
pub mod output;
pub mod passes;
pub mod plan;
pub mod region;
pub mod sheets;
pub mod space;
pub mod tally;
pub mod warning;
pub mod zones;

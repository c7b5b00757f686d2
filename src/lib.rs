//! Swardlane plans the care of a natural-turf sports ground.
pub mod coverage;
pub mod fault;
pub mod ground;
pub mod job;
pub mod passes;
pub mod plan;
pub mod region;
pub mod sheets;
pub mod space;
pub mod tally;
pub mod warning;
pub mod zones;

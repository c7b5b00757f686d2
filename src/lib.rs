//! Swardlane plans machine work on a natural-turf sports ground: wear zones, every pass of
//! every operation, what the passes really cover, and the time they take.
//!
//! A [`job::model::Job`] goes in, one [`plan::Plan`] comes out, and every file and sheet is
//! derived from that plan alone. The rooms and what they promise stand in
//! `docs/architecture.md`; start reading at [`plan::plan`].

pub mod cli;
pub mod coverage;
pub mod fault;
pub mod formats;
pub mod found;
pub mod ground;
pub mod hand;
pub mod job;
pub mod output;
pub mod passes;
pub mod plan;
pub mod region;
pub mod replan;
pub mod route;
pub mod setting_out;
pub mod sheets;
pub mod space;
pub mod tally;
pub mod warning;
pub mod zones;

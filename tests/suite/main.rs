//! All integration tests, in one crate, so that it links once.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod broken;
mod cli;
mod files;
mod gallery;
mod ground_reading;
mod hand;
mod house;
mod job_docs;
mod job_reading;
mod kml_gpx;
mod order;
mod output;
mod properties;
mod published;
mod read_back;
mod readme;
mod refills;
mod relocation;
mod replan;
mod routes;
mod sheets;
mod small_orders;
mod steering;
mod support;
mod swap;
mod tape;
mod task_data;
mod task_data_read;
mod threads;
mod workbench;

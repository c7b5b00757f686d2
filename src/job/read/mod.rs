//! From the text of a job to a checked [`Job`], or every fault of it.
//!
//! The order: the tree against its schema, the ground file, the pitch, machines,
//! operations, hand work. Each part tells what is wrong and goes on, so that one run
//! tells all.

mod hand;
mod machines;
mod operations;
mod pitch;
mod rates;

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;

use super::file::{EffortWord, FlagPlaceToml, JobToml, PlanToml, TaskDataWord};
use super::ground_file::{self, Reading, Setting};
use super::model::{Crew, Crs, Effort, FlagPlace, Job, Settings, Source, TaskDataVersion};
use super::tree::{self, Tree};
use super::{defaults, limits, near, schema};
use crate::fault::{Fault, Faults};
use crate::warning::Warning;

/// Reads a job from its text. Pure: `open` gives the text of the ground file, which is
/// named as the user would name it (the job file's folder and the name in the job).
///
/// # Errors
/// Everything that is wrong with the job file, in the order of its lines, then
/// everything that is wrong with the ground file, in the order of its features.
pub fn read(
    job_file: &str,
    text: &str,
    open: impl FnOnce(&str) -> Result<String, Fault>,
) -> Result<Job, Faults> {
    if text.len() > limits::JOB_BYTES.greatest {
        return Err(Faults::from(Fault {
            file: job_file.to_owned(),
            place: String::new(),
            text: format!(
                "{} bytes of a job file are too many; at most {} are read",
                text.len(),
                limits::JOB_BYTES.greatest
            ),
        }));
    }
    let tree = tree::read(text, schema::job());
    let mut desk = Desk {
        job_file: job_file.to_owned(),
        tree,
        warnings: Vec::new(),
        user_zones: None,
    };
    if !desk.tree.is_toml {
        return Err(desk.told(Vec::new()));
    }
    let table = std::mem::take(&mut desk.tree.table);
    let file = match JobToml::deserialize(toml::Value::Table(table)) {
        Ok(file) => file,
        // The tree fits the schema and the schema is made from these types, so serde has
        // nothing left to refuse; should it, its own words are better than none.
        Err(error) => {
            let text = format!("cannot be read: {}", error.message());
            desk.tree.faults.push((None, text));
            return Err(desk.told(Vec::new()));
        }
    };
    let (reading, ground_name) = desk.ground(&file, open);
    let job = desk.job(&file, &reading, ground_name);
    match job {
        Some(job) if desk.tree.faults.is_empty() && reading.faults.is_empty() => Ok(job),
        _ => Err(desk.told(reading.faults)),
    }
}

/// What the parts of the reading share: where things stand, and what was found.
struct Desk {
    job_file: String,
    tree: Tree,
    warnings: Vec<Warning>,
    /// Names of the user's own zones; `None` where the ground file could not be read, so
    /// that nobody knows which words are zones.
    user_zones: Option<Vec<String>>,
}

impl Desk {
    /// The line of a key, or of the nearest table around it that has one.
    fn line(&self, path: &str) -> Option<usize> {
        let mut path = path;
        loop {
            if let Some(line) = self.tree.lines.get(path) {
                return Some(*line);
            }
            path = path.rsplit_once('.')?.0;
        }
    }

    fn wrong(&mut self, path: &str, text: impl Into<String>) {
        let line = self.line(path);
        self.tree.faults.push((line, text.into()));
    }

    /// Whether something at or below that path was told to be wrong already.
    fn spoilt(&self, path: &str) -> bool {
        self.tree.spoilt.iter().any(|spoilt| {
            spoilt
                .strip_prefix(path)
                .is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        })
    }

    /// All faults, in order; more than can be mended at once are counted only.
    fn told(&mut self, ground: Vec<Fault>) -> Faults {
        let mut found = std::mem::take(&mut self.tree.faults);
        found.sort_by_key(|(line, _)| *line);
        let job = found.into_iter().map(|(line, text)| Fault {
            file: self.job_file.clone(),
            place: line.map_or(String::new(), |line| format!("line {line}")),
            text,
        });
        let mut all: Vec<Fault> = job.chain(ground).collect();
        if all.len() > limits::FAULTS_TOLD {
            let more = all.len() - limits::FAULTS_TOLD;
            all.truncate(limits::FAULTS_TOLD);
            all.push(Fault {
                file: self.job_file.clone(),
                place: String::new(),
                text: format!("{more} more faults are not shown; mend these first"),
            });
        }
        Faults(all)
    }

    /// A file beside the job file, named as the user would name it.
    fn beside(&self, name: &str) -> String {
        let folder = Path::new(&self.job_file).parent();
        let path = folder.map_or_else(|| name.into(), |folder| folder.join(name));
        path.display().to_string()
    }

    /// Reads the ground file, where the job names one.
    fn ground(
        &mut self,
        file: &JobToml,
        open: impl FnOnce(&str) -> Result<String, Fault>,
    ) -> (Reading, Option<String>) {
        let named = file.ground.as_ref().and_then(|ground| ground.file.as_ref());
        let Some(named) = named else {
            // A faulty `[ground]` hides the file and its zones.
            self.user_zones = (!self.spoilt("ground")).then(Vec::new);
            return (Reading::default(), None);
        };
        let path = self.beside(named);
        let crs = file
            .ground
            .as_ref()
            .and_then(|ground| ground.crs.as_deref());
        let crs = crs.and_then(|crs| self.crs_name(crs));
        let setting = Setting {
            crs: crs.as_deref(),
            near: pitch::near(file),
        };
        let mut reading = match open(&path) {
            Ok(_) if self.spoilt("ground") => Reading::default(),
            Ok(text) => ground_file::read(&path, &text, setting),
            Err(fault) => Reading {
                faults: vec![fault],
                ..Reading::default()
            },
        };
        self.user_zones = reading
            .is_whole
            .then(|| std::mem::take(&mut reading.zone_names));
        self.warnings.append(&mut reading.warnings);
        (reading, Some(path))
    }

    fn crs_name(&mut self, crs: &str) -> Option<String> {
        if crs.bytes().all(|byte| byte.is_ascii_digit()) {
            let text = format!("`crs` `{crs}` names no authority; write `EPSG:{crs}`");
            self.tree.spoilt.insert("ground.crs".to_owned());
            self.wrong("ground.crs", text);
            return None;
        }
        Some(crs.to_owned())
    }

    fn job(
        &mut self,
        file: &JobToml,
        reading: &Reading,
        ground_file: Option<String>,
    ) -> Option<Job> {
        let pitch = self.pitch(file, reading);
        let materials = self.materials(file);
        let implements = self.implements(file);
        let surface = pitch.as_ref().map(|pitch| pitch.surface);
        let operations = self.operations(file, &implements, &materials, surface);
        let hand = self.hand(file);
        let crs = file.ground.as_ref().and_then(|ground| {
            Some(Crs {
                name: ground.crs.clone()?,
                grids: ground.grids.as_ref().map(|grids| self.beside(grids)),
            })
        });
        let places = file.places.as_ref();
        let crew = file.crew.as_ref();
        Some(Job {
            name: file.name.clone()?,
            date: file.date.map(|date| date.to_string()),
            currency: file.currency.clone().unwrap_or_default(),
            pitch: pitch?,
            features: reading.features.clone(),
            crs,
            entrance: places.and_then(|places| flag_place(places.entrance.as_ref()?)),
            stockpile: places.and_then(|places| flag_place(places.stockpile.as_ref()?)),
            crew: Crew {
                people: crew.and_then(|crew| crew.people),
                price_per_h: crew.and_then(|crew| crew.price_per_h),
            },
            materials,
            operations,
            hand,
            settings: settings(file.plan.as_ref()),
            warnings: std::mem::take(&mut self.warnings),
            source: Source {
                job_file: self.job_file.clone(),
                ground_file,
                lines: std::mem::take(&mut self.tree.lines),
            },
        })
    }

    /// What a name of the job refers to; unknown ones name the nearest.
    fn refers<'a, T>(
        &mut self,
        path: &str,
        name: &str,
        all: &'a BTreeMap<String, T>,
    ) -> Option<&'a T> {
        let found = all.get(name);
        let what = tree::key_of(path);
        let is_told =
            self.tree.spoilt.contains(what) || self.tree.spoilt.contains(&format!("{what}.{name}"));
        if found.is_none() && !is_told {
            let advice = if all.is_empty() {
                format!("; the job has no `[{what}.{}]`", near::short(name))
            } else {
                near::advice(name, all.keys().map(String::as_str))
            };
            self.wrong(
                path,
                format!("unknown {what} `{}`{advice}", near::short(name)),
            );
        }
        found
    }
}

fn flag_place(file: &FlagPlaceToml) -> Option<FlagPlace> {
    Some(FlagPlace {
        at: pitch::corner(file.at?),
        along_m: file.along_m?,
        out_m: file.out_m?,
    })
}

fn settings(file: Option<&PlanToml>) -> Settings {
    Settings {
        stops_share: file
            .and_then(|plan| plan.stops_share)
            .unwrap_or(defaults::STOPS_SHARE),
        accept_unknown_services: file
            .and_then(|plan| plan.accept_unknown_services)
            .unwrap_or(false),
        goals_out: file.and_then(|plan| plan.goals_out).unwrap_or(false),
        // Asked for by whoever plans, not by the job.
        routes: false,
        wheel_passes_max: file
            .and_then(|plan| plan.wheel_passes_max)
            .unwrap_or(defaults::WHEEL_PASSES_MAX),
        steering_miss_share: file
            .and_then(|plan| plan.steering_miss_share)
            .unwrap_or(defaults::STEERING_MISS_SHARE),
        gpx_waypoints: file.and_then(|plan| plan.gpx_waypoints).unwrap_or(false),
        task_data: match file.and_then(|plan| plan.task_data) {
            Some(TaskDataWord::V3_3) => TaskDataVersion::V3_3,
            Some(TaskDataWord::V4_3) | None => TaskDataVersion::V4_3,
        },
        effort: match file.and_then(|plan| plan.effort) {
            Some(EffortWord::Quick) => Effort::Quick,
            Some(EffortWord::Normal) | None => Effort::Normal,
            Some(EffortWord::Thorough) => Effort::Thorough,
        },
    }
}

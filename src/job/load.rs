//! Opening a job. Besides `found::load`, which opens files of others, the only place of the
//! program that reads files.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use super::limits::{self, SizeLimit};
use super::model::Job;
use crate::fault::{Fault, Faults};

/// Loads the job at `path`: a folder that holds `job.toml`, or a job file by itself.
///
/// # Errors
/// Everything that is wrong, as [`super::read`] tells it, or that a file cannot be read.
pub fn load(path: &Path) -> Result<Job, Faults> {
    let job_file = if path.is_dir() {
        path.join("job.toml")
    } else {
        path.to_owned()
    };
    if path.is_dir() && !job_file.exists() {
        return Err(Faults::from(Fault {
            file: path.display().to_string(),
            place: String::new(),
            text: "there is no `job.toml` in this folder; `swardlane new NAME` writes one"
                .to_owned(),
        }));
    }
    let text = text_of(&job_file, &limits::JOB_BYTES)?;
    let name = job_file.display().to_string();
    let job = super::read(&name, &text, |ground| {
        text_of(Path::new(ground), &limits::GROUND_BYTES)
    })?;
    check_grids(&job)?;
    Ok(job)
}

/// A folder of grids that is not there would be passed over without a word, and the positions
/// would be worse than the job believes.
fn check_grids(job: &Job) -> Result<(), Fault> {
    let grids = job.crs.as_ref().and_then(|crs| crs.grids.as_ref());
    match grids {
        Some(grids) if !Path::new(grids).is_dir() => Err(Fault {
            file: job.source.job_file.clone(),
            place: job.source.place("ground.grids"),
            text: format!(
                "`grids` names the folder `{grids}`, which is not there; name the one that holds \
                 the PROJ grid files, seen from the job file"
            ),
        }),
        _ => Ok(()),
    }
}

/// The text of a file; no more is read than its limit allows.
fn text_of(path: &Path, limit: &SizeLimit) -> Result<String, Fault> {
    let fault = |text: String| Fault {
        file: path.display().to_string(),
        place: String::new(),
        text,
    };
    let cannot = |error: &std::io::Error| {
        let why = match error.kind() {
            std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
            std::io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
            std::io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
            _ => error.to_string(),
        };
        fault(format!("cannot be read: {why}"))
    };
    let file = File::open(path).map_err(|error| cannot(&error))?;
    let mut bytes = Vec::new();
    let most = u64::try_from(limit.greatest).unwrap_or(u64::MAX);
    file.take(most.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(|error| cannot(&error))?;
    if bytes.len() > limit.greatest {
        return Err(fault(format!(
            "has more than {} bytes; no more are read",
            limit.greatest
        )));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let line = 1 + error.as_bytes()[..good]
            .iter()
            .filter(|b| **b == b'\n')
            .count();
        Fault {
            place: format!("line {line}"),
            ..fault("not UTF-8 text; save it as UTF-8".to_owned())
        }
    })
}

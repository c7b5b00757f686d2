//! `plan` and `check`: each job is planned or refused by itself.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant};

use super::arguments::{CheckOptions, Group, PlanOptions};
use super::colour::Paint;
use super::jobs::{self, JobPlace};
use super::{Failure, Streams, hush, table, tell};
use crate::fault::{Fault, Faults};
use crate::formats::summary::{self, Summary};
use crate::formats::{self, FormatError, Written, summary_csv};
use crate::job::model::{HandKind, Job};
use crate::plan::Plan;
use crate::warning::Warning;
use crate::{job, output, sheets};

/// Work shorter than this needs no progress line, and so often it is written anew.
const PATIENCE: Duration = Duration::from_secs(1);

/// A job that was planned and written.
struct Done {
    name: String,
    plan: Plan,
    summary: Summary,
    folder: PathBuf,
}

/// Plans and writes the jobs. Returns what is to be printed and the exit code.
pub(super) fn plan(
    options: &PlanOptions,
    out: Paint,
    err: Paint,
    streams: &mut Streams<'_>,
) -> (String, u8) {
    let places = jobs::find(&options.jobs);
    let is_several = places.len() > 1;
    if let Err(fault) = jobs::refuse_doubles(&places) {
        return (String::new(), tell(&fault.into(), err, streams.stderr));
    }
    let mut code = 0;
    let mut done = Vec::new();
    let mut progress = Progress::new(places.len(), streams.stderr_is_terminal && !options.quiet);
    for place in places {
        let one = place.map_err(Failure::from).and_then(|place| {
            let folder = folder_of(options, &place, is_several);
            progress.watch(streams.stderr, || plan_one(options, place, folder))
        });
        match one {
            Ok(one) => done.push(one),
            Err(failure) => code = worse(code, tell(&failure, err, streams.stderr)),
        }
    }
    let mut side_by_side = None;
    if is_several && !done.is_empty() {
        let path = options.out.as_deref().unwrap_or(Path::new("output"));
        let path = path.join(summary_csv::FILE_NAME);
        match write_summary_csv(&path, &done) {
            Ok(()) => side_by_side = Some(path),
            Err(failure) => code = worse(code, tell(&failure, err, streams.stderr)),
        }
    }
    if !options.quiet {
        for one in &done {
            let name = is_several.then_some(one.name.as_str());
            warn(name, &one.plan.warnings, err, streams.stderr);
        }
    }
    let text = if options.json {
        match json(&done, is_several) {
            Ok(text) => text,
            Err(error) => {
                code = worse(code, tell(&error.into(), err, streams.stderr));
                String::new()
            }
        }
    } else if options.quiet {
        String::new()
    } else {
        tables(&done, side_by_side.as_deref(), out)
    };
    (text, code)
}

/// Reads and plans the jobs and writes nothing.
pub(super) fn check(options: &CheckOptions, err: Paint, streams: &mut Streams<'_>) -> (String, u8) {
    let places = jobs::find(&options.jobs);
    let is_several = places.len() > 1;
    let mut code = 0;
    let mut text = String::new();
    for place in places {
        let checked = place.map_err(Failure::from).and_then(|place| {
            let job = job::load(&place.path)?;
            Ok((place.name, make(&job)?))
        });
        match checked {
            Ok((name, plan)) if !options.quiet => {
                text.push_str(&table::checked(&name, &plan));
                let name = is_several.then_some(name.as_str());
                warn(name, &plan.warnings, err, streams.stderr);
            }
            Ok(_) => {}
            Err(failure) => code = worse(code, tell(&failure, err, streams.stderr)),
        }
    }
    (text, code)
}

/// The worst of two exit codes: 1, then 2, then 0.
fn worse(one: u8, other: u8) -> u8 {
    match (one, other) {
        (1, _) | (_, 1) => 1,
        _ => one.max(other),
    }
}

/// Where a job's plan is written.
fn folder_of(options: &PlanOptions, place: &JobPlace, is_several: bool) -> PathBuf {
    match &options.out {
        Some(out) if !is_several => out.clone(),
        Some(out) => out.join(&place.name),
        None => Path::new("output").join(&place.name),
    }
}

/// One job, from its file to its folder.
fn plan_one(options: &PlanOptions, place: JobPlace, folder: PathBuf) -> Result<Done, Failure> {
    let job = asked(options, job::load(&place.path)?)?;
    output::check(&folder)?;
    let plan = make(&job)?;
    let summary = write(&plan, options, &folder)?;
    Ok(Done {
        name: place.name,
        plan,
        summary,
        folder,
    })
}

/// Plans a job, and lets nobody but us say what is wrong with it.
fn make(job: &Job) -> Result<Plan, Faults> {
    let _hush = job.crs.as_ref().and_then(|_| hush::hush());
    crate::plan::plan(job)
}

/// Writes all files that are asked for, each as soon as it is made, and the summary that names
/// them. Returns the summary.
fn write(plan: &Plan, options: &PlanOptions, folder: &Path) -> Result<Summary, Failure> {
    let writing = output::Writing::begin(folder)?;
    let put = |(name, bytes): Written| writing.put(&name, &bytes).map(|()| name);
    let data = || {
        let is_wanted = options.wants(Group::Data);
        is_wanted
            .then(|| formats::each_data_file(plan, put))
            .transpose()
    };
    let guidance = || {
        let is_wanted = options.wants(Group::Guidance);
        is_wanted
            .then(|| formats::guidance::each_file(plan, put))
            .transpose()
    };
    let drawn = || {
        let is_wanted = options.wants(Group::Sheets);
        is_wanted.then(|| sheets::each_file(plan, put))
    };
    let ((data, guidance), drawn) = rayon::join(|| rayon::join(data, guidance), drawn);
    let groups = [data?, guidance?, drawn].into_iter().flatten().flatten();
    // The first that cannot be written is told.
    let names = std::iter::once(Ok(summary::FILE_NAME.to_owned())).chain(groups);
    let names: Vec<String> = names.collect::<Result<_, Fault>>()?;
    let summary = Summary::of(plan, &names);
    writing.put(summary::FILE_NAME, summary.text()?.as_bytes())?;
    writing.end(&names)?;
    Ok(summary)
}

/// The job as the options want it: one operation only, another effort.
fn asked(options: &PlanOptions, mut job: Job) -> Result<Job, Fault> {
    if let Some(id) = &options.operation {
        keep_operation(&mut job, id)?;
    }
    job.settings.routes = !options.no_route;
    if let Some(effort) = options.effort {
        job.settings.effort = effort.into();
    }
    Ok(job)
}

/// Leaves only the operation of that id in a job.
fn keep_operation(job: &mut Job, id: &str) -> Result<(), Fault> {
    if !job.operations.iter().any(|operation| operation.id == id) {
        let known = job.operations.iter().map(|operation| operation.id.as_str());
        let advice = job::near::advice(id, known);
        return Err(Fault {
            file: job.source.job_file.clone(),
            place: String::new(),
            text: format!("there is no operation `{}`{advice}", job::near::short(id)),
        });
    }
    job.operations.retain(|operation| operation.id == id);
    // Of the hand work only what this operation leaves belongs to it.
    job.hand.retain(|hand| match &hand.kind {
        HandKind::Rest(rest) => rest.operation == id,
        _ => false,
    });
    Ok(())
}

fn write_summary_csv(path: &Path, done: &[Done]) -> Result<(), Failure> {
    let plans = done.iter().map(|one| (one.name.as_str(), &one.plan));
    output::write_file(path, &summary_csv::bytes(plans)?)?;
    Ok(())
}

/// `summary.json` as written; of several jobs a list of them.
fn json(done: &[Done], is_several: bool) -> Result<String, FormatError> {
    if is_several {
        let summaries: Vec<&Summary> = done.iter().map(|one| &one.summary).collect();
        return Ok(format!("{}\n", serde_json::to_string_pretty(&summaries)?));
    }
    done.first()
        .map_or(Ok(String::new()), |one| one.summary.text())
}

fn tables(done: &[Done], side_by_side: Option<&Path>, out: Paint) -> String {
    let mut text = String::new();
    for one in done {
        text.push_str(&table::plan(&one.plan, out));
        let n_files = one.summary.files.len();
        let files = if n_files == 1 { "file" } else { "files" };
        let folder = one.folder.display();
        text.push_str(&format!("{n_files} {files} in {folder}\n"));
        if done.len() > 1 {
            text.push('\n');
        }
    }
    if let Some(path) = side_by_side {
        text.push_str(&format!("side by side in {}\n", path.display()));
    }
    text
}

/// Says warnings in plain words, with the job's name where there are several.
fn warn(name: Option<&str>, warnings: &[Warning], err: Paint, stderr: &mut dyn Write) {
    let name = name.map_or_else(String::new, |name| format!("{name}: "));
    for warning in warnings {
        let _ = writeln!(stderr, "{} {name}{warning}", err.yellow("warning:"));
    }
}

/// A line on the terminal while jobs are planned, once that takes long.
struct Progress {
    began: Instant,
    n_jobs: usize,
    at: usize,
    is_on: bool,
}

impl Progress {
    fn new(n_jobs: usize, is_on: bool) -> Self {
        Self {
            began: Instant::now(),
            n_jobs,
            at: 0,
            is_on,
        }
    }

    /// Does the next job's work, and says now and then for how long; the line is gone before
    /// anything else is said.
    fn watch<T>(&mut self, stderr: &mut (dyn Write + Send), work: impl FnOnce() -> T) -> T {
        self.at += 1;
        if !self.is_on {
            return work();
        }
        let so_far = &*self;
        thread::scope(|scope| {
            // Dropped at the end, come what may: that ends the telling.
            let (_done, is_done) = mpsc::channel::<()>();
            scope.spawn(move || so_far.tell(stderr, &is_done));
            work()
        })
    }

    /// Says again and again for how long work has been going on, until it is done.
    fn tell(&self, stderr: &mut dyn Write, is_done: &Receiver<()>) {
        let mut is_shown = false;
        while is_done.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
            is_shown = true;
            let _ = write!(stderr, "\r\u{1b}[K{}", self.line());
            let _ = stderr.flush();
        }
        if is_shown {
            let _ = write!(stderr, "\r\u{1b}[K");
        }
    }

    fn line(&self) -> String {
        let so_far_s = self.began.elapsed().as_secs();
        match self.n_jobs {
            0 | 1 => format!("planning: {so_far_s} s"),
            n => format!("planning job {} of {n}: {so_far_s} s", self.at),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use clap::Parser as _;

    use super::*;
    use crate::cli::arguments::{Arguments, Command};
    use crate::job::model::Effort;

    /// The effort of a job with these lines, planned with these options.
    fn effort(lines: &str, options: &[&str]) -> Effort {
        let typed = ["swardlane", "plan", "ground"].iter().chain(options);
        let Command::Plan(options) = Arguments::try_parse_from(typed).unwrap().command else {
            panic!("`plan` is read as another command");
        };
        let text =
            format!("name = \"Larkmoor\"\npitch = {{ length_m = 60, width_m = 40 }}\n{lines}");
        let job = job::read("job.toml", &text, |_| unreachable!()).unwrap();
        asked(&options, job).unwrap().settings.effort
    }

    #[test]
    fn the_effort_typed_comes_before_that_of_the_job() {
        let quick = "[plan]\neffort = \"quick\"\n";
        assert_eq!(effort("", &[]), Effort::Normal);
        assert_eq!(effort(quick, &[]), Effort::Quick);
        assert_eq!(effort(quick, &["--effort", "thorough"]), Effort::Thorough);
        assert_eq!(effort("", &["--effort", "quick"]), Effort::Quick);
    }
}

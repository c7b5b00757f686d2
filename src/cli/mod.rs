//! The command line: arguments, messages, exit codes, the table on the terminal.
//!
//! Results go to `stdout`, all else to `stderr`. Exit codes: 0 done, with warnings or
//! without; 2 something given is wrong; 1 anything else. With several jobs the code is
//! the worst of theirs: 1, then 2, then 0.

mod arguments;
mod colour;
mod hush;
mod jobs;
mod plan;
mod read;
mod table;

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::Path;

use clap::{CommandFactory as _, Parser as _};

use crate::fault::{Fault, Faults};
use crate::formats::{FormatError, summary};
use crate::job::model::Size;
use crate::{job, output};
use arguments::{Arguments, Command, NewOptions, SchemaOf};
use colour::Paint;

/// Where the command writes to, and what is known of it.
pub struct Streams<'a> {
    /// Results.
    pub stdout: &'a mut dyn Write,
    /// All else.
    pub stderr: &'a mut (dyn Write + Send),
    /// Whether `stdout` is a terminal.
    pub stdout_is_terminal: bool,
    /// Whether `stderr` is a terminal.
    pub stderr_is_terminal: bool,
}

/// What went wrong, by exit code.
enum Failure {
    /// Something given is wrong: 2.
    Given(Faults),
    /// Anything else: 1.
    Other(String),
}

impl Failure {
    fn code(&self) -> u8 {
        match self {
            Self::Given(_) => 2,
            Self::Other(_) => 1,
        }
    }
}

impl From<Faults> for Failure {
    fn from(faults: Faults) -> Self {
        Self::Given(faults)
    }
}

impl From<Fault> for Failure {
    fn from(fault: Fault) -> Self {
        Self::Given(fault.into())
    }
}

impl From<FormatError> for Failure {
    fn from(error: FormatError) -> Self {
        Self::Other(error.to_string())
    }
}

/// Runs the command and returns its exit code. The first argument is the program's name.
pub fn run(arguments: impl IntoIterator<Item = OsString>, streams: &mut Streams<'_>) -> u8 {
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        // Help and version are results; the rest is something given that is wrong.
        Err(error) if error.use_stderr() => {
            let _ = write!(streams.stderr, "{}", error.render());
            return 2;
        }
        Err(help) => {
            return finish(Ok((help.render().to_string(), 0)), Paint::plain(), streams);
        }
    };
    let out = colour::paint(parsed.color, streams.stdout_is_terminal);
    let err = colour::paint(parsed.color, streams.stderr_is_terminal);
    let done = match &parsed.command {
        Command::Plan(options) => Ok(plan::plan(options, out, err, streams)),
        Command::Check(options) => Ok(plan::check(options, err, streams)),
        Command::Read(options) => read::read(options).map(|text| (text, 0)),
        Command::New(options) => new(options).map(|text| (text, 0)),
        Command::Schema { of } => schema(*of).map(|text| (text, 0)),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(*shell, &mut Arguments::command(), "swardlane", &mut script);
            Ok((String::from_utf8_lossy(&script).into_owned(), 0))
        }
    };
    finish(done, err, streams)
}

/// Prints the result, or what went wrong. A reader that went away is no error.
fn finish(done: Result<(String, u8), Failure>, err: Paint, streams: &mut Streams<'_>) -> u8 {
    match done {
        Ok((text, code)) => match print(streams.stdout, &text) {
            Ok(()) => code,
            Err(error) => {
                let text = format!(
                    "standard output: cannot be written: {}",
                    output::why(&error)
                );
                tell(&Failure::Other(text), err, streams.stderr)
            }
        },
        Err(failure) => tell(&failure, err, streams.stderr),
    }
}

fn print(stdout: &mut dyn Write, text: &str) -> io::Result<()> {
    match stdout
        .write_all(text.as_bytes())
        .and_then(|()| stdout.flush())
    {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        done => done,
    }
}

/// Says what went wrong, one line a fault, and returns its exit code.
fn tell(failure: &Failure, err: Paint, stderr: &mut dyn Write) -> u8 {
    let lines: Vec<String> = match failure {
        Failure::Given(Faults(faults)) => faults.iter().map(ToString::to_string).collect(),
        Failure::Other(text) => vec![text.clone()],
    };
    for line in lines {
        let _ = writeln!(stderr, "{} {line}", err.red("error:"));
    }
    failure.code()
}

/// `new`: writes a commented job into a folder of its own.
fn new(options: &NewOptions) -> Result<String, Failure> {
    let folder = Path::new(&options.name);
    let name = folder.file_name().ok_or_else(|| Fault {
        file: options.name.clone(),
        place: String::new(),
        text: "is no name for a new folder; name one such as `my-ground`".to_owned(),
    })?;
    let size_m = Size {
        length_m: within("length_m", options.length_m)?,
        width_m: within("width_m", options.width_m)?,
    };
    let job = job::template::job_text(&name.to_string_lossy(), size_m);
    output::write_new(folder, "job.toml", job.as_bytes())?;
    let file = folder.join("job.toml");
    Ok(format!(
        "{} is written; change it as you need, then run `swardlane plan {}`\n",
        file.display(),
        folder.display()
    ))
}

/// A side of the pitch, where it is within the limits of the job file.
fn within(key: &str, side_m: f64) -> Result<f64, Fault> {
    match job::limits::of(&format!("pitch.{key}")) {
        Some(limit) if !limit.allows(side_m) => Err(Fault {
            file: String::new(),
            place: String::new(),
            text: format!(
                "`--{}` {side_m} is {} metres",
                key.replace('_', "-"),
                limit.beyond()
            ),
        }),
        _ => Ok(side_m),
    }
}

fn schema(of: SchemaOf) -> Result<String, Failure> {
    Ok(match of {
        SchemaOf::Job => job::schema::job_schema(),
        SchemaOf::Summary => summary::schema()?,
    })
}

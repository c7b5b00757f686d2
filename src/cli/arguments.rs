//! What can be typed. Help, usage and completions are made from these types.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use super::colour::When;
use crate::job::model;

/// Plans the care of a natural-turf sports ground: zones, passes, coverage and time from
/// one job file.
#[derive(Debug, Parser)]
#[command(
    name = "swardlane",
    bin_name = "swardlane",
    version,
    disable_help_subcommand = true
)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub command: Command,

    /// When to use colour; `auto` heeds NO_COLOR and TERM=dumb
    #[arg(long, value_name = "WHEN", default_value = "auto", global = true)]
    pub color: When,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Plan jobs and write their files
    Plan(PlanOptions),
    /// Say everything that is wrong with jobs, and write nothing
    Check(CheckOptions),
    /// Write a commented job to start from
    New(NewOptions),
    /// Say what is in a file of another's, and make job material of it
    Read(ReadOptions),
    /// Print the JSON Schema of the job file or of summary.json
    Schema {
        /// Which one
        #[arg(value_name = "job|summary", hide_possible_values = true)]
        of: SchemaOf,
    },
    /// Print completions for a shell
    Completions {
        /// Which one
        #[arg(value_name = "SHELL")]
        shell: Shell,
    },
}

#[derive(Debug, Args)]
pub(super) struct PlanOptions {
    /// Folders with a job.toml, or job files; a folder without one stands for the jobs in
    /// its sub-folders
    #[arg(value_name = "JOB", required = true)]
    pub jobs: Vec<PathBuf>,

    /// Folder to write the plan to (with several jobs: one folder a job in it)
    /// [default: output/<folder's name>]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    /// Write only these groups of files: data, guidance, sheets (separated by commas);
    /// summary.json is always written
    #[arg(long, value_name = "GROUPS", value_delimiter = ',', value_parser = group)]
    pub only: Vec<Group>,

    /// Plan only this operation
    #[arg(long, value_name = "ID")]
    pub operation: Option<String>,

    /// Leave the drive out, which takes some seconds a direction: no turns, order, wheel passes
    /// and loads then, and turning time is an estimate
    #[arg(long)]
    pub no_route: bool,

    /// How hard to search for turns and order of the passes, whatever the job says
    #[arg(long, value_name = "LEVEL")]
    pub effort: Option<Effort>,

    /// Print summary.json instead of the table (of several jobs: a list of them)
    #[arg(long)]
    pub json: bool,

    /// Print neither table nor warnings
    #[arg(long)]
    pub quiet: bool,
}

impl PlanOptions {
    /// Whether a group of files is asked for.
    pub(super) fn wants(&self, group: Group) -> bool {
        self.only.is_empty() || self.only.contains(&group)
    }
}

#[derive(Debug, Args)]
pub(super) struct CheckOptions {
    /// Folders with a job.toml, or job files; a folder without one stands for the jobs in
    /// its sub-folders
    #[arg(value_name = "JOB", required = true)]
    pub jobs: Vec<PathBuf>,

    /// Print neither result nor warnings
    #[arg(long)]
    pub quiet: bool,
}

#[derive(Debug, Args)]
pub(super) struct NewOptions {
    /// Folder to make; its name becomes the job's
    #[arg(value_name = "NAME")]
    pub name: String,

    /// Length of the touch lines, metres
    #[arg(long, value_name = "METRES", default_value_t = 105.0, value_parser = metres)]
    pub length_m: f64,

    /// Length of the goal lines, metres
    #[arg(long, value_name = "METRES", default_value_t = 68.0, value_parser = metres)]
    pub width_m: f64,
}

#[derive(Debug, Args)]
pub(super) struct ReadOptions {
    /// A GeoJSON, KML, GPX, shapefile (.shp), TASKDATA.XML, a TASKDATA folder, or a zip of one
    /// of these
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Print what is in it as JSON
    #[arg(long)]
    pub json: bool,

    /// Write a ground file: its outline becomes the pitch, things with a known role are kept
    #[arg(long, value_name = "OUT.geojson")]
    pub ground: Option<PathBuf>,

    /// The area that becomes the pitch, by its name or number [default: the one that says so, else
    /// the largest]
    #[arg(long, value_name = "NAME", requires = "ground")]
    pub take: Option<String>,

    /// Print only the text that starts an operation's lines from this line, by its name or
    /// number, to be pasted into the job that `--for` names
    #[arg(long, value_name = "NAME", requires = "job", conflicts_with_all = ["json", "ground"])]
    pub line: Option<String>,

    /// The job whose pitch metres `--line` is told in
    #[arg(long = "for", id = "job", value_name = "JOB", requires = "line")]
    pub job: Option<PathBuf>,
}

fn metres(text: &str) -> Result<f64, String> {
    text.parse()
        .map_err(|_| "it is no number; write metres without the unit, such as 105.0".to_owned())
}

/// Groups of files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Group {
    Data,
    Guidance,
    Sheets,
}

fn group(word: &str) -> Result<Group, String> {
    match word {
        "data" => Ok(Group::Data),
        "sheets" => Ok(Group::Sheets),
        "guidance" => Ok(Group::Guidance),
        _ => Err("there is no such group; there are `data`, `guidance` and `sheets`".to_owned()),
    }
}

/// Fixed numbers of iterations.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Effort {
    Quick,
    Normal,
    Thorough,
}

impl From<Effort> for model::Effort {
    fn from(effort: Effort) -> Self {
        match effort {
            Effort::Quick => Self::Quick,
            Effort::Normal => Self::Normal,
            Effort::Thorough => Self::Thorough,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum SchemaOf {
    Job,
    Summary,
}

//! The command `swardlane`: everything it does stands in `swardlane::cli`.

use std::io::IsTerminal as _;
use std::process::ExitCode;

use swardlane::cli::{Streams, run};

fn main() -> ExitCode {
    let (mut stdout, mut stderr) = (std::io::stdout(), std::io::stderr());
    let mut streams = Streams {
        stdout_is_terminal: stdout.is_terminal(),
        stderr_is_terminal: stderr.is_terminal(),
        stdout: &mut stdout,
        stderr: &mut stderr,
    };
    ExitCode::from(run(std::env::args_os(), &mut streams))
}

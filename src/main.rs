//! The command `swardlane`: everything it does stands in `swardlane::cli`.

use std::io::IsTerminal as _;
use std::process::ExitCode;

use swardlane::cli::{Streams, run};

fn main() -> ExitCode {
    // This thread is one of those that work in parallel, instead of waiting for them. Where the
    // system refuses that, the first parallel work says so as it always did.
    let _ = rayon::ThreadPoolBuilder::new()
        .use_current_thread()
        .build_global();
    let (mut stdout, mut stderr) = (std::io::stdout(), std::io::stderr());
    let mut streams = Streams {
        stdout_is_terminal: stdout.is_terminal(),
        stderr_is_terminal: stderr.is_terminal(),
        stdout: &mut stdout,
        stderr: &mut stderr,
    };
    ExitCode::from(run(std::env::args_os(), &mut streams))
}

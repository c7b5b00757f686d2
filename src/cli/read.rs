//! `read`: what is in a file of another's, in plain words, and job material made of it.

use super::arguments::ReadOptions;
use super::{Failure, hush};
use crate::fault::Fault;
use crate::found::told::Told;
use crate::found::{self, used};
use crate::{ground, job, output};

/// Reads a file and gives what is to be printed. Everything is worked out before anything is
/// written.
pub(super) fn read(options: &ReadOptions) -> Result<String, Failure> {
    let file = options.file.display().to_string();
    let (format, found) = {
        // A shapefile may be in a system that PROJ has words about.
        let _hush = hush::hush();
        found::read(found::load::load(&options.file)?)?
    };
    if let (Some(line), Some(job)) = (&options.line, &options.job) {
        let (ground, _) = ground::lay(&job::load(job)?)?;
        let job = job.display().to_string();
        return Ok(used::start_of(&file, &found, line, &ground, &job)?);
    }
    let told = Told::of(&file, format, &found);
    let mut text = if options.json {
        told.json()
            .map_err(|error| Failure::Other(format!("JSON cannot be made: {error}")))?
    } else {
        told.text()
    };
    if let Some(out) = &options.ground {
        if std::fs::symlink_metadata(out).is_ok() {
            return Err(Failure::from(Fault {
                file: out.display().to_string(),
                place: String::new(),
                text: "is there already; name another file or remove it".to_owned(),
            }));
        }
        let made = used::ground_file(&file, &found, options.take.as_deref())?;
        output::write_file(out, &made.bytes)?;
        if !options.json {
            text.push_str(&format!(
                "\n{} is written as a ground file\n",
                out.display()
            ));
            for sentence in &made.said {
                text.push_str(&format!("  {sentence}\n"));
            }
        }
    }
    Ok(text)
}

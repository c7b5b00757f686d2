//! Task data of ISO 11783-10, versions 3 and 4: the lines, grounds, places, products and rates
//! that another program wrote for a terminal.
//!
//! The standard's own schema lets files through that mean nothing: a pattern without a line or with
//! two, an A-B line of one point, a group without a pattern. They are refused here, so that no
//! line is made up. What refers to something that the file does not hold is told.

mod open;
mod reading;
mod tags;
mod words;

use crate::fault::Fault;
use crate::found::limits::{ALL_BYTES, FILES};
use crate::found::tally::sized;
use crate::found::{Found, fault};
use reading::Reading;
use tags::Source;

/// Reads task data. `main` is `TASKDATA.XML`; `others` gives the bytes of another file of the
/// folder by its name, such as `TSK00001.XML` (names in capitals, never a path), where it is
/// there. Only files that `main` names are asked for.
///
/// # Errors
/// A [`Fault`] where a file is no task data, or where something in it has no meaning.
pub fn read(
    file: &str,
    main: &[u8],
    others: &dyn Fn(&str) -> Option<Vec<u8>>,
) -> Result<Found, Fault> {
    let mut reading = Reading::default();
    let mut bytes = 0;
    let mut take = |file: &str, content: &[u8], reading: &mut Reading| {
        sized(content.len()).map_err(|text| fault(file, "", text))?;
        bytes += content.len();
        if bytes > ALL_BYTES.most {
            let text = format!(
                "task data of more than {} bytes is not read; write less into one folder",
                ALL_BYTES.most
            );
            return Err(fault(file, "", text));
        }
        reading.file(&Source {
            file,
            bytes: content,
        })
    };
    take(file, main, &mut reading)?;
    let named = std::mem::take(&mut reading.external);
    if named.len() > FILES.most {
        let text = format!(
            "{} external files are named; at most {} are read: write fewer into one folder",
            named.len(),
            FILES.most
        );
        return Err(fault(file, "", text));
    }
    for name in named {
        let name = format!("{name}.XML");
        match others(&name) {
            Some(content) => take(&name, &content, &mut reading)?,
            None => reading.remark(format!(
                "the part `{name}` is not there, so what is in it is left out"
            )),
        }
    }
    Ok(reading.done())
}

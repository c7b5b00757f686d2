//! How much has been read of a file, and that it is not too much. Readers count as they go, so
//! that no list grows beyond its limit; what they give is counted once more at the end.

use super::limits::{FILE_BYTES, Most, POSITIONS, THINGS};

/// Counts things and positions.
#[derive(Default)]
pub(super) struct Tally {
    things: usize,
    positions: usize,
}

impl Tally {
    /// So many lines, areas, places or groups more.
    pub(super) fn things(&mut self, more: usize) -> Result<(), String> {
        self.things += more;
        within(self.things, &THINGS, "lines, areas, places and groups")
    }

    /// So many positions more.
    pub(super) fn positions(&mut self, more: usize) -> Result<(), String> {
        self.positions += more;
        within(self.positions, &POSITIONS, "positions")
    }
}

fn within(count: usize, limit: &Most, what: &str) -> Result<(), String> {
    let most = limit.most;
    if count > most {
        return Err(format!(
            "holds more than {most} {what}; save only what you need from it"
        ));
    }
    Ok(())
}

/// Refuses a file of too many bytes.
pub(super) fn sized(bytes: usize) -> Result<(), String> {
    if bytes > FILE_BYTES.most {
        return Err(too_large(bytes));
    }
    Ok(())
}

/// What is said of a file of so many bytes.
pub(super) fn too_large(bytes: usize) -> String {
    format!(
        "has {bytes} bytes; at most {} are read; save only the outline or the lines that you need",
        FILE_BYTES.most
    )
}

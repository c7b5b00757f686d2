//! What is wrong with what was given: file, place, what was found, what is allowed and
//! how to mend it.

use std::fmt;

/// One mistake in what was given.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// The file as the user named it; empty where no file is at fault.
    pub file: String,
    /// The place in it: `line 31`, ``feature 3 `old oak` ``; empty where it is the whole.
    pub place: String,
    /// What was found, what is allowed, how to mend it: small first letter, no full stop.
    pub text: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for part in [&self.file, &self.place] {
            if !part.is_empty() {
                write!(f, "{part}: ")?;
            }
        }
        f.write_str(&self.text)
    }
}

/// Everything that was found wrong, in the order of the file; never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Self(vec![fault])
    }
}

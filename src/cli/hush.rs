//! PROJ, the map-projection library, says on standard error by itself what it refuses. The
//! fault that follows says so with file, line and what to do, and there is to be one message;
//! so while a plan in a named CRS is made, standard error leads nowhere.

/// Standard error leads nowhere until this is dropped.
pub(super) struct Hush {
    #[cfg(unix)]
    stderr: std::os::fd::OwnedFd,
}

/// Hushes standard error; `None` where the system does not let us, which does no harm.
#[cfg(unix)]
pub(super) fn hush() -> Option<Hush> {
    use std::os::fd::AsFd as _;
    let stderr = std::io::stderr().as_fd().try_clone_to_owned().ok()?;
    let nowhere = std::fs::File::options()
        .write(true)
        .open("/dev/null")
        .ok()?;
    rustix::stdio::dup2_stderr(nowhere).ok()?;
    Some(Hush { stderr })
}

#[cfg(unix)]
impl Drop for Hush {
    fn drop(&mut self) {
        // Should it fail, there would be nowhere to tell it.
        let _ = rustix::stdio::dup2_stderr(&self.stderr);
    }
}

/// Elsewhere PROJ has its say.
#[cfg(not(unix))]
pub(super) fn hush() -> Option<Hush> {
    None
}

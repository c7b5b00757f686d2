//! Colour on the terminal, decided in one place. Nothing is told by colour alone.

use clap::ValueEnum;

/// The choice of the user.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum When {
    /// On a terminal, unless NO_COLOR is set or TERM is `dumb`.
    Auto,
    Always,
    Never,
}

/// Paints words, or leaves them plain.
#[derive(Debug, Clone, Copy)]
pub(super) struct Paint {
    is_on: bool,
}

/// The paint for a stream, from the choice, the environment and the stream.
pub(super) fn paint(when: When, is_terminal: bool) -> Paint {
    let is_set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    let is_dumb = std::env::var_os("TERM").is_some_and(|value| value == "dumb");
    let is_on = match when {
        When::Always => true,
        When::Never => false,
        When::Auto => is_terminal && !is_set("NO_COLOR") && !is_dumb,
    };
    Paint { is_on }
}

impl Paint {
    pub(super) const fn plain() -> Self {
        Self { is_on: false }
    }

    pub(super) fn bold(self, text: &str) -> String {
        self.wrap("1", text)
    }

    pub(super) fn red(self, text: &str) -> String {
        self.wrap("1;31", text)
    }

    pub(super) fn yellow(self, text: &str) -> String {
        self.wrap("33", text)
    }

    fn wrap(self, code: &str, text: &str) -> String {
        if self.is_on {
            format!("\u{1b}[{code}m{text}\u{1b}[0m")
        } else {
            text.to_owned()
        }
    }
}

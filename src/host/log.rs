//! The log: one line an event, to standard error, for a person or a program.
//!
//! Not here: what is logged. Passwords, camera addresses and children's names
//! are kept out by their own types, not by a filter here.

use std::io::IsTerminal as _;

use clap::ValueEnum;
use tracing_subscriber::EnvFilter;

/// How a line looks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum LogFormat {
    /// For reading.
    #[default]
    Text,
    /// One JSON object a line.
    Json,
}

/// The least important line that is still written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum LogLevel {
    /// Only what stops something.
    Error,
    /// And what someone should look at.
    Warn,
    /// And what a class is made of: start, stop, a camera lost and found.
    #[default]
    Info,
    /// And every decision.
    Debug,
    /// And every picture.
    Trace,
}

impl LogLevel {
    const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warn => "warn",
            Self::Info => "info",
            Self::Debug => "debug",
            Self::Trace => "trace",
        }
    }

    /// What we stand on speaks only when something is wrong, and a part of it
    /// that is to be mute never.
    fn directives(self, mute: &str) -> String {
        let own = self.word();
        let others = if self == Self::Error { own } else { "warn" };
        format!("{others},{mute}=off,afterturn={own},afterturn_core={own}")
    }
}

/// Starts the log; `mute` is a part of what we stand on that would say what
/// nobody is to read there. A second call changes nothing.
pub fn start(format: LogFormat, level: LogLevel, mute: &str) {
    let builder = tracing_subscriber::fmt()
        .with_env_filter(EnvFilter::new(level.directives(mute)))
        .with_writer(std::io::stderr)
        .with_ansi(std::io::stderr().is_terminal());
    // An error here means that a log is running already.
    let _ = match format {
        LogFormat::Text => builder.try_init(),
        LogFormat::Json => builder.json().flatten_event(true).try_init(),
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_level_is_a_filter_that_parses() {
        for level in LogLevel::value_variants() {
            assert!(EnvFilter::try_new(level.directives("other::part")).is_ok());
        }
        assert_eq!(
            LogLevel::Error.directives("other::part"),
            "error,other::part=off,afterturn=error,afterturn_core=error"
        );
    }
}

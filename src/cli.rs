//! The command line: what can be asked of the program, in words a person would
//! read. `check` and `cameras` are what it does without running anything.
//!
//! Not here: serving (that is wiring, in `main.rs`).

pub(crate) mod certificate;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

mod cameras;
mod check;

pub use cameras::{CamerasArgs, run_cameras};
pub use certificate::load;
pub use check::run_check;

use crate::host::log::{LogFormat, LogLevel};
use crate::settings::DEFAULT_PORT;

/// Where the service keeps its config file.
pub const DEFAULT_CONFIG: &str = "/etc/afterturn/afterturn.toml";

/// How the program ends. Part of what it promises to scripts and services.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// All went well.
    Fine,
    /// Something failed while running.
    Failed,
    /// The command line was not understood.
    Usage,
    /// A file has mistakes, or cannot be read.
    Mistakes,
    /// The address is taken, or may not be used.
    Address,
    /// A media part is missing on this machine.
    MissingPart,
}

impl Exit {
    /// Every way to end, in the order of its code.
    pub const ALL: [Self; 6] = [
        Self::Fine,
        Self::Failed,
        Self::Usage,
        Self::Mistakes,
        Self::Address,
        Self::MissingPart,
    ];

    /// The number the system is given.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Fine => 0,
            Self::Failed => 1,
            Self::Usage => 2,
            Self::Mistakes => 3,
            Self::Address => 4,
            Self::MissingPart => 5,
        }
    }

    /// What it means, for the help text.
    #[must_use]
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Fine => "all went well",
            Self::Failed => "something failed while running",
            Self::Usage => "the command line was not understood",
            Self::Mistakes => "a file has mistakes, or cannot be read",
            Self::Address => "the address is taken, or may not be used",
            Self::MissingPart => "a media part is missing on this machine",
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}

const EXAMPLES: &str = "\
Try it, with no camera and nothing to set up:
  afterturn demo
  then open http://127.0.0.1:8460/ in a browser on this machine

Run a gym:
  afterturn check /etc/afterturn/afterturn.toml
  afterturn serve

It ends with:";

fn after_help() -> String {
    let mut text = EXAMPLES.to_owned();
    for exit in Exit::ALL {
        text.extend(["\n  ", &exit.code().to_string(), "  ", exit.meaning()]);
    }
    text
}

/// After your turn, look.
///
/// A camera stands at each gymnastics station, and a TV beside it shows the
/// pictures some seconds late: a child steps off the mat, looks up, and sees
/// the attempt they just made. One program on one small computer in the gym;
/// nothing leaves the building and nothing is kept.
#[derive(Debug, Parser)]
#[command(name = "afterturn", version, after_help = after_help(), max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// How the log looks; it goes to standard error.
    #[arg(
        long,
        global = true,
        value_enum,
        value_name = "FORMAT",
        default_value_t
    )]
    pub log_format: LogFormat,
    /// How much the log says.
    #[arg(long, global = true, value_enum, value_name = "LEVEL", default_value_t)]
    pub log: LogLevel,
}

/// What can be asked.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Serve the stations of a config file.
    Serve(ServeArgs),
    /// Serve two built-in stations, to see how it looks.
    ///
    /// Drawn figures stand in for children and cameras. Pictures run at once, and
    /// a short class starts by itself, over and over; nothing has to be set up.
    Demo(DemoArgs),
    /// Look over files and list every mistake in them.
    ///
    /// Each is shown with its line, the exact place, and what to write instead.
    /// Nothing is started and nothing is changed.
    Check(CheckArgs),
    /// List the USB cameras that are plugged in.
    ///
    /// Each comes with the lines to write into the config file and with what it
    /// offers; those a station uses are named. The box's own page /cameras shows
    /// a picture of each as well.
    Cameras(CamerasArgs),
}

/// What `serve` takes.
#[derive(Debug, Args)]
pub struct ServeArgs {
    /// The config file; the sample says what can be in it.
    #[arg(long, value_name = "FILE", default_value = DEFAULT_CONFIG)]
    pub config: PathBuf,
    /// Another port than the file's; 0 takes any free one and says which.
    #[arg(long, value_name = "N")]
    pub port: Option<u16>,
}

/// What `demo` takes.
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// The port on this machine; 0 takes any free one and says which.
    #[arg(long, value_name = "N", default_value_t = DEFAULT_PORT)]
    pub port: u16,
    /// What the figures do; the same number, the same class.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Add to this file, one JSON object a line, what the figures really did.
    #[arg(long, value_name = "FILE")]
    pub truth: Option<PathBuf>,
}

/// What `check` takes.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The files to look over.
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<PathBuf>,
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use clap::CommandFactory as _;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn commands_are_understood() {
        let cli = Cli::try_parse_from(["afterturn", "demo", "--seed", "7", "--log-format", "json"]);
        let cli = cli.expect("understood");
        assert_eq!(cli.log_format, LogFormat::Json);
        assert!(matches!(
            cli.command,
            Command::Demo(DemoArgs {
                port: 8460,
                seed: 7,
                truth: None
            })
        ));
        let cli = Cli::try_parse_from(["afterturn", "serve"]).expect("understood");
        let Command::Serve(serve) = cli.command else {
            panic!("serve was asked for");
        };
        assert_eq!(serve.config, Path::new(DEFAULT_CONFIG));
        for wrong in [
            &["afterturn"][..],
            &["afterturn", "check"],
            &["afterturn", "fly"],
        ] {
            let error = Cli::try_parse_from(wrong).expect_err("not understood");
            assert_eq!(error.exit_code(), i32::from(Exit::Usage.code()));
        }
    }

    #[test]
    fn the_help_names_every_way_to_end() {
        let help = Cli::command().render_long_help().to_string();
        for (code, exit) in Exit::ALL.into_iter().enumerate() {
            assert_eq!(usize::from(exit.code()), code);
            assert!(
                help.contains(&format!("{code}  {}", exit.meaning())),
                "{help}"
            );
        }
        for word in [
            "serve",
            "demo",
            "check",
            "cameras",
            "--log-format",
            "After your turn",
        ] {
            assert!(help.contains(word), "{word}");
        }
    }
}

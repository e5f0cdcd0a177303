//! The command line: what can be asked of the program, in words a person would
//! read, and checking files without running anything.
//!
//! Not here: serving (that is wiring, in `main.rs`).

pub(crate) mod certificate;

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use afterturn_core::plan::{Allowed, setups};
use clap::{Args, Parser, Subcommand};

pub use certificate::load;

use crate::host::log::{LogFormat, LogLevel};
use crate::settings::{self, DEFAULT_PORT, Environment, Settings};
use crate::units;

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

/// Looks over files and writes what is wrong with them. A variable that a file
/// takes its password from is usually set for the service alone, so one that is
/// not set here is mentioned and not held against the file.
pub fn run_check(
    paths: &[PathBuf],
    environment: Environment<'_>,
    out: &mut dyn Write,
) -> io::Result<Exit> {
    let mut exit = Exit::Fine;
    for path in paths {
        if !check_one(path, environment, out)? {
            exit = Exit::Mistakes;
        }
    }
    Ok(exit)
}

fn check_one(path: &Path, environment: Environment<'_>, out: &mut dyn Write) -> io::Result<bool> {
    let name = path.display().to_string();
    let bytes = match settings::read_file(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            writeln!(out, "{error}")?;
            return Ok(false);
        }
    };
    if units::recognises(&bytes) {
        return check_unit(&name, &bytes, out);
    }
    if !Settings::recognises(&bytes) {
        writeln!(
            out,
            "{name}: not a file that can be checked; a server config has [[station]] tables, a \
             unit an id and [[station]] tables"
        )?;
        return Ok(false);
    }
    let unset = std::cell::RefCell::new(Vec::new());
    let lenient = |variable: &str| {
        environment(variable).or_else(|| {
            unset.borrow_mut().push(variable.to_owned());
            Some("not set here".to_owned())
        })
    };
    let checked = Settings::from_bytes(&name, &bytes, &lenient)
        .and_then(|(settings, warnings)| certificate::look_over(settings, warnings, true));
    let fine = match &checked {
        Ok((settings, warnings)) => {
            if !warnings.is_empty() {
                writeln!(out, "{warnings}")?;
            }
            let count = settings.stations.len();
            let word = if count == 1 { "station" } else { "stations" };
            writeln!(out, "{name}: fine, {count} {word}")?;
            true
        }
        Err(report) => {
            write!(out, "{report}")?;
            false
        }
    };
    for variable in unset
        .into_inner()
        .iter()
        .filter(|name| *name != "STATE_DIRECTORY")
    {
        writeln!(
            out,
            "{name}: the service will need {variable}, which is not set here"
        )?;
    }
    Ok(fine)
}

fn check_unit(name: &str, bytes: &[u8], out: &mut dyn Write) -> io::Result<bool> {
    match units::parse(name, bytes) {
        Ok((unit, warnings)) => {
            if !warnings.is_empty() {
                writeln!(out, "{warnings}")?;
            }
            let setups = setups(&unit, &Allowed::recorded(&unit)).len();
            let stations = unit.stations.len();
            let many = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
            let (stations, setups) = (many(stations, "station"), many(setups, "set-up"));
            writeln!(out, "{name}: fine, {stations} in {setups}")?;
            Ok(true)
        }
        Err(report) => {
            write!(out, "{report}")?;
            Ok(false)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

    fn check(files: &[(&str, &[u8])]) -> (Exit, String) {
        let dir = tempfile::tempdir().expect("a temporary directory");
        let paths: Vec<PathBuf> = files
            .iter()
            .map(|(name, bytes)| {
                let path = dir.path().join(name);
                if !bytes.is_empty() {
                    std::fs::write(&path, bytes).expect("written");
                }
                path
            })
            .collect();
        let mut out = Vec::new();
        let exit = run_check(&paths, &|_| None, &mut out).expect("a vector takes everything");
        let text = String::from_utf8(out).expect("text");
        (
            exit,
            text.replace(&format!("{}/", dir.path().display()), ""),
        )
    }

    const GOOD: &[u8] =
        b"[[station]]\nnumber = 1\ntitle = \"Rings\"\n[station.camera]\nkind = \"demo\"\n";

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
        for word in ["serve", "demo", "check", "--log-format", "After your turn"] {
            assert!(help.contains(word), "{word}");
        }
    }

    #[test]
    fn a_good_file_gets_one_line() {
        assert_eq!(
            check(&[("a.toml", GOOD)]),
            (Exit::Fine, "a.toml: fine, 1 station\n".into())
        );
    }

    #[test]
    fn every_file_is_looked_at_and_one_bad_one_counts() {
        let (exit, text) = check(&[
            ("bad.toml", b"[[station]]\nnumbr = 1\n"),
            ("a.toml", GOOD),
            ("gone.toml", b""),
        ]);
        assert_eq!(exit, Exit::Mistakes);
        assert!(text.contains("did you mean `number`?"), "{text}");
        assert!(text.contains("a.toml: fine"), "{text}");
        assert!(text.contains("gone.toml: cannot be read"), "{text}");
    }

    #[test]
    fn another_kind_of_file_is_said_to_be_one() {
        let (exit, text) = check(&[("unit.toml", b"[cue]\nwords = \"Look up\"\n")]);
        assert_eq!(exit, Exit::Mistakes);
        assert!(text.contains("not a file that can be checked"), "{text}");
    }

    #[test]
    fn a_variable_for_the_service_is_mentioned_only() {
        let file =
            b"[[station]]\nnumber = 1\ntitle = \"Rings\"\n[station.camera]\nkind = \"network\"\n\
            url = \"rtsp://10.0.0.2/a\"\nuser = \"viewer\"\npassword_env = \"GYM_CAM\"\n";
        let (exit, text) = check(&[("a.toml", file)]);
        assert_eq!(exit, Exit::Fine);
        assert!(text.contains("will need GYM_CAM"), "{text}");
    }
}

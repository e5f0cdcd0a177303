//! `afterturn check`: every mistake in config and unit files, with its place.
//!
//! Not here: the rules (`settings`, `units`).

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use afterturn_core::plan::{Allowed, setups};

use super::{Exit, certificate};
use crate::settings::{self, Environment, Settings};
use crate::units;

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
        Ok((unit, mut warnings)) => {
            units::look_for_pictures(
                &mut warnings,
                Path::new(name),
                &String::from_utf8_lossy(bytes),
            );
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

//! How a network camera is reached: its address, name and password.
//!
//! Not here: the other kinds of camera ([`super::camera`]).

use super::camera::not_of_this_kind;
use super::diagnostic::Diagnostic;
use super::reader::{Findings, Table};
use super::secret::{CameraUrl, Credentials, Secret};
use super::value::Entry;
use super::{Environment, NetworkSettings};

/// The keys that only a network camera has.
pub(super) const KEYS: [&str; 4] = ["url", "user", "password", "password_env"];

/// Reads them.
pub(super) fn read(
    findings: &Findings,
    mut table: Table<'_>,
    environment: Environment<'_>,
) -> Option<NetworkSettings> {
    let url = table.required("url", "url = \"rtsp://192.168.1.20:554/stream1\"");
    let user = table.optional("user");
    let plain = table.optional("password");
    let named = table.optional("password_env");
    let span = table.span();
    not_of_this_kind(&mut table, "network");
    table.finish();

    let parsed = url.as_ref().and_then(url_of);
    let name = user.as_ref().map(user_of);
    let password = password_of(findings, plain.as_ref(), named.as_ref(), environment);
    let (url_entry, (url, inside)) = (url?, parsed?);
    let name = match name {
        Some(checked) => Some(checked?),
        None => None,
    };
    let password = password?;
    let inside = inside.unwrap_or(Credentials {
        user: None,
        password: None,
    });
    if inside.user.is_some() && name.is_some() || inside.password.is_some() && password.is_some() {
        url_entry.refuse(
            "name or password stand twice, in the address and beside it",
            "take them out of the address",
        );
        return None;
    }
    let (user, password) = (name.or(inside.user), password.or(inside.password));
    if password.is_some() && user.is_none() {
        findings.add(
            Diagnostic::mistake(
                span,
                "this camera has a password and no `user`",
                "add  user = \"…\"",
            )
            .about_absence(),
        );
        return None;
    }
    Some(NetworkSettings {
        url,
        user,
        password,
    })
}

fn url_of(entry: &Entry<'_>) -> Option<(CameraUrl, Option<Credentials>)> {
    let parsed = CameraUrl::parse(entry.text()?)
        .map_err(|error| entry.refuse(error.to_string(), error.fix()))
        .ok()?;
    if parsed.1.is_some() {
        entry.warn(
            "the address holds a name or password; both were taken out and will not be shown",
            "move them to `user` and `password` (or `password_env`)",
        );
    }
    Some(parsed)
}

fn user_of(entry: &Entry<'_>) -> Option<String> {
    entry.hide();
    let user = entry.text()?;
    // RFC 7617 §2: a colon ends the name.
    if user.is_empty() || user.contains(':') || user.chars().any(char::is_control) {
        entry.refuse(
            "a name is not empty and has no colon in it",
            "write the name alone; the password goes into `password`",
        );
        return None;
    }
    Some(user.to_owned())
}

/// The password, if there is to be one. The outer `None` is a mistake.
#[expect(
    clippy::option_option,
    reason = "wrong and absent are different answers"
)]
fn password_of(
    findings: &Findings,
    plain: Option<&Entry<'_>>,
    named: Option<&Entry<'_>>,
    environment: Environment<'_>,
) -> Option<Option<Secret>> {
    for entry in [plain, named].into_iter().flatten() {
        entry.hide();
    }
    match (plain, named) {
        (None, None) => Some(None),
        (Some(plain), Some(named)) => {
            findings.add(
                Diagnostic::mistake(
                    named.key_span.clone(),
                    "`password` and `password_env` exclude each other",
                    "keep one of them",
                )
                .with_also(plain.key_span.clone(), "the other is here"),
            );
            None
        }
        (Some(plain), None) => {
            let password = plain.text()?;
            if password.is_empty() {
                plain.refuse("the password is empty", "write it, or take the line out");
                return None;
            }
            Some(Some(Secret::new(password)))
        }
        (None, Some(named)) => from_environment(named, environment).map(Some),
    }
}

fn from_environment(entry: &Entry<'_>, environment: Environment<'_>) -> Option<Secret> {
    let name = entry.text()?;
    // Anything else is more likely the password itself, and is not repeated.
    let shaped = !name.is_empty()
        && !name.starts_with(|c: char| c.is_ascii_digit())
        && name
            .bytes()
            .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit() || b == b'_');
    if !shaped {
        entry.refuse(
            "`password_env` names a variable of the environment: capitals, digits and _",
            "write a name such as \"AFTERTURN_CAMERA_1_PASSWORD\"",
        );
        return None;
    }
    let password = environment(name).filter(|password| !password.is_empty());
    if password.is_none() {
        entry.refuse(
            format!("the environment variable {name} is not set, or is empty"),
            "set it where the service is started (EnvironmentFile= in its unit)",
        );
    }
    password.map(Secret::new)
}

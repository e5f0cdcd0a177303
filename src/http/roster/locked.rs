//! The page of a locked vault, and of one that cannot be read.

use askama::Template;
use warp::reply::Response;

use super::{Checked, Desk, Faults, PASSPHRASE, forms::Form, forms::Maker};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::VaultError;

page!(
    /// The vault is locked.
    LockedPage, "locked.html", { forms: Vec<Form>, damaged: bool }
);

/// Opens the vault with what was typed, or says what is wrong with it.
pub(super) fn unlock(desk: &Desk) -> Result<(), Faults> {
    match desk.checked {
        Checked::Right => {}
        other => return Err(refused(other)),
    }
    let passphrase = desk.typed.get(PASSPHRASE);
    let code = desk.typed.get("code");
    let opened = if code.trim().is_empty() {
        desk.portfolio.unlock(passphrase, desk.moment)
    } else {
        desk.portfolio
            .unlock_by_sheet(code, passphrase, desk.moment)
    };
    opened.map_err(|error| match error {
        VaultError::Wrong if code.trim().is_empty() => {
            Faults::one("code", "locked-fault-other-passphrase")
        }
        VaultError::Wrong => Faults::one("code", "locked-fault-code"),
        other => {
            tracing::error!("{other}");
            Faults::one("code", "locked-fault-damaged")
        }
    })
}

/// What is wrong with the passphrase, as the door says.
pub(super) fn refused(checked: Checked) -> Faults {
    let sentence = match checked {
        Checked::Absent => "roster-fault-empty",
        Checked::Wait(_) => "roster-fault-wait",
        Checked::Wrong | Checked::Right => "sign-in-wrong",
    };
    Faults::one(PASSPHRASE, sentence)
}

/// Asks for the passphrase, and carries along what was typed.
pub(super) fn page(desk: &Desk, faults: &Faults) -> Response {
    let make = Maker {
        words: desk.language.words(),
        typed: &desk.typed,
        faults,
        done: None,
    };
    let mut form = make
        .form("unlock", "locked-open", "locked-open")
        .secret(PASSPHRASE, "sign-in-passphrase", false)
        .text("code", "locked-code", "")
        .hint("locked-code-hint");
    for (name, value) in desk.typed.to_carry() {
        form = form.hidden(&name, value);
    }
    let page = html(&LockedPage::new(
        Frame::new(desk.language, desk.app.demo),
        vec![form.done()],
        false,
    ));
    if faults.is_empty() {
        page
    } else {
        Desk::refused(page)
    }
}

/// Says what to do with a vault that cannot be read.
pub(super) fn damaged(desk: &Desk) -> Response {
    html(&LockedPage::new(
        Frame::new(desk.language, desk.app.demo),
        Vec::new(),
        true,
    ))
}

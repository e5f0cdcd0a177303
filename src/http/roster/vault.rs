//! `/roster/vault`: backup and restore, the passphrase, the recovery sheet, how
//! long things are kept, and the date.

use afterturn_core::consent::{Doubt, Terms};
use askama::Template;
use warp::{
    Reply,
    http::{HeaderValue, header},
    reply::Response,
};

use super::{
    Checked, Desk, Faults, Outcome, PASSPHRASE,
    answers::after,
    forms::{Form, Maker},
    locked,
};
use crate::door::{PassphraseError, check_passphrase, hash, spoken};
use crate::http::pages::{Frame, html, page};
use crate::http::words::Words;
use crate::portfolio::{State, VaultError};

page!(
    /// The vault itself.
    VaultPage, "vault.html", {
        open: bool, doubt: Option<String>, has_sheet: bool, backup: Form, restore: Form,
        passphrase: Form, sheet: Form, terms: Form, date: Form
    }
);
page!(
    /// The recovery sheet, shown once.
    SheetPage, "sheet.html", { code: Vec<String>, day: String }
);

/// Letters and digits of the sheet's code, and of each of its groups: 24 signs
/// to the power of 25 are 114 bits.
const CODE_LENGTH: usize = 25;
const CODE_GROUP: usize = 5;

pub(super) fn answer(desk: &Desk, posted: bool, faults: &mut Faults) -> Outcome {
    if !posted {
        return Ok(show(desk, faults));
    }
    let done = match desk.typed.get("do") {
        // A phone left lying signed in must not be enough for all there is.
        "backup" if is_right(desk, faults) => return backup(desk),
        "sheet" if is_right(desk, faults) => return sheet(desk),
        "restore" => restore(desk, faults)?,
        "passphrase" => {
            if change_passphrase(desk, faults)? {
                return Ok(Desk::see("/sign-in", ""));
            }
            None
        }
        "terms" => set_terms(desk, faults)?,
        "date" => {
            desk.portfolio.confirm_date(desk.moment)?;
            Some("date")
        }
        _ => None,
    };
    after(desk, done, || Ok(show(desk, faults)))
}

fn backup(desk: &Desk) -> Outcome {
    let bytes = desk.portfolio.backup(desk.moment)?;
    tracing::info!(bytes = bytes.len(), "a backup of the vault was made");
    let mut response = bytes.into_response();
    let name = format!(
        "attachment; filename=\"afterturn-{}.vault\"",
        desk.moment.today
    );
    let headers = response.headers_mut();
    if let Ok(name) = HeaderValue::from_str(&name) {
        headers.insert(header::CONTENT_DISPOSITION, name);
    }
    let kind = HeaderValue::from_static("application/octet-stream");
    headers.insert(header::CONTENT_TYPE, kind);
    Ok(response)
}

fn sheet(desk: &Desk) -> Outcome {
    let code = spoken(CODE_LENGTH);
    desk.portfolio.set_recovery(&code, desk.moment)?;
    tracing::info!("a recovery sheet was made");
    let groups = code.as_bytes().chunks(CODE_GROUP);
    Ok(html(&SheetPage::new(
        Frame::new(desk.language, desk.app.demo),
        groups
            .map(|g| String::from_utf8_lossy(g).into_owned())
            .collect(),
        desk.moment.today.to_string(),
    )))
}

type Done = Result<Option<&'static str>, VaultError>;

/// The passphrase of today was typed and is right.
fn is_right(desk: &Desk, faults: &mut Faults) -> bool {
    let right = desk.checked == Checked::Right;
    if !right {
        let refused = locked::refused(desk.checked);
        faults.add(PASSPHRASE, refused.sentence());
    }
    right
}

fn restore(desk: &Desk, faults: &mut Faults) -> Done {
    let right = is_right(desk, faults);
    let Some((_, file)) = desk.typed.files.first() else {
        faults.add("file", "vault-fault-file");
        return Ok(None);
    };
    if !right {
        return Ok(None);
    }
    let passphrase = desk.typed.get(PASSPHRASE);
    let theirs = match desk.typed.get("backup-passphrase") {
        "" => passphrase,
        theirs => theirs,
    };
    let outcome = desk
        .portfolio
        .restore(&file.bytes, theirs, passphrase, desk.moment);
    match outcome {
        Ok(()) => {
            tracing::info!("a backup of the vault was restored");
            Ok(Some("restore"))
        }
        Err(VaultError::Wrong) => {
            faults.add("backup-passphrase", "vault-fault-backup-passphrase");
            Ok(None)
        }
        Err(VaultError::NoBackup) => {
            faults.add("file", "vault-fault-no-backup");
            Ok(None)
        }
        Err(VaultError::Ledger) => {
            faults.add("file", "vault-fault-ledger");
            Ok(None)
        }
        Err(other) => Err(other),
    }
}

/// First the vault, then the door: whichever of the two a crash leaves undone,
/// the passphrase the door takes opens the vault.
fn change_passphrase(desk: &Desk, faults: &mut Faults) -> Result<bool, VaultError> {
    let right = is_right(desk, faults);
    let new = desk.typed.get("passphrase-new");
    match check_passphrase(new) {
        Ok(()) => {}
        Err(PassphraseError::Common) => faults.add("passphrase-new", "sign-in-common"),
        Err(_) => faults.add("passphrase-new", "sign-in-short"),
    }
    if new != desk.typed.get("passphrase-again") {
        faults.add("passphrase-again", "sign-in-differ");
    }
    if !right || !faults.is_empty() {
        return Ok(false);
    }
    desk.portfolio.prepare_passphrase(new, desk.moment)?;
    let hash = hash(new);
    desk.app.entrance.with(|door, _| door.set_passphrase(hash));
    tracing::info!("the teacher's passphrase was changed");
    Ok(true)
}

fn set_terms(desk: &Desk, faults: &mut Faults) -> Done {
    let mut days = |field| {
        let days = desk.typed.get(field).trim().parse::<u16>();
        let days = days.unwrap_or_default();
        if !(Terms::LEAST_DAYS..=Terms::MOST_DAYS).contains(&days) {
            faults.add(field, "vault-fault-days");
        }
        days
    };
    let (media, records, roster) = (days("media"), days("records"), days("roster"));
    let Ok(terms) = Terms::new(media, records, roster) else {
        return Ok(None);
    };
    desk.portfolio.set_terms(terms, desk.moment)?;
    Ok(Some("terms"))
}

fn show(desk: &Desk, faults: &Faults) -> Response {
    let words = desk.language.words();
    let make = Maker {
        words,
        typed: &desk.typed,
        faults,
        done: desk.done.as_deref(),
    };
    let terms = desk.portfolio.terms().unwrap_or_default();
    let open = desk.portfolio.state(desk.moment.now) == State::Open;
    let today = desk.moment.today;
    let doubt = desk.portfolio.date_doubt(today).map(|doubt| {
        let (Doubt::Behind { highest } | Doubt::Ahead { highest }) = doubt;
        words
            .get("vault-doubt")
            .replace("{today}", &today.to_string())
            .replace("{last}", &highest.to_string())
    });
    html(&VaultPage::new(
        Frame::new(desk.language, desk.app.demo),
        open,
        doubt,
        desk.portfolio.has_recovery().unwrap_or(false),
        make.form("backup", "vault-backup-go", "vault-backup-go")
            .secret(PASSPHRASE, "sign-in-passphrase", false)
            .hint("vault-again-hint")
            .done(),
        restore_form(&make),
        passphrase_form(&make),
        make.form("sheet", "vault-sheet-go", "vault-sheet-go")
            .secret(PASSPHRASE, "sign-in-passphrase", false)
            .hint("vault-again-hint")
            .done(),
        terms_form(&make, terms),
        make.form("date", "vault-date-go", "roster-saved").done(),
    ))
}

fn restore_form(make: &Maker<'_>) -> Form {
    make.form("restore", "vault-restore-go", "vault-restored")
        .file("file", "vault-restore-file")
        .secret("backup-passphrase", "vault-restore-passphrase", false)
        .hint("vault-restore-hint")
        .secret(PASSPHRASE, "sign-in-passphrase", false)
        .done()
}

fn passphrase_form(make: &Maker<'_>) -> Form {
    make.form("passphrase", "vault-passphrase-go", "vault-passphrase-go")
        .secret(PASSPHRASE, "sign-in-passphrase", false)
        .secret("passphrase-new", "sign-in-new-passphrase", true)
        .secret("passphrase-again", "sign-in-again", true)
        .done()
}

fn terms_form(make: &Maker<'_>, terms: Terms) -> Form {
    make.form("terms", "vault-terms-go", "roster-saved")
        .number("media", "vault-terms-media", &terms.media_days.to_string())
        .number(
            "records",
            "vault-terms-records",
            &terms.records_days.to_string(),
        )
        .number(
            "roster",
            "vault-terms-roster",
            &terms.roster_days.to_string(),
        )
        .done()
}

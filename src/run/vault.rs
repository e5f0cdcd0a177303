//! The vault of a running box: opened at the start, locked when nobody is there,
//! purged once a day.
//!
//! Not here: what goes and what stays.

use std::{path::Path, sync::Arc, time::Duration};

use afterturn_core::wire::Part;
use tokio::{sync::watch, task::spawn_blocking, time::sleep};

use crate::av::camera::NowFn;
use crate::host::{calendar, parts::Parts};
use crate::http::{App, Vault};
use crate::lesson::List;
use crate::portfolio::{Cost, Portfolio};

/// How often it is looked whether the vault is to be locked, or a day is over.
const EVERY: Duration = Duration::from_mins(1);

/// Opens the vault, locked. A class goes on without it, covered where it cannot
/// be read.
pub(super) fn open(state_dir: &Path) -> Vault {
    let portfolio = Portfolio::open(state_dir, Cost::USUAL, calendar::today());
    Vault::new(portfolio, Arc::new(calendar::today))
}

/// What a running class asks of it.
pub(super) fn list(vault: &Vault) -> List {
    List {
        portfolio: Arc::clone(&vault.portfolio),
        today: Arc::clone(&vault.today),
    }
}

/// An app with the vault, which is looked after from now on.
pub(super) fn attach(app: App, vault: Option<Vault>, now: NowFn, parts: &mut Parts) -> App {
    let Some(vault) = vault else { return app };
    let looked_after = vault.clone();
    parts.run(Part::List, move |stop| {
        look_after(looked_after.clone(), Arc::clone(&now), stop)
    });
    app.with_vault(vault)
}

/// Looks after it until the end.
async fn look_after(vault: Vault, now: NowFn, mut stop: watch::Receiver<bool>) {
    let mut purged = (vault.today)();
    loop {
        tokio::select! {
            () = sleep(EVERY) => {}
            _ = stop.wait_for(|stop| *stop) => {
                vault.portfolio.lock();
                return;
            }
        }
        vault.portfolio.lock_if_idle(now());
        vault.tidy(now());
        let today = (vault.today)();
        if today == purged {
            continue;
        }
        let portfolio = Arc::clone(&vault.portfolio);
        match spawn_blocking(move || portfolio.purge(today)).await {
            Ok(Ok(gone)) => {
                purged = today;
                tracing::info!(
                    items = gone.items,
                    children = gone.children,
                    "out of time, erased"
                );
            }
            Ok(Err(error)) => tracing::error!("what is out of time stays for now: {error}"),
            Err(_) => tracing::error!("what is out of time stays for now"),
        }
    }
}

//! What was made and is not kept: in memory, for somebody to look at before they
//! say so, and for two minutes at most. What is wiped or hidden meanwhile is gone
//! here too.
//!
//! Not here: making it, and keeping it.

use std::{
    collections::VecDeque,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use afterturn_core::{
    consent::{Medium, Permit},
    delay::Cut,
    kernel::CaptureUs,
};
use warp::hyper::body::Bytes;

use crate::portfolio::{About, random_number};
use crate::station::Station;

/// As long as somebody needs to look at a clip twice and be called off once: a
/// guess of ours.
const LASTS_US: i64 = 120_000_000;

/// Two remotes, one of them pressed twice.
const MOST: usize = 3;

/// One thing that was made.
pub(super) struct One {
    pub(super) permit: Permit,
    pub(super) about: About,
    pub(super) bytes: Bytes,
    pub(super) station: Arc<Station>,
    pub(super) cut: Cut,
    pub(super) at: CaptureUs,
}

/// See the module.
#[derive(Default)]
pub(super) struct Made(Mutex<VecDeque<(u64, One)>>);

impl Made {
    /// Takes one in; what to ask for it by.
    pub(super) fn put(&self, one: One) -> u64 {
        let token = random_number() >> 1;
        let mut all = self.held(one.at);
        all.push_back((token, one));
        if all.len() > MOST {
            all.pop_front();
        }
        token
    }

    /// What one is, and its bytes.
    pub(super) fn look(&self, token: &str, now: CaptureUs) -> Option<(Medium, Bytes)> {
        let token = read(token)?;
        let all = self.held(now);
        let (_, one) = all.iter().find(|(of, _)| *of == token)?;
        Some((one.permit.medium(), one.bytes.clone()))
    }

    /// Takes one out.
    pub(super) fn take(&self, token: &str, now: CaptureUs) -> Option<One> {
        let token = read(token)?;
        let mut all = self.held(now);
        let at = all.iter().position(|(of, _)| *of == token)?;
        all.remove(at).map(|(_, one)| one)
    }

    /// Those that are not out of time and may still be seen.
    fn held(&self, now: CaptureUs) -> MutexGuard<'_, VecDeque<(u64, One)>> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|(_, one)| now.since(one.at) < LASTS_US && one.station.may_still(&one.cut));
        all
    }

    /// Forgets what is over.
    pub(super) fn tidy(&self, now: CaptureUs) {
        drop(self.held(now));
    }
}

/// As it stands in an address.
pub(super) fn written(token: u64) -> String {
    format!("{token:016x}")
}

fn read(token: &str) -> Option<u64> {
    let hex = token.len() == 16 && token.bytes().all(|b| b.is_ascii_hexdigit());
    u64::from_str_radix(token, 16).ok().filter(|_| hex)
}

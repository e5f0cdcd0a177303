//! What a process takes, read from Linux's /proc (proc(5)).
//!
//! Not here: other systems; elsewhere the figures are missing and said to be.

use std::{fs, time::Instant};

/// Clock ticks a second, as proc(5) counts processor time; 100 on every Linux in use.
const TICKS_PER_S: f64 = 100.0;

/// A process, by its number.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Process(pub u32);

impl Process {
    /// The process this is.
    pub(crate) fn this() -> Self {
        Self(std::process::id())
    }

    /// Memory it has in hand.
    pub(crate) fn resident_bytes(self) -> Option<u64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.0)).ok()?;
        let line = status
            .lines()
            .find_map(|line| line.strip_prefix("VmRSS:"))?;
        let kb: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
        Some(kb * 1024)
    }

    /// Processor time it has used, in seconds.
    fn processor_s(self) -> Option<f64> {
        let stat = fs::read_to_string(format!("/proc/{}/stat", self.0)).ok()?;
        // Behind the name, which may hold anything up to the last bracket.
        let fields: Vec<&str> = stat.rsplit_once(") ")?.1.split(' ').collect();
        let ticks = |at: usize| fields.get(at)?.parse::<f64>().ok();
        Some((ticks(11)? + ticks(12)?) / TICKS_PER_S)
    }

    /// Starts to look at its share of a core.
    pub(crate) fn share(self) -> Share {
        Share {
            process: self,
            from_s: self.processor_s(),
            since: Instant::now(),
        }
    }
}

/// A stretch over which a process's share of a core is looked at.
pub(crate) struct Share {
    process: Process,
    from_s: Option<f64>,
    since: Instant,
}

impl Share {
    /// Per cent of one core since the start.
    pub(crate) fn percent(&self) -> Option<f64> {
        let used_s = self.process.processor_s()? - self.from_s?;
        Some(used_s / self.since.elapsed().as_secs_f64() * 100.0)
    }
}

/// Memory the system holds in TCP buffers, of everyone: where what a stalled
/// screen does not read stands, and no process's own.
pub(crate) fn tcp_bytes() -> Option<u64> {
    const PAGE_BYTES: u64 = 4096;
    let said = fs::read_to_string("/proc/net/sockstat").ok()?;
    let line = said.lines().find(|line| line.starts_with("TCP:"))?;
    let pages: u64 = line.rsplit_once("mem ")?.1.trim().parse().ok()?;
    Some(pages * PAGE_BYTES)
}

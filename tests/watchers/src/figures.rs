//! What was measured, as a table, and which of it does not hold.
//!
//! Not here: measuring.

use crate::{
    measure::{Measured, Memory},
    options::Options,
    screen::{Habit, Tally},
};

const MIB: f64 = 1_048_576.0;

/// Of a screen's pictures the system may hold this much: the server's own limit
/// (`SEND_BUFFER_BYTES` in `src/http/serve.rs`).
const SEND_BUFFER_BYTES: u64 = 64 * 1024;
/// What the server itself takes for a socket: 128 KiB that the WebSocket library
/// reads into, a keyframe on its way out, about 100 KiB at this camera's rate,
/// and the task around them.
const SOCKET_BYTES: u64 = 256 * 1024;
/// An allocator gives pages back late, and not all of them.
const SLACK_BYTES: u64 = 8 * 1024 * 1024;
/// In the second half nothing grows, but for what the allocator moves about. Of
/// pictures that pile up for stalled screens it would be this much in seconds.
const GROWS_BYTES: u64 = 4 * 1024 * 1024;
const GROWS_A_SCREEN_BYTES: u64 = 8 * 1024;

const KINDS: [(Habit, &str); 4] = [
    (Habit::Reads, "reading"),
    (Habit::Slow, "slow"),
    (Habit::Vanishes, "vanishing"),
    (Habit::Stalls, "stalled"),
];

/// The screens of a kind, taken together.
struct Sum {
    screens: usize,
    leads_us: Vec<i64>,
    late: usize,
    missing: u64,
    out_of_order: u64,
    lost_said: u64,
    closed: u64,
}

fn sum(measured: &Measured, kind: Habit) -> Sum {
    let of_kind = || {
        let these = measured
            .screens
            .iter()
            .filter(move |(habit, _)| *habit == kind);
        these.map(|(_, tally)| tally)
    };
    let total = |what: fn(&Tally) -> u64| of_kind().map(what).sum();
    let mut leads_us: Vec<i64> = of_kind().flat_map(|tally| tally.leads_us.clone()).collect();
    leads_us.sort_unstable();
    Sum {
        screens: of_kind().count(),
        late: leads_us.partition_point(|lead| *lead < 0),
        leads_us,
        missing: total(|tally| tally.missing),
        out_of_order: total(|tally| tally.out_of_order),
        lost_said: total(|tally| tally.lost_said),
        closed: total(|tally| tally.closed),
    }
}

/// The value below which this share of a sorted list lies, in milliseconds.
fn quantile_ms(sorted_us: &[i64], share: f64) -> Option<f64> {
    let last = sorted_us.len().checked_sub(1)?;
    let at = (last as f64 * share).round() as usize;
    Some(sorted_us[at] as f64 / 1000.0)
}

fn shown(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "–".to_owned(), |value| format!("{value:.digits$}"))
}

pub(crate) fn print(options: &Options, measured: &Measured) {
    let bytes: u64 = measured.screens.iter().map(|(_, tally)| tally.bytes).sum();
    println!(
        "{} screens of one station at {} s for {} s; {:.0} Mbit/s in all",
        options.viewers,
        f64::from(options.delay_ms) / 1000.0,
        options.seconds,
        bytes as f64 * 8.0 / 1e6 / options.seconds as f64,
    );
    println!(
        "{:<10}{:>8}{:>10}  {:>24}{:>7}{:>9}{:>7}{:>10}{:>8}",
        "",
        "screens",
        "pictures",
        "lead ms: mid / p1 / worst",
        "late",
        "missing",
        "order",
        "said lost",
        "closed"
    );
    for (kind, name) in KINDS {
        let sum = sum(measured, kind);
        let lead = |share| shown(quantile_ms(&sum.leads_us, share), 0);
        println!(
            "{name:<10}{:>8}{:>10}  {:>24}{:>7}{:>9}{:>7}{:>10}{:>8}",
            sum.screens,
            sum.leads_us.len(),
            format!("{} / {} / {}", lead(0.5), lead(0.01), lead(0.0)),
            sum.late,
            sum.missing,
            sum.out_of_order,
            sum.lost_said,
            sum.closed,
        );
    }
    let backs = measured
        .screens
        .iter()
        .filter(|(habit, _)| *habit == Habit::Vanishes);
    let mut backs_us: Vec<i64> = backs
        .flat_map(|(_, tally)| tally.first_after_us.clone())
        .collect();
    backs_us.sort_unstable();
    println!(
        "came back {} times; first picture after {} ms, at worst {} ms",
        backs_us.len(),
        shown(quantile_ms(&backs_us, 0.5), 1),
        shown(quantile_ms(&backs_us, 1.0), 1),
    );
    print_server(measured);
}

fn print_server(measured: &Measured) {
    let said = &measured.said;
    println!(
        "the server says: {} screens, up to {} stuck at once, one for {:.1} s and missing {} pictures by then",
        said.screens,
        said.stuck,
        said.stuck_ms as f64 / 1000.0,
        said.stuck_lost,
    );
    let lost: Vec<String> = said
        .lost
        .iter()
        .map(|(lost, stuck)| format!("{lost}{}", if *stuck { " (stuck)" } else { "" }))
        .collect();
    println!(
        "lost at the end, by screen: {}",
        if lost.is_empty() {
            "none".to_owned()
        } else {
            lost.join(", ")
        }
    );
    let line = |memory: &Memory| {
        let mib = |bytes: Option<u64>| shown(bytes.map(|bytes| bytes as f64 / MIB), 1);
        format!(
            "{} before, {} settled, {} in the middle, {} at most, {} at the end, {} after all left",
            mib(memory.before),
            mib(memory.settled),
            mib(memory.middle),
            mib(memory.most),
            mib(memory.end),
            mib(memory.after),
        )
    };
    println!(
        "server MiB: {} (ring {:.1})",
        line(&measured.memory),
        measured.ring_bytes as f64 / MIB
    );
    let most = measured.memory.most.zip(measured.memory.before);
    let a_screen = most.map(|(most, before)| {
        most.saturating_sub(before) as f64 / 1024.0 / measured.screens.len() as f64
    });
    println!("  {} KiB a screen", shown(a_screen, 0));
    println!(
        "TCP buffers of the whole machine, MiB: {}",
        line(&measured.tcp)
    );
    let shares = &measured.shares;
    println!(
        "processor, % of a core: server {}, camera {}, this program {}",
        shown(shares.server, 0),
        shown(shares.camera, 0),
        shown(shares.this, 0),
    );
}

/// What no busy machine excuses.
pub(crate) fn out_of_order(options: &Options, measured: &Measured) -> Vec<String> {
    let mut not_held = Vec::new();
    let mut hold = |holds: bool, what: String| {
        if !holds {
            not_held.push(what);
        }
    };
    for (kind, name) in KINDS {
        let sum = sum(measured, kind);
        hold(
            sum.out_of_order == 0,
            format!(
                "{} pictures out of order at {name} screens",
                sum.out_of_order
            ),
        );
    }
    let reading = sum(measured, Habit::Reads);
    hold(
        reading.missing == 0,
        format!("{} pictures missing at reading screens", reading.missing),
    );
    hold(
        reading.closed == 0,
        format!("{} sockets of reading screens closed", reading.closed),
    );
    let readers = measured
        .screens
        .iter()
        .filter(|(habit, _)| *habit == Habit::Reads);
    let without = readers
        .filter(|(_, tally)| tally.leads_us.is_empty())
        .count();
    hold(
        without == 0,
        format!("{without} reading screens without pictures"),
    );
    let stuck = measured.said.stuck;
    hold(
        stuck >= options.stalled as usize,
        format!("{stuck} screens are said to be stuck"),
    );
    let memory = &measured.memory;
    let ends = memory.end.zip(memory.middle);
    let grown = ends.map_or(0, |(end, middle)| end.saturating_sub(middle));
    let screens = measured.screens.len() as u64;
    hold(
        grown <= GROWS_BYTES + screens * GROWS_A_SCREEN_BYTES,
        format!(
            "memory grew by {:.1} MiB in the second half",
            grown as f64 / MIB
        ),
    );
    not_held
}

/// What a machine that does nothing else has to hold, too.
pub(crate) fn late_or_large(options: &Options, measured: &Measured) -> Vec<String> {
    let mut not_held = Vec::new();
    let late = sum(measured, Habit::Reads).late;
    if late > 0 {
        not_held.push(format!("{late} late pictures at reading screens"));
    }
    let memory = &measured.memory;
    let most = memory.most.zip(memory.before);
    let grown = most.map_or(0, |(most, before)| most.saturating_sub(before));
    let explained = u64::from(options.viewers) * (SEND_BUFFER_BYTES + SOCKET_BYTES) + SLACK_BYTES;
    if grown > explained {
        not_held.push(format!(
            "memory grew by {:.1} MiB for its screens; {:.1} are explained",
            grown as f64 / MIB,
            explained as f64 / MIB
        ));
    }
    not_held
}

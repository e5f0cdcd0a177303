//! Keeps pictures in memory from reaching the disk by accident: no core dump,
//! and plain words when the machine could still swap or hibernate them.
//!
//! Not here: refusing to run. A school that cannot change its machine today is
//! warned and served.

use std::path::{Path, PathBuf};

use rustix::process::{DumpableBehavior, Resource, Rlimit, set_dumpable_behavior, setrlimit};

/// What was read of the machine. Apart from the reading, so that the judging
/// can be tested.
#[derive(Debug, Default, PartialEq, Eq)]
struct Facts {
    dump_is_off: bool,
    /// `/proc/swaps`, if it could be read.
    swaps: Option<String>,
    /// `memory.swap.max` of this process's control group and those above it.
    swap_limits: Vec<String>,
    /// `/sys/power/state`, if there is one.
    power_states: String,
}

/// Switches core dumps off for this process and says what else could put a
/// picture on the disk. Never fails.
#[must_use]
pub fn settle() -> Vec<String> {
    let mut facts = Facts {
        dump_is_off: false,
        swaps: std::fs::read_to_string("/proc/swaps").ok(),
        swap_limits: swap_limits(),
        power_states: std::fs::read_to_string("/sys/power/state").unwrap_or_default(),
    };
    let none = Rlimit {
        current: Some(0),
        maximum: Some(0),
    };
    // Both: a kernel that pipes dumps to a program does not mind the limit
    // (core(5)), and a limit is what children of this process inherit.
    let limited = setrlimit(Resource::Core, none).is_ok();
    let undumpable = set_dumpable_behavior(DumpableBehavior::NotDumpable).is_ok();
    facts.dump_is_off = limited && undumpable;
    warnings(&facts)
}

fn swap_limits() -> Vec<String> {
    let groups = std::fs::read_to_string("/proc/self/cgroup").unwrap_or_default();
    swap_limit_files(&groups)
        .into_iter()
        .filter_map(|file| std::fs::read_to_string(file).ok())
        .collect()
}

/// Where the limits of a process stand: in its own group and in every group
/// above. `groups` is `/proc/self/cgroup`; version 2 has the line `0::/path`
/// (cgroups(7)).
fn swap_limit_files(groups: &str) -> Vec<PathBuf> {
    let Some(path) = groups.lines().find_map(|line| line.strip_prefix("0::/")) else {
        return Vec::new();
    };
    Path::new(path)
        .ancestors()
        .map(|group| {
            Path::new("/sys/fs/cgroup")
                .join(group)
                .join("memory.swap.max")
        })
        .collect()
}

fn warnings(facts: &Facts) -> Vec<String> {
    let mut said = Vec::new();
    if !facts.dump_is_off {
        said.push(
            "core dumps could not be switched off: a crash could write pictures to the disk. \
             Set LimitCORE=0 in the service."
                .to_owned(),
        );
    }
    let on_disk = facts.swaps.as_deref().map(swaps_on_disk);
    match on_disk.as_deref() {
        None => said.push(
            "whether this machine swaps cannot be seen: memory with pictures could be written \
             to the disk."
                .to_owned(),
        ),
        Some([]) => {}
        Some(swaps) => {
            let off = facts.swap_limits.iter().any(|limit| limit.trim() == "0");
            if !off {
                said.push(format!(
                    "swap is in use ({}) and not switched off for this service: memory with \
                     pictures could be written to the disk. Set MemorySwapMax=0 in the service, \
                     or turn swap off.",
                    swaps.join(", ")
                ));
            }
            if facts
                .power_states
                .split_whitespace()
                .any(|state| state == "disk")
            {
                said.push(
                    "this machine can hibernate, which writes all memory to the disk, pictures \
                     too. Run: systemctl mask hibernate.target hybrid-sleep.target \
                     suspend-then-hibernate.target"
                        .to_owned(),
                );
            }
        }
    }
    said
}

/// The swap areas of `/proc/swaps` that are not compressed memory.
fn swaps_on_disk(table: &str) -> Vec<&str> {
    table
        .lines()
        .skip(1)
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| !name.starts_with("/dev/zram"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "Filename\t\t\t\tType\t\tSize\t\tUsed\t\tPriority\n";
    const FILE: &str = "/swapfile                               file\t\t1048572\t\t0\t\t-2\n";
    const ZRAM: &str = "/dev/zram0                              partition\t4040700\t\t0\t\t100\n";

    fn facts(swaps: &str) -> Facts {
        Facts {
            dump_is_off: true,
            swaps: Some(swaps.to_owned()),
            swap_limits: vec!["max\n".to_owned(), "max\n".to_owned()],
            power_states: "freeze mem\n".to_owned(),
        }
    }

    #[test]
    fn a_clean_machine_is_not_talked_about() {
        assert_eq!(warnings(&facts(HEAD)), Vec::<String>::new());
        assert_eq!(
            warnings(&facts(&format!("{HEAD}{ZRAM}"))),
            Vec::<String>::new()
        );
    }

    #[test]
    fn swap_is_named_unless_it_is_off_for_us() {
        let mut facts = facts(&format!("{HEAD}{ZRAM}{FILE}"));
        let said = warnings(&facts);
        assert_eq!(said.len(), 1);
        assert!(said[0].contains("/swapfile") && said[0].contains("MemorySwapMax=0"));
        facts.swap_limits[1] = "0\n".to_owned();
        assert_eq!(warnings(&facts), Vec::<String>::new());
        facts.power_states = "freeze mem disk\n".to_owned();
        assert!(warnings(&facts)[0].contains("hibernate"));
    }

    #[test]
    fn what_cannot_be_seen_is_said() {
        let said = warnings(&Facts::default());
        assert_eq!(said.len(), 2);
        assert!(said[0].contains("core dumps") && said[1].contains("cannot be seen"));
    }

    #[test]
    fn limits_are_looked_for_in_every_group_above() {
        let files = swap_limit_files("0::/system.slice/afterturn.service\n");
        assert_eq!(
            files,
            [
                Path::new("/sys/fs/cgroup/system.slice/afterturn.service/memory.swap.max"),
                Path::new("/sys/fs/cgroup/system.slice/memory.swap.max"),
                Path::new("/sys/fs/cgroup/memory.swap.max"),
            ]
        );
        assert!(swap_limit_files("1:cpu:/\n").is_empty());
    }

    /// The lines of a unit that say something.
    fn settings(unit: &str) -> Vec<&str> {
        let lines = unit.lines().map(str::trim);
        lines.filter(|line| !line.starts_with('#')).collect()
    }

    #[test]
    fn neither_service_may_swap_or_dump_and_both_start_again() {
        let server = settings(include_str!("../../config/afterturn.service"));
        let browser = settings(include_str!("../../config/afterturn-tv.service"));
        for unit in [&server, &browser] {
            for line in ["MemorySwapMax=0", "LimitCORE=0", "Restart=always"] {
                assert!(unit.contains(&line), "{line}");
            }
        }
        assert!(server.contains(&"StartLimitIntervalSec=0"), "however often");
    }

    #[test]
    fn the_server_has_a_limit_of_memory_and_is_ended_alone_at_it() {
        let server = settings(include_str!("../../config/afterturn.service"));
        let most = server
            .iter()
            .find_map(|line| line.strip_prefix("MemoryMax="));
        let most_gib: u32 = most
            .and_then(|most| most.strip_suffix('G')?.parse().ok())
            .expect("a limit in GiB");
        assert!((1..=3).contains(&most_gib), "a machine has four");
        assert!(server.contains(&"OOMPolicy=kill"));
    }
}

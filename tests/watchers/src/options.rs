//! The command line.

/// Watches one station with many screens and prints what each kind got, and
/// what the server took for it.
#[derive(Clone, Debug, clap::Parser)]
#[command(version)]
pub(crate) struct Options {
    /// Screens in all
    #[arg(long, default_value_t = 200, value_parser = clap::value_parser!(u32).range(1..=900))]
    pub viewers: u32,
    /// Of them, how many ask for pictures and never read again
    #[arg(long, default_value_t = 5)]
    pub stalled: u32,
    /// Of them, how many read a quarter of the pictures' rate
    #[arg(long, default_value_t = 5)]
    pub slow: u32,
    /// Of them, how many vanish without a word every few seconds and come back
    #[arg(long, default_value_t = 5)]
    pub vanishing: u32,
    /// How long to measure
    #[arg(long, default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..=3600))]
    pub seconds: u64,
    /// The station's delay
    #[arg(long, default_value_t = 2_000)]
    pub delay_ms: u32,
    /// How far back its ring reaches; it is filled before anything is measured
    #[arg(long, default_value_t = 30_000)]
    pub window_ms: u32,
    /// What the camera's encoder aims at
    #[arg(long, default_value_t = 4_000)]
    pub bitrate_kbps: u32,
    /// Fails where a figure does not hold: `order` looks only at what no busy
    /// machine excuses
    #[arg(long, value_enum, num_args = 0..=1, default_missing_value = "all")]
    pub judge: Option<Judge>,
}

/// What to fail on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Judge {
    /// Whatever does not hold.
    All,
    /// A picture that is missing or out of order at a screen that reads, memory
    /// that stalled screens make grow, a stalled screen that is not seen as one.
    Order,
}

impl Options {
    /// Screens that read all they are sent.
    pub(crate) const fn reading(&self) -> u32 {
        let others = self.stalled + self.slow + self.vanishing;
        self.viewers.saturating_sub(others)
    }
}

#[cfg(test)]
mod tests {
    use clap::{CommandFactory as _, Parser as _};

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Options::command().debug_assert();
        let judged = |line: &str| Options::parse_from(line.split(' ')).judge;
        assert_eq!(judged("w"), None);
        assert_eq!(judged("w --judge"), Some(Judge::All));
        assert_eq!(judged("w --judge order"), Some(Judge::Order));
        assert_eq!(Options::parse_from(["w"]).reading(), 185);
    }
}

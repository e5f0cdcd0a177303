//! The command line.

use std::path::PathBuf;

use afterturn_core::scene::Size;

use crate::poorly::Poorly;
use crate::quirk::{self, Quirk};

/// A network camera for tests: the demo scene with the time strip, over RTSP.
///
/// Prints one line, `listening rtsp://…`, when it can be watched. Draws and
/// encodes only while someone watches. Ctrl-C or SIGTERM stops it.
#[derive(Clone, Debug, clap::Parser)]
#[command(version, after_help = quirk::HELP, args_override_self = true)]
pub(crate) struct Options {
    /// Port to listen on; 0 takes a free one
    #[arg(long, default_value_t = 0)]
    pub port: u16,
    /// Address to listen on
    #[arg(long, default_value = "127.0.0.1")]
    pub address: String,
    /// Path of the stream, from its slash on
    #[arg(long, default_value = "/cam", value_parser = path)]
    pub path: String,
    /// Seed of the scene: who does what when
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Width and height in pixels
    #[arg(long, default_value = "1280x720", value_parser = size)]
    pub size: Size,
    /// Pictures a second
    #[arg(long, default_value_t = 30, value_parser = clap::value_parser!(u32).range(1..=120))]
    pub fps: u32,
    /// What the encoder aims at; a still gym takes less
    #[arg(long, default_value_t = 4000, value_parser = clap::value_parser!(u32).range(50..=100_000))]
    pub bitrate_kbps: u32,
    /// Strength of a film grain over the picture, which makes the encoder use
    /// its whole bit rate; 0 for none
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=60))]
    pub grain: u8,
    /// Seconds from keyframe to keyframe
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=60))]
    pub gop_s: u32,
    /// Name to ask for
    #[arg(long, requires = "password")]
    pub user: Option<String>,
    /// Password to ask for
    #[arg(long, requires = "user")]
    pub password: Option<String>,
    /// Sends each picture this long after its moment, stamped as if it were new,
    /// as a slow camera does
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u64).range(0..=60_000))]
    pub latency_ms: u64,
    /// Sees badly
    #[arg(long, value_name = "HOW")]
    pub poorly: Option<Poorly>,
    /// Films a screen with the bars of a calibration instead of the scene
    #[arg(long)]
    pub films_bars: bool,
    /// Films a display of this machine, such as :99, instead of the scene
    #[arg(long, value_name = "DISPLAY", conflicts_with = "films_bars", value_parser = display)]
    pub films_display: Option<String>,
    /// Writes what truly happens in the scene to this file, one JSON object a line
    #[arg(long)]
    pub truth: Option<PathBuf>,
    /// A bad habit, by name; may be given several times
    #[arg(long = "quirk", value_name = "NAME")]
    pub quirks: Vec<Quirk>,
}

impl Options {
    /// Whether a habit was asked for.
    pub(crate) fn has(&self, quirk: Quirk) -> bool {
        self.quirks.contains(&quirk)
    }
}

fn path(text: &str) -> Result<String, String> {
    let plain = |c: char| c.is_ascii_alphanumeric() || "/-_.".contains(c);
    if text.starts_with('/') && text.chars().all(plain) {
        Ok(text.to_owned())
    } else {
        Err("a path starts with / and has letters, digits, -, _ and . only".to_owned())
    }
}

fn display(text: &str) -> Result<String, String> {
    let digits = text.strip_prefix(':').unwrap_or_default();
    let plain = |c: char| c.is_ascii_digit() || c == '.';
    if digits.starts_with(|c: char| c.is_ascii_digit()) && digits.chars().all(plain) {
        Ok(text.to_owned())
    } else {
        Err("a display is written like :99".to_owned())
    }
}

fn size(text: &str) -> Result<Size, String> {
    let (width_px, height_px) = text
        .split_once('x')
        .and_then(|(w, h)| Some((w.parse().ok()?, h.parse().ok()?)))
        .ok_or("a size is written like 1280x720")?;
    Size::new(width_px, height_px).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use clap::{CommandFactory as _, Parser as _};

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Options::command().debug_assert();
        let read = |args: &str| Options::try_parse_from(args.split(' ')).is_ok();
        assert!(read("c"));
        assert!(read(
            "c --size 640x360 --fps 15 --quirk b-frames --quirk drop=1-2"
        ));
        assert!(read("c --user U --password P"));
        assert!(
            read("c --poorly soft") && read("c --films-bars") && read("c --films-display :99.0")
        );
        for wrong in [
            "--size 641x360",
            "--size 640",
            "--fps 0",
            "--user U",
            "--path cam",
            "--quirk what",
            "--poorly bright",
            "--films-display 99",
            "--films-display :9!x",
            "--films-bars --films-display :9",
        ] {
            assert!(!read(&format!("c {wrong}")), "{wrong}");
        }
    }
}

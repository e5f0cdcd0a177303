//! `afterturn cameras`: what USB cameras are plugged in, and what to write into
//! the config file for each.
//!
//! Not here: a picture of each (the box's own pages show it), and finding them.

use std::io::{self, Write};

use super::Exit;
use crate::av::{
    self,
    encode::Rate,
    source::usb::devices::{Device, list},
};

/// Writes the list.
pub fn run_cameras(out: &mut dyn Write) -> io::Result<Exit> {
    if let Err(missing) = av::init() {
        writeln!(out, "{missing}")?;
        return Ok(Exit::MissingPart);
    }
    write_list(&list(), out)?;
    Ok(Exit::Fine)
}

fn write_list(devices: &[Device], out: &mut dyn Write) -> io::Result<()> {
    if devices.is_empty() {
        return writeln!(
            out,
            "No USB camera is plugged in, or this account may not open it (its group has to be `video`)."
        );
    }
    for device in devices {
        writeln!(out, "{} ({})", device.name, device.id)?;
        writeln!(out, "  kind = \"usb\"")?;
        writeln!(out, "  device = \"{}\"", device.device.display())?;
        let offers: Vec<_> = device
            .best()
            .iter()
            .map(|best| {
                let size = format!("{}×{}", best.size.width_px, best.size.height_px);
                let fps = best.fps.map(|fps| format!(" at {fps:.0}"));
                format!("{} up to {size}{}", best.form, fps.unwrap_or_default())
            })
            .collect();
        writeln!(out, "  # offers {}", offers.join(", "))?;
        if let Some(mode) = device.usual() {
            let size = format!("{}×{}", mode.size.width_px, mode.size.height_px);
            let fps = mode
                .rate
                .map(|rate: Rate| format!(" at {:.0}", rate.per_s()));
            writeln!(
                out,
                "  # is asked for {} {size}{}, unless width_px, height_px and fps say otherwise",
                mode.form,
                fps.unwrap_or_default()
            )?;
        }
        writeln!(out)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::av::source::usb::modes::{Form, Offer, Rates, Span};

    fn written(devices: &[Device]) -> String {
        let mut out = Vec::new();
        write_list(devices, &mut out).expect("a vector takes everything");
        String::from_utf8(out).expect("text")
    }

    #[test]
    fn a_camera_comes_with_the_lines_for_the_config_file() {
        let offer = |form, width_px, height_px, fps| Offer {
            form,
            width: Span::one(width_px),
            height: Span::one(height_px),
            rates: Rates::Some(Rate::new(fps, 1).into_iter().collect()),
        };
        let text = written(&[Device {
            id: "video0".into(),
            device: "/dev/v4l/by-id/usb-Gym_Cam-video-index0".into(),
            name: "Gym Cam".into(),
            offers: vec![
                offer(Form::Jpeg, 1280, 720, 30),
                offer(Form::Jpeg, 1920, 1080, 30),
                offer(Form::Raw("YUY2"), 640, 480, 30),
            ],
        }]);
        assert_eq!(
            text,
            "Gym Cam (video0)\n  kind = \"usb\"\n  \
             device = \"/dev/v4l/by-id/usb-Gym_Cam-video-index0\"\n  \
             # offers Motion JPEG up to 1920×1080 at 30, uncompressed YUY2 up to 640×480 at 30\n  \
             # is asked for Motion JPEG 1280×720 at 30, unless width_px, height_px and fps say \
             otherwise\n\n"
        );
        // What it prints can be pasted.
        let table = text.replace("Gym Cam (video0)", "");
        assert!(toml::from_str::<toml::Table>(&table).is_ok(), "{table}");
    }

    #[test]
    fn none_is_said_in_words() {
        assert!(written(&[]).starts_with("No USB camera"));
    }
}

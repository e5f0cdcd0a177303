//! `afterturn cameras`: what USB cameras are plugged in, and what to write into
//! the config file for each.
//!
//! Not here: a picture of each (the box's own pages show it), and finding them.

use std::{
    io::{self, Write},
    net::TcpListener,
    path::{Path, PathBuf},
};

use afterturn_core::kernel::StationNumber;
use clap::Args;

use super::{DEFAULT_CONFIG, Exit};
use crate::av::{
    self,
    encode::Rate,
    source::usb::devices::{Device, Shut, Why, list},
};
use crate::settings::{self, Settings};

/// What `cameras` takes.
#[derive(Debug, Args)]
pub struct CamerasArgs {
    /// The config file whose stations are named beside their cameras.
    #[arg(long, value_name = "FILE", default_value = DEFAULT_CONFIG)]
    pub config: PathBuf,
}

/// What the config file has to do with the cameras that are plugged in.
#[derive(Debug, Default)]
struct Used {
    stations: Vec<(StationNumber, PathBuf)>,
    /// The program runs with this file, so its cameras are open.
    running: bool,
    /// Why the stations are not known.
    remark: Option<String>,
}

/// Writes the list.
pub fn run_cameras(args: &CamerasArgs, out: &mut dyn Write) -> io::Result<Exit> {
    if let Err(missing) = av::init() {
        writeln!(out, "{missing}")?;
        return Ok(Exit::MissingPart);
    }
    let used = used(&args.config);
    let names = used.stations.iter().map(|(_, name)| name.clone());
    let shut = Shut::These(names.filter(|_| used.running).collect());
    write_list(&list(&shut), &used, out)?;
    Ok(Exit::Fine)
}

fn used(config: &Path) -> Used {
    let name = config.display();
    let unknown = |remark: String| Used {
        remark: Some(remark),
        ..Used::default()
    };
    // Who has not made one yet has no stations either.
    if config == Path::new(DEFAULT_CONFIG) && !config.exists() {
        return Used::default();
    }
    let bytes = match settings::read_file(config) {
        Ok(bytes) => bytes,
        Err(error) => return unknown(format!("{error}; stations are not named")),
    };
    // Passwords are for the service alone and have nothing to do with USB.
    let environment = |_: &str| Some("not set here".to_owned());
    match Settings::from_bytes(&name.to_string(), &bytes, &environment) {
        Ok((settings, _)) => Used {
            stations: settings.usb_devices(),
            running: is_taken(&settings),
            remark: None,
        },
        Err(_) => unknown(format!(
            "{name} has mistakes; `afterturn check` lists them. Stations are not named."
        )),
    }
}

/// Whether somebody listens where this file says that the program does.
fn is_taken(settings: &Settings) -> bool {
    let bound = TcpListener::bind(settings.listen);
    bound.is_err_and(|error| error.kind() == io::ErrorKind::AddrInUse)
}

fn write_list(devices: &[Device], used: &Used, out: &mut dyn Write) -> io::Result<()> {
    if let Some(remark) = &used.remark {
        writeln!(out, "# {remark}")?;
    }
    if devices.is_empty() {
        writeln!(
            out,
            "No USB camera is plugged in, or this account may not open it (its group has to be `video`)."
        )?;
    }
    for device in devices {
        write_one(device, used, out)?;
    }
    for (station, name) in &used.stations {
        if !devices.iter().any(|device| device.is_at(name)) {
            let name = name.display();
            writeln!(
                out,
                "The camera of station {station} is not plugged in: {name}"
            )?;
        }
    }
    Ok(())
}

fn write_one(device: &Device, used: &Used, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{} ({})", device.name, device.id)?;
    let mut stations = used.stations.iter();
    let station = stations.find(|(_, name)| device.is_at(name));
    if let Some((station, _)) = station {
        let now = if used.running {
            "; it runs now, so the camera was not opened"
        } else {
            ""
        };
        writeln!(out, "  # station {station} uses it{now}")?;
    }
    writeln!(out, "  kind = \"usb\"")?;
    writeln!(out, "  device = \"{}\"", device.device.display())?;
    match device.trouble {
        Some(Why::Forbidden) => writeln!(
            out,
            "  # this account may not open it; its group has to be `video`"
        )?,
        Some(Why::Busy) => writeln!(out, "  # another program is using it")?,
        Some(_) => writeln!(
            out,
            "  # it offers no form of pictures that can be used here"
        )?,
        None => {}
    }
    write_offers(device, out)?;
    writeln!(out)
}

fn write_offers(device: &Device, out: &mut dyn Write) -> io::Result<()> {
    let best = device.best();
    let offers = best.iter().map(|best| {
        let size = format!("{}×{}", best.size.width_px, best.size.height_px);
        let fps = best.fps.map(|fps| format!(" at {fps:.0}"));
        format!("{} up to {size}{}", best.form, fps.unwrap_or_default())
    });
    let offers: Vec<_> = offers.collect();
    if !offers.is_empty() {
        writeln!(out, "  # offers {}", offers.join(", "))?;
    }
    let Some(mode) = device.usual() else {
        return Ok(());
    };
    let size = format!("{}×{}", mode.size.width_px, mode.size.height_px);
    let fps = mode
        .rate
        .map(|rate: Rate| format!(" at {:.0}", rate.per_s()));
    writeln!(
        out,
        "  # is asked for {} {size}{}, unless width_px, height_px and fps say otherwise",
        mode.form,
        fps.unwrap_or_default()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::av::source::usb::modes::{Form, Offer, Rates, Span};

    fn written(devices: &[Device], used: &Used) -> String {
        let mut out = Vec::new();
        write_list(devices, used, &mut out).expect("a vector takes everything");
        String::from_utf8(out).expect("text")
    }

    fn camera(id: &str) -> Device {
        Device {
            id: id.to_owned(),
            device: format!("/dev/v4l/by-id/{id}").into(),
            name: "Twin".into(),
            offers: Vec::new(),
            trouble: None,
        }
    }

    #[test]
    fn a_camera_comes_with_the_lines_for_the_config_file() {
        let offer = |form, width_px, height_px, fps| Offer {
            form,
            width: Span::one(width_px),
            height: Span::one(height_px),
            rates: Rates::Some(Rate::new(fps, 1).into_iter().collect()),
        };
        let device = Device {
            id: "video0".into(),
            device: "/dev/v4l/by-id/usb-Gym_Cam-video-index0".into(),
            name: "Gym Cam".into(),
            offers: vec![
                offer(Form::Jpeg, 1280, 720, 30),
                offer(Form::Jpeg, 1920, 1080, 30),
                offer(Form::Raw("YUY2"), 640, 480, 30),
            ],
            trouble: None,
        };
        let text = written(&[device], &Used::default());
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
        assert!(written(&[], &Used::default()).starts_with("No USB camera"));
    }

    #[test]
    fn stations_are_named_and_what_is_wrong_is_said() {
        let number = |n: i64| n.try_into().expect("a good number");
        let mut used = Used {
            stations: vec![
                (number(3), "/dev/v4l/by-id/one".into()),
                (number(4), "/dev/v4l/by-id/gone".into()),
            ],
            ..Used::default()
        };
        let mut locked = camera("two");
        locked.trouble = Some(Why::Forbidden);
        let text = written(&[camera("one"), locked.clone()], &used);
        assert!(text.contains("  # station 3 uses it\n"), "{text}");
        assert!(text.contains("may not open it"), "{text}");
        let gone = "station 4 is not plugged in: /dev/v4l/by-id/gone";
        assert!(text.contains(gone), "{text}");
        used.running = true;
        let text = written(&[camera("one")], &used);
        assert!(
            text.contains("runs now, so the camera was not opened"),
            "{text}"
        );
    }

    #[test]
    fn the_config_file_tells_which_stations_have_usb_cameras() {
        // Somebody listens there, as the program would.
        let listener = TcpListener::bind(("127.0.0.1", 0)).expect("a free port");
        let port = listener.local_addr().expect("bound").port();
        let folder = tempfile::tempdir().expect("a temporary directory");
        let path = folder.path().join("a.toml");
        let file = format!(
            "listen = \"127.0.0.1:{port}\"\n[[station]]\nnumber = 7\ntitle = \"Rings\"\n\
             [station.camera]\nkind = \"usb\"\ndevice = \"/dev/v4l/by-id/one\"\n"
        );
        std::fs::write(&path, file).expect("written");
        let found = used(&path);
        assert_eq!(found.remark, None);
        assert_eq!(found.stations.len(), 1);
        assert!(found.running);
        drop(listener);
        assert!(!used(&path).running);

        std::fs::write(&path, "[[station]]\nnumber = 700\n").expect("written");
        let remark = used(&path).remark.expect("it has mistakes");
        assert!(remark.contains("has mistakes"), "{remark}");
        let none = used(&folder.path().join("none.toml"));
        assert!(
            none.remark
                .is_some_and(|remark| remark.contains("cannot be read"))
        );
    }
}

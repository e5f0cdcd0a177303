//! Everything behind `v4l2src`, fed by sources that send what a camera would in
//! exactly the form that was asked for. Only the device itself is missing.

use std::{
    sync::mpsc,
    time::{Duration, Instant},
};

use afterturn_core::media::{
    slice::{PictureKind, picture_kind},
    stamp::SourceStamp,
};

use super::{modes::Offer, *};
use crate::av::{
    camera::{CameraEvent, Picture},
    encode::{Dimensions, Rate, USUAL},
    source::drive,
};

/// Longer than anything here takes; only a failure waits it out.
const PATIENCE: Duration = Duration::from_secs(20);

/// What comes out behind a stand-in for a camera.
struct Stand {
    bench: Bench,
    events: mpsc::Receiver<CameraEvent>,
}

impl Stand {
    /// A live source of this description, asked for this mode.
    fn new(description: &str, mode: &Mode) -> Self {
        crate::av::init().unwrap();
        let (sender, events) = mpsc::channel();
        let bench = drive::bench(Arc::new(move |event| {
            let _ = sender.send(event);
        }));
        let source = gst::parse::bin_from_description(description, true).unwrap();
        bench.pipeline.add(&source).unwrap();
        let mut converter = Converter::new(Encoding::default(), USUAL);
        behind(&bench, source.upcast_ref(), mode, &mut converter).unwrap();
        bench.pipeline.set_state(gst::State::Playing).unwrap();
        Self { bench, events }
    }

    fn next(&self) -> CameraEvent {
        self.events
            .recv_timeout(PATIENCE)
            .expect("an event in time")
    }

    /// The notes, and the next pictures.
    fn pictures(&self, count: usize) -> (Vec<CameraNote>, Vec<Picture>) {
        let (mut words, mut pictures) = (Vec::new(), Vec::new());
        while pictures.len() < count {
            match self.next() {
                CameraEvent::Picture(picture) => pictures.push(picture),
                CameraEvent::Notes(notes) => words.extend(notes.iter().map(|note| note.word)),
                CameraEvent::Format(_) => {}
                CameraEvent::Ended(error) => panic!("{error}"),
            }
        }
        (words, pictures)
    }

    fn verdict(&self) -> Option<Verdict> {
        let until = Instant::now() + PATIENCE;
        while Instant::now() < until {
            let _ = self.events.recv_timeout(Duration::from_millis(50));
            if let Some(verdict) = self.bench.whistle.heard() {
                return Some(verdict);
            }
        }
        None
    }
}

impl Drop for Stand {
    fn drop(&mut self) {
        let _ = self.bench.pipeline.set_state(gst::State::Null);
    }
}

/// What a camera is asked for that offers this one form.
fn asked(form: Form, width_px: u32, height_px: u32, rate: Rate) -> Mode {
    let offer = Offer {
        form,
        width: modes::Span::one(width_px),
        height: modes::Span::one(height_px),
        rates: modes::Rates::Some(vec![rate]),
    };
    choose(&[offer], USUAL, &[]).unwrap()
}

fn ntsc() -> Rate {
    Rate::new(30_000, 1001).unwrap()
}

#[test]
fn every_form_a_camera_may_be_asked_for_becomes_h264() {
    let raw = "videotestsrc is-live=true pattern=ball";
    let jpeg = format!(
        "{raw} ! video/x-raw,format=Y42B,width=320,height=240,framerate=30000/1001 ! jpegenc"
    );
    let rows = modes::RAW_FORMS
        .iter()
        .map(|name| (Form::Raw(name), raw.to_owned()))
        .chain([(Form::Jpeg, jpeg)]);
    for (form, description) in rows {
        let stand = Stand::new(&description, &asked(form, 320, 240, ntsc()));
        let (words, pictures) = stand.pictures(5);
        let said = words.contains(&CameraNote::Uncompressed);
        assert_eq!(said, !form.is_packed(), "{form}: {words:?}");
        assert!(pictures[0].keyframe, "{form}");
        let stamps: Vec<_> = pictures.iter().map(|p| time_ns(p.source)).collect();
        assert!(stamps.is_sorted_by(|a, b| a < b), "{form}: {stamps:?}");
    }
}

fn time_ns(stamp: SourceStamp) -> u64 {
    let SourceStamp::PipelineNs(ns) = stamp else {
        panic!("a camera's pictures have their times");
    };
    ns
}

#[test]
fn a_cameras_own_h264_is_passed_on_byte_for_byte() {
    let description = "videotestsrc is-live=true pattern=ball \
         ! video/x-raw,format=I420,width=320,height=240,framerate=30/1 \
         ! x264enc tune=zerolatency key-int-max=15 \
         ! video/x-h264,stream-format=byte-stream,profile=constrained-baseline ! identity";
    let mode = asked(Form::H264, 320, 240, Rate::new(30, 1).unwrap());
    let stand = Stand::new(description, &mode);
    let (words, pictures) = stand.pictures(20);
    assert!(words.is_empty(), "{words:?}");
    // Ours would have a keyframe a second.
    let kinds: Vec<_> = pictures.iter().map(|p| picture_kind(&p.data)).collect();
    assert_eq!(kinds[15], PictureKind::Idr, "{kinds:?}");
    assert!(!kinds.contains(&PictureKind::Bidirectional));
}

#[test]
fn h264_that_does_not_do_is_found_out() {
    let of = |encoder: &str| {
        let description = format!(
            "videotestsrc is-live=true pattern=ball \
             ! video/x-raw,format=I420,width=320,height=240,framerate=30/1 ! {encoder}"
        );
        let mode = asked(Form::H264, 320, 240, Rate::new(30, 1).unwrap());
        Stand::new(&description, &mode).verdict()
    };
    assert_eq!(
        of("x264enc tune=zerolatency key-int-max=300 option-string=scenecut=0"),
        Some(Verdict::RareKeyframes)
    );
    assert_eq!(
        of("x264enc bframes=2 b-adapt=false key-int-max=30 rc-lookahead=3 sync-lookahead=0"),
        Some(Verdict::Bidirectional)
    );
}

#[test]
fn torn_pictures_are_left_out_and_the_rest_goes_on() {
    // Every other JPEG loses its end.
    let description = "videotestsrc is-live=true pattern=ball \
         ! video/x-raw,format=Y42B,width=320,height=240,framerate=30/1 \
         ! jpegenc ! identity name=tear";
    let mode = asked(Form::Jpeg, 320, 240, Rate::new(30, 1).unwrap());
    let stand = Stand::new(description, &mode);
    let tear = stand.bench.pipeline.by_name("tear").unwrap();
    let count = std::sync::atomic::AtomicU32::new(0);
    let pad = tear.static_pad("src").unwrap();
    pad.add_probe(gst::PadProbeType::BUFFER, move |_, info| {
        let number = count.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        if number.is_multiple_of(2)
            && let Some(buffer) = info.buffer_mut()
        {
            let size = buffer.size();
            buffer.make_mut().set_size(size / 3);
        }
        gst::PadProbeReturn::Ok
    });
    assert_eq!(stand.pictures(30).1.len(), 30);
}

#[test]
fn a_device_that_is_not_there_is_said_and_looked_for() {
    crate::av::init().unwrap();
    let device = PathBuf::from("/dev/v4l/by-id/usb-None-video-index0");
    let mut camera = UsbCamera::new(device.clone(), USUAL, Encoding::default());
    assert_eq!(camera.kind(), "usb");
    assert_eq!(camera.knock(), Some(Knock::Path(device)));
    let (sender, events) = mpsc::channel();
    let now: NowFn = Arc::new(|| afterturn_core::kernel::CaptureUs(1));
    let _running = camera.start(
        now,
        Arc::new(move |event| {
            let _ = sender.send(event);
        }),
    );
    let Ok(CameraEvent::Ended(error)) = events.recv_timeout(PATIENCE) else {
        panic!("an end");
    };
    assert_eq!(error.state, CameraState::Unreachable);
    assert!(error.detail.contains("not plugged in"), "{error}");
}

#[test]
fn a_refused_form_is_not_asked_for_again() {
    let mut plugged = Plugged {
        device: "/dev/null".into(),
        wanted: USUAL,
        converter: Converter::new(Encoding::default(), USUAL),
        opener: open,
        refused: Vec::new(),
        asked: Some(Mode {
            form: Form::H264,
            size: Dimensions::HD,
            rate: None,
        }),
    };
    assert!(
        plugged
            .after(Outcome::Found(Verdict::RareKeyframes))
            .is_ok()
    );
    assert_eq!(plugged.refused, [Form::H264]);
    plugged.asked = Some(Mode {
        form: Form::Jpeg,
        size: Dimensions::HD,
        rate: None,
    });
    let end = plugged.after(Outcome::Found(Verdict::Interlaced));
    assert_eq!(end.unwrap_err().state, CameraState::Unsuitable);
}

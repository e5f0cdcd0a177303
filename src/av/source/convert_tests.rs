//! A machine that is too slow: an encoder that is held up at each picture, for
//! as long as it has pixels. A pipeline runs in real time here, for that is what
//! it is too slow for.

use std::{sync::mpsc, thread, time::Duration};

use afterturn_core::{kernel::CaptureUs, media::ParameterSets};
use gstreamer::prelude::*;

use super::*;
use crate::av::{
    camera::{NowFn, Running},
    encode::Dimensions,
    source::drive::{Outcome, Recipe, drive},
};

/// Longer than anything here takes; only a failure waits it out.
const PATIENCE: Duration = Duration::from_secs(30);

/// A drawn source of this size in front of an encoder that takes so long for
/// each pixel.
struct Slow {
    converter: Converter,
    source: &'static str,
    ns_per_pixel: u64,
    stepped: mpsc::Sender<()>,
}

impl Recipe for Slow {
    fn build(&mut self, bench: &Bench) -> Result<(), CameraError> {
        let source = gst::parse::bin_from_description(self.source, true).unwrap();
        bench.pipeline.add(&source).unwrap();
        self.converter
            .attach(bench, source.upcast_ref(), None, Vec::new())?;
        for element in bench.pipeline.iterate_elements() {
            let element = element.unwrap();
            let kind = element.factory().unwrap();
            if kind.metadata("klass") == Some("Codec/Encoder/Video") {
                hold_up(&element, self.ns_per_pixel);
            }
        }
        Ok(())
    }

    fn after(&mut self, outcome: Outcome<'_>) -> Result<(), CameraError> {
        assert!(matches!(outcome, Outcome::Found(Verdict::TooSlow)));
        let _ = self.stepped.send(());
        self.converter.step_down();
        Ok(())
    }
}

fn hold_up(encoder: &gst::Element, ns_per_pixel: u64) {
    let pad = encoder.static_pad("sink").unwrap();
    pad.add_probe(gst::PadProbeType::BUFFER, move |pad, _| {
        let caps = pad.current_caps().unwrap();
        let form = caps.structure(0).unwrap();
        let px = |name| form.get::<i32>(name).unwrap() as u64;
        let pixels = px("width") * px("height");
        thread::sleep(Duration::from_nanos(pixels * ns_per_pixel));
        gst::PadProbeReturn::Ok
    });
}

struct Heard {
    running: Box<dyn Running>,
    events: mpsc::Receiver<CameraEvent>,
    stepped: mpsc::Receiver<()>,
}

fn run(source: &'static str, wanted: Most, ns_per_pixel: u64) -> Heard {
    crate::av::init().unwrap();
    let (stepped_sender, stepped) = mpsc::channel();
    let slow = Slow {
        converter: Converter::new(Encoding::new(Some("x264enc".into()), 1), wanted),
        source,
        ns_per_pixel,
        stepped: stepped_sender,
    };
    let (sender, events) = mpsc::channel();
    let gate = Arc::new(Gate::new(Arc::new(move |event| {
        let _ = sender.send(event);
    })));
    let now: NowFn = Arc::new(|| CaptureUs(1));
    Heard {
        running: Box::new(drive(slow, &gate, &now).unwrap()),
        events,
        stepped,
    }
}

impl Heard {
    fn notes(&self) -> Vec<CameraNote> {
        loop {
            match self.events.recv_timeout(PATIENCE).expect("in time") {
                CameraEvent::Notes(notes) => return notes.iter().map(|n| n.word).collect(),
                CameraEvent::Ended(error) => panic!("{error}"),
                CameraEvent::Format(_) | CameraEvent::Picture(_) => {}
            }
        }
    }

    /// The size of the pictures from here on.
    fn size(&self) -> (u32, u32) {
        loop {
            if let CameraEvent::Format(config) = self.events.recv_timeout(PATIENCE).unwrap() {
                let params = ParameterSets::from_avcc(&config.0).unwrap();
                return (params.width_px, params.height_px);
            }
        }
    }
}

#[test]
fn a_machine_that_does_not_keep_up_steps_down_and_says_so() {
    let wanted = Most {
        size: Dimensions::new(960, 540),
        fps: 30,
    };
    // 520,000 pixels take 62 ms, 230,000 take 28: the first too long at thirty
    // pictures a second, the second not.
    let heard = run(
        "videotestsrc is-live=true ! video/x-raw,format=I420,width=960,height=540,framerate=30/1 \
         ! identity",
        wanted,
        120,
    );
    assert_eq!(heard.size(), (960, 540));
    let reduced = CameraNote::Reduced {
        width_px: 640,
        height_px: 360,
        fps: 30,
    };
    assert_eq!(heard.notes(), [reduced]);
    assert_eq!(heard.size(), (640, 360));
    assert!(heard.stepped.try_iter().count() >= 1);
    drop(heard.running);
}

#[test]
fn with_no_step_left_it_is_said_and_goes_on() {
    let wanted = Most {
        size: Dimensions::new(320, 240),
        fps: 15,
    };
    // 100 ms a picture.
    let heard = run(
        "videotestsrc is-live=true ! video/x-raw,format=I420,width=320,height=240,framerate=15/1 \
         ! identity",
        wanted,
        1300,
    );
    assert_eq!(heard.notes(), [CameraNote::TooSlow]);
    let next = heard.events.recv_timeout(PATIENCE).unwrap();
    assert!(matches!(next, CameraEvent::Picture(_)), "{next:?}");
    assert_eq!(heard.stepped.try_iter().count(), 0);
}

//! What keeping costs: ten seconds of 720p as a covered clip, and a still, from
//! encoded pictures to a sealed file on the disk; and `ffmpeg` making the same
//! clip of the same pictures.
//!
//! `cargo bench --bench keep`. Not here: any judgement; a slow machine is no
//! failure. What was asked for: a clip within 5 s on two cores, a still within
//! half a second.

use std::{
    hint::black_box,
    path::Path,
    process::Command,
    sync::{Arc, Mutex, mpsc},
    time::{Duration, Instant},
};

use afterturn::{
    av::{
        self,
        camera::{Camera, CameraEvent},
        encode::Encoding,
        keep::{Seen, Source, clip, still},
        source::demo::DemoCamera,
    },
    portfolio::{About, Cost, Moment, NewChild, Portfolio, Said},
};
use afterturn_core::{
    consent::{Interval, Kind, Medium, Permit, Purpose, Request, ViewRule},
    kernel::{CaptureUs, ChildId, Day, Name},
    media::{Corner, Fragment, Intake, IntakeSettings, Made, Mat, ParameterSets, Sample, movie},
    scene::Size,
};
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};

const TODAY: Day = Day(20_782);
const BEGAN: CaptureUs = CaptureUs(1_795_600_000_000_000);
const PICTURES: usize = 300;

/// Ten seconds of the drawn scene, as its ring has them.
fn pictures() -> (ParameterSets, Vec<Fragment>) {
    av::init().expect("GStreamer");
    let began = Instant::now();
    let now = Arc::new(move || BEGAN.offset(began.elapsed().as_micros() as i64));
    let (tell, told) = mpsc::channel();
    let tell = Mutex::new(tell);
    let mut camera = DemoCamera::new(7, Size::HD, 30, None).encoded_by(Encoding::default());
    let sink = Arc::new(move |event| {
        let _ = tell.lock().expect("one at a time").send(event);
    });
    let _running = camera.start(now, sink).expect("it starts");
    let mut intake = Intake::new(IntakeSettings {
        latency_us: 0,
        after: CaptureUs::ZERO,
    });
    let (mut params, mut pictures) = (None, Vec::new());
    while pictures.len() < PICTURES {
        let made = match told
            .recv_timeout(Duration::from_secs(10))
            .expect("a picture")
        {
            CameraEvent::Format(record) => intake.format(&record.0).expect("a good record"),
            CameraEvent::Picture(picture) => intake.picture(picture),
            _ => Vec::new(),
        };
        for one in made {
            match one {
                Made::Chapter(of) => {
                    params = Some(of);
                    pictures.clear();
                }
                Made::Fragment(fragment) => pictures.push(fragment),
                Made::Break(_) => {}
            }
        }
    }
    pictures.truncate(PICTURES);
    (params.expect("a chapter"), pictures)
}

fn moment() -> Moment {
    Moment {
        today: TODAY,
        now: BEGAN,
    }
}

/// A vault with one child whose family has agreed.
fn vault(folder: &Path) -> (Portfolio, ChildId) {
    let portfolio = Portfolio::open(folder, Cost::LEAST, TODAY);
    portfolio
        .unlock("wide mat, low beam", moment())
        .expect("open");
    portfolio
        .choose_rule(ViewRule::OptIn, moment())
        .expect("chosen");
    let name = |text| Name::new(text).expect("a name");
    let class = portfolio
        .add_class(name("2 Blue"), None, moment())
        .expect("a class");
    let new = NewChild {
        given: name("Nora"),
        family: None,
        note: None,
        group: Some(1),
    };
    let child = portfolio.add_child(class, new, moment()).expect("a child");
    for kind in [Kind::Stills, Kind::Clips] {
        let said = Said {
            kind,
            yes: true,
            from: TODAY.plus(-9),
            until: None,
            recorder: name("Ms Hall"),
        };
        portfolio
            .record(&[child], &said, moment())
            .expect("recorded");
    }
    (portfolio, child)
}

fn permit(portfolio: &Portfolio, child: ChildId, medium: Medium, to: CaptureUs) -> Permit {
    let request = Request {
        children: vec![child],
        medium,
        purpose: Purpose::Portfolio,
        interval: Interval {
            from: BEGAN.offset(-60_000_000),
            to,
            offset_s: 0,
        },
        term_days: 60,
    };
    let register = portfolio.roster(moment()).expect("a roster").register;
    register.permit(request, TODAY).expect("a permit")
}

fn keeping(c: &mut Criterion) {
    let (params, pictures) = pictures();
    let folder = tempfile::tempdir().expect("a folder");
    let (portfolio, child) = vault(folder.path());
    let corner = |x, y| Corner { x, y };
    let mat = Mat::new(vec![
        corner(2000, 3000),
        corner(8000, 3000),
        corner(8000, 9000),
        corner(2000, 9000),
    ]);
    let mat = mat.expect("a mat");
    let last = pictures.last().expect("pictures").capture;
    let source = Source {
        params: &params,
        pictures: &pictures,
        from: pictures[0].capture,
    };
    let keep = |permit, bytes: Vec<u8>| {
        let about = About::default();
        let kept = portfolio.keep(permit, about, &bytes, moment());
        black_box(kept.expect("kept"))
    };
    c.bench_function("a covered clip of ten seconds, made", |b| {
        b.iter_batched(
            || permit(&portfolio, child, Medium::Clip, last),
            |permit| {
                black_box(
                    clip(&permit, &source, Seen::Mat(&mat))
                        .expect("a clip")
                        .len(),
                )
            },
            BatchSize::PerIteration,
        );
    });
    c.bench_function("a covered clip of ten seconds, made and kept", |b| {
        b.iter_batched(
            || permit(&portfolio, child, Medium::Clip, last),
            |permit| {
                let film = clip(&permit, &source, Seen::Mat(&mat)).expect("a clip");
                keep(permit, film)
            },
            BatchSize::PerIteration,
        );
    });
    // The last of a group of thirty: as many have to be decoded.
    let group = pictures.iter().rposition(|one| one.keyframe).unwrap_or(0);
    let group = Source {
        params: &params,
        pictures: &pictures[group..],
        from: last,
    };
    c.bench_function("a covered still, made and kept", |b| {
        b.iter_batched(
            || permit(&portfolio, child, Medium::Still, last),
            |permit| {
                let still = still(&permit, &group, Seen::Mat(&mat)).expect("a still");
                keep(permit, still)
            },
            BatchSize::PerIteration,
        );
    });
    beside_ffmpeg(c, &params, &pictures);
}

/// The same pictures, covered and encoded by another program.
fn beside_ffmpeg(c: &mut Criterion, params: &ParameterSets, pictures: &[Fragment]) {
    let samples: Vec<Sample> = pictures
        .iter()
        .map(|one| Sample {
            data: one.access_unit(),
            duration_us: one.duration_us,
            keyframe: one.keyframe,
        })
        .collect();
    let record = params.record().expect("a record");
    let film = movie(&record, &samples).expect("a film");
    let folder = tempfile::tempdir().expect("a folder");
    let (from, to) = (folder.path().join("from.mp4"), folder.path().join("to.mp4"));
    std::fs::write(&from, film).expect("written");
    let boxes = "drawbox=0:0:iw:ih*0.3:c=gray:t=fill,drawbox=0:ih*0.9:iw:ih*0.1:c=gray:t=fill,\
        drawbox=0:0:iw*0.2:ih:c=gray:t=fill,drawbox=iw*0.8:0:iw*0.2:ih:c=gray:t=fill";
    c.bench_function("the same clip by ffmpeg", |b| {
        b.iter(|| {
            let made = Command::new("ffmpeg")
                .args(["-v", "error", "-y", "-i"])
                .arg(&from)
                .args(["-vf", boxes, "-c:v", "libx264", "-preset", "superfast"])
                .args([
                    "-crf",
                    "21",
                    "-bf",
                    "0",
                    "-profile:v",
                    "main",
                    "-threads",
                    "2",
                ])
                .args(["-movflags", "+faststart"])
                .arg(&to)
                .status()
                .expect("ffmpeg");
            assert!(made.success());
        });
    });
}

criterion_group! {
    name = keep;
    config = Criterion::default().sample_size(10).measurement_time(Duration::from_secs(10));
    targets = keeping
}
criterion_main!(keep);

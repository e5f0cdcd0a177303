//! What one picture costs on its way from a camera to two hundred screens.
//!
//! `cargo bench`. Not here: any judgement; a slow machine is no failure.

use std::{collections::VecDeque, hint::black_box, time::Duration};

use afterturn_core::{
    delay::{Ring, RingSettings, Step, Viewer},
    kernel::{CaptureUs, DelayMs, FragmentNumber},
    media::{
        Fragment, ParameterSets,
        slice::sample_of,
        stamp::{Arriving, SourceStamp, Stamper},
    },
    scene::{Scene, Size},
};
use bytes::Bytes;
use criterion::{Criterion, criterion_group, criterion_main};

const START: CaptureUs = CaptureUs(1_790_000_000_000_000);
const PICTURE_US: i64 = 33_333;
/// A picture at 4 Mbit/s and thirty a second.
const PICTURE_BYTES: usize = 16_667;
static PICTURE: [u8; PICTURE_BYTES] = [0; PICTURE_BYTES];

fn access_unit() -> Vec<u8> {
    let mut unit = ((PICTURE_BYTES - 4) as u32).to_be_bytes().to_vec();
    unit.resize(PICTURE_BYTES, 0x41);
    unit
}

fn fragment(i: i64) -> Fragment {
    Fragment {
        number: FragmentNumber(i as u64),
        capture: START.offset(i * PICTURE_US),
        duration_us: PICTURE_US as u32,
        keyframe: i % 30 == 0,
        bytes: Bytes::from_static(&PICTURE),
    }
}

fn full_ring() -> (Ring, i64) {
    let mut ring = Ring::new(RingSettings {
        window_us: 30_000_000,
        most_bytes: usize::MAX,
    });
    ring.open_chapter(ParameterSets {
        mime: String::new(),
        width_px: 1280,
        height_px: 720,
        interlaced: false,
        promises_order: true,
        init: Bytes::new(),
    });
    (0..900).for_each(|i| ring.push(fragment(i)));
    (ring, 900)
}

fn stamp(c: &mut Criterion) {
    let mut stamper = Stamper::new(0, CaptureUs::ZERO);
    let mut i = 0_i64;
    c.bench_function("stamp", |b| {
        b.iter(|| {
            i += 1;
            black_box(stamper.push(Arriving {
                source: SourceStamp::PipelineNs((i * PICTURE_US) as u64 * 1000),
                arrival: START.offset(i * PICTURE_US + 5_000),
                keyframe: i % 30 == 0,
                item: (),
            }))
        });
    });
}

fn wrap(c: &mut Criterion) {
    let unit = access_unit();
    c.bench_function("wrap 16 kB", |b| {
        b.iter(|| {
            let sample = sample_of(&unit);
            black_box(Fragment::wrap(
                FragmentNumber(1),
                START,
                33_333,
                false,
                &sample,
            ))
        });
    });
}

fn ring(c: &mut Criterion) {
    let (mut ring, mut i) = full_ring();
    c.bench_function("push and prune, 30 s held", |b| {
        b.iter(|| {
            ring.push(fragment(i));
            ring.prune(START.offset(i * PICTURE_US));
            i += 1;
        });
    });
}

fn fan_out(c: &mut Criterion) {
    let (ring, end) = full_ring();
    let delay = DelayMs::new(10_000, 30_000).expect("a delay the window allows");
    c.bench_function("200 viewers, one picture each", |b| {
        b.iter_batched(
            || {
                let mut viewers: Vec<Viewer> = (0..200).map(|_| Viewer::default()).collect();
                for viewer in &mut viewers {
                    viewer.want(None);
                    let first = viewer.step(&ring, delay, START.offset(end * PICTURE_US));
                    assert!(matches!(first, Step::Run { .. }));
                }
                viewers
            },
            |mut viewers| {
                for viewer in &mut viewers {
                    black_box(viewer.step(&ring, delay, START.offset(end * PICTURE_US)));
                }
            },
            criterion::BatchSize::SmallInput,
        );
    });
}

/// What a delay made of raw pictures would do instead of stamp, wrap and ring.
fn raw_queue(c: &mut Criterion) {
    // Two seconds, 83 MB: the thirty of our ring would be more than a gigabyte.
    const HELD: usize = 60;
    let picture = vec![0x80; Size::HD.i420_bytes()];
    let mut queue: VecDeque<Vec<u8>> = (0..HELD).map(|_| picture.clone()).collect();
    c.bench_function("queue a raw picture, 720p, 2 s held", |b| {
        b.iter(|| {
            queue.push_back(black_box(&picture).clone());
            black_box(queue.pop_front())
        });
    });
}

fn draw(c: &mut Criterion) {
    let mut scene = Scene::new(1, START, Size::HD);
    let mut picture = vec![0; Size::HD.i420_bytes()];
    let mut at = START;
    c.bench_function("draw the demo scene, 720p", |b| {
        b.iter(|| {
            at = at.offset(PICTURE_US);
            scene.draw(at, &mut picture).expect("the buffer fits");
        });
    });
}

criterion_group! {
    name = picture;
    config = Criterion::default().measurement_time(Duration::from_secs(3));
    targets = stamp, wrap, ring, fan_out, raw_queue, draw
}
criterion_main!(picture);

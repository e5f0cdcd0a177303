use proptest::prelude::*;

use super::*;

fn mat(corners: &[(u16, u16)]) -> Result<Mat, MatError> {
    Mat::new(corners.iter().map(|&(x, y)| Corner { x, y }).collect())
}

const WHOLE: [(u16, u16); 4] = [(0, 0), (10_000, 0), (10_000, 10_000), (0, 10_000)];

#[test]
fn corners_have_to_be_a_mat() {
    assert!(mat(&WHOLE).is_ok());
    assert_eq!(mat(&WHOLE[..2]), Err(MatError::Corners));
    assert_eq!(mat(&[(0, 0); 13]), Err(MatError::Corners));
    let outside = [(0, 0), (10_001, 0), (5000, 5000)];
    assert_eq!(mat(&outside), Err(MatError::Outside));
    let bow = [(0, 0), (9000, 9000), (9000, 0), (0, 9000)];
    assert_eq!(mat(&bow), Err(MatError::Crossed));
    assert_eq!(mat(&[(0, 0), (100, 0), (0, 100)]), Err(MatError::Small));
    let read: Result<Mat, _> = serde_json::from_str(r#"[{"x":0,"y":0},{"x":9,"y":9}]"#);
    assert!(read.is_err(), "what is read is checked too");
}

/// A picture in which every byte is one that the cover does not paint.
fn picture(layout: I420) -> Vec<u8> {
    vec![1; layout.bytes()]
}

#[test]
fn the_whole_picture_can_be_the_mat() {
    for (width, height) in [(1280, 720), (854, 480), (322, 242)] {
        let layout = I420::new(width, height).expect("a size");
        let mut painted = picture(layout);
        assert!(Cover::round(&mat(&WHOLE).expect("a mat"), layout).paint(&mut painted));
        for y in 0..height as usize {
            let row = &painted[y * layout.luma_stride..][..width as usize];
            assert!(
                row.iter().all(|byte| *byte == 1),
                "{width}×{height} row {y}"
            );
        }
    }
}

#[test]
fn what_lies_off_the_mat_is_gone_in_all_three_planes() {
    let layout = I420::new(64, 32).expect("a size");
    let half = [(5000, 0), (10_000, 0), (10_000, 10_000), (5000, 10_000)];
    let mut painted = picture(layout);
    assert!(Cover::round(&mat(&half).expect("a mat"), layout).paint(&mut painted));
    for y in 0..32 {
        let row = &painted[y * 64..][..64];
        assert_eq!(
            (row[..32].to_vec(), row[32..].to_vec()),
            (vec![72; 32], vec![1; 32])
        );
    }
    for plane in [layout.u_at, layout.v_at] {
        for y in 0..16 {
            let row = &painted[plane + y * 32..][..32];
            assert_eq!(
                (row[..16].to_vec(), row[16..].to_vec()),
                (vec![128; 16], vec![1; 16])
            );
        }
    }
}

#[test]
fn a_picture_of_another_size_is_refused() {
    let layout = I420::new(64, 32).expect("a size");
    let cover = Cover::round(&mat(&WHOLE).expect("a mat"), layout);
    assert!(!cover.paint(&mut [0; 100]));
    assert_eq!(I420::new(0, 480), None);
    assert_eq!(I420::new(640, 20_000), None);
}

/// By even and odd, point by point: another way to the same answer.
fn inside(corners: &[(u16, u16)], across: f64, down: f64) -> bool {
    let mut inside = false;
    for (place, from) in corners.iter().enumerate() {
        let to = corners[(place + 1) % corners.len()];
        let (from_x, from_y) = (f64::from(from.0), f64::from(from.1));
        let (to_x, to_y) = (f64::from(to.0), f64::from(to.1));
        let crosses = (from_y > down) != (to_y > down);
        if crosses && across < (to_x - from_x) * (down - from_y) / (to_y - from_y) + from_x {
            inside = !inside;
        }
    }
    inside
}

proptest! {
    #[test]
    fn no_pixel_off_the_mat_is_left_and_its_middle_stays(
        corners in prop::collection::vec((0..=10_000_u16, 0..=10_000_u16), 3..8),
    ) {
        let Ok(drawn) = mat(&corners) else { return Ok(()) };
        let layout = I420::new(160, 90).expect("a size");
        let mut painted = picture(layout);
        prop_assert!(Cover::round(&drawn, layout).paint(&mut painted));
        for y in 0..90_usize {
            for x in 0..160_usize {
                let at = |x: usize, y: usize| {
                    inside(&corners, (x as f64 + 0.5) * 62.5, (y as f64 + 0.5) * 10_000.0 / 90.0)
                };
                let left = painted[y * layout.luma_stride + x] == 1;
                let (bx, by) = (x / 2 * 2, y / 2 * 2);
                let block = [(0, 0), (1, 0), (0, 1), (1, 1)].iter().all(|(i, j)| at(bx + i, by + j));
                // A block between two parts of a bent mat may go although its
                // pixels lie on it; none stays that does not.
                prop_assert!(!left || block, "{} {}", x, y);
                let colour = painted[layout.u_at + y / 2 * layout.chroma_stride + x / 2] == 1;
                prop_assert_eq!(left, colour);
            }
        }
    }
}

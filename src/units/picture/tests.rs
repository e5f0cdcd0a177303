//! What is sent in the place of a picture, and what is kept of one.

use image::{GenericImageView as _, Rgb, RgbImage, RgbaImage};

use super::*;

/// A drawing: a bright left half, a dark right one.
fn drawing(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, _| {
        if x < width / 2 {
            Rgb([250, 240, 220])
        } else {
            Rgb([20, 30, 40])
        }
    })
}

fn jpeg(picture: &RgbImage) -> Vec<u8> {
    encoded_jpeg(&DynamicImage::from(picture.clone())).expect("encoded")
}

fn png(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .expect("encoded");
    bytes.into_inner()
}

/// The same JPEG as a camera would have written it: with an Exif segment (Exif
/// 2.3 §4.5.4: `FF E1`, length, `Exif\0\0`, a TIFF header with one entry), which
/// says that the picture lies on its side, and a comment that names a child.
fn with_exif(jpeg: &[u8]) -> Vec<u8> {
    let mut tiff = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01".to_vec();
    // Orientation (0x0112), SHORT, one value: 6, "turn clockwise" (TIFF 6.0).
    tiff.extend(b"\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0");
    let comment = b"Ada Lindgren, Larkfield, 51.5 N";
    let mut bytes = jpeg[..2].to_vec();
    for (kind, inside) in [(0xe1, &tiff[..]), (0xfe, &comment[..])] {
        bytes.extend([0xff, kind]);
        bytes.extend((inside.len() as u16 + 2).to_be_bytes());
        bytes.extend(inside);
    }
    bytes.extend(&jpeg[2..]);
    bytes
}

fn has(bytes: &[u8], words: &[u8]) -> bool {
    bytes.windows(words.len()).any(|part| part == words)
}

#[test]
fn nothing_is_kept_but_the_picture_and_it_stands_upright() {
    let sent = with_exif(&jpeg(&drawing(80, 40)));
    assert!(has(&sent, b"Exif") && has(&sent, b"Ada"));
    let kept = made_anew(&sent).expect("a picture");
    assert!(!has(&kept.bytes, b"Exif") && !has(&kept.bytes, b"Ada"));
    let seen = image::load_from_memory(&kept.bytes).expect("readable");
    assert_eq!(seen.dimensions(), (40, 80), "turned as the camera said");
    assert!(seen.get_pixel(20, 5)[0] > 200 && seen.get_pixel(20, 75)[0] < 80);
}

#[test]
fn what_stands_behind_a_picture_is_not_kept() {
    let mut sent = png(&drawing(30, 30));
    sent.extend(b"<script>alert(1)</script>");
    let kept = made_anew(&sent).expect("a picture");
    assert!(!has(&kept.bytes, b"script"));
    assert!(kept.bytes.starts_with(b"\x89PNG\r\n"));
}

#[test]
fn it_is_named_by_what_it_is_and_never_by_its_file() {
    let one = made_anew(&png(&drawing(30, 30))).expect("a picture");
    let same = made_anew(&png(&drawing(30, 30))).expect("a picture");
    let other = made_anew(&png(&drawing(31, 30))).expect("a picture");
    assert_eq!(one.name, same.name);
    assert_ne!(one.name, other.name);
    assert!(is_picture(&one.name), "{}", one.name);
    let photo = made_anew(&jpeg(&drawing(30, 30))).expect("a picture");
    assert!(is_picture(&photo.name));
    assert_eq!(photo.name.rsplit('.').next(), Some("jpg"));
}

#[test]
fn a_large_one_becomes_as_large_as_it_is_shown() {
    let kept = made_anew(&jpeg(&drawing(3000, 1000))).expect("a picture");
    let seen = image::load_from_memory(&kept.bytes).expect("readable");
    assert_eq!((seen.width(), seen.height()), (1280, 427));
    let clear = DynamicImage::from(RgbaImage::new(20, 20));
    let mut sent = Cursor::new(Vec::new());
    clear
        .write_to(&mut sent, ImageFormat::Png)
        .expect("encoded");
    let kept = made_anew(sent.get_ref()).expect("a picture");
    let seen = image::load_from_memory(&kept.bytes).expect("readable");
    assert_eq!(seen.get_pixel(3, 3)[3], 0, "what is clear stays clear");
}

#[test]
fn rubbish_is_refused() {
    let whole = png(&drawing(60, 60));
    let photo = jpeg(&drawing(60, 60));
    let cases: [(&str, &[u8]); 8] = [
        ("nothing", b""),
        ("words", b"hello"),
        ("a page", b"<!doctype html><svg onload=alert(1)>"),
        ("another kind", b"GIF89a\x01\0\x01\0\0\0\0;"),
        ("a greeting alone", b"\x89PNG\r\n\x1a\n"),
        ("half a PNG", &whole[..whole.len() / 2]),
        ("a JPEG's head", &photo[..20]),
        ("a damaged one", &{
            let mut bytes = whole.clone();
            bytes[20] ^= 0x55;
            bytes
        }),
    ];
    for (name, bytes) in cases {
        assert_eq!(
            made_anew(bytes).err(),
            Some(PictureError::NotAPicture),
            "{name}"
        );
    }
    let heavy = vec![0; MOST_BYTES + 1];
    assert_eq!(made_anew(&heavy).err(), Some(PictureError::TooLarge));
}

/// A PNG that says of itself how large it is (PNG 1.2 §4.1.1) and is a few bytes.
fn claiming(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = png(&drawing(4, 4));
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    let sum = crc32(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&sum.to_be_bytes());
    bytes
}

/// PNG 1.2, appendix D.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| {
            if sum & 1 == 1 {
                0xedb8_8320 ^ (sum >> 1)
            } else {
                sum >> 1
            }
        })
    })
}

#[test]
fn a_small_file_that_would_fill_the_memory_is_refused_unread() {
    for (width, height) in [(1_000_000, 1_000_000), (9_900, 9_900), (100_000, 1)] {
        let refused = made_anew(&claiming(width, height)).err();
        assert_eq!(
            refused,
            Some(PictureError::TooManyPixels),
            "{width}×{height}"
        );
    }
}

#[test]
fn no_name_of_a_picture_leads_out_of_its_folder() {
    for name in [
        "",
        ".png",
        "../../etc/passwd",
        "a/../b.png",
        "0123456789abcdef0123456789abcdef",
        "0123456789ABCDEF0123456789abcdef.png",
        "0123456789abcdef0123456789abcdef.svg",
    ] {
        assert!(!is_picture(name), "{name}");
    }
}

proptest::proptest! {
    #[test]
    fn no_bytes_upset_it(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..600), at in 0_usize..400, kind in 0_u8..3) {
        let good = if kind == 0 { png(&drawing(16, 12)) } else { jpeg(&drawing(16, 12)) };
        let mut spoilt = good;
        for (i, byte) in bytes.iter().take(usize::from(kind) * 3 + 1).enumerate() {
            let at = (at + i * 7) % spoilt.len();
            spoilt[at] = *byte;
        }
        for sent in [&bytes, &spoilt] {
            if let Ok(kept) = made_anew(sent) {
                proptest::prop_assert!(is_picture(&kept.name));
                proptest::prop_assert!(image::load_from_memory(&kept.bytes).is_ok());
            }
        }
    }
}

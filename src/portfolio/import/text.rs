//! Bytes of a file as text, whatever program wrote them.

use super::What;

/// Windows-1252 from 0x80 to 0x9f (WHATWG Encoding Standard, index
/// windows-1252); elsewhere a byte is its own code point. Five are not used.
const HIGH: [char; 32] = [
    '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}',
    '\u{90}', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
];

/// The signs of a text, one after another.
pub(super) type Signs<'t> = Box<dyn Iterator<Item = char> + 't>;

/// A text as it lies there: nothing of it is copied.
pub(super) enum Text<'b> {
    Utf8(&'b str),
    /// Whole pairs, and how a pair is read.
    Utf16(&'b [u8], fn([u8; 2]) -> u16),
    Windows(&'b [u8]),
}

impl<'b> Text<'b> {
    /// Reads UTF-8, UTF-16 with its mark, and otherwise what Windows wrote before
    /// that.
    pub(super) fn read(bytes: &'b [u8]) -> Result<Self, What> {
        let utf_8 = std::str::from_utf8;
        match bytes {
            [0xef, 0xbb, 0xbf, rest @ ..] => {
                utf_8(rest).map(Self::Utf8).map_err(|_| What::Encoding)
            }
            [0xff, 0xfe, rest @ ..] => Self::utf_16(rest, u16::from_le_bytes),
            [0xfe, 0xff, rest @ ..] => Self::utf_16(rest, u16::from_be_bytes),
            // A spreadsheet is a ZIP file; an old one begins like this.
            [b'P', b'K', 3, 4, ..] | [0xd0, 0xcf, 0x11, 0xe0, ..] => Err(What::Spreadsheet),
            _ if bytes.contains(&0) => Err(What::Encoding),
            _ => Ok(utf_8(bytes).map_or(Self::Windows(bytes), Self::Utf8)),
        }
    }

    fn utf_16(bytes: &'b [u8], unit: fn([u8; 2]) -> u16) -> Result<Self, What> {
        let whole = bytes.len().is_multiple_of(2);
        if whole && decoded(bytes, unit).all(|sign| sign.is_ok()) {
            Ok(Self::Utf16(bytes, unit))
        } else {
            Err(What::Encoding)
        }
    }

    pub(super) fn signs(&self) -> Signs<'_> {
        match self {
            Self::Utf8(text) => Box::new(text.chars()),
            // All were looked at when it was read.
            Self::Utf16(bytes, unit) => Box::new(decoded(bytes, *unit).map_while(Result::ok)),
            Self::Windows(bytes) => Box::new(bytes.iter().map(|byte| windows(*byte))),
        }
    }
}

fn decoded(
    bytes: &[u8],
    unit: fn([u8; 2]) -> u16,
) -> impl Iterator<Item = Result<char, std::char::DecodeUtf16Error>> {
    let pairs = bytes.chunks_exact(2);
    char::decode_utf16(pairs.map(move |pair| unit([pair[0], pair[1]])))
}

fn windows(byte: u8) -> char {
    match byte {
        0x80..=0x9f => HIGH[usize::from(byte - 0x80)],
        _ => char::from(byte),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8]) -> Result<String, What> {
        Text::read(bytes).map(|text| text.signs().collect())
    }

    #[test]
    fn every_usual_encoding_says_the_same() {
        let text = "Zoë;Nuñez";
        let sixteen = |unit: fn(u16) -> [u8; 2], mark: [u8; 2]| {
            let units = text.encode_utf16().flat_map(unit);
            mark.into_iter().chain(units).collect::<Vec<u8>>()
        };
        for bytes in [
            text.as_bytes().to_vec(),
            [&b"\xef\xbb\xbf"[..], text.as_bytes()].concat(),
            sixteen(u16::to_le_bytes, [0xff, 0xfe]),
            sixteen(u16::to_be_bytes, [0xfe, 0xff]),
            b"Zo\xeb;Nu\xf1ez".to_vec(),
        ] {
            assert_eq!(read(&bytes).as_deref(), Ok(text));
        }
        assert_eq!(read(b"O\x92Hara").as_deref(), Ok("O’Hara"));
        assert_eq!(read(b"PK\x03\x04..."), Err(What::Spreadsheet));
        assert_eq!(read(b"a\0b"), Err(What::Encoding));
        assert_eq!(read(b"\xff\xfea"), Err(What::Encoding));
    }
}

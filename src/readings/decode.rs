//! From bytes to text, whatever the logger or the spreadsheet wrote.

use encoding_rs::{UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// How the bytes of a file were read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without byte order mark.
    Utf8,
    /// UTF-16, either byte order.
    Utf16,
    /// Latin-1, read as Windows code page 1252, which contains it.
    Latin1,
}

/// Bytes that are looked at to tell UTF-16 without a byte order mark.
const SAMPLE: usize = 4096;

/// The text of a file, or `None` if it is no text.
pub(super) fn decode(bytes: &[u8]) -> Option<(String, Encoding)> {
    if let Some((encoding, mark)) = encoding_rs::Encoding::for_bom(bytes) {
        let rest = bytes.get(mark..).unwrap_or_default();
        let (text, _) = encoding.decode_without_bom_handling(rest);
        let kind = if encoding == UTF_8 {
            Encoding::Utf8
        } else {
            Encoding::Utf16
        };
        return believable(text.into_owned(), kind);
    }
    let sample = bytes.get(..SAMPLE.min(bytes.len())).unwrap_or_default();
    let zeros = |first: usize| {
        let places = sample.iter().skip(first).step_by(2);
        places.filter(|byte| **byte == 0).count() * 4 > sample.len()
    };
    // In text of Western scripts every other byte of UTF-16 is zero.
    for (first, encoding) in [(1, UTF_16LE), (0, UTF_16BE)] {
        if zeros(first) {
            let (text, _) = encoding.decode_without_bom_handling(bytes);
            return believable(text.into_owned(), Encoding::Utf16);
        }
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        return believable(text.to_owned(), Encoding::Utf8);
    }
    let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
    believable(text.into_owned(), Encoding::Latin1)
}

/// Text has no zero characters.
fn believable(text: String, encoding: Encoding) -> Option<(String, Encoding)> {
    (!text.contains('\0')).then_some((text, encoding))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_degree_sign_survives_every_encoding() {
        let text = "Zeit;Dachboden (°C)\n";
        let utf16: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
        for (bytes, kind) in [
            (text.as_bytes().to_vec(), Encoding::Utf8),
            ([b"\xef\xbb\xbf", text.as_bytes()].concat(), Encoding::Utf8),
            (utf16.clone(), Encoding::Utf16),
            ([&b"\xff\xfe"[..], &utf16].concat(), Encoding::Utf16),
            (big.clone(), Encoding::Utf16),
            ([&b"\xfe\xff"[..], &big].concat(), Encoding::Utf16),
            (latin, Encoding::Latin1),
        ] {
            assert_eq!(decode(&bytes), Some((text.to_owned(), kind)), "{bytes:?}");
        }
        assert_eq!(decode(b"PK\x03\x04\0\0\0\0\x08"), None);
    }
}

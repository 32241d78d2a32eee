//! How large a PNG is on paper: without it a letter shows the picture at a size of its own choosing.

/// Signature and header, which come first in every PNG (PNG specification, 5.2 and 11.2.2).
const HEADER: usize = 8 + 25;
const INCHES_IN_A_METRE: f64 = 1.0 / 0.0254;

/// The same picture with its dots to the metre (PNG specification, 11.3.5.3, `pHYs`).
pub(super) fn stated(png: &[u8], dpi: f64) -> Vec<u8> {
    let per_metre = ((dpi * INCHES_IN_A_METRE).round() as u32).to_be_bytes();
    let mut chunk = b"pHYs".to_vec();
    chunk.extend(per_metre);
    chunk.extend(per_metre);
    chunk.push(1);
    let (header, rest) = png.split_at(HEADER.min(png.len()));
    let length = (chunk.len() as u32 - 4).to_be_bytes();
    [header, &length, &chunk, &checksum(&chunk).to_be_bytes(), rest].concat()
}

/// CRC-32 as every chunk bears it (PNG specification, 5.5 and annex D).
fn checksum(bytes: &[u8]) -> u32 {
    let step = |sum: u32, _| if sum & 1 == 1 { 0xedb8_8320 ^ (sum >> 1) } else { sum >> 1 };
    !bytes.iter().fold(u32::MAX, |sum, &byte| (0..8).fold(sum ^ u32::from(byte), step))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_that_of_the_specification() {
        // CRC-32/ISO-HDLC of the digits: the check value of the catalogue of parametrised CRC algorithms; of IEND: the last four
        // bytes of every PNG.
        assert_eq!([checksum(b"123456789"), checksum(b"IEND")], [0xcbf4_3926, 0xae42_6082]);
    }

    #[test]
    fn the_chunk_comes_after_the_header() {
        let png: Vec<u8> = (0..60).collect();
        let stated = stated(&png, 300.0);
        assert_eq!((&stated[..33], &stated[54..]), (&png[..33], &png[33..]));
        assert_eq!(stated[33..41], *b"\0\0\0\x09pHYs");
        // 300 dots to the inch are 11,811 to the metre.
        assert_eq!(
            (&stated[41..45], &stated[45..50]),
            (&11_811u32.to_be_bytes()[..], &b"\0\0\x2e\x23\x01"[..])
        );
    }
}

//! Rows are cut where records end, and runs of them where the pits of others begin.

use super::*;
use crate::record::{Flaw, LineStart};
use proptest::prelude::*;

/// Pits of two letters and two digits; the half from 50 on is beyond, and X is nowhere though it sorts there.
struct FirstHalf;

impl Cut for FirstHalf {
    fn side(&self, pit_id: &[u8]) -> Side {
        match pit_id {
            [] => Side::Neither,
            [b'X', ..] => Side::Beyond,
            id if id < &b"P-50"[..] => Side::Within,
            _ => Side::Beyond,
        }
    }

    fn is_listed(&self, pit_id: &[u8]) -> bool {
        pit_id.starts_with(b"P-")
    }
}

fn rows_of(text: &str) -> RawRows {
    RawRows::new(Box::new(io::Cursor::new(text.to_owned().into_bytes())), (2, false), 0).unwrap()
}

/// Three rows of each of so many pits.
fn yearly(pits: Range<u32>) -> String {
    pits.flat_map(|pit| (2023..2026).map(move |year| format!("P-{pit:02},{year}-05-14,90\n"))).collect()
}

#[test]
fn a_run_ends_before_the_first_pit_beyond() {
    let (within, beyond) = (yearly(10..50), yearly(50..99));
    let mut rows = rows_of(&format!("{within}{beyond}"));
    let run = rows.take_run(&FirstHalf).unwrap().unwrap();
    assert_eq!((run.bytes, run.line, run.lines, run.is_ended), (within.as_bytes(), 2, 120, true));
    assert_eq!(run.last_pit_id(), b"P-49");
    let named: Vec<&[u8]> = run.pit_ids().collect();
    assert_eq!((named.len(), named[0], named[119]), (120, &b"P-10"[..], &b"P-49"[..]));
    let next = rows.peek().unwrap().unwrap();
    assert_eq!((next.line, next.pit_id, next.bytes), (122, &b"P-50"[..], &b"P-50,2023-05-14,90\n"[..]));
    // The run that is left has no row, and is over.
    let none = rows.take_run(&FirstHalf).unwrap().unwrap();
    assert_eq!((none.lines, none.is_ended, none.last_pit_id()), (0, true, &b""[..]));
}

#[test]
fn a_row_of_no_pit_or_of_one_that_is_nowhere_ends_no_run() {
    let (first, second, beyond) = (yearly(10..20), yearly(20..50), yearly(50..99));
    for odd in [",2024-05-14,90\n", "X-1,2024-05-14,90\n", "\n"] {
        let within = format!("{first}{odd}{second}");
        let mut rows = rows_of(&format!("{within}{beyond}"));
        let run = rows.take_run(&FirstHalf).unwrap().unwrap();
        assert_eq!((run.bytes, run.lines, run.is_ended), (within.as_bytes(), 121, true), "{odd:?}");
    }
}

#[test]
fn quotes_and_carriage_returns_are_looked_at_row_by_row() {
    for odd in ["\"P-30\",2024-05-14,90\n", "P-30,2024-05-14,90\r\n"] {
        let (first, second) = (yearly(10..20), yearly(30..40));
        let mut rows = rows_of(&format!("{first}{odd}{second}"));
        let run = rows.take_run(&FirstHalf).unwrap().unwrap();
        assert_eq!((run.bytes, run.is_ended), (first.as_bytes(), false));
        assert!(rows.take_run(&FirstHalf).unwrap().is_none());
        let next = rows.peek().unwrap().unwrap();
        assert_eq!((next.line, next.bytes, next.is_blank()), (32, odd.as_bytes(), false));
        rows.advance();
        let run = rows.take_run(&FirstHalf).unwrap().unwrap();
        assert_eq!((run.bytes, run.line), (second.as_bytes(), 33));
    }
}

#[test]
fn so_many_rows_are_taken_and_no_more() {
    let text = yearly(10..20);
    let mut rows = rows_of(&text);
    rows.peek().unwrap();
    assert!(rows.take_run_of(0).is_none());
    let run = rows.take_run_of(4).unwrap();
    assert_eq!((run.line, run.lines, run.is_ended, run.last_pit_id()), (2, 4, false, &b"P-11"[..]));
    let rest = rows.take_run_of(1_000).unwrap();
    assert_eq!((rest.line, rest.lines, rest.bytes), (6, 26, &text.as_bytes()[4 * 19..]));
}

#[test]
fn a_line_end_alone_is_a_blank_row() {
    let mut rows = rows_of("\nP-10,2024-05-14,90\n\r\nP-11,,\r");
    let mut blank = Vec::new();
    while let Some(row) = rows.peek().unwrap() {
        blank.push(row.is_blank());
        rows.advance();
    }
    assert_eq!(blank, [true, false, true, false]);
}

type Read = Vec<(u64, Vec<Vec<u8>>, Option<Flaw>)>;

fn read(mut reader: RecordReader<'_, impl io::Read>) -> Read {
    let (mut record, mut rows) = (Record::default(), Vec::new());
    while reader.read(&mut record).unwrap() {
        rows.push((record.line(), record.fields().map(<[u8]>::to_vec).collect(), record.flaw()));
    }
    rows
}

proptest! {
    /// Rows cut raw and then read one by one are those of the file read whole.
    #[test]
    fn rows_are_cut_where_records_end(text in "[ab,\"\r\n ]{0,60}", pit_id in 0usize..3) {
        let file = Box::new(io::Cursor::new(text.clone().into_bytes()));
        let mut rows = RawRows::new(file, (1, false), pit_id).unwrap();
        let mut cut = Vec::new();
        while let Some(row) = rows.peek().unwrap() {
            let starts = vec![LineStart { offset: 0, line: row.line }];
            for read in read(RecordReader::of_part(row.bytes, &starts)) {
                let field = read.1.get(pit_id).map_or(&[][..], |field| field.trim_ascii());
                prop_assert_eq!(field, row.pit_id);
                cut.push(read);
            }
            rows.advance();
        }
        prop_assert_eq!(cut, read(RecordReader::new(text.as_bytes())));
    }
}

//! A logbook walked is the logbook read whole, whatever the order of its rows.

use super::*;
use proptest::prelude::*;
use std::fmt::Write as _;

const DAY: Date = Date::constant(2026, 6, 30);

fn walked(folder: &Path, as_of: Date, threads: usize) -> (Vec<Entry>, Findings, bool) {
    let fleet = Fleet::open(folder, DAY, as_of).unwrap();
    let mut entries = Vec::new();
    let mut walk = || {
        entries.clear();
        fleet.walk(
            threads.try_into().unwrap(),
            |stretch| stretch.entries().to_vec(),
            |more| {
                entries.extend(more);
                ControlFlow::Continue(())
            },
        )
    };
    let (found, sorted) = match walk() {
        Err(WalkError::OutOfOrder) => (walk().unwrap(), true),
        other => (other.unwrap(), fleet.is_out_of_order.load(Ordering::Relaxed)),
    };
    (entries, found, sorted)
}

/// Both ways of reading find the same; says whether the rows had to be sorted.
fn assert_same(folder: &Path, as_of: Date) -> bool {
    let whole = Logbook::read(folder, DAY, as_of).unwrap();
    let (entries, found, sorted) = walked(folder, as_of, 2);
    let told = |problems: &[Problem]| problems.iter().map(ToString::to_string).collect::<Vec<_>>();
    assert_eq!(told(found.problems()), told(whole.problems()), "{}", folder.display());
    let counted = |found: &Findings| (found.errors(), found.warnings(), found.unlisted());
    assert_eq!(counted(&found), counted(&findings::Findings::of_whole(&whole)), "{}", folder.display());
    assert_eq!(entries, whole.entries(), "{}", folder.display());
    let fleet = Fleet::open(folder, DAY, as_of).unwrap();
    let ratio = fleet.typical_load_ratio(2.try_into().unwrap()).unwrap();
    assert_eq!(ratio, whole.typical_load_ratio());
    assert_eq!(fleet.units(), whole.units());
    fleet.find_order(2.try_into().unwrap()).unwrap();
    assert_eq!(fleet.is_out_of_order.load(Ordering::Relaxed), sorted);
    sorted
}

#[test]
fn every_broken_logbook_is_read_alike() {
    let hostile = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/hostile");
    let mut compared = 0;
    for folder in fs::read_dir(hostile).unwrap().map(|folder| folder.unwrap().path()) {
        match Logbook::read(&folder, DAY, DAY) {
            Ok(_) => {
                assert_same(&folder, DAY);
                compared += 1;
            }
            Err(whole) if folder.is_dir() => {
                assert_eq!(Fleet::open(&folder, DAY, DAY).unwrap_err().to_string(), whole.to_string());
            }
            Err(_) => {}
        }
    }
    assert!(compared > 100, "{compared}");
}

/// Identifiers stand there, and yet no row is a pit: the rows of the other tables are counted, not told one by one.
#[test]
fn a_logbook_without_a_row_that_is_a_pit_is_read_alike() {
    let folder = tempfile::tempdir().unwrap();
    for pits in ["N-1,38\n", "N-1,38\nN-2,42\n", "N-2,42\n,38,182\nN-1,38,182,6\n", "N-1,\"38\n"] {
        let pits = format!("pit_id,inlet_depth_in,bottom_depth_in\n{pits}");
        fs::write(folder.path().join("pits.csv"), pits).unwrap();
        let readings =
            "pit_id,date,depth_to_liquid_in\nN-2,2025-05-14,88\nN-1,2025-05-14,88\nN-1,2026-05-14\n";
        fs::write(folder.path().join("readings.csv"), readings).unwrap();
        assert_same(folder.path(), DAY);
    }
}

/// What a generated logbook is like.
#[derive(Debug, Clone)]
struct Mess {
    seed: u64,
    pits: u64,
    rising: bool,
    shuffled: bool,
    line_end: &'static str,
}

/// A small generator of numbers that look random (Steele, Lea and Flood 2014, SplitMix64).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % limit
    }

    fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last as u64 + 1) as usize);
        }
    }
}

fn write(folder: &Path, mess: &Mess) {
    let mut numbers = Numbers(mess.seed);
    let id = |pit: u64| if mess.rising { format!("P{pit:05}") } else { format!("P{}", pit * 7919 % 10_007) };
    let mut tables = [const { Vec::<String>::new() }; 4];
    for pit in 0..mess.pits {
        let id = id(pit);
        tables[0].push(match numbers.below(60) {
            0 => format!("{id},38,twenty,6,4,3"),
            1 => format!("{id},38"),
            2 => ",38,182,6,4,3".to_owned(),
            3 => format!("\"{id}\",\"38\",182,6,4,3"),
            4 => String::new(),
            5 => ",,,,,".to_owned(),
            _ => format!("{id},38,182,6,{},3", 1 + numbers.below(6)),
        });
        for year in 0..numbers.below(12) {
            let depth = 150 - 8 * year + numbers.below(5);
            let id = if numbers.below(200) == 0 { format!("{id}x") } else { id.clone() };
            tables[1].push(match numbers.below(80) {
                0 => format!("{id},{}-05-14,88 in,", 2010 + year),
                1 => format!("{id},{}-05-14,{depth},\"two{}lines, one row\"", 2010 + year, mess.line_end),
                2 => format!("{id},{}-05,{depth},", 2010 + year),
                3 => format!("{id},2010-05-14,200,"),
                4 => "".to_owned(),
                _ => format!("{id},{}-05-{:02},{depth}.5,", 2010 + year, 10 + numbers.below(3)),
            });
        }
        for _ in 0..numbers.below(3) {
            tables[2].push(format!("{id},20{:02}-01-01,{}", 10 + numbers.below(20), 1 + numbers.below(6)));
        }
        if numbers.below(5) == 0 {
            tables[3].push(format!("{id},2015-06-01,pumped_out"));
        }
    }
    if mess.shuffled {
        tables[1..].iter_mut().for_each(|table| numbers.shuffle(table));
    }
    let headers = [
        "pit_id,inlet_depth_in,bottom_depth_in,diameter_ft,occupants,bedrooms",
        "pit_id,date,depth_to_liquid_in,note",
        "pit_id,from,occupants",
        "pit_id,date,event",
    ];
    for ((table, header), rows) in TABLES.iter().zip(headers).zip(tables) {
        let mut text = String::from(header);
        rows.iter().for_each(|row| _ = write!(text, "{}{row}", mess.line_end));
        fs::write(folder.join(table.file), text).unwrap();
    }
}

#[test]
fn rows_in_another_order_are_sorted_and_read_alike() {
    let folder = tempfile::tempdir().unwrap();
    let mess = |rising, shuffled| Mess { seed: 7, pits: 3000, rising, shuffled, line_end: "\n" };
    for (rising, shuffled) in [(true, false), (true, true), (false, false), (false, true)] {
        write(folder.path(), &mess(rising, shuffled));
        assert_eq!(assert_same(folder.path(), Date::constant(2020, 1, 1)), shuffled);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_logbook_is_read_alike(
        seed in any::<u64>(),
        pits in 0u64..700,
        rising in any::<bool>(),
        shuffled in any::<bool>(),
        line_end in prop::sample::select(vec!["\n", "\r\n", "\r"]),
    ) {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), &Mess { seed, pits, rising, shuffled, line_end });
        assert_same(folder.path(), Date::constant(2022, 1, 1));
    }
}

#[test]
fn a_pit_listed_twice_far_apart_is_told_as_by_a_whole_reading() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &Mess { seed: 3, pits: 1000, rising: true, shuffled: false, line_end: "\n" });
    let path = folder.path().join("pits.csv");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, format!("{text}\nP00010,38,182,6,4,3\nP00020,38,182,6,4,3\n")).unwrap();
    assert!(assert_same(folder.path(), DAY));
}

#[test]
fn what_is_listed_is_bounded_and_what_is_not_is_counted() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("pits.csv"), "pit_id,inlet_depth_in,bottom_depth_in\nN-1,38,182\n").unwrap();
    let rows = "N-1,2020-01-01,deep\n".repeat(12_000);
    fs::write(folder.path().join("readings.csv"), format!("pit_id,date,depth_to_liquid_in\n{rows}")).unwrap();
    let (_, found, _) = walked(folder.path(), DAY, 2);
    assert_eq!((found.errors(), found.unlisted()), (12_000, 7_000));
    let whole = Logbook::read(folder.path(), DAY, DAY).unwrap();
    let of_whole = findings::Findings::of_whole(&whole);
    assert_eq!((of_whole.errors(), of_whole.unlisted()), (12_000, 7_000));
    assert_eq!(of_whole.problems(), found.problems());
    assert_eq!(whole.rows_left_out("N-1"), 12_000);
}

/// Nor does the one line that explains thousands of problems get lost among them.
#[test]
fn what_is_said_once_of_a_file_is_listed_whatever_else_is() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("pits.csv"), "pit_id,inlet_depth_in,bottom_depth_in\nN-1,38,182\n").unwrap();
    let rows = "N-1,2020-01-01,deep\n".repeat(6_000) + "N-1,2023-09-01,90\n";
    fs::write(folder.path().join("readings.csv"), format!("pit_id,date,depth_to_liquid_in\n{rows}")).unwrap();
    let as_of = jiff::civil::date(2023, 1, 1);
    let whole = Logbook::read(folder.path(), DAY, as_of).unwrap();
    let (_, found, _) = walked(folder.path(), as_of, 2);
    for problems in [whole.problems(), found.problems()] {
        assert_eq!(
            problems.iter().filter(|problem| problem.kind == crate::ProblemKind::AfterAsOf).count(),
            1
        );
    }
    let of_whole = findings::Findings::of_whole(&whole);
    assert_eq!((found.errors(), found.warnings()), (6_000, of_whole.warnings()));
}

/// Blank lines by the thousand, of either kind of line end, between rows of pits that are there and of others: every row after them
/// is told with its own line.
#[test]
fn blank_lines_by_the_thousand_move_no_line() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("pits.csv"),
        "pit_id,inlet_depth_in,bottom_depth_in\nN-1,38,182\nN-2,38,182\n",
    )
    .unwrap();
    let mut readings = String::from("pit_id,date,depth_to_liquid_in\n");
    for (pit_id, line_end) in [("N-1", "\n"), ("N-1", "\r\n"), ("N-1x", "\n"), ("N-2", "\r\n"), ("N-2", "\n")]
    {
        readings.push_str(&format!("{pit_id},2020-01-01,deep{line_end}{pit_id},2021-01-01,90{line_end}"));
        readings.push_str(&line_end.repeat(10_000));
    }
    fs::write(folder.path().join("readings.csv"), readings).unwrap();
    assert_same(folder.path(), DAY);
}

/// Two pits whose broken rows take turns are counted each for itself, however many turns there are.
#[test]
fn rows_left_out_are_counted_whatever_their_order() {
    let folder = tempfile::tempdir().unwrap();
    let pits = "pit_id,inlet_depth_in,bottom_depth_in\nN-1,38,182\nN-2,38,182\n";
    fs::write(folder.path().join("pits.csv"), pits).unwrap();
    let rows = "N-2,2020-01-01,deep\nN-1,2020-13-01,deep\nN-1,2020-01-01,deep\n".repeat(40_000);
    fs::write(folder.path().join("readings.csv"), format!("pit_id,date,depth_to_liquid_in\n{rows}")).unwrap();
    let whole = Logbook::read(folder.path(), DAY, DAY).unwrap();
    assert_eq!(["N-1", "N-2"].map(|pit_id| whole.rows_left_out(pit_id)), [80_000, 40_000]);
}

/// Only pits that are listed elsewhere show another order: a mistyped one does not, wherever its name would stand.
#[test]
fn a_mistyped_pit_changes_no_order() {
    let folder = tempfile::tempdir().unwrap();
    let mess = Mess { seed: 11, pits: 2000, rising: true, shuffled: false, line_end: "\n" };
    write(folder.path(), &mess);
    let path = folder.path().join("readings.csv");
    let text = fs::read_to_string(&path).unwrap();
    for stray in ["A1", "P00255x", "P00511x", "Q", "P00256"] {
        let row = format!("{stray},2015-05-10,100,\n");
        let spread = text.lines().enumerate().map(|(at, line)| match at % 97 {
            96 => format!("{row}{line}\n"),
            _ => format!("{line}\n"),
        });
        fs::write(&path, spread.collect::<String>()).unwrap();
        let listed = stray == "P00256";
        assert_eq!(assert_same(folder.path(), Date::constant(2022, 1, 1)), listed, "{stray}");
    }
}

/// A wrong export may name millions of pits that are not there, in one place or after the last pit, or a pit may have millions of
/// rows: memory stays bounded, and no pit loses a row.
#[test]
fn rows_of_unknown_pits_are_handed_on_in_pieces() {
    let folder = tempfile::tempdir().unwrap();
    let mut readings = String::from("pit_id,date,depth_to_liquid_in\n");
    let mut add = |pit_id: &str, rows: usize| {
        for row in 0..rows {
            let (year, day) = (2000 + row / 25 % 23, 1 + row % 25);
            let _ = writeln!(readings, "{pit_id},{year}-05-{day:02},150");
        }
    };
    add("P1", 200);
    add("P1x", 20_000);
    add("P1y", 20_000);
    add("\"P1z\"", 20_000);
    add("P2", 200);
    add("", 100);
    add("P3", 20_000);
    fs::write(folder.path().join("readings.csv"), readings).unwrap();
    for pits in [["P1", "P2"], ["P2", "P1"]] {
        let rows = pits.map(|pit_id| format!("{pit_id},38,182\n")).concat();
        fs::write(folder.path().join("pits.csv"), format!("pit_id,inlet_depth_in,bottom_depth_in\n{rows}"))
            .unwrap();
        let fleet = Fleet::open(folder.path(), DAY, DAY).unwrap();
        if pits.is_sorted() {
            let mut batches = fleet.batches([true; TABLE_COUNT]).unwrap();
            let (mut pieces, mut largest) = (0, 0);
            let mut done = batch::Batch::default();
            while let Some(batch) = batches.next(done).unwrap() {
                pieces += 1;
                largest = largest.max(batch.parts.iter().map(|part| part.bytes.len()).sum());
                done = batch;
            }
            assert!(pieces > 5 && largest < 600_000, "{pieces} pieces of at most {largest} bytes");
        }
        let (entries, found, sorted) = walked(folder.path(), DAY, 2);
        let whole = Logbook::read(folder.path(), DAY, DAY).unwrap();
        assert_eq!(entries, whole.entries());
        let errors = findings::Findings::of_whole(&whole).errors();
        assert_eq!((found.errors(), errors), (80_100, 80_100));
        assert!(!sorted, "both pits are in one batch, whatever their order");
    }
}

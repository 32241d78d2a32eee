//! What is listed, what is only counted, and how a text is shown.

use super::*;

/// A blank row is told once a file, of the first, which a batch that lists nothing more may hold.
#[test]
fn a_blank_row_is_listed_where_nothing_else_is() {
    let mut problems = Problems::listing("readings.csv", Tally::default());
    for kind in [ProblemKind::LongGap, ProblemKind::BlankRow] {
        problems.warning(Place::line(7), None, Fault::new(kind, "so it is"));
    }
    assert_eq!(problems.unlisted(), Tally { errors: 0, warnings: 1 });
    assert_eq!(
        problems.found().iter().map(|problem| problem.kind).collect::<Vec<_>>(),
        [ProblemKind::BlankRow]
    );
}

#[test]
fn beyond_those_listed_problems_are_counted_but_for_a_pit_wanted_whole() {
    let most = Tally { errors: 2, warnings: 2 };
    let fill = |mut problems: Problems| {
        for line in 1..=6 {
            problems.warning(Place::line(line), Some("N-1"), Fault::new(ProblemKind::LongGap, "so it is"));
            problems.error(Place::line(line), Some("N-2"), Fault::new(ProblemKind::Number, "no number"));
        }
        problems.warning(Place::line(2), Some("N-3"), Fault::new(ProblemKind::LongGap, "so it is"));
        problems
    };
    let listed = |problems: &Problems| {
        let of = |severity| problems.found().iter().filter(|problem| problem.severity == severity).count();
        (of(Severity::Error), of(Severity::Warning))
    };
    let mut cut = fill(Problems::listing("readings.csv", most));
    assert_eq!((listed(&cut), cut.unlisted()), ((2, 2), Tally { errors: 4, warnings: 5 }));
    let whole = Some(Whole { from_line: 6, pit_id: "N-3".to_owned() });
    let mut kept = fill(Problems { whole, ..Problems::listing("readings.csv", most) });
    assert_eq!((listed(&kept), kept.unlisted()), ((3, 4), Tally { errors: 3, warnings: 3 }));
    // An error that would be listed is not counted in silence.
    assert_eq!([5, 6, 7].map(|line| kept.count_error("N-2", line)), [true, false, false]);
    assert!(cut.count_error("N-2", 9) && !Problems::new("readings.csv").count_error("N-2", 9));
    assert_eq!((cut.rows_left_out("N-2"), cut.rows_left_out("N-1")), (7, 0));
    assert_eq!(Problems::unlisted_of(&[cut, kept]), Tally { errors: 9, warnings: 8 });
}

#[test]
fn rows_left_out_are_counted_whatever_the_order_of_their_pits() {
    let mut problems = Problems::listing("readings.csv", Tally::default());
    for line in 0..3 * MERGED_FROM as u64 {
        let pit_id = if line % 3 == 0 { "N-1" } else { "N-2" };
        problems.error(Place::line(line), Some(pit_id), Fault::new(ProblemKind::Number, "no number"));
        problems.error(Place::line(line), Some(pit_id), Fault::new(ProblemKind::Date, "nor a date"));
    }
    assert_eq!(["N-1", "N-2"].map(|pit_id| problems.rows_left_out(pit_id)), [MERGED_FROM, 2 * MERGED_FROM]);
    assert!(problems.left_out.len() <= MERGED_FROM + 1, "{} are held", problems.left_out.len());
}

#[test]
fn a_long_or_strange_identifier_is_known_again() {
    let mut problems = Problems::new("readings.csv");
    let (long, strange) = ("x".repeat(60), "P\u{200b}1");
    for pit_id in [&long[..], strange, "P1"] {
        problems.error(Place::line(2), Some(pit_id), Fault::new(ProblemKind::NotCsv, "so it is"));
    }
    let of = |pit_id: &str| problems.found().iter().filter(|problem| problem.is_of(pit_id)).count();
    assert_eq!([of(&long), of(strange), of("P1"), of("P2"), of("")], [1, 1, 1, 0, 0]);
}

#[test]
fn what_was_read_is_shortened_and_made_visible() {
    assert_eq!(shown("88"), "88");
    assert_eq!(shown("8\u{0}8\u{1b}[2J"), "8\\u{0}8\\u{1b}[2J");
    assert_eq!(shown("\u{a0}N-1\u{200b}"), "\\u{a0}N-1\\u{200b}");
    let long = shown(&"x".repeat(1_000_000));
    assert_eq!(long.chars().count(), SHOWN_CHARACTERS + 1);
    assert!(long.ends_with('…'));
}

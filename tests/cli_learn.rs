//! `soaklife learn` end to end, and what takes its file.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, run, stdout};

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn learn(further: &[&str]) -> String {
    let output = run(&[&["learn", &alder_fork()], &AS_OF[..], further].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    stdout(&output)
}

#[test]
fn a_small_company_is_told_that_its_pits_teach_little_and_keeps_typical_experience() {
    let output = run(&[&["learn", &alder_fork()], &AS_OF[..]].concat());
    assert!(String::from_utf8_lossy(&output.stderr).contains("23 pits with readings teach little"));
    let taught = stdout(&output);
    assert!(taught.starts_with("# Population prior learnt from 23 pits as of 2026-06-30.\n"), "{taught}");
    assert!(taught.contains("# - how restless they are: not worth taking, left as typical\n"), "{taught}");
}

#[test]
fn forecasts_take_the_file_that_learn_writes() {
    let folder = tempfile::tempdir().unwrap();
    let prior = folder.path().join("prior.toml");
    learn(&["-o", prior.to_str().unwrap()]);
    let ask = |further: &[&str]| {
        let question = ["forecast", &alder_fork(), "--format", "csv"];
        stdout(&run(&[&question[..], &AS_OF, further].concat()))
    };
    // Nothing was worth taking, so the file says what the logbook says.
    assert_eq!(ask(&["--prior", prior.to_str().unwrap()]), ask(&[]));
}

#[test]
fn a_part_left_out_teaches_nothing() {
    let taught_by = |text: &str| -> usize {
        let line = text.lines().next().unwrap();
        line.split_whitespace().find_map(|word| word.parse().ok()).unwrap()
    };
    let without = |part: &str| taught_by(&learn(&["--leave-out", part]));
    // Each of 23 pits is left out once in five.
    let parts = ["1/5", "2/5", "3/5", "4/5", "5/5"];
    assert_eq!(parts.map(without).iter().sum::<usize>(), 4 * 23);
    for wrong in ["0/5", "6/5", "1/1", "half"] {
        let refused = run(&[&["learn", &alder_fork(), "--leave-out", wrong], &AS_OF[..]].concat());
        assert_eq!(refused.status.code(), Some(2), "{wrong}");
    }
}

#[test]
fn backtest_replays_with_what_the_other_pits_teach() {
    let replayed = |further: &[&str]| {
        let output =
            run(&[&["backtest", &alder_fork(), "--methods", "absorption"], &AS_OF[..], further].concat());
        assert_eq!(output.status.code(), Some(0));
        stdout(&output)
    };
    assert!(replayed(&["--learnt"]).contains("215 replays on 21 pits"));
}

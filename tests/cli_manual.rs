//! The manual page and the completions hold every verb and option, and the tools that read them take them.
#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "that is how a test fails, and tells what it skips"
)]

mod run;

use run::{run, soaklife, stdout};
use std::collections::BTreeSet;
use std::fs;
use std::io::{ErrorKind, Write as _};
use std::process::{Command, Stdio};

/// The verbs that the help lists.
fn verbs() -> Vec<String> {
    let help = stdout(&run(&["--help"]));
    let listed = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap().to_owned();
    let verb = |line: &str| line.strip_prefix("  ")?.split(' ').next().map(str::to_owned);
    listed.lines().filter_map(verb).filter(|verb| !verb.is_empty() && verb != "help").collect()
}

/// The long options that the help of a verb lists.
fn options(verb: &str) -> BTreeSet<String> {
    let help = stdout(&run(&[verb, "--help"]));
    // An option is indented, prose is not.
    let option = |line: &str| {
        let (_, name) = line.strip_prefix("  ")?.split_once("--")?;
        let is_first = line.trim_start().starts_with('-');
        let name = name.split(' ').next().filter(|_| is_first)?;
        Some(format!("--{name}"))
    };
    help.lines().filter_map(option).collect()
}

/// What a program prints when it is given a text; none, and a word about it, where it is not installed.
fn through(program: &str, args: &[&str], text: &str) -> Option<String> {
    let spawned = Command::new(program)
        .args(args)
        .env("MANWIDTH", "100")
        .env("LC_ALL", "C.UTF-8")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let mut child = match spawned {
        Err(error) if error.kind() == ErrorKind::NotFound => {
            eprintln!("skipped: {program} is not installed here");
            return None;
        }
        spawned => spawned.unwrap(),
    };
    let mut stdin = child.stdin.take().unwrap();
    let text = text.to_owned();
    let writer = std::thread::spawn(move || stdin.write_all(text.as_bytes()));
    let output = child.wait_with_output().unwrap();
    // A program that has seen enough may stop reading.
    let _ = writer.join().unwrap();
    let complaint = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success() && complaint.is_empty(), "{program}: {complaint}");
    Some(String::from_utf8(output.stdout).unwrap())
}

/// Roff writes a hyphen that is meant as one with a backslash.
fn manual() -> String {
    stdout(&run(&["manual"]))
}

/// The part of the page about a verb.
fn section<'p>(page: &'p str, verb: &str) -> &'p str {
    let heading = format!("\n.SH {}\n", verb.to_uppercase());
    page.split_once(&heading).unwrap().1.split("\n.SH ").next().unwrap()
}

#[test]
fn the_manual_has_a_section_for_every_verb_with_every_option() {
    let page = manual().replace("\\-", "-");
    let verbs = verbs();
    assert!(verbs.len() >= 13 && verbs.contains(&"forecast".to_owned()), "{verbs:?}");
    for verb in &verbs {
        let section = section(&page, verb);
        let options = options(verb);
        assert!(options.contains("--help"), "{verb}: {options:?}");
        for option in &options {
            assert!(section.contains(&format!("{option}\\fR")), "{verb} {option}:\n{section}");
        }
        assert!(section.contains("Examples:") && section.contains(&format!("soaklife {verb} ")), "{section}");
    }
    for caution in ["Never enter or lean into a tank or pit", "no open flame", "Local code"] {
        assert!(section(&page, "log").contains(caution), "{caution}");
    }
    assert!(page.contains(".SH \"EXIT CODES\"\n0 ok"), "{page}");
}

/// `man` or plain groff shows it without a complaint.
#[test]
fn the_manual_can_be_read() {
    let page = manual();
    let shown = [
        ("man", &["--warnings", "-l", "-"][..]),
        ("groff", &["-man", "-Tutf8", "-ww", "-P-c"][..]),
        ("mandoc", &["-T", "utf8"][..]),
    ];
    for (program, args) in shown {
        let Some(shown) = through(program, args, &page) else { continue };
        let plain = without_overstrikes(&shown);
        assert!(!plain.contains('\u{2010}'), "{program} takes no word of a command apart\n{plain}");
        for words in ["SYNOPSIS", "FORECAST", "EXIT CODES", "soaklife demo alder-fork", "after-rain"] {
            assert!(plain.contains(words), "{program}: {words}\n{plain}");
        }
    }
}

/// Some make a letter bold by striking it twice.
fn without_overstrikes(shown: &str) -> String {
    let mut plain = String::new();
    for letter in shown.chars() {
        if letter == '\u{8}' {
            plain.pop();
        } else {
            plain.push(letter);
        }
    }
    plain
}

#[test]
fn completions_know_every_verb_and_option() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = stdout(&run(&["completions", shell]));
        for verb in verbs() {
            assert!(script.contains(&verb), "{shell}: {verb}");
            for option in options(&verb) {
                let name = option.trim_start_matches('-');
                // Fish writes `-l name`.
                let is_there = script.contains(&option) || script.contains(&format!("-l {name} "));
                assert!(is_there || script.contains(&format!("-l {name}\n")), "{shell}: {verb} {option}");
            }
        }
    }
}

/// Each shell that is here reads its script; bash completes a verb by it.
#[test]
fn shells_take_their_completions() {
    let checks = [("bash", &["-n"][..]), ("zsh", &["-n"][..]), ("fish", &["--no-execute"][..])];
    for (shell, args) in checks {
        through(shell, args, &stdout(&run(&["completions", shell])));
    }
    let script = stdout(&run(&["completions", "bash"]));
    let question = "COMP_WORDS=(soaklife fore); COMP_CWORD=1; _soaklife soaklife fore soaklife; echo \"${COMPREPLY[*]}\"";
    let Some(completed) = through("bash", &[], &format!("{script}\n{question}\n")) else { return };
    assert_eq!(completed.trim(), "forecast");
}

#[test]
fn both_go_to_a_file_at_one_stroke_and_an_unknown_shell_is_told() {
    let folder = tempfile::tempdir().unwrap();
    for words in [&["manual"][..], &["completions", "bash"]] {
        let file = folder.path().join("written");
        let output = soaklife().args(words).arg("-o").arg(&file).output().unwrap();
        assert_eq!((output.status.code(), stdout(&output)), (Some(0), String::new()));
        assert_eq!(fs::read_to_string(file).unwrap(), stdout(&run(words)));
    }
    let output = run(&["completions", "tcsh"]);
    assert_eq!(output.status.code(), Some(2));
    let complaint = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(complaint.contains("tcsh") && complaint.contains("possible values: bash"), "{complaint}");
}

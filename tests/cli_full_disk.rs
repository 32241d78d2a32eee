//! Whatever keeps a verb from writing: the old file stays whole, nothing half-written is left, and the message names the file and
//! what to do.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]
#![allow(clippy::print_stderr, reason = "a test that cannot be done here says so")]

mod many_pits;
mod run;

use many_pits::{rows, shuffled, write};
use run::{alder_fork, soaklife};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// Every verb that writes a file, and how that file's name ends. BOOK is the logbook, OUT the file.
const WRITERS: [(&str, &str); 20] = [
    ("forecast BOOK --method line -o OUT", "txt"),
    ("forecast BOOK --method line --format csv -o OUT", "csv"),
    ("forecast BOOK AF-01 --format json -o OUT", "json"),
    ("forecast BOOK AF-01 --chart OUT", "svg"),
    ("loadtest BOOK AF-12 -o OUT", "txt"),
    ("loadtest BOOK AF-12 --chart OUT", "pdf"),
    ("chart BOOK AF-01 -o OUT", "png"),
    ("chart BOOK AF-01 --figure section -o OUT", "svg"),
    ("chart BOOK --figure ladder --method line -o OUT", "pdf"),
    ("report BOOK AF-01 -o OUT", "pdf"),
    ("report BOOK AF-01 -o OUT", "html"),
    ("report BOOK -o OUT", "html"),
    ("backtest BOOK --methods line --format csv -o OUT", "csv"),
    ("backtest BOOK --methods line --chart OUT", "svg"),
    ("learn BOOK -o OUT", "toml"),
    ("budget BOOK --format json -o OUT", "json"),
    ("budget BOOK --visit-list OUT", "csv"),
    ("budget BOOK --chart OUT", "svg"),
    ("completions bash -o OUT", "bash"),
    ("manual -o OUT", "1"),
];

/// A reading to log.
const READING: [&str; 5] = ["AF-01", "--date", "2026-06-29", "--depth-to-liquid", "60in"];

/// The words of a command for a file to write.
fn words(command: &str, out: &Path) -> Vec<String> {
    let mut words: Vec<String> = command
        .split(' ')
        .map(|word| match word {
            "BOOK" => alder_fork(),
            "OUT" => out.to_str().unwrap().to_owned(),
            word => word.to_owned(),
        })
        .collect();
    if command.contains("BOOK") {
        words.extend(["--as-of", "2026-06-30"].map(str::to_owned));
    }
    words
}

/// The binary where no file can be longer than a kilobyte: the system refuses in the middle of it, as it does on a full disk.
fn cramped() -> Command {
    with_files_of(1)
}

/// The binary where no file can be longer than so many blocks of 512 or 1024 bytes.
fn with_files_of(blocks: u8) -> Command {
    let mut command = Command::new("sh");
    let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
    command.args(["-c", &script, env!("CARGO_BIN_EXE_soaklife")]);
    command.stdin(Stdio::null());
    command
}

fn told(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// What a folder holds.
fn names(folder: &Path) -> Vec<String> {
    let files = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = files.map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// A copy of the Alder Fork logbook to write in, with what it holds.
fn logbook_in(place: &Path) -> (PathBuf, Vec<(String, Vec<u8>)>) {
    let book = place.join("book");
    fs::create_dir(&book).unwrap();
    for file in fs::read_dir(alder_fork()).unwrap() {
        let file = file.unwrap().path();
        fs::copy(&file, book.join(file.file_name().unwrap())).unwrap();
    }
    let held = held(&book);
    (book, held)
}

/// Every file of a logbook but the lock, which is empty and stays.
fn held(book: &Path) -> Vec<(String, Vec<u8>)> {
    let mut names = names(book);
    names.retain(|name| name != ".logbook.lock");
    names.into_iter().map(|name| (name.clone(), fs::read(book.join(name)).unwrap())).collect()
}

/// Runs every writer over an old file, and again where there is none; it must fail and leave what there was.
fn every_writer_is_refused(run: impl Fn(&[String]) -> Output, advice: &str) {
    for (command, ending) in WRITERS {
        for old in [Some("old, and whole"), None] {
            let place = tempfile::tempdir().unwrap();
            let out = place.path().join(format!("out.{ending}"));
            old.into_iter().for_each(|old| fs::write(&out, old).unwrap());
            let output = run(&words(command, &out));
            let told = told(&output);
            assert_eq!(output.status.code(), Some(3), "{command}: {told}");
            let line = told.lines().find(|line| line.starts_with(out.to_str().unwrap()));
            let line = line.unwrap_or_else(|| panic!("{command}: the file is not named: {told}"));
            assert!(line.contains(": cannot be written: ") && line.contains(advice), "{command}: {told}");
            assert!(line.ends_with("; nothing was changed"), "{command}: {told}");
            assert_eq!(fs::read_to_string(&out).ok().as_deref(), old, "{command}");
            assert_eq!(names(place.path()).len(), old.iter().len(), "{command}: {:?}", names(place.path()));
        }
    }
}

#[test]
fn a_disk_that_is_full_half_way_leaves_the_old_file() {
    every_writer_is_refused(
        |words| cramped().args(words).output().unwrap(),
        "raise the limit (see `ulimit -f`)",
    );
}

/// Root may write anywhere, so this says nothing where tests run as root.
#[test]
fn a_folder_that_may_not_be_changed_leaves_the_old_file() {
    use std::os::unix::fs::PermissionsExt as _;
    let close = |folder: &Path| fs::set_permissions(folder, fs::Permissions::from_mode(0o555)).unwrap();
    let place = tempfile::tempdir().unwrap();
    let (book, before) = logbook_in(place.path());
    close(&book);
    if fs::write(book.join("probe"), "x").is_ok() {
        eprintln!("not tested: whoever runs this may write to a folder without write permission");
        return;
    }
    let advice = "a folder that you may change";
    every_writer_is_refused(
        |words| {
            let file = words.iter().find(|word| word.contains("/out.")).unwrap();
            close(Path::new(file).parent().unwrap());
            soaklife().args(words).output().unwrap()
        },
        advice,
    );
    let output = soaklife().arg("log").arg(&book).args(READING).output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    assert!(told(&output).contains(".logbook.lock: cannot be written: "), "{}", told(&output));
    assert!(told(&output).contains(advice), "{}", told(&output));
    assert_eq!(held(&book), before);
}

/// Not even root makes files in sysfs.
#[test]
#[cfg(target_os = "linux")]
fn a_folder_of_the_system_takes_no_file_and_that_is_told() {
    if !Path::new("/sys/kernel").is_dir() {
        eprintln!("not tested: there is no /sys");
        return;
    }
    for (command, ending) in WRITERS {
        let out = format!("/sys/kernel/soaklife.{ending}");
        let output = soaklife().args(words(command, Path::new(&out))).output().unwrap();
        let told = told(&output);
        assert_eq!(output.status.code(), Some(3), "{command}: {told}");
        assert!(told.contains(&format!("{out}: cannot be written: ")), "{command}: {told}");
        assert!(told.contains("Write to a folder that you may change"), "{command}: {told}");
    }
}

/// A file where a folder should be, a folder where a file should be.
#[test]
fn a_name_that_cannot_be_is_told() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("file"), "old").unwrap();
    for (command, ending) in WRITERS {
        let inside = place.path().join(format!("file/out.{ending}"));
        let folder = place.path().join(format!("folder.{ending}"));
        fs::create_dir_all(&folder).unwrap();
        for (out, advice) in [(&inside, "there is no folder"), (&folder, "A folder has this name")] {
            let output = soaklife().args(words(command, out)).output().unwrap();
            let told = told(&output);
            assert_eq!(output.status.code(), Some(3), "{command}: {told}");
            assert!(told.contains(out.to_str().unwrap()) && told.contains(advice), "{command}: {told}");
            assert!(names(&folder).is_empty());
        }
    }
    assert_eq!(fs::read_to_string(place.path().join("file")).unwrap(), "old");
}

/// A device is written to, through a link as well, and stays what it is.
#[test]
#[cfg(target_os = "linux")]
fn a_full_device_is_told() {
    for (command, ending) in WRITERS {
        let place = tempfile::tempdir().unwrap();
        let out = place.path().join(format!("out.{ending}"));
        std::os::unix::fs::symlink("/dev/full", &out).unwrap();
        let output = soaklife().args(words(command, &out)).output().unwrap();
        let told = told(&output);
        assert_eq!(output.status.code(), Some(3), "{command}: {told}");
        assert!(told.contains(&format!("{}: cannot be written: ", out.display())), "{command}: {told}");
        assert!(told.contains("Make room on the disk"), "{command}: {told}");
        assert_eq!(fs::read_link(&out).unwrap(), Path::new("/dev/full"), "{command}");
        assert_eq!(names(place.path()).len(), 1, "{command}");
    }
}

/// What would go to the screen goes to a full disk instead.
#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_under_the_output_is_told() {
    let commands = [
        "check BOOK",
        "forecast BOOK --method line",
        "forecast BOOK --method line --format json",
        "forecast --json-schema",
        "loadtest BOOK AF-12",
        "backtest BOOK --methods line",
        "learn BOOK",
        "budget BOOK",
        "completions fish",
        "manual",
    ];
    for command in commands {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = soaklife().args(words(command, Path::new(""))).stdout(full).output().unwrap();
        let told = told(&output);
        assert_eq!(output.status.code(), Some(3), "{command}: {told}");
        assert!(told.contains("standard output: cannot be written: "), "{command}: {told}");
        assert!(told.contains("Make room on the disk"), "{command}: {told}");
    }
}

#[test]
fn a_reading_that_has_no_room_changes_nothing() {
    let place = tempfile::tempdir().unwrap();
    let (book, before) = logbook_in(place.path());
    let output = cramped().arg("log").arg(&book).args(READING).output().unwrap();
    let told = told(&output);
    assert_eq!(output.status.code(), Some(3), "{told}");
    let file = book.join("readings.csv");
    assert!(told.contains(&format!("{}: cannot be written: ", file.display())), "{told}");
    assert!(told.contains("raise the limit") && told.contains("; nothing was changed"), "{told}");
    assert_eq!(held(&book), before);
    let logged = soaklife().arg("log").arg(&book).args(READING).output().unwrap();
    assert_eq!(logged.status.code(), Some(0), "{}", String::from_utf8_lossy(&logged.stderr));
}

/// The reading is on the disk, so the screen being full must not make anybody log it twice.
#[test]
#[cfg(target_os = "linux")]
fn a_reading_that_was_added_is_said_to_be_although_the_output_is_full() {
    let place = tempfile::tempdir().unwrap();
    let (book, before) = logbook_in(place.path());
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = soaklife().arg("log").arg(&book).args(READING).stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    assert!(
        told(&output).contains("The reading was added, but standard output: cannot be written"),
        "{}",
        told(&output)
    );
    let length = |held: &[(String, Vec<u8>)]| held.iter().map(|(_, bytes)| bytes.len()).sum::<usize>();
    assert_eq!(length(&held(&book)), length(&before) + "AF-01,2026-06-29,60,,,\n".len());
}

#[test]
fn a_logbook_that_has_no_room_is_not_begun() {
    let place = tempfile::tempdir().unwrap();
    let pit = ["--pit-id", "H-1", "--inlet-depth", "30in", "--bottom-depth", "17ft6in"];
    for (verb, further) in [("init", &pit[..]), ("demo", &[])] {
        for was_there in [false, true] {
            let home = place.path().join(format!("{verb}-{was_there}"));
            if was_there {
                fs::create_dir(&home).unwrap();
                fs::write(home.join("notes.txt"), "mine").unwrap();
            }
            let output = cramped().arg(verb).arg(&home).args(further).output().unwrap();
            let told = told(&output);
            assert_eq!(output.status.code(), Some(3), "{verb}: {told}");
            assert!(told.starts_with(home.to_str().unwrap()) && told.contains("raise the limit"), "{told}");
            assert_eq!(home.exists(), was_there, "{verb}");
            if was_there {
                assert_eq!(names(&home), ["notes.txt"], "{verb}");
                assert_eq!(fs::read_to_string(home.join("notes.txt")).unwrap(), "mine");
            }
            let begun = soaklife().arg(verb).arg(&home).args(further).output().unwrap();
            assert_eq!(begun.status.code(), Some(0), "{verb}: {}", String::from_utf8_lossy(&begun.stderr));
        }
    }
}

/// Pages of an earlier run stay as they were.
#[test]
fn pages_that_have_no_room_leave_the_old_ones() {
    let place = tempfile::tempdir().unwrap();
    let pages = place.path().join("pages");
    fs::create_dir(&pages).unwrap();
    fs::write(pages.join("AF-01.pdf"), "old").unwrap();
    let args = words("report BOOK --each --method line -o OUT", &pages);
    let output = cramped().args(args).output().unwrap();
    let told = told(&output);
    assert_eq!(output.status.code(), Some(3), "{told}");
    assert!(told.starts_with(pages.to_str().unwrap()) && told.contains("raise the limit"), "{told}");
    assert_eq!(names(&pages), ["AF-01.pdf"]);
    assert_eq!(fs::read_to_string(pages.join("AF-01.pdf")).unwrap(), "old");
    let args = words("report BOOK --each --method line -o OUT", &pages.join("AF-01.pdf"));
    let output = soaklife().args(args).output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(told.contains("AF-01.pdf: cannot be written: ") && told.contains("move the file away"), "{told}");
}

/// Tables in another order than the pits go through temporary files, which need room too.
#[test]
fn temporary_files_that_have_no_room_are_told() {
    let place = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(600);
    let book = write(place.path(), &pits, &shuffled(&readings));
    let args = ["forecast", &book, "--as-of", "2026-06-30", "--method", "line", "--format", "csv"];
    // Rows of a few pits are short: not a byte is allowed.
    let output = with_files_of(0).args(args).output().unwrap();
    let told = told(&output);
    assert_eq!(output.status.code(), Some(3), "{told}");
    assert!(told.contains("temporary files cannot be written") && told.contains("set TMPDIR"), "{told}");
    assert!(run::stdout(&output).lines().count() <= 1, "a header, and no pit");
}

//! Where words go: data to stdout or a file at one stroke, talk to stderr; and how a run can end.

use soaklife::wording::counted;
use soaklife::wording::fleet::grouped;
use soaklife_records::durable::{Draft, WriteError};
use std::io::{self, IsTerminal as _, StdoutLock, Write as _};
use std::num::NonZeroUsize;
use std::path::Path;
use std::time::{Duration, Instant};

/// How a run that did its work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Exit code 0.
    Done,
    /// Some data could not be used; the rest was done. Exit code 1.
    DataProblems,
}

/// Why a run did not do its work.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Whoever read the output has stopped reading. Exit code 0.
    BrokenPipe,
    /// The command could not be understood. Exit code 2.
    Usage(String),
    /// Something could not be read or written. Exit code 3.
    ReadOrWrite(String),
}

/// Said where some of a logbook was left out.
pub(crate) const ROWS_NOT_USED: &str =
    "The logbook has rows that could not be used; `soaklife check` says which.";

pub(crate) type Run = Result<Outcome, Failure>;

/// Writes data to a file, or to stdout if none is named.
pub(crate) fn deliver(data: &[u8], file: Option<&Path>) -> Result<(), Failure> {
    let mut sheet = Sheet::open(file)?;
    sheet.write(data)?;
    sheet.finish()
}

/// What is written piece by piece: to stdout at once, to a file only when it is whole.
pub(crate) enum Sheet {
    Stdout(StdoutLock<'static>),
    File(Draft),
}

impl Sheet {
    /// A file, or stdout if none is named.
    pub(crate) fn open(file: Option<&Path>) -> Result<Self, Failure> {
        let Some(path) = file else { return Ok(Self::Stdout(io::stdout().lock())) };
        match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => {
                Err(Failure::ReadOrWrite(format!(
                    "{}: cannot be written: there is no folder {}; nothing was changed",
                    path.display(),
                    folder.display()
                )))
            }
            _ => Ok(Self::File(Draft::beside(path)?)),
        }
    }

    pub(crate) fn is_stdout(&self) -> bool {
        matches!(self, Self::Stdout(_))
    }

    pub(crate) fn write(&mut self, data: &[u8]) -> Result<(), Failure> {
        match self {
            Self::Stdout(stdout) if stdout.is_terminal() => {
                stdout.write_all(harmless(&String::from_utf8_lossy(data)).as_bytes()).map_err(stdout_failure)
            }
            Self::Stdout(stdout) => stdout.write_all(data).map_err(stdout_failure),
            Self::File(draft) => Ok(draft.add(data)?),
        }
    }

    /// Forgets what has been written to a file.
    pub(crate) fn start_again(&mut self) -> Result<(), Failure> {
        match self {
            Self::Stdout(_) => Ok(()),
            Self::File(draft) => Ok(draft.start_again()?),
        }
    }

    /// The file takes its place.
    pub(crate) fn finish(self) -> Result<(), Failure> {
        match self {
            Self::Stdout(mut stdout) => stdout.flush().map_err(stdout_failure),
            Self::File(draft) => Ok(draft.put_in_place()?),
        }
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        if error.is_closed_pipe() { Self::BrokenPipe } else { Self::ReadOrWrite(error.to_string()) }
    }
}

fn stdout_failure(source: io::Error) -> Failure {
    WriteError::Stream { path: "standard output".into(), source }.into()
}

/// Says something to the person; if nobody listens, nothing is lost.
pub(crate) fn say(message: &str) {
    let _ = writeln!(io::stderr().lock(), "{}", harmless(message));
}

/// The same with control characters spelled out: names in a logbook may hold what a terminal would obey.
fn harmless(text: &str) -> String {
    let obeyed = |character: char| character.is_control() && !matches!(character, '\n' | '\r' | '\t');
    let mut told = String::with_capacity(text.len());
    for character in text.chars() {
        if obeyed(character) {
            told.extend(character.escape_unicode());
        } else {
            told.push(character);
        }
    }
    told
}

/// As many threads as the machine works on at once.
pub(crate) fn cores() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
}

/// How far a long run has come, told on a terminal only.
pub(crate) struct Progress {
    all: usize,
    begun: Instant,
    told: Option<Duration>,
    is_seen: bool,
}

impl Progress {
    /// Of a run over so many pits.
    pub(crate) fn of(all: usize) -> Self {
        Self { all, begun: Instant::now(), told: None, is_seen: io::stderr().is_terminal() }
    }

    /// Says how many pits are done, twice a second, from the first second on.
    pub(crate) fn tell(&mut self, pits: usize) {
        if !self.is_seen {
            return;
        }
        let now = self.begun.elapsed();
        let due = self.told.map_or(Duration::from_secs(1), |told| told + Duration::from_millis(500));
        if now >= due {
            self.told = Some(now);
            let _ = write!(io::stderr().lock(), "\r{}\u{1b}[K", progress(pits, self.all, now));
        }
    }
}

/// How far a run has come: "250,000 of 1,000,000 pits, 12,500 a second, about 1 min left".
fn progress(pits: usize, all: usize, passed: Duration) -> String {
    let done = format!("{} of {}", grouped(pits as f64), counted(all, "pit"));
    let rate = pits as f64 / passed.as_secs_f64();
    if !(rate > 0.0 && rate.is_finite()) {
        return done;
    }
    let left = all.saturating_sub(pits) as f64 / rate;
    // No more digits than hold from one moment to the next.
    let coarse = |number: f64| {
        let unit = 10f64.powf(number.max(1.0).log10().floor() - 1.0).max(1.0);
        grouped((number / unit).round() * unit)
    };
    let left = match left {
        ..10.0 => "a few seconds".to_owned(),
        ..90.0 => format!("about {:.0} s", (left / 10.0).ceil() * 10.0),
        ..5400.0 => format!("about {:.0} min", left / 60.0),
        _ => format!("about {:.0} h", left / 3600.0),
    };
    format!("{done}, {} a second, {left} left", coarse(rate))
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.told.is_some() {
            // The line is wiped.
            let _ = write!(io::stderr().lock(), "\r\u{1b}[K");
        }
    }
}

/// A word of a command as one would type it: in quotes where a shell would take it apart.
pub(crate) fn typed(word: &str) -> String {
    let plain = |letter: char| letter.is_alphanumeric() || "-_./:,+@%=".contains(letter);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

/// Text broken at spaces to a width, each further line indented.
pub(crate) fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let mut lines = vec![String::new()];
    // A percent sign stays with its number.
    let glued = text.replace(" %", "\u{a0}%");
    for word in glued.split([' ', '\n']).filter(|word| !word.is_empty()) {
        let line = lines.last().map_or(0, |line| line.chars().count());
        if line > 0 && line + 1 + word.chars().count() > width - indent {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join(&format!("\n{}", " ".repeat(indent))).replace('\u{a0}', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_terminal_obeys_no_name() {
        assert_eq!(
            harmless("\u{1b}[31mN-2\t4 Mill Race\u{9b}\r\n"),
            "\\u{1b}[31mN-2\t4 Mill Race\\u{9b}\r\n"
        );
    }

    #[test]
    fn a_command_can_be_typed_as_it_is_told() {
        assert_eq!(["AF-01", "My pit", "Ann's", ""].map(typed), ["AF-01", "'My pit'", "'Ann'\\''s'", "''"]);
    }

    #[test]
    fn progress_says_what_is_done_how_fast_and_how_long_it_will_take() {
        let after = |seconds: f64, pits| progress(pits, 1_000_000, Duration::from_secs_f64(seconds));
        assert_eq!(after(20.0, 251_136), "251,136 of 1,000,000 pits, 13,000 a second, about 60 s left");
        let left = |seconds, pits| after(seconds, pits).rsplit_once(", ").unwrap().1.to_owned();
        assert_eq!(left(1.0, 256), "about 65 min left");
        assert_eq!(left(10.0, 256), "about 11 h left");
        assert_eq!(left(60.0, 500_000), "about 60 s left");
        assert_eq!(left(60.0, 100_000), "about 9 min left");
        assert_eq!(left(60.0, 999_000), "a few seconds left");
        assert_eq!(left(60.0, 1_000_256), "a few seconds left", "rows counted otherwise do no harm");
        assert_eq!([after(0.0, 0), after(9.0, 0)], ["0 of 1,000,000 pits"; 2], "nothing to judge by yet");
    }

    #[test]
    fn text_is_broken_at_spaces() {
        assert_eq!(wrapped("one two three four", 12, 2), "one two\n  three four");
        assert_eq!(wrapped("only about 24 % are", 14, 0), "only about\n24 % are");
    }
}

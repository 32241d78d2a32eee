//! Where words go: data to stdout or a file at one stroke, talk to stderr; and how a run can end.

use soaklife_records::durable;
use std::io::{self, Write as _};
use std::path::Path;

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

pub(crate) type Run = Result<Outcome, Failure>;

/// Writes data to a file, or to stdout if none is named.
pub(crate) fn deliver(data: &[u8], file: Option<&Path>) -> Result<(), Failure> {
    let Some(path) = file else {
        let mut stdout = io::stdout().lock();
        return stdout.write_all(data).and_then(|()| stdout.flush()).map_err(|error| match error.kind() {
            io::ErrorKind::BrokenPipe => Failure::BrokenPipe,
            _ => Failure::ReadOrWrite(format!("standard output cannot be written: {error}")),
        });
    };
    let unwritten = |why: String| {
        Failure::ReadOrWrite(format!("{}: cannot be written: {why}; nothing was changed", path.display()))
    };
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => {
            Err(unwritten(format!("there is no folder {}", folder.display())))
        }
        _ => durable::write(path, data).map_err(|error| unwritten(error.to_string())),
    }
}

/// Says something to the person; if nobody listens, nothing is lost.
pub(crate) fn say(message: &str) {
    let _ = writeln!(io::stderr().lock(), "{message}");
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
    fn a_command_can_be_typed_as_it_is_told() {
        assert_eq!(["AF-01", "My pit", "Ann's", ""].map(typed), ["AF-01", "'My pit'", "'Ann'\\''s'", "''"]);
    }

    #[test]
    fn text_is_broken_at_spaces() {
        assert_eq!(wrapped("one two three four", 12, 2), "one two\n  three four");
        assert_eq!(wrapped("only about 24 % are", 14, 0), "only about\n24 % are");
    }
}

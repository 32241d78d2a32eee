//! A page for every pit of a logbook of any size, each in a file of its own.

use super::{Sheet, fingerprint, unusable};
use crate::args::{PageFormat, ReportArgs};
use crate::every_pit;
use crate::forecast::answer::{Asking, open_fleet, question};
use crate::output::{Failure, Outcome, ROWS_NOT_USED, Run, cores, deliver, say};
use soaklife::wording::counted;
use soaklife_charts::Paper;
use soaklife_records::Stretch;
use soaklife_records::durable::WriteError;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// Pits without a page told one by one; the rest is counted.
const MOST_TOLD: usize = 20;

/// What became of some pits.
#[derive(Default)]
struct Written {
    /// Why pits have no page.
    refused: Vec<String>,
    without_forecast: usize,
}

pub(super) fn run(args: &ReportArgs) -> Run {
    let question = question(&args.question)?;
    let threads = args.planning.threads.unwrap_or_else(cores);
    let fleet = open_fleet(&args.folder, question.as_of())?;
    let asked = Asking::of_fleet(&fleet, &args.question, question, threads)?;
    let (paper, format) = (Paper::from(args.paper), args.format);
    let sheet = Sheet { paper, format, fingerprint: fingerprint::of(&args.folder)? };
    let folder = args.output.as_path();
    fs::create_dir_all(folder).map_err(|source| WriteError::Refused { path: folder.to_owned(), source })?;
    // A second walk writes the same pages over those of the first.
    let (written, found) = every_pit::walk(
        &fleet,
        threads,
        |stretch| write(&sheet, &asked, stretch, folder),
        Written::default(),
        |_| Ok(Written::default()),
        |all, more| {
            all.refused.extend(more.refused);
            all.without_forecast += more.without_forecast;
            Ok(())
        },
    )?;
    tell(&written);
    if found.errors() > 0 {
        say(ROWS_NOT_USED);
    }
    let is_whole = written.refused.is_empty() && written.without_forecast == 0 && found.errors() == 0;
    Ok(if is_whole { Outcome::Done } else { Outcome::DataProblems })
}

/// Writes the pages of neighbouring pits.
fn write(sheet: &Sheet, asked: &Asking, stretch: &Stretch, folder: &Path) -> Result<Written, Failure> {
    let mut written = Written::default();
    for answer in asked.answers_of(stretch) {
        let answer = answer?;
        let Some(record) = answer.record else {
            written.refused.push(unusable(&answer));
            continue;
        };
        match sheet.page(asked, &answer, record, stretch.rows_left_out(record.id())) {
            Ok(page) => deliver(&page, Some(&folder.join(name_of(record.id(), sheet.format))))?,
            Err(why) => written.refused.push(why),
        }
        written.without_forecast += usize::from(answer.forecast.is_err());
    }
    Ok(written)
}

fn tell(written: &Written) {
    written.refused.iter().take(MOST_TOLD).for_each(|why| say(why));
    let untold = written.refused.len().saturating_sub(MOST_TOLD);
    if untold > 0 {
        say(&format!("Without a page: {} more.", counted(untold, "pit")));
    }
    if written.without_forecast > 0 {
        say(&format!(
            "On {} there is no forecast: the readings alone, and why.",
            counted(written.without_forecast, "page")
        ));
    }
}

/// The file of a pit: its identifier, with what no file system should be asked to hold as %, like an address.
fn name_of(id: &str, format: PageFormat) -> String {
    let mut name = String::new();
    for (place, letter) in id.char_indices() {
        let is_plain = letter.is_alphanumeric() || "-_ ,+()".contains(letter) || (letter == '.' && place > 0);
        if is_plain {
            name.push(letter);
            continue;
        }
        for byte in letter.encode_utf8(&mut [0; 4]).bytes() {
            let _ = write!(name, "%{byte:02X}");
        }
    }
    let ending = match format {
        PageFormat::Html => "html",
        PageFormat::Pdf => "pdf",
    };
    format!("{name}.{ending}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pit_has_a_file_of_its_own_in_the_folder_and_nowhere_else() {
        let named = |id| name_of(id, PageFormat::Pdf);
        assert_eq!(named("AF-01"), "AF-01.pdf");
        assert_eq!(named("../x/y"), "%2E.%2Fx%2Fy.pdf");
        assert_eq!(named("A:1?"), "A%3A1%3F.pdf");
        assert_ne!(named("A%3A1"), named("A:1"));
        assert_eq!(name_of("Grube Süd", PageFormat::Html), "Grube Süd.html");
    }
}

//! The report of a fleet: summary, budget, every pit on the ladder and as a small panel, and those without a forecast.

mod gathered;

use super::{PROGRAM, fingerprint};
use crate::args::{PageFormat, ReportArgs};
use crate::budget::assumptions::{Reader, assumptions};
use crate::budget::outlook::Outlook;
use crate::budget::text::{
    answer, by_end, expected_in, of_one_pit, reserve, rows_of_years, what_the_fund_is,
};
use crate::budget::visits::{HEADINGS, row, rule};
use crate::budget::walk::{Walked, Wanted, walk_beside};
use crate::output::{Failure, Outcome, ROWS_NOT_USED, Run, deliver, say};
use crate::picture::folder_name;
use gathered::{Gathered, LeastUrgent, MOST_SHOWN};
use soaklife::fleet::{Candidate, VisitReason};
use soaklife::wording::counted;
use soaklife::wording::fleet::grouped;
use soaklife_charts::{
    ChartError, FleetChart, FleetReport, LadderChart, Paper, PitPanel, SmallMultiples, Table,
};

/// Years by whose ends the summary says how many pits are due.
const DUE: [usize; 4] = [1, 2, 5, 10];
/// Visits told in the summary; more have a section of their own.
const FIRST_VISITS: usize = 10;

/// Cautions for a reader who reads no further than the answer.
const IN_BRIEF: &str = "\
Estimates from readings, no warranty: local code and licensed practitioners decide what must be replaced, and when. Sewage gas kills: \
never enter or lean into a pit.";

pub(super) fn run(args: &ReportArgs, format: PageFormat) -> Run {
    let name = folder_name(&args.folder);
    let least = LeastUrgent::default();
    let wanted = Wanted {
        planning: &args.planning,
        by: None,
        prior: args.question.prior.as_deref(),
        as_of: args.question.as_of,
        units: args.question.units,
    };
    let (walked, gathered) = walk_beside(
        &args.folder,
        &wanted,
        || Gathered::begin(&least),
        |answer| least.look_at(answer),
        |gathered, seen| gathered.take(seen, &least),
    )?;
    let fingerprint = fingerprint::of(&args.folder)?;
    let drawn = report(&name, &walked, gathered.in_order());
    let report = drawn.map_err(|error| unwritten(&name, &error))?.sealed(&fingerprint, PROGRAM);
    let paper = Paper::from(args.paper);
    let pages = match format {
        PageFormat::Html => report.to_html(paper).into_bytes(),
        PageFormat::Pdf => report.to_pdf(paper).map_err(|error| unwritten(&name, &error))?,
    };
    deliver(&pages, Some(&args.output))?;
    Ok(told(&walked))
}

fn unwritten(name: &str, error: &ChartError) -> Failure {
    Failure::ReadOrWrite(format!("the report of {name} cannot be written: {error}"))
}

/// Says what is in the report as well: what could not be used.
fn told(walked: &Walked) -> Outcome {
    if walked.without_forecast > 0 {
        let pits = counted(walked.without_forecast, "pit");
        say(&format!("{pits} not in the budget; the last section of the report says why."));
    }
    if walked.has_errors {
        say(ROWS_NOT_USED);
    }
    if walked.without_forecast > 0 || walked.has_errors { Outcome::DataProblems } else { Outcome::Done }
}

fn report(name: &str, walked: &Walked, gathered: Gathered) -> Result<FleetReport, ChartError> {
    let outlook = Outlook::of(walked.budget.whole());
    let mut report = summary(FleetReport::new(name, walked.as_of), walked, &outlook);
    if outlook.pits > 0 {
        report = budget(report, walked, &outlook)?;
        report = visits(report, walked);
    }
    if !gathered.panels.is_empty() {
        report = every_pit(report, name, walked, &gathered)?;
    }
    Ok(without_forecast(report, walked, &gathered))
}

/// How many are due, what they cost, whom to see first, and what is assumed.
fn summary(report: FleetReport, walked: &Walked, outlook: &Outlook) -> FleetReport {
    let report = report.in_section("Summary");
    let left_out = left_out(walked);
    if outlook.pits == 0 {
        let none = "There is no pit with a forecast, so there is nothing to budget for.";
        return report.answering(none).saying(&left_out);
    }
    let mut report = report
        .answering(&answer(walked, outlook))
        .saying(IN_BRIEF)
        .saying(&left_out)
        .with_table(due(walked, outlook));
    report = report.saying(&reserve(walked, outlook));
    if let Some(only) = &walked.only {
        report = report.saying(&of_one_pit(walked, only));
    }
    let visits = walked.visits.visits();
    if !visits.is_empty() {
        let caption = match visits.len() {
            all if all > FIRST_VISITS => {
                format!("Whom to see first: the first {FIRST_VISITS} of {} visits", grouped(all as f64))
            }
            _ => "Whom to see first".to_owned(),
        };
        report = report.with_table(visit_table(&caption, &visits, FIRST_VISITS)).saying(&rule(walked));
    }
    report.saying("What is assumed:").listing(assumptions(walked, outlook, Reader::OfReport))
}

/// What is not in the numbers.
fn left_out(walked: &Walked) -> String {
    let mut told = Vec::new();
    if walked.without_forecast > 0 {
        let left_out = counted(walked.without_forecast, "pit");
        told.push(format!("Not in these numbers: {left_out}; the last section says why."));
    }
    if walked.has_errors {
        told.push(ROWS_NOT_USED.to_owned());
    }
    told.join(" ")
}

fn due(walked: &Walked, outlook: &Outlook) -> Table {
    let headings =
        ["due", "pits, expected", "80 % range", &expected_in(walked), "80 % range"].map(str::to_owned);
    let last = outlook.by_ends.len().saturating_sub(1);
    let mut places: Vec<usize> = DUE.into_iter().filter(|place| *place <= last).collect();
    if places.last() != Some(&last) {
        places.push(last);
    }
    let rows = places.into_iter().filter_map(|place| outlook.by_ends.get(place));
    rows.map(by_end).fold(Table::new("Pits due and what they cost, from now on", headings), Table::with_row)
}

fn visit_table(caption: &str, visits: &[(VisitReason, &Candidate)], most: usize) -> Table {
    let headings = HEADINGS.map(|heading| if heading.is_empty() { "name" } else { heading });
    let rows = visits.iter().take(most).map(|(reason, pit)| row(*reason, pit));
    rows.fold(Table::new(caption, headings).with_names_in(1), Table::with_row)
}

fn budget(report: FleetReport, walked: &Walked, outlook: &Outlook) -> Result<FleetReport, ChartError> {
    let chart = FleetChart::new(walked.as_of, outlook.pits, &outlook.in_years)
        .titled("Replacements ahead")
        .in_currency(&walked.currency)
        .svg()?;
    let mut rows = rows_of_years(walked, outlook).into_iter();
    let mut headings = rows.next().unwrap_or_default();
    if let Some(first) = headings.first_mut() {
        first.push_str("year");
    }
    let table = Table::new("Year by year", headings);
    Ok(report
        .in_section("Budget")
        .with_figures([chart])
        .with_table(rows.fold(table, Table::with_row))
        .saying(&what_the_fund_is(walked, outlook)))
}

/// The visits that have no room in the summary.
fn visits(report: FleetReport, walked: &Walked) -> FleetReport {
    let visits = walked.visits.visits();
    if visits.len() <= FIRST_VISITS {
        return report;
    }
    let report = report.in_section("Whom to see first");
    let caption = format!("{} a year, the most urgent first", counted(visits.len(), "visit"));
    let report = report.with_table(visit_table(&caption, &visits, MOST_SHOWN));
    match visits.len().saturating_sub(MOST_SHOWN) {
        0 => report,
        more => report
            .saying(&format!("{} more; `soaklife budget --visit-list` has them all.", grouped(more as f64))),
    }
}

fn every_pit(
    report: FleetReport,
    name: &str,
    walked: &Walked,
    gathered: &Gathered,
) -> Result<FleetReport, ChartError> {
    let limited = match gathered.forecasts.saturating_sub(gathered.panels.len()) {
        0 => String::new(),
        more => format!(
            "Shown are the {} pits that are the likeliest to be there soon; {} more {} not shown. `soaklife \
             forecast --format csv` has them all.",
            grouped(gathered.panels.len() as f64),
            grouped(more as f64),
            if more == 1 { "is" } else { "are" }
        ),
    };
    let candidates: Vec<&Candidate> = gathered.panels.iter().map(PitPanel::pit).collect();
    let ladder = LadderChart::new(walked.as_of, &candidates).titled(name).pages()?;
    let panels = SmallMultiples::new(walked.as_of, gathered.panels.iter().cloned());
    let panels = panels.titled(name).in_units(walked.units).pages()?;
    Ok(report
        .in_section(&format!("When each pit reaches its {}", walked.goal()))
        .saying(&limited)
        .with_figures(ladder)
        .in_section("Readings and forecast of each pit")
        .saying(&limited)
        .with_figures(panels))
}

/// Pits that are not in the budget, each with the reason.
fn without_forecast(report: FleetReport, walked: &Walked, gathered: &Gathered) -> FleetReport {
    if walked.without_forecast == 0 {
        return report;
    }
    let mut report = report.in_section("Pits not in the budget");
    if gathered.silent > 0 {
        let count = counted(gathered.silent, "pit");
        report = report
            .saying(&format!("Without a forecast: {count}."))
            .noting(gathered.reasons.iter().map(|(title, reason)| (title, reason)));
    }
    match gathered.silent.saturating_sub(gathered.reasons.len()) {
        0 => {}
        more => {
            report = report.saying(&format!("{} more; `soaklife check` has them all.", grouped(more as f64)))
        }
    }
    if !walked.refused.is_empty() {
        report = report
            .saying("With a forecast, and a cost that cannot be budgeted for:")
            .listing(&walked.refused);
    }
    report
}

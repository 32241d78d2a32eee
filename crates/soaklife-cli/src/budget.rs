//! `soaklife budget`: what a fleet of pits will cost, as text, CSV or JSON.

pub(crate) mod assumptions;
mod columns;
mod json;
pub(crate) mod outlook;
mod plain_table;
pub(crate) mod text;
mod visit_list;
pub(crate) mod visits;
pub(crate) mod walk;

use crate::args::{BudgetArgs, Format};
use crate::output::{Failure, Outcome, ROWS_NOT_USED, Run, deliver, say};
use crate::picture::titled_by_folder;
use outlook::Outlook;
use soaklife::fleet::Candidate;
use soaklife::wording::counted;
use soaklife_charts::{FleetChart, Svg};
use std::path::Path;
use walk::{Walked, Wanted};

pub(crate) use walk::candidate;

/// The published schema of `--format json`.
const JSON_SCHEMA: &str = include_str!("../schema/budget-1.json");

pub(crate) fn run(args: &BudgetArgs) -> Run {
    let Some(folder) = args.folder.as_deref().filter(|_| !args.telling.json_schema) else {
        deliver(JSON_SCHEMA.as_bytes(), args.telling.output.as_deref())?;
        return Ok(Outcome::Done);
    };
    let walked = walk::walk(folder, &wanted(args))?;
    let outlook = Outlook::of(walked.budget.whole());
    args.telling.picture.draw(|| svg(&walked, &outlook, folder))?;
    if let Some(file) = &args.visit_list {
        deliver(visit_list::csv(&walked)?.as_bytes(), Some(file))?;
    }
    let told = match args.telling.format {
        Format::Text => text::text(&walked, &outlook, args),
        Format::Csv => columns::csv(&walked, &outlook)?,
        Format::Json => json::json(&walked, &outlook, args),
    };
    deliver(told.as_bytes(), args.telling.output.as_deref())?;
    for message in &walked.refused {
        say(message);
    }
    if walked.without_forecast > 0 && args.telling.format != Format::Text {
        let pits = counted(walked.without_forecast, "pit");
        say(&format!("{pits} without a forecast, not in the budget; `soaklife check` lists what is wrong."));
    }
    if walked.has_errors {
        say(ROWS_NOT_USED);
    }
    Ok(if walked.without_forecast > 0 || walked.has_errors { Outcome::DataProblems } else { Outcome::Done })
}

fn wanted(args: &BudgetArgs) -> Wanted<'_> {
    Wanted {
        planning: &args.planning,
        by: args.by.as_deref(),
        prior: args.prior.as_deref(),
        as_of: args.as_of,
        units: None,
    }
}

fn svg(walked: &Walked, outlook: &Outlook, folder: &Path) -> Result<Svg, Failure> {
    let visits: Vec<&Candidate> = walked.visits.visits().into_iter().map(|(_, pit)| pit).collect();
    let visits = with_something_to_show(visits);
    FleetChart::new(walked.as_of, walked.budget.whole().pits(), &outlook.in_years)
        .titled(titled_by_folder(folder, "replacements ahead"))
        .in_currency(&walked.currency)
        .with_urgent(&visits)
        .svg()
        .map_err(|error| Failure::ReadOrWrite(format!("the budget cannot be drawn: {error}")))
}

/// The visits of which a chart shows a range. Pits at their inlets have none: where they are many, they give way.
fn with_something_to_show(mut visits: Vec<&Candidate>) -> Vec<&Candidate> {
    const FEW: usize = 6;
    if visits.iter().filter(|pit| pit.urgency.is_there()).count() > FEW {
        visits.retain(|pit| !pit.urgency.is_there());
    }
    visits
}

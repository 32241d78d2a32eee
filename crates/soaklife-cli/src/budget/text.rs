//! The budget in words: the answer, a table of years, what to set aside, whom to see, and what is assumed.

use super::assumptions::{CAUTION, Reader, assumptions};
use super::outlook::{COVERAGES, Outlook};
use super::plain_table::{Side::Left, Side::Right, lines};
use super::visits::visits;
use super::walk::{OnePit, SIGHT_YEARS, Walked};
use crate::args::BudgetArgs;
use crate::output::wrapped;
use soaklife::fleet::{Spread, YearBudget, sinking_fund};
use soaklife::wording::coverage::percent;
use soaklife::wording::fleet::{
    amount, amount_number, count_number, expected_amount, expected_amount_number, expected_number, grouped,
};
use soaklife::wording::{counted, with_noun, years_down};
use std::fmt::Write as _;

const WIDTH: usize = 100;
/// The longest name a table holds.
const NAME_WIDTH: usize = 22;

pub(super) fn text(walked: &Walked, outlook: &Outlook, args: &BudgetArgs) -> String {
    let mut told = format!("Budget of {} as of {}\n\n", counted(outlook.pits as usize, "pit"), walked.as_of);
    if outlook.pits == 0 {
        paragraph(&mut told, "There is no pit with a forecast, so there is nothing to budget for.");
    } else {
        paragraph(&mut told, &answer(walked, outlook));
        paragraph(&mut told, &reserve(walked, outlook));
        if let Some(only) = &walked.only {
            paragraph(&mut told, &of_one_pit(walked, only));
        }
        years(&mut told, walked, outlook);
        groups(&mut told, walked, args);
        visits(&mut told, walked, args);
        told.push_str("What is assumed\n");
        for assumption in assumptions(walked, outlook, Reader::AtTerminal) {
            let _ = writeln!(told, "- {}", wrapped(&assumption, WIDTH, 2));
        }
        told.push('\n');
    }
    if walked.without_forecast > 0 {
        let left_out = counted(walked.without_forecast, "pit");
        paragraph(
            &mut told,
            &format!(
                "Not in the budget: {left_out} without a forecast; `soaklife check` lists what is wrong."
            ),
        );
    }
    let _ = writeln!(told, "{}", wrapped(CAUTION, WIDTH, 0));
    told
}

pub(super) fn paragraph(told: &mut String, text: &str) {
    let _ = writeln!(told, "{}\n", wrapped(text, WIDTH, 0));
}

/// How many and how much, with its range.
pub(crate) fn answer(walked: &Walked, outlook: &Outlook) -> String {
    let Some(all) = outlook.in_all() else { return String::new() };
    let (count, money) = (&all.count, &all.money);
    let cost = expected_amount(money.expected, count.expected, &walked.currency);
    let about = if cost.starts_with("under") { "" } else { "about " };
    let mut text = format!(
        "By the end of {} expect {} of {} to reach the {}; {} with 80 % confidence. To replace them would cost {about}{cost}, \
         {} with 80 % confidence, at the prices of each year.",
        all.calendar_year,
        expected_number(count.expected),
        counted(outlook.pits as usize, "pit"),
        walked.goal(),
        whole_range(count),
        money_range(money),
    );
    if walked.at_inlet > 0 {
        let stand =
            if walked.at_inlet == 1 { "pit stands at its inlet" } else { "pits stand at their inlets" };
        let _ = write!(text, " {} {stand} today.", grouped(walked.at_inlet as f64));
    }
    if let Some(next) = outlook.in_years.get(1) {
        let _ = write!(
            text,
            " {} alone, the next whole year: {} and {} {}.",
            next.calendar_year,
            counted_range(&next.count),
            walked.currency,
            money_range(&next.money)
        );
    }
    text
}

fn whole_range(count: &Spread) -> String {
    let (low, high) = (count_number(count.p10), count_number(count.p90));
    if low == high { low } else { format!("{low} to {high}") }
}

fn money_range(money: &Spread) -> String {
    let (low, high) = (amount_number(money.p10), amount_number(money.p90));
    if low == high { low } else { format!("{low} to {high}") }
}

fn counted_range(count: &Spread) -> String {
    with_noun(&whole_range(count), "pit")
}

pub(crate) fn reserve(walked: &Walked, outlook: &Outlook) -> String {
    let [even, likely, safe] = outlook.levels().map(amount_number);
    let count = outlook.in_all().map_or(0.0, |all| all.count.expected);
    let mut text = format!(
        "Set aside {} {even} a year and it is as likely to be enough as not; {likely} a year is enough with {}, {safe} with {} \
         confidence. What has to be paid is worth {} today.",
        walked.currency,
        percent(COVERAGES[1]),
        percent(COVERAGES[2]),
        expected_amount(outlook.reserve.present_worth().mean(), count, &walked.currency),
    );
    if let Some((year, short)) = shortest(outlook) {
        let _ = write!(
            text,
            " Early failures come before the money: if what is expected is paid, the fund is {} short at the end of {year}; begin with that \
             much.",
            amount(short, &walked.currency)
        );
    }
    text
}

/// The year at whose end the expected fund is shortest, if it is ever short by a notable part of a year's
/// reserve.
fn shortest(outlook: &Outlook) -> Option<(i16, f64)> {
    let funds = outlook.in_years.iter().zip(outlook.reserve.expected_fund());
    let (year, fund) = funds.min_by(|(_, a), (_, b)| a.total_cmp(b))?;
    let notable = 0.05 * outlook.reserve.level_of_expected();
    (-fund > notable).then_some((year.calendar_year, -fund))
}

/// What the owner of one pit sets aside until it fails.
pub(crate) fn of_one_pit(walked: &Walked, only: &OnePit) -> String {
    let told = only.years.iter().zip(COVERAGES).map(|(years, coverage)| {
        let sure = percent(coverage);
        match years {
            None => format!("to be {sure} sure, nothing: it is expected to last {SIGHT_YEARS:.0} years"),
            Some(years) => match sinking_fund(only.cost, &walked.costs, *years) {
                Ok(a_year) if *years >= 1.0 => {
                    format!(
                        "to be {sure} sure, {} a year for {}",
                        amount(a_year, &walked.currency),
                        years_down(*years)
                    )
                }
                _ => format!("to be {sure} sure, the whole {} now", amount(only.cost, &walked.currency)),
            },
        }
    });
    format!("For this pit alone, set aside until it fails: {}.", told.collect::<Vec<_>>().join("; "))
}

fn years(told: &mut String, walked: &Walked, outlook: &Outlook) {
    let rows = rows_of_years(walked, outlook);
    told.push_str(&lines(&[Left, Right, Right, Right, Right, Right], &rows));
    told.push('\n');
    paragraph(told, &what_the_fund_is(walked, outlook));
}

/// The table of years: its headings, each year, and all together.
pub(crate) fn rows_of_years(walked: &Walked, outlook: &Outlook) -> Vec<Vec<String>> {
    let heading = ["", "pits", "80 % range", &expected_in(walked), "80 % range", "fund at the end"];
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    let funds = outlook.reserve.expected_fund();
    for (place, (year, fund)) in outlook.in_years.iter().zip(funds).enumerate() {
        let of = if place == 0 { "rest of " } else { "" };
        // At the end nothing is left but a rounding.
        let is_nothing = fund.abs() < 0.005 * outlook.reserve.present_worth().mean();
        let mut row = row(format!("{of}{}", year.calendar_year), year);
        row.push(if is_nothing { "0".to_owned() } else { amount_number(*fund) });
        rows.push(row);
    }
    rows.extend(outlook.in_all().map(by_end));
    rows
}

/// A row from now to the end of a year.
pub(crate) fn by_end(year: &YearBudget) -> Vec<String> {
    row(format!("by end of {}", year.calendar_year), year)
}

pub(crate) fn what_the_fund_is(walked: &Walked, outlook: &Outlook) -> String {
    format!(
        "Fund at the end: what is left if {} a year is set aside and what is expected is paid.",
        amount(outlook.reserve.level_of_expected(), &walked.currency)
    )
}

pub(crate) fn expected_in(walked: &Walked) -> String {
    format!("{}, expected", walked.currency)
}

fn row(name: String, year: &YearBudget) -> Vec<String> {
    vec![
        name,
        expected_number(year.count.expected),
        whole_range(&year.count),
        expected_amount_number(year.money.expected, year.count.expected),
        money_range(&year.money),
    ]
}

fn groups(told: &mut String, walked: &Walked, args: &BudgetArgs) {
    let Some(by) = &args.by else { return };
    let years = walked.budget.whole().years();
    let last = years.len().saturating_sub(1);
    let _ = writeln!(told, "By {by}, to the end of {}", years.calendar_year(last));
    let heading = ["", "pits", "80 % range", &expected_in(walked), "80 % range", "of"];
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    for (name, fleet) in walked.budget.groups() {
        let mut row = row(cut(name), &fleet.by_end_of(last));
        row.push(grouped(fleet.pits() as f64));
        rows.push(row);
    }
    told.push_str(&lines(&[Left, Right, Right, Right, Right, Right], &rows));
    told.push('\n');
}

/// A name that fits a table.
pub(super) fn cut(name: &str) -> String {
    if name.chars().count() <= NAME_WIDTH {
        return name.to_owned();
    }
    name.chars().take(NAME_WIDTH - 1).chain(['…']).collect()
}

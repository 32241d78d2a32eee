//! Everything about a budget, for other programs; the shape is published in `schema/budget-1.json`.

use super::assumptions::{Reader, assumptions};
use super::columns::members;
use super::outlook::{COVERAGES, Outlook};
use super::walk::{OnePit, Walked};
use crate::args::BudgetArgs;
use crate::cell::Cell;
use serde_json::{Value, json};
use soaklife::fleet::{Candidate, VisitReason, YearBudget, sinking_fund};

/// The name and version of the shape; a change that breaks readers raises the number.
const SCHEMA: &str = "soaklife budget 1";

pub(super) fn json(walked: &Walked, outlook: &Outlook, args: &BudgetArgs) -> String {
    let group = |(name, fleet): (&str, &soaklife::fleet::Fleet)| {
        let mut told = fleet_members(&Outlook::of(fleet));
        told["group"] = Value::from(name);
        told
    };
    let told = json!({
        "schema": SCHEMA,
        "as_of": walked.as_of.to_string(),
        "currency": walked.currency,
        "left_out": walked.without_forecast,
        "at_inlet": walked.at_inlet,
        "assumptions": {
            "common_factor": walked.factor.variation(),
            "replacement_cost": walked.usual_cost,
            "pits_with_own_cost": walked.own_cost,
            "cost_spread": walked.costs.spread(),
            "cost_escalation": walked.costs.escalation(),
            "interest": walked.costs.interest(),
            "in_words": assumptions(walked, outlook, Reader::AtTerminal),
        },
        "fleet": fleet_members(outlook),
        "by": args.by,
        "groups": walked.budget.groups().map(group).collect::<Vec<_>>(),
        "visits_a_year": args.planning.visits,
        "visits": walked.visits.visits().into_iter().map(visit).collect::<Vec<_>>(),
        "sinking_fund": walked.only.as_ref().map(|only| fund_of_one(walked, only)),
    });
    format!("{told:#}\n")
}

fn fleet_members(outlook: &Outlook) -> Value {
    let years = outlook.in_years.iter().zip(&outlook.by_ends).zip(outlook.reserve.expected_fund());
    let year = |((in_year, by_end), fund): ((&YearBudget, &YearBudget), &f64)| {
        json!({
            "year": in_year.calendar_year,
            "count": members("count", &in_year.count),
            "cost": members("cost", &in_year.money),
            "count_by_end": members("count", &by_end.count),
            "cost_by_end": members("cost", &by_end.money),
            "expected_fund": money(*fund),
        })
    };
    let levels = COVERAGES.into_iter().zip(outlook.levels());
    let level = |(coverage, a_year)| json!({ "coverage": coverage, "a_year": money(a_year) });
    json!({
        "pits": outlook.pits,
        "exact": outlook.is_exact,
        "years": years.map(year).collect::<Vec<_>>(),
        "present_worth": money(outlook.reserve.present_worth().mean()),
        "reserve": {
            "of_expected": money(outlook.reserve.level_of_expected()),
            "levels": levels.map(level).collect::<Vec<_>>(),
        },
    })
}

fn visit((reason, pit): (VisitReason, &Candidate)) -> Value {
    let [early, median, late] = pit.urgency.years.map(|years| Cell::number(years, 2).json());
    json!({
        "pit_id": pit.id,
        "label": Some(&pit.title).filter(|title| !title.is_empty()),
        "reason": match reason { VisitReason::MayFail => "may_fail", _ => "reading" },
        "chance_2y": Cell::number(Some(pit.urgency.soon()), 4).json(),
        "years_since_reading": Cell::number(pit.years_since_reading, 2).json(),
        "worth_of_reading": Cell::number(Some(pit.worth_of_reading()), 4).json(),
        "years_p10": early,
        "years_p50": median,
        "years_p90": late,
    })
}

/// What the owner of one pit sets aside, for each coverage; nothing where it fails at once or beyond sight.
fn fund_of_one(walked: &Walked, only: &OnePit) -> Value {
    let told = only.years.iter().zip(COVERAGES).map(|(years, coverage)| {
        let a_year = years.and_then(|years| sinking_fund(only.cost, &walked.costs, years).ok());
        json!({
            "coverage": coverage,
            "years": Cell::number(*years, 2).json(),
            "a_year": a_year.map(money),
        })
    });
    Value::from(told.collect::<Vec<_>>())
}

/// Money to the cent.
fn money(amount: f64) -> Value {
    Cell::number(Some(amount), 2).json()
}

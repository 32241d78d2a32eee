//! The walk over the pits of a logbook: each is forecast, added to the budget and offered to the visit list,
//! and forgotten.

use super::group::Grouping;
use crate::args::{AgainstArg, BudgetArgs, MethodArg, QuestionArgs};
use crate::forecast::answer::{Answer, Asked};
use crate::output::{Failure, say};
use jiff::civil::Date;
use soaklife::date::years_between;
use soaklife::fleet::{Budget, Candidate, CommonFactor, CostModel, GroupError, VisitList, YearsAhead};
use soaklife::forecast::Basis;
use soaklife::quantity::as_inches;
use soaklife::{Coverage, Forecast};
use soaklife_records::PitRecord;
use std::path::Path;

/// The horizon over which the visit list asks for failures, years.
pub(super) const SOON_YEARS: f64 = 2.0;
/// How far a forecast sees, years.
pub(super) const SIGHT_YEARS: f64 = 60.0;

/// All that a budget is told from.
#[derive(Debug)]
pub(super) struct Walked {
    pub(super) as_of: Date,
    pub(super) currency: String,
    pub(super) usual_cost: f64,
    pub(super) costs: CostModel,
    pub(super) factor: CommonFactor,
    pub(super) budget: Budget,
    pub(super) visits: VisitList,
    /// Pits with a cost of their own.
    pub(super) own_cost: usize,
    pub(super) at_inlet: usize,
    /// Pits that count as failed before the inlet, at a freeboard of their own.
    pub(super) acted_on_early: usize,
    /// Pits of which too little was read to speak for themselves.
    pub(super) by_experience: usize,
    pub(super) without_forecast: usize,
    pub(super) has_errors: bool,
    /// The pit, if there is one only.
    pub(super) only: Option<OnePit>,
}

/// What the owner of one pit wants to know besides.
#[derive(Debug)]
pub(super) struct OnePit {
    pub(super) cost: f64,
    /// Years by which it fails with 50, 20 and 5 %; nothing beyond sight.
    pub(super) years: [Option<f64>; 3],
}

/// Asks every pit of a logbook.
pub(super) fn walk(folder: &Path, args: &BudgetArgs) -> Result<Walked, Failure> {
    let asked = Asked::open(folder, &question(args))?;
    let grouping = args.by.as_deref().map(Grouping::new);
    let mut walked = begin(&asked, args)?;
    for answer in asked.all() {
        walked.take(&answer?, grouping.as_ref())?;
    }
    Ok(walked)
}

/// The usual question: by the absorption method, as far as it sees.
fn question(args: &BudgetArgs) -> QuestionArgs {
    QuestionArgs {
        as_of: args.as_of,
        method: MethodArg::Absorption,
        prior: args.prior.clone(),
        against: AgainstArg::Load,
        horizon: SIGHT_YEARS,
        coverage: Coverage::EIGHTY,
        action_freeboard: None,
        units: None,
    }
}

fn begin(asked: &Asked, args: &BudgetArgs) -> Result<Walked, Failure> {
    let usage = |reason: String| Failure::Usage(reason);
    let settings = asked.logbook().settings();
    let costs = CostModel::new(settings.cost_escalation(), settings.interest(), args.cost_spread)
        .map_err(|error| usage(error.to_string()))?;
    let years = YearsAhead::new(asked.as_of(), args.years).map_err(|error| usage(error.to_string()))?;
    Ok(Walked {
        as_of: asked.as_of(),
        currency: settings.currency().to_owned(),
        usual_cost: settings.replacement_cost(),
        costs,
        factor: args.common_factor,
        budget: Budget::new(years, args.common_factor, costs),
        visits: VisitList::new(usize::try_from(args.visits).unwrap_or_default()),
        own_cost: 0,
        at_inlet: 0,
        acted_on_early: 0,
        by_experience: 0,
        without_forecast: 0,
        has_errors: asked.logbook().has_errors(),
        only: None,
    })
}

impl Walked {
    fn take(&mut self, answer: &Answer<'_>, grouping: Option<&Grouping>) -> Result<(), Failure> {
        let (Some(record), Ok(forecast)) = (answer.record, &answer.forecast) else {
            self.without_forecast += 1;
            return Ok(());
        };
        let group = grouping.map(|grouping| grouping.group_of(record)).transpose()?;
        let chances = chances(forecast, self.budget.whole().years());
        let cost = record.replacement_cost().unwrap_or(self.usual_cost);
        let is_first = self.budget.whole().pits() == 0;
        match self.budget.add(&chances, cost, group.as_deref()) {
            Ok(()) => {}
            Err(error @ GroupError::TooMany) => return Err(Failure::Usage(error.to_string())),
            Err(error) => {
                say(&format!("{}: {error}. The pit is not in the budget.", record.id()));
                self.without_forecast += 1;
                return Ok(());
            }
        }
        self.visits.offer(candidate(record, forecast, self.as_of));
        self.own_cost += usize::from(record.replacement_cost().is_some());
        self.at_inlet += usize::from(forecast.basis() == Basis::AtInlet);
        self.acted_on_early += usize::from(as_inches(answer.question.action_freeboard()) > 0.0);
        self.by_experience += usize::from(forecast.basis() == Basis::TypicalExperience);
        self.only = is_first
            .then(|| OnePit { cost, years: [0.5, 0.2, 0.05].map(|share| forecast.years_to_inlet(share)) });
        Ok(())
    }
}

/// The chances that a pit has reached its inlet by the end of each year; one that stands there has, whatever a
/// forecast makes of the chance that it was read wrong.
fn chances(forecast: &Forecast, years: &YearsAhead) -> Vec<f64> {
    if forecast.basis() == Basis::AtInlet {
        return vec![1.0; years.len()];
    }
    // What has been reached by one day has been reached by a later one, to the last bit.
    let by_then = |so_far: &mut f64, end: &f64| {
        *so_far = forecast.chance_by(*end).clamp(*so_far, 1.0);
        Some(*so_far)
    };
    years.ends().iter().scan(0.0, by_then).collect()
}

fn candidate(record: &PitRecord, forecast: &Forecast, as_of: Date) -> Candidate {
    let is_there = forecast.basis() == Basis::AtInlet;
    let years = |share| if is_there { Some(0.0) } else { forecast.years_to_inlet(share) };
    Candidate {
        id: record.id().to_owned(),
        title: record.label().unwrap_or_default().to_owned(),
        within_two_years: if is_there { 1.0 } else { forecast.chance_by(SOON_YEARS) },
        years_since_reading: forecast.latest().map(|reading| years_between(reading.date().middle(), as_of)),
        years_to_inlet: [0.1, 0.5, 0.9].map(years),
    }
}

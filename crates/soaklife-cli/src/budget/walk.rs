//! The walk over the pits of a logbook: each is forecast on one of the threads, then added to the budget and offered to the
//! visit list in the order of `pits.csv`, and forgotten.

use crate::args::{AgainstArg, HouseholdArg, MethodArg, PlanningArgs, QuestionArgs, UnitsArg};
use crate::every_pit;
use crate::forecast::answer::{self, Answer, Asking, open_fleet};
use crate::grouping::Grouping;
use crate::output::{Failure, cores};
use jiff::civil::Date;
use soaklife::date::years_between;
use soaklife::fleet::{Budget, Candidate, CommonFactor, CostModel, Outlays, Urgency, VisitList, YearsAhead};
use soaklife::forecast::Basis;
use soaklife::quantity::{Units, as_inches};
use soaklife::wording::sentence::goal_of_many;
use soaklife::{Coverage, Forecast};
use soaklife_records::{Fleet, PitRecord, Stretch};
use std::borrow::Cow;
use std::path::Path;

/// How far a forecast sees, years.
pub(crate) const SIGHT_YEARS: f64 = 60.0;
/// Pits of which it is told that they cannot be budgeted for; the others are counted.
const MOST_REFUSED: usize = 1000;

/// What is asked of the pits of a folder.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wanted<'a> {
    pub(crate) planning: &'a PlanningArgs,
    /// Column to group by.
    pub(crate) by: Option<&'a str>,
    pub(crate) prior: Option<&'a Path>,
    pub(crate) as_of: Option<Date>,
    pub(crate) units: Option<UnitsArg>,
}

/// All that a budget is told from.
#[derive(Debug)]
pub(crate) struct Walked {
    pub(crate) as_of: Date,
    pub(crate) units: Units,
    pub(crate) currency: String,
    pub(crate) usual_cost: f64,
    pub(crate) costs: CostModel,
    pub(crate) factor: CommonFactor,
    pub(crate) budget: Budget,
    pub(crate) visits: VisitList,
    /// Pits with a cost of their own.
    pub(crate) own_cost: usize,
    pub(crate) at_inlet: usize,
    /// Pits that count as failed before the inlet, at a freeboard of their own.
    pub(crate) acted_on_early: usize,
    /// Pits of which too little was read to speak for themselves.
    pub(crate) by_experience: usize,
    pub(crate) without_forecast: usize,
    /// Of those, pits that have a forecast and cannot be budgeted for, with the reason.
    pub(crate) refused: Vec<String>,
    pub(crate) has_errors: bool,
    /// The pit, if there is one only.
    pub(crate) only: Option<OnePit>,
}

/// What the owner of one pit wants to know besides.
#[derive(Debug)]
pub(crate) struct OnePit {
    pub(crate) cost: f64,
    /// Years by which it fails with 50, 20 and 5 %; nothing beyond sight.
    pub(crate) years: [Option<f64>; 3],
}

/// Some neighbouring pits, looked at.
struct Looked<T> {
    pits: Vec<Seen>,
    /// What somebody else wants to know of each.
    beside: Vec<T>,
    /// Those of them that can be on the visit list.
    visits: Vec<Candidate>,
    only: Option<OnePit>,
}

enum Seen {
    WithoutForecast,
    Refused(String),
    Counted(Counted),
}

/// What a pit adds to the budget.
struct Counted {
    chances: Vec<f64>,
    cost: f64,
    has_own_cost: bool,
    group: Option<String>,
    basis: Basis,
    is_acted_on_early: bool,
}

/// Asks every pit of a logbook.
pub(crate) fn walk(folder: &Path, wanted: &Wanted<'_>) -> Result<Walked, Failure> {
    let (walked, ()) = walk_beside(folder, wanted, || (), |_| (), |(), ()| ())?;
    Ok(walked)
}

/// The same, and looks at every answer for something else as well: what `beside` finds is taken in the order of `pits.csv` into
/// what `begin` made, which begins again where the walk does.
pub(crate) fn walk_beside<T: Send, G>(
    folder: &Path,
    wanted: &Wanted<'_>,
    begin: impl Fn() -> G,
    beside: impl Fn(&Answer<'_>) -> T + Sync,
    mut take: impl FnMut(&mut G, T),
) -> Result<(Walked, G), Failure> {
    let usual = usual_question(wanted);
    let question = answer::question(&usual)?;
    let threads = wanted.planning.threads.unwrap_or_else(cores);
    let fleet = open_fleet(folder, question.as_of())?;
    let asked = Asking::of_fleet(&fleet, &usual, question, threads)?;
    let empty = Walked::begin(&fleet, &asked, wanted.planning)?;
    let look = Look {
        asked: &asked,
        years: empty.budget.whole().years(),
        usual_cost: empty.usual_cost,
        costs: empty.costs,
        visits: empty.visits.clone(),
        grouping: wanted.by.map(Grouping::new),
    };
    let at_the_start = || Ok((Walked::begin(&fleet, &asked, wanted.planning)?, begin()));
    let ((mut walked, gathered), found) = every_pit::walk(
        &fleet,
        threads,
        |stretch| look.at(stretch, &beside),
        at_the_start()?,
        |_| at_the_start(),
        |(walked, gathered), mut looked: Looked<T>| {
            std::mem::take(&mut looked.beside).into_iter().for_each(|seen| take(gathered, seen));
            walked.take(looked)
        },
    )?;
    walked.has_errors = found.errors() > 0;
    Ok((walked, gathered))
}

/// The usual question: by the absorption method, as far as it sees.
fn usual_question(wanted: &Wanted<'_>) -> QuestionArgs {
    QuestionArgs {
        as_of: wanted.as_of,
        method: MethodArg::Absorption,
        prior: wanted.prior.map(Path::to_owned),
        against: AgainstArg::Load,
        horizon: SIGHT_YEARS,
        coverage: Coverage::EIGHTY,
        action_freeboard: None,
        household: HouseholdArg::Drifts,
        units: wanted.units,
    }
}

/// What is the same for every pit.
struct Look<'a> {
    asked: &'a Asking,
    years: &'a YearsAhead,
    usual_cost: f64,
    costs: CostModel,
    visits: VisitList,
    grouping: Option<Grouping>,
}

impl Look<'_> {
    fn at<T>(&self, stretch: &Stretch, beside: impl Fn(&Answer<'_>) -> T) -> Result<Looked<T>, Failure> {
        let answers = self.asked.answers_of(stretch).collect::<Result<Vec<Answer<'_>>, Failure>>()?;
        // What they refuse the budget would, but in the middle of a walk.
        let mut outlays = Outlays::new(self.years, self.costs);
        let mut looked = Looked {
            pits: Vec::with_capacity(answers.len()),
            beside: answers.iter().map(beside).collect(),
            visits: Vec::new(),
            only: None,
        };
        let mut counted = Vec::new();
        for answer in &answers {
            let (Some(record), Ok(forecast)) = (answer.record, &answer.forecast) else {
                looked.pits.push(Seen::WithoutForecast);
                continue;
            };
            let pit = self.count(answer, record, forecast)?;
            looked.pits.push(match outlays.add(&pit.chances, pit.cost) {
                Ok(()) => {
                    counted.push((record, forecast));
                    Seen::Counted(pit)
                }
                Err(error) => {
                    Seen::Refused(format!("{}: {error}. The pit is not in the budget.", record.id()))
                }
            });
        }
        looked.visits = self.visits_of(&counted);
        if let [(record, forecast)] = counted[..] {
            let years = [0.5, 0.2, 0.05].map(|share| forecast.years_to_inlet(share));
            looked.only = Some(OnePit { cost: self.cost(record), years });
        }
        Ok(looked)
    }

    fn cost(&self, record: &PitRecord) -> f64 {
        record.replacement_cost().unwrap_or(self.usual_cost)
    }

    fn count(
        &self,
        answer: &Answer<'_>,
        record: &PitRecord,
        forecast: &Forecast,
    ) -> Result<Counted, Failure> {
        let grouping = self.grouping.as_ref();
        Ok(Counted {
            chances: chances(forecast, self.years),
            cost: self.cost(record),
            has_own_cost: record.replacement_cost().is_some(),
            group: grouping.map(|by| by.group_of(record)).transpose()?.map(Cow::into_owned),
            basis: forecast.basis(),
            is_acted_on_early: as_inches(answer.question.action_freeboard()) > 0.0,
        })
    }

    /// The candidates that no others of these pits keep from the list.
    fn visits_of(&self, pits: &[(&PitRecord, &Forecast)]) -> Vec<Candidate> {
        let mut list = self.visits.clone();
        for (record, forecast) in pits {
            list.offer(candidate(record, forecast, Urgency::by_chances(forecast)));
        }
        let forecast_of = |id: &str| pits.iter().find(|(record, _)| record.id() == id);
        // The years take the longest to find, so they are looked for last.
        let with_years = |(_, pit): (_, &Candidate)| {
            let urgency = forecast_of(&pit.id).map(|(_, forecast)| pit.urgency.with_years_of(forecast));
            Candidate { urgency: urgency.unwrap_or(pit.urgency), ..pit.clone() }
        };
        list.visits().into_iter().map(with_years).collect()
    }
}

impl Walked {
    fn begin(fleet: &Fleet, asked: &Asking, planning: &PlanningArgs) -> Result<Self, Failure> {
        let usage = |reason: String| Failure::Usage(reason);
        let settings = fleet.settings();
        let costs = CostModel::new(settings.cost_escalation(), settings.interest(), planning.cost_spread)
            .map_err(|error| usage(error.to_string()))?;
        let years =
            YearsAhead::new(asked.as_of(), planning.years).map_err(|error| usage(error.to_string()))?;
        Ok(Self {
            as_of: asked.as_of(),
            units: asked.units(),
            currency: settings.currency().to_owned(),
            usual_cost: settings.replacement_cost(),
            costs,
            factor: planning.common_factor,
            budget: Budget::new(years, planning.common_factor, costs),
            visits: VisitList::new(usize::try_from(planning.visits).unwrap_or_default()),
            own_cost: 0,
            at_inlet: 0,
            acted_on_early: 0,
            by_experience: 0,
            without_forecast: 0,
            refused: Vec::new(),
            has_errors: false,
            only: None,
        })
    }

    /// What the levels of the pits may reach.
    pub(crate) fn goal(&self) -> &'static str {
        goal_of_many(self.acted_on_early > 0)
    }

    fn take<T>(&mut self, looked: Looked<T>) -> Result<(), Failure> {
        let before = self.budget.whole().pits();
        for pit in looked.pits {
            match pit {
                Seen::WithoutForecast => self.without_forecast += 1,
                Seen::Refused(why) => {
                    self.without_forecast += 1;
                    if self.refused.len() < MOST_REFUSED {
                        self.refused.push(why);
                    }
                }
                Seen::Counted(pit) => self.add(&pit)?,
            }
        }
        looked.visits.into_iter().for_each(|pit| self.visits.offer(pit));
        if self.budget.whole().pits() > before {
            self.only = looked.only.filter(|_| before == 0);
        }
        Ok(())
    }

    fn add(&mut self, pit: &Counted) -> Result<(), Failure> {
        let added = self.budget.add(&pit.chances, pit.cost, pit.group.as_deref());
        added.map_err(|error| Failure::Usage(error.to_string()))?;
        self.own_cost += usize::from(pit.has_own_cost);
        self.at_inlet += usize::from(pit.basis == Basis::AtInlet);
        self.acted_on_early += usize::from(pit.is_acted_on_early);
        self.by_experience += usize::from(pit.basis == Basis::TypicalExperience);
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

/// A pit as a list has it.
pub(crate) fn candidate(record: &PitRecord, forecast: &Forecast, urgency: Urgency) -> Candidate {
    let as_of = forecast.question().as_of();
    Candidate {
        id: record.id().to_owned(),
        title: record.label().unwrap_or_default().to_owned(),
        years_since_reading: forecast.latest().map(|reading| years_between(reading.date().middle(), as_of)),
        urgency,
    }
}

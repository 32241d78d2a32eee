//! Fleets that are hard to draw.

use super::AS_OF;
use jiff::civil::date;
use soaklife::backtest::{Backtest, Plan, Tally};
use soaklife::fleet::{Budget, Candidate, CommonFactor, CostModel, Urgency, YearBudget, YearsAhead};
use soaklife::forecast::Method;
use soaklife::{Forecast, Question};
use soaklife_records::PitRecord;

pub(super) fn ladders() -> Vec<(&'static str, Vec<Candidate>)> {
    vec![
        ("two pages and one pit", many(81)),
        ("one pit", many(1)),
        ("no pit", Vec::new()),
        ("all soon", soon()),
        ("long names", hard()),
    ]
}

/// Budgets of so many pits, none to thousands, few years to many.
pub(super) fn budgets() -> Vec<(u64, Vec<YearBudget>)> {
    [(1, 0.0, 1), (24, 0.03, 10), (400, 0.02, 50), (9_000, 0.1, 20)].map(budget).to_vec()
}

/// Each pit fails with a chance that grows by `pace` a year.
fn budget((pits, pace, ahead): (u64, f64, u8)) -> (u64, Vec<YearBudget>) {
    let years = YearsAhead::new(AS_OF, ahead).unwrap();
    let costs = CostModel::new(0.03, 0.02, 0.3).unwrap();
    let mut budget = Budget::new(years.clone(), CommonFactor::default(), costs);
    let chances: Vec<f64> = years.ends().iter().map(|end| (end * pace).min(1.0)).collect();
    (0..pits).for_each(|_| budget.add(&chances, 15_000.0, None).unwrap());
    (pits, (0..years.len()).map(|place| budget.whole().year(place)).collect())
}

pub(super) fn scores() -> Vec<(&'static str, Backtest)> {
    vec![
        ("every method", scored([46, 73, 83], 100)),
        ("few replays", scored([3, 4, 6], 6)),
        ("very many replays", scored([4_900, 8_100, 9_050], 10_000)),
        ("always and never", scored([0, 40, 40], 40)),
        ("nothing to judge", scored([0; 3], 0)),
    ]
}

/// So many of the ranges held; with each further method and horizon a few less.
fn scored(held: [usize; 3], of: usize) -> Backtest {
    let mut backtest = Plan::new(date(2026, 6, 30)).by(Method::ALL).replay([]);
    for (place, score) in backtest.methods.iter_mut().enumerate() {
        for (horizon, level) in score.levels.iter_mut().enumerate() {
            for (range, held) in level.ranges.iter_mut().zip(held) {
                let lost = held * (place + horizon) / 20;
                range.tally = Tally { held: held - lost, of };
            }
        }
    }
    backtest
}

pub(super) fn candidate(pit: &PitRecord) -> Option<Candidate> {
    let forecast = Forecast::of(pit.history(), &Question::new(AS_OF)).ok()?;
    Some(candidate_of(pit.id(), pit.label().unwrap_or_default(), &forecast))
}

pub(super) fn candidate_of(id: &str, title: &str, forecast: &Forecast) -> Candidate {
    let (id, title) = (id.to_owned(), title.to_owned());
    Candidate { id, title, years_since_reading: None, urgency: Urgency::of(forecast) }
}

fn pit(id: &str, title: &str, years: [Option<f64>; 3]) -> Candidate {
    let (id, title) = (id.to_owned(), title.to_owned());
    Candidate { id, title, years_since_reading: None, urgency: Urgency::to_inlet([0.1; 3], years) }
}

fn many(count: u32) -> Vec<Candidate> {
    let invented = |place: u32| {
        let median = 0.5 + f64::from(place * 37 % 61);
        let late = (!place.is_multiple_of(5)).then_some(median * 1.9);
        pit(&format!("AF-{place:03}"), "Quarry Road", [Some(median * 0.4), Some(median), late])
    };
    (1..=count).map(invented).collect()
}

fn soon() -> Vec<Candidate> {
    let invented = |place: u32| {
        let median = 0.1 + 0.2 * f64::from(place);
        pit(&format!("AF-{place:02}"), "Lower Ford", [Some(median * 0.5), Some(median), Some(median * 2.0)])
    };
    (1..=12).map(invented).collect()
}

fn hard() -> Vec<Candidate> {
    let long = "a lane with a name that is longer than the room for it";
    vec![
        Candidate { urgency: Urgency::at_inlet(), ..pit("AF-13", long, [Some(0.0); 3]) },
        pit("an identifier that is far too long for any list of pits", long, [Some(2.0), Some(5.0), None]),
        pit("AF-04", "", [Some(12.0), Some(41.0), None]),
        pit("AF-05", "beyond what is drawn", [Some(52.0), Some(70.0), Some(90.0)]),
        pit("AF-06", "never", [None, None, None]),
        pit("AF-07", "quite open", [Some(0.2), None, None]),
    ]
}

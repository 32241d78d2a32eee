//! When to measure next, and why then, in words.

use super::{chance, counted, month, years_down, years_range};
use crate::forecast::{Advice, Because, NextReading, Prospect};

/// A range is said to narrow from this share of today's width on.
const WORTH_SAYING: f64 = 0.95;
/// Where the method's sight ends, years: a late end there is none.
const FARTHEST_YEARS: f64 = 60.0;
/// With a mean late end beyond this hardly any range that is open today gets one, years.
const MAY_CLOSE_YEARS: f64 = 57.0;
/// The nearest date that is weighed, and somewhat more: a month.
const A_MONTH_YEARS: f64 = 0.1;
/// A reading may change much where those that do have so great a chance: any single one of the fifteen that stand for a visit has.
const NOTABLE: f64 = 0.05;
/// A record of fewer readings that count says little yet. Judgement, no source.
const ENOUGH_READINGS: usize = 4;
const SOONER_IF: &str = "Sooner if drains run slow or more people move in.";

/// When to measure next, as what follows "measure"; `goal` is what the level may reach.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::forecast::{NextReading, Question};
/// use soaklife::quantity::inches;
/// use soaklife::trend::absorption::Hypotheses;
/// use soaklife::wording::next_reading::next_reading;
/// use soaklife::{History, Pit, Reading};
///
/// let pit = Pit::new(inches(20.0), inches(140.0))?;
/// let high = Reading::at_depth(&pit, date(2026, 5, 1), inches(21.0))?;
/// let history = History::new(pit).with_installed(date(1990, 5, 1)).with_readings([high]);
/// let plan = NextReading::plan(&history, &Question::new(date(2026, 6, 30)), &Hypotheses::default());
/// let told = next_reading(&plan.ok_or("no plan")?, "the inlet");
/// assert_eq!(told, "monthly from now on: the inlet may be within reach.");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn next_reading(plan: &NextReading, goal: &str) -> String {
    let Advice::By { prospect, because } = plan.advice() else {
        return format!("monthly from now on: {goal} may be within reach.");
    };
    let when = match prospect.years {
        years if years < A_MONTH_YEARS => "within a month".to_owned(),
        _ => format!("by {}", month(prospect.date)),
    };
    let narrows = narrows(plan.range(), &prospect);
    let as_well = narrows.as_deref().map_or(String::new(), |narrows| format!("; {narrows}"));
    match because {
        Because::Narrows => {
            let by =
                || format!("the 80 % range should narrow by {:.0} %", 100.0 * (1.0 - prospect.narrowing));
            format!("{when}: {}.", narrows.unwrap_or_else(by))
        }
        Because::MayTurn => format!(
            "{when}: a reading then has a chance of {} to change whether somebody must act within the two years after it{as_well}.",
            chance(prospect.chance_of_turning)
        ),
        Because::InletMayBeNear => format!("{when}: later, {goal} may be near{as_well}."),
        Because::OnceAYear => {
            let or_much =
                may_change_much(plan).map_or(String::new(), |may| format!("; one more reading {may}"));
            format!(
                "{when}: once a year, as {goal} may be reached within ten years{or_much}{as_well}. {SOONER_IF}"
            )
        }
        Because::NothingSooner => {
            format!("{when}: {}{as_well}. {SOONER_IF}", why_not_sooner(plan, narrows.is_some()))
        }
    }
}

/// Why no date before the last is worth a visit.
fn why_not_sooner(plan: &NextReading, narrows: bool) -> String {
    let little_known = match plan.readings_used() {
        0 => Some("no reading of the record counts yet, and the first one tells most".to_owned()),
        used if used < ENOUGH_READINGS => {
            let few = if used == 1 { "one reading".to_owned() } else { counted(used, "reading") };
            Some(format!("the record rests on {few}, and one more tells something new"))
        }
        _ => None,
    };
    let none_sooner = "no sooner visit should tell enough to be worth it";
    match (may_change_much(plan), little_known) {
        (Some(may), _) => format!("{none_sooner}, but one more reading {may}"),
        (None, Some(little)) => little,
        (None, None) if narrows => none_sooner.to_owned(),
        (None, None) => "a reading before then is not likely to change much".to_owned(),
    }
}

/// How a reading on one of the dates weighed may change the answer much, with the greatest chance among them.
fn may_change_much(plan: &NextReading) -> Option<String> {
    let chances = plan.prospects().iter().map(|prospect| prospect.chance_of_much);
    let most = chances.fold(0.0, f64::max);
    let change = match plan.median() {
        None => "bring the median, which lies beyond 60 years today, within them",
        Some(median) if median > FARTHEST_YEARS / 2.0 => "halve the median of the years or move it beyond 60",
        Some(_) => "halve or double the median of the years",
    };
    (most >= NOTABLE).then(|| format!("has a chance of {} to {change}", chance(most)))
}

/// How the range should narrow, if that is worth saying; of an open range the early end is what moves.
fn narrows([early, late]: [f64; 2], prospect: &Prospect) -> Option<String> {
    let [sooner, later] = prospect.range;
    if prospect.narrowing > WORTH_SAYING {
        return None;
    }
    if late < FARTHEST_YEARS {
        let (today, after) = (years_range(early, late), years_range(sooner, later));
        (after != today).then(|| format!("the 80 % range should narrow from {today} to about {after}"))
    } else if (sooner - early).abs() >= 1.0 {
        let [today, after] = [early, sooner].map(years_down);
        Some(format!("the early end of the 80 % range should move from {today} to about {after}"))
    } else if later < MAY_CLOSE_YEARS {
        Some("it may give the 80 % range, which is open today, a late end".to_owned())
    } else {
        None
    }
}

//! When to measure next, and why then, in words.

use super::{chance, month, years_down, years_range};
use crate::forecast::{Advice, Because, NextReading, Prospect};

/// A range is said to narrow from this share of today's width on.
const WORTH_SAYING: f64 = 0.95;
/// Where the method's sight ends, years: a late end there is none.
const FARTHEST_YEARS: f64 = 60.0;
/// With a mean late end beyond this hardly any range that is open today gets one, years.
const MAY_CLOSE_YEARS: f64 = 57.0;
/// The nearest date that is weighed, and somewhat more: a month.
const A_MONTH_YEARS: f64 = 0.1;

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
        Because::NothingSooner => format!(
            "{when}: a reading before then is not likely to change much{as_well}. Sooner if drains run slow or more people \
             move in."
        ),
    }
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

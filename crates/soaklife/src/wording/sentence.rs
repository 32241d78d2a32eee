//! What the level does and when it gets there, in words that claim no more than is known.

use super::{about_years, length, length_number, pace, pace_number, year_after, years_range};
use crate::band::Coverage;
use crate::forecast::{Basis, Crossing, Forecast, Method};
use crate::pit::Pit;
use crate::quantity::{Length, Units, as_gallons_per_day, as_inches, as_litres_per_day, inches};
use crate::reading::Observation;
use crate::trend::CrossingSet;
use crate::trend::absorption::LoadTestSaid;
use jiff::civil::Date;

/// Freeboard, pace and crossing of a pit in two or three sentences.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::{Units, inches};
/// use soaklife::wording::sentence::sentences;
/// use soaklife::{Coverage, Forecast, History, Pit, Question, Reading};
///
/// let pit = Pit::new(inches(20.0), inches(140.0))?;
/// let history = History::new(pit).with_readings([Reading::at_inlet(date(2026, 5, 1))]);
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// assert!(sentences(&forecast, Coverage::EIGHTY, Units::Us).starts_with("On 2026-05-01 the liquid stood at the inlet"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn sentences(forecast: &Forecast, coverage: Coverage, units: Units) -> String {
    let so_far = so_far(forecast, units);
    let crossing = crossing(forecast, coverage, units);
    if so_far.is_empty() { crossing } else { format!("{so_far} {crossing}") }
}

/// How much was left and how fast the level moves; empty where the pit stands at its inlet.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::{Units, inches};
/// # use soaklife::wording::sentence::so_far;
/// # use soaklife::{Forecast, History, Pit, Question, Reading};
/// # let pit = Pit::new(inches(20.0), inches(140.0))?;
/// # let question = Question::new(date(2026, 6, 30));
/// let at_inlet = History::new(pit).with_readings([Reading::at_inlet(date(2026, 5, 1))]);
/// assert_eq!(so_far(&Forecast::of(&at_inlet, &question)?, Units::Us), "");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn so_far(forecast: &Forecast, units: Units) -> String {
    if forecast.basis() == Basis::AtInlet {
        return String::new();
    }
    standing(forecast, units) + &moving(forecast, units)
}

fn standing(forecast: &Forecast, units: Units) -> String {
    let Some(latest) = forecast.latest() else { return String::new() };
    let freeboard = forecast.pit().freeboard(latest.level(forecast.pit()));
    match latest.observation() {
        Observation::Dry => format!("On {} the pit was dry. ", latest.date()),
        _ => format!("On {} the liquid stood {} below the inlet. ", latest.date(), spelled(freeboard, units)),
    }
}

/// A length as a sentence has it.
fn spelled(length: Length, units: Units) -> String {
    match (length_number(length, units, units == Units::Us), units) {
        (one, Units::Us) if one == "1" => "1 inch".to_owned(),
        (number, _) => format!("{number} {}", units.name_in_full()),
    }
}

fn moving(forecast: &Forecast, units: Units) -> String {
    match forecast.question().method() {
        Method::Absorption => moving_by_experience(forecast, units),
        Method::Line => moving_by_trend(forecast, "By a straight line through", units),
        Method::Rank => moving_by_trend(forecast, "By the median trend of", units),
    }
}

fn moving_by_trend(forecast: &Forecast, basis: &str, units: Units) -> String {
    let Some(rise) = forecast.pace_per_year() else { return String::new() };
    let used = forecast.readings_used();
    let direction = match as_inches(rise) {
        rise if rise > 0.05 => "rises",
        rise if rise < -0.05 => "falls",
        _ => return format!("{basis} {used} readings the level hardly moves."),
    };
    format!("{basis} {used} readings the level {direction} {}.", pace(rise, units))
}

/// The pace with its range; nothing is made up where there is no reading to tell it from.
fn moving_by_experience(forecast: &Forecast, units: Units) -> String {
    if forecast.basis() == Basis::TypicalExperience {
        let tested = forecast.explanation().is_some_and(|told| !told.load_tests().is_empty());
        let and_test = if tested { ", and what the load test says" } else { "" };
        return format!(
            "No reading yet: this is what is typical of pits of its age, depth and use{and_test}."
        );
    }
    let dry = forecast.latest().is_some_and(|latest| latest.observation() == Observation::Dry);
    let paces = [0.1, 0.9].map(|probability| forecast.pace_quantile(probability));
    let [Some(slow), Some(fast)] = paces else { return String::new() };
    match [slow, fast].map(as_inches) {
        _ if dry => "A dry stick says that it has not begun to fill, and little of when it will.".to_owned(),
        [_, fast] if fast < 0.05 => "The level hardly moves.".to_owned(),
        [slow_in, _] if slow_in < 0.05 => format!("The level rises by up to {}.", pace(fast, units)),
        _ if pace(slow, units) == pace(fast, units) => format!("The level rises {}.", pace(fast, units)),
        _ => format!("The level rises {} to {}.", pace_number(slow, units), pace(fast, units)),
    }
}

/// Where the level is heading, with its range for the coverage asked for.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{Forecast, History, Pit, Question, Reading};
/// # use soaklife::quantity::Units;
/// # use soaklife::Coverage;
/// # use soaklife::wording::sentence;
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
/// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let words = sentence::crossing(&forecast, Coverage::EIGHTY, Units::Us);
/// assert!(words.starts_with("It reaches the inlet in about ") && words.contains("; with 80 % confidence "));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn crossing(forecast: &Forecast, coverage: Coverage, units: Units) -> String {
    let goal = goal(forecast.question().action_freeboard(), units);
    let as_of = forecast.question().as_of();
    match forecast.crossing(coverage) {
        Crossing::AlreadyAtInlet { since } => format!(
            "On {} the liquid stood at the inlet: there is no freeboard left. The pit backs up into the pipe and the tank.",
            since.date()
        ),
        Crossing::Expected { years, range } if years <= 0.0 => {
            format!("The level stands at {goal} already{}.", range_words(range, coverage, forecast))
        }
        // A year, or none, beside a range that is every year would claim what the readings do not say.
        Crossing::Expected { range: CrossingSet::Unbounded, .. }
        | Crossing::NotWithinHorizon { range: CrossingSet::Unbounded, .. }
        | Crossing::NotHeadingThere { range: CrossingSet::Unbounded } => {
            let sure = confidence(coverage);
            format!(
                "These readings scatter too much to say, {sure}, when it reaches {goal}, or if it ever will."
            )
        }
        Crossing::Expected { years, range } => {
            let when = format!("{} ({})", about_years(years, width(range)), year_after(as_of, years));
            format!("It reaches {goal} in {when}{}.", range_words(range, coverage, forecast))
        }
        Crossing::NotWithinHorizon { horizon, range }
            if forecast.question().method() == Method::Absorption =>
        {
            format!(
                "More likely than not it does not reach {goal} within {}{}.",
                span(horizon),
                range_words(range, coverage, forecast)
            )
        }
        Crossing::NotWithinHorizon { horizon, range } => {
            format!(
                "At this pace it takes more than {} to reach {goal}{}.",
                span(horizon),
                range_words(range, coverage, forecast)
            )
        }
        Crossing::NotHeadingThere { range } => {
            format!("It is not heading for {goal}{}.", range_words(range, coverage, forecast))
        }
    }
}

/// What a load test found and where the level would settle by it.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::acceptance::MeasuredAcceptance;
/// use soaklife::quantity::{Units, gallons_per_day, inches};
/// use soaklife::wording::sentence::load_test;
/// use soaklife::{Forecast, History, Pit, Question};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
/// let forecast = Forecast::of(&History::new(pit).with_acceptances([taken]), &Question::new(date(2026, 6, 30)))?;
/// let explanation = forecast.explanation().ok_or("no explanation")?;
/// let told = load_test(&explanation.load_tests()[0], &pit, Units::Us);
/// assert!(told.starts_with("On 2026-05-04 the soil took 420 gal/day with 96 in standing: under the household's flow"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn load_test(said: &LoadTestSaid, pit: &Pit, units: Units) -> String {
    let [low, _, high] = said.settles_in.map(|level_in| pit.freeboard(inches(level_in)));
    let flow = match units {
        Units::Us => format!("{:.0} gal/day", as_gallons_per_day(said.taken.flow())),
        Units::Si => format!("{:.0} L/day", as_litres_per_day(said.taken.flow())),
    };
    let settles = if as_inches(low) <= 0.0 {
        "at the inlet".to_owned()
    } else {
        format!("{} to {} below the inlet", length_number(high, units, false), spelled(low, units))
    };
    format!(
        "On {} the soil took {flow} with {} standing: under the household's flow the level would settle {settles}, with \
         80 % confidence.",
        said.taken.date(),
        length(said.taken.level(), units)
    )
}

/// Width of a range, by which its middle is rounded; an open one is wide.
///
/// ```
/// # use soaklife::trend::CrossingSet;
/// # use soaklife::wording::sentence;
/// assert_eq!(sentence::width(CrossingSet::Between { earliest: 4.0, latest: 9.0 }), 5.0);
/// ```
#[must_use]
pub fn width(range: CrossingSet) -> f64 {
    match range {
        CrossingSet::Between { earliest, latest } => latest - earliest,
        _ => f64::INFINITY,
    }
}

/// What the level may reach: "the inlet", or the action freeboard.
///
/// ```
/// # use soaklife::quantity::inches;
/// # use soaklife::quantity::Units;
/// # use soaklife::wording::sentence;
/// assert_eq!(sentence::goal(inches(6.0), Units::Us), "the action freeboard of 6 in");
/// ```
#[must_use]
pub fn goal(action_freeboard: Length, units: Units) -> String {
    if as_inches(action_freeboard) > 0.0 {
        format!("the action freeboard of {}", length(action_freeboard, units))
    } else {
        "the inlet".to_owned()
    }
}

/// A range that begins sooner, years, begins now.
const A_MONTH: f64 = 1.0 / 12.0;

/// The range as the end of a sentence; an open one is said to be open, and what lies beyond the horizon is not told.
fn range_words(range: CrossingSet, coverage: Coverage, forecast: &Forecast) -> String {
    let (as_of, horizon) = (forecast.question().as_of(), forecast.question().horizon_years());
    let sure = confidence(coverage);
    match range {
        CrossingSet::Between { latest, .. } if latest <= 0.0 => String::new(),
        CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest } if earliest > horizon => {
            format!("; {sure} not within {}", span(horizon))
        }
        CrossingSet::Between { earliest, latest } if latest <= horizon => {
            let (from, to) = (year_after(as_of, earliest), year_after(as_of, latest));
            let calendar = if from == to { from } else { format!("{from} to {to}") };
            format!("; {sure} in {} ({calendar})", years_range(earliest, latest))
        }
        CrossingSet::Between { earliest, .. } if earliest < A_MONTH => {
            format!("; {sure} at any time from now on")
        }
        CrossingSet::NotBefore { earliest } if earliest < A_MONTH => {
            format!("; {sure} at any time from now on, and perhaps never")
        }
        CrossingSet::Between { earliest, .. } => format!("; {sure} not before {}", from_now(earliest, as_of)),
        CrossingSet::NotBefore { earliest } => {
            format!("; {sure} not before {}, and perhaps never", from_now(earliest, as_of))
        }
        CrossingSet::Never => format!("; {sure} it never will at this pace"),
        // Said in place of the whole sentence, but for a trend that stands at the goal already.
        CrossingSet::Unbounded => format!("; {sure} it may be before or after that"),
    }
}

fn confidence(coverage: Coverage) -> String {
    format!("with {:.0} % confidence", coverage.value() * 100.0)
}

/// "60 years", "1 year".
fn span(years: f64) -> String {
    if years == 1.0 { "1 year".to_owned() } else { format!("{years:.0} years") }
}

/// "12 years from now (2038)".
fn from_now(years: f64, as_of: Date) -> String {
    let words = about_years(years, years);
    format!("{} from now ({})", words.trim_start_matches("about "), year_after(as_of, years))
}

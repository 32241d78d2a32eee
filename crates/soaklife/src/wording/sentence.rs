//! What the level does and when it gets there, in words that claim no more than is known.

use super::{
    about_when, before_when, between_when, by_when, chance, chances_in, in_so_many, inlet, length,
    length_in_full, length_number, moving, with_noun,
};
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
    let crossing = crossing(forecast, coverage, units);
    if forecast.basis() == Basis::AtInlet {
        return crossing;
    }
    format!("{} {crossing}", so_far(forecast, units)).trim_start().to_owned()
}

/// How much was left, how fast the level moves, and whether that is close to the inlet; empty where the pit has reached its inlet.
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
    standing(forecast, units) + &inlet::warning(forecast) + &moving::moving(forecast, units)
}

fn standing(forecast: &Forecast, units: Units) -> String {
    let Some(latest) = forecast.latest() else { return String::new() };
    let freeboard = forecast.pit().freeboard(latest.level(forecast.pit()));
    match latest.observation() {
        Observation::Dry => format!("On {} the pit was dry. ", latest.date()),
        _ => format!("On {} the liquid stood {} below the inlet. ", latest.date(), below(freeboard, units)),
    }
}

/// How far below: never "0 inches".
pub(super) fn below(freeboard: Length, units: Units) -> String {
    match (length_number(freeboard, units, units == Units::Us), units) {
        (none, Units::Us) if none == "0" => "less than half an inch".to_owned(),
        (none, Units::Si) if none == "0" => "less than 1 cm".to_owned(),
        _ => length_in_full(freeboard, units),
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
/// assert!(words.starts_with("It reaches the inlet about 20") && words.contains("with 1 chance in 10 before 20"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn crossing(forecast: &Forecast, coverage: Coverage, units: Units) -> String {
    let goal = goal(forecast.question().action_freeboard(), units);
    let as_of = forecast.question().as_of();
    let words = Words { forecast, coverage, as_of };
    match forecast.crossing(coverage) {
        Crossing::AlreadyAtInlet { since } => inlet::reached(forecast, &since, units),
        Crossing::Expected { years, range } if years <= 0.0 => {
            let is_sure = matches!(range, CrossingSet::Between { latest, .. } if latest <= 0.0);
            let likely = if is_sure { "" } else { "most likely " };
            format!("The level {likely}stands at {goal} already{}.", words.since_now(range))
        }
        // A year, or none, beside a range that is every year would claim what the readings do not say.
        Crossing::Expected { range: CrossingSet::Unbounded, .. }
        | Crossing::NotWithinHorizon { range: CrossingSet::Unbounded, .. }
        | Crossing::NotHeadingThere { range: CrossingSet::Unbounded } => {
            format!("These readings scatter too much to say when it reaches {goal}, or if it ever will.")
        }
        Crossing::Expected { years, range } => {
            format!("It reaches {goal} {}{}.", about_when(as_of, years), words.around(range))
        }
        Crossing::NotWithinHorizon { range, .. } if forecast.question().method() == Method::Absorption => {
            let (not, horizon) = (words.chance_not_within_sight(), words.horizon());
            let sooner = words.sooner(range);
            format!("More likely than not ({not}) it does not reach {goal} within {horizon}{sooner}.")
        }
        Crossing::NotWithinHorizon { range, .. } => {
            let (horizon, sooner) = (words.horizon(), words.sooner(range));
            format!("At this pace it takes more than {horizon} to reach {goal}{sooner}.")
        }
        Crossing::NotHeadingThere { range } => {
            format!("It is not heading for {goal}{}.", words.sooner(range))
        }
    }
}

/// How the end of a sentence tells the range: as an interval where it has both ends, else as the chance of what is open.
struct Words<'f> {
    forecast: &'f Forecast,
    coverage: Coverage,
    as_of: Date,
}

impl Words<'_> {
    fn sight(&self) -> f64 {
        self.forecast.question().horizon_years()
    }

    fn horizon(&self) -> String {
        with_noun(&format!("{:.0}", self.sight()), "year")
    }

    fn chance_not_within_sight(&self) -> String {
        chance(1.0 - self.forecast.chance_by(self.sight()))
    }

    /// Around a median within sight.
    fn around(&self, range: CrossingSet) -> String {
        match range {
            CrossingSet::Between { earliest, latest } if latest <= self.sight() => {
                let sure = chances_in(self.coverage.value());
                format!(", with {sure} {}", between_when(self.as_of, earliest, latest))
            }
            CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest } => format!(
                ", with {} {}. The chance that it does not get there within {} is {}",
                chances_in(self.coverage.lower_tail()),
                before_when(self.as_of, earliest),
                self.horizon(),
                self.chance_not_within_sight()
            ),
            // A trend that gets there within sight has an early end.
            CrossingSet::Never | CrossingSet::Unbounded => String::new(),
        }
    }

    /// Of a level whose median does not get there within sight: how likely it does after all.
    fn sooner(&self, range: CrossingSet) -> String {
        let tail = chances_in(self.coverage.lower_tail());
        match range {
            CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest }
                if earliest <= self.sight() =>
            {
                format!("; {} that it does {}", there_are(&tail), before_when(self.as_of, earliest))
            }
            CrossingSet::Never => {
                let tail = in_so_many(self.coverage.lower_tail());
                format!("; the chance that it ever does at this pace is under {tail}")
            }
            _ if self.forecast.question().method() == Method::Absorption => String::new(),
            _ => {
                let within = chance(self.forecast.chance_by(self.sight()));
                format!("; the chance that it does within {} is {within}", self.horizon())
            }
        }
    }

    /// Of a level that most likely stands there already: by when it surely does.
    fn since_now(&self, range: CrossingSet) -> String {
        match range {
            CrossingSet::Between { latest, .. } if latest <= 0.0 => String::new(),
            CrossingSet::Between { latest, .. } if latest <= self.sight() => {
                let sure = chances_in(self.coverage.upper_tail());
                format!("; {} that it does {}", there_are(&sure), by_when(self.as_of, latest))
            }
            _ => {
                let (horizon, not) = (self.horizon(), self.chance_not_within_sight());
                format!("; the chance that it does not within {horizon} is {not}")
            }
        }
    }
}

fn there_are(chances: &str) -> String {
    format!("there {} {chances}", if chances.starts_with("1 ") { "is" } else { "are" })
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
        format!("{} to {} below the inlet", length_number(high, units, false), length_in_full(low, units))
    };
    format!(
        "On {} the soil took {flow} with {} standing: under the household's flow the level would settle {settles}, with \
         80 % confidence.",
        said.taken.date(),
        length(said.taken.level(), units)
    )
}

/// What the level of a pit may reach: "the inlet", or its action freeboard.
///
/// ```
/// # use soaklife::quantity::inches;
/// # use soaklife::quantity::Units;
/// # use soaklife::wording::sentence;
/// assert_eq!(sentence::goal(inches(6.0), Units::Us), "its action freeboard of 6 inches");
/// ```
#[must_use]
pub fn goal(action_freeboard: Length, units: Units) -> String {
    if as_inches(action_freeboard) > 0.0 {
        format!("its action freeboard of {}", length_in_full(action_freeboard, units))
    } else {
        "the inlet".to_owned()
    }
}

/// What the levels of many pits may reach, some of which have an action freeboard or none: "inlet or action freeboard".
///
/// ```
/// # use soaklife::wording::sentence::goal_of_many;
/// assert_eq!([false, true].map(goal_of_many), ["inlet", "inlet or action freeboard"]);
/// ```
#[must_use]
pub fn goal_of_many(some_act_early: bool) -> &'static str {
    if some_act_early { "inlet or action freeboard" } else { "inlet" }
}

//! Another use of the house: what was asked, what it does to a pit, and both in words beside today's forecast.

use super::answer::{Answer, Asking};
use super::summary::{crossing, label};
use super::text::flow;
use crate::args::WhatIfArgs;
use crate::output::wrapped;
use soaklife::Forecast;
use soaklife::date::PartialDate;
use soaklife::forecast::{Basis, Method};
use soaklife::loading::use_ahead::UseAhead;
use soaklife::quantity::{Length, Units, VolumeRate, as_inches};
use soaklife::trend::CrossingSet;
use soaklife::whatif::{Alternative, Effect, OtherUse, PERSONS_PER_BEDROOM, WhatIf, WhatIfError};
use soaklife::wording::household::either_end;
use soaklife::wording::sentence;
use soaklife::wording::{
    chance, in_so_many, length, length_number, with_noun, year_after, years_down, years_up,
};
use soaklife_records::{PitRecord, Settings};
use std::fmt::Write as _;

/// Years ahead of the chances told side by side.
pub(super) const CHANCE_YEARS: [f64; 4] = [1.0, 2.0, 5.0, 10.0];
/// A house with no more load than this is as good as empty.
const NEARLY_EMPTY: f64 = 0.05;
const WIDTH: usize = 100;
const INDENT: usize = 12;

/// How long nobody lives there, where no end was stated.
const FOR_GOOD: &str = " No end was stated: the house is taken to stay empty.";

/// Another use, asked of every pit named.
#[derive(Debug, Clone)]
pub(crate) struct Asked {
    who: Who,
    reduced_by: Option<f64>,
    from: Option<PartialDate>,
    until: Option<PartialDate>,
    gallons_per_person: f64,
    units: Units,
}

#[derive(Debug, Clone, Copy)]
enum Who {
    Household(f64),
    Metered(VolumeRate),
    Nobody,
    FullHouse,
    SameAsToday,
}

/// What it does to one pit.
#[derive(Debug)]
pub(crate) struct Told {
    pub(crate) alternative: Alternative,
    /// The use, in words.
    pub(crate) what: String,
    pub(crate) from: Option<PartialDate>,
    pub(crate) until: Option<PartialDate>,
}

impl WhatIfArgs {
    /// Whether another use is asked about at all.
    pub(crate) fn is_asked(&self) -> bool {
        self.occupants.is_some() || self.flow.is_some() || self.reduce.is_some() || self.vacant || self.sale
    }
}

impl Asked {
    pub(crate) fn of(args: &WhatIfArgs, settings: &Settings, units: Units) -> Option<Self> {
        let who = match (args.occupants, args.flow) {
            (Some(persons), _) => Who::Household(persons),
            (_, Some(flow)) => Who::Metered(flow),
            _ if args.vacant => Who::Nobody,
            _ if args.sale => Who::FullHouse,
            _ => Who::SameAsToday,
        };
        args.is_asked().then_some(Self {
            who,
            reduced_by: args.reduce,
            from: args.from,
            until: args.until,
            gallons_per_person: settings.gallons_per_person(),
            units,
        })
    }

    /// What it does to a pit, or why that cannot be told.
    pub(super) fn told(&self, record: &PitRecord, today: &Forecast) -> Result<Told, String> {
        self.beside(record, today).map_err(|reason| reason.to_string())
    }

    fn beside(&self, record: &PitRecord, today: &Forecast) -> Result<Told, WhatIfError> {
        let gallons = self.gallons_per_person;
        let other = match self.who {
            Who::Household(persons) => OtherUse::household(persons, gallons)?,
            Who::Metered(flow) => OtherUse::metered(flow),
            Who::Nobody => OtherUse::vacant(),
            Who::FullHouse => {
                OtherUse::full_house(record.bedrooms().ok_or(WhatIfError::BedroomsUnknown)?, gallons)?
            }
            Who::SameAsToday => OtherUse::as_today(),
        };
        let mut what_if = WhatIf::of(other.reduced_by(self.reduced_by.unwrap_or(0.0))?);
        if let Some(from) = self.from {
            what_if = what_if.starting(from.middle());
        }
        if let Some(until) = self.until {
            what_if = what_if.ending(until.middle());
        }
        let alternative = what_if.beside(today, record.design().map(|design| design.flow))?;
        Ok(Told { alternative, what: self.what(record.bedrooms()), from: self.from, until: self.until })
    }

    /// The use in words; of a full household the number, where the bedrooms are known.
    fn what(&self, bedrooms: Option<f64>) -> String {
        let people = |persons: f64| {
            let people = with_noun(&persons.to_string(), "person");
            format!("{people} at {} gal/person/day", self.gallons_per_person)
        };
        let who = match self.who {
            Who::Household(persons) => people(persons),
            Who::Metered(metered) => format!("{} as metered", flow(metered, self.units)),
            Who::Nobody => "an empty house".to_owned(),
            Who::FullHouse => match bedrooms {
                Some(bedrooms) => {
                    format!("sold to a full household, {}", people(bedrooms * PERSONS_PER_BEDROOM))
                }
                None => format!("sold to a full household, {PERSONS_PER_BEDROOM} persons a bedroom"),
            },
            Who::SameAsToday => String::new(),
        };
        let percents = |share: f64| (share * 1e4).round() / 100.0;
        match (self.reduced_by, who.is_empty()) {
            (None, _) => who,
            (Some(share), true) => format!("{} % less flow than today", percents(share)),
            (Some(share), false) => format!("{who}, less {} %", percents(share)),
        }
    }
}

impl Told {
    /// "from 2027-06 until 2029", "from 2026-06-30 on".
    pub(crate) fn span(&self) -> String {
        let from = match self.from {
            Some(from) => from.to_string(),
            None => self.alternative.forecast().question().as_of().to_string(),
        };
        match self.until {
            Some(until) => format!("from {from} until {until}"),
            None => format!("from {from} on"),
        }
    }

    /// The ends between which it lies: the level stays, or follows the flow in full.
    pub(super) fn ends(&self) -> [&Forecast; 2] {
        [self.alternative.level_stays(), self.alternative.level_follows()]
    }

    /// Whether the method knows a step of the level.
    pub(super) fn has_step(&self) -> bool {
        self.alternative.forecast().question().method() == Method::Absorption
    }
}

/// The other use of one pit: in words, then side by side with today's forecast.
pub(super) fn tell(told: &mut String, asked: &Asking, answer: &Answer<'_>) {
    let mut say = |text: &str| {
        let _ = writeln!(told, "{:<INDENT$}{}", "What if", wrapped(text, WIDTH, INDENT));
    };
    if let Some(problem) = answer.problem_of_what_if() {
        say(&format!("no answer: {problem}."));
        told.push('\n');
        return;
    }
    let (Some(other), Ok(today)) = (answer.told_what_if(), &answer.forecast) else { return };
    let effect = other.alternative.effect();
    if effect != Effect::Changes {
        say(&format!("{}, {}: {effect}, so that nothing changes.", other.what, other.span()));
        told.push('\n');
        return;
    }
    say(&in_words(asked, other, today));
    if today.basis() != Basis::AtInlet {
        told.push('\n');
        table(told, asked, other, today);
    }
    told.push('\n');
}

/// What changes at once, and what in the long run.
fn in_words(asked: &Asking, other: &Told, today: &Forecast) -> String {
    let alternative = &other.alternative;
    let (now, then) = (alternative.ratio_today(), alternative.ratio());
    let mut text = format!(
        "{}, {}: {:.0} % of design instead of {:.0} %",
        other.what,
        other.span(),
        then * 100.0,
        now * 100.0
    );
    text.push_str(if alternative.is_today_typical() {
        " (today's use is not known and taken as typical)."
    } else {
        "."
    });
    if other.from.is_some_and(|from| from.middle() < asked.as_of()) {
        text.push_str(" It counts from the day of the forecast; what is past belongs in occupancy.csv.");
    }
    if today.basis() == Basis::AtInlet {
        text.push_str(" The liquid stood at the inlet: no other household gives a forecast until it has been read lower.");
        return text;
    }
    if other.has_step() {
        let [_, full] = alternative.steps();
        let when = if alternative.span().0 > 0.0 { "When it begins" } else { "At once" };
        let _ = write!(text, " {when} the level {}.", step(full, asked.units()));
        if now <= NEARLY_EMPTY && then > now {
            text.push_str(
                " A level read in an empty house says little of where it stands under use: read again some weeks after \
                 people have moved in.",
            );
        }
    } else {
        text.push_str(" This method knows no step of the level, only the ageing.");
    }
    if then <= 0.0 {
        text.push_str(" While it lasts no sewage ages the pit.");
        if alternative.span().1.is_none() {
            text.push_str(FOR_GOOD);
        }
    } else if now > 0.0 {
        let times = then / now;
        // Two households that drift come to be alike in the long run.
        let how_long = match (alternative.span().1, today.use_ahead()) {
            (Some(_), _) => "While it lasts",
            (None, UseAhead::Drifts) => "At first",
            (None, _) => "From then on",
        };
        let _ = write!(text, " {how_long} the pit ages {times:.1} times as fast as at today's use.");
    }
    if other.has_step() {
        let [stays, follows] = other.ends();
        let _ = write!(text, " {}", either_end(stays, follows, asked.units()));
    } else {
        let goal = sentence::crossing(alternative.forecast(), asked.coverage(), asked.units());
        let _ = write!(text, " {goal}");
    }
    text
}

/// How far the level moves at most.
fn step(full: Length, units: Units) -> String {
    let inches = as_inches(full);
    if inches.abs() < 0.5 {
        return "hardly moves".to_owned();
    }
    let direction = if inches > 0.0 { "rises" } else { "falls" };
    format!("{direction} by 0 to {}", length(full.abs(), units))
}

/// Today's forecast, the other, and its ends, in columns.
fn table(told: &mut String, asked: &Asking, other: &Told, today: &Forecast) {
    let columns: Vec<(&str, &Forecast)> = if other.has_step() {
        let [stays, follows] = other.ends();
        let mixed = other.alternative.forecast();
        vec![("today", today), ("level stays", stays), ("follows in full", follows), ("in between", mixed)]
    } else {
        vec![("today", today), ("what if", other.alternative.forecast())]
    };
    let mut say = |name: &str, cells: &mut dyn Iterator<Item = String>| {
        let line = cells.fold(format!("  {name:<26}"), |line, cell| format!("{line}{cell:>18}"));
        let _ = writeln!(told, "{}", line.trim_end());
    };
    say("", &mut columns.iter().map(|(name, _)| (*name).to_owned()));
    let mut row = |name: &str, cell: &dyn Fn(&Forecast) -> String| {
        say(name, &mut columns.iter().map(|(_, forecast)| cell(forecast)));
    };
    let begins = other.alternative.span().0;
    let freeboard = format!("freeboard {}, {}", when(asked, begins), asked.units().name());
    row(&freeboard, &|forecast| {
        let median = forecast.freeboard_quantile(begins, 0.5);
        median.map_or("unknown".to_owned(), |left| {
            if as_inches(left) <= 0.0 {
                "at inlet".to_owned()
            } else {
                length_number(left, asked.units(), false)
            }
        })
    });
    let goal = sentence::goal(today.question().action_freeboard(), asked.units());
    let goal = if goal.len() > 20 { "it" } else { &goal };
    row(&format!("years to {goal}, median"), &|forecast| crossing(asked, forecast).0);
    let (tail, head) = (asked.coverage().lower_tail(), asked.coverage().upper_tail());
    row(&format!("  {} within", in_so_many(tail)), &|forecast| ends_in_words(asked, forecast)[0].clone());
    row(&format!("  {} within", in_so_many(head)), &|forecast| ends_in_words(asked, forecast)[1].clone());
    for years in CHANCE_YEARS {
        let within = with_noun(&format!("{years:.0}"), "year");
        let name = if years == 1.0 { format!("chance within {within}") } else { format!("  {within}") };
        row(&name, &|forecast| chance(forecast.chance_by(years)));
    }
}

/// Early and late end of the years ahead, each as far as the forecast sees.
fn ends_in_words(asked: &Asking, forecast: &Forecast) -> [String; 2] {
    let horizon = forecast.question().horizon_years();
    let beyond = || format!("over {}", with_noun(&format!("{horizon:.0}"), "year"));
    let early = |years: f64| if years > horizon { beyond() } else { years_down(years) };
    let late = |years: f64| if years > horizon { beyond() } else { years_up(years) };
    match forecast.crossing_set(asked.coverage()) {
        CrossingSet::Between { latest, .. } if latest <= 0.0 => ["now", "now"].map(str::to_owned),
        CrossingSet::Between { earliest, latest } => [early(earliest), late(latest)],
        CrossingSet::NotBefore { earliest } => [early(earliest), beyond()],
        CrossingSet::Never => [beyond(), beyond()],
        CrossingSet::Unbounded => ["cannot be told", "cannot be told"].map(str::to_owned),
    }
}

fn when(asked: &Asking, years: f64) -> String {
    if years > 0.0 { format!("in {}", year_after(asked.as_of(), years)) } else { "at once".to_owned() }
}

/// Many pits side by side: today's years to the inlet and chance within five, and the other's.
pub(super) fn summary(asked: &Asking, answers: &[Answer<'_>]) -> String {
    let mut text = String::new();
    let Some(other) = asked.what_if() else { return text };
    let first = answers.iter().find_map(Answer::told_what_if);
    let span = first.map(Told::span).unwrap_or_default();
    let _ = writeln!(text, "\nWhat if: {} {span}\n", other.what(None));
    let line = |text: &mut String, cells: [&str; 8]| {
        let [id, label, load, now, now_range, then, then_range, chances] = cells;
        let line = format!(
            "{id:<8}  {label:<22}  {load:<12}  {now:<14}  {now_range:<25}  {then:<14}  {then_range:<25}  {chances}"
        );
        let _ = writeln!(text, "{}", line.trim_end());
    };
    line(&mut text, ["pit", "", "load", "today", "", "what if", "", "in 5 years"]);
    for answer in answers {
        let label = label(answer);
        let (Some(told), Ok(today)) = (answer.told_what_if(), &answer.forecast) else {
            let why = answer.problem_of_what_if().or(answer.problem()).unwrap_or_default();
            let _ = writeln!(text, "{:<8}  {label:<22}  no answer: {why}", answer.id);
            continue;
        };
        let alternative = &told.alternative;
        let load =
            format!("{:.0} to {:.0} %", alternative.ratio_today() * 100.0, alternative.ratio() * 100.0);
        let ((now, now_range), (then, then_range)) =
            (crossing(asked, today), crossing(asked, alternative.forecast()));
        let chances =
            format!("{} to {}", chance(today.chance_by(5.0)), chance(alternative.forecast().chance_by(5.0)));
        line(&mut text, [answer.id, &label, &load, &now, &now_range, &then, &then_range, &chances]);
    }
    text
}

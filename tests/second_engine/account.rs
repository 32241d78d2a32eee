//! What a history says: when something was seen, how much load had come by then, and what was done to the pit in between.

use super::pits::years_from_now;
use soaklife::History;
use soaklife::history::EventKind;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::as_inches;
use soaklife::reading::{Condition, Observation, Reading};

/// What a reading says of z.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Says {
    Height,
    AtMost,
    AtLeast,
    /// A height in use or, as likely, one that the empty house has let sink below it.
    HeightOrSunk,
    Nothing,
}

#[derive(Debug, Clone, Copy)]
pub struct Sight {
    pub says: Says,
    pub z: f64,
    pub stick_variance: f64,
    pub gross_variance: f64,
    pub gross_share: f64,
    /// Whether the look leaves open how high the level stands in use, so that it says first that the pit is in service.
    pub leaves_open: bool,
}

/// What happens between two sights, or between the last one and now.
#[derive(Debug, Clone, Copy)]
pub struct Between {
    pub years: f64,
    pub load_after: f64,
    pub log_ratio_step: f64,
    pub shift: f64,
    pub shift_variance: f64,
    pub new_datum: bool,
}

/// A moment at which nobody looked.
#[derive(Debug, Clone, Copy)]
pub struct Unwatched {
    /// Since the last sight, and until the next of these moments or now.
    pub years: f64,
    pub lasts: f64,
    pub load: f64,
    pub ratio: f64,
}

pub struct Account {
    pub depth: f64,
    /// H + c.
    pub full: f64,
    pub first_age: f64,
    pub first_load: f64,
    /// At the last sight.
    pub load_seen: f64,
    pub load_now: f64,
    pub ratio_now: f64,
    /// Today's household if it stays as it is: none in an empty house.
    pub ratio_if_it_stays: f64,
    pub ratio_ahead: f64,
    pub dry_until: f64,
    pub liquid_from: f64,
    pub sights: Vec<Sight>,
    /// As many as there are sights: before each but the first, and up to now.
    pub between: Vec<Between>,
    /// Moments from the last sight on, before now, at which the pit may have been at its inlet.
    pub unwatched: Vec<Unwatched>,
}

impl Account {
    pub fn of(history: &History, prior: &PopulationPrior) -> Self {
        let depth = as_inches(history.pit().effective_depth());
        let replaced = happened(history, &[EventKind::Replaced]).last().copied();
        let readings: Vec<&Reading> = history
            .readings()
            .iter()
            .filter(|reading| {
                let taken = moment(reading);
                taken <= 0.0 && replaced.is_none_or(|replaced| taken > replaced)
            })
            .collect();
        let moments: Vec<f64> = readings.iter().map(|reading| moment(reading)).collect();
        let first = moments.first().copied().unwrap_or(0.0);
        let installed = history.installed().map(|day| years_from_now(day.middle())).filter(|&day| day <= 0.0);
        // Years before now at which the load begins to count.
        let age = match replaced.or(installed) {
            Some(day) => (-day).max(-first + 0.3),
            None => -first + 14.0,
        };
        let load = Load::of(history, prior, age);
        let sights: Vec<Sight> =
            readings.iter().map(|reading| sight(history, reading, depth, prior)).collect();
        let loads: Vec<f64> = moments.iter().map(|&day| load.absorbed_by(day)).collect();
        let ends = moments.iter().skip(1).map(|&day| (day, load.ratio(day - 0.02)));
        let step = |from: f64, to: f64, ratio: f64| {
            let done = Done::between(history, from, to);
            Between {
                years: to - from,
                load_after: load.absorbed_by(to),
                log_ratio_step: (ratio / load.ratio(from - 0.02)).ln(),
                shift: done.shift,
                shift_variance: done.variance,
                new_datum: done.new_datum,
            }
        };
        let ends = ends.chain([(0.0, load.ratio(0.0))]);
        let between: Vec<Between> =
            moments.iter().zip(ends).map(|(&from, (to, ratio))| step(from, to, ratio)).collect();
        let unwatched = match (moments.last(), between.last()) {
            (Some(&last), Some(to_now)) if !to_now.is_eventful() => Unwatched::all(&load, last),
            _ => Vec::new(),
        };
        let first_liquid =
            sights.iter().position(|s| matches!(s.says, Says::Height | Says::HeightOrSunk | Says::AtLeast));
        let before = first_liquid.unwrap_or(sights.len());
        let last_dry = sights[..before].iter().rposition(|sight| sight.says == Says::AtMost);
        Self {
            depth,
            full: depth + prior.offset_in,
            first_age: age + first,
            first_load: load.absorbed_by(first),
            load_seen: loads.last().copied().unwrap_or(0.0),
            load_now: load.absorbed_by(0.0),
            ratio_now: load.ratio(0.0),
            ratio_if_it_stays: if load.ratio(0.0) > LEAST_RATIO { load.ratio(0.0) } else { 0.0 },
            ratio_ahead: if history.load().is_some() { prior.typical_load_ratio } else { load.ratio(0.0) },
            dry_until: last_dry.map_or(0.0, |place| loads[place]),
            liquid_from: first_liquid.map_or(f64::INFINITY, |place| loads[place]),
            sights,
            between,
            unwatched,
        }
    }
}

impl Between {
    /// Whether something was done to the pit that says that it stands elsewhere now.
    fn is_eventful(&self) -> bool {
        self.new_datum || self.shift != 0.0 || self.shift_variance > 0.0
    }
}

impl Unwatched {
    /// The day of the last sight and others after it, as far apart: for each year that has begun one, eight at most.
    fn all(load: &Load, last: f64) -> Vec<Self> {
        let count = (-last).ceil().clamp(1.0, 8.0);
        let lasts = -last / count;
        let at = |place: u32| {
            let years = lasts * f64::from(place);
            let day = last + years;
            Self { years, lasts, load: load.absorbed_by(day), ratio: load.ratio(day) }
        };
        (0..count as u32).map(at).collect()
    }
}

fn moment(reading: &Reading) -> f64 {
    years_from_now(reading.date().middle())
}

/// When events of these kinds happened, oldest first.
fn happened(history: &History, kinds: &[EventKind]) -> Vec<f64> {
    let of_kind = history.events().iter().filter(|event| kinds.contains(&event.kind));
    of_kind.map(|event| years_from_now(event.date.middle())).filter(|&day| day <= 0.0).collect()
}

fn at_inlet(reading: &Reading, depth: f64) -> bool {
    match reading.observation() {
        Observation::AtInlet => true,
        Observation::Liquid { level } => as_inches(level) >= depth,
        _ => false,
    }
}

fn sight(history: &History, reading: &Reading, depth: f64, prior: &PopulationPrior) -> Sight {
    let vacant = reading.condition() == Condition::Vacant;
    let low = stands_low(history, reading);
    let dry = match reading.observation() {
        Observation::Dry => true,
        Observation::Liquid { level } => as_inches(level) <= 1.0,
        _ => false,
    };
    let (says, height) = match reading.observation() {
        _ if at_inlet(reading, depth) => (Says::AtLeast, depth),
        _ if dry && (low || vacant) => (Says::Nothing, 1.0),
        _ if dry => (Says::AtMost, 1.0),
        Observation::Liquid { level } if low => (Says::AtLeast, (as_inches(level) - 1.0).max(0.0)),
        Observation::Liquid { level } if vacant => (Says::HeightOrSunk, as_inches(level)),
        Observation::Liquid { level } => (Says::Height, as_inches(level)),
        other => panic!("no such observation: {other:?}"),
    };
    let offset = prior.offset_in;
    let rain = if reading.condition() == Condition::AfterRain { 2.0 } else { 1.0 };
    Sight {
        says,
        z: ((height + offset) / (depth + offset)).ln(),
        stick_variance: rain * (prior.stick_in / (height + offset)).powi(2),
        gross_variance: (prior.gross_error_in / (height + offset)).powi(2),
        gross_share: match (says, reading.condition()) {
            (Says::HeightOrSunk, _) => 0.5,
            (_, Condition::Suspect) => prior.suspect_error_share,
            _ => prior.gross_error_share,
        },
        leaves_open: (low || vacant) && !at_inlet(reading, depth),
    }
}

/// Whether the pit was pumped out within half a year before, or rested.
fn stands_low(history: &History, reading: &Reading) -> bool {
    let taken = moment(reading);
    let pumped =
        happened(history, &[EventKind::PumpedOut]).into_iter().any(|day| day <= taken && taken - day <= 0.5);
    pumped || reading.condition() == Condition::AfterPumping || rests(history, taken)
}

/// Between the start and the end of a rest; one whose end nobody wrote down is over after a year.
fn rests(history: &History, taken: f64) -> bool {
    let turns = [EventKind::RestStarted, EventKind::RestEnded];
    let turns: Vec<_> = history.events().iter().filter(|event| turns.contains(&event.kind)).collect();
    let day = |event: &soaklife::history::Event| years_from_now(event.date.middle());
    let Some(last) = turns.iter().rposition(|event| day(event) <= taken) else { return false };
    let ended = turns.get(last + 1).is_some_and(|next| next.kind == EventKind::RestEnded);
    turns[last].kind == EventKind::RestStarted && (ended || taken - day(turns[last]) <= 1.0)
}

/// A smaller ratio counts as this one, so that it has a logarithm.
const LEAST_RATIO: f64 = 0.05;

/// Load ratios over time, and what they add up to.
struct Load {
    begins: f64,
    /// In force from a moment on; the first one also before it.
    ratios: Vec<(f64, f64)>,
}

impl Load {
    fn of(history: &History, prior: &PopulationPrior, age: f64) -> Self {
        let known = history.load().map(|load| {
            let all: Vec<_> =
                load.steps().iter().map(|step| (years_from_now(step.from), step.ratio)).collect();
            let begun: Vec<_> = all.iter().copied().filter(|step| step.0 <= 0.0).collect();
            if begun.is_empty() { all[..1].to_vec() } else { begun }
        });
        let ratios = known.unwrap_or_else(|| vec![(f64::NEG_INFINITY, prior.typical_load_ratio)]);
        Self {
            begins: -age,
            ratios: ratios.into_iter().map(|(from, ratio)| (from, ratio.clamp(LEAST_RATIO, 3.0))).collect(),
        }
    }

    fn ratio(&self, moment: f64) -> f64 {
        self.ratios.iter().rfind(|step| step.0 <= moment).unwrap_or(&self.ratios[0]).1
    }

    /// Each ratio counts from where it begins to where the next one does.
    fn absorbed_by(&self, moment: f64) -> f64 {
        let mut total = 0.0;
        for (place, &(from, ratio)) in self.ratios.iter().enumerate() {
            let from = if place == 0 { self.begins } else { from.max(self.begins) };
            let to = self.ratios.get(place + 1).map_or(moment, |next| next.0.min(moment));
            total += ratio * (to - from).max(0.0);
        }
        total
    }
}

/// What was done to a pit between two moments; twice of a kind is once.
#[derive(Default)]
struct Done {
    shift: f64,
    variance: f64,
    new_datum: bool,
}

impl Done {
    fn between(history: &History, from: f64, to: f64) -> Self {
        let any =
            |kinds: &[EventKind]| happened(history, kinds).into_iter().any(|day| day > from && day <= to);
        let mut done = Self { new_datum: any(&[EventKind::DatumChanged]), ..Self::default() };
        for (kinds, shift, spread) in [
            (&[EventKind::PipeRepaired][..], -0.06, 0.15),
            (&[EventKind::RestEnded, EventKind::Rehabilitated], -0.15, 0.25_f64),
            (&[EventKind::PitAdded], -0.5, 0.3),
        ] {
            if any(kinds) {
                done.shift += shift;
                done.variance += spread * spread;
            }
        }
        done
    }
}

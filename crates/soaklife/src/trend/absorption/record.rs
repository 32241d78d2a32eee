//! One pit's record as the filter takes it: gaps between readings, loads absorbed, what each reading says of z.

use crate::acceptance::{MeasuredAcceptance, Settling};
use crate::date::years_between;
use crate::history::{Event, EventKind, History, Reason};
use crate::loading::LoadHistory;
use crate::prior::PopulationPrior;
use crate::quantity::{as_inches, inches};
use crate::reading::{Condition, DRY_UNTIL_IN, Reading};
use crate::soil::Soil;
use jiff::civil::Date;

/// Age taken for a pit without a date of installation at its first reading, years.
const UNKNOWN_AGE: f64 = 14.0;
/// Least age at the first reading, years.
const LEAST_AGE: f64 = 0.3;
/// Load ratios beyond these bounds are records gone wrong.
pub(crate) const LEAST_RATIO: f64 = 0.05;
pub(crate) const MOST_RATIO: f64 = 3.0;
/// The household that made a reading is the one of a week before it.
const BEFORE_READING_YEARS: f64 = 0.02;
/// A bound is read to the inch.
const READ_TO_IN: f64 = 1.0;
/// Share of the levels found in a vacant house that the wall has drained below where they stand in use. Judgement, no source.
const LOWERED_SHARE: f64 = 0.5;
/// Standard deviation of z by a load test that is grossly wrong: a leak, a meter misread.
///
/// Judgement, no source.
const GROSS_TEST: f64 = 0.5;
/// Most moments since the last reading at which the inlet may have been reached unseen.
const MOST_UNWATCHED: f64 = 8.0;
/// Variance of a datum change, as a shift in inches: two rims may differ by a foot.
const DATUM_SHIFT_IN: f64 = 12.0;

/// The record of one pit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Record {
    pub(super) effective_depth_in: f64,
    pub(super) soil: Soil,
    /// H + c.
    pub(super) full_in: f64,
    /// Age at the first reading, or today's where there is none.
    pub(super) first_age: f64,
    /// Load absorbed until then, design-years.
    pub(super) first_load: f64,
    /// Load absorbed when the stick last came up dry before any liquid was found, and when liquid was first found.
    pub(super) dry_until: f64,
    pub(super) liquid_from: f64,
    pub(super) soundings: Vec<Sounding>,
    /// From the last reading to now.
    pub(super) to_now: Gap,
    /// Moments between them, the reading's own first; none where nobody has read the pit as it is now.
    pub(super) unwatched: Vec<Unwatched>,
    pub(super) load_now: f64,
    pub(super) ratio_now: f64,
    /// The ratio that the level answers to: in an empty house that before it was left.
    pub(super) ratio_in_use: f64,
    /// What the household drifts toward: the typical ratio, or today's where the load is not known.
    pub(super) ratio_ahead: f64,
    /// The last reading found the liquid at the inlet.
    pub(super) ends_at_inlet: bool,
    /// What load tests say, oldest first.
    pub(super) tested: Vec<Tested>,
}

/// A load test and where the level would settle by it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tested {
    pub taken: MeasuredAcceptance,
    pub settles: Settling,
}

/// What the filter takes one by one: a look into the pit, or what a load test measured.
#[derive(Debug, Clone, Copy)]
enum Seen<'h> {
    Reading(&'h Reading),
    Test(&'h Tested),
}

impl Seen<'_> {
    fn day(&self) -> Date {
        match self {
            Self::Reading(reading) => reading.date().middle(),
            Self::Test(test) => test.taken.date(),
        }
    }
}

/// What happens between two readings.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Gap {
    pub years: f64,
    /// Load absorbed at its end, design-years.
    pub load: f64,
    /// ln(new ratio ÷ old ratio).
    pub load_step: f64,
    /// What recorded events do to z, and how surely.
    pub shift: f64,
    pub shift_variance: f64,
    /// The datum changed.
    pub datum_changed: bool,
}

/// A moment after the last reading at which nobody looked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unwatched {
    /// Years since the last reading, and until the next of these moments.
    pub years: f64,
    pub lasts: f64,
    /// Load absorbed by then, design-years, and the load ratio.
    pub load: f64,
    pub ratio: f64,
}

/// One reading, after the gap before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sounding {
    /// From the reading before; nothing before the first.
    pub gap: Gap,
    pub kind: SoundingKind,
    /// What it says, as z.
    pub z: f64,
    /// Variance of the stick and of a gross error, as z.
    pub stick_variance: f64,
    pub gross_variance: f64,
    /// Share of such readings that are grossly wrong.
    pub gross_share: f64,
    /// It leaves open how high the level stands in use: what it adds is that the pit was in service.
    pub in_service: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SoundingKind {
    /// A height.
    Level,
    /// At or below z.
    AtMost,
    /// At or above z.
    AtLeast,
    /// A height, or, with a chance of `gross_share`, one below where the level stands in use: nobody was at home for days.
    LevelOrLowered,
    /// Says nothing: dry after pumping.
    Silent,
    /// A height by a load test, not by a stick.
    Settling,
}

impl Record {
    /// The record as known on a day: without readings taken later, or of a pit that has been replaced since.
    pub(crate) fn of(history: &History, as_of: Date, prior: &PopulationPrior) -> Self {
        let replaced = last_replacement(history, as_of).map(|event| event.date.middle());
        let tested = tests(history, as_of, prior);
        let seen = in_order(history, as_of, &tested);
        let since_first = seen.first().map_or(0.0, |first| years_between(first.day(), as_of));
        let age = age(history, replaced, as_of, since_first);
        let known = history.load().map(|load| load.known_by(as_of));
        let load = AbsorbedLoad::new(known.as_ref(), prior.typical_load_ratio, as_of, age);
        let gap = |from: Option<Date>, to: Option<Date>| match from {
            Some(from) => load.gap(from, to, as_of),
            None => {
                let first = to.map_or(0.0, |to| years_between(as_of, to));
                Gap { load: load.until(first), ..Gap::default() }
            }
        };
        let before = std::iter::once(None).chain(seen.iter().map(|seen| Some(seen.day())));
        let soundings: Vec<Sounding> = before
            .zip(&seen)
            .map(|(from, seen)| {
                let day = seen.day();
                let gap = gap(from, Some(day)).with_events(history, from, day);
                match seen {
                    Seen::Reading(reading) => Sounding::new(history, reading, gap, prior),
                    Seen::Test(test) => Sounding::settling(test, gap, prior),
                }
            })
            .collect();
        let last = seen.last().map(Seen::day);
        let to_now = gap(last, None).with_events(history, last, as_of);
        let unwatched = if to_now.is_eventful() { Vec::new() } else { load.unwatched(last, as_of) };
        let last_reading = seen.iter().rev().find_map(|seen| match seen {
            Seen::Reading(reading) => Some(*reading),
            Seen::Test(_) => None,
        });
        let effective_depth_in = as_inches(history.pit().effective_depth());
        let ratio_now = load.ratio_at(0.0);
        let (dry_until, liquid_from) = dry_spell(&soundings);
        Self {
            effective_depth_in,
            soil: history.soil(),
            full_in: effective_depth_in + prior.offset_in,
            first_age: age - since_first,
            first_load: soundings.first().map_or(to_now.load, |first| first.gap.load),
            dry_until,
            liquid_from,
            to_now,
            unwatched,
            load_now: to_now.load,
            ratio_now,
            ratio_in_use: load.ratio_in_use().unwrap_or(prior.typical_load_ratio),
            ratio_ahead: if known.is_some() { prior.typical_load_ratio } else { ratio_now },
            ends_at_inlet: last_reading.is_some_and(|reading| reading.stands_at_inlet(history.pit())),
            soundings,
            tested,
        }
    }

    /// Place of the first reading among the soundings.
    pub(super) fn first_reading(&self) -> Option<usize> {
        self.soundings.iter().position(Sounding::is_reading)
    }

    /// Whether no stick says anything of the level: all that is known is that the pit is in service.
    pub(super) fn is_unread(&self) -> bool {
        self.first_reading().is_none()
    }

    /// The same pit without its readings.
    pub(super) fn unread(&self) -> Self {
        let years = self.soundings.iter().skip(1).map(|sounding| sounding.gap.years).sum::<f64>();
        Self {
            first_age: self.first_age + years + self.to_now.years,
            first_load: self.load_now,
            dry_until: 0.0,
            liquid_from: f64::INFINITY,
            soundings: Vec::new(),
            to_now: Gap { load: self.load_now, ..Gap::default() },
            unwatched: Vec::new(),
            ends_at_inlet: false,
            tested: Vec::new(),
            ..*self
        }
    }
}

/// The load tests of the pit as it is now, and where its level would settle by them.
fn tests(history: &History, as_of: Date, prior: &PopulationPrior) -> Vec<Tested> {
    let replaced = last_replacement(history, as_of).map(|event| event.date.middle());
    let counts = |taken: &&MeasuredAcceptance| {
        taken.date() <= as_of && replaced.is_none_or(|replaced| taken.date() > replaced)
    };
    let test = |taken: &MeasuredAcceptance| {
        let flow = history.load().map(|load| load.known_by(as_of).flow_at(taken.date()));
        Tested { taken: *taken, settles: taken.settling(history.pit(), flow, inches(prior.offset_in)) }
    };
    history.acceptances().iter().filter(counts).map(test).collect()
}

/// Readings and load tests by their days; on one day the stick comes first.
fn in_order<'h>(history: &'h History, as_of: Date, tested: &'h [Tested]) -> Vec<Seen<'h>> {
    let kept = history.readings().iter().filter(|reading| left_out(history, reading, as_of).is_none());
    let mut seen: Vec<Seen<'h>> = kept.map(Seen::Reading).collect();
    if !tested.is_empty() {
        seen.extend(tested.iter().map(Seen::Test));
        seen.sort_by_key(Seen::day);
    }
    seen
}

/// Years since installation, or since replacement; where it is not known, what is usual at a first reading.
fn age(history: &History, replaced: Option<Date>, as_of: Date, since_first: f64) -> f64 {
    let installed = history.installed().map(|date| date.middle()).filter(|&day| day <= as_of);
    match replaced.or(installed) {
        Some(day) => years_between(day, as_of).max(since_first + LEAST_AGE),
        None => since_first + UNKNOWN_AGE,
    }
}

/// Load absorbed at the last dry stick before any liquid was found, and at the first liquid.
fn dry_spell(soundings: &[Sounding]) -> (f64, f64) {
    let mut dry_until = 0.0;
    for sounding in soundings {
        match sounding.kind {
            SoundingKind::Level | SoundingKind::LevelOrLowered | SoundingKind::AtLeast => {
                return (dry_until, sounding.gap.load);
            }
            SoundingKind::AtMost => dry_until = sounding.gap.load,
            SoundingKind::Silent | SoundingKind::Settling => {}
        }
    }
    (dry_until, f64::INFINITY)
}

fn last_replacement(history: &History, as_of: Date) -> Option<Event> {
    let replaced = |event: &&Event| event.kind == EventKind::Replaced && event.date.middle() <= as_of;
    history.events().iter().rfind(replaced).copied()
}

/// Why a reading is no part of the record: taken later, or of a pit that has been replaced since.
pub(super) fn left_out(history: &History, reading: &Reading, as_of: Date) -> Option<Reason> {
    let taken = reading.date().middle();
    if taken > as_of {
        return Some(Reason::AfterAsOf);
    }
    last_replacement(history, as_of).filter(|event| taken <= event.date.middle()).map(Reason::Before)
}

/// Load absorbed since installation, at moments counted in years from now.
struct AbsorbedLoad {
    age: f64,
    /// From a moment on, this ratio; the first one reaches back to installation.
    steps: Vec<(f64, f64)>,
}

impl AbsorbedLoad {
    fn new(load: Option<&LoadHistory>, typical: f64, as_of: Date, age: f64) -> Self {
        let clipped = |ratio: f64| ratio.clamp(LEAST_RATIO, MOST_RATIO);
        let steps = match load {
            Some(load) => load
                .steps()
                .iter()
                .map(|step| (years_between(as_of, step.from), clipped(step.ratio)))
                .collect(),
            None => vec![(f64::NEG_INFINITY, clipped(typical))],
        };
        Self { age, steps }
    }

    fn ratio_at(&self, years: f64) -> f64 {
        let begun = self.steps.iter().rev().find(|step| step.0 <= years);
        begun.or(self.steps.first()).map_or(1.0, |step| step.1)
    }

    /// The ratio today or, in an empty house, before it was left; none if nobody ever lived there.
    fn ratio_in_use(&self) -> Option<f64> {
        let in_use = |step: &&(f64, f64)| step.0 <= 0.0 && step.1 > LEAST_RATIO;
        self.steps.iter().rev().find(in_use).map(|step| step.1)
    }

    fn until(&self, years: f64) -> f64 {
        let mut total = 0.0;
        let mut from = -self.age;
        let mut ratio = self.ratio_at(from);
        for step in self.steps.iter().filter(|step| step.0 > -self.age && step.0 < years) {
            total += ratio * (step.0 - from);
            (from, ratio) = *step;
        }
        total + ratio * (years - from).max(0.0)
    }

    /// From one reading to the next, or to now.
    fn gap(&self, from: Date, to: Option<Date>, as_of: Date) -> Gap {
        let moment = |day: Date| years_between(as_of, day);
        let before = |day: Date| moment(day) - BEFORE_READING_YEARS;
        let step = self.ratio_at(to.map_or(0.0, before)) / self.ratio_at(before(from));
        let end = to.map_or(0.0, moment);
        Gap { years: end - moment(from), load: self.until(end), load_step: step.ln(), ..Gap::default() }
    }
}

impl AbsorbedLoad {
    /// Moments between the last reading and now: a year apart, or less, and eight at most.
    fn unwatched(&self, last: Option<Date>, as_of: Date) -> Vec<Unwatched> {
        let Some(last) = last else { return Vec::new() };
        let from = years_between(as_of, last);
        let moments = (-from).ceil().clamp(1.0, MOST_UNWATCHED);
        let step = -from / moments;
        let at = |years: f64| {
            let moment = from + years;
            Unwatched { years, lasts: step, load: self.until(moment), ratio: self.ratio_at(moment) }
        };
        (0..moments as u32).map(|place| at(step * f64::from(place))).collect()
    }
}

impl Gap {
    /// Whether something was done to the pit.
    fn is_eventful(&self) -> bool {
        self.shift != 0.0 || self.shift_variance > 0.0 || self.datum_changed
    }

    /// With the events after one reading up to the day of the next; two of a kind act once, those before the first nothing.
    ///
    /// # Source
    /// The shifts are judgements, no source: each event is too rare in a record to be measured.
    fn with_events(mut self, history: &History, from: Option<Date>, to: Date) -> Self {
        let Some(from) = from else { return self };
        let mut seen = [false; EventKind::ALL.len()];
        let within = |day: Date| day > from && day <= to;
        for event in history.events().iter().filter(|event| within(event.date.middle())) {
            let kind = if event.kind == EventKind::RestEnded { EventKind::Rehabilitated } else { event.kind };
            if std::mem::replace(&mut seen[kind as usize], true) {
                continue;
            }
            let (shift, spread): (f64, f64) = match kind {
                EventKind::PipeRepaired => (-0.06, 0.15),
                EventKind::Rehabilitated => (-0.15, 0.25),
                EventKind::PitAdded => (-0.5, 0.3),
                _ => (0.0, 0.0),
            };
            self.shift += shift;
            self.shift_variance += spread * spread;
            self.datum_changed |= kind == EventKind::DatumChanged;
        }
        self
    }

    /// Variance of a change of datum at level z.
    #[inline]
    pub(super) fn datum_variance(full_in: f64, z: f64) -> f64 {
        let spread = DATUM_SHIFT_IN / (full_in * z.exp());
        spread * spread
    }
}

impl Sounding {
    fn new(history: &History, reading: &Reading, gap: Gap, prior: &PopulationPrior) -> Self {
        let pit = history.pit();
        let depth = as_inches(pit.effective_depth());
        let level = as_inches(reading.level(pit)).max(0.0);
        let lowered = history.lowered_for_a_while(reading).is_some();
        let vacant = reading.condition() == Condition::Vacant;
        let (kind, height) = match () {
            _ if reading.stands_at_inlet(pit) => (SoundingKind::AtLeast, depth),
            _ if reading.is_as_good_as_dry() && (lowered || vacant) => (SoundingKind::Silent, DRY_UNTIL_IN),
            _ if reading.is_as_good_as_dry() => (SoundingKind::AtMost, DRY_UNTIL_IN),
            _ if lowered => (SoundingKind::AtLeast, (level - READ_TO_IN).max(0.0)),
            _ if vacant => (SoundingKind::LevelOrLowered, level),
            _ => (SoundingKind::Level, level),
        };
        let scale = 1.0 / (height + prior.offset_in);
        let squared = |spread_in: f64| (spread_in * scale) * (spread_in * scale);
        let gross_share = match kind {
            SoundingKind::LevelOrLowered => LOWERED_SHARE,
            _ if reading.condition() == Condition::Suspect => prior.suspect_error_share,
            _ => prior.gross_error_share,
        };
        Self {
            gap,
            kind,
            z: ((height + prior.offset_in) / (depth + prior.offset_in)).ln(),
            stick_variance: squared(prior.stick_in) * noisier(reading),
            gross_variance: squared(prior.gross_error_in),
            gross_share,
            in_service: (lowered || vacant) && !reading.stands_at_inlet(pit),
        }
    }
}

impl Sounding {
    /// What a load test says of the level. Its error takes the place of the stick's; momentary use counts on top, as the wall
    /// has its moods too.
    fn settling(test: &Tested, gap: Gap, prior: &PopulationPrior) -> Self {
        Self {
            gap,
            kind: SoundingKind::Settling,
            z: test.settles.mean,
            stick_variance: test.settles.spread * test.settles.spread,
            gross_variance: GROSS_TEST * GROSS_TEST,
            gross_share: prior.gross_error_share,
            in_service: false,
        }
    }

    pub(super) fn is_reading(&self) -> bool {
        self.kind != SoundingKind::Settling
    }
}

/// Rain lifts the level for a while: twice the variance. Taken as one-sided, as an empty house is, it gains 1.0 ± 0.6 % where
/// simulated rain does lift the level, nothing where it does not, and pits fail early more often in both.
fn noisier(reading: &Reading) -> f64 {
    if reading.condition() == Condition::AfterRain { 2.0 } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::Pit;
    use crate::quantity::gallons_per_day;
    use jiff::civil::date;

    const AS_OF: Date = Date::constant(2026, 6, 1);

    fn history() -> History {
        let pit = Pit::new(inches(20.0), inches(140.0)).unwrap();
        let design = gallons_per_day(400.0);
        let flows = [(date(2000, 6, 1), gallons_per_day(100.0)), (date(2024, 6, 1), gallons_per_day(300.0))];
        let load = LoadHistory::new(design, flows).unwrap();
        History::new(pit).with_installed(date(2000, 6, 1)).with_load(load)
    }

    fn readings() -> Vec<Reading> {
        let level =
            |year, level_in| Reading::at_level(history().pit(), date(year, 6, 1), inches(level_in)).unwrap();
        vec![Reading::dry(date(2016, 6, 1)), level(2020, 30.0), level(2024, 45.0)]
    }

    #[test]
    fn unread_a_pit_is_as_if_nobody_had_looked() {
        let prior = PopulationPrior::default();
        let read = Record::of(&history().with_readings(readings()), AS_OF, &prior);
        let never_read = Record::of(&history(), AS_OF, &prior);
        let unread = read.unread();
        // Of years only the sum may be rounded otherwise.
        assert!((unread.first_age - never_read.first_age).abs() < 1e-12, "{}", unread.first_age);
        assert_eq!(Record { first_age: never_read.first_age, ..unread }, never_read);
        assert!(read.dry_until > 0.0 && read.liquid_from > read.dry_until && read.soundings.len() == 3);
        assert_eq!((read.first_reading(), never_read.first_reading()), (Some(0), None));
    }

    #[test]
    fn an_age_that_is_not_known_is_a_usual_one() {
        let at_first = |history: History| {
            Record::of(&history.with_readings(readings()), AS_OF, &PopulationPrior::default()).first_age
        };
        let unknown = History::new(*history().pit());
        assert!((at_first(unknown) - UNKNOWN_AGE).abs() < 1e-12);
        assert!((at_first(history()) - 16.0).abs() < 1e-2);
        // A pit cannot be read before it is there.
        assert!((at_first(history().with_installed(date(2020, 6, 1))) - LEAST_AGE).abs() < 1e-12);
    }

    #[test]
    fn an_empty_house_answers_to_the_use_before_it_was_left() {
        let load = |steps: &[(f64, f64)]| AbsorbedLoad { age: 10.0, steps: steps.to_vec() };
        let left = load(&[(f64::NEG_INFINITY, 0.5), (-6.0, 0.8), (-4.0, LEAST_RATIO), (2.0, 0.9)]);
        assert_eq!((left.ratio_at(-7.0), left.ratio_at(-4.0), left.ratio_at(3.0)), (0.5, LEAST_RATIO, 0.9));
        assert_eq!(left.ratio_in_use(), Some(0.8));
        assert_eq!(load(&[(-3.0, LEAST_RATIO), (1.0, 0.9)]).ratio_in_use(), None);
        assert_eq!(load(&[(-3.0, 0.4), (0.0, 0.7)]).ratio_in_use(), Some(0.7));
        // 4 · 0.5 until it changed, 2 · 0.8 until it was left, 4 · 0.05 until today, 2 · 0.05 and a year at 0.9.
        for (years, absorbed) in [(-10.0, 0.0), (-6.0, 2.0), (-4.0, 3.6), (0.0, 3.8), (2.0, 3.9), (3.0, 4.8)]
        {
            assert!((left.until(years) - absorbed).abs() < 1e-12, "{years}: {}", left.until(years));
        }
    }
}

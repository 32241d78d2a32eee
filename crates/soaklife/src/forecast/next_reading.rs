//! When to measure next: what one more stick reading is likely to tell, weighed before it is taken.
//!
//! For each date ahead the readings that the present mixture of hypotheses expects stand for what a visit may find: the
//! inlet, with the chance that the forecast gives it; below it fifteen levels that are equally likely, those under an inch
//! being a dry stick; now and then one is grossly wrong, as often as the prior says. Each of them is put into the record in
//! turn, the same filter follows it to that date, and the 80 % ranges that come out are averaged by chance (pre-posterior
//! analysis: Raiffa and Schlaifer 1961, *Applied Statistical Decision Theory*). Nothing is drawn at random. It costs some hundred
//! forecasts of the pit.
//!
//! # The rule
//!
//! A visit costs time and money, and a reading soon after the last one says little new. So the next one is due on the first date
//! at which it is worth a visit, which is when one of these is expected of it:
//!
//! - it takes a tenth off the 80 % range of years;
//! - with one chance in five it turns the answer to whether somebody must act, which is when a tenth of such pits reach the
//!   inlet within two years (the same line by which a fleet's visit list says "may fail").
//!
//! It is never due later than the last date by which the inlet is reached with at most 2 %. Where the early end of the range lies
//! within half a year, it is monthly from now on. The tenth, the fifth and the 2 % (a visit costs about a fiftieth of a backup) are
//! judgements, no source.
//!
//! At the latest it is due in a year for a pit in use that reaches what is asked about (the inlet, or the action freeboard) within ten
//! years with a chance of one in ten or more, and in two years for any other (judgement, no source). A pit is in use unless it rests on
//! the day of the forecast, or its house uses less than a twentieth of the design flow.
//!
//! A reading is not called unlikely to change much where the record has fewer than four readings that count, nor where one of any date
//! weighed may halve or double the median of the years: where readings that do so have a chance of one in twenty or more, which any single
//! one of the fifteen has (judgement, no source). A median beyond the 60 years in sight counts as farther than twice any other.
//!
//! # How true the promise is
//!
//! A reading that surprises widens the range, and next readings surprise more often than the hypotheses expect: of simulated pits
//! whose next reading was really taken, 9.5 % of those a year on lay in the topmost fifteenth of what was expected, and half of
//! the expected narrowing came. So half is promised. On 3,000 other simulated pits (`tests/next_reading.rs`; three seeds) the mean
//! width of the range, a late end beyond 60 years counted as 60:
//!
//! | reading | today | promised | found |
//! | --- | ---: | ---: | ---: |
//! | on the date recommended | 47.1 years | 45.6 | 45.8 |
//! | in one year | 47.3 years | 45.5 | 45.2 |
//! | in two years | 47.3 years | 44.6 | 44.3 |
//!
//! The width is promised to 1 % (standard error 0.4 %), and what comes off it to a sixth. The chances themselves are kept as
//! they are: the mean chance within 10 years stays where it was, .207 before, .208 promised, .204 found. Few ranges have a late
//! end within 60 years at all (2 in 100 there), and those are of pits judged too near their inlet: on the average they widen.

use super::{Method, Question};
use crate::date::date_after;
use crate::fleet::{SOON, SOON_YEARS};
use crate::history::{FoundAtInlet, History, Reason};
use crate::quantity::{as_inches, inches};
use crate::reading::{DRY_UNTIL_IN, Reading};
use crate::trend::absorption::{Absorption, Hypotheses, Passage};
use jiff::civil::Date;

/// Months ahead at which a reading is weighed.
const MONTHS: [u32; 7] = [1, 3, 6, 9, 12, 18, 24];
/// Readings that stand for all a visit may find below the inlet, equally likely.
const BELOW_INLET: u32 = 15;
/// Where the method's sight ends, years.
const FARTHEST_YEARS: f64 = 60.0;
/// Ends of the 80 % range.
const EIGHTY: [f64; 2] = [0.1, 0.9];
/// What is worth a visit: so much off the range, or so great a chance to turn the decision.
const OFF_THE_RANGE: f64 = 0.1;
const CHANCE_TO_TURN: f64 = 0.2;
/// How much of what the hypotheses expect to come off a range is promised: what came off those of simulated pits.
const PROMISED: f64 = 0.5;
/// A visit comes before the inlet is reached with more than this chance: it costs about a fiftieth of what a backup costs.
/// Judgement, no source.
const TOO_LATE: f64 = 0.02;
/// An early end of the range sooner than this, years, is within reach.
const WITHIN_REACH_YEARS: f64 = 0.5;
/// A pit in use that gets there within so many years with so great a chance is looked at once a year. Judgement, no source.
const MATTERS_YEARS: f64 = 10.0;
const MATTERS: f64 = 0.1;
const YEARLY: f64 = 1.0;
/// A house that uses a smaller share of the design flow leaves its pit out of use. Common practice, no source.
const IN_USE: f64 = 0.05;
/// A change of the median that is not small: to half of it and below, or to double and above.
const MUCH: f64 = 2.0;

/// When to measure next, and what a reading then is likely to tell.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::forecast::{NextReading, Question};
/// use soaklife::quantity::inches;
/// use soaklife::trend::absorption::Hypotheses;
/// use soaklife::{History, Pit, Reading};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let old = Reading::at_depth(&pit, date(2019, 5, 1), inches(96.0))?;
/// let history = History::new(pit).with_installed(date(2001, 5, 1)).with_readings([old]);
/// let question = Question::new(date(2026, 6, 30));
/// let next = NextReading::plan(&history, &question, &Hypotheses::default()).ok_or("no plan")?;
/// assert!(next.prospects().iter().all(|prospect| prospect.narrowing < 1.0)); // seven years on, any reading tells much
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct NextReading {
    range: [f64; 2],
    median: Option<f64>,
    readings_used: usize,
    prospects: Vec<Prospect>,
    advice: Advice,
}

/// One more reading on a date ahead, averaged over what it may find.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::forecast::Prospect;
/// let prospect = Prospect {
///     date: date(2027, 5, 1),
///     years: 0.84,
///     range: [4.1, 8.2],
///     narrowing: 0.7,
///     chance_of_turning: 0.05,
///     chance_of_much: 0.2,
/// };
/// assert!(prospect.narrowing < 1.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prospect {
    /// When.
    pub date: Date,
    /// Years from the day of the forecast.
    pub years: f64,
    /// Mean early and late end of the 80 % range after it, years from the day of the forecast, 60 at most.
    pub range: [f64; 2],
    /// Mean width of that range ÷ today's; 1 if today's has none.
    pub narrowing: f64,
    /// Chance that the reading turns the answer to whether somebody must act within two years of that date.
    pub chance_of_turning: f64,
    /// Chance that the reading brings the median of the years down to half of today's and below, or up to double and above. One beyond
    /// 60 years counts as farther than twice any other.
    pub chance_of_much: f64,
}

/// When to measure next.
///
/// ```
/// use soaklife::forecast::Advice;
/// assert_ne!(format!("{:?}", Advice::Monthly), "");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Advice {
    /// Monthly from now on: the inlet may be within reach.
    Monthly,
    /// By this date.
    By {
        /// The date, and what a reading then is likely to tell.
        prospect: Prospect,
        /// Why then.
        because: Because,
    },
}

/// Why a reading is due by a date.
///
/// ```
/// use soaklife::forecast::Because;
/// assert_ne!(Because::Narrows, Because::MayTurn);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Because {
    /// The range of years should narrow by a tenth or more.
    Narrows,
    /// It may turn the answer to whether somebody must act within two years.
    MayTurn,
    /// Later the inlet may be reached before anybody looks.
    InletMayBeNear,
    /// The pit is in use and may get there within ten years, and nothing sooner than a year is worth a visit.
    OnceAYear,
    /// It is as late as any date weighed, and nothing sooner is worth a visit.
    NothingSooner,
}

impl NextReading {
    /// Weighs readings ahead of the day of the question.
    ///
    /// Nothing for another method than absorption, for a pit that stands at its inlet, or where the record holds numbers too
    /// large to compute with. A date on which the level is still coming back from pumping out, or on which the pit rests, is not weighed.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{NextReading, Question};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Method, Pit};
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let by_line = Question::new(date(2026, 6, 30)).by(Method::Line);
    /// assert_eq!(NextReading::plan(&history, &by_line, &Hypotheses::default()), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn plan(history: &History, question: &Question, experience: &Hypotheses) -> Option<Self> {
        let known = history.recorded_by(question.as_of());
        let found = known.found_at_inlet(question.as_of(), question.action_freeboard());
        let at_inlet = matches!(found, Some(FoundAtInlet::Reached { .. }));
        if question.method() != Method::Absorption || at_inlet {
            return None;
        }
        let ahead = Ahead::of(&known, question, experience)?;
        let range = ends(&ahead.to_goal, 0.0);
        let prospects: Vec<Prospect> =
            MONTHS.iter().filter_map(|&months| ahead.prospect(months, range)).collect();
        let advice = advise(&ahead.to_goal, &prospects, ahead.may_matter())?;
        let (median, readings_used) = (ahead.to_goal.years(0.5), ahead.readings_used);
        Some(Self { range, median, readings_used, prospects, advice })
    }

    /// Median of the years today; none beyond 60.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{NextReading, Question};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let next = NextReading::plan(&history, &Question::new(date(2026, 6, 30)), &Hypotheses::default()).ok_or("")?;
    /// assert!(next.median().is_none_or(|median| median > next.range()[0]));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn median(&self) -> Option<f64> {
        self.median
    }

    /// How many readings of the record count.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{NextReading, Question};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let next = NextReading::plan(&history, &Question::new(date(2026, 6, 30)), &Hypotheses::default()).ok_or("")?;
    /// assert_eq!(next.readings_used(), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn readings_used(&self) -> usize {
        self.readings_used
    }

    /// Ends of the 80 % range of years today, 60 at most.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{NextReading, Question};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let next = NextReading::plan(&history, &Question::new(date(2026, 6, 30)), &Hypotheses::default()).ok_or("")?;
    /// let [early, late] = next.range();
    /// assert!(early < late && late == 60.0); // nobody has looked yet: it may last for good
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn range(&self) -> [f64; 2] {
        self.range
    }

    /// Every date weighed, the nearest first.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{NextReading, Question};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let next = NextReading::plan(&history, &Question::new(date(2026, 6, 30)), &Hypotheses::default()).ok_or("")?;
    /// assert_eq!(next.prospects().len(), 7);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn prospects(&self) -> &[Prospect] {
        &self.prospects
    }

    /// What to do.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{NextReading, Question};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let next = NextReading::plan(&history, &Question::new(date(2026, 6, 30)), &Hypotheses::default()).ok_or("")?;
    /// use soaklife::forecast::Advice;
    /// assert!(matches!(next.advice(), Advice::By { .. }));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn advice(&self) -> Advice {
        self.advice
    }
}

/// What is known on the day of the forecast.
struct Ahead<'h> {
    known: &'h History,
    as_of: Date,
    goal_in: f64,
    experience: &'h Hypotheses,
    followed: Absorption,
    readings_used: usize,
    to_goal: Passage,
    to_inlet: Passage,
}

impl<'h> Ahead<'h> {
    fn of(known: &'h History, question: &Question, experience: &'h Hypotheses) -> Option<Self> {
        let (depth, as_of) = (known.pit().effective_depth(), question.as_of());
        let goal_in = as_inches(depth - question.action_freeboard());
        let (followed, readings) = Absorption::follow_with_verdicts(known, as_of, experience);
        let readings_used = readings.iter().filter(|taken| taken.verdict.weight().is_some()).count();
        let to_goal = followed.reaches(goal_in)?;
        let to_inlet = followed.reaches(as_inches(depth))?;
        Some(Self { known, as_of, goal_in, experience, followed, readings_used, to_goal, to_inlet })
    }

    /// Whether the pit is in use and may get there within ten years.
    fn may_matter(&self) -> bool {
        let rests = self.known.lowered_for_a_while(&Reading::dry(self.as_of)) == Some(Reason::Resting);
        let is_used = self.known.load().is_none_or(|load| load.ratio_at(self.as_of) >= IN_USE);
        !rests && is_used && self.to_goal.chance_within(MATTERS_YEARS) >= MATTERS
    }

    fn prospect(&self, months: u32, [early, late]: [f64; 2]) -> Option<Prospect> {
        let years = f64::from(months) / 12.0;
        let date = date_after(self.as_of, years)?;
        if self.known.lowered_for_a_while(&Reading::dry(date)).is_some() {
            return None;
        }
        let must_act = self.to_goal.chance_within(years + SOON_YEARS) >= SOON;
        let median = self.to_goal.years(0.5);
        let (mut range, mut chance_of_turning, mut chance_of_much) = ([0.0; 2], 0.0, 0.0);
        for (chance, reading) in self.readings(date, years)? {
            let after = self.after(reading, date)?;
            for (mean, end) in range.iter_mut().zip(ends(&after, years)) {
                *mean += chance * end;
            }
            if (after.chance_within(SOON_YEARS) >= SOON) != must_act {
                chance_of_turning += chance;
            }
            if is_much(median, after.years(0.5).map(|ahead| years + ahead)) {
                chance_of_much += chance;
            }
        }
        for (mean, today) in range.iter_mut().zip([early, late]) {
            *mean = today + PROMISED * (*mean - today);
        }
        let narrowing = if late > early { (range[1] - range[0]) / (late - early) } else { 1.0 };
        Some(Prospect { date, years, range, narrowing, chance_of_turning, chance_of_much })
    }

    /// What a visit may find, each with its chance.
    fn readings(&self, date: Date, years: f64) -> Option<Vec<(f64, Reading)>> {
        let at_inlet = self.to_inlet.chance_within(years);
        let levels = self.followed.readings_below(&self.to_inlet, years, BELOW_INLET)?;
        let each = (1.0 - at_inlet) / f64::from(BELOW_INLET);
        let dry = levels.iter().filter(|&&level| level <= DRY_UNTIL_IN).count();
        let mut found = vec![(at_inlet, Reading::at_inlet(date)), (each * dry as f64, Reading::dry(date))];
        for level in levels.into_iter().filter(|&level| level > DRY_UNTIL_IN) {
            found.push((each, Reading::at_level(self.known.pit(), date, inches(level)).ok()?));
        }
        found.retain(|(chance, _)| *chance > 0.0);
        Some(found)
    }

    /// The forecast on that date with the reading in the record.
    fn after(&self, reading: Reading, date: Date) -> Option<Passage> {
        let readings = self.known.readings().iter().copied().chain([reading]);
        let history = self.known.clone().with_readings(readings);
        Absorption::follow(&history, date, self.experience).reaches(self.goal_in)
    }
}

/// Ends of the 80 % range seen from `years` ahead, in years from today.
fn ends(passage: &Passage, years: f64) -> [f64; 2] {
    EIGHTY
        .map(|share| passage.years(share).map_or(FARTHEST_YEARS, |ahead| (years + ahead).min(FARTHEST_YEARS)))
}

/// Whether a median of the years comes down to half of itself, or up to double; one beyond 60 years has no number.
fn is_much(today: Option<f64>, after: Option<f64>) -> bool {
    match (today, after) {
        (Some(today), Some(after)) => after * MUCH <= today || after >= today * MUCH,
        (None, None) => false,
        _ => true,
    }
}

fn advise(to_goal: &Passage, prospects: &[Prospect], may_matter: bool) -> Option<Advice> {
    if to_goal.years(EIGHTY[0]).is_some_and(|early| early < WITHIN_REACH_YEARS) {
        return Some(Advice::Monthly);
    }
    let allowed = prospects.iter().take_while(|prospect| !may_matter || prospect.years <= YEARLY).count();
    let (allowed, latest) = if allowed > 0 && may_matter {
        (prospects.get(..allowed)?, Because::OnceAYear)
    } else {
        (prospects, Because::NothingSooner)
    };
    let in_time = |prospect: &&Prospect| to_goal.chance_within(prospect.years) <= TOO_LATE;
    let last_in_time = allowed.iter().rfind(in_time).or(allowed.first())?;
    let worth = |prospect: &Prospect| {
        let narrows = (prospect.narrowing <= 1.0 - OFF_THE_RANGE).then_some(Because::Narrows);
        narrows.or((prospect.chance_of_turning >= CHANCE_TO_TURN).then_some(Because::MayTurn))
    };
    let first_worth = allowed.iter().find_map(|prospect| Some((prospect, worth(prospect)?)));
    let (prospect, because) = match first_worth {
        Some(first) if first.0.years <= last_in_time.years => first,
        _ if allowed.last() != Some(last_in_time) => (last_in_time, Because::InletMayBeNear),
        _ => (last_in_time, latest),
    };
    Some(Advice::By { prospect: *prospect, because })
}

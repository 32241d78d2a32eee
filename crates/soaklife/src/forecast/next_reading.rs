//! When to measure next: what one more stick reading is likely to tell, date by date, before it is taken.

use super::{Method, Question};
use crate::date::date_after;
use crate::fleet::SOON;
use crate::history::History;
use crate::quantity::{as_inches, inches};
use crate::reading::Reading;
use crate::trend::absorption::{Absorption, Hypotheses, Passage};
use jiff::civil::Date;

/// Months ahead at which a reading is weighed.
const MONTHS: [u32; 7] = [1, 3, 6, 9, 12, 18, 24];
/// Readings that stand for all a visit may find between dry and the inlet, equally likely.
const STRATA: u32 = 9;
/// A stick finds no liquid lower than this, inches.
const DRY_UNTIL_IN: f64 = 1.0;
/// Where the method's sight ends, years.
const FARTHEST_YEARS: f64 = 60.0;
/// Ends of the 80 % range.
const EIGHTY: [f64; 2] = [0.1, 0.9];
/// The decision that a reading may change: whether somebody must act within so many years.
const DECISION_YEARS: f64 = 2.0;
/// A visit gives so much news: the expected 80 % range of years is at most this share of today's.
const WORTH_NARROWING: f64 = 0.8;
/// Or the answer to the decision turns with at least this chance.
const WORTH_TURNING: f64 = 0.1;
/// A visit comes before the inlet is reached with more than this chance.
const TOO_LATE: f64 = 0.05;
/// Earlier than this, years, the early end of the range is within reach.
const WITHIN_REACH_YEARS: f64 = 0.5;

/// When to measure next, and what a reading then is likely to tell.
#[derive(Debug, Clone, PartialEq)]
pub struct NextReading {
    range: [f64; 2],
    prospects: Vec<Prospect>,
    advice: Advice,
}

/// One more reading on a date ahead, averaged over what it may find.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prospect {
    /// When.
    pub date: Date,
    /// Years from the day of the forecast.
    pub years: f64,
    /// Mean early and late end of the 80 % range after it, years from the day of the forecast.
    pub range: [f64; 2],
    /// Mean width of that range ÷ today's.
    pub narrowing: f64,
    /// Chance that the reading turns the decision whether somebody must act within two years.
    pub chance_of_turning: f64,
}

/// When to measure next.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Advice {
    /// Monthly from now on: the inlet may be within reach.
    Monthly,
    /// By this date, because a reading then is likely to tell something.
    By(Prospect),
    /// By this date, the last one weighed: nothing sooner is likely to tell much.
    NoHurry(Prospect),
}

impl NextReading {
    /// Weighs readings ahead; nothing for another method than absorption, for a pit that stands at its inlet, or for
    /// numbers too large to compute with.
    #[must_use]
    pub fn plan(history: &History, question: &Question, experience: &Hypotheses) -> Option<Self> {
        let known = history.recorded_by(question.as_of());
        let at_inlet = known.latest_standing(question.as_of()).is_some_and(|last| last.stands_at_inlet(known.pit()));
        if question.method() != Method::Absorption || at_inlet {
            return None;
        }
        let goal_in = as_inches(history.pit().effective_depth() - question.action_freeboard());
        let ahead = Ahead::of(&known, question.as_of(), goal_in, experience)?;
        let range = ends(&ahead.to_goal, 0.0);
        let prospects: Vec<Prospect> = MONTHS.iter().filter_map(|&months| ahead.prospect(months, range)).collect();
        let advice = advise(&ahead.to_goal, &prospects)?;
        Some(Self { range, prospects, advice })
    }

    /// Ends of the 80 % range of years today; a late end beyond 60 years counts as 60.
    #[must_use]
    pub fn range(&self) -> [f64; 2] {
        self.range
    }

    /// Every date weighed.
    #[must_use]
    pub fn prospects(&self) -> &[Prospect] {
        &self.prospects
    }

    /// What to do.
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
    to_goal: Passage,
    to_inlet: Passage,
}

impl<'h> Ahead<'h> {
    fn of(known: &'h History, as_of: Date, goal_in: f64, experience: &'h Hypotheses) -> Option<Self> {
        let followed = Absorption::follow(known, as_of, experience);
        let to_goal = followed.reaches(goal_in)?;
        let to_inlet = followed.reaches(as_inches(known.pit().effective_depth()))?;
        Some(Self { known, as_of, goal_in, experience, followed, to_goal, to_inlet })
    }

    fn prospect(&self, months: u32, [early, late]: [f64; 2]) -> Option<Prospect> {
        let years = f64::from(months) / 12.0;
        let date = date_after(self.as_of, years)?;
        let must_act = self.to_goal.chance_within(years + DECISION_YEARS) >= SOON;
        let (mut range, mut turning) = ([0.0; 2], 0.0);
        for (weight, reading) in self.readings(date, years)? {
            let after = self.after(reading, date)?;
            for (mean, end) in range.iter_mut().zip(ends(&after, years)) {
                *mean += weight * end;
            }
            if (after.chance_within(DECISION_YEARS) >= SOON) != must_act {
                turning += weight;
            }
        }
        let narrowing = if late > early { (range[1] - range[0]) / (late - early) } else { 1.0 };
        Some(Prospect { date, years, range, narrowing, chance_of_turning: turning })
    }

    /// What a visit may find, each with its chance: the inlet as the forecast says, the rest below it.
    fn readings(&self, date: Date, years: f64) -> Option<Vec<(f64, Reading)>> {
        let at_inlet = self.to_inlet.chance_within(years);
        let levels = self.followed.readings_below_inlet(years, STRATA)?;
        let weight = (1.0 - at_inlet) / f64::from(STRATA);
        let dry = levels.iter().filter(|&&level| level <= DRY_UNTIL_IN).count();
        let mut found = vec![(at_inlet, Reading::at_inlet(date)), (weight * dry as f64, Reading::dry(date))];
        for level in levels.into_iter().filter(|&level| level > DRY_UNTIL_IN) {
            found.push((weight, Reading::at_level(self.known.pit(), date, inches(level)).ok()?));
        }
        found.retain(|(weight, _)| *weight > 0.0);
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
    EIGHTY.map(|share| passage.years(share).map_or(FARTHEST_YEARS, |ahead| (years + ahead).min(FARTHEST_YEARS)))
}

fn advise(to_goal: &Passage, prospects: &[Prospect]) -> Option<Advice> {
    if to_goal.years(EIGHTY[0]).is_some_and(|early| early < WITHIN_REACH_YEARS) {
        return Some(Advice::Monthly);
    }
    let in_time = |prospect: &&Prospect| to_goal.chance_within(prospect.years) <= TOO_LATE;
    let last = prospects.iter().rfind(in_time).or(prospects.first())?;
    let worth = |prospect: &&Prospect| {
        prospect.narrowing <= WORTH_NARROWING || prospect.chance_of_turning >= WORTH_TURNING
    };
    Some(match prospects.iter().find(worth) {
        Some(first) if first.years <= last.years => Advice::By(*first),
        _ => Advice::NoHurry(*last),
    })
}

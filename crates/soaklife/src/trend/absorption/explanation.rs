//! What the readings made of the hypotheses, in numbers that can be told in words.

use super::Absorption;
use super::hypotheses::{Hypotheses, Lanes};
use super::record::{Record, Tested, left_out};
use crate::acceptance::MeasuredAcceptance;
use crate::history::{FoundAtInlet, History, ReadingUse, Reason, Verdict};
use crate::prior::{Course, TEMPERAMENTS};
use crate::quantity::Length;
use crate::reading::{Condition, Observation, Reading};
use jiff::civil::Date;

/// A pace that no stick notices, inches a year.
const UNNOTICED_IN: f64 = 0.25;
/// Readings of a record that can speak against a level at the inlet.
const ENOUGH_TO_CONTRADICT: usize = 3;
/// Standard deviations beyond which a tenth of a normal distribution lies.
const TENTH: f64 = 1.281_551_565_544_600_4;
/// Ends of the 80 % range of the pace.
const EIGHTY: [f64; 2] = [0.1, 0.9];

/// Which hypotheses the readings favour, the pace they agree on, and how much of the answer is theirs.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::prior::Course;
/// use soaklife::quantity::inches;
/// use soaklife::trend::absorption::{Absorption, Hypotheses};
/// use soaklife::{History, Pit};
///
/// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2010, 5, 1));
/// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
/// assert_eq!(told.share_of_readings(), 0.0); // there is none
/// let all: f64 = Course::ALL.iter().map(|&course| told.weight_of(course)).sum();
/// assert!((all - 1.0).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    courses: [f64; Course::ALL.len()],
    temperaments: [f64; TEMPERAMENTS],
    pace_in: [f64; 3],
    share_of_readings: f64,
    load_tests: Vec<LoadTestSaid>,
}

/// What a load test says of the level in use.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::acceptance::MeasuredAcceptance;
/// # use soaklife::quantity::{gallons_per_day, inches};
/// # use soaklife::trend::absorption::{Absorption, Hypotheses};
/// # use soaklife::{History, Pit};
/// let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
/// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_acceptances([taken]);
/// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
/// let [low, _, high] = told.load_tests()[0].settles_in;
/// assert!(low < 60.0 && high < 96.0); // the wall took three times what a household sends
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadTestSaid {
    /// What was measured.
    pub taken: MeasuredAcceptance,
    /// Level at which the household's flow would be taken, inches above the bottom and at most the inlet: 10 %, 50 % and 90 % points.
    pub settles_in: [f64; 3],
}

impl Explanation {
    /// Weight of the hypotheses of this course among all, 0 to 1.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::prior::Course;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// let dry = (2016..=2026).map(|year| Reading::dry(date(year, 5, 1)));
    /// let history = History::new(pit).with_installed(date(2010, 5, 1)).with_readings(dry);
    /// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
    /// assert!(told.weight_of(Course::Creeping) < 0.1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn weight_of(&self, course: Course) -> f64 {
        Course::ALL
            .iter()
            .zip(self.courses)
            .find(|(known, _)| **known == course)
            .map_or(0.0, |(_, weight)| weight)
    }

    /// Weights of the temperaments, from the calmest to the most restless; they add up to 1.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
    /// assert!((told.temperaments().iter().sum::<f64>() - 1.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn temperaments(&self) -> [f64; TEMPERAMENTS] {
        self.temperaments
    }

    /// Pace of the rise today, inches a year: 10 %, 50 % and 90 % points.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
    /// let [slow, usual, fast] = told.pace_in();
    /// assert!(slow < usual && usual < fast);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pace_in(&self) -> [f64; 3] {
        self.pace_in
    }

    /// What load tests say, oldest first.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
    /// assert!(told.load_tests().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn load_tests(&self) -> &[LoadTestSaid] {
        &self.load_tests
    }

    /// Share of the answer that the readings carry, 0 to 1; the rest is typical experience.
    ///
    /// 1 − w/w₀, w the width of the 80 % range of ln(pace + ¼ in a year) and w₀ its width before any reading; nothing as
    /// long as no liquid was found.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// let readings = (2012..=2026).map(|year| {
    ///     Reading::at_depth(&pit, date(year, 5, 1), inches(100.0 - 2.0 * f64::from(year - 2012)))
    /// });
    /// let history = History::new(pit).with_readings(readings.collect::<Result<Vec<_>, _>>()?);
    /// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
    /// assert!(told.share_of_readings() > 0.6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn share_of_readings(&self) -> f64 {
        self.share_of_readings
    }
}

impl Absorption {
    /// Why the answer is what it is.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let told = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default()).explanation();
    /// assert!(told.pace_in()[1] >= 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn explanation(&self) -> Explanation {
        let mut courses = [0.0; Course::ALL.len()];
        let mut temperaments = [0.0; TEMPERAMENTS];
        let nodes = self.outlook.nodes();
        let total: f64 = nodes.iter().map(|node| node.weight).sum();
        for node in nodes {
            let course = self.outlook.shapes().get(node.shape).map(|shape| shape.course);
            for (known, weight) in Course::ALL.iter().zip(&mut courses) {
                *weight += if Some(*known) == course { node.weight / total } else { 0.0 };
            }
            if let Some(weight) = temperaments.get_mut(node.temperament) {
                *weight += node.weight / total;
            }
        }
        let width = |of: &Self| {
            let paces = EIGHTY.map(|probability| of.pace_in(probability).unwrap_or_default().max(0.0));
            let [low, high] = paces.map(|pace| (pace + UNNOTICED_IN).ln());
            high - low
        };
        // No stick has met liquid yet: when it will, and how fast it rises then, is typical experience.
        let share_of_readings = if self.record.liquid_from.is_infinite() {
            0.0
        } else {
            (1.0 - width(self) / width(&self.unread())).clamp(0.0, 1.0)
        };
        let [low, high] = EIGHTY;
        let pace_in = [low, 0.5, high].map(|probability| self.pace_in(probability).unwrap_or_default());
        let load_tests = self.record.tested.iter().map(|test| self.said(test)).collect();
        Explanation { courses, temperaments, pace_in, share_of_readings, load_tests }
    }

    fn said(&self, test: &Tested) -> LoadTestSaid {
        let level_in = |deviations: f64| {
            let z = test.settles.mean + deviations * test.settles.spread;
            let above_bottom = self.record.full_in * z.exp() - self.hypotheses.prior().offset_in;
            above_bottom.clamp(0.0, self.record.effective_depth_in)
        };
        LoadTestSaid { taken: test.taken, settles_in: [-TENTH, 0.0, TENTH].map(level_in) }
    }

    /// Follows the record and tells of every reading the weight that it has been given; what the record leaves out is said
    /// to be left out.
    pub(crate) fn follow_with_verdicts(
        history: &History,
        as_of: Date,
        hypotheses: &Hypotheses,
    ) -> (Self, Vec<ReadingUse>) {
        let record = Record::of(history, as_of, hypotheses.prior());
        let mut fits = Vec::with_capacity(hypotheses.number_of_shapes() * record.soundings.len());
        let followed = Self::along(record, hypotheses, |place, shape, good| {
            fits.push(Fit { place, shape, good: *good });
        });
        let readings = followed.verdicts(history, as_of, &fits);
        (followed, readings)
    }

    fn verdicts(&self, history: &History, as_of: Date, fits: &[Fit]) -> Vec<ReadingUse> {
        let right = self.chances_of_being_right(fits);
        let soundings = &self.record.soundings;
        let mut good =
            right.into_iter().zip(soundings).filter(|(_, of)| of.is_reading()).map(|(right, _)| right);
        // Who says that the liquid stands at the inlet has seen the inlet; only a later look can speak against
        // that, and of a height above the inlet also the pit's own record.
        let few = soundings.iter().filter(|of| of.is_reading()).count() < ENOUGH_TO_CONTRADICT;
        let seen_since = match history.found_at_inlet(as_of, Length::default()) {
            Some(FoundAtInlet::Reached { since }) => Some(since.date().middle()),
            _ => None,
        };
        let is_seen = |reading: &Reading| {
            reading.observation() == Observation::AtInlet
                && seen_since.is_some_and(|since| reading.date().middle() >= since)
        };
        let believed =
            |reading: &Reading| reading.stands_at_inlet(history.pit()) && (few || is_seen(reading));
        let mut verdict_on = |reading: &Reading| {
            if let Some(reason) = left_out(history, reading, as_of) {
                return Verdict::SetAside(reason);
            }
            let weight = good.next().unwrap_or_default();
            let vacant = reading.condition() == Condition::Vacant;
            match history.lowered_for_a_while(reading) {
                Some(reason) => Verdict::SetAside(reason),
                None if vacant && reading.observation() == Observation::Dry => {
                    Verdict::SetAside(Reason::DryWhileVacant)
                }
                // What is no height in use still bounds it from below.
                None if vacant => Verdict::Used { weight },
                None if weight < 0.5 && !believed(reading) => Verdict::SetAside(Reason::OutOfLine),
                None => Verdict::Used { weight },
            }
        };
        let use_of = |reading: &Reading| ReadingUse { reading: *reading, verdict: verdict_on(reading) };
        history.readings().iter().map(use_of).collect()
    }

    /// For each reading the chance that it is no gross error, given all of them.
    fn chances_of_being_right(&self, fits: &[Fit]) -> Vec<f64> {
        let mut weights: Vec<Option<Lanes>> = vec![None; self.outlook.shapes().len()];
        let mut total = 0.0;
        for node in self.outlook.nodes() {
            total += node.weight;
            if let Some(weights) = weights.get_mut(node.shape) {
                weights.get_or_insert_default()[node.lane] = node.weight;
            }
        }
        let mut right = vec![0.0; self.record.soundings.len()];
        for fit in fits {
            // Those that do not count at the end have no say.
            let Some(weights) = weights.get(fit.shape).copied().flatten() else { continue };
            if let Some(right) = right.get_mut(fit.place) {
                *right +=
                    weights.iter().zip(fit.good).map(|(weight, good)| weight * good).sum::<f64>() / total;
            }
        }
        right
    }
}

/// How well one reading fitted one shape.
struct Fit {
    /// Of the reading in the record.
    place: usize,
    shape: usize,
    /// The chance, lane by lane, that the reading is no gross error.
    good: Lanes,
}

//! What a company's own pits teach about all of them: the population prior, learnt.
//!
//! Every record is held against the prior, and what would have made the records likelier moves it: how restless pits are,
//! which courses they take, when dry ones begin to fill and how fast, and their pace. Typical experience holds each number
//! back as if pits had been seen before (600 for the courses, 6,000 for the temperaments: short records make any pit look
//! calm), so 100 pits teach next to nothing and 1,000 a good deal. A lesson counts only if what one half of the fleet teaches
//! makes the records of the other half likelier.
//!
//! A fleet shows only those pits that have lasted. Left alone, that would teach every company that pits last; so each
//! record counts given that its pit is still in service, and each stands for those that began like it and are gone.
//!
//! Where the pits of a fleet differ by group (soil, maker, decade), each group learns in the same way from what the whole fleet
//! has taught ([`Experience::learn_from`]), held back by the fleet as the fleet is by typical experience. On two simulated groups of
//! 300 pits, one of which clogs at half the load, that lowered the loss for pits nobody had read by 1.4 % (standard error 0.5 %) and
//! changed nothing beyond noise for pits with readings (0.4 % more, 0.3 %); on two groups alike it did no harm
//! (`tests/fleet_learning.rs`).
//!
//! # Equations
//! The worth of a prior θ is Σᵢ ln P(readings of i | in service, θ) less the penalties. Weights by expectation and
//! maximisation: w ← (Σᵢ rᵢ + Σᵢ gᵢ + n₀ w₀)/(…), rᵢ the chances of the hypotheses after the readings of pit i, gᵢ = w (1 −
//! s)/Σ w s the pits gone for each that is left, s the chance of still serving. A pace or onset times eˣ: the x of greatest
//! worth less x²/(2σ²), by golden sections. Both rounds count x from the prior known before, which for a group is that of its
//! fleet. The bounds, three times and a third, are counted from typical experience for fleet and group alike: they are there
//! against mistakes in the records, and those of a fleet are those of its groups.
//!
//! # Source
//! Empirical Bayes in the sense of Robbins (1956); expectation and maximisation for truncated data: Dempster, Laird & Rubin
//! (1977), section 4.2.

mod grouped;
mod lesson;

use crate::history::History;
use crate::prior::PopulationPrior;
use crate::trend::absorption::Record;
pub use grouped::GroupedExperience;
use jiff::civil::Date;
pub use lesson::Lesson;
use lesson::{Before, log_likelihood};
use std::sync::Arc;

/// Most records kept; of a larger fleet every second, fourth, … pit teaches.
const MOST_RECORDS: usize = 8192;
/// Gain of the log-likelihood of the other half that makes a lesson worth taking.
const LEAST_GAIN: f64 = 3.0;
/// The lessons build on one another: they are gone through twice.
const ROUNDS: usize = 2;

/// The records of a fleet, ready to learn from. Bounded: at most 8,192 records are kept, evenly over the fleet.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::pooling::Experience;
/// use soaklife::prior::PopulationPrior;
/// use soaklife::{History, Pit, Reading, quantity::inches};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let mut experience = Experience::new(PopulationPrior::default());
/// let dry = (2021..=2026).map(|year| Reading::dry(date(year, 5, 1)));
/// experience.add(&History::new(pit).with_installed(date(2015, 5, 1)).with_readings(dry), date(2026, 6, 30));
/// // One pit teaches nothing.
/// assert_eq!(*experience.learn().prior(), PopulationPrior::default());
/// # Ok::<(), soaklife::pit::PitError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Experience {
    prior: PopulationPrior,
    records: Vec<Arc<Record>>,
    stride: usize,
    seen: usize,
}

impl Experience {
    /// None yet; `prior` is what is known before.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::Experience;
    /// # use soaklife::prior::PopulationPrior;
    /// assert_eq!(Experience::new(PopulationPrior::default()).pits(), 0);
    /// ```
    #[must_use]
    pub fn new(prior: PopulationPrior) -> Self {
        Self { prior, records: Vec::new(), stride: 1, seen: 0 }
    }

    /// Adds a pit as known on a day. One without readings teaches nothing and is not counted.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::pooling::Experience;
    /// # use soaklife::prior::PopulationPrior;
    /// # use soaklife::{History, Pit, quantity::inches};
    /// let mut experience = Experience::new(PopulationPrior::default());
    /// experience.add(&History::new(Pit::new(inches(30.0), inches(210.0))?), date(2026, 6, 30));
    /// assert_eq!(experience.pits(), 0); // nobody read it
    /// # Ok::<(), soaklife::pit::PitError>(())
    /// ```
    pub fn add(&mut self, history: &History, as_of: Date) {
        if let Some(pit) = PreparedPit::new(history, as_of, &self.prior) {
            self.add_prepared(pit);
        }
    }

    /// The same with a pit that has been prepared, on another thread perhaps. Who teaches depends on the order of adding alone.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::pooling::{Experience, PreparedPit};
    /// # use soaklife::prior::PopulationPrior;
    /// # use soaklife::{History, Pit, Reading, quantity::inches};
    /// let prior = PopulationPrior::default();
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_readings([Reading::dry(date(2026, 5, 1))]);
    /// let mut experience = Experience::new(prior.clone());
    /// if let Some(pit) = PreparedPit::new(&history, date(2026, 6, 30), &prior) {
    ///     experience.add_prepared(pit);
    /// }
    /// assert_eq!(experience.pits(), 1);
    /// # Ok::<(), soaklife::pit::PitError>(())
    /// ```
    pub fn add_prepared(&mut self, pit: PreparedPit) {
        if self.seen.is_multiple_of(self.stride) && self.records.len() == MOST_RECORDS {
            self.thin();
        }
        if self.seen.is_multiple_of(self.stride) {
            self.records.push(pit.record);
        }
        self.seen += 1;
    }

    /// Lets every second record go.
    fn thin(&mut self) {
        self.stride *= 2;
        let mut place = 0_usize;
        self.records.retain(|_| {
            place += 1;
            place % 2 == 1
        });
    }

    /// Pits with readings that were added.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::pooling::Experience;
    /// # use soaklife::prior::PopulationPrior;
    /// # use soaklife::{History, Pit, Reading, quantity::inches};
    /// let mut experience = Experience::new(PopulationPrior::default());
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// experience.add(&history.with_readings([Reading::dry(date(2026, 5, 1))]), date(2026, 6, 30));
    /// assert_eq!(experience.pits(), 1);
    /// # Ok::<(), soaklife::pit::PitError>(())
    /// ```
    #[must_use]
    pub fn pits(&self) -> usize {
        self.seen
    }

    /// What these pits teach. Takes some 3 ms a record.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::Experience;
    /// # use soaklife::prior::PopulationPrior;
    /// let learnt = Experience::new(PopulationPrior::default()).learn();
    /// assert!(learnt.lessons().iter().all(|&(_, gain)| gain == 0.0));
    /// ```
    #[must_use]
    pub fn learn(&self) -> Learnt {
        self.learn_from(&self.prior)
    }

    /// What these pits, a group of a fleet, teach beyond what the whole fleet has taught: `base`, learnt from the same prior,
    /// takes the place of typical experience and holds a small group back.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::Experience;
    /// # use soaklife::prior::PopulationPrior;
    /// let nobody = Experience::new(PopulationPrior::default());
    /// let fleet = PopulationPrior { reference_load: 10.0, ..PopulationPrior::default() };
    /// assert_eq!(*nobody.learn_from(&fleet).prior(), fleet);
    /// ```
    #[must_use]
    pub fn learn_from(&self, base: &PopulationPrior) -> Learnt {
        let all: Vec<&Record> = self.records.iter().map(Arc::as_ref).collect();
        let half = |from: usize| all.iter().copied().skip(from).step_by(2).collect::<Vec<_>>();
        let [even, odd] = [half(0), half(1)];
        let before = Before { typical: &self.prior, base };
        let mut learnt = Learnt { prior: base.clone(), lessons: Lesson::ALL.map(|lesson| (lesson, 0.0)) };
        for _ in 0..ROUNDS {
            for (lesson, gained) in &mut learnt.lessons {
                let gain_in = |taught_by: &[&Record], held_out: &[&Record]| {
                    let taught = lesson.taught(&learnt.prior, before, taught_by);
                    log_likelihood(&taught, held_out) - log_likelihood(&learnt.prior, held_out)
                };
                let gain = gain_in(&even, &odd) + gain_in(&odd, &even);
                if gain > LEAST_GAIN {
                    learnt.prior = lesson.taught(&learnt.prior, before, &all);
                    *gained += gain;
                }
            }
        }
        learnt
    }
}

/// A pit that can teach: the part of [`Experience::add`] that asks nothing of the other pits.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::pooling::PreparedPit;
/// use soaklife::prior::PopulationPrior;
/// use soaklife::{History, Pit, quantity::inches};
/// let unread = History::new(Pit::new(inches(30.0), inches(210.0))?);
/// assert!(PreparedPit::new(&unread, date(2026, 6, 30), &PopulationPrior::default()).is_none());
/// # Ok::<(), soaklife::pit::PitError>(())
/// ```
#[derive(Debug, Clone)]
pub struct PreparedPit {
    record: Arc<Record>,
}

impl PreparedPit {
    /// A pit as known on a day, for an [`Experience`] with this prior; nothing if nobody read it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::pooling::PreparedPit;
    /// # use soaklife::prior::PopulationPrior;
    /// # use soaklife::{History, Pit, Reading, quantity::inches};
    /// let read = History::new(Pit::new(inches(30.0), inches(210.0))?).with_readings([Reading::dry(date(2026, 5, 1))]);
    /// assert!(PreparedPit::new(&read, date(2026, 6, 30), &PopulationPrior::default()).is_some());
    /// # Ok::<(), soaklife::pit::PitError>(())
    /// ```
    #[must_use]
    pub fn new(history: &History, as_of: Date, prior: &PopulationPrior) -> Option<Self> {
        let is_read = !history.readings().is_empty();
        is_read.then(|| Self { record: Arc::new(Record::of(history, as_of, prior)) })
    }
}

/// A prior learnt from a fleet, and which lessons were worth taking.
///
/// ```
/// use soaklife::fleet::pooling::Experience;
/// use soaklife::prior::PopulationPrior;
/// let learnt = Experience::new(PopulationPrior::default()).learn();
/// assert_eq!(*learnt.prior(), PopulationPrior::default()); // nobody has taught anything
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Learnt {
    prior: PopulationPrior,
    lessons: [(Lesson, f64); Lesson::ALL.len()],
}

impl Learnt {
    /// The prior.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::Experience;
    /// # use soaklife::prior::PopulationPrior;
    /// let learnt = Experience::new(PopulationPrior::default()).learn();
    /// assert!(learnt.prior().clone().validated().is_ok());
    /// ```
    #[must_use]
    pub fn prior(&self) -> &PopulationPrior {
        &self.prior
    }

    /// Each lesson with its gain: by how much what one half of the fleet taught raised the log-likelihood of the other
    /// half's readings; 0 where it was not worth taking.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::{Experience, Lesson};
    /// # use soaklife::prior::PopulationPrior;
    /// let learnt = Experience::new(PopulationPrior::default()).learn();
    /// assert_eq!(learnt.lessons().len(), Lesson::ALL.len());
    /// ```
    #[must_use]
    pub fn lessons(&self) -> &[(Lesson, f64)] {
        &self.lessons
    }
}

/// Which of so many parts of a fleet a pit belongs to, by its identifier alone: to learn from all parts but one and to
/// forecast that one. The same for ever, on every machine (the FNV-1a hash); 0 where there is no part to choose.
///
/// ```
/// use soaklife::fleet::pooling::part_of;
/// assert!(part_of("AF-01", 5) < 5);
/// assert_eq!(part_of("AF-01", 5), part_of("AF-01", 5));
/// assert_eq!(part_of("AF-01", 0), 0);
/// ```
#[must_use]
pub fn part_of(pit_id: &str, parts: u64) -> u64 {
    let mixed = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    pit_id.bytes().fold(0xcbf2_9ce4_8422_2325, mixed).checked_rem(parts).unwrap_or(0)
}

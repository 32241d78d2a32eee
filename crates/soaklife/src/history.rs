//! What has happened to a pit, and which readings speak for it as it is now.

mod at_inlet;
mod close_to_inlet;

pub use at_inlet::FoundAtInlet;
pub use close_to_inlet::{CLOSE_TO_INLET_DAYS, CLOSE_TO_INLET_IN, CloseToInlet};

use crate::acceptance::MeasuredAcceptance;
use crate::date::PartialDate;
use crate::loading::LoadHistory;
use crate::pit::Pit;
use crate::quantity::{Length, as_inches};
use crate::reading::{Condition, Observation, Reading};
use crate::soil::Soil;
use jiff::civil::Date;
use std::fmt;

/// All that is known about one pit: its dimensions, age, load, readings and events.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::history::{Event, EventKind, History, Verdict};
/// use soaklife::pit::Pit;
/// use soaklife::quantity::inches;
/// use soaklife::reading::Reading;
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let history = History::new(pit)
///     .with_readings([
///         Reading::at_depth(&pit, date(2024, 5, 2), inches(96.0))?,
///         Reading::at_depth(&pit, date(2025, 6, 3), inches(150.0))?,
///     ])
///     .with_events([Event::new(date(2025, 4, 1), EventKind::PumpedOut)]);
/// let uses = history.readings_for_a_line(date(2026, 6, 30));
/// assert!(matches!(uses[0].verdict, Verdict::Used { .. }));
/// assert_eq!(uses[1].verdict.to_string(), "set aside: within 6 months after pumping out on 2025-04-01");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    pit: Pit,
    installed: Option<PartialDate>,
    soil: Soil,
    load: Option<LoadHistory>,
    readings: Vec<Reading>,
    acceptances: Vec<MeasuredAcceptance>,
    events: Vec<Event>,
}

/// Something done to the system on a date.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::history::{Event, EventKind};
/// let event = Event::new(date(2025, 4, 1), EventKind::PumpedOut);
/// assert_eq!((event.date.to_string().as_str(), event.kind), ("2025-04-01", EventKind::PumpedOut));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Event {
    /// When.
    pub date: PartialDate,
    /// What.
    pub kind: EventKind,
}

/// What can be done to a system.
///
/// ```
/// # use soaklife::history::EventKind;
/// assert!(EventKind::Replaced.starts_afresh() && !EventKind::PumpedOut.starts_afresh());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum EventKind {
    /// The pit was pumped out: the level is lowered for days or weeks, acceptance is not restored.
    PumpedOut,
    /// The pipe upstream was repaired.
    PipeRepaired,
    /// The pit was taken out of use to rest.
    RestStarted,
    /// The pit was put back in use.
    RestEnded,
    /// The absorbing wall was restored.
    Rehabilitated,
    /// A second pit was added.
    PitAdded,
    /// Depths are read from another rim from now on.
    DatumChanged,
    /// The pit was replaced by a new one.
    Replaced,
}

/// A reading and what a fitted line makes of it.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::history::{History, Verdict};
/// # use soaklife::quantity::inches;
/// # use soaklife::{Pit, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
/// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
/// # let history = History::new(pit).with_readings([last, first]);
/// let uses = history.readings_for_a_line(date(2026, 6, 30));
/// assert_eq!((uses[0].reading, uses[0].verdict), (first, Verdict::Used { weight: 1.0 }));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingUse {
    /// The reading.
    pub reading: Reading,
    /// Whether it counts, and why not.
    pub verdict: Verdict,
}

/// Whether a reading speaks for the pit as it is now.
///
/// ```
/// # use soaklife::history::{Reason, Verdict};
/// assert_eq!(Verdict::SetAside(Reason::Dry).to_string(), "set aside: dry: a line needs a height");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Verdict {
    /// It counts, with this weight (1 for a reading in normal use).
    Used {
        /// Relative weight, the inverse of the relative variance.
        weight: f64,
    },
    /// It does not count.
    SetAside(Reason),
}

/// Why a reading does not speak for the pit as it is now.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::history::{History, Reason, Verdict};
/// # use soaklife::quantity::inches;
/// # use soaklife::{Pit, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
/// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
/// # let history = History::new(pit).with_readings([last, first]);
/// let dry = history.with_readings([Reading::dry(date(2026, 5, 1))]);
/// assert_eq!(dry.readings_for_a_line(date(2026, 6, 30))[0].verdict, Verdict::SetAside(Reason::Dry));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// Taken after the day of the forecast.
    AfterAsOf,
    /// Taken before something that changed the pit or the datum.
    Before(Event),
    /// Taken while the pit rested.
    Resting,
    /// Taken within six months after the pit was pumped out.
    AfterPumping {
        /// When it was pumped out, if an event says so.
        pumped: Option<Date>,
    },
    /// Doubted by whoever took it.
    Suspect,
    /// Dry: the level lies at or below the bottom, a bound and not a height.
    Dry,
    /// Dry in a house where nobody was at home: the wall has drained the pit.
    DryWhileVacant,
    /// At the inlet: the level is at least that, a bound and not a height.
    AtInlet,
    /// It does not fit the others: most likely misread or misrecorded.
    OutOfLine,
}

/// How long after pumping out the level may still be on its way back, years.
///
/// Common practice, no source: days or weeks in most pits, a season in a slow one.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::history::{Event, EventKind, History};
/// # use soaklife::quantity::inches;
/// # use soaklife::{Pit, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
/// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
/// # let history = History::new(pit).with_readings([last, first]);
/// use soaklife::history::RECOVERY_AFTER_PUMPING_YEARS;
/// let pumped = history.with_events([Event::new(date(2026, 1, 1), EventKind::PumpedOut)]); // four months before
/// assert!(RECOVERY_AFTER_PUMPING_YEARS > 4.0 / 12.0);
/// assert!(pumped.readings_for_a_line(date(2026, 6, 30))[1].verdict.weight().is_none());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub const RECOVERY_AFTER_PUMPING_YEARS: f64 = 0.5;

/// A rest whose end was not recorded is taken to last this long at most, years.
///
/// # Source
/// Alternating fields rest 6 to 12 months: EPA 625/1-80-012 (1980), pp. 234–235.
const LONGEST_REST_YEARS: f64 = 1.0;

impl EventKind {
    /// Every kind, in the order of the documentation.
    ///
    /// ```
    /// # use soaklife::history::EventKind;
    /// assert_eq!(EventKind::ALL.len(), 8);
    /// ```
    pub const ALL: [Self; 8] = [
        Self::PumpedOut,
        Self::PipeRepaired,
        Self::RestStarted,
        Self::RestEnded,
        Self::Rehabilitated,
        Self::PitAdded,
        Self::DatumChanged,
        Self::Replaced,
    ];

    /// Whether readings from before it cannot be lined up with those after it.
    ///
    /// A rest, a repair or a second pit shifts the level; another rim shifts the stick. Pumping out does not:
    /// the level comes back.
    ///
    /// # Source
    /// A rest breaks the trend: EPA 625/1-80-012 (1980), pp. 234–235. The others: common practice, no source.
    ///
    /// ```
    /// # use soaklife::history::EventKind;
    /// assert!(EventKind::DatumChanged.starts_afresh() && !EventKind::RestStarted.starts_afresh());
    /// ```
    #[must_use]
    pub fn starts_afresh(self) -> bool {
        !matches!(self, Self::PumpedOut | Self::RestStarted)
    }

    /// The event in words, as in "before …".
    ///
    /// ```
    /// # use soaklife::history::EventKind;
    /// assert_eq!(EventKind::DatumChanged.in_words(), "the change of rim");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::PumpedOut => "pumping out",
            Self::PipeRepaired => "the pipe repair",
            Self::RestStarted => "the rest",
            Self::RestEnded => "the end of the rest",
            Self::Rehabilitated => "rehabilitation",
            Self::PitAdded => "the second pit",
            Self::DatumChanged => "the change of rim",
            Self::Replaced => "replacement",
        }
    }
}

impl Event {
    /// An event on a date.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::{Event, EventKind};
    /// assert_eq!(Event::new(date(2025, 4, 1), EventKind::Replaced).kind, EventKind::Replaced);
    /// ```
    #[must_use]
    pub fn new(date: impl Into<PartialDate>, kind: EventKind) -> Self {
        Self { date: date.into(), kind }
    }
}

impl Verdict {
    /// The weight of a used reading.
    ///
    /// ```
    /// # use soaklife::history::{Reason, Verdict};
    /// assert_eq!(Verdict::Used { weight: 0.5 }.weight(), Some(0.5));
    /// assert_eq!(Verdict::SetAside(Reason::Suspect).weight(), None);
    /// ```
    #[must_use]
    pub fn weight(self) -> Option<f64> {
        match self {
            Self::Used { weight } => Some(weight),
            Self::SetAside(_) => None,
        }
    }
}

/// A reading of less weight than this is used with a doubt.
const DOUBTFUL: f64 = 0.9;

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Used { weight } if *weight < DOUBTFUL => write!(f, "used, with less weight"),
            Self::Used { .. } => write!(f, "used"),
            Self::SetAside(reason) => write!(f, "set aside: {reason}"),
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AfterAsOf => write!(f, "taken after the day of the forecast"),
            Self::Before(event) => write!(f, "before {} of {}", event.kind.in_words(), event.date),
            Self::Resting => write!(f, "taken while the pit rested"),
            Self::AfterPumping { pumped: Some(date) } => {
                write!(f, "within 6 months after pumping out on {date}")
            }
            Self::AfterPumping { pumped: None } => write!(f, "taken after pumping out"),
            Self::Suspect => write!(f, "doubted by whoever took it"),
            Self::Dry => write!(f, "dry: a line needs a height"),
            Self::DryWhileVacant => {
                write!(f, "dry while nobody was at home: the level comes back with the people")
            }
            Self::AtInlet => write!(f, "at the inlet: a line needs a height below it"),
            Self::OutOfLine => write!(f, "out of line with the others, most likely misread"),
        }
    }
}

impl History {
    /// A pit of which nothing else is known yet.
    ///
    /// ```
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::Pit;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// assert!(History::new(pit).readings().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn new(pit: Pit) -> Self {
        Self {
            pit,
            installed: None,
            soil: Soil::Unknown,
            load: None,
            readings: Vec::new(),
            acceptances: Vec::new(),
            events: Vec::new(),
        }
    }

    /// Another pit of which nothing else is known yet, in the memory of this history: for whoever goes through many pits and keeps
    /// none of them.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let done = History::new(pit).with_readings([reading]);
    /// let next = Pit::new(inches(36.0), inches(180.0))?;
    /// assert_eq!(done.for_another(next), History::new(next));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn for_another(self, pit: Pit) -> Self {
        let (mut readings, mut events) = (self.readings, self.events);
        readings.clear();
        events.clear();
        Self { readings, events, ..Self::new(pit) }
    }

    /// The same, with the date of installation.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert!(history.with_installed(date(1990, 7, 1)).installed().is_some());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn with_installed(self, installed: impl Into<PartialDate>) -> Self {
        Self { installed: Some(installed.into()), ..self }
    }

    /// The same, with the soil around it.
    ///
    /// ```
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::Pit;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// use soaklife::soil::Soil;
    /// assert_eq!(History::new(pit).with_soil(Soil::Sand).soil(), Soil::Sand);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn with_soil(self, soil: Soil) -> Self {
        Self { soil, ..self }
    }

    /// The soil around it, if known.
    ///
    /// ```
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::Pit;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// use soaklife::soil::Soil;
    /// assert_eq!(History::new(pit).soil(), Soil::Unknown);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn soil(&self) -> Soil {
        self.soil
    }

    /// The same, with its load.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::{LoadHistory, Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(225.0))?;
    /// assert_eq!(history.with_load(load).load().map(|load| load.ratio_at(date(2026, 1, 1))), Some(0.5));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn with_load(self, load: LoadHistory) -> Self {
        Self { load: Some(load), ..self }
    }

    /// The same, with these readings in place of any it had; their order does not matter.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert_eq!(history.readings(), [first, last]); // sorted by date
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn with_readings(mut self, readings: impl IntoIterator<Item = Reading>) -> Self {
        self.readings.clear();
        self.readings.extend(readings);
        if !self.readings.is_sorted_by(|before, after| before.date().days_to(after.date()) > 0) {
            self.readings.sort_by(Reading::chronological);
        }
        self
    }

    /// The same, with what load tests measured in place of any it had; their order does not matter.
    ///
    /// Only [`crate::Method::Absorption`] asks them.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::Pit;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// use soaklife::acceptance::MeasuredAcceptance;
    /// use soaklife::quantity::gallons_per_day;
    /// let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
    /// assert_eq!(History::new(pit).with_acceptances([taken]).acceptances(), [taken]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn with_acceptances(self, acceptances: impl IntoIterator<Item = MeasuredAcceptance>) -> Self {
        let mut acceptances: Vec<MeasuredAcceptance> = acceptances.into_iter().collect();
        acceptances.sort_by(|one, other| {
            one.date().cmp(&other.date()).then_with(|| one.flow().value.total_cmp(&other.flow().value))
        });
        Self { acceptances, ..self }
    }

    /// What load tests measured, oldest first.
    ///
    /// ```
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::Pit;
    /// let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// assert!(History::new(pit).acceptances().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn acceptances(&self) -> &[MeasuredAcceptance] {
        &self.acceptances
    }

    /// The same, with these events in place of any it had; their order does not matter.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::{Event, EventKind, History};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// let history = history.with_events([Event::new(date(2024, 6, 1), EventKind::DatumChanged)]);
    /// assert_eq!(history.events().len(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn with_events(mut self, events: impl IntoIterator<Item = Event>) -> Self {
        self.events.clear();
        self.events.extend(events);
        self.events.sort_by_key(|event| (event.date.middle(), event.kind as u8));
        self
    }

    /// The pit.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert_eq!(*history.pit(), pit);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pit(&self) -> &Pit {
        &self.pit
    }

    /// When the pit was installed, if known.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert_eq!(history.installed(), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn installed(&self) -> Option<PartialDate> {
        self.installed
    }

    /// The load, if known.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert_eq!(history.load(), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn load(&self) -> Option<&LoadHistory> {
        self.load.as_ref()
    }

    /// The readings, oldest first.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert_eq!(history.readings().len(), 2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    /// The events, oldest first.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert!(history.events().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// Every reading with what a fitted line makes of it on the day of the forecast, oldest first.
    ///
    /// A line can use liquid levels only, of the pit as it is now: not from before a new datum or a change to
    /// the system, not while it rested or came back from pumping out, not in doubt.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::{History, Reason, Verdict};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// let uses = history.readings_for_a_line(date(2025, 1, 1));
    /// assert_eq!(uses[1].verdict, Verdict::SetAside(Reason::AfterAsOf));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn readings_for_a_line(&self, as_of: Date) -> Vec<ReadingUse> {
        self.readings.iter().map(|&reading| self.verdict_on(reading, as_of)).collect()
    }

    fn verdict_on(&self, reading: Reading, as_of: Date) -> ReadingUse {
        let verdict = match self.reason_against(&reading, as_of) {
            Some(reason) => Verdict::SetAside(reason),
            None => Verdict::Used { weight: 1.0 / reading.relative_variance() },
        };
        ReadingUse { reading, verdict }
    }

    fn reason_against(&self, reading: &Reading, as_of: Date) -> Option<Reason> {
        let taken = reading.date().middle();
        if taken > as_of {
            return Some(Reason::AfterAsOf);
        }
        if let Some(event) = self.fresh_start_between(taken, as_of) {
            return Some(Reason::Before(event));
        }
        if let Some(lowered) = self.lowered_for_a_while(reading) {
            return Some(lowered);
        }
        match (reading.condition(), reading.observation()) {
            (Condition::Suspect, _) => Some(Reason::Suspect),
            (_, Observation::Dry) => Some(Reason::Dry),
            _ if reading.stands_at_inlet(&self.pit) => Some(Reason::AtInlet),
            _ => None,
        }
    }

    /// Why the level stood lower than it stands in use: the pit rested, or was still filling after pumping out.
    pub(crate) fn lowered_for_a_while(&self, reading: &Reading) -> Option<Reason> {
        let taken = reading.date().middle();
        if self.rests_at(taken) {
            return Some(Reason::Resting);
        }
        if let Some(pumped) = self.pumped_out_shortly_before(taken) {
            return Some(Reason::AfterPumping { pumped: Some(pumped) });
        }
        (reading.condition() == Condition::AfterPumping).then_some(Reason::AfterPumping { pumped: None })
    }

    /// The last event after `taken` and by `as_of` that separates then from now.
    fn fresh_start_between(&self, taken: Date, as_of: Date) -> Option<Event> {
        let separates = |event: &&Event| {
            let day = event.date.middle();
            event.kind.starts_afresh() && day > taken && day <= as_of
        };
        self.events.iter().rfind(separates).copied()
    }

    fn rests_at(&self, day: Date) -> bool {
        let turns = |event: &&Event| matches!(event.kind, EventKind::RestStarted | EventKind::RestEnded);
        let last = self.events.iter().filter(turns).rfind(|event| event.date.middle() <= day);
        let Some(begun) = last.filter(|event| event.kind == EventKind::RestStarted) else { return false };
        let ended_later = self.events.iter().filter(turns).find(|event| event.date.middle() > day);
        ended_later.is_some_and(|event| event.kind == EventKind::RestEnded)
            || crate::date::years_between(begun.date.middle(), day) <= LONGEST_REST_YEARS
    }

    fn pumped_out_shortly_before(&self, day: Date) -> Option<Date> {
        let pumped = |event: &&Event| event.kind == EventKind::PumpedOut && event.date.middle() <= day;
        let last = self.events.iter().rfind(pumped)?.date.middle();
        let years = crate::date::years_between(last, day);
        (years <= RECOVERY_AFTER_PUMPING_YEARS).then_some(last)
    }

    /// What could be known on a day: no reading or event that is later or, by an inexact date, may be later, and no
    /// load that had not begun.
    ///
    /// The pit itself is as it is described today.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::date::PartialDate;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, PartialDate::year(2024)?, inches(92.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert_eq!(history.known_by(date(2024, 9, 1)).readings(), [first]); // "2024" may mean November
    /// assert_eq!(history.known_by(date(2024, 12, 31)).readings(), [first, last]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn known_by(&self, day: Date) -> Self {
        let load = self.load.as_ref().map(|load| load.known_by(day));
        // The first ratio reaches back before its day only for those who know it.
        let has_begun = |load: &LoadHistory| load.steps().first().is_some_and(|step| step.from <= day);
        Self {
            load: load.filter(has_begun),
            readings: self.readings.iter().filter(|reading| reading.date().last() <= day).copied().collect(),
            acceptances: self.acceptances.iter().filter(|taken| taken.date() <= day).copied().collect(),
            events: self.events.iter().filter(|event| event.date.last() <= day).copied().collect(),
            ..self.clone()
        }
    }

    /// The record up to a day as a forecast of that day sees it, every date taken at its middle.
    pub(crate) fn recorded_by(&self, day: Date) -> Self {
        let past = |date: PartialDate| date.middle() <= day;
        Self {
            load: self.load.as_ref().map(|load| load.known_by(day)),
            readings: self.readings.iter().filter(|reading| past(reading.date())).copied().collect(),
            acceptances: self.acceptances.iter().filter(|taken| taken.date() <= day).copied().collect(),
            events: self.events.iter().filter(|event| past(event.date)).copied().collect(),
            ..self.clone()
        }
    }

    /// The last reading that says where the liquid stands now: not after the day of the forecast, not before
    /// a fresh start, not after pumping out, not in doubt. Dry and at-inlet readings count here.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// assert_eq!(history.latest_standing(date(2026, 6, 30)), Some(last));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn latest_standing(&self, as_of: Date) -> Option<Reading> {
        let says_where = |reading: &&Reading| {
            matches!(self.reason_against(reading, as_of), None | Some(Reason::Dry | Reason::AtInlet))
        };
        self.readings.iter().rfind(says_where).copied()
    }

    /// The hand check: inches left ÷ inches a year between the first and the last usable liquid reading.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::History;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// # let history = History::new(pit).with_readings([last, first]);
    /// let check = history.hand_check(date(2026, 6, 30)).ok_or("one reading")?;
    /// assert!((as_inches(check.rise_per_year) - 3.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn hand_check(&self, as_of: Date) -> Option<HandCheck> {
        HandCheck::of_used(&self.pit, &self.readings_for_a_line(as_of))
    }
}

/// What anybody can work out on paper: freeboard left and how fast it went.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::history::HandCheck;
/// use soaklife::pit::Pit;
/// use soaklife::quantity::inches;
/// use soaklife::reading::Reading;
///
/// // Common practice, no source: 12 in left at 3 inches a year is 4 years.
/// let pit = Pit::new(inches(20.0), inches(140.0))?;
/// let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(44.0))?;
/// let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(32.0))?;
/// let check = HandCheck::between(&pit, &first, &last).ok_or("no time between")?;
/// assert!((check.years().ok_or("not rising")? - 4.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandCheck {
    /// Freeboard at the last reading.
    pub left: Length,
    /// Rise a year between the two readings; negative if the level fell.
    pub rise_per_year: Length,
    /// Date of the first reading.
    pub from: PartialDate,
    /// Date of the last reading.
    pub to: PartialDate,
}

impl HandCheck {
    /// The check between the first and the last reading that counts.
    pub(crate) fn of_used(pit: &Pit, readings: &[ReadingUse]) -> Option<Self> {
        let mut used = readings.iter().filter(|taken| taken.verdict.weight().is_some());
        let first = used.next()?;
        let last = used.next_back()?;
        Self::between(pit, &first.reading, &last.reading)
    }

    /// The check between two readings; nothing if both were taken on one day.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::HandCheck;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let first = Reading::at_depth(&pit, date(2022, 5, 1), inches(98.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// let check = HandCheck::between(&pit, &first, &last).ok_or("one day")?;
    /// assert!((as_inches(check.left) - 56.0).abs() < 1e-9);
    /// assert_eq!(HandCheck::between(&pit, &last, &last), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn between(pit: &Pit, first: &Reading, last: &Reading) -> Option<Self> {
        let years = crate::date::years_between(first.date().middle(), last.date().middle());
        let left = pit.freeboard(last.level(pit));
        let rise_per_year = (last.level(pit) - first.level(pit)) / years;
        (years > 0.0).then_some(Self { left, rise_per_year, from: first.date(), to: last.date() })
    }

    /// Years from the last reading until nothing is left; nothing if the level does not rise.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::HandCheck;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(86.0))?;
    /// let falling = HandCheck::between(&pit, &last, &Reading::at_depth(&pit, date(2027, 5, 1), inches(90.0))?);
    /// assert_eq!(falling.and_then(|check| check.years()), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years(&self) -> Option<f64> {
        let (left_in, rise_in) = (as_inches(self.left), as_inches(self.rise_per_year));
        let years = left_in / rise_in;
        (rise_in > 0.0 && years.is_finite()).then_some(years.max(0.0))
    }
}

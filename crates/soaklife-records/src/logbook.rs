//! A logbook read whole: every table in one pass, every problem collected, every pit with its history.

use crate::assembly::{Assembly, Known};
use crate::events;
use crate::folder::{LogbookError, Opening, check_folder, open, unreadable};
use crate::load_ratio::{LoadRatios, at_load};
use crate::load_tests;
use crate::occupancy;
use crate::pits::{Pits, RejectedPit};
use crate::problem::{Problem, Problems, Severity, Tally, Whole};
use crate::readings::{self, Days, ReadingsByPit};
use crate::schema::{EVENTS_TABLE, LOAD_TESTS, OCCUPANCY, PITS, READINGS};
use crate::settings::Settings;
use jiff::civil::Date;
use soaklife::history::History;
use soaklife::load_test::LoadTest;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{Length, Units, VolumeRate};
use soaklife::soil::Soil;
use std::io;
use std::path::Path;
use std::sync::Arc;

/// A logbook read whole.
#[derive(Debug)]
pub struct Logbook {
    settings: Settings,
    entries: Vec<Entry>,
    problems: Vec<Problem>,
    /// What is only counted, file by file.
    counted: Vec<Problems>,
    units: Units,
    as_of: Date,
}

/// One row of `pits.csv`.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// A pit that can be asked for a forecast.
    Pit(Box<PitRecord>),
    /// A pit whose row could not be used.
    Rejected(RejectedPit),
}

/// A pit with all that the logbook knows of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PitRecord {
    pub(crate) id: String,
    pub(crate) label: Option<String>,
    pub(crate) history: History,
    pub(crate) design: Option<DesignBasis>,
    pub(crate) bedrooms: Option<f64>,
    pub(crate) current_use: Option<CurrentUse>,
    pub(crate) soil: Soil,
    pub(crate) action_freeboard: Length,
    pub(crate) replacement_cost: Option<f64>,
    pub(crate) further: Vec<(String, String)>,
    pub(crate) load_tests: Vec<LoadTest>,
}

/// What a system was designed for, and by which rule.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignBasis {
    /// The design flow.
    pub flow: VolumeRate,
    /// The rule in words.
    pub rule: Arc<str>,
}

/// What the household really uses, and how that is known.
#[derive(Debug, Clone, PartialEq)]
pub struct CurrentUse {
    /// The flow.
    pub flow: VolumeRate,
    /// How it is known, in words.
    pub basis: Arc<str>,
}

impl Logbook {
    /// Reads the logbook in a folder. `today` is the caller's clock: what is dated later is an error. `as_of` is the
    /// day of the forecast: what is dated between the two is left out and counted. Of each file the first 5,000 errors and as
    /// many warnings are listed, the others only counted.
    ///
    /// # Errors
    /// [`LogbookError`] only if `pits.csv` or `readings.csv` cannot be opened; everything else is a [`Problem`].
    pub fn read(folder: &Path, today: Date, as_of: Date) -> Result<Self, LogbookError> {
        check_folder(folder)?;
        // pits.csv first: if both are missing, it is the one to speak of.
        open(folder, PITS.file)?;
        let days = Days { today, as_of };
        Self::read_with_readings(folder, open(folder, READINGS.file)?, None, days)
    }

    /// The same with other readings than those on disk, of which `whole` is listed whatever else there is.
    pub(crate) fn read_with_readings(
        folder: &Path,
        readings_file: Box<dyn io::Read>,
        whole: Option<Whole>,
        days: Days,
    ) -> Result<Self, LogbookError> {
        let today = days.today;
        let pits_file = open(folder, PITS.file)?;
        let mut reading = Opening::of(folder);

        let settings = reading.settings();
        let mut found = Problems::of_file(PITS.file, None);
        let mut pits =
            Pits::read(pits_file, today, &settings, &mut found).map_err(unreadable(folder, PITS.file))?;

        let events =
            reading.optional(EVENTS_TABLE.file, |file, found| events::read(file, &pits, today, found));
        let mut of_readings = Problems::of_file(READINGS.file, whole);
        let mut readings = ReadingsByPit::default();
        let counts = readings::read(readings_file, &pits, days, &mut readings, &mut of_readings)
            .map_err(unreadable(folder, READINGS.file))?;
        counts.say(days, &mut of_readings);
        let households = reading.optional(OCCUPANCY.file, |file, found| {
            let (households, after_as_of) = occupancy::read(file, &pits, days, found)?;
            occupancy::say_after_as_of(after_as_of, days, found);
            Ok(households)
        });
        let load_tests =
            reading.optional(LOAD_TESTS.file, |file, found| load_tests::read(file, &pits, today, found));

        let mut known = Known::default();
        let assembly = Assembly::new(&settings, &mut found, &mut of_readings, &mut known);
        let units = if pits.metric { Units::Si } else { Units::Us };
        let (households, events) = (households.unwrap_or_default(), events.unwrap_or_default());
        let load_tests = load_tests.unwrap_or_default();
        let mut entries = Vec::new();
        assembly.run(&mut pits, &mut readings, households, events, load_tests, &mut entries);
        let (problems, counted) = reading.in_order([found, of_readings]);
        Ok(Self { settings, entries, problems, counted, units, as_of: days.as_of })
    }

    /// Typical actual ÷ design flow: the median over the pits whose load is known, of at least twenty.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let day = date(2026, 6, 30);
    /// let logbook = soaklife_records::Logbook::read(folder.as_ref(), day, day)?;
    /// assert!(logbook.typical_load_ratio().is_some_and(|ratio| (0.3..0.8).contains(&ratio)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn typical_load_ratio(&self) -> Option<f64> {
        let ratios: LoadRatios = self.pits().filter_map(|pit| LoadRatios::of(pit, self.as_of)).collect();
        ratios.typical()
    }

    /// What is typical of the pits of this logbook: `[prior]` of its settings or the default, with the logbook's own
    /// [typical load ratio](Logbook::typical_load_ratio) unless the settings give another.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let day = date(2026, 6, 30);
    /// let logbook = soaklife_records::Logbook::read(folder.as_ref(), day, day)?;
    /// assert_eq!(Some(logbook.prior().typical_load_ratio), logbook.typical_load_ratio());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn prior(&self) -> PopulationPrior {
        self.at_own_load(self.settings.prior().cloned().unwrap_or_default())
    }

    /// A prior with the logbook's own typical load ratio, unless the prior gives one other than the default.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let day = date(2026, 6, 30);
    /// # let logbook = soaklife_records::Logbook::read(folder.as_ref(), day, day)?;
    /// use soaklife::prior::PopulationPrior;
    /// let busy = PopulationPrior { typical_load_ratio: 0.9, ..PopulationPrior::default() };
    /// assert_eq!(logbook.at_own_load(busy.clone()), busy);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn at_own_load(&self, prior: PopulationPrior) -> PopulationPrior {
        at_load(prior, self.typical_load_ratio())
    }

    /// The settings.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Every row of `pits.csv`, in its order.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The pits that can be asked for a forecast, in the order of `pits.csv`.
    pub fn pits(&self) -> impl Iterator<Item = &PitRecord> {
        self.entries.iter().filter_map(|entry| match entry {
            Entry::Pit(pit) => Some(pit.as_ref()),
            Entry::Rejected(_) => None,
        })
    }

    /// The row of an identifier.
    #[must_use]
    pub fn entry(&self, pit_id: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.id() == pit_id)
    }

    /// The problems by file, then by line; of each file the first 5,000 errors and as many warnings found.
    #[must_use]
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Whether anything could not be used.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.counted().errors > 0 || self.problems.iter().any(|problem| problem.severity == Severity::Error)
    }

    /// Problems that are counted but not listed.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let day = date(2026, 6, 30);
    /// let logbook = soaklife_records::Logbook::read(folder.as_ref(), day, day)?;
    /// assert_eq!(logbook.unlisted(), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn unlisted(&self) -> u64 {
        let counted = self.counted();
        counted.errors + counted.warnings
    }

    pub(crate) fn counted(&self) -> Tally {
        Problems::unlisted_of(&self.counted)
    }

    /// How many rows about a pit, of whatever table, could not be used.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let day = date(2026, 6, 30);
    /// let logbook = soaklife_records::Logbook::read(folder.as_ref(), day, day)?;
    /// assert_eq!(logbook.rows_left_out("AF-01"), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn rows_left_out(&self, pit_id: &str) -> usize {
        self.counted.iter().map(|file| file.rows_left_out(pit_id)).sum()
    }

    /// The units that the logbook is kept in.
    #[must_use]
    pub fn units(&self) -> Units {
        self.units
    }
}

impl Entry {
    /// The identifier of the pit.
    #[must_use]
    pub fn id(&self) -> &str {
        match self {
            Self::Pit(pit) => &pit.id,
            Self::Rejected(pit) => pit.id(),
        }
    }
}

impl PitRecord {
    /// Its identifier.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What people call it.
    #[must_use]
    pub fn label(&self) -> Option<&str> {
        self.label.as_deref()
    }

    /// Its dimensions, age, load, readings and events.
    #[must_use]
    pub fn history(&self) -> &History {
        &self.history
    }

    /// What it was designed for, if known.
    #[must_use]
    pub fn design(&self) -> Option<&DesignBasis> {
        self.design.as_ref()
    }

    /// Bedrooms of the house, if its row says so.
    #[must_use]
    pub fn bedrooms(&self) -> Option<f64> {
        self.bedrooms
    }

    /// What the household uses now, if known.
    #[must_use]
    pub fn current_use(&self) -> Option<&CurrentUse> {
        self.current_use.as_ref()
    }

    /// The soil around it.
    #[must_use]
    pub fn soil(&self) -> Soil {
        self.soil
    }

    /// Freeboard at which to act: its own, or that of the settings.
    #[must_use]
    pub fn action_freeboard(&self) -> Length {
        self.action_freeboard
    }

    /// What its replacement would cost, if its row says so.
    #[must_use]
    pub fn replacement_cost(&self) -> Option<f64> {
        self.replacement_cost
    }

    /// Its hydraulic load tests, oldest first.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let day = date(2026, 6, 30);
    /// # let logbook = soaklife_records::Logbook::read(folder.as_ref(), day, day)?;
    /// let tested = logbook.pits().filter(|pit| !pit.load_tests().is_empty()).map(|pit| pit.id());
    /// assert_eq!(tested.collect::<Vec<_>>(), ["AF-08", "AF-12", "AF-13"]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn load_tests(&self) -> &[LoadTest] {
        &self.load_tests
    }

    /// The columns of its row that the logbook does not know, by name.
    #[must_use]
    pub fn further(&self) -> &[(String, String)] {
        &self.further
    }
}

#[cfg(test)]
mod tests;

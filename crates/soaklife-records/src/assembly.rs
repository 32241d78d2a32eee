//! Puts the tables of a logbook together, pit by pit.

use crate::load_tests::TestsByPit;
use crate::logbook::{CurrentUse, DesignBasis, Entry, PitRecord};
use crate::occupancy::{Amount, Household};
use crate::pit_row::PitRow;
use crate::pits::{PitEntry, Pits};
use crate::problem::{Fault, Place, ProblemKind, Problems, shown};
use crate::readings::{self, FiledReading, ReadingsByPit};
use crate::settings::Settings;
use jiff::civil::Date;
use soaklife::LoadHistory;
use soaklife::acceptance::MeasuredAcceptance;
use soaklife::history::{Event, History};
use soaklife::load_test::{self, LoadTest};
use soaklife::loading::LoadingError;
use soaklife::loading::measured_use::household_flow;
use soaklife::wording::with_noun;

/// Puts the tables together, pit by pit.
pub(crate) struct Assembly<'a> {
    settings: &'a Settings,
    of_pits: &'a mut Problems,
    of_readings: &'a mut Problems,
    known: &'a mut Known,
}

/// What numbers of people and bedrooms come to by the settings, with the words made once for each.
#[derive(Debug, Default)]
pub(crate) struct Known {
    uses: Vec<(f64, CurrentUse)>,
    designs: Vec<(f64, DesignBasis)>,
}

/// The uses of a house: most often one, which is not worth a list.
enum Uses {
    One([(Date, CurrentUse); 1]),
    Many(Vec<(Date, CurrentUse)>),
}

impl Uses {
    fn known(&self) -> &[(Date, CurrentUse)] {
        match self {
            Self::One(one) => one,
            Self::Many(many) => many,
        }
    }

    fn into_last(self) -> Option<CurrentUse> {
        match self {
            Self::One([(_, current)]) => Some(current),
            Self::Many(mut many) => many.pop().map(|(_, current)| current),
        }
    }
}

/// Numbers of people or bedrooms of which the words are kept.
const MOST_KNOWN: usize = 16;

/// Names kept for the pits to come: as many as a large batch has.
const MOST_SPARE: usize = 512;

/// What the load tests of a pit measured of its soil.
fn acceptances(
    tests: &[LoadTest],
    history: &History,
    design: Option<&DesignBasis>,
) -> Vec<MeasuredAcceptance> {
    let measured = |test: &LoadTest| {
        let test = test.clone().in_weather_of(history);
        let household = load_test::Household::during(&test, history, design.map(|design| design.flow));
        test.study(history.pit(), &household).measured_acceptance()
    };
    tests.iter().filter_map(measured).collect()
}

impl<'a> Assembly<'a> {
    pub(crate) fn new(
        settings: &'a Settings,
        of_pits: &'a mut Problems,
        of_readings: &'a mut Problems,
        known: &'a mut Known,
    ) -> Self {
        Self { settings, of_pits, of_readings, known }
    }

    /// Puts the entries in the place of other ones, the memory of which is used again.
    pub(crate) fn run(
        mut self,
        pits: &mut Pits,
        readings: &mut ReadingsByPit,
        households: Vec<Vec<Household>>,
        events: Vec<Vec<Event>>,
        mut load_tests: TestsByPit,
        entries: &mut Vec<Entry>,
    ) {
        let (mut households, mut events) = (households.into_iter(), events.into_iter());
        let mut earlier = std::mem::take(entries).into_iter();
        let (spare_names, rows) = (&mut pits.spare_names, &mut pits.entries);
        let assemble = |(place, pit): (usize, &mut PitEntry)| {
            let readings = readings.next_of(place);
            let (households, events) =
                (households.next().unwrap_or_default(), events.next().unwrap_or_default());
            let load_tests = load_tests.take(place);
            match (pit, earlier.next()) {
                (PitEntry::Rejected(pit), _) => Entry::Rejected(pit.clone()),
                (PitEntry::Sound(row), Some(Entry::Pit(mut record))) => {
                    let history = record.history.for_another(row.pit);
                    // Rows that are not usual take none, and would leave ever more of them.
                    if spare_names.len() < MOST_SPARE {
                        spare_names.push(record.id);
                    }
                    *record = self.pit(row, history, readings, &households, events, load_tests);
                    Entry::Pit(record)
                }
                (PitEntry::Sound(row), _) => {
                    let history = History::new(row.pit);
                    Entry::Pit(Box::new(self.pit(row, history, readings, &households, events, load_tests)))
                }
            }
        };
        entries.extend(rows.iter_mut().enumerate().map(assemble));
        rows.clear();
    }

    fn pit(
        &mut self,
        row: &mut PitRow,
        empty: History,
        readings: &mut [FiledReading],
        households: &[Household],
        events: Vec<Event>,
        load_tests: Vec<LoadTest>,
    ) -> PitRecord {
        let installed = readings::compare(row, readings, &events, self.of_readings);
        let design = self.design(row);
        let uses = self.uses(row, households);
        let mut history = empty
            .with_soil(row.soil)
            .with_readings(readings.iter().map(|filed| filed.reading))
            .with_events(events);
        if let Some(installed) = installed {
            history = history.with_installed(installed);
        }
        if let Some(load) = self.load(row, design.as_ref(), uses.known()) {
            history = history.with_load(load);
        }
        if !load_tests.is_empty() {
            let acceptances = acceptances(&load_tests, &history, design.as_ref());
            history = history.with_acceptances(acceptances);
        }
        PitRecord {
            id: std::mem::take(&mut row.id),
            label: row.label.take(),
            history,
            design,
            bedrooms: row.bedrooms,
            current_use: uses.into_last(),
            soil: row.soil,
            action_freeboard: row.action_freeboard.unwrap_or(self.settings.action_freeboard()),
            replacement_cost: row.replacement_cost,
            further: std::mem::take(&mut row.further),
            load_tests,
        }
    }

    fn design(&mut self, row: &PitRow) -> Option<DesignBasis> {
        if let Some(flow) = row.design_flow {
            return Some(DesignBasis { flow, rule: "as permitted".into() });
        }
        let Some(bedrooms) = row.bedrooms else {
            let message = "neither bedrooms nor a design flow is given: the load ratio is not known";
            self.warn(row, ProblemKind::DesignUnknown, message);
            return None;
        };
        if let Some((_, design)) = self.known.designs.iter().find(|(known, _)| *known == bedrooms) {
            return Some(design.clone());
        }
        let rule = self.settings.design_rule();
        let Ok(flow) = rule.design_flow(bedrooms) else {
            let message = "so many bedrooms cannot be: the load ratio is not known";
            self.warn(row, ProblemKind::OutOfRange, message);
            return None;
        };
        let bedroom = with_noun(&bedrooms.to_string(), "bedroom");
        let design = DesignBasis { flow, rule: format!("{bedroom}, {}", rule.description()).into() };
        if self.known.designs.len() < MOST_KNOWN {
            self.known.designs.push((bedrooms, design.clone()));
        }
        Some(design)
    }

    /// The load, if both sides of it are known.
    fn load(
        &mut self,
        row: &PitRow,
        design: Option<&DesignBasis>,
        uses: &[(Date, CurrentUse)],
    ) -> Option<LoadHistory> {
        let flows = uses.iter().map(|(from, current)| (*from, current.flow));
        match LoadHistory::new(design?.flow, flows) {
            Ok(load) => Some(load),
            Err(LoadingError::NoFlow) => None, // which has been said
            Err(_) => {
                let message = "the flow cannot be so many times the design flow: the load is not known";
                self.warn(row, ProblemKind::OutOfRange, message);
                None
            }
        }
    }

    /// Every use of the house with its first day, oldest first.
    fn uses(&mut self, row: &PitRow, households: &[Household]) -> Uses {
        let uses = if households.is_empty() {
            let current = row.occupants.and_then(|occupants| self.people(occupants));
            current.map_or(Uses::Many(Vec::new()), |current| Uses::One([(Date::MIN, current)]))
        } else {
            let dated = |household: &Household| {
                let current = match household.amount {
                    Amount::Occupants(occupants) => self.people(occupants),
                    Amount::Metered(flow) => Some(CurrentUse { flow, basis: "metered".into() }),
                };
                Some((household.from.middle(), current?))
            };
            Uses::Many(households.iter().filter_map(dated).collect())
        };
        let given = households.len() + usize::from(households.is_empty() && row.occupants.is_some());
        if uses.known().len() < given {
            let message = "so many persons cannot live in a house: that household is not used";
            self.warn(row, ProblemKind::OutOfRange, message);
        }
        if uses.known().is_empty() {
            let message = "it is not known who lives in the house: the load is not known";
            self.warn(row, ProblemKind::OccupancyUnknown, message);
        }
        uses
    }

    /// What so many people use; the words are made once for each number of them.
    fn people(&mut self, occupants: f64) -> Option<CurrentUse> {
        if let Some((_, current)) = self.known.uses.iter().find(|(known, _)| *known == occupants) {
            return Some(current.clone());
        }
        let gallons = self.settings.gallons_per_person();
        let flow = household_flow(occupants, gallons).ok()?;
        let people = with_noun(&occupants.to_string(), "person");
        let basis = format!("{people} at {gallons} gal/person/day").into();
        let current = CurrentUse { flow, basis };
        if self.known.uses.len() < MOST_KNOWN {
            self.known.uses.push((occupants, current.clone()));
        }
        Some(current)
    }

    fn warn(&mut self, row: &PitRow, kind: ProblemKind, message: &str) {
        self.of_pits.warning(
            Place::line(row.line),
            Some(&row.id),
            Fault::new(kind, format!("{}: {message}", shown(&row.id))),
        );
    }
}

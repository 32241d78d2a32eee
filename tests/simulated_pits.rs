//! Seepage pits with known futures, simulated from the physics of a clogging wall.
//!
//! A forecast can be checked against what really came only where the future is known. These pits are drawn from a
//! balance of inflow and acceptance over the wetted wall ([`balance`]), a clogging layer that grows with the load
//! that has passed it, households that change, and records as people keep them. No forecasting method has a part
//! in it, so none has its own assumptions confirmed.
//!
//! Where no source is named, a figure is a choice of this simulation within what the trade holds common.

pub mod balance;
mod clogging;
mod life;
pub(crate) mod random;
mod record;
mod trouble;

use jiff::civil::{Date, date};
use life::{GALLON_M3, INCH_M, Life, Nature};
use random::Random;
use record::Stick;
use soaklife::acceptance::MeasuredAcceptance;
use soaklife::date::years_between;
use soaklife::quantity::{as_inches, cubic_metres_per_day, metres};
use soaklife::reading::{Condition, Observation};
use soaklife::{History, Reading};

/// Years into the future that a pit is followed.
pub const HORIZON_YEARS: f64 = 60.0;
/// Years after the as-of day at which the truth tells the standing level.
pub const LEVEL_YEARS: [f64; 5] = [0.0, 1.0, 2.0, 5.0, 10.0];
/// Design use, gallons a person a day. Common practice, no source.
const GALLONS_PER_PERSON: f64 = 75.0;

/// The day of the forecast: all pits are in service on it, and no reading is younger.
#[must_use]
pub const fn as_of() -> Date {
    date(2026, 1, 1)
}

/// A pit as its record knows it, and what becomes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulatedPit {
    /// What a forecast may see.
    pub history: History,
    /// What it may not.
    pub truth: Truth,
    life: Life,
    stick: Stick,
    /// Draws what is measured later than the record; the record and the life do not depend on it.
    later: u64,
}

impl SimulatedPit {
    fn of(life: Life, (history, stick, gross_errors): (History, Stick, usize), later: u64) -> Self {
        let truth = Truth {
            years_to_inlet: life.reached.map_or(f64::INFINITY, |years| years.max(0.0)),
            level_in: LEVEL_YEARS.map(|years| life.standing_m(years) / INCH_M),
            soil: life.nature.soil,
            age_years: life.age,
            design_gpd: life.nature.design_m3_per_day / GALLON_M3,
            gross_errors,
        };
        Self { history, truth, life, stick, later }
    }

    /// What the stick that keeps the record reads so many years after the as-of day, gross errors as ever.
    #[must_use]
    pub fn reading_in(&self, years: f64) -> Reading {
        record::read_later(
            &mut self.random_of("reading", years),
            &self.stick,
            self.history.pit(),
            &self.life,
            years,
        )
    }

    /// A load test on the as-of day: water is led in until the level stands half-way between where it was and the inlet, and
    /// kept there; what the wall then takes is measured with this relative standard error.
    #[must_use]
    pub fn load_test(&self, relative_standard_error: f64) -> MeasuredAcceptance {
        let level_m = 0.5 * (self.life.level_found_m(0.0) + self.life.nature.effective_m);
        let taken = self.life.nature.balance.accepted_m3_per_day(level_m, self.life.resistance_d(0.0));
        let measured = taken * self.random_of("load test", 0.0).log_normal(1.0, relative_standard_error);
        let (level, flow) = (metres(level_m), cubic_metres_per_day(measured));
        MeasuredAcceptance::new(as_of(), level, flow, relative_standard_error)
            .expect("a pit that takes something")
    }

    /// The record if each liquid reading had been taken, with this chance, in such conditions, and is marked so.
    #[must_use]
    pub fn history_in(&self, conditions: Conditions, chance: f64) -> History {
        let mut random = self.random_of("conditions", 0.0);
        let pit = *self.history.pit();
        let mut read = |reading: &Reading| {
            let Observation::Liquid { level } = reading.observation() else { return *reading };
            let (in_conditions, days) = (random.chance(chance), random.between(3.0, 21.0));
            let more = random.between(0.1, 1.0);
            if !in_conditions {
                return *reading;
            }
            let years = years_between(as_of(), reading.date().middle());
            let (balance, resistance_d) = (&self.life.nature.balance, self.life.resistance_d(years));
            let level_m = as_inches(level) * INCH_M;
            let kept = (-days / 365.25 / balance.response_years(level_m, resistance_d)).exp();
            let settles_m = match conditions {
                Conditions::Harmless(_) => level_m,
                Conditions::Vacant => 0.0,
                Conditions::AfterRain => balance
                    .level_m((1.0 + more) * balance.accepted_m3_per_day(level_m, resistance_d), resistance_d),
            };
            let found = match metres(settles_m + (level_m - settles_m) * kept) {
                low if as_inches(low) < 0.5 => Reading::dry(reading.date()),
                high if high >= pit.effective_depth() => Reading::at_inlet(reading.date()),
                found => Reading::at_level(&pit, reading.date(), found).expect("between bottom and inlet"),
            };
            found.in_condition(conditions.mark())
        };
        let readings: Vec<Reading> = self.history.readings().iter().map(&mut read).collect();
        self.history.clone().with_readings(readings)
    }

    /// A stream of its own for each thing measured, so that one more changes none of the others.
    fn random_of(&self, what: &str, years: f64) -> Random {
        let kind =
            what.bytes().fold(0, |kind: u64, byte| kind.wrapping_mul(31).wrapping_add(u64::from(byte)));
        Random::new(self.later ^ kind, (years * 365.25).round() as u64)
    }
}

/// What a pit is and what becomes of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// Years from the as-of day until the standing level reaches the inlet; infinite beyond 60 years, 0 if it stands
    /// there already.
    pub years_to_inlet: f64,
    /// Standing level above the bottom after 0, 1, 2, 5 and 10 years, inches, at most the inlet. A pit that has
    /// reached its inlet counts as standing there from then on.
    pub level_in: [f64; 5],
    /// Soil around the pit.
    pub soil: Soil,
    /// Age on the as-of day, years.
    pub age_years: f64,
    /// The pit's share of the design flow, US gallons a day.
    pub design_gpd: f64,
    /// Readings from a wrong datum or booked in a wrong unit.
    pub gross_errors: usize,
}

/// Soil around a pit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Soil {
    /// Sand.
    Sand,
    /// Loam.
    Loam,
    /// Clay loam.
    Clay,
}

/// What a reading is marked with, and whether it did anything to the level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Conditions {
    /// Nobody at home for three days to three weeks: the wall drains the pit.
    Vacant,
    /// A tenth to twice as much inflow for as long.
    AfterRain,
    /// The mark alone.
    Harmless(Condition),
}

impl Conditions {
    fn mark(self) -> Condition {
        match self {
            Self::Vacant => Condition::Vacant,
            Self::AfterRain => Condition::AfterRain,
            Self::Harmless(mark) => mark,
        }
    }
}

/// What happens to a pit that no smooth curve describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// None: an ordinary pit, but read several times a year.
    OftenRead,
    /// A sudden loss of acceptance: weeks to a year from low to the inlet, read several times a year.
    FillsWithinMonths,
    /// The level falls for years, because the load dropped or the wall recovered.
    FallsForYears,
    /// At its inlet for years, and nobody does anything.
    StandsAtInlet,
    /// At its inlet for a while and then not, with a remedy in the record or without.
    Recovers,
    /// A water table that swings around the pit.
    WaterTable,
}

impl Trouble {
    /// Every kind.
    pub const ALL: [Self; 6] = [
        Self::OftenRead,
        Self::FillsWithinMonths,
        Self::FallsForYears,
        Self::StandsAtInlet,
        Self::Recovers,
        Self::WaterTable,
    ];
}

/// How much the use of water swings, from people moving in and out and from month to month.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Household {
    /// The same people for decades.
    Calm,
    /// Tenants, guests, grown-up children.
    Restless,
    /// From one to the other, each house in its own place between.
    Mixed,
}

/// How the stick is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecordQuality {
    /// Standard deviation 0.5–1 in, rounded to half an inch.
    Careful,
    /// Standard deviation 1–2 in, rounded to an inch.
    Sloppy,
    /// Half of the pits one, half the other.
    Mixed,
}

/// What the pits are drawn from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Population {
    /// Weight of each soil.
    pub soils: [(f64, Soil); 3],
    /// Swing of the use.
    pub household: Household,
    /// Median of actual ÷ design flow.
    pub load_ratio_median: f64,
    /// How the stick is read.
    pub record_quality: RecordQuality,
    /// Share of the pits built in clean coarse soil whose wall begins to clog only after years.
    pub dry_for_years: f64,
}

impl Default for Population {
    /// A mixed valley: all soils, all households, all records.
    fn default() -> Self {
        Self {
            soils: [(0.35, Soil::Sand), (0.40, Soil::Loam), (0.25, Soil::Clay)],
            household: Household::Mixed,
            load_ratio_median: 0.8,
            record_quality: RecordQuality::Mixed,
            dry_for_years: 0.2,
        }
    }
}

impl Soil {
    /// Long-term acceptance rate of the sizing tables, m a day.
    ///
    /// # Source
    /// Healy and Laak (1974), *J. Environ. Eng. Div. ASCE* 100(5), 1133–1146: 0.8 gal/day/ft² for sand, 0.3 for clay
    /// loam; loam in the geometric middle of the two, no source.
    fn long_term_rate_m_per_day(self) -> f64 {
        let gallons_per_square_foot = match self {
            Self::Sand => 0.8,
            Self::Loam => 0.49,
            Self::Clay => 0.3,
        };
        gallons_per_square_foot * GALLON_M3 / 0.092_903_04
    }

    /// Suction just outside the clogging layer, m: finer soil pulls harder. No source beyond the order of size.
    fn suction_m(self) -> f64 {
        match self {
            Self::Sand => 0.25,
            Self::Loam => 0.5,
            Self::Clay => 0.75,
        }
    }
}

impl Household {
    /// From 0, calm, to 1, restless.
    fn swing(self, random: &mut Random) -> f64 {
        match self {
            Self::Calm => random.between(0.0, 0.2),
            Self::Restless => random.between(0.8, 1.0),
            Self::Mixed => random.between(0.0, 1.0),
        }
    }
}

/// As many pits as asked for; the same seed gives the same pits, and more pits only add to fewer.
///
/// ```
/// use tests::simulated_pits::{Population, simulate};
/// let three = simulate(&Population::default(), 7, 3);
/// assert_eq!(three[..2], simulate(&Population::default(), 7, 2));
/// ```
#[must_use]
pub fn simulate(population: &Population, seed: u64, pits: usize) -> Vec<SimulatedPit> {
    (0..pits as u64).map(|pit| simulate_one(population, seed, pit)).collect()
}

fn simulate_one(population: &Population, seed: u64, pit: u64) -> SimulatedPit {
    let random = &mut Random::new(seed, pit);
    let life = Life::draw_in_service(random, population);
    let kept = record::keep(random, &life, population.record_quality);
    SimulatedPit::of(life, kept, seed.wrapping_mul(1_000_003).wrapping_add(pit))
}

/// As many pits in one kind of trouble, on the terms of [`simulate`].
///
/// What reaches the inlet is the standing level without the error of the stick; a pit that stands there on the as-of day has
/// reached it, one that stood there before and does not now has not.
///
/// ```
/// use tests::simulated_pits::{Population, Trouble, simulate_in_trouble};
/// let pits = simulate_in_trouble(&Population::default(), Trouble::StandsAtInlet, 7, 20);
/// assert!(pits.iter().filter(|pit| pit.truth.years_to_inlet == 0.0).count() > 10);
/// ```
#[must_use]
pub fn simulate_in_trouble(
    population: &Population,
    trouble: Trouble,
    seed: u64,
    pits: usize,
) -> Vec<SimulatedPit> {
    // Streams of their own, so that no pit in trouble is one of the valley.
    let seed = seed ^ (1 + trouble as u64).rotate_left(40);
    let one = |pit: u64| {
        let random = &mut Random::new(seed, pit);
        let life = trouble::draw(random, population, trouble);
        let times = |random: &mut Random, age: f64| trouble::reading_times(random, trouble, age);
        let kept = record::keep_at(random, &life, population.record_quality, times);
        SimulatedPit::of(life, kept, seed.wrapping_mul(1_000_003).wrapping_add(pit))
    };
    (0..pits as u64).map(one).collect()
}

/// Years that new pits of a population last at design load for good, without disturbances, sorted; infinite beyond
/// 150 years.
#[must_use]
pub fn lives_at_design_load(population: &Population, seed: u64, pits: usize) -> Vec<f64> {
    let life = |pit| Nature::draw(&mut Random::new(seed, pit), population).undisturbed_life_years(150.0);
    let mut lives: Vec<f64> = (0..pits as u64).map(life).collect();
    lives.sort_by(f64::total_cmp);
    lives
}

//! The hydraulic load test: a known volume of water, a stick and a watch, and what they say of pit, pipe and soil.
//!
//! - [`record`]: what was written down: times, running gallons, depths to liquid, rise in the tank.
//! - [`balance`]: water added = stored in the pit + held upstream + absorbed, each with its error.
//! - [`clogging`]: wall, head and resistance of the clogged layer, in closed form.
//! - [`recession`]: the falling level fitted; when it is back, and where it stands next morning.
//! - [`intake`]: what the pit takes in a day, and at what rate over its wetted wall.
//! - [`rules`]: rules of codes and of the trade, each with its source, held against the test.
//! - [`finding`]: what may be said of a rule: met, not met, borderline, or not tested and why.
//! - [`offered`]: what the pit was offered, by which it is judged.
//! - [`verdict`]: where the water went, with the numbers that say so.
//!
//! ```
//! use jiff::civil::date;
//! use soaklife::load_test::{Household, LoadTest, Look, verdict::WhereItWent};
//! use soaklife::pit::{CrossSection, Pit};
//! use soaklife::quantity::{feet, gallons, gallons_per_day, inches};
//!
//! let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
//! let look = |day, hour, added, depth| {
//!     Look::at(date(2026, 5, day).at(hour, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
//! };
//! // A design day of 400 gal raises the pit by 22.7 in; next morning it stands as before.
//! let test = LoadTest::new(vec![look(5, 8, 0.0, 120.0), look(5, 10, 400.0, 97.5), look(6, 10, 400.0, 120.5)])?;
//! let study = test.study(&pit, &Household { design_flow: Some(gallons_per_day(400.0)), actual_flow: None });
//! assert_eq!(study.verdict.went, WhereItWent::IntoTheSoil);
//! assert!(study.rules.iter().all(|judged| judged.finding != soaklife::load_test::finding::Finding::NotMet));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Whoever runs such a test stands beside a tank and a pit: never enter or lean into either, never alone, no open flame; keep
//! off the edge and off old covers; leave no lid unsecured. Local code and licensed practitioners decide what a test means.

pub mod balance;
pub mod clogging;
pub mod finding;
pub mod intake;
pub mod offered;
mod phases;
pub mod recession;
pub mod record;
pub mod rules;
pub mod verdict;

pub use record::{Accuracy, LoadTest, LoadTestError, Look};

use crate::acceptance::MeasuredAcceptance;
use crate::history::History;
use crate::pit::Pit;
use crate::quantity::{Area, Length, Volume, VolumeRate, gallons_per_day, metres};
use crate::reading::Condition;
use balance::BalanceRow;
use finding::Finding;
use intake::{Acceptance, DailyIntake};
use phases::Phases;
use recession::{NoRecession, Recession};
use rules::Judged;
use uom::si::area::square_meter;
use uom::si::time::day;
use verdict::{Verdict, WhereItWent};

/// What the house is sized for and what it uses, as far as it is known.
///
/// ```
/// use soaklife::load_test::{Household, Occupancy};
/// use soaklife::quantity::gallons_per_day;
/// let of = |actual| Household { design_flow: Some(gallons_per_day(450.0)), actual_flow: Some(gallons_per_day(actual)) };
/// assert_eq!([0.0, 176.0, 400.0].map(|actual| of(actual).occupancy()), [Occupancy::Vacant, Occupancy::Light, Occupancy::Usual]);
/// assert_eq!(Household::default().occupancy(), Occupancy::Unknown);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Household {
    /// The flow that the system is designed for.
    pub design_flow: Option<VolumeRate>,
    /// The flow of the house at the time of the test.
    pub actual_flow: Option<VolumeRate>,
}

/// How much of the design flow the house uses. The limits are common practice, no source.
///
/// ```
/// # use soaklife::load_test::{Household, Occupancy};
/// assert_eq!(Household::default().occupancy(), Occupancy::Unknown);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Occupancy {
    /// Under a twentieth of the design flow.
    Vacant,
    /// Up to six tenths of it.
    Light,
    /// More.
    Usual,
    /// Not known.
    Unknown,
}

const VACANT: f64 = 0.05;
const LIGHT: f64 = 0.6;

impl Household {
    /// What it was designed for and what it used during a test, as the pit's history has it: nothing if the stick found the house
    /// vacant in those days.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look, Occupancy};
    /// # use soaklife::quantity::{gallons, gallons_per_day, inches};
    /// # use soaklife::reading::Condition;
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// # let look = |day, added, depth| {
    /// #     Look::at(date(2026, 5, day).at(10, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
    /// # };
    /// # let test = LoadTest::new(vec![look(4, 0.0, 120.0), look(5, 400.0, 97.5)])?;
    /// let read = Reading::at_depth(&pit, date(2026, 5, 4), inches(120.0))?.in_condition(Condition::Vacant);
    /// let history = History::new(pit).with_readings([read]);
    /// let household = Household::during(&test, &history, Some(gallons_per_day(450.0)));
    /// assert_eq!(household.occupancy(), Occupancy::Vacant);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn during(test: &LoadTest, history: &History, design_flow: Option<VolumeRate>) -> Self {
        let by_load = || Some(design_flow? * history.load()?.ratio_at(test.date()));
        let is_vacant = test.was_read_in(history, Condition::Vacant);
        let actual_flow = if is_vacant { Some(gallons_per_day(0.0)) } else { by_load() };
        Self { design_flow, actual_flow }
    }

    /// How much of the design flow the house uses.
    ///
    /// ```
    /// # use soaklife::load_test::{Household, Occupancy};
    /// assert_eq!(Household::default().occupancy(), Occupancy::Unknown);
    /// ```
    #[must_use]
    pub fn occupancy(&self) -> Occupancy {
        let (Some(design), Some(actual)) = (self.design_day(), self.actual_flow) else {
            return Occupancy::Unknown;
        };
        match m3_per_day(actual) / design {
            share if share <= VACANT => Occupancy::Vacant,
            share if share <= LIGHT => Occupancy::Light,
            share if share > LIGHT => Occupancy::Usual,
            _ => Occupancy::Unknown,
        }
    }

    /// A day of the design flow, m³.
    fn design_day(&self) -> Option<f64> {
        self.design_flow.map(m3_per_day).filter(|volume| *volume > 0.0 && volume.is_finite())
    }
}

/// Everything a load test says.
///
/// The page of the [module](self) has an example.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// Water added, stored, held and absorbed, phase by phase and as a whole.
    pub balance: Vec<BalanceRow>,
    /// What the pit takes in a day.
    pub daily: Option<DailyIntake>,
    /// How fast the wetted wall takes it.
    pub acceptance: Option<Acceptance>,
    /// The falling level fitted, or why it cannot be.
    pub recession: Result<Recession, NoRecession>,
    /// Rules that apply, and whether they are met.
    pub rules: Vec<Judged>,
    /// Where the water went.
    pub verdict: Verdict,
    /// The level before any water went in.
    pub start_level: Option<Length>,
    /// The level when the first water was in.
    pub high_level: Option<Length>,
    /// What the plan area of the pit is at most if nothing soaked away while it filled: told where it is not known.
    pub area_at_most: Option<Area>,
    /// What the tank's area seen from above is at most, where it held water back: all that was added and is not in the pit.
    pub tank_area_at_most: Option<Area>,
    measured: Option<MeasuredAcceptance>,
}

impl Study {
    /// What a forecast could use: the flow taken at a known level, with its error. None where the test does not measure the
    /// soil: water held upstream, rain, water from elsewhere, or an error of half the flow and more. Nor in a vacant
    /// house: its wall has rested, and takes more than it will in daily use.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_gallons_per_day, feet, gallons, inches};
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
    /// # let look = |day, added, depth| {
    /// #     Look::at(date(2026, 5, day).at(10, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
    /// # };
    /// let test = LoadTest::new(vec![look(4, 0.0, 120.0), look(5, 400.0, 97.5), look(6, 400.0, 117.5)])?;
    /// let measured = test.study(&pit, &Household::default()).measured_acceptance().ok_or("none")?;
    /// assert!((as_gallons_per_day(measured.flow()) - 20.0 * 17.6256).abs() < 0.01); // 20 in of a 6 ft pit in a day
    /// assert_eq!(measured.date(), date(2026, 5, 4));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn measured_acceptance(&self) -> Option<MeasuredAcceptance> {
        self.measured
    }

    /// Whether the pit was found wanting beyond doubt: the soil takes less than is asked of this house, or a rule is not met.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{feet, gallons, gallons_per_day, inches};
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
    /// # let look = |day, added, depth| {
    /// #     Look::at(date(2026, 5, day).at(10, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
    /// # };
    /// # let household = Household { design_flow: Some(gallons_per_day(400.0)), actual_flow: None };
    /// let next_day = |depth| LoadTest::new(vec![look(4, 0.0, 120.0), look(4, 400.0, 97.5), look(5, 400.0, depth)]);
    /// assert!(next_day(105.0)?.study(&pit, &household).falls_short());
    /// assert!(!next_day(123.0)?.study(&pit, &household).falls_short());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn falls_short(&self) -> bool {
        let stays = self.verdict.went == WhereItWent::StaysInPit && !self.verdict.borderline;
        stays || self.rules.iter().any(|judged| judged.finding == Finding::NotMet)
    }
}

impl LoadTest {
    /// The same test, [in rain](LoadTest::in_rain) if a stick reading of those days was taken after rain.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{LoadTest, Look};
    /// # use soaklife::quantity::{gallons, inches};
    /// # use soaklife::reading::Condition;
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// # let look = |day, added, depth| {
    /// #     Look::at(date(2026, 5, day).at(10, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
    /// # };
    /// # let test = LoadTest::new(vec![look(4, 0.0, 120.0), look(5, 400.0, 97.5)])?;
    /// let read = Reading::at_depth(&pit, date(2026, 5, 4), inches(120.0))?.in_condition(Condition::AfterRain);
    /// let history = History::new(pit).with_readings([read]);
    /// assert_eq!(test.clone().in_weather_of(&history), test.in_rain());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_weather_of(self, history: &History) -> Self {
        if self.was_read_in(history, Condition::AfterRain) { self.in_rain() } else { self }
    }

    /// Whether a stick reading of those days says so.
    fn was_read_in(&self, history: &History, condition: Condition) -> bool {
        history.readings().iter().any(|reading| {
            let date = reading.date();
            reading.condition() == condition
                && date.is_exact()
                && (self.date()..=self.last_date()).contains(&date.first())
        })
    }

    /// What this test says of a pit and its household.
    ///
    /// The page of the [module](self) has an example.
    #[must_use]
    pub fn study(&self, pit: &Pit, household: &Household) -> Study {
        let phases = Phases::of(self, pit);
        let balance = balance::rows(&phases);
        let recession = Recession::of(&phases);
        let daily = intake::daily(&phases, recession.as_ref().ok());
        let acceptance = intake::acceptance(&phases);
        let rules = rules::judge(&phases, household, daily.as_ref());
        let verdict = verdict::decide(&phases, household, &balance, daily.as_ref());
        let tells_of_soil = match verdict.went {
            WhereItWent::HeldUpstream => false,
            WhereItWent::CannotTell(doubt) => !doubt.spoils_measurement(),
            WhereItWent::IntoTheSoil | WhereItWent::StaysInPit => true,
        };
        let measured = acceptance
            .as_ref()
            .filter(|_| tells_of_soil && household.occupancy() != Occupancy::Vacant)
            .and_then(|acceptance| acceptance.measured(self.date()));
        Study {
            balance,
            daily,
            acceptance,
            recession,
            rules,
            verdict,
            start_level: phases.start.and_then(|point| point.level).map(metres),
            high_level: phases.high.and_then(|point| point.level).map(metres),
            area_at_most: phases.area_at_most(),
            tank_area_at_most: (verdict.went == WhereItWent::HeldUpstream && phases.open_area().is_some())
                .then(|| Area::new::<square_meter>(phases.tank_area.1)),
            measured,
        }
    }
}

/// A measured volume.
///
/// ```
/// use soaklife::load_test::Measured;
/// use soaklife::quantity::gallons;
/// let measured = Measured { volume: gallons(460.0), standard_error: gallons(11.0) };
/// assert!(measured.volume > measured.standard_error);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The volume.
    pub volume: Volume,
    /// Its standard error, from stick and meter.
    pub standard_error: Volume,
}

fn m3_per_day(flow: VolumeRate) -> f64 {
    (flow * uom::si::f64::Time::new::<day>(1.0)).value
}

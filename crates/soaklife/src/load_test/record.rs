//! What was written down during a load test.

use super::balance::MOST_TANK_M2;
use crate::quantity::{Area, Length, Volume, inches};
use jiff::civil::{Date, DateTime};
use thiserror::Error;

/// Lengths beyond this, m, and volumes, m³, are no pit's.
const LARGEST: f64 = 1e5;

/// One look during a test. What was not measured is left out.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::load_test::Look;
/// use soaklife::quantity::{gallons, inches};
/// let look = Look::at(date(2026, 5, 5).at(9, 10, 0, 0)).with_added(gallons(110.0)).with_depth(inches(166.5));
/// assert_eq!(look.tank_rise, None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// When.
    pub time: DateTime,
    /// Water added so far, a running total.
    pub added: Option<Volume>,
    /// Rim down to the liquid in the pit.
    pub depth: Option<Length>,
    /// How far the liquid in the tank stands above where it stood at the start.
    pub tank_rise: Option<Length>,
}

impl Look {
    /// A look at which nothing has been measured yet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::Look;
    /// assert_eq!(Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).added, None);
    /// ```
    #[must_use]
    pub fn at(time: DateTime) -> Self {
        Self { time, added: None, depth: None, tank_rise: None }
    }

    /// The same with the running total of water added.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::Look;
    /// # use soaklife::quantity::gallons;
    /// let look = Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_added(gallons(50.0));
    /// assert_eq!(look.added, Some(gallons(50.0)));
    /// ```
    #[must_use]
    pub fn with_added(self, added: Volume) -> Self {
        Self { added: Some(added), ..self }
    }

    /// The same with the depth to liquid.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::Look;
    /// # use soaklife::quantity::inches;
    /// let look = Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(41.5));
    /// assert_eq!(look.depth, Some(inches(41.5)));
    /// ```
    #[must_use]
    pub fn with_depth(self, depth: Length) -> Self {
        Self { depth: Some(depth), ..self }
    }

    /// The same with the rise in the tank.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::Look;
    /// # use soaklife::quantity::inches;
    /// let look = Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_tank_rise(inches(0.5));
    /// assert_eq!(look.tank_rise, Some(inches(0.5)));
    /// ```
    #[must_use]
    pub fn with_tank_rise(self, rise: Length) -> Self {
        Self { tank_rise: Some(rise), ..self }
    }
}

/// How well stick and meter measure.
///
/// The default: a stick read to the half inch at a surface that is not quite still, 1/4 in (common practice, no source); a
/// house meter on a garden hose, 2 % (common practice, no source; AWWA M6 asks 1.5 % of small meters, from memory).
///
/// ```
/// use soaklife::load_test::Accuracy;
/// use soaklife::quantity::inches;
/// assert_eq!(Accuracy::default(), Accuracy { stick: inches(0.25), meter: 0.02 });
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Standard deviation of a depth.
    pub stick: Length,
    /// Relative standard deviation of a volume.
    pub meter: f64,
}

impl Default for Accuracy {
    fn default() -> Self {
        Self { stick: inches(0.25), meter: 0.02 }
    }
}

/// One hydraulic load test as it was written down: looks in order of time.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::load_test::{LoadTest, Look};
/// use soaklife::quantity::{gallons, inches};
/// let look = Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_added(gallons(0.0)).with_depth(inches(120.0));
/// assert_eq!(LoadTest::new(vec![look])?.date(), date(2026, 5, 5));
/// # Ok::<(), soaklife::load_test::LoadTestError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LoadTest {
    looks: Vec<Look>,
    accuracy: Accuracy,
    tank_area: Option<Area>,
    rained: bool,
}

/// Why looks make no test. Indexes count from 0.
///
/// ```
/// # use soaklife::load_test::{LoadTest, LoadTestError};
/// assert_eq!(LoadTest::new(vec![]), Err(LoadTestError::NoLook));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum LoadTestError {
    /// There is no look at all.
    #[error("a test needs at least one look")]
    NoLook,
    /// A look is earlier than the one before it.
    #[error("look {index} is earlier than the one before it: give looks in order of time")]
    NotInOrder {
        /// Its index.
        index: usize,
    },
    /// A value is negative where it cannot be, is not finite, or is no pit's.
    #[error("look {index} holds {found} m or m³, which cannot be")]
    OutOfRange {
        /// Its index.
        index: usize,
        /// The value, in m or m³.
        found: f64,
    },
    /// A running total of water falls without starting again at nothing.
    #[error("the water added by look {index} is less than before: give a running total")]
    FallingTotal {
        /// Its index.
        index: usize,
    },
    /// A standard deviation that is not above zero and finite, or a tank of no area.
    #[error("{found} is no accuracy of stick or meter and no area of a tank: give a number above zero")]
    Accuracy {
        /// The value.
        found: f64,
    },
}

impl LoadTest {
    /// A test from its looks. A running total may start again at nothing once, as for the second day.
    ///
    /// # Errors
    /// [`LoadTestError`]: no look, looks not in order, values that cannot be, a total that falls.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use soaklife::load_test::{LoadTest, LoadTestError, Look};
    /// use soaklife::quantity::gallons;
    /// let look = |hour, added| Look::at(date(2026, 5, 5).at(hour, 0, 0, 0)).with_added(gallons(added));
    /// assert_eq!(LoadTest::new(vec![look(8, 200.0), look(9, 150.0)]), Err(LoadTestError::FallingTotal { index: 1 }));
    /// assert_eq!(LoadTest::new(vec![look(9, 0.0), look(8, 50.0)]), Err(LoadTestError::NotInOrder { index: 1 }));
    /// ```
    pub fn new(looks: Vec<Look>) -> Result<Self, LoadTestError> {
        if looks.is_empty() {
            return Err(LoadTestError::NoLook);
        }
        let (mut total, mut earlier) = (0.0, None);
        for (index, look) in looks.iter().enumerate() {
            if earlier.is_some_and(|earlier| look.time < earlier) {
                return Err(LoadTestError::NotInOrder { index });
            }
            earlier = Some(look.time);
            let added = look.added.map(|added| added.value);
            let values = [
                added.map(|added| (added, 0.0)),
                look.depth.map(|depth| (depth.value, 0.0)),
                look.tank_rise.map(|rise| (rise.value, -LARGEST)),
            ];
            for (found, least) in values.into_iter().flatten() {
                if !(least..=LARGEST).contains(&found) {
                    return Err(LoadTestError::OutOfRange { index, found });
                }
            }
            if let Some(added) = added {
                if added < total && added > 0.0 {
                    return Err(LoadTestError::FallingTotal { index });
                }
                total = added;
            }
        }
        Ok(Self { looks, accuracy: Accuracy::default(), tank_area: None, rained: false })
    }

    /// The same with another accuracy of stick and meter.
    ///
    /// # Errors
    /// [`LoadTestError::Accuracy`] unless both are above zero and finite.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Accuracy, LoadTest, Look};
    /// # use soaklife::quantity::inches;
    /// let test = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?;
    /// assert!(test.clone().measured_to(Accuracy { stick: inches(0.5), meter: 0.05 }).is_ok());
    /// assert!(test.measured_to(Accuracy { stick: inches(0.0), meter: 0.05 }).is_err());
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    pub fn measured_to(self, accuracy: Accuracy) -> Result<Self, LoadTestError> {
        for found in [accuracy.stick.value, accuracy.meter] {
            if !(found > 0.0 && found < LARGEST) {
                return Err(LoadTestError::Accuracy { found });
            }
        }
        Ok(Self { accuracy, ..self })
    }

    /// The same with the tank's area seen from above; where it is not known, what the tank holds has bounds only.
    ///
    /// # Errors
    /// [`LoadTestError::Accuracy`] unless it is above zero and finite.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{LoadTest, Look};
    /// # use soaklife::quantity::feet;
    /// let test = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?;
    /// assert!(test.with_tank_area(feet(8.0) * feet(5.0)).is_ok());
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    pub fn with_tank_area(self, area: Area) -> Result<Self, LoadTestError> {
        if !(area.value > 0.0 && area.value < LARGEST) {
            return Err(LoadTestError::Accuracy { found: area.value });
        }
        Ok(Self { tank_area: Some(area), ..self })
    }

    /// The same, taken in rain or within a day or two of it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{LoadTest, Look};
    /// assert!(LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?.in_rain().rained());
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    #[must_use]
    pub fn in_rain(self) -> Self {
        Self { rained: true, ..self }
    }

    /// Whether it was taken in rain.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{LoadTest, Look};
    /// assert!(!LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?.rained());
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    #[must_use]
    pub fn rained(&self) -> bool {
        self.rained
    }

    /// The looks in order of time; never none.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{LoadTest, Look};
    /// assert_eq!(LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?.looks().len(), 1);
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    #[must_use]
    pub fn looks(&self) -> &[Look] {
        &self.looks
    }

    /// How well stick and meter measure.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Accuracy, LoadTest, Look};
    /// let test = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?;
    /// assert_eq!(test.accuracy(), Accuracy::default());
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    #[must_use]
    pub fn accuracy(&self) -> Accuracy {
        self.accuracy
    }

    /// The day on which it began.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{LoadTest, Look};
    /// assert_eq!(LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?.date(), date(2026, 5, 5));
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    #[must_use]
    pub fn date(&self) -> Date {
        self.looks.first().map_or(Date::MIN, |look| look.time.date())
    }

    /// The day on which it ended.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{LoadTest, Look};
    /// assert_eq!(LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0))])?.last_date(), date(2026, 5, 5));
    /// # Ok::<(), soaklife::load_test::LoadTestError>(())
    /// ```
    #[must_use]
    pub fn last_date(&self) -> Date {
        self.looks.last().map_or(Date::MIN, |look| look.time.date())
    }

    /// Least and greatest area of the tank, m².
    pub(super) fn tank_area_m2(&self) -> (f64, f64) {
        self.tank_area.map_or((0.0, MOST_TANK_M2), |area| (area.value, area.value))
    }
}

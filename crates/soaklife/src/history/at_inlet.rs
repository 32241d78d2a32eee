//! Whether a pit has reached its inlet, by what somebody has seen there.

use super::{CLOSE_TO_INLET_IN, EventKind, History};
use crate::quantity::{Length, inches};
use crate::reading::{Condition, Observation, Reading};
use jiff::civil::Date;

/// What the readings since the last remedy say of the inlet.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::history::FoundAtInlet;
/// use soaklife::quantity::inches;
/// use soaklife::{History, Pit, Reading};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let full = [2023, 2024, 2025].map(|year| Reading::at_inlet(date(year, 5, 1)));
/// let just_below = Reading::at_depth(&pit, date(2026, 5, 1), inches(30.5))?;
/// let history = History::new(pit).with_readings(full.into_iter().chain([just_below]));
/// let found = history.found_at_inlet(date(2026, 6, 30), inches(0.0));
/// assert_eq!(found, Some(FoundAtInlet::Reached { since: full[0] }));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum FoundAtInlet {
    /// The pit has reached its inlet and has not been seen to leave.
    Reached {
        /// The first reading that found the liquid there.
        since: Reading,
    },
    /// The pit was at its inlet, and a later reading in ordinary use found it well below, though nobody recorded a remedy.
    Left {
        /// The last reading that found the liquid at the inlet.
        was: Reading,
        /// The last reading well below.
        stands: Reading,
    },
}

impl History {
    /// Whether the pit has reached its inlet, as known on a day; `None` if no reading since the last remedy found it there.
    ///
    /// A repair, a rehabilitation, the end of a rest, another pit beside it or a replacement are remedies; pumping out and
    /// another rim are none. A reading in ordinary use more than [`CLOSE_TO_INLET_IN`] below the goal, which is the action freeboard
    /// below the inlet, says that the pit has left its inlet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::history::{Event, EventKind};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit, Reading};
    /// let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// let full = History::new(pit).with_readings([Reading::at_inlet(date(2025, 5, 1))]);
    /// assert!(full.found_at_inlet(date(2026, 6, 30), inches(0.0)).is_some());
    /// let restored = full.with_events([Event::new(date(2025, 9, 1), EventKind::Rehabilitated)]);
    /// assert_eq!(restored.found_at_inlet(date(2026, 6, 30), inches(0.0)), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn found_at_inlet(&self, as_of: Date, action_freeboard: Length) -> Option<FoundAtInlet> {
        self.found_at_inlet_by(as_of, action_freeboard, |_| true)
    }

    /// The same by those readings that are likely to be right.
    pub(crate) fn found_at_inlet_by(
        &self,
        as_of: Date,
        action_freeboard: Length,
        is_credible: impl Fn(&Reading) -> bool,
    ) -> Option<FoundAtInlet> {
        if !self.readings().iter().any(|reading| reading.stands_at_inlet(self.pit())) {
            return None;
        }
        let left_below = action_freeboard + inches(CLOSE_TO_INLET_IN);
        let (mut since, mut was, mut left) = (None, None, None);
        for reading in self.readings().iter().filter(|reading| is_credible(reading)) {
            if reading.date().middle() > as_of || self.remedied_after(reading, as_of) {
                continue;
            }
            let other_rim = self.has_another_rim_after(reading, as_of);
            if reading.stands_at_inlet(self.pit())
                && reading.condition() != Condition::Suspect
                && (!other_rim || reading.observation() == Observation::AtInlet)
            {
                since = since.or(Some(*reading));
                was = Some(*reading);
            } else if was.is_some()
                && !other_rim
                && self.is_in_ordinary_use(reading)
                && self.pit().freeboard(reading.level(self.pit())) > left_below
            {
                (since, left) = (None, Some(*reading));
            }
        }
        match (since, was, left) {
            (Some(since), ..) => Some(FoundAtInlet::Reached { since }),
            (None, Some(was), Some(stands)) => Some(FoundAtInlet::Left { was, stands }),
            _ => None,
        }
    }

    fn remedied_after(&self, reading: &Reading, as_of: Date) -> bool {
        self.happened_after(reading, as_of, |kind| kind.starts_afresh() && kind != EventKind::DatumChanged)
    }

    fn has_another_rim_after(&self, reading: &Reading, as_of: Date) -> bool {
        self.happened_after(reading, as_of, |kind| kind == EventKind::DatumChanged)
    }

    fn happened_after(&self, reading: &Reading, as_of: Date, kind: impl Fn(EventKind) -> bool) -> bool {
        let taken = reading.date().middle();
        self.events().iter().any(|event| {
            let day = event.date.middle();
            kind(event.kind) && day > taken && day <= as_of
        })
    }

    /// Whether the level stood as people use the house: not lowered, not doubted.
    pub(crate) fn is_in_ordinary_use(&self, reading: &Reading) -> bool {
        matches!(reading.condition(), Condition::Normal | Condition::AfterRain)
            && self.lowered_for_a_while(reading).is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::Event;
    use crate::pit::Pit;
    use jiff::civil::date;

    const AS_OF: Date = Date::constant(2026, 6, 30);

    fn pit() -> Pit {
        Pit::new(inches(30.0), inches(200.0)).unwrap()
    }

    fn below(year: i16, left_in: f64) -> Reading {
        Reading::at_depth(&pit(), date(year, 5, 1), inches(30.0 + left_in)).unwrap()
    }

    fn full(year: i16) -> Reading {
        Reading::at_inlet(date(year, 5, 1))
    }

    fn found(readings: &[Reading], action_in: f64) -> Option<FoundAtInlet> {
        History::new(pit()).with_readings(readings.to_vec()).found_at_inlet(AS_OF, inches(action_in))
    }

    #[test]
    fn a_pit_seen_at_its_inlet_has_reached_it_until_it_is_seen_well_below() {
        let reached = |year| Some(FoundAtInlet::Reached { since: full(year) });
        assert_eq!(found(&[below(2022, 3.0)], 0.0), None);
        assert_eq!(found(&[full(2023), full(2024), full(2025), below(2026, 0.5)], 0.0), reached(2023));
        assert_eq!(found(&[full(2024), below(2026, 6.0)], 0.0), reached(2024));
        let (was, stands) = (full(2024), below(2026, 6.1));
        assert_eq!(found(&[was, stands], 0.0), Some(FoundAtInlet::Left { was, stands }));
        // An owner who acts at a foot has reached that goal as long as the level is near it.
        assert_eq!(found(&[was, stands], 12.0), reached(2024));
        assert_eq!(found(&[full(2020), below(2022, 40.0), full(2025)], 0.0), reached(2025));
    }

    #[test]
    fn only_a_level_in_ordinary_use_takes_a_pit_from_its_inlet() {
        let reached = Some(FoundAtInlet::Reached { since: full(2024) });
        for condition in [Condition::Vacant, Condition::AfterPumping, Condition::Suspect] {
            assert_eq!(found(&[full(2024), below(2026, 40.0).in_condition(condition)], 0.0), reached);
        }
        assert_eq!(found(&[full(2024).in_condition(Condition::Suspect)], 0.0), None);
    }

    #[test]
    fn a_remedy_ends_it_and_a_pump_out_or_another_rim_does_not() {
        for kind in EventKind::ALL {
            let history = History::new(pit())
                .with_readings([full(2024)])
                .with_events([Event::new(date(2025, 5, 1), kind)]);
            let is_remedy =
                !matches!(kind, EventKind::PumpedOut | EventKind::RestStarted | EventKind::DatumChanged);
            assert_eq!(history.found_at_inlet(AS_OF, inches(0.0)).is_none(), is_remedy, "{kind:?}");
        }
    }
}

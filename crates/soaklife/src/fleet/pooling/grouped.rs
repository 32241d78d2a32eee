//! The records of a fleet and of its groups, ready to learn from.

use super::{Experience, MOST_RECORDS, PreparedPit};
use crate::fleet::budget::{MOST_GROUPS, TooManyGroups};
use crate::prior::PopulationPrior;
use std::collections::BTreeMap;

/// Most records kept in all groups together.
const MOST_IN_GROUPS: usize = 2 * MOST_RECORDS;

/// The records of a fleet, as a whole and by group.
///
/// Memory is bounded: at most 8,192 records of the whole, as many of a group, 16,384 of all groups together and 500 groups. Where
/// there are more, the largest group lets every second record go. A record that the fleet and a group both keep is there once.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::pooling::{GroupedExperience, PreparedPit};
/// use soaklife::prior::PopulationPrior;
/// use soaklife::{History, Pit, Reading, quantity::inches};
///
/// let prior = PopulationPrior::default();
/// let mut experience = GroupedExperience::new(prior.clone());
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// for (maker, year) in [("Hale", 2024), ("Hale", 2025), ("Reyes", 2026)] {
///     let history = History::new(pit).with_readings([Reading::dry(date(year, 5, 1))]);
///     if let Some(pit) = PreparedPit::new(&history, date(2026, 6, 30), &prior) {
///         experience.add_prepared(pit, Some(maker))?;
///     }
/// }
/// assert_eq!(experience.whole().pits(), 3);
/// assert!(experience.groups().map(|(name, group)| (name, group.pits())).eq([("Hale", 2), ("Reyes", 1)]));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct GroupedExperience {
    whole: Experience,
    groups: BTreeMap<String, Experience>,
    in_groups: usize,
}

impl GroupedExperience {
    /// None yet; `prior` is what is known before.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::GroupedExperience;
    /// # use soaklife::prior::PopulationPrior;
    /// assert_eq!(GroupedExperience::new(PopulationPrior::default()).groups().count(), 0);
    /// ```
    #[must_use]
    pub fn new(prior: PopulationPrior) -> Self {
        Self { whole: Experience::new(prior), groups: BTreeMap::new(), in_groups: 0 }
    }

    /// Adds a pit, and the group it belongs to.
    ///
    /// # Errors
    /// [`TooManyGroups`]; nothing of the pit is added then.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::pooling::{GroupedExperience, PreparedPit};
    /// # use soaklife::prior::PopulationPrior;
    /// # use soaklife::{History, Pit, Reading, quantity::inches};
    /// # let prior = PopulationPrior::default();
    /// let read = History::new(Pit::new(inches(30.0), inches(210.0))?).with_readings([Reading::dry(date(2026, 5, 1))]);
    /// let mut experience = GroupedExperience::new(prior.clone());
    /// for pit in PreparedPit::new(&read, date(2026, 6, 30), &prior) {
    ///     experience.add_prepared(pit, None)?; // of no group
    /// }
    /// assert_eq!((experience.whole().pits(), experience.groups().count()), (1, 0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn add_prepared(&mut self, pit: PreparedPit, group: Option<&str>) -> Result<(), TooManyGroups> {
        if let Some(name) = group {
            self.add_to_group(pit.clone(), name)?;
        }
        self.whole.add_prepared(pit);
        Ok(())
    }

    fn add_to_group(&mut self, pit: PreparedPit, name: &str) -> Result<(), TooManyGroups> {
        if !self.groups.contains_key(name) {
            if self.groups.len() >= MOST_GROUPS {
                return Err(TooManyGroups);
            }
            self.groups.insert(name.to_owned(), Experience::new(self.whole.prior.clone()));
        }
        let Some(group) = self.groups.get_mut(name) else { return Ok(()) };
        let before = group.records.len();
        group.add_prepared(pit);
        self.in_groups = (self.in_groups + group.records.len()).saturating_sub(before);
        if self.in_groups > MOST_IN_GROUPS {
            self.thin_largest();
        }
        Ok(())
    }

    fn thin_largest(&mut self) {
        // Of two as large the last by name, on every machine.
        let Some(largest) = self.groups.values_mut().max_by_key(|group| group.records.len()) else { return };
        let before = largest.records.len();
        largest.thin();
        self.in_groups -= before - largest.records.len();
    }

    /// All pits.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::GroupedExperience;
    /// # use soaklife::prior::PopulationPrior;
    /// assert_eq!(GroupedExperience::new(PopulationPrior::default()).whole().pits(), 0);
    /// ```
    #[must_use]
    pub fn whole(&self) -> &Experience {
        &self.whole
    }

    /// The groups by name.
    ///
    /// ```
    /// # use soaklife::fleet::pooling::GroupedExperience;
    /// # use soaklife::prior::PopulationPrior;
    /// let experience = GroupedExperience::new(PopulationPrior::default());
    /// let fleet = experience.whole().learn();
    /// let groups: Vec<_> = experience.groups().map(|(name, group)| (name, group.learn_from(fleet.prior()))).collect();
    /// assert!(groups.is_empty());
    /// ```
    pub fn groups(&self) -> impl Iterator<Item = (&str, &Experience)> {
        self.groups.iter().map(|(name, group)| (name.as_str(), group))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::inches;
    use crate::{History, Pit, Reading};
    use jiff::civil::date;

    #[test]
    fn the_largest_groups_make_room_for_the_others() {
        let prior = PopulationPrior::default();
        let pit = Pit::new(inches(30.0), inches(210.0)).unwrap();
        let history = History::new(pit).with_readings([Reading::dry(date(2026, 5, 1))]);
        let pit = PreparedPit::new(&history, date(2026, 6, 30), &prior).unwrap();
        let mut experience = GroupedExperience::new(prior);
        for number in 0..60_000 {
            let group = match number % 100 {
                0 => "rare",
                1..=20 => "usual",
                place if place % 2 == 0 => "first",
                _ => "second",
            };
            experience.add_prepared(pit.clone(), Some(group)).unwrap();
        }
        let kept: BTreeMap<&str, usize> =
            experience.groups().map(|(name, group)| (name, group.records.len())).collect();
        assert_eq!(kept.values().sum::<usize>(), experience.in_groups);
        assert!(
            experience.in_groups <= MOST_IN_GROUPS && experience.in_groups > MOST_IN_GROUPS / 2,
            "{kept:?}"
        );
        assert_eq!(kept["rare"], 600, "{kept:?}");
        assert!(kept.values().all(|&kept| kept <= MOST_RECORDS), "{kept:?}");
        assert_eq!(experience.whole().pits(), 60_000);
    }

    #[test]
    fn a_column_that_names_pits_is_refused() {
        let prior = PopulationPrior::default();
        let pit = Pit::new(inches(30.0), inches(210.0)).unwrap();
        let history = History::new(pit).with_readings([Reading::dry(date(2026, 5, 1))]);
        let pit = PreparedPit::new(&history, date(2026, 6, 30), &prior).unwrap();
        let mut experience = GroupedExperience::new(prior);
        let mut add = |group: &str| experience.add_prepared(pit.clone(), Some(group));
        assert!((0..MOST_GROUPS).all(|group| add(&group.to_string()).is_ok()));
        assert_eq!((add("one more"), add("7")), (Err(TooManyGroups), Ok(())));
        assert_eq!(experience.whole().pits(), MOST_GROUPS + 1);
    }
}

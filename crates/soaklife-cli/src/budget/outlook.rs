//! The answer of a number of pits, worked out once: every year, every sum, the reserve.

use soaklife::fleet::{Fleet, Reserve, YearBudget};

/// How sure the reserves told are.
pub(crate) const COVERAGES: [f64; 3] = [0.5, 0.8, 0.95];

#[derive(Debug)]
pub(crate) struct Outlook {
    pub(crate) pits: u64,
    pub(crate) is_exact: bool,
    /// The rest of this year first.
    pub(crate) in_years: Vec<YearBudget>,
    /// From now to the end of each year.
    pub(crate) by_ends: Vec<YearBudget>,
    pub(crate) reserve: Reserve,
}

impl Outlook {
    pub(crate) fn of(fleet: &Fleet) -> Self {
        let places = 0..fleet.years().len();
        Self {
            pits: fleet.pits(),
            is_exact: fleet.replacements().in_year(0).is_exact(),
            in_years: places.clone().map(|place| fleet.year(place)).collect(),
            by_ends: places.map(|place| fleet.by_end_of(place)).collect(),
            reserve: fleet.reserve(),
        }
    }

    /// All years together.
    pub(crate) fn in_all(&self) -> Option<&YearBudget> {
        self.by_ends.last()
    }

    /// The level amount a year for each of [`COVERAGES`].
    pub(crate) fn levels(&self) -> [f64; 3] {
        COVERAGES.map(|coverage| self.reserve.level(coverage).unwrap_or_default())
    }
}

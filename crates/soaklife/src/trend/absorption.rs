//! The absorption method.

mod course;
mod filter;
mod hypotheses;
mod passage;

pub use hypotheses::Hypotheses;

use crate::history::History;
use course::Course;
use filter::{ShapeFilter, follow};
use hypotheses::LANES;
use jiff::civil::Date;
use passage::{Outlook, YEARS, weighed};

/// A pit's record, followed by every hypothesis.
#[derive(Debug, Clone, PartialEq)]
pub struct Absorption {
    hypotheses: Hypotheses,
    outlook: Outlook,
    full_in: f64,
    effective_depth_in: f64,
    good: Vec<f64>,
}

impl Absorption {
    /// Follows the record as known on a day.
    #[must_use]
    pub fn follow(history: &History, as_of: Date, hypotheses: &Hypotheses) -> Self {
        let course = Course::of(history, as_of, hypotheses.prior());
        let filters = follow(&course, hypotheses, |_, _, _| ());
        Self::from_filters(&course, &filters, hypotheses, Vec::new())
    }

    fn from_filters(
        course: &Course,
        filters: &[ShapeFilter],
        hypotheses: &Hypotheses,
        good: Vec<f64>,
    ) -> Self {
        let nodes = weighed(filters, hypotheses);
        Self {
            outlook: Outlook::of(course, nodes, hypotheses),
            hypotheses: hypotheses.clone(),
            full_in: course.full_in,
            effective_depth_in: course.effective_depth_in,
            good,
        }
    }

    /// First passage.
    #[must_use]
    pub fn reaches(&self, level_in: f64) -> Passage {
        Passage { reached: self.outlook.passage(self.z_of(level_in), &self.hypotheses) }
    }

    fn z_of(&self, level_in: f64) -> f64 {
        ((level_in + self.hypotheses.prior().offset_in) / self.full_in).ln()
    }

    /// Level quantiles.
    #[must_use]
    pub fn level_quantiles<const N: usize>(&self, years: f64, probabilities: [f64; N]) -> Option<[f64; N]> {
        let levels = self.outlook.levels(years, 0.0, &self.hypotheses);
        let mut found = [0.0; N];
        for (place, probability) in found.iter_mut().zip(probabilities) {
            let z = levels.quantile(probability)?;
            *place = (self.full_in * z.exp() - self.hypotheses.prior().offset_in)
                .clamp(0.0, self.effective_depth_in);
        }
        Some(found)
    }
}

/// When the level reaches a height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passage {
    reached: [f64; YEARS.len()],
}

impl Passage {
    /// Chance by.
    #[must_use]
    pub fn chance_within(&self, years: f64) -> f64 {
        let after = YEARS.partition_point(|&grid| grid < years);
        match (after.checked_sub(1).map(|before| (YEARS[before], self.reached[before])), YEARS.get(after)) {
            (None, _) => self.reached[0],
            (Some((_, chance)), None) => chance,
            (Some((from, chance)), Some(&to)) => {
                chance + (self.reached[after] - chance) * (years - from) / (to - from)
            }
        }
    }

    /// Quantile.
    #[must_use]
    pub fn years(&self, probability: f64) -> Option<f64> {
        let after = self.reached.iter().position(|&chance| chance >= probability)?;
        let Some(before) = after.checked_sub(1) else { return Some(0.0) };
        let (low, high) = (self.reached[before], self.reached[after]);
        Some(YEARS[before] + (YEARS[after] - YEARS[before]) * (probability - low) / (high - low))
    }
}

//! One thing a fleet can teach: the prior before and after it.

use crate::numerics::golden_section;
use crate::prior::{Course, Pace, PopulationPrior};
use crate::trend::absorption::{Hypotheses, Record, Shares};

/// Pits seen before: what typical experience of the courses counts for against a fleet.
const COURSES_SEEN_BEFORE: f64 = 600.0;
/// The same for temperaments. Short records make any pit look calm, so it takes many to say that a fleet is.
const TEMPERAMENTS_SEEN_BEFORE: f64 = 6000.0;
const EXPECTATION_ROUNDS: usize = 5;
/// No fleet, and no group of one, is more than three times faster, or slower, than typical.
const FURTHEST: f64 = 1.0986; // ln 3, rounded down
/// Sections of the search for a factor: to within 3 %.
const SECTIONS: usize = 8;
/// Standard deviation of the logarithm of a pace, and of an onset, against those known before: as if the paces of fifty
/// pits, each known to a factor of two, had been seen before.
const PACE_SPREAD: f64 = 0.1;
const ONSET_SPREAD: f64 = 0.1;

/// What was known before a lesson.
#[derive(Debug, Clone, Copy)]
pub(super) struct Before<'a> {
    /// Typical experience: nobody is further from it than [`FURTHEST`].
    pub(super) typical: &'a PopulationPrior,
    /// What counts as if it had been seen: typical experience again for a fleet, what the fleet has taught for a group.
    pub(super) base: &'a PopulationPrior,
}

/// What a fleet can teach.
///
/// ```
/// use soaklife::fleet::pooling::Lesson;
/// assert_eq!(Lesson::Courses.in_words(), "which courses pits take");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Lesson {
    /// Weights of the courses.
    Courses,
    /// Load at which dry pits that fill within a few years begin to.
    FillingOnset,
    /// How fast they then fill.
    FillingPace,
    /// Pace of all others.
    Pace,
    /// Load at which pits that stay dry for years begin to creep up.
    LateOnset,
    /// Weights of the temperaments.
    Temperaments,
}

impl Lesson {
    /// Every lesson, in the order in which they are learnt: what is told apart best comes first.
    ///
    /// ```
    /// assert_eq!(soaklife::fleet::pooling::Lesson::ALL.len(), 6);
    /// ```
    pub const ALL: [Self; 6] = [
        Self::Courses,
        Self::FillingOnset,
        Self::FillingPace,
        Self::Pace,
        Self::LateOnset,
        Self::Temperaments,
    ];

    /// In words.
    ///
    /// ```
    /// assert_eq!(soaklife::fleet::pooling::Lesson::Pace.in_words(), "how fast they rise");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Courses => "which courses pits take",
            Self::FillingOnset => "when dry pits begin to fill",
            Self::FillingPace => "how fast dry pits fill",
            Self::Pace => "how fast they rise",
            Self::LateOnset => "when dry pits begin to creep up",
            Self::Temperaments => "how restless they are",
        }
    }

    /// The prior after this lesson from these records, whatever lessons came before it.
    pub(super) fn taught(
        self,
        from: &PopulationPrior,
        before: Before<'_>,
        records: &[&Record],
    ) -> PopulationPrior {
        match self {
            Self::Courses => reweighed(from, records, |prior, seen| weigh_courses(prior, before.base, seen)),
            Self::Temperaments => {
                reweighed(from, records, |prior, seen| weigh_temperaments(prior, before.base, seen))
            }
            Self::FillingOnset | Self::LateOnset => self.rescaled(from, before, records, ONSET_SPREAD),
            Self::FillingPace | Self::Pace => self.rescaled(from, before, records, PACE_SPREAD),
        }
    }

    /// Penalty and bound are counted from what was known before, not from where an earlier round has led.
    fn rescaled(
        self,
        from: &PopulationPrior,
        Before { typical, base }: Before<'_>,
        records: &[&Record],
        spread: f64,
    ) -> PopulationPrior {
        let worth = |x: f64| {
            let penalty = 0.5 * (x / spread) * (x / spread);
            log_likelihood(&self.scaled(from, base, x), records) - penalty
        };
        let gone = (self.multiplied(base) / self.multiplied(typical)).ln();
        let [least, most] = [-FURTHEST, FURTHEST].map(|bound| bound - gone);
        self.scaled(from, base, golden_section::highest(worth, least, most, SECTIONS))
    }

    /// A prior with the numbers of this lesson eˣ times those of `base`.
    fn scaled(self, prior: &PopulationPrior, base: &PopulationPrior, x: f64) -> PopulationPrior {
        let mut scaled = prior.clone();
        let factor = x.exp();
        match self {
            Self::Pace => {
                scaled.reference_load = base.reference_load / factor;
                scaled.late.pace = quickened(base.late.pace, factor);
            }
            Self::FillingPace => scaled.filling.pace = quickened(base.filling.pace, factor),
            Self::LateOnset => scaled.late.median_load = base.late.median_load * factor,
            Self::FillingOnset => scaled.filling.median_load = base.filling.median_load * factor,
            Self::Courses | Self::Temperaments => {}
        }
        scaled
    }

    /// What this lesson multiplies: grows with x as [`Lesson::scaled`] has it.
    fn multiplied(self, prior: &PopulationPrior) -> f64 {
        match self {
            Self::Pace => 1.0 / prior.reference_load,
            Self::FillingPace => swiftness(prior.filling.pace),
            Self::LateOnset => prior.late.median_load,
            Self::FillingOnset => prior.filling.median_load,
            Self::Courses | Self::Temperaments => 1.0,
        }
    }
}

fn quickened(pace: Pace, factor: f64) -> Pace {
    match pace {
        Pace::Width(width) => Pace::Width(width / factor),
        Pace::DepthShare(share) => Pace::DepthShare(share * factor),
    }
}

fn swiftness(pace: Pace) -> f64 {
    match pace {
        Pace::Width(width) => 1.0 / width,
        Pace::DepthShare(share) => share,
    }
}

/// ln P(readings | in service) over all records; nothing is likelier under a prior that cannot be computed with.
pub(super) fn log_likelihood(prior: &PopulationPrior, records: &[&Record]) -> f64 {
    let Ok(hypotheses) = Hypotheses::new(prior.clone()) else { return f64::NEG_INFINITY };
    records.iter().map(|record| record.evidence(&hypotheses).log_likelihood).sum()
}

/// Expectation and maximisation: `weigh` sets the weights from the pits seen of each kind, those gone included.
fn reweighed(
    from: &PopulationPrior,
    records: &[&Record],
    weigh: impl Fn(&mut PopulationPrior, &Shares),
) -> PopulationPrior {
    let mut prior = from.clone();
    for _ in 0..EXPECTATION_ROUNDS {
        let Ok(hypotheses) = Hypotheses::new(prior.clone()) else { return prior };
        let mut seen = Shares::default();
        for record in records {
            let evidence = record.evidence(&hypotheses);
            let kinds = evidence.after.iter().flatten().zip(evidence.gone.iter().flatten());
            for (seen, (after, gone)) in seen.iter_mut().flatten().zip(kinds) {
                *seen += after + gone;
            }
        }
        weigh(&mut prior, &seen);
    }
    prior
}

fn weigh_temperaments(prior: &mut PopulationPrior, base: &PopulationPrior, seen: &Shares) {
    let before: f64 = base.temperaments.iter().map(|temperament| temperament.weight).sum();
    // Levels that run of their own have temperaments of their own.
    let seen =
        || Course::ALL.into_iter().zip(seen).filter(|(course, _)| !course.is_local()).map(|(_, row)| row);
    let all = seen().flatten().sum::<f64>() + TEMPERAMENTS_SEEN_BEFORE;
    for (place, temperament) in prior.temperaments.iter_mut().enumerate() {
        let known = TEMPERAMENTS_SEEN_BEFORE * base.temperaments[place].weight / before;
        temperament.weight = (seen().map(|row| row[place]).sum::<f64>() + known) / all;
    }
}

fn weigh_courses(prior: &mut PopulationPrior, base: &PopulationPrior, seen: &Shares) {
    let before: f64 = Course::ALL.iter().map(|&course| weight_of(base, course)).sum();
    let all = seen.iter().flatten().sum::<f64>() + COURSES_SEEN_BEFORE;
    for (course, row) in Course::ALL.into_iter().zip(seen) {
        let known = COURSES_SEEN_BEFORE * weight_of(base, course) / before;
        let weight = (row.iter().sum::<f64>() + known) / all;
        let now = weight_of(prior, course);
        if now > 0.0 {
            multiply_weight(prior, course, weight / now);
        }
    }
}

fn weight_of(prior: &PopulationPrior, course: Course) -> f64 {
    let rising = prior.rising.iter().filter(|rising| rising.course == course);
    let from_the_start: f64 = rising.map(|rising| rising.weight).sum();
    from_the_start
        + match course {
            Course::Late => prior.late.weight,
            Course::Filling => prior.filling.weight,
            Course::Wandering => prior.local.wandering_weight,
            Course::Recent => prior.local.recent_weight,
            Course::Levelling | Course::Creeping => 0.0,
        }
}

fn multiply_weight(prior: &mut PopulationPrior, course: Course, factor: f64) {
    let rising = prior.rising.iter_mut().filter(|rising| rising.course == course);
    rising.for_each(|rising| rising.weight *= factor);
    match course {
        Course::Late => prior.late.weight *= factor,
        Course::Filling => prior.filling.weight *= factor,
        Course::Wandering => prior.local.wandering_weight *= factor,
        Course::Recent => prior.local.recent_weight *= factor,
        Course::Levelling | Course::Creeping => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_counts_from_what_was_known_before_whatever_came_since() {
        let base = PopulationPrior::default();
        for lesson in [Lesson::FillingOnset, Lesson::FillingPace, Lesson::Pace, Lesson::LateOnset] {
            let since = lesson.scaled(&base, &base, 0.7);
            for x in [-1.0, 0.0, 0.4] {
                let factor = lesson.multiplied(&lesson.scaled(&since, &base, x)) / lesson.multiplied(&base);
                assert!((factor.ln() - x).abs() < 1e-12, "{lesson:?}, {x}: {factor}");
            }
        }
    }
}

//! Whom to see first, when only so many visits can be made.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// From this chance of failing within two years on, somebody must come before the failure does: the same 10 %
/// by which a forecast asks for the next reading early.
pub(crate) const SOON: f64 = 0.10;
/// A reading this old, years, has told all it will: an older one makes the next no more worth.
const STALE: f64 = 5.0;

/// A pit as the visit list sees it.
///
/// ```
/// use soaklife::fleet::Candidate;
/// let pit = Candidate { id: "AF-01".into(), title: "4 Mill Race Lane".into(), within_two_years: 0.3,
///     years_since_reading: Some(1.0), years_to_inlet: [Some(1.0), Some(3.5), Some(8.0)] };
/// assert_eq!(pit.worth_of_reading(), 0.3 * 0.7);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its identifier.
    pub id: String,
    /// What people call it; may be empty.
    pub title: String,
    /// The chance that it reaches its inlet within two years.
    pub within_two_years: f64,
    /// Years since the last reading that says where the liquid stands; nothing if there is none.
    pub years_since_reading: Option<f64>,
    /// Years to the inlet with 10, 50 and 90 % probability; nothing beyond what a forecast sees.
    pub years_to_inlet: [Option<f64>; 3],
}

impl Candidate {
    /// What another reading is worth: how undecided it is whether the pit lasts two years, p (1 − p), times the
    /// years since the last reading, five at most. A level wanders with a variance that grows with time, so
    /// that is also how much a new reading can tell; a pit read today, or sure to last or to fail, is worth
    /// none.
    ///
    /// ```
    /// # use soaklife::fleet::Candidate;
    /// # let sure = Candidate { id: "A".into(), title: String::new(), within_two_years: 1.0,
    /// #     years_since_reading: None, years_to_inlet: [Some(0.0); 3] };
    /// assert_eq!(sure.worth_of_reading(), 0.0); // it has failed: a reading tells nothing new
    /// ```
    #[must_use]
    pub fn worth_of_reading(&self) -> f64 {
        let chance = if self.within_two_years.is_nan() { 0.0 } else { self.within_two_years.clamp(0.0, 1.0) };
        let known = self.years_since_reading.filter(|years| !years.is_nan());
        let years = known.map_or(STALE, |years| years.clamp(0.0, STALE));
        chance * (1.0 - chance) * years
    }

    /// The order in which pits reach their inlets: by the median of the years, then by their early end, then by the late one,
    /// then by identifier. What lies beyond the forecast comes last.
    ///
    /// ```
    /// # use soaklife::fleet::Candidate;
    /// # let pit = |id: &str, years_to_inlet| Candidate { id: id.into(), title: String::new(), within_two_years: 0.1,
    /// #     years_since_reading: None, years_to_inlet };
    /// let (soon, late) = (pit("B", [Some(1.0), Some(2.0), None]), pit("A", [Some(0.5), None, None]));
    /// assert!(soon.by_years_to_inlet(&late).is_lt());
    /// ```
    #[must_use]
    pub fn by_years_to_inlet(&self, other: &Self) -> Ordering {
        let key = |pit: &Self| {
            let [early, median, late] = pit.years_to_inlet.map(|years| years.unwrap_or(f64::INFINITY));
            [median, early, late]
        };
        let pairs = key(self).into_iter().zip(key(other));
        let years = pairs.map(|(a, b)| a.total_cmp(&b)).find(|order| order.is_ne());
        years.unwrap_or(Ordering::Equal).then_with(|| self.id.cmp(&other.id))
    }

    fn chance(&self) -> f64 {
        if self.within_two_years.is_nan() { 0.0 } else { self.within_two_years }
    }
}

/// Why a pit is on the list.
///
/// ```
/// use soaklife::fleet::VisitReason;
/// assert_eq!(VisitReason::MayFail.in_words(), "may fail");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum VisitReason {
    /// A tenth or more of a chance to reach the inlet within two years.
    MayFail,
    /// A reading there tells most.
    Reading,
}

impl VisitReason {
    /// In a word or two.
    ///
    /// ```
    /// # use soaklife::fleet::VisitReason;
    /// assert_eq!(VisitReason::Reading.in_words(), "reading");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::MayFail => "may fail",
            Self::Reading => "reading",
        }
    }
}

/// The visits that fit a capacity, chosen pit by pit while no more than twice as many are held.
///
/// First those that may fail within two years with a chance of a tenth or more, the likeliest first; what
/// capacity remains goes to the pits where [another reading is worth](Candidate::worth_of_reading) most. The
/// order in which pits come does not matter: equals go by identifier.
///
/// ```
/// use soaklife::fleet::{Candidate, VisitList, VisitReason};
/// let mut list = VisitList::new(2);
/// for (id, within_two_years, since) in [("A", 0.02, 1.0), ("B", 0.4, 0.2), ("C", 0.08, 4.0), ("D", 0.001, 1.0)] {
///     list.offer(Candidate { id: id.into(), title: String::new(), within_two_years,
///         years_since_reading: Some(since), years_to_inlet: [None; 3] });
/// }
/// let visits = list.visits();
/// let told: Vec<_> = visits.iter().map(|(reason, pit)| (*reason, pit.id.as_str())).collect();
/// assert_eq!(told, [(VisitReason::MayFail, "B"), (VisitReason::Reading, "C")]);
/// ```
#[derive(Debug, Clone)]
pub struct VisitList {
    capacity: usize,
    may_fail: BinaryHeap<Ranked>,
    worth_reading: BinaryHeap<Ranked>,
}

/// A pit with the number it is ranked by; the greatest is the one to give up first.
#[derive(Debug, Clone)]
struct Ranked {
    by: f64,
    pit: Candidate,
}

impl Ord for Ranked {
    fn cmp(&self, other: &Self) -> Ordering {
        other.by.total_cmp(&self.by).then_with(|| self.pit.id.cmp(&other.pit.id))
    }
}

impl PartialOrd for Ranked {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Ranked {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Ranked {}

impl VisitList {
    /// A list for so many visits.
    ///
    /// ```
    /// # use soaklife::fleet::VisitList;
    /// assert!(VisitList::new(200).visits().is_empty());
    /// ```
    #[must_use]
    pub fn new(capacity: usize) -> Self {
        Self { capacity, may_fail: BinaryHeap::new(), worth_reading: BinaryHeap::new() }
    }

    /// One pit more.
    ///
    /// ```
    /// # use soaklife::fleet::{Candidate, VisitList};
    /// # let pit = Candidate { id: "A".into(), title: String::new(), within_two_years: 0.5,
    /// #     years_since_reading: None, years_to_inlet: [None; 3] };
    /// let mut list = VisitList::new(1);
    /// list.offer(pit);
    /// assert_eq!(list.visits().len(), 1);
    /// ```
    pub fn offer(&mut self, pit: Candidate) {
        if pit.chance() >= SOON {
            keep(&mut self.may_fail, self.capacity, Ranked { by: pit.chance(), pit });
        } else if pit.worth_of_reading() > 0.0 {
            keep(&mut self.worth_reading, self.capacity, Ranked { by: pit.worth_of_reading(), pit });
        }
    }

    /// The visits, the most urgent first.
    ///
    /// ```
    /// # use soaklife::fleet::VisitList;
    /// assert!(VisitList::new(0).visits().is_empty());
    /// ```
    #[must_use]
    pub fn visits(&self) -> Vec<(VisitReason, &Candidate)> {
        let urgent = ranked(&self.may_fail).into_iter().map(|pit| (VisitReason::MayFail, pit));
        let readings = ranked(&self.worth_reading).into_iter().map(|pit| (VisitReason::Reading, pit));
        urgent.chain(readings).take(self.capacity).collect()
    }
}

fn keep(heap: &mut BinaryHeap<Ranked>, capacity: usize, pit: Ranked) {
    heap.push(pit);
    if heap.len() > capacity {
        heap.pop();
    }
}

fn ranked(heap: &BinaryHeap<Ranked>) -> Vec<&Candidate> {
    let mut pits: Vec<&Ranked> = heap.iter().collect();
    pits.sort();
    pits.into_iter().map(|ranked| &ranked.pit).collect()
}

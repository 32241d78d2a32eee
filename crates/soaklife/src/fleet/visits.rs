//! Whom to see first, when only so many visits can be made.

use super::urgency::{SOON, Urgency};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A reading this old, years, has told all it will: an older one makes the next no more worth.
const STALE: f64 = 5.0;

/// A pit as the visit list sees it.
///
/// ```
/// use soaklife::fleet::{Candidate, Urgency};
/// let urgency = Urgency::to_inlet([0.3, 0.7, 0.95], [Some(1.0), Some(3.5), Some(8.0)]);
/// let title = "4 Mill Race Lane".into();
/// let pit = Candidate { id: "AF-01".into(), title, years_since_reading: Some(1.0), urgency };
/// assert_eq!(pit.worth_of_reading(), 0.3 * 0.7);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its identifier.
    pub id: String,
    /// What people call it; may be empty.
    pub title: String,
    /// Years since the last reading that says where the liquid stands; nothing if there is none.
    pub years_since_reading: Option<f64>,
    /// How soon it reaches its inlet, or its action freeboard.
    pub urgency: Urgency,
}

impl Candidate {
    /// What another reading is worth: how undecided it is whether the pit lasts two years, p (1 − p), times the
    /// years since the last reading, five at most. A level wanders with a variance that grows with time, so
    /// that is also how much a new reading can tell; a pit read today, or sure to last or to fail, is worth
    /// none.
    ///
    /// ```
    /// # use soaklife::fleet::{Candidate, Urgency};
    /// # let urgency = Urgency::at_inlet();
    /// # let sure = Candidate { id: "A".into(), title: String::new(), years_since_reading: None, urgency };
    /// assert_eq!(sure.worth_of_reading(), 0.0); // it has failed: a reading tells nothing new
    /// ```
    #[must_use]
    pub fn worth_of_reading(&self) -> f64 {
        let chance = self.urgency.soon().min(1.0);
        let known = self.years_since_reading.filter(|years| !years.is_nan());
        let years = known.map_or(STALE, |years| years.clamp(0.0, STALE));
        chance * (1.0 - chance) * years
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
/// First those that may fail within two years with a chance of a tenth or more, in the order of their [`Urgency`]; what
/// capacity remains goes to the pits where [another reading is worth](Candidate::worth_of_reading) most, equals in that order.
/// Pits that are equal in all stay in the order in which they come.
///
/// ```
/// use soaklife::fleet::{Candidate, Urgency, VisitList, VisitReason};
/// let mut list = VisitList::new(2);
/// for (id, soon, since) in [("A", 0.02, 1.0), ("B", 0.4, 0.2), ("C", 0.08, 4.0), ("D", 0.001, 1.0)] {
///     let urgency = Urgency::to_inlet([soon; 3], [None; 3]);
///     list.offer(Candidate { id: id.into(), title: String::new(), years_since_reading: Some(since), urgency });
/// }
/// let visits = list.visits();
/// let told: Vec<_> = visits.iter().map(|(reason, pit)| (*reason, pit.id.as_str())).collect();
/// assert_eq!(told, [(VisitReason::MayFail, "B"), (VisitReason::Reading, "C")]);
/// ```
#[derive(Debug, Clone)]
pub struct VisitList {
    capacity: usize,
    offered: usize,
    may_fail: BinaryHeap<Ranked>,
    worth_reading: BinaryHeap<Ranked>,
}

/// A pit with the number it is ranked by, larger first, and its place among those offered; the greatest is the one to give up
/// first.
#[derive(Debug, Clone)]
struct Ranked {
    by: f64,
    place: usize,
    pit: Candidate,
}

impl Ord for Ranked {
    fn cmp(&self, other: &Self) -> Ordering {
        let worth = other.by.total_cmp(&self.by);
        worth.then_with(|| self.pit.urgency.compared(&other.pit.urgency)).then(self.place.cmp(&other.place))
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
        Self { capacity, offered: 0, may_fail: BinaryHeap::new(), worth_reading: BinaryHeap::new() }
    }

    /// One pit more.
    ///
    /// ```
    /// # use soaklife::fleet::{Candidate, Urgency, VisitList};
    /// # let urgency = Urgency::to_inlet([0.5, 0.6, 0.7], [None; 3]);
    /// # let pit = Candidate { id: "A".into(), title: String::new(), years_since_reading: None, urgency };
    /// let mut list = VisitList::new(1);
    /// list.offer(pit);
    /// assert_eq!(list.visits().len(), 1);
    /// ```
    pub fn offer(&mut self, pit: Candidate) {
        let (worth, place) = (pit.worth_of_reading(), self.offered);
        self.offered += 1;
        if pit.urgency.is_there() || pit.urgency.soon() >= SOON {
            // Their urgency alone ranks them.
            keep(&mut self.may_fail, self.capacity, Ranked { by: 0.0, place, pit });
        } else if worth > 0.0 {
            keep(&mut self.worth_reading, self.capacity, Ranked { by: worth, place, pit });
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

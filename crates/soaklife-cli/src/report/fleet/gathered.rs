//! What is kept of the pits on a walk: the most urgent as panels, and the reasons why others have no forecast.

use crate::budget::candidate;
use crate::forecast::answer::Answer;
use soaklife::fleet::Urgency;
use soaklife_charts::PitPanel;
use std::sync::atomic::{AtomicU64, Ordering};

/// Pits shown one by one, and as many of those without a forecast: more than anybody leafs through.
pub(super) const MOST_SHOWN: usize = 1000;

/// The chance of being there soon under which a pit is not among those shown. It spares drawing the others; what is shown does not
/// depend on when a thread comes to know it, because it never falls.
#[derive(Debug, Default)]
pub(super) struct LeastUrgent {
    soon: AtomicU64,
}

/// A pit, looked at.
pub(super) enum Seen {
    Panel(Box<PitPanel>),
    /// It has a forecast and is later than all that are shown.
    TooLate,
    /// Its title, and why it has no forecast.
    Silent(String, String),
}

#[derive(Debug)]
pub(super) struct Gathered {
    pub(super) forecasts: usize,
    pub(super) panels: Vec<PitPanel>,
    pub(super) silent: usize,
    pub(super) reasons: Vec<(String, String)>,
}

impl LeastUrgent {
    pub(super) fn look_at(&self, answer: &Answer<'_>) -> Seen {
        let (record, forecast) = match (answer.record, &answer.forecast) {
            (Some(record), Ok(forecast)) => (record, forecast),
            _ => return Seen::Silent(answer.title(), answer.problem().unwrap_or_default().to_owned()),
        };
        let urgency = Urgency::by_chances(forecast);
        let least = f64::from_bits(self.soon.load(Ordering::Relaxed));
        if !urgency.is_there() && urgency.soon() < least {
            return Seen::TooLate;
        }
        let pit = candidate(record, forecast, urgency.with_years_of(forecast));
        Seen::Panel(Box::new(PitPanel::new(pit, forecast)))
    }
}

impl Gathered {
    /// Nothing yet.
    pub(super) fn begin(least: &LeastUrgent) -> Self {
        least.soon.store(0.0f64.to_bits(), Ordering::Relaxed);
        Self { forecasts: 0, panels: Vec::new(), silent: 0, reasons: Vec::new() }
    }

    pub(super) fn take(&mut self, seen: Seen, least: &LeastUrgent) {
        match seen {
            Seen::TooLate => self.forecasts += 1,
            Seen::Panel(panel) => {
                self.forecasts += 1;
                self.panels.push(*panel);
                if self.panels.len() >= 2 * MOST_SHOWN {
                    self.keep_most_urgent();
                    let last = self.panels.last().map_or(0.0, |panel| panel.pit().urgency.soon());
                    least.soon.store(last.to_bits(), Ordering::Relaxed);
                }
            }
            Seen::Silent(title, reason) => {
                self.silent += 1;
                if self.reasons.len() < MOST_SHOWN {
                    self.reasons.push((title, reason));
                }
            }
        }
    }

    fn keep_most_urgent(&mut self) {
        self.panels.sort_by(|a, b| a.pit().urgency.compared(&b.pit().urgency));
        self.panels.truncate(MOST_SHOWN);
    }

    /// The most urgent, in order.
    pub(super) fn in_order(mut self) -> Self {
        self.keep_most_urgent();
        self
    }
}

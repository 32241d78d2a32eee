//! What is kept of the pits on a walk: the most urgent as panels, and the reasons why others have no forecast.

use crate::budget::walk::urgency;
use crate::forecast::answer::Answer;
use soaklife::forecast::Basis;
use soaklife_charts::PitPanel;
use std::sync::atomic::{AtomicU64, Ordering};

/// Pits shown one by one, and as many of those without a forecast: more than anybody leafs through.
pub(super) const MOST_SHOWN: usize = 1000;
/// A pit is passed over only if it is clearly later than those that are kept: by so many years.
const MARGIN: f64 = 1.0;

/// The years, by the median, from which on a pit is too late to be among those shown. It spares drawing the others; what is shown
/// does not depend on when a thread comes to know it, because it never rises.
#[derive(Debug)]
pub(super) struct Urgency {
    latest: AtomicU64,
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

impl Default for Urgency {
    fn default() -> Self {
        Self { latest: AtomicU64::new(f64::INFINITY.to_bits()) }
    }
}

impl Urgency {
    pub(super) fn look_at(&self, answer: &Answer<'_>) -> Seen {
        let (record, forecast) = match (answer.record, &answer.forecast) {
            (Some(record), Ok(forecast)) => (record, forecast),
            _ => return Seen::Silent(answer.title(), answer.problem().unwrap_or_default().to_owned()),
        };
        let latest = f64::from_bits(self.latest.load(Ordering::Relaxed)) + MARGIN;
        // A pit at its inlet is the most urgent, whatever is left of the chance that it was read wrong.
        let may_be_late = latest.is_finite() && forecast.basis() != Basis::AtInlet;
        if may_be_late && forecast.chance_by(latest) < 0.5 {
            return Seen::TooLate;
        }
        let pit = urgency(record, forecast, forecast.question().as_of());
        Seen::Panel(Box::new(PitPanel::new(pit, forecast)))
    }
}

impl Gathered {
    /// Nothing yet.
    pub(super) fn begin(urgency: &Urgency) -> Self {
        urgency.latest.store(f64::INFINITY.to_bits(), Ordering::Relaxed);
        Self { forecasts: 0, panels: Vec::new(), silent: 0, reasons: Vec::new() }
    }

    pub(super) fn take(&mut self, seen: Seen, urgency: &Urgency) {
        match seen {
            Seen::TooLate => self.forecasts += 1,
            Seen::Panel(panel) => {
                self.forecasts += 1;
                self.panels.push(*panel);
                if self.panels.len() >= 2 * MOST_SHOWN {
                    self.keep_most_urgent();
                    let latest = self.panels.last().and_then(|panel| panel.pit().years_to_inlet[1]);
                    urgency.latest.store(latest.unwrap_or(f64::INFINITY).to_bits(), Ordering::Relaxed);
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
        self.panels.sort_by(|a, b| a.pit().by_years_to_inlet(b.pit()));
        self.panels.truncate(MOST_SHOWN);
    }

    /// The most urgent, in order.
    pub(super) fn in_order(mut self) -> Self {
        self.keep_most_urgent();
        self
    }
}

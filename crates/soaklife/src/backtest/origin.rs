//! The days on which a forecast could have been asked for, what was known then, and what later readings showed.

use crate::date::years_between;
use crate::history::{Event, EventKind, History, Reason, Verdict};
use crate::quantity::as_inches;
use crate::reading::{Observation, Reading};
use jiff::civil::Date;

/// A reading and what it says where the liquid stood.
#[derive(Debug, Clone, Copy)]
struct Standing {
    reading: Reading,
    /// Whether a height was measured.
    is_liquid: bool,
}

/// A later reading, so many years after the origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LaterReading {
    pub(super) years: f64,
    pub(super) level_in: f64,
}

/// What later readings showed about the inlet, in years after the origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct InletOutcome {
    /// The first reading that stood there.
    pub(super) reached: Option<f64>,
    /// The last comparable reading.
    pub(super) followed: f64,
}

/// A day on which the pit was read, and what could be known then.
#[derive(Debug)]
pub(super) struct Origin {
    pub(super) day: Date,
    pub(super) known: History,
    /// The level found on that day.
    pub(super) level_in: f64,
    /// Later readings with a height, oldest first.
    pub(super) later: Vec<LaterReading>,
    pub(super) inlet: InletOutcome,
}

/// The origins of a pit, and how many days were left out because the rim or the pit was another then.
pub(super) fn origins(history: &History, fewest_readings: usize) -> (Vec<Origin>, usize) {
    let standings = standings(history);
    let mut days: Vec<Date> = standings.iter().map(|standing| standing.reading.date().last()).collect();
    days.sort_unstable();
    days.dedup();
    let (mut origins, mut left_out) = (Vec::new(), 0);
    for day in days {
        if is_described_otherwise(history, day) {
            left_out += 1;
        } else {
            origins.extend(origin(history, &standings, day, fewest_readings));
        }
    }
    (origins, left_out)
}

/// An origin, if enough was known that day, the pit had freeboard left, and something is known of what came.
fn origin(history: &History, standings: &[Standing], day: Date, fewest_readings: usize) -> Option<Origin> {
    let known = history.known_by(day);
    let speak = known.readings_for_a_line(day).into_iter().filter(|taken| says_where(taken.verdict)).count();
    let pit = history.pit();
    let latest = known.latest_standing(day).filter(|latest| !latest.stands_at_inlet(pit))?;
    if speak < fewest_readings || latest.date().last() != day {
        return None;
    }
    let end = next_fresh_start(history, day);
    let comparable: Vec<&Standing> = standings
        .iter()
        .filter(|later| later.reading.date().first() > day)
        .filter(|later| end.is_none_or(|end| later.reading.date().last() < end))
        .collect();
    let years = |reading: &Reading| years_between(day, reading.date().middle());
    let later = comparable
        .iter()
        .filter(|standing| standing.is_liquid)
        .map(|standing| LaterReading {
            years: years(&standing.reading),
            level_in: as_inches(standing.reading.level(pit)),
        })
        .collect();
    let inlet = InletOutcome {
        reached: comparable
            .iter()
            .find(|standing| standing.reading.stands_at_inlet(pit))
            .map(|first| years(&first.reading)),
        followed: years(&comparable.last()?.reading),
    };
    Some(Origin { day, known, level_in: as_inches(latest.level(pit)), later, inlet })
}

/// The readings that say where the liquid stood on their own day, whatever happened later.
fn standings(history: &History) -> Vec<Standing> {
    let own_day = |(place, reading): (usize, &Reading)| {
        // Judged on its own day: a later repair does not take back what the stick found.
        let verdict = history.readings_for_a_line(reading.date().middle()).get(place)?.verdict;
        let is_liquid = matches!(reading.observation(), Observation::Liquid { .. });
        says_where(verdict).then_some(Standing { reading: *reading, is_liquid })
    };
    history.readings().iter().enumerate().filter_map(own_day).collect()
}

fn says_where(verdict: Verdict) -> bool {
    matches!(verdict, Verdict::Used { .. } | Verdict::SetAside(Reason::Dry | Reason::AtInlet))
}

/// The first day from which readings speak for another state of the pit.
fn next_fresh_start(history: &History, day: Date) -> Option<Date> {
    let later = |event: &&Event| event.kind.starts_afresh() && event.date.last() > day;
    history.events().iter().filter(later).map(|event| event.date.first()).min()
}

/// Whether the description of today, from another rim or of another pit, did not hold on a day.
fn is_described_otherwise(history: &History, day: Date) -> bool {
    let changes = |event: &&Event| matches!(event.kind, EventKind::DatumChanged | EventKind::Replaced);
    history.events().iter().filter(changes).any(|event| event.date.last() > day)
}

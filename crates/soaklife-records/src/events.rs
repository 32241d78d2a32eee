//! `events.csv`: what was done to a system.

use crate::pits::{Homeless, Pits};
use crate::problem::{Fault, Place, ProblemKind, Problems};
use crate::row::Row;
use crate::schema::EVENTS_TABLE;
use crate::table::Rows;
use jiff::civil::Date;
use soaklife::history::{Event, EventKind};
use std::io;

mod column {
    pub(super) const PIT_ID: usize = 0;
    pub(super) const DATE: usize = 1;
    pub(super) const EVENT: usize = 2;
}

const ROW_OUT: &str = "Row left out; readings cannot be told apart there";

/// The events of every pit, by the pit's place in `pits.csv`.
pub(crate) fn read(
    rows: impl Rows,
    pits: &Pits,
    today: Date,
    problems: &mut Problems,
) -> io::Result<Vec<Vec<Event>>> {
    let mut filed: Vec<Vec<(Event, u64)>> = vec![Vec::new(); pits.entries.len()];
    let mut homeless = Homeless::default();
    rows.each(&EVENTS_TABLE, problems, |row, problems| {
        if let Some((place, event)) = parse(row, pits, today, &mut homeless, problems)
            && let Some(of_pit) = filed.get_mut(place)
        {
            of_pit.push((event, row.line()));
        }
    })?;
    homeless.say(pits, problems);
    for of_pit in &mut filed {
        of_pit.sort_by_key(|(event, line)| (event.date.middle(), *line));
        say_rest_without_start(of_pit, problems);
    }
    Ok(filed.into_iter().map(|of_pit| of_pit.into_iter().map(|(event, _)| event).collect()).collect())
}

fn parse(
    row: Row<'_>,
    pits: &Pits,
    today: Date,
    homeless: &mut Homeless,
    problems: &mut Problems,
) -> Option<(usize, Event)> {
    let lookup = homeless.lookup(pits, row.raw(column::PIT_ID))?;
    let (place, mut check) = row.check_of_pit(column::PIT_ID, lookup, pits, problems, ROW_OUT);
    let date = check.past_date(column::DATE, today);
    if row.raw(column::EVENT).is_empty() {
        check.missing(column::EVENT);
    }
    let kind = check.word(column::EVENT).and_then(|place| EventKind::ALL.get(place)).copied();
    let event = Event { date: date?, kind: kind? };
    check.is_sound().then_some((place?, event))
}

fn say_rest_without_start(events: &[(Event, u64)], problems: &mut Problems) {
    let mut resting = false;
    for (event, line) in events {
        match event.kind {
            EventKind::RestStarted => resting = true,
            EventKind::RestEnded if !resting => {
                let message = "a rest ends here that has not started before. Used";
                problems.warning(Place::line(*line), None, Fault::new(ProblemKind::Order, message));
            }
            EventKind::RestEnded => resting = false,
            _ => {}
        }
    }
}

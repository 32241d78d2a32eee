//! `occupancy.csv`: who lived there, or what the meter showed, from a day on.

use crate::pits::{Homeless, Pits, counted};
use crate::problem::{Fault, Place, ProblemKind, Problems};
use crate::readings::Days;
use crate::row::Row;
use crate::schema::OCCUPANCY;
use crate::table::Rows;
use jiff::civil::Date;
use soaklife::date::PartialDate;
use soaklife::quantity::VolumeRate;
use std::io;

mod column {
    pub(super) const PIT_ID: usize = 0;
    pub(super) const FROM: usize = 1;
    pub(super) const OCCUPANTS: usize = 2;
    pub(super) const FLOW: usize = 3;
}

const ROW_OUT: &str = "Row left out";

/// What a household used from a day on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Household {
    pub(crate) from: PartialDate,
    pub(crate) amount: Amount,
    pub(crate) line: u64,
}

/// People, or a metered flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Amount {
    Occupants(f64),
    Metered(VolumeRate),
}

/// The households of every pit by the day of the forecast, by the pit's place in `pits.csv`, and how many rows are later.
pub(crate) fn read(
    rows: impl Rows,
    pits: &Pits,
    days: Days,
    problems: &mut Problems,
) -> io::Result<(Vec<Vec<Household>>, u64)> {
    let mut households = vec![Vec::new(); pits.entries.len()];
    let mut homeless = Homeless::default();
    let mut after_as_of = 0;
    rows.each(&OCCUPANCY, problems, |row, problems| {
        if let Some((place, household)) = parse(row, pits, days.today, &mut homeless, problems)
            && let Some(of_pit) = households.get_mut(place)
        {
            if household.from.middle() > days.as_of {
                after_as_of += 1;
            } else {
                of_pit.push(household);
            }
        }
    })?;
    homeless.say(pits, problems);
    for of_pit in &mut households {
        say_same_day(of_pit, problems);
    }
    Ok((households, after_as_of))
}

/// Says once how many rows are later than the day of the forecast.
pub(crate) fn say_after_as_of(after_as_of: u64, days: Days, problems: &mut Problems) {
    days.say_after_as_of(counted(after_as_of, "row is", "rows are"), after_as_of, problems);
}

fn parse(
    row: Row<'_>,
    pits: &Pits,
    today: Date,
    homeless: &mut Homeless,
    problems: &mut Problems,
) -> Option<(usize, Household)> {
    let lookup = homeless.lookup(pits, row.raw(column::PIT_ID))?;
    let (place, mut check) = row.check_of_pit(column::PIT_ID, lookup, pits, problems, ROW_OUT);
    let from = check.past_date(column::FROM, today);
    let (occupants, flow) = (check.number(column::OCCUPANTS), check.flow(column::FLOW));
    check.not_negative(column::OCCUPANTS, occupants);
    check.not_negative(column::FLOW, flow.map(|flow| flow.value));
    let given = [column::OCCUPANTS, column::FLOW].map(|column| !row.raw(column).is_empty());
    match given {
        [true, true] => {
            let message = "occupants and a metered flow are both given. The flow is used".to_owned();
            check.warning(column::FLOW, ProblemKind::Contradiction, message);
        }
        [false, false] => {
            check.fault(
                column::OCCUPANTS,
                ProblemKind::MissingValue,
                "give occupants or a metered flow".to_owned(),
            );
        }
        _ => {}
    }
    let amount = flow.map(Amount::Metered).or(occupants.map(Amount::Occupants));
    let household = Household { from: from?, amount: amount?, line: row.line() };
    check.is_sound().then_some((place?, household))
}

/// Two records from one day: the later row is used, and that is said.
fn say_same_day(households: &mut Vec<Household>, problems: &mut Problems) {
    households.sort_by_key(|household| (household.from, household.line));
    let doubled: Vec<(u64, u64)> = households
        .iter()
        .zip(households.iter().skip(1))
        .filter(|(earlier, later)| earlier.from == later.from)
        .map(|(earlier, later)| (earlier.line, later.line))
        .collect();
    for (first, second) in doubled {
        let message = format!("line {first} is from the same day. This row is used, that one is left out");
        problems.warning(Place::line(second), None, Fault::new(ProblemKind::SameDay, message));
        households.retain(|household| household.line != first);
    }
}

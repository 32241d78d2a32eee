//! The usual row, filed from its bytes: a known pit, a full day, a depth between bottom and inlet, and nothing else.

use super::{Days, FiledReading, ROUNDING_IN, column};
use crate::field::leading_decimal;
use crate::header::Header;
use crate::measure::Unit;
use crate::pits::Pits;
use jiff::civil::Date;
use soaklife::quantity::inches;
use soaklife::reading::Reading;

/// Fields of a row that are looked at.
const WIDEST: usize = 8;
/// Characters of a day.
const DAY: usize = 10;

/// Where the fields of a usual row stand.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    roles: [Role; WIDEST],
    width: usize,
    column: u32,
    unit: Unit,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    PitId,
    Date,
    Depth,
    Empty,
}

impl Layout {
    pub(super) fn of(header: &Header) -> Option<Self> {
        let width = Some(header.width()).filter(|&width| width <= WIDEST)?;
        let unit = header.unit(column::DEPTH)?;
        let mut roles = [Role::Empty; WIDEST];
        for (column, role) in
            [(column::PIT_ID, Role::PitId), (column::DATE, Role::Date), (column::DEPTH, Role::Depth)]
        {
            *roles.get_mut(header.index(column)?)? = role;
        }
        let column = u32::try_from(header.index(column::DEPTH)? + 1).ok()?;
        Some(Self { roles, width, column, unit })
    }

    /// The reading in the first row, if nothing need be said of it, and the bytes of the row; none for any other, which may be
    /// sound too.
    pub(super) fn usual(
        &self,
        rows: &[u8],
        line: u64,
        pits: &Pits,
        days: Days,
    ) -> Option<(FiledReading, usize)> {
        let (mut found, mut day, mut depth) = (None, None, None);
        let mut rest = rows;
        for (place, role) in self.roles.iter().take(self.width).enumerate() {
            if place > 0 {
                rest = rest.strip_prefix(b",")?;
            }
            let length = match role {
                Role::PitId => {
                    let (place, pit) = pits.named_first(rest)?;
                    found = Some((place, pit));
                    pit.id.len()
                }
                Role::Date => {
                    day = iso_day(rest.get(..DAY)?);
                    DAY
                }
                Role::Depth => {
                    let (number, length) = leading_decimal(rest)?;
                    depth = self.unit.length(number);
                    length
                }
                Role::Empty => 0,
            };
            rest = &rest[length..];
        }
        let end = if rest.first() == Some(&b'\r') { 2 } else { 1 };
        if rest.get(end - 1) != Some(&b'\n') {
            return None;
        }
        let ((place, row), day) = (found?, day?);
        let level = row.pit.level_at_depth(depth?);
        let is_usual = level > inches(ROUNDING_IN)
            && level <= row.pit.effective_depth() + inches(ROUNDING_IN)
            && day <= days.today;
        let reading = Reading::at_level(&row.pit, day, level).ok().filter(|_| is_usual)?;
        let filed = FiledReading {
            place: u32::try_from(place).ok()?,
            reading,
            line,
            column: self.column,
            unit: self.unit,
        };
        Some((filed, rows.len() - rest.len() + end))
    }
}

/// A day written in full, as nearly all are.
fn iso_day(text: &[u8]) -> Option<Date> {
    let text: &[u8; 10] = text.try_into().ok()?;
    let digit = |at: usize| text[at].wrapping_sub(b'0');
    let is_form =
        [0, 1, 2, 3, 5, 6, 8, 9].iter().all(|&at| digit(at) < 10) && text[4] == b'-' && text[7] == b'-';
    if !is_form {
        return None;
    }
    let pair = |at: usize| digit(at) * 10 + digit(at + 1);
    let year = i16::from(pair(0)) * 100 + i16::from(pair(2));
    Date::new(year, pair(5) as i8, pair(8) as i8).ok().filter(|_| year > 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use soaklife::date::PartialDate;

    proptest! {
        #[test]
        fn days_are_read_as_the_general_reader_does(text in "[0-2][0-9]{3}[-/]?[01][0-9]-[0-3][0-9]?") {
            let general = text.parse::<PartialDate>().ok().filter(|date| date.is_exact()).map(PartialDate::first);
            prop_assert_eq!(iso_day(text.as_bytes()), general, "{}", text);
        }
    }
}

//! The usual row, filed from its bytes: a known pit, a full day, a depth between bottom and inlet, and nothing else.

use super::{Days, FiledReading, ROUNDING_IN, column};
use crate::field;
use crate::header::Header;
use crate::measure::Unit;
use crate::pits::Pits;
use crate::table::PlainRow;
use jiff::civil::Date;
use soaklife::quantity::inches;
use soaklife::reading::Reading;

/// Where the fields of a usual row stand: a known pit, a day, and a depth between bottom and inlet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    width: usize,
    pit_id: usize,
    date: usize,
    depth: usize,
    unit: Unit,
}

impl Layout {
    /// Fields of a row that are looked at.
    const WIDEST: usize = 8;

    pub(super) fn of(header: &Header) -> Option<Self> {
        Some(Self {
            width: Some(header.width()).filter(|&width| width <= Self::WIDEST)?,
            pit_id: header.index(column::PIT_ID)?,
            date: header.index(column::DATE)?,
            depth: header.index(column::DEPTH)?,
            unit: header.unit(column::DEPTH)?,
        })
    }

    /// The reading of a row of which nothing need be said; none for any other, which may be sound too.
    pub(super) fn usual(self, row: PlainRow<'_>, pits: &Pits, days: Days) -> Option<(usize, FiledReading)> {
        let mut fields = [&row.bytes[..0]; Self::WIDEST];
        let mut count = 0;
        for field in row.bytes.split(|&byte| byte == b',') {
            let is_read = count == self.pit_id || count == self.date || count == self.depth;
            if !is_read && !field.is_empty() {
                return None;
            }
            *fields.get_mut(count)? = field;
            count += 1;
        }
        if count != self.width {
            return None;
        }
        let (place, pit) = pits.lookup_again(fields.get(self.pit_id)?)?;
        let date = iso_day(fields.get(self.date)?)?;
        let depth = self.unit.length(field::short_decimal(fields.get(self.depth)?)?)?;
        let pit = &pit.pit;
        let level = pit.level_at_depth(depth);
        let is_usual = level > inches(ROUNDING_IN)
            && level <= pit.effective_depth() + inches(ROUNDING_IN)
            && date <= days.today;
        let reading = Reading::at_level(pit, date, level).ok().filter(|_| is_usual)?;
        let column = Some(self.depth as u64 + 1);
        Some((place, FiledReading { reading, line: row.line, column, unit: self.unit }))
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

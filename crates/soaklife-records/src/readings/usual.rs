//! The usual row, filed from its bytes: a known pit, a full day, a depth between bottom and inlet, and nothing else.

use super::{Days, FiledReading, ROUNDING_IN, column};
use crate::field::leading_decimal;
use crate::header::Header;
use crate::measure::Unit;
use crate::pits::Pits;
use jiff::civil::Date;
use soaklife::date::days_between;
use soaklife::quantity::inches;
use soaklife::reading::Reading;

/// Characters of a day.
const DAY: usize = 10;

/// How a usual row is laid out: pit, day and depth in this order, nothing in any other field.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    /// Commas before the pit, from there to the day, from there to the depth, and after it.
    commas: [usize; 4],
    column: u32,
    unit: Unit,
}

impl Layout {
    pub(super) fn of(header: &Header) -> Option<Self> {
        let [pit_id, date, depth] =
            [column::PIT_ID, column::DATE, column::DEPTH].map(|column| header.index(column));
        let [pit_id, date, depth] = [pit_id?, date?, depth?];
        let after = header.width().checked_sub(depth + 1)?;
        let commas = [pit_id, date.checked_sub(pit_id)?, depth.checked_sub(date)?, after];
        Some(Self { commas, column: u32::try_from(depth + 1).ok()?, unit: header.unit(column::DEPTH)? })
    }

    /// The reading in the first row, if nothing need be said of it, and the bytes of the row; none for any other, which may be
    /// sound too.
    #[inline]
    pub(super) fn usual(
        &self,
        rows: &[u8],
        line: u64,
        pits: &Pits,
        days: Days,
    ) -> Option<(FiledReading, usize)> {
        let [before, to_date, to_depth, after] = self.commas;
        let rest = behind_commas(rows, before)?;
        let (place, row) = pits.named_first(rest)?;
        let rest = behind_commas(rest.get(row.id.len()..)?, to_date)?;
        let (day, rest) = rest.split_first_chunk::<DAY>()?;
        let day = iso_day(day)?;
        let rest = behind_commas(rest, to_depth)?;
        let (depth, length) = leading_decimal(rest)?;
        let rest = behind_commas(rest.get(length..)?, after)?;
        let rest = rest.strip_prefix(b"\r").unwrap_or(rest).strip_prefix(b"\n")?;
        let level = row.pit.level_at_depth(self.unit.length(depth)?);
        let is_usual = level > inches(ROUNDING_IN)
            && level <= row.pit.effective_depth() + inches(ROUNDING_IN)
            && day <= days.today;
        let reading = Reading::at_level(&row.pit, day, level).ok().filter(|_| is_usual)?;
        let place = u32::try_from(place).ok()?;
        let filed = FiledReading {
            place,
            day: days_between(Date::ZERO, day),
            reading,
            line,
            column: self.column,
            unit: self.unit,
        };
        Some((filed, rows.len() - rest.len()))
    }
}

/// What follows so many commas.
#[inline]
fn behind_commas(rest: &[u8], count: usize) -> Option<&[u8]> {
    let (commas, rest) = rest.split_at_checked(count)?;
    commas.iter().all(|&byte| byte == b',').then_some(rest)
}

/// A day written in full, as nearly all are; year and month are looked at together.
#[inline]
fn iso_day(text: &[u8; DAY]) -> Option<Date> {
    const HIGH: u64 = 0x8080_8080_8080_8080;
    let [a, b, c, d, e, f, g, h, tens, ones] = *text;
    let values = u64::from_le_bytes([a, b, c, d, e, f, g, h]) ^ u64::from_le_bytes(*b"0000-00-");
    // 0x76 lifts what is above 9 to the highest bit of its byte, 0x7f what is not the dash.
    let is_other = ((values & !HIGH) + 0x7f76_767f_7676_7676) | values;
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    if is_other & HIGH != 0 || tens > 9 || ones > 9 {
        return None;
    }
    let pairs = values.wrapping_mul(10).wrapping_add(values >> 8).to_le_bytes();
    let year = 100 * i16::from(pairs[0]) + i16::from(pairs[2]);
    if year == 0 {
        return None;
    }
    Date::new(year, pairs[5] as i8, (10 * tens + ones) as i8).ok()
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
            let usual = text.as_bytes().try_into().ok().and_then(iso_day);
            prop_assert_eq!(usual, general, "{}", text);
        }
    }
}

//! The usual row, filed from its bytes: a known pit, a full day, a depth, and nothing else.

use super::{Days, FiledReading, ROUNDING_IN, STICK_TOLERANCE_IN, column};
use crate::field::{day_within, decimal_within};
use crate::header::Header;
use crate::measure::Unit;
use crate::pits::{Lookup, PitEntry, Pits};
use memchr::memchr;
use soaklife::date::PartialDate;
use soaklife::pit::Pit;
use soaklife::quantity::inches;
use soaklife::reading::Reading;

/// Bytes of a usual row behind the identifier: a comma, a day, a comma, and room for the longest depth and the byte after it.
const BEHIND: usize = 12 + 8;

/// How a usual row is laid out: pit, day and depth in this order from its beginning, nothing in any field after them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    /// Commas after the depth.
    after: usize,
    column: u32,
    unit: Unit,
    today: PartialDate,
}

/// What becomes of a usual row.
pub(super) enum Usual {
    /// A level between bottom and inlet.
    Filed(FiledReading),
    /// Left out.
    BelowBottom,
}

/// The pit that the rows at hand are of.
#[derive(Debug, Clone, Copy)]
pub(super) struct AtPit<'p> {
    place: u32,
    id: &'p [u8],
    pit: &'p Pit,
}

impl Layout {
    pub(super) fn of(header: &Header, days: Days) -> Option<Self> {
        let place = [column::PIT_ID, column::DATE, column::DEPTH].map(|column| header.index(column));
        let after = header.width().checked_sub(place.len())?;
        let unit = header.unit(column::DEPTH)?;
        let today = PartialDate::day(days.today);
        (place == [Some(0), Some(1), Some(2)]).then_some(Self { after, column: 3, unit, today })
    }

    /// The first row and its bytes, if it is a usual one; none for any other, which may be sound too. Rows of one pit most often
    /// stand together.
    #[inline]
    pub(super) fn usual<'p>(
        &self,
        rows: &[u8],
        line: u64,
        pits: &'p Pits,
        at: &mut Option<AtPit<'p>>,
    ) -> Option<(Usual, usize)> {
        let pit = match *at {
            Some(pit) if pit.is_named_first(rows) => pit,
            before => *at.insert(AtPit::named_first(rows, pits, before)?),
        };
        let behind: [u8; BEHIND] = *rows.get(pit.id.len()..)?.first_chunk()?;
        let [b',', y, e, a, r, dash, m, o, other, d, t, b',', depth @ ..] = behind else { return None };
        let date = PartialDate::day(day_within([y, e, a, r, dash, m, o, other, d, t])?);
        let (depth, length) = decimal_within(depth)?;
        let end = pit.id.len() + 12 + length;
        let bytes = end + self.length_of_end(rows.get(end..)?)?;
        if date.days_to(self.today) < 0 {
            return None;
        }
        let level = pit.pit.level_at_depth(self.unit.length(depth)?);
        if level > inches(ROUNDING_IN) && level <= pit.pit.effective_depth() + inches(ROUNDING_IN) {
            let reading = Reading::at_level(pit.pit, date, level).ok()?;
            let (place, column, unit) = (pit.place, self.column, self.unit);
            return Some((Usual::Filed(FiledReading { place, reading, line, column, unit }), bytes));
        }
        (level < inches(-STICK_TOLERANCE_IN - ROUNDING_IN)).then_some((Usual::BelowBottom, bytes))
    }

    /// The length of the empty fields and the line end that close a row.
    #[inline]
    fn length_of_end(&self, rest: &[u8]) -> Option<usize> {
        if self.after == 0 && rest.first() == Some(&b'\n') {
            return Some(1);
        }
        let (commas, rest) = rest.split_at_checked(self.after)?;
        let line_end = if rest.starts_with(b"\n") { 1 } else { 2 };
        let is_end = commas.iter().all(|&byte| byte == b',') && (line_end == 1 || rest.starts_with(b"\r\n"));
        is_end.then_some(self.after + line_end)
    }
}

impl<'p> AtPit<'p> {
    pub(super) fn pit_id(self) -> &'p str {
        // It was text when `pits.csv` was read.
        std::str::from_utf8(self.id).unwrap_or_default()
    }

    /// The sound pit whose identifier a row begins with, most often that behind the pit before; none of an identifier that must
    /// stand in quotes.
    fn named_first(row: &[u8], pits: &'p Pits, before: Option<Self>) -> Option<Self> {
        let behind = before.map_or(0, |before| before.place as usize + 1);
        let next = pits.entries.get(behind).and_then(|entry| Self::at(behind, entry));
        next.filter(|next| next.is_named_first(row)).or_else(|| {
            let id = std::str::from_utf8(row.get(..memchr(b',', row)?)?).ok()?;
            match pits.lookup(id) {
                Lookup::Sound(place, _) => Self::at(place, pits.entries.get(place)?),
                _ => None,
            }
        })
    }

    fn at(place: usize, entry: &'p PitEntry) -> Option<Self> {
        match entry {
            PitEntry::Sound(row) if row.needs_no_quotes => {
                Some(Self { place: u32::try_from(place).ok()?, id: row.id.as_bytes(), pit: &row.pit })
            }
            _ => None,
        }
    }

    #[inline]
    fn is_named_first(&self, row: &[u8]) -> bool {
        row.get(self.id.len()) == Some(&b',')
            && row.get(..self.id.len()).is_some_and(|name| is_same(name, self.id))
    }
}

/// Whether two names of one length are the same, without a call where they have eight to sixteen bytes: the first eight and the
/// last.
#[inline]
fn is_same(one: &[u8], other: &[u8]) -> bool {
    const WORD: usize = 8;
    if !(WORD..=2 * WORD).contains(&one.len()) {
        return one == other;
    }
    one.first_chunk::<WORD>() == other.first_chunk() && one.last_chunk::<WORD>() == other.last_chunk()
}

#[cfg(test)]
mod tests {
    use super::super::{Counts, parse};
    use super::*;
    use crate::header::read_header_of;
    use crate::pits::Homeless;
    use crate::problem::Problems;
    use crate::record::{Record, RecordReader};
    use crate::row::Row;
    use crate::schema::READINGS;
    use crate::settings::Settings;
    use jiff::civil::Date;

    const TODAY: Date = Date::constant(2026, 6, 30);
    const DAYS: Days = Days { today: TODAY, as_of: TODAY };
    const HEADER: &str = "pit_id,date,depth_to_liquid_in";
    const PITS: &str = "pit_id,inlet_depth_in,bottom_depth_in\nN-1,38,182\nN-12,20,182\n\
                        ALDER-FORK-001,38,182\nALDER-FORK-002,30,182\n\"N,3\",38,182\nN-4,90,40\n";

    fn pits() -> Pits {
        Pits::read(PITS.as_bytes(), TODAY, &Settings::default(), &mut Problems::new("pits.csv")).unwrap()
    }

    fn header(names: &str) -> Header {
        read_header_of(names.as_bytes(), &READINGS, &mut Problems::new("readings.csv")).unwrap().unwrap()
    }

    /// What the general reader makes of a row.
    fn in_general(row: &str, header: &Header, pits: &Pits) -> Option<FiledReading> {
        let mut record = Record::default();
        RecordReader::new(row.as_bytes()).read(&mut record).unwrap();
        let counted = (&mut Homeless::default(), &mut Counts::default());
        parse(Row::new(record.text().ok()?, header), pits, DAYS, counted, &mut Problems::new("readings.csv"))
    }

    #[test]
    fn a_usual_row_is_filed_from_its_bytes_as_by_the_general_reader() {
        let pits = pits();
        for (names, rest, depths) in [
            (HEADER, "", ["90", "100.5", "181.9"]),
            ("pit_id,date,depth_to_liquid_cm,note,state", ",,", ["250", "300.5", "462"]),
        ] {
            let header = header(names);
            let layout = Layout::of(&header, DAYS).unwrap();
            let mut at = None;
            for id in ["N-1", "N-12", "ALDER-FORK-001", "ALDER-FORK-002", "ALDER-FORK-001", "N-12", "N-1"] {
                for (day, depth) in ["2024-05-14", "2026-06-30", "1999-12-31"].into_iter().zip(depths) {
                    for end in ["\n", "\r\n"] {
                        let row = format!("{id},{day},{depth}{rest}{end}");
                        // Another row follows, as it does in a file.
                        let rows = format!("{row}N-1,2025-01-01,77\n");
                        let (usual, bytes) = layout.usual(rows.as_bytes(), 1, &pits, &mut at).unwrap();
                        let Usual::Filed(filed) = usual else { panic!("{row:?} is left out") };
                        assert_eq!(
                            (Some(filed), bytes),
                            (in_general(&row, &header, &pits), row.len()),
                            "{row:?}"
                        );
                        assert_eq!(at.map(AtPit::pit_id), Some(id));
                    }
                }
            }
        }
    }

    #[test]
    fn what_is_not_usual_is_left_to_the_general_reader() {
        let (pits, header) = (pits(), header(HEADER));
        let layout = Layout::of(&header, DAYS).unwrap();
        let usual =
            |row: &str| layout.usual(format!("{row}\nN-1,2025-01-01,77\n").as_bytes(), 1, &pits, &mut None);
        // At the inlet, at the bottom, an inch below it, and beyond.
        assert!(matches!(usual("N-1,2024-05-14,38"), Some((Usual::Filed(_), 18))));
        assert!(usual("N-1,2024-05-14,37.9").is_none());
        assert!(usual("N-1,2024-05-14,182").is_none() && usual("N-1,2024-05-14,183").is_none());
        assert!(matches!(usual("N-1,2024-05-14,183.1"), Some((Usual::BelowBottom, 21))));
        for row in [
            "N-1,2026-07-01,90",
            "N-9,2024-05-14,90",
            "N-4,2024-05-14,90",
            "N,3,2024-05-14,90",
            "\"N-1\",2024-05-14,90",
            "N-1,2024-05,90",
            "N-1,2024-05-14,",
            "N-1,2024-05-14,90,dry",
            "N-1,2024-05-14,9e1",
            "",
        ] {
            assert!(usual(row).is_none(), "{row}");
        }
        for names in [
            "date,pit_id,depth_to_liquid_in",
            "pit_id,date,note,depth_to_liquid_in",
            "pit_id,date,liquid_level_in",
        ] {
            assert!(Layout::of(&self::header(names), DAYS).is_none(), "{names}");
        }
    }

    #[test]
    fn names_are_the_same_only_in_every_letter() {
        for one in ["N-1", "ALDER-01", "ALDER-FORK-001", "ALDER-FORK-00001", "ALDER-FORK-000001"] {
            assert!(is_same(one.as_bytes(), one.as_bytes()));
            for place in 0..one.len() {
                let mut other = one.as_bytes().to_vec();
                other[place] = b'x';
                assert!(!is_same(one.as_bytes(), &other), "{one}, letter {place}");
            }
        }
    }
}

//! The usual row, read from its bytes: no quotes, plain numbers, nothing of which a word need be said.

use super::{PitRow, SOIL_KINDS, WIDEST_PIT_FT, column};
use crate::field::{day_within, leading_decimal};
use crate::header::Header;
use crate::measure::Unit;
use crate::schema::{Kind, PITS, SOILS};
use crate::settings::Settings;
use jiff::civil::Date;
use memchr::{memchr, memchr3};
use soaklife::date::PartialDate;
use soaklife::pit::{CrossSection, Pit};
use soaklife::quantity::{Length, as_feet};
use soaklife::soil::Soil;

const COLUMNS: usize = PITS.columns.len();

/// What stands in each field of a row.
#[derive(Debug)]
pub(crate) struct Layout {
    fields: Vec<Field>,
    units: [Option<Unit>; COLUMNS],
}

#[derive(Debug, Clone)]
enum Field {
    Number(usize),
    Text(usize),
    Further(String),
    Nameless,
}

/// The values of a row by column.
struct Values<'r> {
    numbers: [Option<f64>; COLUMNS],
    texts: [&'r [u8]; COLUMNS],
    further: Vec<(String, String)>,
}

impl Layout {
    pub(crate) fn of(header: &Header) -> Self {
        let mut fields = vec![Field::Nameless; header.width()];
        for (index, name) in header.further() {
            fields[index] = Field::Further(name.to_owned());
        }
        for (column, of_table) in PITS.columns.iter().enumerate() {
            let Some(field) = header.index(column).and_then(|index| fields.get_mut(index)) else { continue };
            *field = match of_table.kind {
                Kind::Number | Kind::Length | Kind::Flow | Kind::Volume => Field::Number(column),
                Kind::PitId | Kind::Text | Kind::Date | Kind::Time | Kind::Word(_) => Field::Text(column),
            };
        }
        Self { fields, units: std::array::from_fn(|column| header.unit(column)) }
    }

    /// The pit in the first row, if nothing need be said of it, and the bytes of the row; none for any other, which may be sound
    /// too.
    pub(crate) fn usual(
        &self,
        rows: &[u8],
        line: u64,
        today: Date,
        settings: &Settings,
        spare_names: &mut Vec<String>,
    ) -> Option<(PitRow, usize)> {
        let length = memchr3(b'\n', b'\r', b'"', rows)?;
        let (row, behind) = rows.split_at(length);
        let end = match behind {
            [b'\n', ..] => length + 1,
            [b'\r', b'\n', ..] => length + 2,
            _ => return None,
        };
        let mut values = Values { numbers: [None; COLUMNS], texts: [b""; COLUMNS], further: Vec::new() };
        self.take_values(row, &mut values)?;
        let pit = self.pit(&values)?;
        let not_negative = |column: usize| values.numbers[column].is_none_or(|number| number >= 0.0);
        let above_zero = |column: usize| values.numbers[column].is_none_or(|number| number > 0.0);
        let action_freeboard = self.length(&values, column::ACTION_FREEBOARD);
        let is_usual = !values.texts[column::PIT_ID].is_empty()
            && above_zero(column::BEDROOMS)
            && above_zero(column::DESIGN_FLOW)
            && not_negative(column::OCCUPANTS)
            && not_negative(column::REPLACEMENT_COST)
            && not_negative(column::ACTION_FREEBOARD)
            && action_freeboard.unwrap_or(settings.action_freeboard()) < pit.effective_depth();
        let flow = |gallons: f64| self.units[column::DESIGN_FLOW].and_then(|unit| unit.flow(gallons));
        let text = |column: usize| std::str::from_utf8(values.texts[column]).ok();
        let label = text(column::LABEL)?;
        let row = PitRow {
            id: named(text(column::PIT_ID)?, spare_names),
            needs_no_quotes: true,
            line,
            label: (!label.is_empty()).then(|| label.to_owned()),
            installed: installed(values.texts[column::INSTALLED], today)?,
            pit,
            bedrooms: values.numbers[column::BEDROOMS],
            design_flow: values.numbers[column::DESIGN_FLOW].and_then(flow),
            occupants: values.numbers[column::OCCUPANTS],
            soil: soil(values.texts[column::SOIL])?,
            action_freeboard,
            replacement_cost: values.numbers[column::REPLACEMENT_COST],
            further: values.further,
        };
        is_usual.then_some((row, end))
    }

    /// None if one of them is unusual.
    fn take_values<'r>(&self, row: &'r [u8], values: &mut Values<'r>) -> Option<()> {
        let mut rest = row;
        for (place, field) in self.fields.iter().enumerate() {
            if place > 0 {
                rest = rest.strip_prefix(b",")?;
            }
            if let &Field::Number(column) = field {
                if !rest.is_empty() && !rest.starts_with(b",") {
                    let (number, length) = leading_decimal(rest)?;
                    values.numbers[column] = Some(number);
                    rest = rest.get(length..)?;
                }
                continue;
            }
            let (text, behind) = rest.split_at_checked(memchr(b',', rest).unwrap_or(rest.len()))?;
            rest = behind;
            if !is_shown_as_it_is(text) {
                return None;
            }
            match field {
                Field::Text(column) => values.texts[*column] = text,
                Field::Further(name) => {
                    values.further.push((name.clone(), std::str::from_utf8(text).ok()?.to_owned()));
                }
                Field::Number(_) | Field::Nameless => {}
            }
        }
        rest.is_empty().then_some(())
    }

    fn pit(&self, values: &Values<'_>) -> Option<Pit> {
        let length = |column: usize| self.length(values, column);
        let side = |column: usize| length(column).filter(|&side| as_feet(side) <= WIDEST_PIT_FT);
        let pit = Pit::new(length(column::INLET_DEPTH)?, length(column::BOTTOM_DEPTH)?).ok()?;
        let given = [column::DIAMETER, column::LENGTH, column::WIDTH].map(|column| length(column).is_some());
        let section = match given {
            [true, false, false] => CrossSection::round(side(column::DIAMETER)?),
            [false, true, true] => CrossSection::rectangular(side(column::LENGTH)?, side(column::WIDTH)?),
            _ => return None,
        };
        let pit = pit.with_cross_section(section.ok()?);
        let fraction = values.numbers[column::LIQUID_FRACTION];
        fraction.map_or(Some(pit), |fraction| pit.with_liquid_fraction(fraction).ok())
    }

    fn length(&self, values: &Values<'_>, column: usize) -> Option<Length> {
        self.units[column]?.length(values.numbers[column]?)
    }
}

/// A name, in the memory of one that is done with.
fn named(name: &str, spare_names: &mut Vec<String>) -> String {
    let mut spare = spare_names.pop().unwrap_or_default();
    spare.clear();
    spare.push_str(name);
    spare
}

/// Whether a text has no space around it and nothing in it that must be spelled out.
fn is_shown_as_it_is(text: &[u8]) -> bool {
    text.iter().all(|byte| matches!(byte, b' '..=b'~')) && !text.starts_with(b" ") && !text.ends_with(b" ")
}

/// None if something must be said of the date.
fn installed(text: &[u8], today: Date) -> Option<Option<PartialDate>> {
    if text.is_empty() {
        return Some(None);
    }
    let day = text.try_into().ok().and_then(day_within);
    let date = day.map(PartialDate::day).or_else(|| std::str::from_utf8(text).ok()?.parse().ok())?;
    (date.first() <= today).then_some(Some(date))
}

/// None if the word is not one of those.
fn soil(text: &[u8]) -> Option<Soil> {
    if text.is_empty() {
        return Some(Soil::default());
    }
    SOILS.iter().zip(SOIL_KINDS).find_map(|(word, soil)| (word.as_bytes() == text).then_some(soil))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::header::read_header_of;
    use crate::problem::Problems;
    use crate::record::{Record, RecordReader};
    use crate::row::Row;
    use proptest::prelude::*;

    const HEADER: &str = "pit_id,maker,label,installed,inlet_depth_in,bottom_depth_ft,diameter_ft,length_ft,width_ft,\
                          liquid_fraction,bedrooms,design_flow_gpd,occupants,soil,action_freeboard_in,replacement_cost";

    fn field() -> impl Strategy<Value = String> {
        const TEXTS: [&str; 23] = [
            "",
            "",
            "",
            "1",
            "3",
            "0",
            "-2",
            "0.35",
            "4.5",
            "31",
            "250",
            "18",
            "2001",
            "2019-03-05",
            "2031-01-01",
            "sand",
            "Clay",
            " 3",
            "é",
            "\u{7}",
            "a b",
            "\"3\"",
            "1e2",
        ];
        prop::sample::select(&TEXTS[..]).prop_map(str::to_owned)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(5_000))]
        /// Whatever is read from the bytes is what the general reader makes of the row, without a word.
        #[test]
        fn a_usual_row_is_read_as_any_other(
            sound in prop::sample::select(&[
                "P1,x,,2001,38,18,6,,,0.35,3,,2,sand,,9000", "P 1,,Mill,,38,18,,5,4,,,450,,,6,", "P1,,,2019-03-05,30.5,15,4,,,,3,,2,,,",
            ][..]),
            changes in prop::collection::vec((0usize..16, field()), 0..4),
            cut in 15usize..17,
        ) {
            let mut fields: Vec<String> = sound.split(',').map(str::to_owned).collect();
            changes.into_iter().for_each(|(place, text)| fields[place] = text);
            fields.truncate(cut);
            let row = fields.join(",") + "\n";
            let today = jiff::civil::date(2026, 6, 30);
            let mut problems = Problems::new(PITS.file);
            let header = read_header_of(HEADER.as_bytes(), &PITS, &mut problems).unwrap().unwrap();
            let usual = Layout::of(&header).usual(row.as_bytes(), 1, today, &Settings::default(), &mut Vec::new());

            let mut record = Record::default();
            RecordReader::new(row.as_bytes()).read(&mut record).unwrap();
            let general = record.text().ok().filter(|_| record.len() == header.width()).map(|text| {
                let row = Row::new(text, &header);
                PitRow::parse(row, row.raw(column::PIT_ID), today, &Settings::default(), &mut problems)
            });
            match usual {
                Some((usual, length)) => {
                    prop_assert_eq!(length, row.len());
                    prop_assert_eq!(format!("{:?}", Some(Ok::<_, String>(usual))), format!("{general:?}"));
                    prop_assert!(problems.is_empty(), "{:?}", problems);
                }
                None => prop_assert!(
                    general.is_none() || !problems.is_empty() || row.contains(['"', 'é', 'e', '-', '\u{7}']) || row.contains(", ") || row.starts_with([',', ' ']),
                    "not read though usual: {}", row
                ),
            }
        }
    }
}

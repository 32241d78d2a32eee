//! A file of typical experience: the population prior of a fleet and, where its groups differ, of each of them.
//!
//! ```toml
//! by = "soil"                     # the column of pits.csv that says the group
//! reference_load = 12.1           # the keys of [prior] in logbook.toml: what is typical of all pits
//!
//! [groups.sand]                   # what is otherwise for these; a number not given is that of all
//! reference_load = 9.4
//! ```

use crate::load_ratio::at_load;
use crate::problem::spelled_out;
use crate::settings::place;
use serde::Deserialize as _;
use soaklife::prior::{PopulationPrior, PriorError};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};
use toml::{Spanned, Table, Value};

const BY: &str = "by";
const GROUPS: &str = "groups";
/// More groups than this are surely not meant, as in a budget.
const MOST_GROUPS: usize = 500;
/// A pace is one of two, so it is given whole.
const PACE: &str = "pace";

/// What is typical of the pits of a fleet, and of the groups that differ.
///
/// ```
/// use soaklife_records::PriorFile;
/// let file = PriorFile::read("by = \"maker\"\nreference_load = 12.0\n[groups.Hale]\nreference_load = 8.0")?;
/// let groups = file.groups.ok_or("no groups")?;
/// assert_eq!((groups.by.as_str(), file.whole.reference_load), ("maker", 12.0));
/// assert_eq!(groups.priors["Hale"].reference_load, 8.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PriorFile {
    /// Of every pit whose group is not told apart.
    pub whole: PopulationPrior,
    /// Of the groups, where there are any.
    pub groups: Option<GroupPriors>,
}

/// What is typical of the groups of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupPriors {
    /// The column that says the group: `soil`, `decade` or a further column of `pits.csv`.
    pub by: String,
    /// By the name of the group; a group that is not here is as the whole fleet.
    pub priors: BTreeMap<String, PopulationPrior>,
}

/// What is wrong, and where, if that is known.
type Fault = (Option<Range<usize>>, String);

impl PriorFile {
    /// Reads the text of a file: the keys of the table `[prior]` of `logbook.toml` without its heading, and if wanted `by` and
    /// `[groups]`.
    ///
    /// # Errors
    /// What is wrong, with line and column.
    ///
    /// ```
    /// use soaklife_records::PriorFile;
    /// assert_eq!(PriorFile::read("typical_load_ratio = 0.6").map(|file| file.whole.typical_load_ratio), Ok(0.6));
    /// let wrong = PriorFile::read("typical_load_ratio = -1");
    /// assert!(wrong.is_err_and(|why| why.starts_with("line 1, column 22: ") && why.contains("between 0.05 and 3")));
    /// ```
    pub fn read(text: &str) -> Result<Self, String> {
        let told = |(span, reason): Fault| {
            let reason = spelled_out(&reason);
            match span.map(|span| place(text, span.start)) {
                Some((line, column)) => format!("line {line}, column {column}: {reason}"),
                None => reason,
            }
        };
        let (root, errors) = DeTable::parse_recoverable(text);
        if let Some(error) = errors.first() {
            return Err(told((error.span(), error.message().to_owned())));
        }
        let span = root.span();
        let mut table = root.into_inner();
        let (by, groups) = (table.remove(BY), table.remove(GROUPS));
        let whole = parsed(&Spanned::new(span, DeValue::Table(table))).map_err(told)?;
        let groups = read_groups(by, groups, &whole).map_err(told)?;
        Ok(Self { whole, groups })
    }

    /// The text of a file that [`PriorFile::read`] reads, under a heading of comments. Of a group only what differs is written.
    ///
    /// # Errors
    /// What cannot be written down, in words; nothing that [`PriorFile::read`] accepts is among it.
    ///
    /// ```
    /// use soaklife_records::PriorFile;
    /// let text = PriorFile::default().write("Typical experience.")?;
    /// assert!(text.starts_with("# Typical experience.\n"));
    /// assert_eq!(PriorFile::read(&text), Ok(PriorFile::default()));
    /// # Ok::<(), String>(())
    /// ```
    pub fn write(&self, heading: &str) -> Result<String, String> {
        let mut text: String = heading.lines().map(|line| format!("# {line}\n")).collect();
        text.push('\n');
        if let Some(groups) = &self.groups {
            text += &format!("{BY} = {}\n", Value::from(groups.by.as_str()));
        }
        text += &toml::to_string(&self.whole).map_err(|error| error.to_string())?;
        let whole = as_table(&self.whole)?;
        for (name, prior) in self.groups.iter().flat_map(|groups| &groups.priors) {
            let of_name =
                Table::from_iter([(name.clone(), Value::Table(differing(&as_table(prior)?, &whole)))]);
            let group = Table::from_iter([(GROUPS.to_owned(), Value::Table(of_name))]);
            text.push('\n');
            text += &toml::to_string(&group).map_err(|error| error.to_string())?;
        }
        Ok(text)
    }

    /// The same at the typical load ratio of a logbook ([`crate::Fleet::typical_load_ratio`]), unless it gives one other than the
    /// default.
    ///
    /// ```
    /// use soaklife_records::PriorFile;
    /// assert_eq!(PriorFile::default().at_load(Some(0.6)).whole.typical_load_ratio, 0.6);
    /// let busy = PriorFile::read("typical_load_ratio = 0.9")?;
    /// assert_eq!(busy.clone().at_load(Some(0.6)), busy);
    /// # Ok::<(), String>(())
    /// ```
    #[must_use]
    pub fn at_load(mut self, typical: Option<f64>) -> Self {
        for prior in self.groups.iter_mut().flat_map(|groups| groups.priors.values_mut()) {
            *prior = at_load(std::mem::take(prior), typical);
        }
        Self { whole: at_load(self.whole, typical), ..self }
    }
}

fn as_table(prior: &PopulationPrior) -> Result<Table, String> {
    Table::try_from(prior).map_err(|error| error.to_string())
}

/// What of a table is not as in another; tables in it likewise, lists whole.
fn differing(own: &Table, other: &Table) -> Table {
    let differs = |(name, value): (&String, &Value)| match (value, other.get(name)) {
        (value, Some(same)) if value == same => None,
        (Value::Table(own), Some(Value::Table(other))) if name != PACE => {
            Some((name.clone(), Value::Table(differing(own, other))))
        }
        (value, _) => Some((name.clone(), value.clone())),
    };
    own.iter().filter_map(differs).collect()
}

fn read_groups(
    by: Option<Spanned<DeValue<'_>>>,
    groups: Option<Spanned<DeValue<'_>>>,
    whole: &PopulationPrior,
) -> Result<Option<GroupPriors>, Fault> {
    let Some(by) = by else {
        return match groups {
            None => Ok(None),
            Some(groups) => {
                let missing = "the groups are of no column: write one above all tables, as in by = \"soil\"";
                Err((Some(groups.span()), missing.to_owned()))
            }
        };
    };
    let Some(column) = by.get_ref().as_str().filter(|column| !column.trim().is_empty()) else {
        let wrong = "by must be the name of a column in quotes, as in by = \"soil\"";
        return Err((Some(by.span()), wrong.to_owned()));
    };
    let mut read = GroupPriors { by: column.to_owned(), priors: BTreeMap::new() };
    let Some(groups) = groups else { return Ok(Some(read)) };
    let Some(tables) = groups.get_ref().as_table() else {
        let wrong = "groups must be tables, one a group, as in [groups.sand]";
        return Err((Some(groups.span()), wrong.to_owned()));
    };
    if tables.len() > MOST_GROUPS {
        let many = format!(
            "{} groups are given, more than {MOST_GROUPS}: choose a column that many pits share",
            tables.len()
        );
        return Err((Some(groups.span()), many));
    }
    for (name, group) in tables {
        let prior = read_group(group, whole).map_err(|(span, reason)| {
            (span.or_else(|| Some(name.span())), format!("group {:?}: {reason}", name.get_ref()))
        })?;
        read.priors.insert(name.get_ref().clone().into_owned(), prior);
    }
    Ok(Some(read))
}

/// The prior of all with what a group says otherwise.
fn read_group(group: &Spanned<DeValue<'_>>, whole: &PopulationPrior) -> Result<PopulationPrior, Fault> {
    let Some(own) = group.get_ref().as_table() else {
        let wrong = "it must be a table with the keys of [prior], as in [groups.sand]";
        return Err((Some(group.span()), wrong.to_owned()));
    };
    let base = toml::to_string(whole).map_err(|error| (None, error.to_string()))?;
    let base = DeTable::parse(&base).map_err(|error| (None, error.to_string()))?.into_inner();
    let merged = Spanned::new(group.span(), DeValue::Table(overlaid(base, own)));
    parsed(&merged)
}

fn overlaid<'t>(mut base: DeTable<'t>, over: &DeTable<'t>) -> DeTable<'t> {
    for (key, value) in over {
        let under = base.remove(key.get_ref().as_ref());
        let merged = match (under.map(Spanned::into_inner), value.get_ref()) {
            (Some(DeValue::Table(under)), DeValue::Table(over)) if key.get_ref() != PACE => {
                Spanned::new(value.span(), DeValue::Table(overlaid(under, over)))
            }
            _ => value.clone(),
        };
        base.insert(key.clone(), merged);
    }
    base
}

/// The prior that a table gives; every number not given keeps its default.
pub(crate) fn parsed(table: &Spanned<DeValue<'_>>) -> Result<PopulationPrior, Fault> {
    let prior = PopulationPrior::deserialize(toml::de::ValueDeserializer::from(table.clone()))
        .map_err(|error| (error.span(), error.message().trim_end_matches('.').to_owned()))?;
    prior.validated().map_err(|error| {
        let span = match error {
            PriorError::OutOfRange { name, found, .. } => span_of(table.get_ref(), name, found),
            _ => None,
        };
        (span, error.to_string())
    })
}

/// Where a number stands that was refused; `name` begins with its key.
fn span_of(value: &DeValue<'_>, name: &str, found: f64) -> Option<Range<usize>> {
    let key = name.split(' ').next()?;
    let is_it = |value: &DeValue<'_>| {
        let written = match value {
            DeValue::Integer(integer) => integer.as_str(),
            DeValue::Float(float) => float.as_str(),
            _ => return false,
        };
        written.replace('_', "").parse::<f64>().is_ok_and(|number| number == found)
    };
    match value {
        DeValue::Table(table) => table.iter().find_map(|(own, value)| {
            if own.get_ref() == key && is_it(value.get_ref()) {
                return Some(value.span());
            }
            span_of(value.get_ref(), name, found)
        }),
        DeValue::Array(array) => array.iter().find_map(|value| span_of(value.get_ref(), name, found)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use soaklife::prior::Pace;

    fn with_groups() -> PriorFile {
        let whole = PopulationPrior { reference_load: 11.25, ..PopulationPrior::default() };
        let mut sand = whole.clone();
        sand.late.median_load = 9.1;
        sand.late.pace = Pace::DepthShare(0.3);
        sand.temperaments[1].weight = 0.1 + 0.2;
        let mut odd = whole.clone();
        odd.rising[2].weight = 1.0 / 3.0;
        let priors = [("sand", sand), ("a \"b\".c #", odd), ("", whole.clone())]
            .map(|(name, prior)| (name.to_owned(), prior));
        PriorFile { whole, groups: Some(GroupPriors { by: "soil".to_owned(), priors: priors.into() }) }
    }

    #[test]
    fn what_is_written_is_read_to_the_last_bit() {
        let file = with_groups();
        let text = file.write("Two lines\nof heading.").unwrap();
        assert_eq!(PriorFile::read(&text), Ok(file), "{text}");
        assert!(text.starts_with("# Two lines\n# of heading.\n\nby = \"soil\"\n"), "{text}");
        assert!(
            text.contains(
                "[groups.sand.late]\nmedian_load = 9.1\n\n[groups.sand.late.pace]\ndepth_share = 0.3\n"
            ),
            "{text}"
        );
        assert_eq!(text.matches("stick_in").count(), 1, "a group says only what differs: {text}");
    }

    #[test]
    fn the_load_of_a_logbook_reaches_every_group() {
        let groups = with_groups().at_load(Some(0.6)).groups.unwrap();
        assert!(groups.priors.values().all(|prior| prior.typical_load_ratio == 0.6));
    }

    #[test]
    fn nothing_in_a_fault_is_obeyed_by_a_terminal() {
        for text in ["\"\\u001b[2J\" = 1", "by = \"soil\"\n[groups.\"\\u001b[2J\"]\nreference_load = -1"] {
            let told = PriorFile::read(text).unwrap_err();
            assert!(!told.contains(char::is_control), "{told:?}");
        }
    }

    #[test]
    fn faults_have_line_and_column() {
        for (text, said) in [
            ("by = 3\n", "line 1, column 6: by must be the name of a column in quotes"),
            ("[groups.sand]\nreference_load = 9\n", "line 1, column 2: the groups are of no column: write"),
            ("by = \"soil\"\ngroups = 3\n", "line 2, column 10: groups must be tables"),
            ("by = \"soil\"\n[groups]\nsand = 3\n", "line 3, column 8: group \"sand\": it must be a table"),
            (
                "by = \"soil\"\n[groups.sand]\nstik_in = 2\n",
                "line 3, column 1: group \"sand\": unknown field `stik_in`",
            ),
            (
                "by = \"soil\"\n[groups.sand.late]\nmedian_load = -2\n",
                "line 3, column 15: group \"sand\": median_load of the population prior must lie between 0.01 and 1000, not -2",
            ),
            (
                "by = \"soil\"\n[groups.sand]\nrising = []\n",
                "line 2, column 9: group \"sand\": the population prior must have",
            ),
            ("by = \"soil\"\n[group.sand]\nstick_in = 2\n", "line 2, column 2: unknown field `group`"),
            ("stick_in = 2\nby = \"soil\n", "line 2, column 11: "),
            (
                "stick_in = 0\n",
                "line 1, column 12: stick_in of the population prior must lie between 0.01 and 100, not 0",
            ),
        ] {
            let told = PriorFile::read(text).unwrap_err();
            assert!(told.starts_with(said), "{text:?}: {told}");
        }
        let many: String = (0..=MOST_GROUPS).map(|number| format!("[groups.g{number}]\n")).collect();
        assert!(
            PriorFile::read(&format!("by = \"pit\"\n{many}")).is_err_and(|why| why.contains("more than 500"))
        );
    }
}

//! `logbook.toml`: the settings of a logbook, every key with a documented default.

use crate::field;
use crate::prior_file::parsed;
use crate::problem::{Fault, Place, ProblemKind, Problems, quoted, spelled_out};
use soaklife::loading::design_rule::DesignRule;
use soaklife::loading::measured_use::DEFAULT_GALLONS_PER_PERSON;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{Length, inches};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The settings of a logbook.
///
/// | key | default | meaning |
/// | --- | --- | --- |
/// | `design.rule` | `"two-per-bedroom-75"` | how design flow follows from bedrooms ([`DesignRule::all`]) |
/// | `design.persons_per_bedroom`, `design.gallons_per_person_per_day` | – | instead of a rule |
/// | `use.gallons_per_person_per_day` | 58.6 | sewage really made per person, US gal/day |
/// | `money.replacement_cost` | 15000 | of a pit that gives none, at today's prices |
/// | `money.currency` | `"USD"` | ISO 4217 |
/// | `money.cost_escalation` | 0.03 | yearly rise of the cost, a fraction |
/// | `money.interest` | 0.02 | yearly interest on money set aside, a fraction |
/// | `action.freeboard_in` | 0 | freeboard at which to act, inches |
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    design_rule: DesignRule,
    gallons_per_person: f64,
    replacement_cost: f64,
    currency: String,
    cost_escalation: f64,
    interest: f64,
    action_freeboard: Length,
    prior: Option<PopulationPrior>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            design_rule: DesignRule::default(),
            gallons_per_person: DEFAULT_GALLONS_PER_PERSON,
            replacement_cost: 15_000.0,
            currency: "USD".to_owned(),
            cost_escalation: 0.03,
            interest: 0.02,
            action_freeboard: inches(0.0),
            prior: None,
        }
    }
}

impl Settings {
    /// How design flow follows from bedrooms.
    #[must_use]
    pub fn design_rule(&self) -> &DesignRule {
        &self.design_rule
    }

    /// Sewage really made, US gallons per person per day.
    #[must_use]
    pub fn gallons_per_person(&self) -> f64 {
        self.gallons_per_person
    }

    /// Cost of replacing a pit that gives none, at today's prices.
    #[must_use]
    pub fn replacement_cost(&self) -> f64 {
        self.replacement_cost
    }

    /// Currency code, ISO 4217.
    #[must_use]
    pub fn currency(&self) -> &str {
        &self.currency
    }

    /// Yearly rise of the cost, a fraction.
    #[must_use]
    pub fn cost_escalation(&self) -> f64 {
        self.cost_escalation
    }

    /// Yearly interest on money set aside, a fraction.
    #[must_use]
    pub fn interest(&self) -> f64 {
        self.interest
    }

    /// Freeboard at which to act, unless a pit has its own.
    #[must_use]
    pub fn action_freeboard(&self) -> Length {
        self.action_freeboard
    }

    /// The population prior, where the logbook gives one of its own (`[prior]`).
    #[must_use]
    pub fn prior(&self) -> Option<&PopulationPrior> {
        self.prior.as_ref()
    }

    /// Reads the text of `logbook.toml`; what cannot be used is said, and the default stands.
    pub(crate) fn read(text: &str, problems: &mut Problems) -> Self {
        let (root, errors) = DeTable::parse_recoverable(text);
        let mut reader = Reader { text, problems, settings: Self::default() };
        for error in errors {
            let message =
                format!("{}. What can still be read is used", error.message().trim_end_matches('.'));
            reader.error(&error.span().unwrap_or_default(), message);
        }
        reader.read_root(root.get_ref());
        reader.settings
    }
}

/// Line and character of a byte of a text.
pub(crate) fn place(text: &str, byte: usize) -> (u64, u64) {
    let before = text.get(..byte).unwrap_or(text);
    let line = before.bytes().filter(|byte| *byte == b'\n').count() as u64 + 1;
    let column = before.rsplit('\n').next().map_or(0, |rest| rest.chars().count()) as u64 + 1;
    (line, column)
}

/// A key, its place and its value.
struct Entry<'t> {
    name: String,
    span: Range<usize>,
    value: &'t DeValue<'t>,
}

struct Reader<'t> {
    text: &'t str,
    problems: &'t mut Problems,
    settings: Settings,
}

const TABLES: [&str; 5] = ["design", "use", "money", "action", "prior"];

impl Reader<'_> {
    fn read_root(&mut self, root: &DeTable<'_>) {
        for (key, value) in root {
            let (name, span) = (key.get_ref().as_ref(), key.span());
            match (name, value.get_ref().as_table()) {
                ("design", Some(table)) => self.read_design(table),
                ("use", Some(table)) => self.read_use(table),
                ("money", Some(table)) => self.read_money(table),
                ("action", Some(table)) => self.read_action(table),
                ("prior", Some(_)) => self.read_prior(value),
                (name, None) if TABLES.contains(&name) => {
                    self.error(
                        &span,
                        format!("{name} must be a table: write [{name}]. Its defaults are used"),
                    );
                }
                _ => self.unknown(name, &span, &TABLES),
            }
        }
    }

    fn read_design(&mut self, table: &DeTable<'_>) {
        let (mut rule, mut persons, mut gallons) = (None, None, None);
        for entry in entries(table) {
            match entry.name.as_str() {
                "rule" => rule = self.text(&entry).map(|rule| (rule, entry.span.clone())),
                "persons_per_bedroom" => persons = self.above_zero(&entry),
                "gallons_per_person_per_day" => gallons = self.above_zero(&entry),
                name => self.unknown(
                    name,
                    &entry.span,
                    &["rule", "persons_per_bedroom", "gallons_per_person_per_day"],
                ),
            }
        }
        match (rule, persons, gallons) {
            (Some((_, span)), persons, gallons) if persons.is_some() || gallons.is_some() => {
                self.error(
                    &span,
                    "give a rule or persons and gallons, not both. The default rule is used".to_owned(),
                );
            }
            (Some((name, span)), ..) => match DesignRule::named(&name) {
                Some(rule) => self.settings.design_rule = rule.clone(),
                None => {
                    let known = DesignRule::all().iter().map(DesignRule::key).collect::<Vec<_>>().join(", ");
                    self.error(
                        &span,
                        format!("rule {} is not one of {known}. The default rule is used", quoted(&name)),
                    );
                }
            },
            (None, None, None) => {}
            (None, Some(persons), Some(gallons)) => {
                if let Ok(rule) = DesignRule::per_person(persons, gallons) {
                    self.settings.design_rule = rule;
                }
            }
            (None, ..) => {
                let message = "persons_per_bedroom and gallons_per_person_per_day belong together. The default rule is used";
                self.error(&Range::default(), message.to_owned());
            }
        }
    }

    fn read_use(&mut self, table: &DeTable<'_>) {
        for entry in entries(table) {
            match entry.name.as_str() {
                "gallons_per_person_per_day" => {
                    if let Some(gallons) = self.above_zero(&entry) {
                        self.settings.gallons_per_person = gallons;
                    }
                }
                name => self.unknown(name, &entry.span, &["gallons_per_person_per_day"]),
            }
        }
    }

    fn read_money(&mut self, table: &DeTable<'_>) {
        for entry in entries(table) {
            match entry.name.as_str() {
                "replacement_cost" => {
                    if let Some(cost) = self.at_least(&entry, 0.0) {
                        self.settings.replacement_cost = cost;
                    }
                }
                "currency" => self.read_currency(&entry),
                "cost_escalation" => {
                    if let Some(rate) = self.yearly_rate(&entry) {
                        self.settings.cost_escalation = rate;
                    }
                }
                "interest" => {
                    if let Some(rate) = self.yearly_rate(&entry) {
                        self.settings.interest = rate;
                    }
                }
                name => self.unknown(
                    name,
                    &entry.span,
                    &["replacement_cost", "currency", "cost_escalation", "interest"],
                ),
            }
        }
    }

    fn read_currency(&mut self, entry: &Entry<'_>) {
        let Some(code) = self.text(entry) else { return };
        if code.len() == 3 && code.bytes().all(|byte| byte.is_ascii_uppercase()) {
            self.settings.currency = code;
        } else {
            let message = format!(
                "currency {} is not a code of three capitals, as in USD. The default is used",
                quoted(&code)
            );
            self.error(&entry.span, message);
        }
    }

    fn read_action(&mut self, table: &DeTable<'_>) {
        for entry in entries(table) {
            match entry.name.as_str() {
                "freeboard_in" => {
                    if let Some(freeboard) = self.at_least(&entry, 0.0) {
                        self.settings.action_freeboard = inches(freeboard);
                    }
                }
                name => self.unknown(name, &entry.span, &["freeboard_in"]),
            }
        }
    }

    /// Every number of the prior that is not given keeps its default.
    fn read_prior(&mut self, table: &Spanned<DeValue<'_>>) {
        match parsed(table) {
            Ok(prior) => self.settings.prior = Some(prior),
            Err((span, reason)) => {
                let span = span.unwrap_or_else(|| table.span());
                self.error(
                    &span,
                    format!("the population prior cannot be used: {reason}. Its defaults are used"),
                );
            }
        }
    }

    fn text(&mut self, entry: &Entry<'_>) -> Option<String> {
        if let DeValue::String(text) = entry.value {
            return Some(text.clone().into_owned());
        }
        self.error(&entry.span, format!("{} must be a text in quotes. The default is used", entry.name));
        None
    }

    fn number(&mut self, entry: &Entry<'_>) -> Option<f64> {
        let written = match entry.value {
            DeValue::Integer(integer) => integer.as_str().to_owned(),
            DeValue::Float(float) => float.as_str().to_owned(),
            _ => String::new(),
        };
        let value = written.replace('_', "").parse::<f64>().ok();
        match value {
            Some(value) if value.is_finite() => Some(value),
            Some(_) => {
                self.error(
                    &entry.span,
                    format!("{} {written} is not a finite number. The default is used", entry.name),
                );
                None
            }
            None => {
                self.error(&entry.span, format!("{} must be a number. The default is used", entry.name));
                None
            }
        }
    }

    fn at_least(&mut self, entry: &Entry<'_>, least: f64) -> Option<f64> {
        let value = self.number(entry)?;
        if value >= least {
            return Some(value);
        }
        self.error(&entry.span, format!("{} {value} is below {least}. The default is used", entry.name));
        None
    }

    fn above_zero(&mut self, entry: &Entry<'_>) -> Option<f64> {
        let value = self.number(entry)?;
        if value > 0.0 {
            return Some(value);
        }
        self.error(&entry.span, format!("{} {value} is not above zero. The default is used", entry.name));
        None
    }

    /// A fraction a year; a whole percent or more is surely meant as percent.
    fn yearly_rate(&mut self, entry: &Entry<'_>) -> Option<f64> {
        let value = self.number(entry)?;
        if (-0.5..1.0).contains(&value) {
            return Some(value);
        }
        let message = format!(
            "{} {value} would be {} % a year: write a fraction, as in {}. The default is used",
            entry.name,
            value * 100.0,
            value / 100.0
        );
        self.error(&entry.span, message);
        None
    }

    fn unknown(&mut self, name: &str, span: &Range<usize>, known: &[&str]) {
        let hint = match field::nearest(name, known.iter().copied()) {
            Some(near) => format!("was {near} meant?"),
            None => format!("known here are {}", known.join(", ")),
        };
        self.error(span, format!("{} is not a setting: {hint} It is not used", quoted(name)));
    }

    fn error(&mut self, span: &Range<usize>, message: String) {
        let (line, column) = place(self.text, span.start);
        // Names of keys, and what the parser cites, come from the file as they are.
        let message = spelled_out(&message);
        self.problems.error(Place::field(line, column), None, Fault::new(ProblemKind::Setting, message));
    }
}

fn entries<'t>(table: &'t DeTable<'t>) -> impl Iterator<Item = Entry<'t>> {
    table.iter().map(|(key, value): (&Spanned<_>, &Spanned<DeValue<'_>>)| Entry {
        name: key.get_ref().clone().into_owned(),
        span: key.span(),
        value: value.get_ref(),
    })
}

/// The file as it is written for a new logbook: every key with its meaning and its default.
pub(crate) const TEMPLATE: &str = r#"# Settings of this logbook. Every key may be left out; the default is then used.

[design]
# How design flow follows from bedrooms where pits.csv gives no permitted flow. Codes differ more than twofold for
# the same house, so the rule is named in every forecast. Instead of a rule, both numbers can be given:
# persons_per_bedroom = 2.0 and gallons_per_person_per_day = 75.0. Default "two-per-bedroom-75".
rule = "two-per-bedroom-75"

[use]
# Sewage really made per person, US gallons per day, where no flow is metered. Default 58.6.
gallons_per_person_per_day = 58.6

[money]
# Replacement of a pit whose row gives no replacement_cost, at today's prices. Default 15000.0.
replacement_cost = 15000.0
# Currency code, ISO 4217. Default "USD".
currency = "USD"
# Yearly rise of the cost, a fraction (0.03 is 3 % a year). Default 0.03.
cost_escalation = 0.03
# Yearly interest earned on money set aside, a fraction. Default 0.02.
interest = 0.02

[action]
# Freeboard at which to act, inches below the inlet invert; 0 is the invert itself. Default 0.0.
# A pit's own action_freeboard goes before it.
freeboard_in = 0.0
"#;

#[cfg(test)]
mod tests;

//! What the exhibit says, as data.

use crate::svg::{Svg, is_allowed};
use jiff::civil::Date;
use soaklife::forecast::Method;
use soaklife::history::{EventKind, ReadingUse, Verdict};
use soaklife::quantity::Units;
use soaklife::reading::{Condition, Observation};
use soaklife::wording::{counted, length_number};
use soaklife::{History, Pit};

/// Readings shown, the last ones: more do not leave room for the rest of the page.
const SHOWN: usize = 12;
/// Letters of a title, of a cell, of the name of a note and of a note; what is longer is cut, so that the page stays one.
const LONGEST_TITLE: usize = 120;
const LONGEST_CELL: usize = 64;
const LONGEST_NAME: usize = 20;
pub(crate) const LONGEST_NOTE: usize = 420;
/// Letters of all notes together; each may have so many whatever the others took.
const ALL_NOTES: usize = 2000;
const SHORTEST_NOTE: usize = 100;
/// Stands where the freeboard is not known, because the depth was read below another rim.
const OTHER_RIM: &str = "other rim";
/// A reading of less weight is one that the forecast doubts.
const FULL_WEIGHT: f64 = 0.9;

/// What can hurt someone, and who decides.
pub(super) const CAUTIONS: &str = "\
Local code and licensed practitioners decide. \
Sewage gas kills without warning: never enter or lean into a tank or pit, never work at an open one alone, no open flame. Old \
pits and rotten covers collapse: keep off and away from the edge. Never leave a port open or a lid unsecured; think of \
children and pets. Wear gloves and wash. Have buried utilities located before probing or digging.";

/// The same in one line below the answer, for a reader who reads no further. What follows at the inlet: common practice, no source.
pub(super) const IN_BRIEF: &str = "\
At the inlet the pit is full: drains run slow, and sewage may back up or surface. An estimate from readings, no warranty and no \
substitute for an inspection. Sewage gas kills: never enter or lean into a pit.";

/// What somebody writes in by hand.
pub(super) const BLANKS: [&str; 4] = ["Name", "Licence number", "Signature", "Date"];

/// One page about one pit, for a report.
///
/// Texts may hold anything: both formats show them as text, and cut what is too long for one page.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::inches;
/// use soaklife::{History, Pit};
/// use soaklife_charts::{Exhibit, ForecastChart, Paper};
///
/// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
/// let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
/// let exhibit = Exhibit::new("H-1, 12 Mill Race Lane", date(2026, 6, 30), "No forecast: no reading yet.", chart)
///     .noting("Load", "60 % of design.")
///     .sealed("94ee059335e587e5", "soaklife 0.1.0");
/// let page = exhibit.to_html(Paper::Letter);
/// assert!(page.contains("<h1>Seepage pit H-1, 12 Mill Race Lane</h1>"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Exhibit {
    pub(super) title: String,
    pub(super) as_of: Date,
    pub(super) answer: String,
    pub(super) chart: Svg,
    pub(super) section: Option<Svg>,
    pub(super) outlook: Option<Table>,
    pub(super) readings: Option<Table>,
    /// What is said of the pit itself, below its readings.
    pub(super) facts: Vec<(String, String)>,
    pub(super) notes: Vec<(String, String)>,
    pub(super) method: String,
    pub(super) fingerprint: String,
    pub(super) program: String,
}

/// A table of the exhibit: a caption, a row of headings, and rows that each begin with a heading of their own.
///
/// ```
/// use soaklife_charts::Table;
/// let table = Table::new("Chances", ["within", "1 year"]).with_row(["chance of reaching the inlet", "3 %"]);
/// assert_eq!(table.rows(), 1);
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    pub(crate) caption: String,
    pub(crate) headings: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
    /// Columns of names, whatever these begin with.
    pub(crate) names: Vec<usize>,
}

impl Exhibit {
    /// The page with its title (the pit's identifier and label), day, answer in words and chart.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// assert!(exhibit.to_html(Paper::A4).contains("as of 2026-06-30"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(title: &str, as_of: Date, answer: &str, chart: Svg) -> Self {
        Self {
            title: cut(title, LONGEST_TITLE),
            as_of,
            answer: cut(answer, LONGEST_NOTE),
            chart,
            section: None,
            outlook: None,
            readings: None,
            facts: Vec::new(),
            notes: Vec::new(),
            method: method_in_words(Method::Absorption),
            fingerprint: String::new(),
            program: String::new(),
        }
    }

    /// The same with a section through the pit, beside the chart; both are best drawn bare, which is as wide as a page.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// # let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart.clone());
    /// let section = chart; // any figure
    /// assert_eq!(exhibit.with_section(section).to_html(Paper::Letter).matches("<svg ").count(), 2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_section(self, section: Svg) -> Self {
        Self { section: Some(section), ..self }
    }

    /// The same with a table of freeboard and chances in the years ahead.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper, Table};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// # let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// let chances = Table::new("Outlook", ["within", "1 year"]).with_row(["chance of reaching the inlet", "3 %"]);
    /// assert!(exhibit.with_outlook(chances).to_html(Paper::Letter).contains(">3 %</td>"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_outlook(self, outlook: Table) -> Self {
        Self { outlook: Some(outlook), ..self }
    }

    /// The same with the table of readings.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{Units, inches};
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper, Table};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let history = History::new(pit);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// # let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// let none = Table::of_readings(&[], &History::new(pit), Units::Us);
    /// assert!(exhibit.with_readings(none).to_html(Paper::Letter).contains("Readings: none yet"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_readings(self, readings: Table) -> Self {
        Self { readings: Some(readings), ..self }
    }

    /// The same with a note under a name, as "Load", begun with a capital; an empty text is left out.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// # let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// let page = exhibit.noting("Load", "not known").noting("Typical", "").to_html(Paper::Letter);
    /// assert!(page.contains("<dt>Load</dt><dd>Not known</dd>") && !page.contains("Typical"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn noting(mut self, name: &str, text: &str) -> Self {
        self.notes.extend(self.note(name, text));
        self
    }

    /// The same with a fact of the pit itself under a name, as "Rim", likewise; it stands below the readings.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// # let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// let page = exhibit.noting_of_the_pit("Rim", "changed 2016-05-24").to_html(Paper::Letter);
    /// assert!(page.contains("<dt>Rim</dt><dd>Changed 2016-05-24</dd>"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn noting_of_the_pit(mut self, name: &str, text: &str) -> Self {
        self.facts.extend(self.note(name, text));
        self
    }

    /// A note that leaves room for the others, unless its text is empty.
    fn note(&self, name: &str, text: &str) -> Option<(String, String)> {
        let taken: usize = self.facts.iter().chain(&self.notes).map(|(_, text)| text.chars().count()).sum();
        let most = ALL_NOTES.saturating_sub(taken).clamp(SHORTEST_NOTE, LONGEST_NOTE);
        (!text.is_empty()).then(|| (cut(name, LONGEST_NAME), cut(&capitalised(text), most)))
    }

    /// The same with the method named that made the forecast; the absorption method unless said.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// # let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// use soaklife::forecast::Method;
    /// assert!(exhibit.by_method(Method::Line).to_html(Paper::Letter).contains("least squares"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn by_method(self, method: Method) -> Self {
        Self { method: method_in_words(method), ..self }
    }

    /// The same with the fingerprint of the logbook it was made from, and the program and version that made it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// # let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// let page = exhibit.sealed("94ee059335e587e5", "soaklife 0.1.0").to_html(Paper::Letter);
    /// assert!(page.contains("Prepared with soaklife 0.1.0") && page.contains("94ee059335e587e5"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn sealed(self, fingerprint: &str, program: &str) -> Self {
        Self { fingerprint: fingerprint.to_owned(), program: program.to_owned(), ..self }
    }

    pub(super) fn heading(&self) -> String {
        format!("Seepage pit {}", self.title)
    }

    pub(super) fn day(&self) -> String {
        format!("Forecast as of {}", self.as_of)
    }

    /// What the chart shows, for those who cannot see it.
    pub(super) fn chart_in_words(&self) -> String {
        format!(
            "Chart of the readings, the forecast of the standing level and its ranges. {}",
            self.chart.description()
        )
    }

    /// What it was made with, and from.
    pub(super) fn origin(&self) -> String {
        match (self.program.is_empty(), self.fingerprint.is_empty()) {
            (true, _) => String::new(),
            (false, true) => format!("Prepared with {}.", self.program),
            (false, false) => {
                format!(
                    "Prepared with {}; fingerprint of the logbook {} (SHA-256, its first digits).",
                    self.program, self.fingerprint
                )
            }
        }
    }
}

impl Table {
    /// A table without rows yet.
    ///
    /// ```
    /// use soaklife_charts::Table;
    /// assert_eq!(Table::new("Chances", ["within", "1 year"]).rows(), 0);
    /// ```
    #[must_use]
    pub fn new<T: AsRef<str>>(caption: &str, headings: impl IntoIterator<Item = T>) -> Self {
        Self {
            caption: cut(caption, LONGEST_NOTE),
            headings: cells(headings),
            rows: Vec::new(),
            names: Vec::new(),
        }
    }

    /// The same with a row more; it gets as many cells as there are headings.
    ///
    /// ```
    /// use soaklife_charts::Table;
    /// let table = Table::new("Chances", ["within", "1 year"]);
    /// assert_eq!(table.clone().with_row(["chance"]), table.with_row(["chance", ""]));
    /// ```
    #[must_use]
    pub fn with_row<T: AsRef<str>>(mut self, row: impl IntoIterator<Item = T>) -> Self {
        let mut row = cells(row);
        row.resize(self.headings.len(), String::new());
        self.rows.push(row);
        self
    }

    /// The same, in which a column (counted from 0) is of names: they are no numbers, though "14 Lower Ford" begins like one.
    ///
    /// ```
    /// use soaklife_charts::Table;
    /// let table = Table::new("Whom to see first", ["pit", "name"]).with_names_in(1);
    /// assert_eq!(table.with_row(["AF-11", "14 Lower Ford"]).rows(), 1);
    /// ```
    #[must_use]
    pub fn with_names_in(mut self, column: usize) -> Self {
        self.names.push(column);
        self
    }

    /// How many rows it has below its headings.
    ///
    /// ```
    /// use soaklife_charts::Table;
    /// assert_eq!(Table::new("Chances", ["within"]).with_row(["chance"]).rows(), 1);
    /// ```
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// Whether a column is one of numbers, which stand under each other at the right. The first one names its row.
    pub(super) fn is_of_numbers(&self, column: usize) -> bool {
        let begins_a_number = |letter: char| letter.is_ascii_digit() || "<>".contains(letter);
        let mut cells = self.rows.iter().filter_map(|row| row.get(column));
        let is_of_names = column == 0 || self.names.contains(&column);
        !is_of_names && cells.any(|cell| cell.starts_with(begins_a_number))
    }

    /// Whether a number without a decimal stands in a column in which others have one: it leaves room for it.
    pub(super) fn leaves_room_for_a_decimal(&self, column: usize, cell: &str) -> bool {
        let has_decimal = |cell: &String| {
            cell.rsplit_once('.').is_some_and(|(_, decimal)| decimal.len() == 1 && is_digits(decimal))
        };
        let last_number = cell.rsplit(|letter: char| !letter.is_ascii_digit() && letter != '.').next();
        self.is_of_numbers(column)
            && last_number.is_some_and(is_digits)
            && self.rows.iter().filter_map(|row| row.get(column)).any(has_decimal)
    }

    /// The last dozen readings, the latest first, each with how it counts; the caption says how many there are. What was read below
    /// another rim has no freeboard in it, because nobody has written down how far the rim was moved.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use soaklife::quantity::{Units, inches};
    /// use soaklife::{History, Pit, Reading};
    /// use soaklife_charts::Table;
    ///
    /// let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// let readings = (2001..2026).map(|year| Reading::dry(date(year, 5, 10)));
    /// let history = History::new(pit).with_readings(readings);
    /// let table = Table::of_readings(&history.readings_for_a_line(date(2026, 6, 30)), &history, Units::Us);
    /// assert_eq!(table.rows(), 12); // 13 earlier ones are counted in the caption
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn of_readings(uses: &[ReadingUse], history: &History, units: Units) -> Self {
        let unit = units.name();
        let earlier = uses.len().saturating_sub(SHOWN);
        let caption = match (uses.len(), earlier) {
            (0, _) => "Readings: none yet".to_owned(),
            (all, 0) => format!("Readings: {all}, the latest first"),
            (_, earlier) => {
                format!("Readings: the last {SHOWN}; {} not shown", counted(earlier, "earlier one"))
            }
        };
        let headings = [
            "date".to_owned(),
            format!("rim to liquid, {unit}"),
            format!("freeboard, {unit}"),
            "counts".to_owned(),
        ];
        let table = Self::new(&caption, headings);
        uses.iter().rev().take(SHOWN).fold(table, |table, taken| {
            let [depth, freeboard] = measured(taken, history.pit(), units);
            let freeboard =
                if is_below_another_rim(taken, history) { OTHER_RIM.to_owned() } else { freeboard };
            table.with_row([taken.reading.date().to_string(), depth, freeboard, counts_as(taken)])
        })
    }
}

/// Whether the rim has been changed since.
fn is_below_another_rim(taken: &ReadingUse, history: &History) -> bool {
    let day = taken.reading.date().middle();
    // At the inlet it stood by whatever rim.
    taken.reading.observation() != Observation::AtInlet
        && history
            .events()
            .iter()
            .any(|event| event.kind == EventKind::DatumChanged && event.date.middle() > day)
}

/// Depth below the rim and freeboard as they stand in the table.
fn measured(taken: &ReadingUse, pit: &Pit, units: Units) -> [String; 2] {
    let told = |length| length_number(length, units, units == Units::Us);
    match taken.reading.observation() {
        Observation::Dry => ["dry".to_owned(), format!("{} or more", told(pit.effective_depth()))],
        Observation::AtInlet => ["at inlet".to_owned(), "0".to_owned()],
        Observation::Liquid { level } => [told(pit.depth_at_level(level)), told(pit.freeboard(level))],
        _ => [String::new(), String::new()],
    }
}

/// How a reading counts, and why if not in full.
fn counts_as(taken: &ReadingUse) -> String {
    match taken.verdict {
        Verdict::SetAside(reason) => format!("no: {reason}"),
        Verdict::Used { weight } => match taken.reading.condition() {
            Condition::AfterRain => "yes, after rain".to_owned(),
            Condition::Vacant => "yes, house vacant".to_owned(),
            Condition::Suspect => "yes, doubted".to_owned(),
            Condition::AfterPumping => "yes, after pumping out".to_owned(),
            _ if weight < FULL_WEIGHT => "yes, but doubtful".to_owned(),
            _ => "yes".to_owned(),
        },
    }
}

/// How the forecast was made, in three lines.
fn method_in_words(method: Method) -> String {
    let followed = match method {
        Method::Absorption => {
            "The level is followed against the water the pit has taken, where that is known, else against time: many simple courses \
             that pits take are weighed by how well they explain the readings, and together give the ranges."
        }
        Method::Line => {
            "A straight line is fitted to the usable readings by least squares and followed to the inlet, with Student-t ranges, which \
             often hold less often than they claim."
        }
        Method::Rank => {
            "The median of the slopes between all pairs of usable readings is followed to the inlet, with Sen's interval."
        }
        _ => "",
    };
    format!(
        "The stick gives the depth from the rim of the access port down to the liquid; freeboard is what is left below the \
         inlet invert. {followed} A range with 80 % confidence is meant to hold four times in five."
    )
}

fn cells<T: AsRef<str>>(cells: impl IntoIterator<Item = T>) -> Vec<String> {
    cells.into_iter().map(|cell| cut(cell.as_ref(), LONGEST_CELL)).collect()
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// Whether a cell is too short to be broken into lines.
pub(super) fn is_short(cell: &str) -> bool {
    cell.chars().count() <= 12
}

/// A text in one line of so many letters at most, with an ellipsis where it was cut and without what has no shape.
pub(crate) fn cut(text: &str, most: usize) -> String {
    let words: Vec<String> = text
        .split_whitespace()
        .map(|word| word.chars().filter(|&letter| is_allowed(letter)).collect())
        .collect();
    let line = words.join(" ");
    if line.chars().count() <= most {
        return line;
    }
    let kept: String = line.chars().take(most - 1).collect();
    format!("{}…", kept.trim_end())
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

//! What is wrong with a logbook: where, what was read, and the mend.

use std::fmt::{self, Write as _};

/// One thing wrong with a logbook, shown as `file:line:column: severity: message`.
///
/// ```
/// use soaklife_records::{Problem, ProblemKind, Severity};
///
/// let problem = Problem {
///     file: "readings.csv".to_owned(),
///     line: Some(14),
///     column: Some(3),
///     severity: Severity::Error,
///     kind: ProblemKind::BelowBottom,
///     pit_id: Some("AF-01".to_owned()),
///     message: "depth_to_liquid_in 160 is below the pit bottom (132 in)".to_owned(),
/// };
/// assert_eq!(
///     problem.to_string(),
///     "readings.csv:14:3: error: depth_to_liquid_in 160 is below the pit bottom (132 in)"
/// );
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Name of the file inside the logbook.
    pub file: String,
    /// Physical line on which the row starts, from 1; none if the file as a whole is meant.
    pub line: Option<u64>,
    /// Number of the field in its row, from 1 (in logbook.toml: of the character); none if the whole row is meant.
    pub column: Option<u64>,
    /// Whether something could not be used.
    pub severity: Severity,
    /// What sort of problem it is.
    pub kind: ProblemKind,
    /// The pit concerned, where one is known.
    pub pit_id: Option<String>,
    /// What was read, what is wrong with it, the mend, and what became of it.
    pub message: String,
}

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Used, but said.
    Warning,
    /// Something could not be used.
    Error,
}

/// Declares the kinds of problem together with their stable codes.
macro_rules! problem_kinds {
    ($($(#[$doc:meta])* $kind:ident = $code:literal,)*) => {
        /// What sort of problem it is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[non_exhaustive]
        pub enum ProblemKind { $($(#[$doc])* $kind,)* }

        impl ProblemKind {
            /// A stable lower-case name for other programs.
            ///
            /// ```
            /// assert_eq!(soaklife_records::ProblemKind::BelowBottom.code(), "below_bottom");
            /// ```
            #[must_use]
            pub fn code(self) -> &'static str {
                match self { $(Self::$kind => $code,)* }
            }
        }
    };
}

problem_kinds! {
    /// An optional file is there but cannot be read.
    Unreadable = "unreadable",
    /// The file is not comma-separated text at all.
    NotCsv = "not_csv",
    /// Columns are separated by something else than commas.
    Separator = "separator",
    /// There is no header row in line 1.
    Header = "header",
    /// A required column is missing.
    MissingColumn = "missing_column",
    /// Two columns give one quantity.
    DuplicateColumn = "duplicate_column",
    /// A column's name lacks its unit, or has one that is not understood.
    UnitOfColumn = "unit_of_column",
    /// A column nobody knows, very like one that is missing.
    MisspeltColumn = "misspelt_column",
    /// Capitals where lower case is the rule.
    Capitals = "capitals",
    /// A row with too few or too many fields.
    RaggedRow = "ragged_row",
    /// A row without any value.
    BlankRow = "blank_row",
    /// Quotes that RFC 4180 does not allow.
    Quoting = "quoting",
    /// Bytes that are not UTF-8.
    NotUtf8 = "not_utf8",
    /// The table has no row.
    NoRow = "no_row",
    /// A row for a pit that pits.csv does not have.
    UnknownPit = "unknown_pit",
    /// One pit_id twice in pits.csv.
    DuplicatePit = "duplicate_pit",
    /// Rows of a pit that was itself left out.
    PitLeftOut = "pit_left_out",
    /// A required value is missing.
    MissingValue = "missing_value",
    /// Not a number, or not a finite one.
    Number = "number",
    /// A number outside what can be.
    OutOfRange = "out_of_range",
    /// A number that can be, but hardly is.
    Unlikely = "unlikely",
    /// Not a date or time.
    Date = "date",
    /// A date later than today.
    LaterThanToday = "later_than_today",
    /// Rows dated after the day of the forecast.
    AfterAsOf = "after_as_of",
    /// A word that is not one of those allowed.
    Word = "word",
    /// Two values that contradict each other.
    Contradiction = "contradiction",
    /// The pit's inlet, bottom or cross-section cannot be.
    Geometry = "geometry",
    /// A reading below the pit bottom.
    BelowBottom = "below_bottom",
    /// A reading just below the pit bottom, taken as dry.
    StickTolerance = "stick_tolerance",
    /// A reading above the inlet invert.
    AboveInlet = "above_inlet",
    /// A reading above the rim.
    AboveRim = "above_rim",
    /// Neighbouring readings implausibly far apart in level.
    ImplausibleJump = "implausible_jump",
    /// Two rows of one pit on one day.
    SameDay = "same_day",
    /// Neighbouring readings more than five years apart.
    LongGap = "long_gap",
    /// A reading before the pit was installed.
    BeforeInstalled = "before_installed",
    /// Rows or events in an order that needs a word.
    Order = "order",
    /// It is not known who lives in the house.
    OccupancyUnknown = "occupancy_unknown",
    /// It is not known what the pit was designed for.
    DesignUnknown = "design_unknown",
    /// The cross-section of the pit is not known.
    DiameterUnknown = "diameter_unknown",
    /// Something wrong in logbook.toml.
    Setting = "setting",
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
            if let Some(column) = self.column {
                write!(f, ":{column}")?;
            }
        }
        write!(f, ": {}: {}", self.severity, self.message)
    }
}

/// Where the problems of one file are collected while it is read.
///
/// ```
/// use soaklife_records::Problems;
/// assert!(Problems::new("readings.csv").is_empty());
/// ```
#[derive(Debug, Clone)]
pub struct Problems {
    file: &'static str,
    found: Vec<Problem>,
    /// Identifiers that may belong to a pit of another part of the logbook, by line.
    strays: Vec<(u64, String)>,
    /// How many are listed at most, beside what is always.
    most: Tally,
    whole: Option<Whole>,
    listed: Tally,
    unlisted: Tally,
    /// Rows with errors, pit by pit as they come; merged by pit now and then, so that they are no more than pits are named.
    left_out: Vec<LeftOut>,
    merge_at: usize,
}

/// Problems of one severity that are listed, a file.
pub(crate) const MOST_LISTED: u64 = 5_000;
/// So many stretches of rows left out are merged by pit.
const MERGED_FROM: usize = 1 << 16;

/// What is listed however much is wrong: with a row that is about to be added, and with how it stands beside others.
#[derive(Debug, Clone)]
pub(crate) struct Whole {
    pub(crate) from_line: u64,
    /// The pit of which all warnings are listed.
    pub(crate) pit_id: String,
}

/// Rows of one pit that have errors, one after another.
#[derive(Debug, Clone)]
struct LeftOut {
    pit_id: String,
    /// That of the last.
    line: u64,
    rows: usize,
}

/// A number of problems.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) errors: u64,
    pub(crate) warnings: u64,
}

impl ProblemKind {
    /// Whether it is told once a file, and so always listed.
    pub(crate) fn is_once_a_file(self) -> bool {
        matches!(self, Self::BlankRow | Self::AfterAsOf | Self::NoRow | Self::MissingColumn)
    }
}

/// Where in a file a problem lies: its line and the number of the field.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Place {
    pub(crate) line: Option<u64>,
    pub(crate) column: Option<u64>,
}

impl Place {
    pub(crate) fn line(line: u64) -> Self {
        Self { line: Some(line), column: None }
    }

    pub(crate) fn field(line: u64, column: u64) -> Self {
        Self { line: Some(line), column: Some(column) }
    }
}

/// What is wrong with a value, before it is known what becomes of its row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fault {
    pub(crate) kind: ProblemKind,
    pub(crate) message: String,
}

impl Fault {
    pub(crate) fn new(kind: ProblemKind, message: impl Into<String>) -> Self {
        Self { kind, message: message.into() }
    }

    /// A record that is [too long](crate::record::Flaw::TooLong).
    pub(crate) fn no_line_end() -> Self {
        let message = "no line end for 16 MB: the rest of the file cannot be read; is it a table at all?";
        Self::new(ProblemKind::NotCsv, message)
    }

    /// The same, followed by what becomes of the value.
    pub(crate) fn so(mut self, consequence: &str) -> Self {
        self.message.push_str(if self.message.ends_with('?') { " " } else { ". " });
        self.message.push_str(consequence);
        self
    }
}

impl Problem {
    /// Whether it lies in a row of this pit.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let day = date(2026, 6, 30);
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let logbook = soaklife_records::Logbook::read(folder.as_ref(), day, day)?;
    /// let of_one = logbook.problems().iter().filter(|problem| problem.is_of("AF-10"));
    /// assert!(of_one.count() < logbook.problems().len());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn is_of(&self, pit_id: &str) -> bool {
        // A long or strange identifier is kept as it is shown.
        self.pit_id.as_ref().is_some_and(|own| {
            own == pit_id || ((own.ends_with('…') || own.contains('\\')) && *own == shown(pit_id))
        })
    }
}

impl Problems {
    /// No problem yet in the file of this name.
    #[must_use]
    pub fn new(file: &'static str) -> Self {
        Self::listing(file, Tally { errors: u64::MAX, warnings: u64::MAX })
    }

    /// The same, of which so many are listed at most and the others counted.
    pub(crate) fn listing(file: &'static str, most: Tally) -> Self {
        Self {
            file,
            found: Vec::new(),
            strays: Vec::new(),
            most,
            whole: None,
            listed: Tally::default(),
            unlisted: Tally::default(),
            left_out: Vec::new(),
            merge_at: MERGED_FROM,
        }
    }

    /// The same, of which the first 5,000 errors and as many warnings are listed, and `whole`.
    pub(crate) fn of_file(file: &'static str, whole: Option<Whole>) -> Self {
        Self { whole, ..Self::listing(file, Tally { errors: MOST_LISTED, warnings: MOST_LISTED }) }
    }

    /// The file they are of.
    #[must_use]
    pub fn file(&self) -> &str {
        self.file
    }

    /// Whether none was found.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// The problems by line, then column.
    #[must_use]
    pub fn into_sorted(mut self) -> Vec<Problem> {
        self.take_sorted()
    }

    /// Takes the problems by line, then column.
    pub(crate) fn take_sorted(&mut self) -> Vec<Problem> {
        self.found.sort_by_key(|problem| (problem.line, problem.column));
        self.take()
    }

    /// Keeps an identifier that no pit known here has, until all pits are known.
    pub(crate) fn stray(&mut self, line: u64, pit_id: &str) {
        self.strays.push((line, pit_id.to_owned()));
    }

    /// Takes the identifiers kept.
    pub(crate) fn take_strays(&mut self) -> Vec<(u64, String)> {
        std::mem::take(&mut self.strays)
    }

    /// How many were found that are not listed.
    pub(crate) fn unlisted(&self) -> Tally {
        self.unlisted
    }

    /// The same of several files together.
    pub(crate) fn unlisted_of(files: &[Self]) -> Tally {
        files.iter().fold(Tally::default(), |sum, file| Tally {
            errors: sum.errors + file.unlisted.errors,
            warnings: sum.warnings + file.unlisted.warnings,
        })
    }

    /// How many rows of a pit have errors, listed or not.
    pub(crate) fn rows_left_out(&self, pit_id: &str) -> usize {
        self.left_out.iter().filter(|left_out| left_out.pit_id == pit_id).map(|left_out| left_out.rows).sum()
    }

    /// Those found so far, in the order they were found.
    pub(crate) fn found(&self) -> &[Problem] {
        &self.found
    }

    /// Takes those found so far.
    pub(crate) fn take(&mut self) -> Vec<Problem> {
        std::mem::take(&mut self.found)
    }

    pub(crate) fn error(&mut self, place: Place, pit_id: Option<&str>, fault: Fault) {
        if fault.kind.is_once_a_file() {
            self.push(place, pit_id, Severity::Error, fault);
        } else {
            self.error_of(place, pit_id, || fault);
        }
    }

    /// The same, put in words only if it is listed: for what may be wrong with row after row.
    pub(crate) fn error_of(&mut self, place: Place, pit_id: Option<&str>, fault: impl FnOnce() -> Fault) {
        if let (Some(pit_id), Some(line)) = (pit_id, place.line) {
            self.leave_out(pit_id, line);
        }
        if self.listed.errors < self.most.errors || self.is_whole_from(place.line) {
            self.listed.errors += 1;
            self.push(place, pit_id, Severity::Error, fault());
        } else {
            self.unlisted.errors += 1;
        }
    }

    /// Counts an error in a row of a pit, if it need not be listed; whether it did.
    pub(crate) fn count_error(&mut self, pit_id: &str, line: u64) -> bool {
        let is_counted = self.listed.errors >= self.most.errors && !self.is_whole_from(Some(line));
        if is_counted {
            self.leave_out(pit_id, line);
            self.unlisted.errors += 1;
        }
        is_counted
    }

    fn leave_out(&mut self, pit_id: &str, line: u64) {
        match self.left_out.last_mut() {
            Some(last) if last.pit_id == pit_id => {
                last.rows += usize::from(last.line != line);
                last.line = line;
            }
            _ => {
                if self.left_out.len() >= self.merge_at {
                    self.merge_left_out();
                }
                self.left_out.push(LeftOut { pit_id: pit_id.to_owned(), line, rows: 1 });
            }
        }
    }

    fn merge_left_out(&mut self) {
        self.left_out.sort_by(|one, next| one.pit_id.cmp(&next.pit_id).then(one.line.cmp(&next.line)));
        self.left_out.dedup_by(|later, earlier| {
            let is_same = later.pit_id == earlier.pit_id;
            if is_same {
                earlier.rows += later.rows;
                earlier.line = later.line;
            }
            is_same
        });
        self.merge_at = MERGED_FROM.max(2 * self.left_out.len());
    }

    fn is_whole_from(&self, line: Option<u64>) -> bool {
        self.whole.as_ref().is_some_and(|whole| line.is_some_and(|line| line >= whole.from_line))
    }

    fn is_whole_of(&self, pit_id: Option<&str>) -> bool {
        self.whole.as_ref().is_some_and(|whole| pit_id == Some(&whole.pit_id))
    }

    pub(crate) fn warning(&mut self, place: Place, pit_id: Option<&str>, fault: Fault) {
        if fault.kind.is_once_a_file() {
            self.push(place, pit_id, Severity::Warning, fault);
        } else {
            self.warning_of(place, pit_id, || fault);
        }
    }

    /// The same, put in words only if it is listed.
    pub(crate) fn warning_of(&mut self, place: Place, pit_id: Option<&str>, fault: impl FnOnce() -> Fault) {
        if self.listed.warnings < self.most.warnings
            || self.is_whole_from(place.line)
            || self.is_whole_of(pit_id)
        {
            self.listed.warnings += 1;
            self.push(place, pit_id, Severity::Warning, fault());
        } else {
            self.unlisted.warnings += 1;
        }
    }

    fn push(&mut self, place: Place, pit_id: Option<&str>, severity: Severity, fault: Fault) {
        self.found.push(Problem {
            file: self.file.to_owned(),
            line: place.line,
            column: place.column,
            severity,
            kind: fault.kind,
            pit_id: pit_id.map(shown),
            message: fault.message,
        });
    }
}

/// How many characters of a value a message shows.
const SHOWN_CHARACTERS: usize = 40;

/// A value as a message may show it: shortened, with control and invisible characters spelled out.
pub(crate) fn shown(text: &str) -> String {
    match text.char_indices().nth(SHOWN_CHARACTERS) {
        Some((end, _)) => spelled_out(text.get(..end).unwrap_or_default()) + "…",
        None => spelled_out(text),
    }
}

/// A text with its control and invisible characters spelled out, so that no terminal obeys them.
pub(crate) fn spelled_out(text: &str) -> String {
    let mut spelled = String::with_capacity(text.len());
    for character in text.chars() {
        if character.is_control() || is_invisible(character) {
            let _ = write!(spelled, "{}", character.escape_unicode());
        } else {
            spelled.push(character);
        }
    }
    spelled
}

/// The same in quotes, for a value that is text or was not understood.
pub(crate) fn quoted(text: &str) -> String {
    format!("\"{}\"", shown(text))
}

/// Spaces and marks that look like nothing or turn the text around (Unicode categories Cf, Zl, Zp, Zs).
fn is_invisible(character: char) -> bool {
    matches!(character,
        '\u{a0}' | '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{2000}'..='\u{200f}' | '\u{2028}'..='\u{202f}'
        | '\u{205f}'..='\u{206f}' | '\u{3000}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

#[cfg(test)]
mod tests;

//! What the fleet report says, as data: sections, each of texts, tables and figures in reading order.

use crate::exhibit::Table;
use crate::exhibit::content::{LONGEST_NOTE, cut};
use crate::svg::Svg;
use jiff::civil::Date;

const LONGEST_TITLE: usize = 80;
/// Letters of a name before a note.
const LONGEST_NAME: usize = 40;
/// Letters of a paragraph.
const LONGEST_TEXT: usize = 1200;

/// What can hurt someone, and who decides.
pub(super) const CAUTIONS: &str = "\
Estimates from readings: no warranty, and no substitute for an inspection. Local code and licensed practitioners decide what must be \
replaced, and when. At a pit: sewage gas kills without warning. Never enter or lean into a tank or pit, never work at an open one alone, \
no open flame. Old pits and rotten covers collapse: keep off and away from the edge. Keep every cover secured. Have buried utilities \
located before probing or digging.";

/// A report about many pits, in sections; one that has no room on what is left of a page begins the next.
///
/// Texts may hold anything: both formats show them as text, and cut what is absurdly long.
///
/// ```
/// use jiff::civil::date;
/// use soaklife_charts::{FleetReport, Paper, Table};
///
/// let due = Table::new("Pits due", ["by the end of", "pits"]).with_row(["2027", "1 to 4"]);
/// let report = FleetReport::new("alder-fork", date(2026, 6, 30))
///     .in_section("Summary")
///     .answering("By the end of 2027 expect 2.1 of 24 pits to reach the inlet.")
///     .with_table(due)
///     .sealed("94ee059335e587e5", "soaklife 0.1.0");
/// assert!(report.to_html(Paper::Letter).contains("<h2>Summary</h2>"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct FleetReport {
    title: String,
    pub(super) as_of: Date,
    pub(super) sections: Vec<Section>,
    fingerprint: String,
    pub(super) program: String,
}

#[derive(Debug, Clone)]
pub(super) struct Section {
    pub(super) heading: String,
    pub(super) parts: Vec<Part>,
}

#[derive(Debug, Clone)]
pub(super) enum Part {
    Answer(String),
    Paragraph(String),
    /// Each begins with a name in bold.
    Notes(Vec<(String, String)>),
    Points(Vec<String>),
    Table(Table),
    Figure(Svg),
}

impl FleetReport {
    /// A report without sections yet; its title is usually the name of the logbook.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let page = FleetReport::new("alder-fork", date(2026, 6, 30)).to_html(Paper::A4);
    /// assert!(page.contains("<h1>Seepage pits: alder-fork</h1>") && page.contains("as of 2026-06-30"));
    /// ```
    #[must_use]
    pub fn new(title: &str, as_of: Date) -> Self {
        Self {
            title: cut(title, LONGEST_TITLE),
            as_of,
            sections: Vec::new(),
            fingerprint: String::new(),
            program: String::new(),
        }
    }

    /// The same with another section, in which stands what is added from here on.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).in_section("Budget, year by year");
    /// assert!(report.to_html(Paper::Letter).contains("<h2>Budget, year by year</h2>"));
    /// ```
    #[must_use]
    pub fn in_section(mut self, heading: &str) -> Self {
        self.sections.push(Section { heading: cut(heading, LONGEST_TITLE), parts: Vec::new() });
        self
    }

    /// The same with the answer, in large letters.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).answering("None is due.");
    /// assert!(report.to_html(Paper::Letter).contains("<p class=\"answer\">None is due.</p>"));
    /// ```
    #[must_use]
    pub fn answering(self, text: &str) -> Self {
        self.with(Part::Answer(cut(text, LONGEST_TEXT)))
    }

    /// The same with a paragraph; an empty one is left out.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).saying("Two <b> pits.").saying("");
    /// assert_eq!(report.to_html(Paper::Letter).matches("<p>Two &lt;b&gt; pits.</p>").count(), 1);
    /// ```
    #[must_use]
    pub fn saying(self, text: &str) -> Self {
        if text.is_empty() { self } else { self.with(Part::Paragraph(cut(text, LONGEST_TEXT))) }
    }

    /// The same with notes, each under a name; one without a text says so.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).noting([("AF-25", "its bottom is above its inlet")]);
    /// assert!(report.to_html(Paper::Letter).contains("<dt>AF-25</dt>"));
    /// ```
    #[must_use]
    pub fn noting<N: AsRef<str>, T: AsRef<str>>(self, notes: impl IntoIterator<Item = (N, T)>) -> Self {
        let kept =
            |(name, text): (N, T)| (cut(name.as_ref(), LONGEST_NAME), cut(text.as_ref(), LONGEST_NOTE));
        self.with(Part::Notes(notes.into_iter().map(kept).collect()))
    }

    /// The same with points, one below the other; empty ones are left out.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).listing(["First failures only."]);
    /// assert!(report.to_html(Paper::Letter).contains("<li>First failures only.</li>"));
    /// ```
    #[must_use]
    pub fn listing<T: AsRef<str>>(self, points: impl IntoIterator<Item = T>) -> Self {
        let points = points.into_iter().map(|point| cut(point.as_ref(), LONGEST_TEXT));
        self.with(Part::Points(points.filter(|point| !point.is_empty()).collect()))
    }

    /// The same with a table; one too long for a page goes on on the next.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper, Table};
    /// let due = Table::new("Pits due", ["by the end of", "pits"]).with_row(["2027", "1 to 4"]);
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).with_table(due);
    /// assert!(report.to_html(Paper::Letter).contains(">1 to 4</td>"));
    /// ```
    #[must_use]
    pub fn with_table(self, table: Table) -> Self {
        self.with(Part::Table(table))
    }

    /// The same with figures.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, LadderChart, Paper};
    /// let ladder = LadderChart::new(date(2026, 6, 30), &[]).pages()?;
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).with_figures(ladder);
    /// assert!(report.to_html(Paper::Letter).contains("<svg "));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_figures(self, figures: impl IntoIterator<Item = Svg>) -> Self {
        figures.into_iter().fold(self, |report, figure| report.with(Part::Figure(figure)))
    }

    /// The same with the fingerprint of the logbook it was made from, and the program and version that made it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let report = FleetReport::new("alder-fork", date(2026, 6, 30)).sealed("94ee059335e587e5", "soaklife 0.1.0");
    /// assert!(report.to_html(Paper::Letter).contains("Prepared with soaklife 0.1.0"));
    /// ```
    #[must_use]
    pub fn sealed(self, fingerprint: &str, program: &str) -> Self {
        Self { fingerprint: fingerprint.to_owned(), program: program.to_owned(), ..self }
    }

    /// What is added before any section stands in one without a heading.
    fn with(mut self, part: Part) -> Self {
        if self.sections.is_empty() {
            self = self.in_section("");
        }
        if let Some(section) = self.sections.last_mut() {
            section.parts.push(part);
        }
        self
    }

    pub(super) fn heading(&self) -> String {
        match self.title.as_str() {
            "" => "Seepage pits".to_owned(),
            title => format!("Seepage pits: {title}"),
        }
    }

    pub(super) fn day(&self) -> String {
        format!("Forecasts and budget as of {}", self.as_of)
    }

    /// What stands at the foot of every page.
    pub(super) fn foot(&self) -> String {
        format!("{}, as of {}", self.heading(), self.as_of)
    }

    /// What it was made with, and from.
    pub(super) fn origin(&self) -> String {
        match (self.program.is_empty(), self.fingerprint.is_empty()) {
            (true, _) => String::new(),
            (false, true) => format!("Prepared with {}.", self.program),
            (false, false) => format!(
                "Prepared with {}; fingerprint of the logbook {} (SHA-256, its first digits).",
                self.program, self.fingerprint
            ),
        }
    }
}

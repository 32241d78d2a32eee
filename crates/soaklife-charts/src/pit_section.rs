//! The pit section: the pit to scale, with the level then and now and the freeboard between.

mod labels;
mod layout;
mod masonry;
mod water;
mod words;

use crate::canvas::figure;
use crate::svg::{ChartError, Description, Svg, refuse_undrawable_depth};
use jiff::civil::Date;
use layout::Layout;
use soaklife::band::Band;
use soaklife::forecast::Crossing;
use soaklife::history::{ReadingUse, Reason, Verdict};
use soaklife::quantity::Units;
use soaklife::{Coverage, Forecast, History, Pit, Reading};

/// A vertical section of one pit to scale, half as wide as a page so that it stands beside a table.
///
/// Dashed is the level at the first reading that counts, filled that at the last one; the arrow between the last one and
/// the inlet invert is the freeboard; the bracket is the 80 % range of the standing level on the day of the forecast. Depths are
/// below the rim, in inches (feet from 25 ft) or centimetres (metres). Inlet, bottom and diameter are the pit's
/// own; riser, cover and pipe are not recorded and drawn as they usually are, and so is an unknown diameter, which the
/// figure says.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::pit::CrossSection;
/// use soaklife::quantity::{feet, inches};
/// use soaklife::{Forecast, History, Pit, Question, Reading};
/// use soaklife_charts::PitSection;
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
/// let readings = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)]
///     .into_iter()
///     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
///     .collect::<Result<Vec<_>, _>>()?;
/// let history = History::new(pit).with_readings(readings);
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let svg = PitSection::new(&forecast, &history).titled("12 Mill Race Lane").svg()?;
/// assert!(svg.as_str().contains("56 in of freeboard") && svg.as_str().contains("6 ft across"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/section.svg")]
#[derive(Debug, Clone)]
pub struct PitSection {
    subject: Subject,
    title: String,
    units: Units,
    is_bare: bool,
}

/// What is drawn.
#[derive(Debug, Clone)]
struct Subject {
    pit: Pit,
    as_of: Date,
    /// The first and the last reading that speak for the pit as it is.
    first: Option<Reading>,
    last: Option<Reading>,
    /// Where the level stands today by the forecast.
    today: Option<Band>,
}

impl PitSection {
    /// The section of a pit with the forecast and the history that it was made from.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # use soaklife_charts::PitSection;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert!(PitSection::new(&forecast, &history).svg()?.as_str().contains("today, 80 %"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(forecast: &Forecast, history: &History) -> Self {
        let stands_at_inlet = matches!(forecast.crossing(Coverage::EIGHTY), Crossing::AlreadyAtInlet { .. });
        // At the inlet no forecast says how high the liquid stands.
        let today = forecast.level_band(0.0, Coverage::EIGHTY).filter(|_| !stands_at_inlet);
        Self::of(history, forecast.question().as_of(), today)
    }

    /// The section of a pit of which no forecast can be made.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::PitSection;
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let section = PitSection::of_readings(&history, date(2026, 6, 30));
    /// assert!(section.svg()?.as_str().contains("No reading that counts"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn of_readings(history: &History, as_of: Date) -> Self {
        Self::of(history, as_of, None)
    }

    fn of(history: &History, as_of: Date, today: Option<Band>) -> Self {
        let speaks = |taken: &ReadingUse| {
            matches!(taken.verdict, Verdict::Used { .. } | Verdict::SetAside(Reason::Dry | Reason::AtInlet))
        };
        // As for a line: a forecast may learn from a depth below another rim, but it has no place in this drawing.
        let readings = history.readings_for_a_line(as_of);
        let mut speaking = readings.iter().filter(|taken| speaks(taken)).map(|taken| taken.reading);
        let first = speaking.next();
        let last = speaking.next_back();
        // One reading alone is the last.
        let (first, last) = if last.is_some() { (first, last) } else { (None, first) };
        let subject = Subject { pit: *history.pit(), as_of, first, last, today };
        Self { subject, title: String::new(), units: Units::Us, is_bare: false }
    }

    /// The same with a title, usually the name of the pit; what does not fit in two lines is cut.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::PitSection;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let section = PitSection::of_readings(&history, date(2026, 6, 30)).titled("12 Mill Race Lane");
    /// assert!(section.svg()?.as_str().contains("12 Mill Race Lane"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// The same in other units: inches, and feet from 25 ft, or centimetres and metres.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::PitSection;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// use soaklife::quantity::Units;
    /// let section = PitSection::of_readings(&history, date(2026, 6, 30)).in_units(Units::Si);
    /// assert!(section.svg()?.as_str().contains("below rim, cm"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_units(self, units: Units) -> Self {
        Self { units, ..self }
    }

    /// The same without title, day, answer, caution and ruler, and narrower: to stand beside a bare
    /// [`ForecastChart`](crate::ForecastChart) on a page that says all that, as an [`Exhibit`](crate::Exhibit) does. Its description
    /// for those who cannot see it stays.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::PitSection;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let section = PitSection::of_readings(&history, date(2026, 6, 30)).bare();
    /// assert!(section.svg()?.as_str().contains("width=\"164pt\""));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn bare(self) -> Self {
        Self { is_bare: true, ..self }
    }

    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError::Depth`] for a pit too shallow or too deep to draw, [`ChartError::Drawing`] if the drawing library
    /// refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::PitSection;
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let svg = PitSection::of_readings(&history, date(2026, 6, 30)).svg()?;
    /// assert!(svg.as_str().contains("inlet invert") && svg.as_str().contains("width=\"234pt\""));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn svg(&self) -> Result<Svg, ChartError> {
        refuse_undrawable_depth(&self.subject.pit)?;
        let words = words::Words::of(&self.subject, &self.title, self.units, self.is_bare);
        let labels = labels::labels(&self.subject, self.units);
        let layout = Layout::of(&self.subject, &words, &labels, self.units);
        let about = Description {
            size: layout.size,
            title: words.heading(self.subject.as_of),
            description: words.description().to_owned(),
        };
        figure(about, |canvas| {
            masonry::ground(canvas, &layout)?;
            water::draw(canvas, &layout, &self.subject)?;
            masonry::pit(canvas, &layout)?;
            if !self.is_bare {
                masonry::ruler(canvas, &layout)?;
            }
            water::measured(canvas, &layout, &self.subject)?;
            labels::draw(canvas, &layout, &labels)?;
            words.draw(canvas, &layout)
        })
    }
}

#[cfg(test)]
mod tests;

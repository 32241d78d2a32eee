//! Small multiples: many pits on one page, a small panel each, all on the same scales.

mod layout;
mod panel;
mod words;

use crate::canvas::{Align, Canvas, figure, lettering, stroke};
use crate::caption;
use crate::svg::{ChartError, Description, Svg};
use crate::theme;
use jiff::civil::Date;
use layout::{COLUMNS, Layout, PER_PAGE, Scales};
pub use panel::PitPanel;
use soaklife::quantity::Units;

/// The panels of a fleet, 24 a page, in the order in which the pits reach their inlets.
///
/// A panel shows the readings, the median of the standing level from today on, the range that holds it with 80 % probability, the
/// inlet as a line on top and a strip of ground below the pit bottom; above it stand the pit and the answer in short. All panels of all
/// pages have the same scales of freeboard and years, so that one can be held against another.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::{Candidate, Urgency};
/// use soaklife::quantity::inches;
/// use soaklife::{Forecast, History, Pit, Question, Reading};
/// use soaklife_charts::{PitPanel, SmallMultiples};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let readings = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)]
///     .into_iter()
///     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
///     .collect::<Result<Vec<_>, _>>()?;
/// let forecast = Forecast::of(&History::new(pit).with_readings(readings), &Question::new(date(2026, 6, 30)))?;
/// let candidate = Candidate {
///     id: "H-1".into(),
///     title: "12 Mill Race Lane".into(),
///     years_since_reading: None,
///     urgency: Urgency::of(&forecast),
/// };
/// let pages = SmallMultiples::new(date(2026, 6, 30), [PitPanel::new(candidate, &forecast)]).pages()?;
/// assert!(pages.len() == 1 && pages[0].as_str().contains("12 Mill Race Lane"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/small-multiples.svg")]
#[derive(Debug, Clone)]
pub struct SmallMultiples {
    as_of: Date,
    panels: Vec<PitPanel>,
    title: String,
    units: Units,
}

impl SmallMultiples {
    /// The panels of these pits, in whatever order they come.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::SmallMultiples;
    /// let pages = SmallMultiples::new(date(2026, 6, 30), []).pages()?;
    /// assert!(pages[0].as_str().contains("No pit has a forecast."));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(as_of: Date, panels: impl IntoIterator<Item = PitPanel>) -> Self {
        let mut panels: Vec<PitPanel> = panels.into_iter().collect();
        panels.sort_by(|a, b| a.pit().urgency.compared(&b.pit().urgency));
        Self { as_of, panels, title: String::new(), units: Units::Us }
    }

    /// The same with a title, usually the name of the logbook; what does not fit in a line is cut.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::SmallMultiples;
    /// let pages = SmallMultiples::new(date(2026, 6, 30), []).titled("alder-fork").pages()?;
    /// assert!(pages[0].as_str().contains("alder-fork"));
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
    /// # use soaklife::quantity::Units;
    /// # use soaklife_charts::SmallMultiples;
    /// assert!(SmallMultiples::new(date(2026, 6, 30), []).in_units(Units::Si).pages().is_ok());
    /// ```
    #[must_use]
    pub fn in_units(self, units: Units) -> Self {
        Self { units, ..self }
    }

    /// Draws them, 24 panels a page; a fleet of none has one page that says so.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the drawing library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::SmallMultiples;
    /// assert_eq!(SmallMultiples::new(date(2026, 6, 30), []).pages()?.len(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn pages(&self) -> Result<Vec<Svg>, ChartError> {
        let scales = Scales::of(&self.panels, self.units);
        if self.panels.is_empty() {
            return Ok(vec![self.page(&scales, 0, &[])?]);
        }
        let pages = self.panels.chunks(PER_PAGE).enumerate();
        pages.map(|(page, panels)| self.page(&scales, page * PER_PAGE, panels)).collect()
    }

    /// The panels from a place in the order on.
    fn page(&self, scales: &Scales, from: usize, panels: &[PitPanel]) -> Result<Svg, ChartError> {
        let caption = words::caption(self, scales, panels);
        let layout = Layout::of(panels.len(), caption.len());
        let about = Description {
            size: layout.size,
            title: words::document_title(self, from, panels.len()),
            description: words::description(self, panels),
        };
        figure(about, |canvas| {
            words::title(canvas, self, from, panels.len())?;
            if !panels.is_empty() {
                words::names_of_scales(canvas, scales)?;
            }
            for (place, panel) in panels.iter().enumerate() {
                let plot = layout.plot(place, scales);
                words::heading(canvas, panel.pit(), &plot)?;
                panel.draw(canvas, &plot, scales, self.as_of)?;
                if place % COLUMNS == 0 {
                    self.freeboard(canvas, &plot, scales)?;
                }
                // The lowest panel of each column bears the years.
                if place + COLUMNS >= panels.len() {
                    self.years(canvas, &plot, scales)?;
                }
            }
            caption::write(canvas, (layout::EDGE, layout.caption), &caption)
        })
    }

    /// The scale at the left of a row.
    fn freeboard(
        &self,
        canvas: &mut Canvas<'_>,
        plot: &layout::Plot,
        scales: &Scales,
    ) -> Result<(), ChartError> {
        let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::End);
        for (freeboard_in, text) in scales.freeboard_ticks() {
            let y = plot.y.at(freeboard_in);
            canvas.line((plot.left - 2.5, y), (plot.left, y), stroke(theme::QUIET_INK, theme::HAIRLINE))?;
            canvas.text(&text, (plot.left - 4.0, y + 2.7), number)?;
        }
        Ok(())
    }

    /// The scale below a column.
    fn years(&self, canvas: &mut Canvas<'_>, plot: &layout::Plot, scales: &Scales) -> Result<(), ChartError> {
        let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::Middle);
        for (years, year) in scales.year_ticks(self.as_of, plot) {
            let x = plot.x.at(years);
            canvas.line(
                (x, plot.bottom),
                (x, plot.bottom + 2.5),
                stroke(theme::QUIET_INK, theme::HAIRLINE),
            )?;
            let half = number.width("2000") / 2.0;
            let within = x.clamp(plot.left + half - 3.0, plot.right - half + 3.0);
            canvas.text(&year.to_string(), (within, plot.bottom + 10.0), number)?;
        }
        Ok(())
    }
}

/// The day of the forecast; of dots it would be half of what a panel weighs.
fn today(canvas: &mut Canvas<'_>, plot: &layout::Plot) -> Result<(), ChartError> {
    let x = plot.x.at(0.0);
    canvas.line((x, plot.top), (x, plot.bottom), stroke(theme::INK, theme::HAIRLINE))
}

#[cfg(test)]
mod tests;

//! The ladder: every pit on a line of its own, the most urgent on top.

mod layout;
mod words;

use crate::canvas::{Align, Canvas, dashed, figure, lettering, stroke};
use crate::caption;
use crate::rung;
use crate::scale::{Scale, decimal_step, tick_text, ticks, year_ticks};
use crate::svg::{ChartError, Description, Svg};
use crate::theme;
use jiff::civil::Date;
use layout::{EDGE, Layout, NAME_ROOM, ROW};
use soaklife::fleet::Candidate;

/// Lines of pits on a page.
const ROWS: usize = 40;
/// The scale of years goes so far at least and at most.
const NEAREST_END: f64 = 10.0;
const FARTHEST_END: f64 = 40.0;

/// The ladder of a fleet: one line a pit, in the order of their [`Urgency`](soaklife::fleet::Urgency).
///
/// A line is the range that holds those years with 80 % probability, its tick the median; an arrow is a range that goes on
/// beyond the page or beyond what the forecast sees. Years are counted from the day of the forecast below the lines and told as
/// calendar years above them. Forty pits fill a page; all pages have the same scale.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::{Candidate, Urgency};
/// use soaklife_charts::LadderChart;
///
/// let pit = |id: &str, urgency| {
///     Candidate { id: id.into(), title: "Mill Race Lane".into(), years_since_reading: Some(0.2), urgency }
/// };
/// let soon = pit("AF-18", Urgency::to_inlet([0.6, 0.9, 1.0], [Some(0.4), Some(1.5), Some(4.0)]));
/// let late = pit("AF-04", Urgency::to_inlet([0.0, 0.0, 0.1], [Some(12.0), Some(41.0), None]));
/// let pages = LadderChart::new(date(2026, 6, 30), &[&late, &soon]).titled("alder-fork").pages()?;
/// assert_eq!(pages.len(), 1);
/// let told = pages[0].as_str();
/// assert!(told.find("AF-18").ok_or("no AF-18")? < told.find("AF-04").ok_or("no AF-04")?);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/ladder.svg")]
#[derive(Debug, Clone)]
pub struct LadderChart<'a> {
    as_of: Date,
    pits: Vec<&'a Candidate>,
    title: String,
}

impl<'a> LadderChart<'a> {
    /// The ladder of these pits, in whatever order they come.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::LadderChart;
    /// let pages = LadderChart::new(date(2026, 6, 30), &[]).pages()?;
    /// assert!(pages[0].as_str().contains("No pit has a forecast."));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(as_of: Date, pits: &[&'a Candidate]) -> Self {
        let mut pits = pits.to_vec();
        pits.sort_by(|a, b| a.urgency.compared(&b.urgency));
        Self { as_of, pits, title: String::new() }
    }

    /// The same with a title, usually the name of the logbook; what does not fit in a line is cut.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::LadderChart;
    /// let pages = LadderChart::new(date(2026, 6, 30), &[]).titled("alder-fork").pages()?;
    /// assert!(pages[0].as_str().contains("alder-fork"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// Draws it, forty pits a page; a fleet of none has one page that says so.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the drawing library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Candidate, Urgency};
    /// # use soaklife_charts::LadderChart;
    /// let urgency = Urgency::to_inlet([0.3, 0.7, 0.9], [Some(1.0), Some(3.5), Some(8.0)]);
    /// let title = "4 Mill Race Lane".into();
    /// let pit = Candidate { id: "AF-01".into(), title, years_since_reading: Some(0.2), urgency };
    /// let pages = LadderChart::new(date(2026, 6, 30), &[&pit; 41]).pages()?;
    /// assert_eq!(pages.len(), 2);
    /// assert!(pages[1].as_str().contains("pit 41 of 41"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn pages(&self) -> Result<Vec<Svg>, ChartError> {
        if self.pits.is_empty() {
            return Ok(vec![self.page(0, &[])?]);
        }
        self.pits.chunks(ROWS).enumerate().map(|(page, pits)| self.page(page * ROWS, pits)).collect()
    }

    /// The pits from a place in the order on.
    fn page(&self, from: usize, pits: &[&Candidate]) -> Result<Svg, ChartError> {
        let caption = words::caption(self);
        let layout = Layout::of(pits.len(), caption.len(), self.last_year());
        let about = Description {
            size: layout.size,
            title: words::heading(self, from, pits.len()),
            description: words::description(self, pits),
        };
        figure(about, |canvas| {
            words::title(canvas, self, from, pits.len())?;
            if !pits.is_empty() {
                self.frame(canvas, &layout, pits.len())?;
            }
            for (place, pit) in pits.iter().enumerate() {
                let y = layout.row(place);
                rung::name(canvas, pit, EDGE, NAME_ROOM, y)?;
                rung::range(canvas, &layout.time, &pit.urgency, y)?;
                let told = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::End);
                canvas.text(&pit.urgency.range_in_list(), (theme::WIDTH - EDGE, y + 2.7), told)?;
            }
            caption::write(canvas, (layout::EDGE, layout.caption), &caption)
        })
    }

    /// The end of the scale: that of the latest range, within reason.
    fn last_year(&self) -> f64 {
        let end = |pit: &&Candidate| pit.urgency.years[2].unwrap_or(FARTHEST_END);
        self.pits.iter().map(end).fold(NEAREST_END, f64::max).min(FARTHEST_END)
    }

    /// Today, the years ahead below and the calendar above; a fine line after every fifth pit leads the eye.
    fn frame(&self, canvas: &mut Canvas<'_>, layout: &Layout, pits: usize) -> Result<(), ChartError> {
        const LABEL_ROOM: f64 = 28.0;
        const MOST_TICKS: f64 = 8.0;
        let time = &layout.time;
        let (top, bottom) = (layout.top, layout.bottom);
        let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
        let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::Middle);
        for (years, year) in year_ticks(self.as_of, time, LABEL_ROOM) {
            let x = inside(time, number.width("2000"), years);
            canvas.line((time.at(years), top - 3.0), (time.at(years), top), edge)?;
            canvas.text(&year.to_string(), (x, top - 5.0), number)?;
        }
        let step = decimal_step(time.ends().1, MOST_TICKS);
        for years in ticks(0.0, time.ends().1, step) {
            let x = time.at(years);
            canvas.line((x, top), (x, bottom), stroke(theme::GRID, theme::HAIRLINE))?;
            canvas.line((x, bottom), (x, bottom + 3.0), edge)?;
            canvas.text(&tick_text(years, step), (x, bottom + 11.0), number)?;
        }
        for place in (5..pits).step_by(5) {
            let y = top + ROW * place as f64;
            canvas.line((EDGE, y), (theme::WIDTH - EDGE, y), dashed(theme::GROUND, theme::HAIRLINE, 2.0))?;
        }
        canvas.line((time.at(0.0), top), (time.at(0.0), bottom), edge)?;
        canvas.line((time.at(0.0), top), (time.at(time.ends().1), top), edge)?;
        canvas.line((time.at(0.0), bottom), (time.at(time.ends().1), bottom), edge)?;
        words::names_of_scales(canvas, layout)
    }
}

/// A label's place, moved in from the ends of the scale.
fn inside(time: &Scale, width: f64, years: f64) -> f64 {
    let (from, to) = time.ends();
    time.at(years).clamp(time.at(from) + width / 2.0, time.at(to) - width / 2.0)
}

#[cfg(test)]
mod tests;

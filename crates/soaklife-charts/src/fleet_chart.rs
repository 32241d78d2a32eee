//! The fleet chart: replacements and money in each calendar year, and when the most urgent pits may reach their
//! inlets.

mod layout;
mod urgent;
mod words;
mod years;

use crate::canvas::figure;
use crate::caption;
use crate::headline;
use crate::svg::{ChartError, Description, Svg};
use crate::theme::EDGE;
use jiff::civil::Date;
use layout::Layout;
use soaklife::fleet::{Candidate, YearBudget};
use years::{Measure, Panel};

/// Lines of pits that fit a page with the panels above them.
const MOST_URGENT: usize = 24;

/// The chart of a budget: a panel of counts, one of money, and a line for each of the pits to see first.
///
/// In a panel a tick is the median, the bar holds it with 80 % confidence, the whisker with 95 %. In the list a
/// line is the 80 % range of the time at which the pit reaches its inlet; one with an arrow goes on beyond the
/// page.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
/// use soaklife_charts::FleetChart;
///
/// let as_of = date(2026, 6, 30);
/// let costs = CostModel::new(0.03, 0.02, 0.3)?;
/// let mut budget = Budget::new(YearsAhead::new(as_of, 2)?, CommonFactor::default(), costs);
/// for _ in 0..200 {
///     budget.add(&[0.01, 0.03, 0.05], 15_000.0, None)?;
/// }
/// let years: Vec<_> = (0..3).map(|place| budget.whole().year(place)).collect();
/// let svg = FleetChart::new(as_of, 200, &years).titled("alder-fork").in_currency("USD").svg()?;
/// assert!(svg.as_str().contains("Replacements a year") && svg.as_str().contains("2028"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/fleet.svg")]
#[derive(Debug, Clone)]
pub struct FleetChart<'a> {
    as_of: Date,
    pits: u64,
    years: &'a [YearBudget],
    urgent: Vec<&'a Candidate>,
    title: String,
    currency: String,
}

impl<'a> FleetChart<'a> {
    /// The chart of so many pits, from the years of their budget: the rest of the present one first.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::FleetChart;
    /// assert!(FleetChart::new(date(2026, 6, 30), 0, &[]).svg()?.as_str().contains("nothing to budget for"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(as_of: Date, pits: u64, years: &'a [YearBudget]) -> Self {
        Self { as_of, pits, years, urgent: Vec::new(), title: String::new(), currency: String::new() }
    }

    /// The same with a title, usually the name of the logbook; what does not fit in a line is cut.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::FleetChart;
    /// let chart = FleetChart::new(date(2026, 6, 30), 0, &[]).titled("alder-fork");
    /// assert!(chart.svg()?.as_str().contains("alder-fork"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// The same with the currency of its money.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::FleetChart;
    /// let chart = FleetChart::new(date(2026, 6, 30), 0, &[]).in_currency("USD");
    /// assert!(chart.svg().is_ok());
    /// ```
    #[must_use]
    pub fn in_currency(self, currency: impl Into<String>) -> Self {
        Self { currency: currency.into(), ..self }
    }

    /// The same with the pits to see first, the most urgent first; two dozen are drawn at most.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Candidate, Urgency};
    /// # use soaklife_charts::FleetChart;
    /// let urgency = Urgency::to_inlet([0.3, 0.7, 0.9], [Some(1.0), Some(3.5), Some(8.0)]);
    /// let title = "4 Mill Race Lane".into();
    /// let pit = Candidate { id: "AF-01".into(), title, years_since_reading: Some(0.2), urgency };
    /// let svg = FleetChart::new(date(2026, 6, 30), 0, &[]).with_urgent(&[&pit]).svg()?;
    /// assert!(svg.as_str().contains("AF-01"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_urgent(self, urgent: &[&'a Candidate]) -> Self {
        Self { urgent: urgent.iter().take(MOST_URGENT).copied().collect(), ..self }
    }

    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the drawing library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::FleetChart;
    /// let svg = FleetChart::new(date(2026, 6, 30), 0, &[]).svg()?;
    /// assert!(svg.as_str().contains("as of 2026-06-30"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn svg(&self) -> Result<Svg, ChartError> {
        let caption = words::caption(self);
        let layout = Layout::of(!self.years.is_empty(), self.urgent.len(), caption.len());
        let title = headline::of_pits(&self.title);
        let about = Description {
            size: layout.size,
            title: format!("{title}, as of {}", self.as_of),
            description: words::description(self),
        };
        figure(about, |canvas| {
            headline::write(canvas, &self.title, &format!("as of {}", self.as_of))?;
            if !self.years.is_empty() {
                Panel::new(self.years, Measure::Count, &layout).draw(canvas)?;
                Panel::new(self.years, Measure::Money(&self.currency), &layout).draw(canvas)?;
                words::key(canvas, &layout)?;
            }
            if !self.urgent.is_empty() {
                urgent::draw(canvas, &layout, self.as_of, &self.urgent)?;
            }
            caption::write(canvas, (EDGE, layout.caption), &caption)
        })
    }
}

#[cfg(test)]
mod tests;

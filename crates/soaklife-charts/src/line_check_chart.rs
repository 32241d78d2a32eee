//! The check of a straight line: its residuals reading by reading, and their order against the normal distribution.

mod layout;
mod panels;
mod residuals;
mod words;

use crate::canvas::figure;
use crate::caption;
use crate::headline;
use crate::svg::{ChartError, Description, Svg};
use jiff::civil::Date;
use layout::Layout;
use residuals::Residuals;
use soaklife::Forecast;
use soaklife::quantity::Units;

/// The check of a line fitted through the readings of one pit.
///
/// At the left each reading's residual, its level above or below the line in inches or centimetres, stands at its date;
/// 80 % of readings should fall between the dashed lines. At the right the same residuals in order stand at the quantiles that
/// normal ones would have in the middle, with the line that they would follow and the band in which 80 % of dots stray by luck
/// alone. Residuals of readings that count less, taken after rain or in a vacant house, are shrunk there by the root of their weight.
///
/// # Formula
/// Residual rᵢ = level − fitted level. Right-hand place of the i-th of n: z(mᵢ), with Filliben's medians m₁ = 1 − 2^(−1/n),
/// mᵢ = (i − 0.3175)/(n + 0.365), mₙ = 2^(−1/n). Band: s z(p), p the 10 and 90 % quantiles of Beta(i, n + 1 − i), the order
/// statistics of n independent values. Residuals of a line are a little dependent and a little smaller than that.
///
/// # Source
/// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.3.21 (normal probability plot; from memory).
///
/// # Example
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::inches;
/// use soaklife::{Forecast, History, Method, Pit, Question, Reading};
/// use soaklife_charts::LineCheckChart;
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let depths = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
/// let by_line = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(Method::Line))?;
/// let chart = LineCheckChart::new(&by_line).ok_or("no line")?.titled("12 Mill Race Lane");
/// assert!(chart.svg()?.as_str().contains("above the line, in"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/line-check.svg")]
#[derive(Debug, Clone)]
pub struct LineCheckChart {
    residuals: Residuals,
    as_of: Date,
    title: String,
    units: Units,
}

impl LineCheckChart {
    /// The check of a forecast by a line; nothing for another method.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # use soaklife_charts::LineCheckChart;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let history = History::new(pit).with_readings([Reading::at_depth(&pit, date(2025, 5, 10), inches(98.0))?]);
    /// let by_absorption = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert!(LineCheckChart::new(&by_absorption).is_none());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(forecast: &Forecast) -> Option<Self> {
        let residuals = Residuals::of(forecast)?;
        let as_of = forecast.question().as_of();
        Some(Self { residuals, as_of, title: String::new(), units: Units::Us })
    }

    /// The same with a title, usually the name of the pit; what does not fit in a line is cut.
    ///
    /// The page of [`LineCheckChart`] has an example.
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// The same in other units: inches or centimetres.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Method, Pit, Question, Reading};
    /// # use soaklife_charts::LineCheckChart;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let by_line = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(Method::Line))?;
    /// use soaklife::quantity::Units;
    /// let chart = LineCheckChart::new(&by_line).ok_or("no line")?.in_units(Units::Si);
    /// assert!(chart.svg()?.as_str().contains("above the line, cm"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_units(self, units: Units) -> Self {
        Self { units, ..self }
    }

    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the drawing library refuses.
    ///
    /// The page of [`LineCheckChart`] has an example.
    pub fn svg(&self) -> Result<Svg, ChartError> {
        let caption = words::caption(self);
        let layout = Layout::of(&self.residuals, self.units, caption.len());
        let title = headline::of_a_pit(&self.title);
        let about = Description {
            size: layout.size,
            title: format!("{title}: what the line leaves over, as of {}", self.as_of),
            description: words::description(self),
        };
        figure(about, |canvas| {
            panels::by_date(canvas, &layout, &self.residuals, self.as_of)?;
            panels::by_quantile(canvas, &layout, &self.residuals)?;
            words::title(canvas, self)?;
            caption::write(canvas, (layout::EDGE, layout.caption), &caption)
        })
    }
}

#[cfg(test)]
mod tests;

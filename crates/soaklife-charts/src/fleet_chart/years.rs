//! A panel of years: for each a median tick, a bar that holds it with 80 % confidence, a whisker with 95 %.

use super::layout::{EDGE, Layout, NUMBERS};
use crate::canvas::{Align, Canvas, lettering, stroke};
use crate::scale::{Scale, decimal_step, tick_text, ticks};
use crate::svg::ChartError;
use crate::theme;
use soaklife::fleet::{Spread, YearBudget};

/// Room for a year's label.
const LABEL_ROOM: f64 = 27.0;
const MOST_TICKS: f64 = 5.0;

/// What a panel shows.
#[derive(Debug, Clone, Copy)]
pub(super) enum Measure<'a> {
    Count,
    /// In this currency.
    Money(&'a str),
}

impl Measure<'_> {
    fn of(self, year: &YearBudget) -> &Spread {
        match self {
            Self::Count => &year.count,
            Self::Money(_) => &year.money,
        }
    }
}

#[derive(Debug)]
pub(super) struct Panel<'a> {
    years: &'a [YearBudget],
    measure: Measure<'a>,
    left: f64,
    right: f64,
    top: f64,
    y: Scale,
    /// Between ticks, and what one unit of their labels is worth, with its name.
    step: f64,
    unit: (f64, &'static str),
}

impl<'a> Panel<'a> {
    pub(super) fn new(years: &'a [YearBudget], measure: Measure<'a>, layout: &Layout) -> Self {
        let highest = years.iter().map(|year| measure.of(year).p975).fold(0.0, f64::max);
        let unit = match measure {
            Measure::Count => (1.0, ""),
            Measure::Money(_) if highest >= 2e6 => (1e6, " million"),
            Measure::Money(_) if highest >= 2e3 => (1e3, " thousand"),
            Measure::Money(_) => (1.0, ""),
        };
        let range = (highest / unit.0).max(1.0);
        let step = match measure {
            Measure::Count => decimal_step(range, MOST_TICKS).max(1.0),
            Measure::Money(_) => decimal_step(range, MOST_TICKS),
        };
        let above = (range / step).ceil() * step;
        let [counts, money] = layout.plots;
        let top = if matches!(measure, Measure::Count) { counts } else { money };
        Self {
            years,
            measure,
            left: EDGE + NUMBERS,
            right: theme::WIDTH - EDGE,
            top,
            y: Scale::new((0.0, above), (top + layout.plot_height, top)),
            step,
            unit,
        }
    }

    pub(super) fn draw(&self, canvas: &mut Canvas<'_>) -> Result<(), ChartError> {
        let heading = match self.measure {
            Measure::Count => "Replacements a year".to_owned(),
            Measure::Money(currency) => {
                let unit = format!("{currency}{}", self.unit.1);
                format!("Cost a year, {}", unit.trim())
            }
        };
        let bold = lettering(theme::TEXT_SIZE, theme::INK).bold();
        canvas.text(heading.trim_end_matches(", "), (self.left, self.top - 5.0), bold)?;
        self.frame(canvas)?;
        self.years.iter().enumerate().try_for_each(|(place, year)| self.year(canvas, place, year))
    }

    fn frame(&self, canvas: &mut Canvas<'_>) -> Result<(), ChartError> {
        let number = lettering(theme::SMALL_SIZE, theme::INK);
        let (low, high) = self.y.ends();
        for tick in ticks(low, high, self.step) {
            let y = self.y.at(tick);
            let colour = if tick == 0.0 { theme::QUIET_INK } else { theme::GRID };
            canvas.line((self.left, y), (self.right, y), stroke(colour, theme::HAIRLINE))?;
            canvas.text(
                &tick_text(tick, self.step),
                (self.left - 4.0, y + 2.7),
                number.aligned(Align::End),
            )?;
        }
        let every = [1, 2, 5, 10, 20].into_iter().find(|every| f64::from(*every) * self.slot() >= LABEL_ROOM);
        let every = every.unwrap_or(50);
        for (place, year) in self.years.iter().enumerate() {
            if year.calendar_year.rem_euclid(every) == 0 || every == 1 {
                let at = (self.middle(place), self.y.at(0.0) + 11.0);
                canvas.text(&year.calendar_year.to_string(), at, number.aligned(Align::Middle))?;
            }
        }
        Ok(())
    }

    fn slot(&self) -> f64 {
        (self.right - self.left) / self.years.len().max(1) as f64
    }

    pub(super) fn middle(&self, place: usize) -> f64 {
        self.left + (place as f64 + 0.5) * self.slot()
    }

    pub(super) fn height(&self, value: f64) -> f64 {
        self.y.at(value / self.unit.0)
    }

    fn year(&self, canvas: &mut Canvas<'_>, place: usize, year: &YearBudget) -> Result<(), ChartError> {
        let told = self.measure.of(year);
        let half = (0.3 * self.slot()).min(7.0);
        let at = |value: f64| self.height(value);
        draw_range(
            canvas,
            self.middle(place),
            half,
            [told.p025, told.p10, told.p50, told.p90, told.p975].map(at),
        )
    }
}

/// A whisker, a bar on it and a tick, standing upright.
pub(super) fn draw_range(
    canvas: &mut Canvas<'_>,
    x: f64,
    half: f64,
    [low, bar_low, median, bar_high, high]: [f64; 5],
) -> Result<(), ChartError> {
    canvas.line((x, low), (x, high), stroke(theme::FITTED, theme::LINE))?;
    // A bar of no height would not be seen.
    let (bar_low, bar_high) =
        if bar_low - bar_high < 1.0 { (bar_low, bar_low - 1.0) } else { (bar_low, bar_high) };
    canvas.rectangle((x - half, bar_high), (x + half, bar_low), theme::BANDS[2])?;
    canvas.line((x - half - 1.5, median), (x + half + 1.5, median), stroke(theme::INK, theme::HEAVY))
}

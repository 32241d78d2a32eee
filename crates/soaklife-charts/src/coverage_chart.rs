//! The coverage chart: how often ranges said they would hold, against how often they did.

mod layout;
mod marks;
mod words;

use crate::canvas::{Align, Canvas, dashed, figure, lettering, stroke};
use crate::caption;
use crate::headline;
use crate::scale::Scale;
use crate::svg::{ChartError, Description, Svg};
use crate::theme::{self, EDGE};
use layout::{Layout, Panel};
use marks::Mark;
use soaklife::backtest::{Backtest, LevelScore, RangeScore};
use soaklife::forecast::Method;

/// The coverage chart of a backtest: a panel for each horizon, a mark for each method.
///
/// A mark on the broken diagonal held as often as claimed, one below it less often. The bar is what luck alone can do,
/// with 95 % confidence. A method that tells no range of a reading has no mark.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::backtest::Plan;
/// use soaklife::quantity::inches;
/// use soaklife::{History, Pit, Reading};
/// use soaklife_charts::CoverageChart;
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let depths = [(2020, 104.0), (2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// let readings = depths
///     .into_iter()
///     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
///     .collect::<Result<Vec<_>, _>>()?;
/// let history = History::new(pit).with_readings(readings);
/// let backtest = Plan::new(date(2026, 6, 30)).replay([&history]);
/// let svg = CoverageChart::new(&backtest).titled("12 Mill Race Lane").svg()?;
/// assert!(svg.as_str().contains("held as claimed"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/coverage.svg")]
#[derive(Debug, Clone)]
pub struct CoverageChart<'a> {
    backtest: &'a Backtest,
    title: String,
}

impl<'a> CoverageChart<'a> {
    /// The chart of a backtest.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife_charts::CoverageChart;
    /// let nothing = Plan::new(date(2026, 6, 30)).replay([]);
    /// assert!(CoverageChart::new(&nothing).svg()?.as_str().contains("no later reading"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(backtest: &'a Backtest) -> Self {
        Self { backtest, title: String::new() }
    }

    /// The same with a title, usually the name of the logbook; what does not fit in a line is cut.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife_charts::CoverageChart;
    /// # let nothing = Plan::new(date(2026, 6, 30)).replay([]);
    /// let chart = CoverageChart::new(&nothing).titled("alder-fork");
    /// assert!(chart.svg()?.as_str().contains("alder-fork"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the drawing library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife_charts::CoverageChart;
    /// # let nothing = Plan::new(date(2026, 6, 30)).replay([]);
    /// let svg = CoverageChart::new(&nothing).svg()?;
    /// assert!(svg.as_str().contains("as of 2026-06-30"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn svg(&self) -> Result<Svg, ChartError> {
        let drawn_methods = self.drawn_methods();
        let caption = words::caption(self.backtest);
        let layout = Layout::of(self.panel_count(), caption.len());
        let title = headline::of_pits(&self.title);
        let about = Description {
            size: layout.size,
            title: format!("{title}: how often ranges held, as of {}", self.backtest.as_of),
            description: words::description(self.backtest),
        };
        figure(about, |canvas| {
            headline::write(canvas, &self.title, &format!("as of {}", self.backtest.as_of))?;
            words::names_of_scales(canvas, &layout)?;
            for place in 0..self.panel_count() {
                self.panel(canvas, &layout.panel(place), place, &drawn_methods)?;
            }
            words::key(canvas, &layout, &drawn_methods)?;
            caption::write(canvas, (EDGE, layout.key + 4.0), &caption)
        })
    }

    fn panel_count(&self) -> usize {
        self.backtest.methods.iter().map(|method| method.levels.len()).max().unwrap_or_default()
    }

    /// The methods that told ranges, each with its mark.
    fn drawn_methods(&self) -> Vec<(Method, Mark)> {
        let tells = |score: &LevelScore| score.ranges.iter().any(|range| range.tally.of > 0);
        let methods = self.backtest.methods.iter();
        let telling = methods.filter(|method| method.levels.iter().any(tells)).map(|method| method.method);
        telling.enumerate().map(|(place, method)| (method, Mark::of(place))).collect()
    }

    /// One horizon: the scores of every method drawn.
    fn panel(
        &self,
        canvas: &mut Canvas<'_>,
        panel: &Panel,
        place: usize,
        methods: &[(Method, Mark)],
    ) -> Result<(), ChartError> {
        frame(canvas, panel)?;
        let scores: Vec<(Method, Mark, &LevelScore)> = methods
            .iter()
            .filter_map(|&(method, mark)| {
                let of_method = self.backtest.methods.iter().find(|score| score.method == method)?;
                Some((method, mark, of_method.levels.get(place)?))
            })
            .filter(|(_, _, score)| score.ranges.iter().any(|range| range.tally.of > 0))
            .collect();
        let horizon = self.backtest.methods.iter().find_map(|method| method.levels.get(place));
        let heading = horizon.map(|score| score.horizon.to_string()).unwrap_or_default();
        words::panel(canvas, panel, &heading, &scores)?;
        for (index, (_, mark, score)) in scores.iter().enumerate() {
            let beside = marks::beside(index, scores.len());
            score.ranges.iter().try_for_each(|range| held(canvas, panel, range, *mark, beside))?;
        }
        Ok(())
    }
}

/// The scales of a panel, its grid and the diagonal.
fn frame(canvas: &mut Canvas<'_>, panel: &Panel) -> Result<(), ChartError> {
    const CLAIMS: [f64; 3] = [0.5, 0.8, 0.9];
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    let number = lettering(theme::SMALL_SIZE, theme::INK);
    let (left, right) = (panel.left, panel.right);
    for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let y = panel.y.at(share);
        canvas.line((left, y), (right, y), stroke(theme::GRID, theme::HAIRLINE))?;
        canvas.text(&format!("{:.0}", share * 100.0), (left - 4.0, y + 2.7), number.aligned(Align::End))?;
    }
    for claim in CLAIMS {
        let x = panel.x.at(claim);
        canvas.line((x, panel.y.at(0.0)), (x, panel.y.at(0.0) + 3.0), edge)?;
        let at = (x, panel.y.at(0.0) + 12.0);
        canvas.text(&format!("{:.0} %", claim * 100.0), at, number.aligned(Align::Middle))?;
    }
    canvas.line((left, panel.y.at(0.0)), (right, panel.y.at(0.0)), edge)?;
    canvas.line((left, panel.y.at(0.0)), (left, panel.y.at(1.0)), edge)?;
    let (from, to) = panel.x.ends();
    let on_diagonal = |claim: f64| (panel.x.at(claim), panel.y.at(claim));
    canvas.line(on_diagonal(from), on_diagonal(to), dashed(theme::INK, theme::HAIRLINE, 3.0))
}

/// A share that held, with what luck alone can do.
fn held(
    canvas: &mut Canvas<'_>,
    panel: &Panel,
    range: &RangeScore,
    mark: Mark,
    beside: f64,
) -> Result<(), ChartError> {
    let Some(share) = range.tally.share() else { return Ok(()) };
    let luck = range.tally.interval();
    let x = panel.x.at(range.coverage.value()) + beside;
    let limits = [luck.lower, luck.upper].map(|limit| panel.y.at(limit));
    let bar = stroke(theme::FITTED, theme::LINE);
    canvas.line((x, limits[0]), (x, limits[1]), bar)?;
    limits.into_iter().try_for_each(|y| canvas.line((x - 2.0, y), (x + 2.0, y), bar))?;
    mark.draw(canvas, (x, panel.y.at(share)))
}

/// The scale of claims, with room for marks beside the outermost ones.
fn claims(left: f64, right: f64) -> Scale {
    Scale::new((0.4, 1.0), (left, right))
}

#[cfg(test)]
mod tests;

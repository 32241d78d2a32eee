//! One panel: what is kept of a pit to draw it small, and its drawing.

use super::layout::{AHEAD, Plot, Scales};
use super::today;
use crate::canvas::{Canvas, Point, dashed, stroke};
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::Coverage;
use soaklife::Forecast;
use soaklife::fleet::Candidate;
use soaklife::forecast::Basis;
use soaklife::history::{ReadingUse, Reason, Verdict};
use soaklife::quantity::as_inches;
use soaklife::reading::Observation;

/// Marks that a panel holds; of a longer record every so many-th is drawn.
const MOST_MARKS: usize = 40;
/// Years drawn back at most.
const BACK: f64 = 20.0;
/// Radius of a mark.
const MARK: f64 = 1.6;
/// Height of the ground that is drawn below a pit.
const GROUND: f64 = 4.0;
/// The course is drawn through so many years.
const STEPS: u32 = 20;

/// A pit as a small panel: what is drawn of its forecast and nothing else, so that a thousand can be kept.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::{Candidate, Urgency};
/// use soaklife::quantity::inches;
/// use soaklife::{Forecast, History, Pit, Question};
/// use soaklife_charts::PitPanel;
///
/// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let urgency = Urgency::of(&forecast);
/// let candidate = Candidate { id: "H-1".into(), title: String::new(), years_since_reading: None, urgency };
/// assert_eq!(PitPanel::new(candidate, &forecast).pit().id, "H-1");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct PitPanel {
    pit: Candidate,
    pub(super) effective_in: f64,
    pub(super) action_in: f64,
    marks: Vec<Mark>,
    /// Readings of which no mark is drawn: from before the first year drawn, or in a long record.
    pub(super) not_drawn: usize,
    course: Vec<Sample>,
}

/// A reading: years from today, freeboard in inches.
#[derive(Debug, Clone, Copy)]
struct Mark {
    years: f64,
    freeboard_in: f64,
    kind: Kind,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Counts,
    SetAside,
    Dry,
}

/// Freeboard at a time ahead, inches: the median, and the range that holds it with 80 %.
#[derive(Debug, Clone, Copy)]
struct Sample {
    years: f64,
    median: f64,
    least: f64,
    most: f64,
}

impl PitPanel {
    /// The panel of a pit and its forecast.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Candidate, Urgency};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # use soaklife_charts::{PitPanel, SmallMultiples};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// # let urgency = Urgency::to_inlet([0.1, 0.2, 0.3], [Some(9.2), Some(12.0), Some(14.6)]);
    /// # let candidate = Candidate { id: "H-1".into(), title: String::new(), years_since_reading: None, urgency };
    /// let pages = SmallMultiples::new(date(2026, 6, 30), [PitPanel::new(candidate, &forecast)]).pages()?;
    /// assert!(pages[0].as_str().contains("9–15 years"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(pit: Candidate, forecast: &Forecast) -> Self {
        let (marks, not_drawn) = marks(forecast);
        Self {
            pit,
            effective_in: as_inches(forecast.pit().effective_depth()),
            action_in: as_inches(forecast.question().action_freeboard()),
            marks,
            not_drawn,
            course: course(forecast),
        }
    }

    /// The pit.
    ///
    /// ```
    /// # use soaklife_charts::PitPanel;
    /// let ids = |panels: &[PitPanel]| panels.iter().map(|panel| panel.pit().id.clone()).collect::<Vec<_>>();
    /// assert!(ids(&[]).is_empty());
    /// ```
    #[must_use]
    pub fn pit(&self) -> &Candidate {
        &self.pit
    }

    /// The oldest reading drawn, years from today.
    pub(super) fn oldest(&self) -> Option<f64> {
        self.marks.iter().map(|mark| mark.years).min_by(f64::total_cmp)
    }

    pub(super) fn has_set_aside(&self) -> bool {
        self.marks.iter().any(|mark| mark.kind == Kind::SetAside)
    }

    pub(super) fn has_dry(&self) -> bool {
        self.marks.iter().any(|mark| mark.kind == Kind::Dry)
    }

    pub(super) fn draw(
        &self,
        canvas: &mut Canvas<'_>,
        plot: &Plot,
        scales: &Scales,
        as_of: Date,
    ) -> Result<(), ChartError> {
        if self.effective_in < scales.deepest_in {
            let bottom = plot.y.at(self.effective_in);
            let below = (bottom + GROUND).min(plot.bottom);
            canvas.rectangle((plot.left, bottom), (plot.right, below), theme::GROUND)?;
        }
        self.band(canvas, plot)?;
        for (years, _) in scales.year_ticks(as_of, plot) {
            let x = plot.x.at(years);
            canvas.line((x, plot.top), (x, plot.bottom), stroke(theme::GRID, theme::FINE))?;
        }
        today(canvas, plot)?;
        self.median(canvas, plot)?;
        if self.action_in > 0.0 && self.action_in < scales.deepest_in {
            let y = plot.y.at(self.action_in);
            canvas.line((plot.left, y), (plot.right, y), dashed(theme::INK, theme::HAIRLINE, 3.0))?;
        }
        let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
        canvas.line((plot.left, plot.top), (plot.left, plot.bottom), edge)?;
        canvas.line((plot.left, plot.bottom), (plot.right, plot.bottom), edge)?;
        canvas.line((plot.left, plot.top), (plot.right, plot.top), stroke(theme::INK, theme::HEAVY))?;
        // Those set aside lie below those that count.
        let last = |mark: &&Mark| mark.kind != Kind::SetAside;
        let (over, under): (Vec<&Mark>, Vec<&Mark>) = self.marks.iter().partition(last);
        under.into_iter().chain(over).try_for_each(|mark| mark.draw(canvas, plot))
    }

    /// The range, cut at the inlet and at the pit bottom.
    fn band(&self, canvas: &mut Canvas<'_>, plot: &Plot) -> Result<(), ChartError> {
        let at = |years, freeboard: f64| plot.at(years, freeboard.min(self.effective_in));
        let least = self.course.iter().map(|sample| at(sample.years, sample.least));
        let most = self.course.iter().rev().map(|sample| at(sample.years, sample.most));
        let outline: Vec<Point> = least.chain(most).collect();
        if outline.len() > 2 { canvas.polygon(&outline, theme::BANDS[1]) } else { Ok(()) }
    }

    /// The median until it meets the inlet.
    fn median(&self, canvas: &mut Canvas<'_>, plot: &Plot) -> Result<(), ChartError> {
        let below = self.course.iter().take_while(|sample| sample.median > 0.0);
        let mut path: Vec<Point> = below.map(|s| plot.at(s.years, s.median.min(self.effective_in))).collect();
        let meets = path.len().checked_sub(1).and_then(|last| self.course.get(last..=last + 1));
        if let Some([before, after]) = meets {
            let share = before.median / (before.median - after.median);
            path.push(plot.at(before.years + share * (after.years - before.years), 0.0));
        }
        if path.len() > 1 { canvas.path(&path, stroke(theme::FITTED, theme::LINE)) } else { Ok(()) }
    }
}

impl Mark {
    fn of(forecast: &Forecast, taken: &ReadingUse) -> Self {
        let reading = &taken.reading;
        let is_bound = matches!(taken.verdict, Verdict::SetAside(Reason::Dry | Reason::AtInlet));
        let kind = match (reading.observation(), taken.verdict) {
            (_, Verdict::SetAside(_)) if !is_bound => Kind::SetAside,
            (Observation::Dry, _) => Kind::Dry,
            _ => Kind::Counts,
        };
        let pit = forecast.pit();
        let freeboard_in = as_inches(pit.freeboard(reading.level(pit)));
        Self { years: forecast.years_of(reading), freeboard_in, kind }
    }

    fn draw(self, canvas: &mut Canvas<'_>, plot: &Plot) -> Result<(), ChartError> {
        let (x, y) = plot.at(self.years, self.freeboard_in);
        match self.kind {
            Kind::Counts => canvas.dot((x, y), MARK, theme::INK),
            Kind::SetAside => canvas.circle((x, y), MARK, theme::PAPER, stroke(theme::INK, theme::HAIRLINE)),
            Kind::Dry => {
                let (half, tip) = (MARK + 0.3, y - 0.3);
                let corners = [(x - half, tip - 2.0 * half), (x + half, tip - 2.0 * half), (x, tip)];
                canvas.polygon(&corners, theme::INK)
            }
        }
    }
}

/// The marks of the years that are drawn, thinned where they are many, and how many readings have none.
fn marks(forecast: &Forecast) -> (Vec<Mark>, usize) {
    let readings = forecast.readings();
    let all = readings.iter().map(|taken| Mark::of(forecast, taken));
    let mut marks: Vec<Mark> = all.filter(|mark| (-BACK..=AHEAD).contains(&mark.years)).collect();
    let every = marks.len().div_ceil(MOST_MARKS).max(1);
    let latest = marks.len().saturating_sub(1) % every;
    let mut place = 0;
    marks.retain(|_| {
        place += 1;
        (place - 1) % every == latest
    });
    let not_drawn = readings.len() - marks.len();
    (marks, not_drawn)
}

/// The course from today on; a pit that stands at its inlet has none.
fn course(forecast: &Forecast) -> Vec<Sample> {
    if forecast.basis() == Basis::AtInlet {
        return Vec::new();
    }
    let pit = forecast.pit();
    let ahead = AHEAD.min(forecast.question().horizon_years());
    let years = (0..=STEPS).map(|step| ahead * f64::from(step) / f64::from(STEPS));
    let sample = |years: f64| {
        let band = forecast.level_band(years, Coverage::EIGHTY)?;
        let freeboard = |level| as_inches(pit.freeboard(level));
        let median = freeboard(forecast.level(years));
        Some(Sample { years, median, least: freeboard(band.upper), most: freeboard(band.lower) })
    };
    years.filter_map(sample).collect()
}

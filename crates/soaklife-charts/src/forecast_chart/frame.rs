//! Where everything lies: the plot, its scales, and the room that words take around it.

use super::events::{Placed, place_labels};
use super::what_if;
use super::words::Words;
use super::{Outlook, Subject};
use crate::scale::{AxisUnit, Scale, axis_unit};
use soaklife::Coverage;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::quantity::{Units, as_inches};
use soaklife::trend::CrossingSet;

const SIDE: f64 = 40.0;
const TITLE_ROOM: f64 = 32.0;
/// Room above the plot where there is no title: the names of the axes.
const BARE_ROOM: f64 = 14.0;
const PLOT_HEIGHT: f64 = 208.0;
const YEARS_ROOM: f64 = 15.0;
pub(super) const ROW: f64 = 10.5;
/// Room that a name in the plot takes, with the space around it.
const NAME_ROOM: f64 = 60.0;
/// Fewest and most years drawn ahead.
const AHEAD: (f64, f64) = (5.0, 60.0);

/// Fewest years drawn of a range that stays open.
const OPEN: f64 = 20.0;

/// The layout of one chart, in points.
#[derive(Debug)]
pub(super) struct Frame {
    pub(super) size: (f64, f64),
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    /// Years from the day of the forecast → points.
    pub(super) x: Scale,
    /// Height above the pit bottom, inches → points.
    pub(super) y: Scale,
    pub(super) inlet_in: f64,
    pub(super) threshold_in: f64,
    pub(super) unit: AxisUnit,
    pub(super) labels: Vec<Placed>,
    pub(super) key_top: f64,
}

impl Frame {
    pub(super) fn lay_out(subject: &Subject<'_>, words: &Words, units: Units, coverage: Coverage) -> Self {
        let (left, right) = (SIDE, words.width() - SIDE);
        let years = years_drawn(subject, coverage);
        let x = Scale::new(years, (left, right));
        let labels = place_labels(&subject.happenings, &x);
        let rows = labels.iter().map(|label| label.row + 1).max().unwrap_or(0);
        let above = if words.is_bare() { BARE_ROOM } else { TITLE_ROOM };
        let top = above + rows.saturating_sub(1) as f64 * ROW;
        let bottom = top + PLOT_HEIGHT;
        let key_top = bottom + YEARS_ROOM;
        let height = key_top + words.room() + 4.0;
        let inlet_in = as_inches(subject.pit.effective_depth());
        let highest = subject
            .readings
            .iter()
            .map(|taken| as_inches(taken.reading.level(&subject.pit)))
            .fold(inlet_in, f64::max);
        // Room above the inlet for its name and for the bar of the crossing.
        let for_words = if subject.second_fan().is_some() { what_if::ROOM_ABOVE } else { 0.15 };
        let above = (inlet_in * for_words).max(highest - inlet_in + inlet_in * 0.05);
        let y = Scale::new((-0.07 * inlet_in, inlet_in + above), (bottom, top));
        Self {
            size: (words.width(), height.ceil()),
            left,
            right,
            top,
            bottom,
            x,
            y,
            inlet_in,
            threshold_in: inlet_in - as_inches(subject.action_freeboard),
            unit: axis_unit(units, inlet_in),
            labels,
            key_top,
        }
    }

    /// Whether the line of today would cut a name at the left of the plot.
    pub(super) fn today_is_at_the_left(&self) -> bool {
        self.x.at(0.0) - self.left < NAME_ROOM
    }

    /// Where the name of the inlet has ended.
    pub(super) fn inlet_name_end(&self) -> f64 {
        self.left + NAME_ROOM
    }

    /// The place of a level at a time, kept between pit bottom and inlet.
    pub(super) fn within_pit(&self, years: f64, level_in: f64) -> (f64, f64) {
        (self.x.at(years), self.y.at(level_in.clamp(0.0, self.inlet_in)))
    }
}

/// First and last year drawn: every reading, and as far ahead as the answer lies.
fn years_drawn(subject: &Subject<'_>, coverage: Coverage) -> (f64, f64) {
    let of_readings = subject.readings.iter().map(|taken| subject.years_of(taken.reading.date().middle()));
    let (first, last) =
        of_readings.fold((0.0f64, 0.0f64), |(first, last), years| (first.min(years), last.max(years)));
    let past = -first;
    let ahead = match subject.outlook {
        Outlook::Forecast(forecast) => {
            let other =
                subject.second_fan().map(|beside| years_ahead(beside.other.forecast(), coverage, past));
            years_ahead(forecast, coverage, past).max(other.unwrap_or(0.0))
        }
        Outlook::None { .. } => AHEAD.0,
    };
    let ahead = ahead.max(last);
    let margin = (past + ahead) * 0.03;
    (first - margin.max(0.5), ahead + margin)
}

fn years_ahead(forecast: &Forecast, coverage: Coverage, past: f64) -> f64 {
    let horizon = forecast.question().horizon_years();
    let usual = (past * 1.5).clamp(AHEAD.0, 40.0);
    let wanted = match (forecast.crossing(coverage), forecast.crossing_set(coverage)) {
        (Crossing::AlreadyAtInlet { .. }, _) => AHEAD.0,
        (_, CrossingSet::Between { latest, .. }) if latest <= 40.0 => latest * 1.12,
        (Crossing::Expected { years, .. }, _) if years <= 40.0 => (years * 1.3).max(usual),
        (_, CrossingSet::NotBefore { earliest }) if earliest <= 30.0 => (earliest * 1.6).max(usual).max(OPEN),
        _ => usual,
    };
    wanted.clamp(AHEAD.0, AHEAD.1).min(horizon.max(1.0))
}

//! Where the panels lie: levels above, what was added below, the tank last, on one scale of hours.

use super::course::Course;
use crate::scale::{AxisUnit, Scale, axis_unit, decimal_step};
use crate::theme;
pub(super) use crate::theme::EDGE;
use soaklife::quantity::Units;

const NUMBERS: f64 = 40.0;
const RIGHT: f64 = 10.0;
/// Title and the name of the first scale.
const ABOVE: f64 = 34.0;
const LEVEL_HEIGHT: f64 = 150.0;
const LOWER_HEIGHT: f64 = 46.0;
/// The name of the next scale.
const BETWEEN: f64 = 20.0;
/// Numbers and the name of the hours.
const HOURS_ROOM: f64 = 26.0;

/// Levels closer together than this are drawn on a scale of so many inches, that half an inch looks like little.
const LEAST_SPAN_IN: f64 = 8.0;
/// Share of the height that the levels keep when inlet or bottom are drawn to the same scale.
const SHARE_OF_LEVELS: f64 = 0.3;
/// Space above and below the levels as a share of their span.
const SPACE: f64 = 0.12;

/// One panel of numbers over the hours.
#[derive(Debug)]
pub(super) struct Panel {
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) y: Scale,
    pub(super) step: f64,
}

/// The layout of one chart, in points.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) size: (f64, f64),
    pub(super) left: f64,
    pub(super) right: f64,
    /// Hours since the first look → points.
    pub(super) x: Scale,
    pub(super) top: f64,
    pub(super) bottom: f64,
    /// Inches below the rim → points.
    pub(super) y: Scale,
    pub(super) unit: AxisUnit,
    pub(super) units: Units,
    pub(super) added: Option<Panel>,
    pub(super) tank: Option<Panel>,
    /// The end of the lowest panel.
    pub(super) lowest: f64,
    pub(super) caption: f64,
}

impl Layout {
    pub(super) fn of(course: &Course, words_room: f64, units: Units) -> Self {
        let (left, right) = (NUMBERS, theme::WIDTH - RIGHT);
        let (shallow, deep) = span(course);
        let (top, bottom) = (ABOVE, ABOVE + LEVEL_HEIGHT);
        let per_unit = axis_unit(units, 0.0).inches;
        let most_added = course.seen.iter().filter_map(|seen| seen.added).fold(0.0, f64::max);
        let tank = || course.seen.iter().filter_map(|seen| seen.tank_in).map(|inches| inches / per_unit);
        let mut lowest = bottom;
        let mut below = |low: f64, high: f64| {
            let (top, bottom) = (lowest + BETWEEN, lowest + BETWEEN + LOWER_HEIGHT);
            lowest = bottom;
            let step = decimal_step(high - low, 3.0);
            let ends = ((low / step).floor() * step, (high / step).ceil() * step);
            Panel { top, bottom, y: Scale::new(ends, (bottom, top)), step }
        };
        let added = (most_added > 0.0).then(|| below(0.0, most_added));
        let watched = tank().next().is_some();
        let tank = watched.then(|| below(tank().fold(0.0, f64::min), tank().fold(2.0, f64::max)));
        let caption = lowest + HOURS_ROOM;
        Self {
            size: (theme::WIDTH, (caption + words_room + 6.0).ceil()),
            left,
            right,
            x: Scale::new((0.0, course.end().max(0.5) * 1.015), (left, right)),
            top,
            bottom,
            y: Scale::new((shallow, deep), (top, bottom)),
            unit: axis_unit(units, deep - shallow),
            units,
            added,
            tank,
            lowest,
            caption,
        }
    }

    /// Points of a depth, kept in the panel.
    pub(super) fn depth(&self, depth_in: f64) -> f64 {
        self.y.at(depth_in).clamp(self.top, self.bottom)
    }

    /// Whether a depth lies in the panel.
    pub(super) fn shows(&self, depth_in: f64) -> bool {
        let (shallow, deep) = self.y.ends();
        (shallow..=deep).contains(&depth_in)
    }
}

/// The depths drawn: every level with space about it, and inlet and bottom if they leave room enough for the levels.
fn span(course: &Course) -> (f64, f64) {
    let levels = course.levels().map(|(_, depth)| depth).chain(course.start_in);
    let (shallow, deep) = levels.fold((f64::INFINITY, f64::NEG_INFINITY), |(shallow, deep), depth| {
        (shallow.min(depth), deep.max(depth))
    });
    let (shallow, deep) = if shallow <= deep { (shallow, deep) } else { (course.inlet_in, course.bottom_in) };
    let lacking = (LEAST_SPAN_IN - (deep - shallow)).max(0.0) / 2.0;
    let levels = (shallow - lacking, deep + lacking);
    let size = levels.1 - levels.0;
    let fits = |(shallow, deep): (f64, f64)| size / (deep - shallow) >= SHARE_OF_LEVELS;
    let mut drawn = levels;
    for wider in [(course.inlet_in.min(drawn.0), drawn.1), (drawn.0, course.bottom_in.max(drawn.1))] {
        let both = (drawn.0.min(wider.0), drawn.1.max(wider.1));
        drawn = if fits(both) { both } else { drawn };
    }
    let space = (drawn.1 - drawn.0) * SPACE;
    (drawn.0 - space, drawn.1 + space)
}

//! Where everything lies: one scale for width and depth, the ruler at the left, the names at the right.

use super::Subject;
use super::labels::Label;
use super::words::Words;
use crate::caption::LINE_HEIGHT;
use crate::scale::{AxisUnit, Scale, axis_unit};
pub(super) use crate::theme::EDGE;
use soaklife::pit::CrossSection;
use soaklife::quantity::{Length, Units, as_inches, feet};

/// Room for the numbers of the ruler.
const RULER: f64 = 34.0;
/// Ground shown beside and below the pit.
pub(super) const GROUND: f64 = 10.0;
/// The same beside the pit where there is no ruler.
const LESS_GROUND: f64 = 6.0;
/// Room for the names, and for the arrow and the bracket before them.
const NAMES: f64 = 58.0;
const MARGIN: f64 = 29.0;
/// The tallest pit drawn.
const TALLEST: f64 = 212.0;
/// Room of the name of the ruler.
const RULER_NAME: f64 = 15.0;
/// Room above the rim where there is no ruler: half the height of the word beside it.
const BARE_ROOM: f64 = 6.0;
/// Room of the width below the pit.
const BELOW: f64 = 20.0;

/// Outside diameter of a usual inlet pipe: 4 in (common practice, no source).
const PIPE_IN: f64 = 4.0;
/// Space that is usual between pipe and cover, and the width of a usual riser (common practice, no source).
const ABOVE_PIPE_IN: f64 = 10.0;
const RISER_IN: f64 = 24.0;
/// Diameter drawn where it is not known (common practice, no source).
const USUAL_DIAMETER_FT: f64 = 6.0;

/// The layout of one section, in points.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) size: (f64, f64),
    /// Depth below the rim, inches → points.
    pub(super) y: Scale,
    /// Inside faces of the wall.
    pub(super) wall: (f64, f64),
    /// Left and right end of the ground shown.
    pub(super) ground: (f64, f64),
    pub(super) riser: (f64, f64),
    /// Undersides of the cover and top of the pipe, inches below the rim.
    pub(super) cover_in: f64,
    pub(super) pipe_in: f64,
    pub(super) inlet_in: f64,
    pub(super) bottom_in: f64,
    pub(super) unit: AxisUnit,
    /// Where the ruler stands.
    pub(super) ruler: f64,
    /// Where the freeboard and the range of today are drawn, and where the names begin.
    pub(super) arrow: f64,
    pub(super) bracket: f64,
    pub(super) names: f64,
    /// Where names may stand, top and bottom.
    pub(super) names_within: (f64, f64),
    /// Baseline of the width below the pit.
    pub(super) width: f64,
    /// Where the caption begins.
    pub(super) caption: f64,
}

impl Layout {
    pub(super) fn of(subject: &Subject, words: &Words, labels: &[Label], units: Units) -> Self {
        let (inlet_in, bottom_in) =
            (as_inches(subject.pit.inlet_depth()), as_inches(subject.pit.bottom_depth()));
        let across_in = as_inches(across(subject).0);
        let (ruler, ground_beside, above) = match words.is_bare() {
            true => (EDGE, LESS_GROUND, BARE_ROOM),
            false => (RULER, GROUND, words.title_room() + RULER_NAME),
        };
        let names = words.width() - EDGE - NAMES;
        let room = names - MARGIN - ruler - 2.0 * ground_beside;
        let per_inch = (TALLEST / bottom_in).min(room / across_in);
        let middle = ruler + ground_beside + room / 2.0;
        let half = across_in * per_inch / 2.0;
        let wall = (middle - half, middle + half);
        let ground = (wall.0 - ground_beside, wall.1 + ground_beside);
        let top = above;
        let bottom = top + bottom_in * per_inch;
        let names_bottom = bottom.max(top + labels.iter().map(Label::height).sum::<f64>() - LINE_HEIGHT);
        // A long text below a narrow section reaches below the names.
        let below_names = if words.reaches(names) { names_bottom + LINE_HEIGHT + 2.0 } else { 0.0 };
        let width = (bottom + GROUND + 12.0).max(below_names);
        let caption = (width + BELOW - 12.0).max(names_bottom + LINE_HEIGHT);
        let riser = (RISER_IN.min(0.6 * across_in) * per_inch) / 2.0;
        let pipe_in = (inlet_in - PIPE_IN).max(0.0);
        Self {
            size: (words.width(), (caption + words.caption_room() + 6.0).ceil()),
            y: Scale::new((0.0, bottom_in), (top, bottom)),
            wall,
            ground,
            riser: (middle - riser, middle + riser),
            cover_in: (pipe_in - ABOVE_PIPE_IN).max(0.0),
            pipe_in,
            inlet_in,
            bottom_in,
            unit: axis_unit(units, bottom_in),
            ruler: ground.0 - 4.0,
            arrow: ground.1 + 8.0,
            bracket: ground.1 + 18.0,
            names,
            names_within: (top - 5.0, names_bottom + 4.0),
            width,
            caption,
        }
    }

    /// Points of a level, kept between cover and bottom.
    pub(super) fn level(&self, above_bottom_in: f64) -> f64 {
        self.y.at((self.bottom_in - above_bottom_in).clamp(self.cover_in, self.bottom_in))
    }
}

/// Width of the section, and whether it is the pit's own.
pub(super) fn across(subject: &Subject) -> (Length, bool) {
    match subject.pit.cross_section() {
        Some(CrossSection::Round { diameter }) => (diameter, true),
        Some(CrossSection::Rectangular { length, .. }) => (length, true),
        // A shape that this figure does not know yet is as good as none.
        _ => (feet(USUAL_DIAMETER_FT), false),
    }
}

//! The words of the panels: titles, answers in short, caption, and the description for those who cannot see them.

use super::SmallMultiples;
use super::layout::{EDGE, HEADING, Plot, Scales};
use super::panel::PitPanel;
use crate::canvas::{Canvas, Lettering, lettering};
use crate::caption;
use crate::headline;
use crate::rung;
use crate::svg::ChartError;
use crate::theme;
use soaklife::fleet::{Candidate, Reached};
use soaklife::wording::counted;
use soaklife::wording::sentence::goal_of_many;

const CAUTION: &str = "Estimates from readings, no warranty and no rating: local code and licensed practitioners decide. Never enter a pit.";

/// The title of the document.
pub(super) fn document_title(chart: &SmallMultiples, from: usize, shown: usize) -> String {
    let title = headline::of_pits(&chart.title);
    let pits = headline::pits_shown(from, shown, chart.panels.len());
    format!("{title}: readings and forecasts, {pits}, as of {}", chart.as_of)
}

pub(super) fn title(
    canvas: &mut Canvas<'_>,
    chart: &SmallMultiples,
    from: usize,
    shown: usize,
) -> Result<(), ChartError> {
    let pits = headline::pits_shown(from, shown, chart.panels.len());
    headline::write(canvas, &chart.title, &format!("{pits} · as of {}", chart.as_of))
}

pub(super) fn names_of_scales(canvas: &mut Canvas<'_>, scales: &Scales) -> Result<(), ChartError> {
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    let told = format!("down: freeboard, {} · across: calendar years", scales.unit.name);
    canvas.text(&told, (EDGE, 24.5), quiet)
}

/// The pit, and below it the answer in short.
pub(super) fn heading(canvas: &mut Canvas<'_>, pit: &Candidate, plot: &Plot) -> Result<(), ChartError> {
    let middle_of_name = plot.top - HEADING + 5.3;
    rung::name(canvas, pit, plot.left, plot.right - plot.left, middle_of_name)?;
    let style = lettering(theme::SMALL_SIZE, theme::INK).bold();
    canvas.text(&answer(pit), (plot.left, plot.top - 3.5), style)
}

/// When it reaches its goal, as a list has it.
pub(super) fn answer(pit: &Candidate) -> String {
    match pit.urgency.reached {
        Reached::NotYet => pit.urgency.range_in_list().replace(" to ", "–"),
        there => there.in_words().to_owned(),
    }
}

/// What the levels of these pits may reach.
fn goal(panels: &[PitPanel]) -> &'static str {
    goal_of_many(panels.iter().any(|panel| panel.pit().urgency.acts_early))
}

/// The lines below: what is drawn, what is not, and the caution.
pub(super) fn caption(
    chart: &SmallMultiples,
    scales: &Scales,
    panels: &[PitPanel],
) -> Vec<(String, Lettering)> {
    let small = |colour| lettering(theme::SMALL_SIZE, colour);
    let texts = if chart.panels.is_empty() {
        vec![("No pit has a forecast.".to_owned(), lettering(theme::TEXT_SIZE, theme::INK).bold())]
    } else {
        vec![(key(scales, panels), small(theme::INK))]
    };
    let texts = texts.into_iter().chain([(CAUTION.to_owned(), small(theme::QUIET_INK))]);
    caption::broken(texts, theme::WIDTH - 2.0 * EDGE)
}

fn key(scales: &Scales, panels: &[PitPanel]) -> String {
    let any = |is: fn(&PitPanel) -> bool| panels.iter().any(is);
    let answers = format!(
        "In bold: 80 % range of the years to the {}; without a late end, the chance of being there before its early end.",
        goal(panels)
    );
    let mut told = vec![&answers, " Heavy line on top: inlet; upright: today; dot: reading"];
    if any(PitPanel::has_set_aside) {
        told.push("; ring: reading set aside");
    }
    if any(PitPanel::has_dry) {
        told.push("; triangle: found dry");
    }
    told.push("; curve: median of the level, band: its 80 % range");
    if any(|panel| panel.action_in > 0.0) {
        told.push("; dashed: action freeboard, to which the years count");
    }
    told.push("; strip: pit bottom.");
    if scales.is_cut {
        told.push(" Of the deepest pits only the upper part is shown; what lies lower stands at its edge.");
    }
    let not_drawn: usize = panels.iter().map(|panel| panel.not_drawn).sum();
    let mut told = told.concat();
    if not_drawn > 0 {
        told.push_str(&format!(
            " {} not drawn: too old or too many for a panel.",
            counted(not_drawn, "reading")
        ));
    }
    told
}

/// Every pit of the page, for those who cannot see the panels.
pub(super) fn description(chart: &SmallMultiples, panels: &[PitPanel]) -> String {
    if chart.panels.is_empty() {
        return format!("No pit has a forecast. {CAUTION}");
    }
    let pit = |panel: &PitPanel| format!("{}: {}.", panel.pit().id, answer(panel.pit()));
    let listed: Vec<String> = panels.iter().map(pit).collect();
    let goal = goal(panels);
    format!(
        "A small panel for each pit. Years to the {goal}, 80 % range, or 1 in 10: {} {CAUTION}",
        listed.join(" ")
    )
}

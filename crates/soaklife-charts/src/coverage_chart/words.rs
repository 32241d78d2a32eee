//! The words of the coverage chart: title, headings, key, caption, and its description for those who cannot see it.

use super::layout::{Layout, Panel};
use super::marks::Mark;
use crate::canvas::{Align, Canvas, Lettering, dashed, lettering, stroke};
use crate::caption;
use crate::font;
use crate::svg::ChartError;
use crate::theme::{self, EDGE};
use soaklife::backtest::{Backtest, LevelScore, MethodScore, RangeScore};
use soaklife::forecast::Method;
use soaklife::wording::counted;
use soaklife::wording::coverage::{held, verdict};

const CAUTION: &str = "Replays of one pit share most of their readings: luck reaches farther than the bars. No warranty for what comes.";

pub(super) fn names_of_scales(canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
    let small = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    canvas.text("share of later readings that the range held, %", (EDGE, layout.shares_name), small)?;
    let claims = "how often the range should hold";
    let centre = layout.size.0 / 2.0;
    canvas.text(claims, (centre, layout.claims_name), small.aligned(Align::Middle))
}

/// The heading of a panel, and how many readings its marks rest on.
pub(super) fn panel(
    canvas: &mut Canvas<'_>,
    panel: &Panel,
    heading: &str,
    scores: &[(Method, Mark, &LevelScore)],
) -> Result<(), ChartError> {
    let name = lettering(theme::TEXT_SIZE, theme::INK).bold();
    canvas.text(heading, (panel.left, panel.heading), name)?;
    let small = lettering(theme::SMALL_SIZE, theme::QUIET_INK).aligned(Align::End);
    let room = panel.right - panel.left - name.width(heading) - 8.0;
    let told = rests_on(scores);
    let fits = |words: &&String| small.width(words) <= room;
    let shortest = told.last().map(|words| font::fitted(words, room, small.size, small.weight));
    let words = told.iter().find(fits).cloned().or(shortest).unwrap_or_default();
    canvas.text(&words, (panel.right, panel.heading), small)
}

/// How many readings the marks of a panel rest on: the fullest way to say it first, the shortest last.
fn rests_on(scores: &[(Method, Mark, &LevelScore)]) -> Vec<String> {
    let counts: Vec<usize> = scores.iter().map(|(_, _, score)| most(score)).collect();
    match counts[..] {
        [] => vec!["no later reading to judge by".to_owned()],
        [first, ref others @ ..] if others.iter().all(|count| *count == first) => {
            vec![counted(first, "reading")]
        }
        _ => {
            let named = scores.iter().map(|(method, _, score)| format!("{} {}", method.name(), most(score)));
            let named = named.collect::<Vec<_>>().join(", ");
            // In the order of the key.
            let bare = counts.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
            vec![format!("readings: {named}"), named, format!("readings: {bare}")]
        }
    }
}

fn most(score: &LevelScore) -> usize {
    score.ranges.iter().map(|range| range.tally.of).max().unwrap_or_default()
}

/// The mark of every method, the bar and the diagonal, in one row.
pub(super) fn key(
    canvas: &mut Canvas<'_>,
    layout: &Layout,
    methods: &[(Method, Mark)],
) -> Result<(), ChartError> {
    let name = lettering(theme::SMALL_SIZE, theme::INK);
    let (mut x, baseline) = (EDGE, layout.key);
    for (method, mark) in methods {
        mark.draw(canvas, (x + 4.0, baseline - 2.7))?;
        canvas.text(method.name(), (x + 11.0, baseline), name)?;
        x += 11.0 + name.width(method.name()) + 14.0;
    }
    canvas.line((x + 4.0, baseline - 6.0), (x + 4.0, baseline + 1.0), stroke(theme::FITTED, theme::LINE))?;
    let luck = "what luck alone can do (95 %)";
    canvas.text(luck, (x + 11.0, baseline), name)?;
    x += 11.0 + name.width(luck) + 14.0;
    canvas.line((x, baseline - 2.7), (x + 18.0, baseline - 2.7), dashed(theme::INK, theme::HAIRLINE, 3.0))?;
    canvas.text("held as claimed", (x + 22.0, baseline), name)
}

/// The lines below the key: the 80 % ranges of the next reading of every method, and the caution.
pub(super) fn caption(backtest: &Backtest) -> Vec<(String, Lettering)> {
    let strong = lettering(theme::TEXT_SIZE, theme::INK).bold();
    let small = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    let answers = backtest.methods.iter().filter_map(answer).map(|answer| (answer, strong));
    let mut texts: Vec<(String, Lettering)> = answers.collect();
    if texts.is_empty() {
        texts.push(("No range can be judged by a later reading yet.".to_owned(), strong));
    }
    texts.push((CAUTION.to_owned(), small));
    caption::broken(texts, theme::WIDTH - 8.0)
}

fn answer(score: &MethodScore) -> Option<String> {
    let range = eighty(score.levels.first()?)?;
    Some(format!("{}, next reading: {}, {}.", score.method.name(), held(range), verdict(range)))
}

/// The 80 % range, if it could be judged.
fn eighty(score: &LevelScore) -> Option<&RangeScore> {
    score.ranges.iter().find(|range| range.coverage == soaklife::Coverage::EIGHTY && range.tally.of > 0)
}

/// Every share, for those who cannot see the marks.
pub(super) fn description(backtest: &Backtest) -> String {
    let told = |method: &MethodScore| {
        let of_horizon = |score: &LevelScore| {
            let range = eighty(score)?;
            Some(format!("{}, {}: {}.", method.method.name(), score.horizon, held(range)))
        };
        method.levels.iter().filter_map(of_horizon).collect::<Vec<_>>()
    };
    let mut told: Vec<String> = backtest.methods.iter().flat_map(told).collect();
    if told.is_empty() {
        told.push("No range can be judged by a later reading yet.".to_owned());
    }
    told.push(CAUTION.to_owned());
    told.join(" ")
}

//! The replays in words: a table a method, and what it means for whoever relies on a forecast.

use crate::output::wrapped;
use soaklife::backtest::{Backtest, CrossingScore, LevelScore, MethodScore, RangeScore};
use soaklife::forecast::Method;
use soaklife::quantity::{Length, Units};
use soaklife::wording::counted;
use soaklife::wording::coverage::{held, percent, verdict};
use std::fmt::Write as _;

const WIDTH: usize = 100;

const LEGEND: &str = "asked: later readings to be predicted; told: how many the method predicted. median: how far it was \
                      off on average; no change: how far off if the last level had stayed. ranges held: the share of \
                      readings within. score: how far off with the ranges weighed in (the continuous ranked \
                      probability score; less is better). better than: how much of the other's score is saved; below 0 \
                      % is worse.";

const CAUTION: &str = "Replays of one pit share most of their readings, and pits that failed and were replaced are missing: \
                       luck reaches farther than these limits. What held so far is no warranty for what comes.";

pub(super) fn text(backtest: &Backtest, units: Units) -> String {
    let mut told = format!("How earlier forecasts would have done, as of {}\n\n", backtest.as_of);
    paragraph(&mut told, &replayed(backtest));
    if backtest.replays == 0 {
        return told;
    }
    for method in &backtest.methods {
        heading(&mut told, method, units);
        method.levels.iter().for_each(|score| row(&mut told, method.method, score, units));
        told.push('\n');
        paragraph(&mut told, &meaning(method, units));
    }
    paragraph(&mut told, LEGEND);
    paragraph(&mut told, CAUTION);
    told.truncate(told.trim_end().len());
    told.push('\n');
    told
}

fn paragraph(told: &mut String, text: &str) {
    let _ = writeln!(told, "{}\n", wrapped(text, WIDTH, 0));
}

fn replayed(backtest: &Backtest) -> String {
    let Some((first, last)) = backtest.span else {
        return "Nothing can be replayed yet: a pit needs a few readings that a forecast can be made from, and a later \
                one to compare it with."
            .to_owned();
    };
    let mut text = format!(
        "{} on {}, {first} to {last}: a forecast for each day on which a pit was read, made from what was known then, \
         against what later readings showed.",
        counted(backtest.replays, "replay"),
        counted(backtest.pits, "pit"),
    );
    if backtest.left_out > 0 {
        let days = counted(backtest.left_out, "day");
        let _ = write!(text, " Left out: {days} on which the rim or the pit was another.");
    }
    text
}

fn heading(told: &mut String, method: &MethodScore, units: Units) {
    let unit = units.name();
    let _ = writeln!(told, "By {} (--method {})", method.method, method.method.name());
    let groups = format!(
        "  {:<18}{:>6}{:>6}  {:>17}  {:>21}{:>9}{:>17}",
        "",
        "",
        "",
        format!("off by, {unit}"),
        "ranges held",
        "score,",
        "better than"
    );
    let _ = writeln!(told, "{}", groups.trim_end());
    let _ = writeln!(
        told,
        "  {:<18}{:>6}{:>6}  {:>7}{:>10}  {:>7}{:>7}{:>7}{:>9}{:>6}{:>11}",
        "later reading",
        "asked",
        "told",
        "median",
        "no change",
        "50 %",
        "80 %",
        "90 %",
        unit,
        "line",
        "no change"
    );
}

fn row(told: &mut String, method: Method, score: &LevelScore, units: Units) {
    let number = |length: Option<Length>| {
        length.map_or("-".to_owned(), |length| format!("{:.1}", units.count(length)))
    };
    let share = |range: &RangeScore| range.tally.share().map_or("-".to_owned(), percent);
    let saved = |skill: Option<f64>| skill.map_or("-".to_owned(), percent);
    let over_line = score.skill_over_line.filter(|_| method != Method::Line);
    let [half, eighty, ninety] = &score.ranges;
    let line = format!(
        "  {:<18}{:>6}{:>6}  {:>7}{:>10}  {:>7}{:>7}{:>7}{:>9}{:>6}{:>11}",
        score.horizon.to_string(),
        score.cases,
        score.answered,
        number(score.error),
        number(score.no_change_error),
        share(half),
        share(eighty),
        share(ninety),
        number(score.crps),
        saved(over_line),
        saved(score.skill_over_no_change),
    );
    let _ = writeln!(told, "{}", line.trim_end());
}

/// What the numbers of a method mean.
fn meaning(method: &MethodScore, units: Units) -> String {
    let mut sentences = Vec::new();
    if let (Some(next), Some(far)) = (method.levels.first(), method.levels.last()) {
        sentences.extend(ranges(next, "Next reading"));
        sentences.extend(off(next, units));
        if far.ranges.iter().any(|range| range.tally.of > 0) {
            sentences.extend(ranges(far, "Five years on"));
        }
    }
    sentences.push(inlet(&method.crossing));
    sentences.join(" ")
}

fn ranges(score: &LevelScore, when: &str) -> Option<String> {
    let [_, eighty, _] = &score.ranges;
    if score.answered == 0 {
        return Some(format!("{when}: this method could not predict any."));
    }
    if eighty.tally.of == 0 {
        return Some(format!(
            "{when}: this method tells no range of a reading, so its median alone is scored."
        ));
    }
    Some(format!("{when}: {}, {}.", held(eighty), verdict(eighty)))
}

fn off(score: &LevelScore, units: Units) -> Option<String> {
    let count = |length: Length| format!("{:.1} {}", units.count(length), units.name());
    let (error, stays) = (count(score.error?), count(score.no_change_error?));
    Some(format!("The median was off by {error} on average; taking the last level for the next, by {stays}."))
}

/// The inlet: reached or not, too soon or not.
fn inlet(score: &CrossingScore) -> String {
    if score.answered == 0 {
        return "The inlet: no forecast could tell when.".to_owned();
    }
    let [_, ten] = score.early;
    let mut text = format!(
        "The inlet: after {} of {} a later reading stood there, where the chances told led to expect {:.1}; {} came before \
         the day by which the chance was to be {}.",
        score.reached,
        counted(score.answered, "forecast"),
        score.expected,
        ten.missed,
        percent(ten.probability),
    );
    let [_, eighty, _] = &score.ranges;
    match eighty.tally.of {
        0 => text.push_str(" No 80 % range of years can be judged yet."),
        of => {
            let held = eighty.tally.held;
            let few = if eighty.can_tell() { "" } else { ": too few to tell" };
            let _ =
                write!(text, " Of the 80 % ranges of years that can be judged, {held} of {of} held{few}.");
        }
    }
    text
}

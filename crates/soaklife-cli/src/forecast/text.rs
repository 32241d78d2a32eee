//! One pit told in words, with a small table and what it all rests on.

use super::answer::{Answer, Asking};
use super::columns;
use super::urgency::next_reading;
use super::what_if;
use crate::load_test::beside_forecast;
use crate::output::wrapped;
use soaklife::Coverage;
use soaklife::forecast::{Basis, Forecast, Method};
use soaklife::history::{HandCheck, ReadingUse, Reason, Verdict};
use soaklife::prior::Course;
use soaklife::quantity::Units;
use soaklife::quantity::{
    Length, VolumeRate, as_gallons, as_gallons_per_day, as_inches, as_litres, as_litres_per_day,
};
use soaklife::trend::absorption::Explanation;
use soaklife::wording::fleet::grouped;
use soaklife::wording::household::assumed;
use soaklife::wording::sentence::{load_test, sentences};
use soaklife::wording::{about_years, chance, counted, length, length_number, pace, tenths, with_noun};
use soaklife_records::PitRecord;
use std::fmt::Write as _;

const WIDTH: usize = 100;
const INDENT: usize = 12;
/// Beyond the farthest horizon a number of years is not told.
const LONGEST_YEARS: f64 = 60.0;

const CAUTION: &str = "An estimate from readings, no warranty and no substitute for an inspection: local code and licensed \
                       practitioners decide. Never enter or lean into a pit: the gas kills without warning.";

/// Everything about one pit.
pub(crate) fn one_pit(asked: &Asking, answer: &Answer<'_>) -> String {
    let mut told = format!("{}, as of {}\n\n", answer.title(), asked.as_of());
    match &answer.forecast {
        Ok(forecast) => tell(&mut told, asked, answer, forecast),
        Err(reason) => {
            let _ = writeln!(told, "{}\n", wrapped(&format!("No forecast: {reason}."), WIDTH, 0));
            paragraph(&mut told, "Readings", &readings_without_forecast(asked, answer));
        }
    }
    paragraph(&mut told, "Load", &load_of(asked, answer));
    paragraph(&mut told, "Household", &household_of(asked, answer));
    paragraph(&mut told, "Hand check", &hand_check_of(asked, answer));
    paragraph(&mut told, "Measure", &next_reading(asked, answer));
    paragraph(&mut told, "Caution", CAUTION);
    told
}

/// The sentence alone, for a reading just added.
pub(crate) fn one_line(asked: &Asking, answer: &Answer<'_>) -> String {
    match &answer.forecast {
        Ok(forecast) => sentences(forecast, asked.coverage(), asked.units()),
        Err(reason) => format!("No forecast yet: {reason}."),
    }
}

fn tell(told: &mut String, asked: &Asking, answer: &Answer<'_>, forecast: &Forecast) {
    let _ = writeln!(told, "{}", wrapped(&sentences(forecast, asked.coverage(), asked.units()), WIDTH, 0));
    if forecast.basis() != Basis::AtInlet {
        told.push('\n');
        table(told, asked, answer, forecast);
    }
    told.push('\n');
    what_if::tell(told, asked, answer);
    paragraph(told, "Rests on", &rests_on(forecast));
    paragraph(told, "Typical", &whose_experience(asked, answer));
    paragraph(told, "Course", &course_of(forecast));
    for said in forecast.explanation().iter().flat_map(Explanation::load_tests) {
        paragraph(told, "Load test", &load_test(said, forecast.pit(), asked.units()));
    }
    paragraph(told, "Load test", &beside_forecast(answer.record, forecast, asked.units()));
}

fn paragraph(told: &mut String, name: &str, text: &str) {
    if !text.is_empty() {
        let _ = writeln!(told, "{name:<INDENT$}{}", wrapped(text, WIDTH, INDENT));
    }
}

/// The outlook, indented.
fn table(told: &mut String, asked: &Asking, answer: &Answer<'_>, forecast: &Forecast) {
    for [name, cells @ ..] in outlook(asked, answer, forecast) {
        let mut line = format!("  {name:<28}");
        for cell in cells {
            let _ = write!(line, "{cell:>12}");
        }
        let _ = writeln!(told, "{}", line.trim_end());
    }
}

/// Freeboard and chance now and in 1, 2, 5 and 10 years: a row of headings and three rows, each after its name.
pub(crate) fn outlook(asked: &Asking, answer: &Answer<'_>, forecast: &Forecast) -> [[String; 6]; 4] {
    let (units, coverage) = (asked.units(), asked.coverage());
    let action = answer.question.action_freeboard();
    let goal = if as_inches(action) > 0.0 { length(action, units) } else { "the inlet".to_owned() };
    let by_then = format!("chance of reaching {goal}");
    [
        row(format!("freeboard, {}", units.name()), |years| match years {
            0.0 => "now".to_owned(),
            _ => with_noun(&format!("{years:.0}"), "year"),
        }),
        row("  median".to_owned(), |years| freeboard(forecast.freeboard_quantile(years, 0.5), units)),
        row(format!("  {:.0} % range", coverage.value() * 100.0), |years| {
            range(forecast, years, coverage, units)
        }),
        row(by_then, |years| chance(forecast.chance_by(years))),
    ]
}

fn row(name: String, cell: impl Fn(f64) -> String) -> [String; 6] {
    let [a, b, c, d, e] = columns::FREEBOARD_YEARS.map(|years| cell(f64::from(years)));
    [name, a, b, c, d, e]
}

/// A freeboard in the table; a line knows no inlet, but a level above it is no level.
fn freeboard(freeboard: Option<Length>, units: Units) -> String {
    match freeboard {
        None => "unknown".to_owned(),
        Some(freeboard) if as_inches(freeboard) <= 0.0 => "at inlet".to_owned(),
        Some(freeboard) => length_number(freeboard, units, false),
    }
}

fn range(forecast: &Forecast, years: f64, coverage: Coverage, units: Units) -> String {
    let low = forecast.freeboard_quantile(years, coverage.lower_tail());
    let high = forecast.freeboard_quantile(years, coverage.upper_tail());
    let (Some(low), Some(high)) = (low, high) else { return "unknown".to_owned() };
    if as_inches(high) <= 0.0 {
        return "at inlet".to_owned();
    }
    let low = if as_inches(low) <= 0.0 { "0".to_owned() } else { length_number(low, units, false) };
    let high = length_number(high, units, false);
    if low == high { low } else { format!("{low} to {high}") }
}

pub(crate) fn rests_on(forecast: &Forecast) -> String {
    match forecast.basis() {
        Basis::AtInlet => return "what was found at the inlet: the pit has reached it.".to_owned(),
        Basis::TypicalExperience if forecast.readings().is_empty() => {
            if forecast.explanation().is_some_and(|told| !told.load_tests().is_empty()) {
                return "typical experience and a load test; the first reading moves it most.".to_owned();
            }
            return "typical experience alone; the first reading moves it most.".to_owned();
        }
        _ => {}
    }
    let mut text = counted(forecast.readings_used(), "reading");
    let doubtful = forecast
        .readings()
        .iter()
        .filter(|taken| taken.verdict.weight().is_some_and(|weight| weight < 0.9))
        .count();
    if doubtful > 0 && forecast.question().method() == Method::Absorption {
        let _ = write!(text, ", {doubtful} of them doubtful");
    }
    let aside: Vec<&ReadingUse> = forecast
        .readings()
        .iter()
        .filter(|reading| matches!(reading.verdict, Verdict::SetAside(_)))
        .collect();
    if aside.is_empty() {
        text.push_str(", none set aside.");
    } else {
        let _ = write!(text, "; {} set aside: {}.", aside.len(), reasons(&aside));
    }
    if let Some(explanation) = forecast.explanation() {
        let _ = write!(text, " {}", share_of_readings(&explanation));
    }
    if forecast.question().method() == Method::Line {
        text.push_str(
            " A line's range takes the readings' errors as independent; on real yearly series such ranges held less often \
             than they claim.",
        );
    }
    text
}

/// Which pits taught what is typical of this one, where a prior tells groups apart.
pub(crate) fn whose_experience(asked: &Asking, answer: &Answer<'_>) -> String {
    match (asked.grouped_by(), &answer.group) {
        (None, _) => String::new(),
        (Some(column), Some(group)) => format!("experience is that of the pits with {column} {group:?}."),
        (Some(column), None) => {
            format!(
                "experience is that of the whole fleet: the prior tells no group of this pit's {column} apart."
            )
        }
    }
}

/// How much of the answer is the pit's own, to the nearest tenth.
fn share_of_readings(explanation: &Explanation) -> String {
    match (explanation.share_of_readings() * 10.0).round() {
        tenths if tenths < 1.0 => {
            "They say little of the pace yet: the answer is mostly typical experience.".to_owned()
        }
        tenths if tenths > 9.0 => "The answer is nearly all the pit's own record.".to_owned(),
        tenths => format!(
            "About {:.0} % of the answer is the pit's own record, the rest typical experience.",
            tenths * 10.0
        ),
    }
}

/// Which courses the readings favour; nothing where no reading says.
pub(crate) fn course_of(forecast: &Forecast) -> String {
    let has_readings = !matches!(forecast.basis(), Basis::AtInlet | Basis::TypicalExperience);
    forecast.explanation().filter(|_| has_readings).map_or_else(String::new, |told| likely_course(&told))
}

/// Which courses the readings favour, the likeliest first, and how restless the pit is.
fn likely_course(explanation: &Explanation) -> String {
    let mut courses: Vec<(f64, &str)> =
        Course::ALL.iter().map(|&course| (explanation.weight_of(course), course.in_words())).collect();
    courses.sort_by(|a, b| b.0.total_cmp(&a.0));
    let told: Vec<String> = courses
        .into_iter()
        .filter(|(weight, _)| *weight >= 0.05)
        .map(|(weight, words)| format!("{words} {}", chance(weight)))
        .collect();
    let [_, _, ordinary, restless] = explanation.temperaments();
    let temperament = match (restless, ordinary + restless) {
        (restless, _) if restless > 0.5 => "The level is restless, which widens the range.",
        (_, unsettled) if unsettled < 0.3 => "The level keeps close to its course.",
        _ => "",
    };
    format!("chances: {}. {temperament}", told.join(", ")).trim_end().to_owned()
}

/// The reasons for setting readings aside, each once, with how many it holds for.
fn reasons(aside: &[&ReadingUse]) -> String {
    let mut counts: Vec<(String, usize)> = Vec::new();
    for reading in aside {
        let Verdict::SetAside(reason) = reading.verdict else { continue };
        let reason = reason.to_string();
        match counts.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, count)) => *count += 1,
            None => counts.push((reason, 1)),
        }
    }
    counts.iter().map(|(reason, count)| format!("{count} {reason}")).collect::<Vec<_>>().join("; ")
}

/// What the readings look like where no forecast can be made of them.
fn readings_without_forecast(asked: &Asking, answer: &Answer<'_>) -> String {
    let Some(record) = answer.record else { return String::new() };
    let uses = record.history().readings_for_a_line(asked.as_of());
    let aside: Vec<&ReadingUse> =
        uses.iter().filter(|taken| matches!(taken.verdict, Verdict::SetAside(_))).collect();
    let mut text = match uses.len() {
        0 => "none.".to_owned(),
        count => format!("{}.", counted(count, "reading")),
    };
    if !aside.is_empty() {
        let _ = write!(text, " Set aside: {}.", reasons(&aside));
    }
    if let Some(latest) = record.history().latest_standing(asked.as_of()) {
        let pit = record.history().pit();
        let left = length(pit.freeboard(latest.level(pit)), asked.units());
        let _ = write!(text, " On {} there was {left} of freeboard.", latest.date());
    }
    text
}

/// What the household uses against what the system was designed for; nothing for a pit whose row must be mended first.
pub(crate) fn load_of(asked: &Asking, answer: &Answer<'_>) -> String {
    answer
        .record
        .map_or_else(String::new, |record| load(record, answer.forecast.as_ref().ok(), asked.units()))
}

/// What is assumed of the household from now on.
pub(crate) fn household_of(asked: &Asking, answer: &Answer<'_>) -> String {
    answer.forecast.as_ref().map_or_else(|_| String::new(), |forecast| assumed(forecast, asked.units()))
}

/// What the household uses against what the system was designed for, each with how it is known.
fn load(record: &PitRecord, forecast: Option<&Forecast>, units: Units) -> String {
    let (Some(design), Some(current)) = (record.design(), record.current_use()) else {
        return "not known; the level is followed against time.".to_owned();
    };
    let mut text = format!(
        "{:.0} % of the design flow: {} ({}) against {} ({}).",
        as_gallons_per_day(current.flow) / as_gallons_per_day(design.flow) * 100.0,
        flow(current.flow, units),
        current.basis,
        flow(design.flow, units),
        design.rule
    );
    if let Some(forecast) = forecast.filter(|forecast| forecast.basis() != Basis::AtInlet) {
        let followed = if forecast.question().method() == Method::Absorption { "Followed" } else { "Fitted" };
        let _ = write!(
            text,
            " {followed} against {}.",
            if columns::against(forecast) == "load" { "the water taken, not the calendar" } else { "time" }
        );
        text.push_str(&room_left(record, forecast, units));
    }
    text
}

pub(super) fn flow(flow: VolumeRate, units: Units) -> String {
    match units {
        Units::Us => format!("{:.0} gal/day", as_gallons_per_day(flow)),
        Units::Si => format!("{:.0} L/day", as_litres_per_day(flow)),
    }
}

/// What still fits above the liquid, where the cross-section is known.
fn room_left(record: &PitRecord, forecast: &Forecast, units: Units) -> String {
    let pit = record.history().pit();
    let Some(latest) = forecast.latest() else { return String::new() };
    let level = latest.level(pit);
    match pit.storage_between(level, pit.effective_depth()) {
        Some(room) if room.value > 0.0 => {
            let (volume, unit) = match units {
                Units::Us => (as_gallons(room), "gal"),
                Units::Si => (as_litres(room), "L"),
            };
            let days = record.current_use().and_then(|current| pit.days_of_flow_left(level, current.flow));
            let days = days.map_or(String::new(), |days| {
                let days = if days < 0.05 {
                    "less than 0.1 days".to_owned()
                } else {
                    with_noun(&tenths(days), "day")
                };
                format!(", what the house uses in {days}; the soil takes water meanwhile")
            });
            let tens = (volume / 10.0).round() * 10.0;
            let room = if tens < 10.0 { "less than 10".to_owned() } else { grouped(tens) };
            format!(" Room above the liquid: {room} {unit}{days}.")
        }
        _ => String::new(),
    }
}

/// Inches left ÷ inches a year, where two readings allow it, and why the forecast differs.
pub(crate) fn hand_check_of(asked: &Asking, answer: &Answer<'_>) -> String {
    let below_inlet = answer.forecast.as_ref().ok().filter(|forecast| forecast.basis() != Basis::AtInlet);
    let checked = below_inlet.and_then(|forecast| Some((forecast.hand_check()?, forecast)));
    checked.map_or_else(String::new, |(check, forecast)| {
        hand_check(check, asked.units()) + why_hand_check_differs(check, forecast)
    })
}

/// One sentence where the hand check and the forecast lie far apart.
fn why_hand_check_differs(check: &HandCheck, forecast: &Forecast) -> &'static str {
    // The hand check goes to the inlet: beside an action freeboard the two answer different questions.
    let question = forecast.question();
    if question.method() != Method::Absorption || as_inches(question.action_freeboard()) > 0.0 {
        return "";
    }
    let by_hand = check.years().unwrap_or(f64::INFINITY);
    let told = forecast.years_to_inlet(0.5).unwrap_or(f64::INFINITY);
    let (short, long) = (by_hand.min(told), by_hand.max(told));
    if short > LONGEST_YEARS || long <= (1.5 * short).max(short + 2.0) {
        return "";
    }
    let out_of_line = |taken: &ReadingUse| taken.verdict == Verdict::SetAside(Reason::OutOfLine);
    if forecast.readings().iter().any(out_of_line) {
        return " The forecast differs: it sets readings aside that the hand check rests on.";
    }
    let rise = as_inches(check.rise_per_year);
    let now = forecast.pace_per_year().map_or(rise, as_inches);
    match by_hand < told {
        true if now < 0.5 * rise => {
            " The forecast is longer: the level has lately risen less than between these two readings."
        }
        true => {
            " The forecast is longer: most pits rise more slowly as more wall comes under water, and two readings say little."
        }
        false if rise <= 0.0 || now <= 0.0 => {
            " The forecast is shorter: no rise between two readings does not rule out one later, and most pits fill in time."
        }
        false => {
            " The forecast is shorter: the rise has lately been faster, or the household uses more than it did."
        }
    }
}

fn hand_check(check: &HandCheck, units: Units) -> String {
    let left = length(check.left, units);
    let rise = pace(check.rise_per_year, units);
    let told = |years| {
        if years > LONGEST_YEARS { format!("more than {LONGEST_YEARS:.0} years") } else { about_years(years) }
    };
    match check.years() {
        Some(years) => format!(
            "{left} left ÷ {rise} ({} to {}) is {} from the last reading.",
            check.from,
            check.to,
            told(years)
        ),
        None => format!("{left} left, and no rise between {} and {}.", check.from, check.to),
    }
}

//! The words of the chart: title, key, caption, and its description for those who cannot see it.

use super::LoadTestChart;
use super::course::Course;
use super::layout::{EDGE, Layout};
use crate::canvas::{Align, Canvas, Lettering, lettering};
use crate::caption::{self, LINE_HEIGHT};
use crate::headline;
use crate::svg::ChartError;
use crate::theme;
use soaklife::quantity::{Units, inches};
use soaklife::wording::fleet::grouped;
use soaklife::wording::{counted, length};

const CAUTION: &str = "One test on one day, no warranty: local code and licensed practitioners decide. Never enter or lean into a tank or pit.";

/// What is said around the panels.
#[derive(Debug)]
pub(super) struct Words {
    title: String,
    days: String,
    since: String,
    caption: Vec<(String, Lettering)>,
    description: String,
}

impl Words {
    pub(super) fn of(chart: &LoadTestChart<'_>, course: &Course) -> Self {
        let answer = chart.answer.clone().unwrap_or_else(|| account(course, chart.units));
        let fit = fit(chart, course);
        let small = |colour| lettering(theme::SMALL_SIZE, colour);
        let texts = [
            (answer.as_str(), lettering(theme::TEXT_SIZE, theme::INK).bold()),
            (chart.rules.as_str(), small(theme::INK)),
            (fit.as_str(), small(theme::INK)),
            (CAUTION, small(theme::QUIET_INK)),
        ];
        let (first, last) = (chart.test.date(), chart.test.last_date());
        let days = if first == last {
            format!("load test of {first}")
        } else {
            format!("load test of {first} to {last}")
        };
        let began = chart.test.looks().first().map(|look| look.time.strftime("%Y-%m-%d %H:%M").to_string());
        let looks = looks(course, chart.units);
        Self {
            title: chart.title.clone(),
            days,
            since: format!("hours since {}", began.unwrap_or_default()),
            caption: caption::broken(texts, theme::WIDTH - 2.0 * EDGE),
            description: [answer.as_str(), &chart.rules, &looks, &fit, CAUTION]
                .into_iter()
                .filter(|text| !text.is_empty())
                .collect::<Vec<_>>()
                .join(" "),
        }
    }

    pub(super) fn room(&self) -> f64 {
        LINE_HEIGHT * self.caption.len() as f64
    }

    pub(super) fn heading(&self, title: &str) -> String {
        format!("{}: {}", headline::of_a_pit(title), self.days)
    }

    pub(super) fn description(&self) -> &str {
        &self.description
    }

    pub(super) fn draw(&self, canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
        headline::write(canvas, &self.title, &self.days)?;
        let middle = f64::midpoint(layout.left, layout.right);
        let hours = lettering(theme::SMALL_SIZE, theme::QUIET_INK).aligned(Align::Middle);
        canvas.text(&self.since, (middle, layout.lowest + 21.5), hours)?;
        caption::write(canvas, (EDGE, layout.caption), &self.caption)
    }
}

/// What was added and read, where nobody has drawn a conclusion.
fn account(course: &Course, units: Units) -> String {
    let added = course.seen.iter().filter_map(|seen| seen.added).fold(0.0, f64::max);
    let first = course.levels().next();
    let highest = course.levels().map(|(_, depth)| depth).fold(f64::INFINITY, f64::min);
    let last = course.levels().last();
    let (Some((began, first)), Some((hours, last))) = (first, last) else {
        return "No level was read.".to_owned();
    };
    let told = |depth: f64| length(inches(depth), units);
    let added =
        if added > 0.0 { format!("{} added", volume(added, units)) } else { "No water added".to_owned() };
    if hours <= began {
        return format!("{added}: the level was read once, {} below the rim.", told(first));
    }
    format!(
        "{added}: from {} below the rim the level rose to {} and stood at {} after {}.",
        told(first),
        told(highest),
        told(last),
        time(hours)
    )
}

fn time(hours: f64) -> String {
    match hours {
        hours if hours < 2.0 => counted((hours * 60.0).round().max(1.0) as usize, "minute"),
        _ => counted(hours.round() as usize, "hour"),
    }
}

fn volume(volume: f64, units: Units) -> String {
    let unit = match units {
        Units::Us => "gal",
        Units::Si => "L",
    };
    format!("{} {unit}", grouped(volume.round()))
}

/// What the line and its band are, or why there are none.
fn fit(chart: &LoadTestChart<'_>, course: &Course) -> String {
    match &chart.study.recession {
        Ok(recession) if !course.fall.is_empty() => format!(
            "Line: the fall fitted through {}; band: where a stick should find the level, 80 % range.",
            counted(recession.levels(), "level")
        ),
        Ok(_) => String::new(),
        Err(reason) => format!("No fall is fitted: {reason}."),
    }
}

/// Every look, for those who cannot see the marks.
fn looks(course: &Course, units: Units) -> String {
    let look = |seen: &super::course::Seen| {
        let depth = seen.depth_in.map(|depth| format!("{} below rim", length(inches(depth), units)));
        let added = seen.added.map(|added| format!("{} added", volume(added, units)));
        let tank = seen.tank_in.map(|rise| format!("tank up {}", length(inches(rise), units)));
        let told: Vec<String> = [added, depth, tank].into_iter().flatten().collect();
        format!("{:.1} h: {}.", seen.hours, told.join(", "))
    };
    course.seen.iter().map(look).collect::<Vec<_>>().join(" ")
}

//! What is fitted: the bands, the level, and the range of the crossing.

use super::frame::Frame;
use crate::canvas::{Align, Canvas, lettering, stroke};
use crate::svg::ChartError;
use crate::theme;
use soaklife::Coverage;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::history::Verdict;
use soaklife::quantity::as_inches;
use soaklife::trend::CrossingSet;
use soaklife::wording::year_after;

/// Widest band first, as it is drawn.
const COVERAGES: [Coverage; 3] = [Coverage::NINETY_FIVE, Coverage::EIGHTY, Coverage::HALF];
const STEPS: u32 = 96;

/// Years drawn: from the first reading that counts to the right edge.
fn years_drawn(frame: &Frame, forecast: &Forecast) -> Vec<f64> {
    let used = forecast.readings().iter().filter(|taken| matches!(taken.verdict, Verdict::Used { .. }));
    let first = used.map(|taken| forecast.years_of(&taken.reading)).fold(0.0, f64::min);
    let last = frame.x.ends().1.min(forecast.question().horizon_years());
    (0..=STEPS).map(|step| first + (last - first) * f64::from(step) / f64::from(STEPS)).collect()
}

fn is_at_inlet(forecast: &Forecast) -> bool {
    matches!(forecast.crossing(Coverage::EIGHTY), Crossing::AlreadyAtInlet { .. })
}

/// The bands of the standing level, cut at inlet and bottom.
pub(super) fn bands(canvas: &mut Canvas<'_>, frame: &Frame, forecast: &Forecast) -> Result<(), ChartError> {
    if is_at_inlet(forecast) {
        return Ok(());
    }
    let years = years_drawn(frame, forecast);
    for (coverage, fill) in COVERAGES.into_iter().zip(theme::BANDS) {
        let band: Vec<(f64, f64, f64)> = years
            .iter()
            .filter_map(|&years| {
                let band = forecast.level_band(years, coverage)?;
                Some((years, as_inches(band.lower), as_inches(band.upper)))
            })
            .collect();
        let upper = band.iter().map(|&(years, _, upper)| frame.within_pit(years, upper));
        let lower = band.iter().rev().map(|&(years, lower, _)| frame.within_pit(years, lower));
        let outline: Vec<(f64, f64)> = upper.chain(lower).collect();
        if outline.len() > 2 {
            canvas.polygon(&outline, fill)?;
        }
    }
    Ok(())
}

/// The fitted level, as far as it stays in the pit.
pub(super) fn line(canvas: &mut Canvas<'_>, frame: &Frame, forecast: &Forecast) -> Result<(), ChartError> {
    if is_at_inlet(forecast) {
        return Ok(());
    }
    let level = |years: &f64| (*years, as_inches(forecast.level(*years)));
    let inside = |(_, level): &(f64, f64)| (0.0..=frame.inlet_in).contains(level);
    let levels: Vec<(f64, f64)> = years_drawn(frame, forecast).iter().map(level).collect();
    let first = levels.iter().position(inside).unwrap_or(0);
    let last = levels.iter().rposition(inside).unwrap_or(0);
    // One step beyond, kept at the edge, so that the line meets the inlet.
    let drawn = levels.iter().take(last + 2).skip(first.saturating_sub(1));
    let path: Vec<(f64, f64)> = drawn.map(|&(years, level)| frame.within_pit(years, level)).collect();
    if path.len() > 1 { canvas.path(&path, stroke(theme::FITTED, theme::HEAVY)) } else { Ok(()) }
}

/// The range of the crossing, as a bar on the line that is to be reached, with its calendar years.
pub(super) fn crossing(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    forecast: &Forecast,
    coverage: Coverage,
) -> Result<(), ChartError> {
    if is_at_inlet(forecast) {
        return Ok(());
    }
    let y = frame.y.at(frame.threshold_in);
    let edge = frame.x.ends().1;
    let as_of = forecast.question().as_of();
    let bar = stroke(theme::FITTED, theme::BAR);
    let cap = stroke(theme::FITTED, theme::HEAVY);
    let x = |years: f64| frame.x.at(years.min(edge));
    let words = match forecast.crossing_set(coverage) {
        CrossingSet::Between { latest, .. } if latest <= 0.0 => return Ok(()),
        CrossingSet::Between { earliest, latest } if earliest < edge => {
            canvas.line((x(earliest), y), (x(latest), y), bar)?;
            canvas.line((x(earliest), y - 4.0), (x(earliest), y + 4.0), cap)?;
            if latest <= edge {
                canvas.line((x(latest), y - 4.0), (x(latest), y + 4.0), cap)?;
            } else {
                arrow(canvas, (frame.right, y))?;
            }
            let (from, to) = (year_after(as_of, earliest), year_after(as_of, latest));
            let range = match latest {
                latest if latest > forecast.question().horizon_years() => format!("not before {from}"),
                _ if from == to => from,
                _ => format!("{from}–{to}"),
            };
            let middle = x(f64::midpoint(earliest, latest.min(edge)));
            Some((middle, format!("{range} ({:.0} %)", coverage.value() * 100.0)))
        }
        CrossingSet::NotBefore { earliest } if earliest < edge => {
            canvas.line((x(earliest), y), (frame.right, y), bar)?;
            canvas.line((x(earliest), y - 4.0), (x(earliest), y + 4.0), cap)?;
            arrow(canvas, (frame.right, y))?;
            let middle = f64::midpoint(x(earliest), frame.right);
            let year = year_after(as_of, earliest);
            Some((middle, format!("not before {year}, perhaps never ({:.0} %)", coverage.value() * 100.0)))
        }
        CrossingSet::Unbounded => Some((frame.right, "when, if at all, cannot be told".to_owned())),
        _ => None,
    };
    if let Crossing::Expected { years, .. } = forecast.crossing(coverage)
        && years < edge
    {
        canvas.circle((x(years), y), theme::MARK + 0.7, theme::PAPER, stroke(theme::FITTED, theme::HEAVY))?;
    }
    let Some((middle, words)) = words else { return Ok(()) };
    let style = lettering(theme::SMALL_SIZE, theme::FITTED).bold().aligned(Align::Middle);
    let half = style.width(&words) / 2.0;
    // Clear of the name of the inlet at the left, and inside the plot at the right.
    let middle = middle
        .clamp(frame.inlet_name_end() + half, (frame.right - half - 2.0).max(frame.inlet_name_end() + half));
    // Above the inlet line, also where the goal lies below it.
    canvas.text(&words, (middle, frame.y.at(frame.inlet_in) - 6.0), style)
}

/// The bar goes on beyond the right edge; its head stays clear of the axis.
fn arrow(canvas: &mut Canvas<'_>, (x, y): (f64, f64)) -> Result<(), ChartError> {
    canvas.polygon(&[(x - 9.0, y - 5.0), (x, y), (x - 9.0, y + 5.0)], theme::FITTED)
}

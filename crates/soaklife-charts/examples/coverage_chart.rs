//! Draws coverage charts of invented scores into a folder, to be looked at after a change of the drawing:
//! `cargo run -p soaklife-charts --example coverage_chart -- FOLDER [DPI]`.

use jiff::civil::date;
use soaklife::backtest::{Backtest, Plan, Tally};
use soaklife::forecast::Method;
use soaklife_charts::CoverageChart;
use std::error::Error;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("give the folder to draw into")?);
    let dpi = arguments.next().map_or(Ok(150.0), |dpi| dpi.parse())?;
    std::fs::create_dir_all(&folder)?;
    let cases = [
        ("every method", scored([46, 73, 83], 100)),
        ("few replays", scored([3, 4, 6], 6)),
        ("very many replays", scored([4_900, 8_100, 9_050], 10_000)),
        ("always and never", scored([0, 40, 40], 40)),
        ("nothing to judge", scored([0; 3], 0)),
    ];
    for (name, backtest) in &cases {
        let svg = CoverageChart::new(backtest).titled(*name).svg()?;
        std::fs::write(folder.join(format!("{name}.svg")), svg.as_str())?;
        std::fs::write(folder.join(format!("{name}.png")), svg.to_png(dpi)?)?;
    }
    Ok(())
}

/// So many of the ranges held; with each further method and horizon a few less.
fn scored(held: [usize; 3], of: usize) -> Backtest {
    let mut backtest = Plan::new(date(2026, 6, 30)).by(Method::ALL).replay([]);
    for (place, score) in backtest.methods.iter_mut().enumerate() {
        for (horizon, level) in score.levels.iter_mut().enumerate() {
            for (range, held) in level.ranges.iter_mut().zip(held) {
                let lost = held * (place + horizon) / 20;
                range.tally = Tally { held: held - lost, of };
            }
        }
    }
    backtest
}

//! Mean chances beside the share that failed, as rows of a Markdown table.

use super::methods::{Answer, YEARS};
use statrs::distribution::{Beta, ContinuousCDF};

/// What one method says of one group of pits, and what came.
pub struct Row {
    pub group: &'static str,
    pub method: &'static str,
    pub pits: usize,
    within: [Within; YEARS.len()],
}

/// Within some years.
#[derive(Debug, Clone, Copy)]
struct Within {
    said: f64,
    failed: f64,
    /// 95 % interval of the chance with which such pits fail.
    interval: [f64; 2],
}

impl Row {
    /// Of the pits that the method answers, with the years that each really lasts.
    pub fn of(
        group: &'static str,
        method: &'static str,
        answered: impl Iterator<Item = (Answer, f64)>,
    ) -> Self {
        let answered: Vec<(Answer, f64)> = answered.collect();
        let pits = answered.len();
        let within = std::array::from_fn(|place| {
            let said = answered.iter().map(|(answer, _)| answer[place]).sum::<f64>() / pits as f64;
            let failed = answered.iter().filter(|(_, lasts)| *lasts <= YEARS[place]).count();
            Within { said, failed: failed as f64 / pits as f64, interval: interval(failed, pits) }
        });
        Self { group, method, pits, within }
    }

    /// In words, each mean chance farther outside the interval than allowed.
    pub fn beyond(&self, allowed: f64) -> Vec<String> {
        let told = |(years, within): (f64, Within)| {
            let [low, high] = within.interval;
            let holds = (low - allowed..=high + allowed).contains(&within.said);
            let Within { said, failed, .. } = within;
            let Self { group, method, pits, .. } = self;
            (!holds).then(|| {
                format!("{group}, {method}: {said:.3} within {years} years, {failed:.3} of {pits} failed")
            })
        };
        YEARS.into_iter().zip(self.within).filter_map(told).collect()
    }
}

/// Clopper and Pearson (1934), *Biometrika* 26(4), 404–413.
fn interval(failed: usize, pits: usize) -> [f64; 2] {
    let (failed, held) = (failed as f64, (pits - failed) as f64);
    let quantile = |share: f64, failed: f64, held: f64| match (failed > 0.0, held > 0.0) {
        (false, _) => 0.0,
        (_, false) => 1.0,
        _ => Beta::new(failed, held).unwrap().inverse_cdf(share),
    };
    [quantile(0.025, failed, held + 1.0), quantile(0.975, failed + 1.0, held)]
}

/// Mean chance, share that failed and its interval, in per cent.
pub fn print_rows(group: &str, rows: &[Row]) {
    let years = YEARS.map(|years| format!(" said, {years} y | came | 95 % |")).concat();
    println!("\n| {group} | method | pits |{years}");
    println!("| --- | --- | ---: |{}", " ---: | ---: | --- |".repeat(YEARS.len()));
    for row in rows.iter().filter(|row| row.pits > 0) {
        let within = row.within.map(|Within { said, failed, interval: [low, high] }| {
            let outside = if (low..=high).contains(&said) { "" } else { " *" };
            format!(
                " {:.1}{outside} | {:.1} | {:.1}–{:.1} |",
                100.0 * said,
                100.0 * failed,
                100.0 * low,
                100.0 * high
            )
        });
        println!("| {} | {} | {} |{}", row.group, row.method, row.pits, within.concat());
    }
}

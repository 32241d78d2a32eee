//! The default population prior held against published service lives (`fixtures/published/trade/50_survival_and_failure_rates.csv`,
//! `52_service_life.csv`). They are of trenches and beds for the most part: no survival study of pits was found.
//!
//! More than 80 % of systems serving beyond 20 years: Dix and Hoxie (2001), over 145,000 Maine permits. Half-lives of 27 and
//! 38 years: Hill and Frink (1974, 1980), from memory. 30 to 40 years at design load: common practice, no source.

use jiff::civil::date;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{gallons_per_day, inches};
use soaklife::trend::absorption::{Absorption, Hypotheses, Passage};
use soaklife::{History, LoadHistory, Pit};

/// A pit put into service a month ago, used at this ratio for good.
fn new_pit(depth_in: f64, ratio: f64) -> Passage {
    let load = LoadHistory::constant(gallons_per_day(100.0), gallons_per_day(100.0 * ratio)).unwrap();
    let history = History::new(Pit::new(inches(0.0), inches(depth_in)).unwrap())
        .with_installed(date(2025, 12, 1))
        .with_load(load);
    let prior = PopulationPrior { typical_load_ratio: ratio, ..PopulationPrior::default() };
    Absorption::follow(&history, date(2026, 1, 1), &Hypotheses::new(prior).unwrap())
        .reaches(depth_in)
        .unwrap()
}

#[test]
fn median_life_at_design_load_and_service_at_a_typical_one_agree_with_the_record() {
    for depth_in in [48.0, 72.0, 100.0, 144.0, 200.0, 240.0] {
        let median = new_pit(depth_in, 1.0).years(0.5);
        let serving = 1.0 - new_pit(depth_in, 0.45).chance_within(20.0);
        println!(
            "{depth_in} in: median {:.0} years at design load, {:.0} % serve 20 years at .45",
            median.unwrap_or(f64::INFINITY),
            100.0 * serving
        );
        assert!(serving > 0.8, "{depth_in} in: {serving}");
    }
    let median = new_pit(100.0, 1.0).years(0.5).unwrap();
    assert!((27.0..=40.0).contains(&median), "{median}");
}

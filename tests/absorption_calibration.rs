//! Whether the ranges hold as often as they claim, on simulated pits whose future is known.
//!
//! The simulation ([`tests::simulated_pits`]) rests on the balance of inflow and acceptance and knows nothing of the
//! method's hypotheses. Bounds: what would be seen of a calibrated forecast in 999 of 1,000 runs, by the binomial
//! distribution (statrs).

use soaklife::quantity::as_inches;
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::{Forecast, History, Method, Question};
use statrs::distribution::{Binomial, DiscreteCDF};
use tests::simulated_pits::{Population, SimulatedPit, as_of, simulate};

const PITS: usize = 500;
const SEED: u64 = 20_260_101;
const ODDS: f64 = 0.001;

fn valley() -> Vec<SimulatedPit> {
    simulate(&Population::default(), SEED, PITS)
}

fn follow(history: &History) -> Absorption {
    Absorption::follow(history, as_of(), &Hypotheses::default())
}

fn depth_in(history: &History) -> f64 {
    as_inches(history.pit().effective_depth())
}

/// Counts within which a calibrated forecast stays, with the odds above on either side.
fn expected(share: f64, cases: usize) -> (u64, u64) {
    let binomial = Binomial::new(share, cases as u64).unwrap();
    (binomial.inverse_cdf(ODDS), binomial.inverse_cdf(1.0 - ODDS))
}

#[test]
fn pits_fail_early_no_more_often_than_the_forecast_says() {
    let valley = valley();
    for share in [0.05, 0.10, 0.25] {
        let early = valley.iter().filter(|pit| {
            let passage = follow(&pit.history).reaches(depth_in(&pit.history)).unwrap();
            passage.years(share).is_some_and(|years| pit.truth.years_to_inlet < years)
        });
        let (early, (_, most)) = (early.count() as u64, expected(share, PITS));
        println!("before the {share} quantile: {early} of {PITS}, at most {most}");
        assert!(early <= most, "{early} of {PITS} pits failed before the {share} quantile");
    }
}

#[test]
fn eighty_per_cent_ranges_hold_eighty_per_cent_of_the_levels() {
    let valley = valley();
    for (place, years) in [(1, 1.0), (3, 5.0)] {
        let held = valley.iter().filter(|pit| {
            let [low, high] = follow(&pit.history).levels_in(years, [0.1, 0.9]).unwrap();
            (low - 1e-6..=high + 1e-6).contains(&pit.truth.level_in[place])
        });
        let (held, (fewest, most)) = (held.count() as u64, expected(0.8, PITS));
        println!("levels {years} years on: {held} of {PITS} held, {fewest} to {most}");
        assert!(
            (fewest..=most).contains(&held),
            "{held} of {PITS} levels {years} years on lie in the 80 % range"
        );
    }
}

#[test]
fn as_many_pits_fail_as_the_chances_add_up_to() {
    let valley = valley();
    for years in [5.0, 10.0] {
        let chances: Vec<f64> = valley
            .iter()
            .map(|pit| follow(&pit.history).reaches(depth_in(&pit.history)).unwrap().chance_within(years))
            .collect();
        let failed = valley.iter().filter(|pit| pit.truth.years_to_inlet <= years).count() as f64;
        let mean: f64 = chances.iter().sum();
        // The count of independent failures is nearly normal: 3.09 standard deviations leave 0.001 on either side.
        let spread = 3.09 * chances.iter().map(|chance| chance * (1.0 - chance)).sum::<f64>().sqrt();
        println!("within {years} years: {failed} failed, {mean:.1} ± {spread:.1} expected");
        assert!(
            (failed - mean).abs() <= spread,
            "{failed} failed within {years} years, {mean} ± {spread} expected"
        );
    }
}

/// What the method is for: on the pits that a straight line answers, its years to the inlet lose less.
#[test]
fn years_lose_less_than_by_a_straight_line() {
    let valley = valley();
    let (mut by_line, mut by_absorption, mut answered) = (0.0, 0.0, 0.0);
    for pit in &valley {
        let asked = Question::new(as_of());
        let Ok(line) = Forecast::of(&pit.history, &asked.by(Method::Line)) else { continue };
        let absorption = Forecast::of(&pit.history, &asked).unwrap();
        answered += 1.0;
        by_line += pinball(&line, pit.truth.years_to_inlet);
        by_absorption += pinball(&absorption, pit.truth.years_to_inlet);
    }
    println!(
        "on {answered} pits: line {:.3}, absorption {:.3} years",
        by_line / answered,
        by_absorption / answered
    );
    assert!(answered > 200.0 && by_absorption < by_line);
}

/// Mean pinball loss of the years over seven quantiles; what lies beyond thirty years counts as thirty.
fn pinball(forecast: &Forecast, came: f64) -> f64 {
    let came = came.min(30.0);
    let loss = |probability: f64| {
        let told = forecast.years_to_inlet(probability).unwrap_or(30.0).min(30.0);
        if came >= told { probability * (came - told) } else { (1.0 - probability) * (told - came) }
    };
    [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95].map(loss).iter().sum::<f64>() / 7.0
}

/// Knowing the soil, as far as an owner does, must not make the forecast worse.
#[test]
fn a_known_soil_does_no_harm() {
    use soaklife::soil::Soil;
    use tests::simulated_pits::Soil as Simulated;
    let valley = simulate(&Population::default(), SEED + 1, 3 * PITS);
    let lost = |known: bool| {
        let loss = |pit: &SimulatedPit| {
            let soil = match pit.truth.soil {
                _ if !known => Soil::Unknown,
                Simulated::Sand => Soil::Sand,
                Simulated::Loam => Soil::Loam,
                Simulated::Clay => Soil::Clay,
            };
            let history = pit.history.clone().with_soil(soil);
            pinball(&Forecast::of(&history, &Question::new(as_of())).unwrap(), pit.truth.years_to_inlet)
        };
        valley.iter().map(loss).sum::<f64>() / valley.len() as f64
    };
    println!("years lost with the soil known {:.4}, unknown {:.4}", lost(true), lost(false));
    assert!(lost(true) <= lost(false) * 1.01);
}

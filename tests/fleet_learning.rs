//! What a fleet teaches, judged on pits of the same fleet that taught nothing (simulated, with known futures).
//!
//! The simulation ([`tests::simulated_pits`]) rests on the balance of inflow and acceptance and knows nothing of the
//! method's hypotheses.

use soaklife::fleet::pooling::Experience;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::as_inches;
use soaklife::trend::absorption::{Absorption, Hypotheses};
use tests::simulated_pits::{Household, Population, SimulatedPit, Soil, as_of, simulate};

const QUANTILES: [f64; 7] = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95];
/// Years beyond which a loss is not counted further.
const LATEST: f64 = 30.0;

fn learnt_from(pits: &[SimulatedPit]) -> PopulationPrior {
    let mut experience = Experience::new(PopulationPrior::default());
    pits.iter().for_each(|pit| experience.add(&pit.history, as_of()));
    experience.learn().prior().clone()
}

/// Mean pinball loss of the years to the inlet, and expected ÷ actual failures within five years.
fn judged(prior: &PopulationPrior, pits: &[SimulatedPit]) -> (f64, f64) {
    let hypotheses = Hypotheses::new(prior.clone()).unwrap();
    let (mut lost, mut expected, mut failed) = (0.0, 0.0, 0.0);
    for pit in pits {
        let depth = as_inches(pit.history.pit().effective_depth());
        let passage = Absorption::follow(&pit.history, as_of(), &hypotheses).reaches(depth).unwrap();
        let came = pit.truth.years_to_inlet.min(LATEST);
        for share in QUANTILES {
            let told = passage.years(share).unwrap_or(f64::INFINITY).min(LATEST);
            lost += if came >= told { share * (came - told) } else { (1.0 - share) * (told - came) };
        }
        expected += passage.chance_within(5.0);
        failed += f64::from(pit.truth.years_to_inlet <= 5.0);
    }
    (lost / (pits.len() * QUANTILES.len()) as f64, expected / failed)
}

/// Clean coarse soil throughout: pits stay dry for years, then fill. Typical experience has seen few of them.
#[test]
fn a_fleet_of_dry_pits_that_then_fill_teaches_what_typical_experience_does_not_know() {
    let population = Population {
        soils: [(1.0, Soil::Sand), (0.0, Soil::Loam), (0.0, Soil::Clay)],
        dry_for_years: 1.0,
        ..Population::default()
    };
    let fleet = simulate(&population, 41, 1200);
    let (teaching, held_out) = fleet.split_at(600);
    let (typical, typical_counts) = judged(&PopulationPrior::default(), held_out);
    let (learnt, learnt_counts) = judged(&learnt_from(teaching), held_out);
    println!("dry pits: {typical:.3} years lost by typical experience, {learnt:.3} learnt");
    println!("expected ÷ actual failures in five years: {typical_counts:.2} and {learnt_counts:.2}");
    assert!(learnt < typical, "{learnt} and {typical}");
    assert!((learnt_counts.ln()).abs() < typical_counts.ln().abs().max(0.2), "{learnt_counts}");
}

#[test]
fn a_usual_fleet_of_any_size_is_not_harmed_by_learning() {
    let fleet = simulate(&Population { household: Household::Mixed, ..Population::default() }, 43, 1200);
    let held_out = &fleet[800..];
    let (typical, _) = judged(&PopulationPrior::default(), held_out);
    for pits in [30, 100, 300, 800] {
        let (learnt, _) = judged(&learnt_from(&fleet[..pits]), held_out);
        println!("{pits} pits teach: {typical:.3} years lost by typical experience, {learnt:.3} learnt");
        assert!(learnt < 1.03 * typical, "{pits} pits: {learnt} and {typical}");
    }
}

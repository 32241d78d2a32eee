//! What a fleet teaches, judged on pits of the same fleet that taught nothing (simulated, with known futures).
//!
//! The simulation ([`tests::simulated_pits`]) rests on the balance of inflow and acceptance and knows nothing of the
//! method's hypotheses.

use soaklife::fleet::pooling::{Experience, GroupedExperience, PreparedPit};
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{as_inches, gallons_per_day};
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::{History, LoadHistory};
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
        let (loss, chance) = of_pit(&hypotheses, pit);
        lost += loss;
        expected += chance;
        failed += f64::from(pit.truth.years_to_inlet <= 5.0);
    }
    (lost / pits.len() as f64, expected / failed)
}

/// Pinball loss of the years to the inlet, the mean over the quantiles, and the chance of failing within five years.
fn of_pit(hypotheses: &Hypotheses, pit: &SimulatedPit) -> (f64, f64) {
    let depth = as_inches(pit.history.pit().effective_depth());
    let passage = Absorption::follow(&pit.history, as_of(), hypotheses).reaches(depth).unwrap();
    let came = pit.truth.years_to_inlet.min(LATEST);
    let lost = QUANTILES.map(|share| {
        let told = passage.years(share).unwrap_or(f64::INFINITY).min(LATEST);
        if came >= told { share * (came - told) } else { (1.0 - share) * (told - came) }
    });
    (lost.iter().sum::<f64>() / QUANTILES.len() as f64, passage.chance_within(5.0))
}

/// What groups gain over the whole fleet: mean loss without them, mean difference, and its standard error.
struct Gain {
    without: f64,
    difference: f64,
    error: f64,
}

impl Gain {
    fn of(losses: &[(f64, f64)]) -> Self {
        let count = losses.len() as f64;
        let mean = |of: &dyn Fn(&(f64, f64)) -> f64| losses.iter().map(of).sum::<f64>() / count;
        let difference = mean(&|(fleet, group)| group - fleet);
        let variance = mean(&|(fleet, group)| (group - fleet - difference).powi(2));
        Self { without: mean(&|(fleet, _)| *fleet), difference, error: (variance / (count - 1.0)).sqrt() }
    }
}

/// Two groups of a fleet, each half of the pits forecast by what the other half teaches: as they were read, and as if nobody had
/// read them.
fn by_group_and_without(groups: &[Vec<SimulatedPit>; 2]) -> [Gain; 2] {
    let prior = PopulationPrior::default();
    let laid_out = |prior: &PopulationPrior| Hypotheses::new(prior.clone()).unwrap();
    let (mut read, mut unread) = (Vec::new(), Vec::new());
    for half in [0, 1] {
        let mut experience = GroupedExperience::new(prior.clone());
        for (name, pits) in ["one", "other"].into_iter().zip(groups) {
            for pit in pits.iter().skip(1 - half).step_by(2) {
                let pit = PreparedPit::new(&pit.history, as_of(), &prior).unwrap();
                experience.add_prepared(pit, Some(name)).unwrap();
            }
        }
        let whole = experience.whole().learn();
        let of_fleet = laid_out(whole.prior());
        for ((_, group), pits) in experience.groups().zip(groups) {
            let of_group = laid_out(group.learn_from(whole.prior()).prior());
            for pit in pits.iter().skip(half).step_by(2) {
                let losses = |pit: &SimulatedPit| (of_pit(&of_fleet, pit).0, of_pit(&of_group, pit).0);
                read.push(losses(pit));
                unread.push(losses(&without_readings(pit)));
            }
        }
    }
    let gains = [Gain::of(&read), Gain::of(&unread)];
    for (pits, Gain { without, difference, error }) in ["read", "unread"].into_iter().zip(&gains) {
        println!(
            "{pits} pits: {without:.3} years lost by the fleet's prior, {difference:+.4} ± {error:.4} by the group's"
        );
    }
    gains
}

fn without_readings(pit: &SimulatedPit) -> SimulatedPit {
    let unread = History::new(*pit.history.pit()).with_soil(pit.history.soil());
    let unread = pit.history.installed().map_or(unread.clone(), |installed| unread.with_installed(installed));
    let history = pit.history.load().map_or(unread.clone(), |load| unread.with_load(load.clone()));
    let mut pit = pit.clone();
    pit.history = history;
    pit
}

/// The same pits where only a share of the water is on record: they clog at that share of the load.
fn with_load_on_record(share: f64, mut pits: Vec<SimulatedPit>) -> Vec<SimulatedPit> {
    for pit in &mut pits {
        let Some(load) = pit.history.load() else { continue };
        let steps = load.steps().iter().map(|step| (step.from, gallons_per_day(share * step.ratio)));
        let on_record = LoadHistory::new(gallons_per_day(1.0), steps).unwrap();
        pit.history = pit.history.clone().with_load(on_record);
    }
    pits
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

/// A pit's own readings soon say what its group would; where there are none, the group is all there is to go by.
#[test]
fn groups_that_differ_are_forecast_better_by_what_their_own_kind_teaches() {
    let population = Population::default();
    let usual = simulate(&population, 51, 600);
    let swift = with_load_on_record(0.5, simulate(&population, 52, 600));
    let [read, unread] = by_group_and_without(&[usual, swift]);
    assert!(unread.difference < -2.0 * unread.error, "{:+} ± {}", unread.difference, unread.error);
    assert!(read.difference < 2.0 * read.error, "{:+} ± {}", read.difference, read.error);
}

#[test]
fn groups_that_do_not_differ_are_not_harmed() {
    let population = Population::default();
    for gain in by_group_and_without(&[simulate(&population, 61, 400), simulate(&population, 62, 400)]) {
        assert!(gain.difference < 0.01 * gain.without, "{:+} of {}", gain.difference, gain.without);
        assert!(gain.difference < 2.0 * gain.error, "{:+} ± {}", gain.difference, gain.error);
    }
}

/// A twentieth of the water on record is a mistake in the records, not a fleet; however often the lessons are gone through, and
/// for a group on top of its fleet, threefold is the most that is believed.
#[test]
fn no_fleet_and_no_group_is_taken_to_be_more_than_three_times_as_fast_as_typical() {
    let mut experience = Experience::new(PopulationPrior::default());
    for pit in with_load_on_record(0.05, simulate(&Population::default(), 71, 200)) {
        experience.add(&pit.history, as_of());
    }
    let fleet = experience.learn();
    let group = experience.learn_from(fleet.prior());
    for learnt in [fleet, group] {
        let faster = PopulationPrior::default().reference_load / learnt.prior().reference_load;
        println!("{faster:.2} times as fast as typical");
        assert!((2.5..=3.0).contains(&faster), "{faster}");
    }
}

//! What a load test adds to the forecast, on simulated pits whose wall is known.
use soaklife::quantity::as_inches;
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::History;
use tests::simulated_pits::{Population, SimulatedPit, as_of, simulate};
use soaklife::reading::{Condition, Observation};
use soaklife::Reading;

const PINBALL: [f64; 7] = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95];

/// width, pinball, early10, early5, covered80 claim
fn score(history: &History, came: f64) -> [f64; 6] {
    let followed = Absorption::follow(history, as_of(), &Hypotheses::default());
    let passage = followed.reaches(as_inches(history.pit().effective_depth())).unwrap();
    let q = |p: f64| passage.years(p).unwrap_or(60.0);
    let capped = came.min(30.0);
    let loss = PINBALL.iter().map(|&p| { let told = q(p).min(30.0); if capped >= told { p * (capped - told) } else { (1.0 - p) * (told - capped) } }).sum::<f64>() / 7.0;
    let late = passage.years(0.9);
    let covered = came >= q(0.1) && late.is_none_or(|late| came <= late);
    let claim = late.map_or(0.9, |_| 0.8);
    [q(0.9) - q(0.1), loss, f64::from(came < q(0.1)), f64::from(came < q(0.05)), f64::from(covered), claim]
}

fn old(history: &History, years: f64) -> History {
    let readings = history.readings().iter().copied().filter(|r| soaklife::date::years_between(r.date().middle(), as_of()) >= years).collect::<Vec<_>>();
    history.clone().with_readings(readings)
}

fn report(name: &str, valley: &[SimulatedPit], base: impl Fn(&SimulatedPit) -> Option<History>, with: impl Fn(&SimulatedPit, History) -> History) {
    let mut sums = [[0.0; 6]; 2];
    let mut d = Vec::new();
    for pit in valley {
        let Some(base) = base(pit) else { continue };
        let one = score(&base, pit.truth.years_to_inlet);
        let other = score(&with(pit, base), pit.truth.years_to_inlet);
        for i in 0..6 { sums[0][i] += one[i]; sums[1][i] += other[i]; }
        d.push(other[1] - one[1]);
    }
    let n = d.len() as f64;
    let m = d.iter().sum::<f64>() / n;
    let se = (d.iter().map(|x| (x - m).powi(2)).sum::<f64>() / n).sqrt() / n.sqrt();
    for s in sums { println!("{name:28} n {n} width {:.2} pinball {:.4} early10 {:.3} early05 {:.3} cov {:.3} claim {:.3}", s[0]/n, s[1]/n, s[2]/n, s[3]/n, s[4]/n, s[5]/n); }
    println!("{name:28} pinball change {m:.4} +- {se:.4}");
}

#[test]
fn experiment() {
    let pits: usize = std::env::var("PITS").map_or(300, |n| n.parse().unwrap());
    let valley = simulate(&Population::default(), 4711, pits);
    for se in [0.1, 0.2] {
        let test = |pit: &SimulatedPit, history: History| history.with_acceptances([pit.load_test(se)]);
        report(&format!("all se {se}"), &valley, |pit| Some(pit.history.clone()), test);
        report(&format!("one reading se {se}"), &valley, |pit| (pit.history.readings().len() == 1).then(|| pit.history.clone()), test);
        report(&format!("3 y old se {se}"), &valley, |pit| { let h = old(&pit.history, 3.0); (!h.readings().is_empty()).then_some(h) }, test);
        report(&format!("no reading se {se}"), &valley, |pit| Some(pit.history.clone().with_readings([])), test);
        report(&format!("last dry se {se}"), &valley, |pit| pit.history.readings().last().is_some_and(|r| r.observation() == Observation::Dry).then(|| pit.history.clone()), test);
    }
    let map = |history: History, how: &dyn Fn(Reading) -> Option<Reading>| { let r: Vec<Reading> = history.readings().iter().filter_map(|r| if matches!(r.condition(), Condition::Vacant | Condition::AfterRain) { how(*r) } else { Some(*r) }).collect(); history.with_readings(r) };
    use tests::simulated_pits::Conditions;
    for c in [Conditions::Vacant, Conditions::Harmless(Condition::Vacant), Conditions::AfterRain, Conditions::Harmless(Condition::AfterRain)] {
        let base = |pit: &SimulatedPit| Some(map(pit.history_in(c, 0.25), &|r| Some(r.in_condition(Condition::Normal))));
        report(&format!("{c:?}: normal vs one-sided"), &valley, base, |pit, _| pit.history_in(c, 0.25));
        report(&format!("{c:?}: normal vs bound"), &valley, base, |pit, _| map(pit.history_in(c, 0.25), &|r| Some(r.in_condition(Condition::AfterPumping))));
        report(&format!("{c:?}: normal vs suspect"), &valley, base, |pit, _| map(pit.history_in(c, 0.25), &|r| Some(r.in_condition(Condition::Suspect))));
    }
}

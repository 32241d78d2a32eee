//! Experiment.
use soaklife::forecast::{Advice, NextReading};
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::{Question, quantity::as_inches};
use soaklife::date::date_after;
use tests::simulated_pits::{Population, as_of, simulate};

#[test]
fn experiment() {
    let pits: usize = std::env::var("PITS").map_or(100, |n| n.parse().unwrap());
    let valley = simulate(&Population::default(), 77, pits);
    let hypotheses = Hypotheses::default();
    let mut table: std::collections::BTreeMap<String, (f64, f64, f64, f64, f64, f64, f64)> = Default::default();
    let mut counts: std::collections::BTreeMap<String, usize> = Default::default();
    let mut elapsed = std::time::Duration::ZERO;
    for pit in &valley {
        let t0 = std::time::Instant::now();
        let Some(plan) = NextReading::plan(&pit.history, &Question::new(as_of()), &hypotheses) else { continue };
        elapsed += t0.elapsed();
        let depth = as_inches(pit.history.pit().effective_depth());
        let [early, late] = plan.range();
        let (name, rec) = match plan.advice() {
            Advice::Monthly => ("monthly".to_owned(), None),
            Advice::By(p) => (format!("by {:.2}", p.years), Some(p)),
            Advice::NoHurry(p) => (format!("nohurry {:.2}", p.years), Some(p)),
            _ => unreachable!(),
        };
        *counts.entry(name).or_default() += 1;
        let mut note = |key: String, p: &soaklife::forecast::Prospect| {
            if late <= early { return }
            let reading = pit.reading_in(p.years);
            let readings = pit.history.readings().iter().copied().chain([reading]);
            let day = date_after(as_of(), p.years).unwrap();
            let after = Absorption::follow(&pit.history.clone().with_readings(readings), day, &hypotheses).reaches(depth).unwrap();
            let end = |q: f64| after.years(q).map_or(60.0, |y| (y + p.years).min(60.0));
            let got = (end(0.9) - end(0.1)) / (late - early);
            let e = table.entry(key).or_default();
            e.0 += 1.0; e.1 += p.narrowing; e.2 += got; e.3 += (got - p.narrowing).powi(2);
            e.4 += p.range[1] - p.range[0]; e.5 += end(0.9) - end(0.1); e.6 += late - early;
        };
        for p in plan.prospects() { note(format!("t={:.2}", p.years), p); }
        if let Some(p) = rec { note("rec".into(), &p); note(format!("rec {}", if matches!(plan.advice(), Advice::By(_)) {"by"} else {"nohurry"}), &p); }
    }
    for (k, (n, p, g, d, pw, gw, w)) in &table {
        println!("{k:12} n {n} promised {:.4} got {:.4} se {:.4}  width before {:.2} promised {:.2} got {:.2}", p / n, g / n, (d / n).sqrt() / n.sqrt(), w/n, pw/n, gw/n);
    }
    println!("{counts:?} {:?} a pit", elapsed / pits as u32);
}

//! A second, slow and plain engine for the absorption forecast, and how far the first one is from it.
//!
//! It was written from the description of the method (the rustdoc of `soaklife::trend::absorption`), not from the engine's
//! code, and shares with it only what both must be given: the input types (a `History` and what is in it) and the numbers of
//! `PopulationPrior`. Everything that computes is its own: days are counted by the calendar crate, the normal distribution is
//! that of `statrs`, weights are logarithms, no hypothesis is ever dropped, bounds are integrated numerically, the passage is
//! followed on a grid of a hundredth of a year, and quantiles are bisected.
//!
//! The engine approximates in three ways, each measured by itself:
//!
//! 1. **Arithmetic**: dropped hypotheses, eight digits, the 24 moments of its passage with straight lines between them.
//! 2. **Moments**: after every reading a hypothesis is one normal distribution again. Here it may stay a mixture.
//! 3. **Strata**: the onset of a dry pit is looked for at 4 and 5 places. Here it may be at any number of them.
//!
//! `SECOND_ENGINE=all cargo nextest run -p tests --test second_engine --success-output=immediate` compares all 200 pits in all
//! three ways and prints what it finds; without it the first comparison takes 200 pits and the other two a fixed part of them.

mod second_engine {
    pub mod account;
    pub mod ahead;
    pub mod belief;
    pub mod hypotheses;
    pub mod pits;
}

use jiff::civil::Date;
use second_engine::ahead::Ahead;
use second_engine::belief::After;
use second_engine::hypotheses::Strata;
use second_engine::pits::{AS_OF, pit};
use soaklife::History;
use soaklife::quantity::as_inches;
use soaklife::trend::absorption::{Absorption, Hypotheses};

const SHARES: [f64; 3] = [0.1, 0.5, 0.9];
const HORIZON: f64 = 60.0;
/// The moments at which the engine follows its passage.
const MOMENTS: [f64; 24] = [
    0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 17.0, 20.0, 25.0,
    30.0, 35.0, 40.0, 50.0, 60.0,
];

/// The 10, 50 and 90 % points of the years to the inlet and of the level in five years.
#[derive(Clone, Copy)]
struct Answer {
    years: [f64; 3],
    levels: [f64; 3],
}

/// One pit, answered by the engine and by a second one.
struct Pair {
    number: u64,
    first: Answer,
    second: Answer,
}

fn first(history: &History, as_of: Date) -> Answer {
    let followed = Absorption::follow(history, as_of, &Hypotheses::default());
    let passage = followed.reaches(as_inches(history.pit().effective_depth())).unwrap();
    Answer {
        years: SHARES.map(|share| passage.years(share).unwrap_or(HORIZON)),
        levels: followed.levels_in(5.0, SHARES).unwrap(),
    }
}

fn second(ahead: &Ahead, moments: Option<&[f64]>) -> Answer {
    let curve = ahead.reached();
    let curve = moments.map_or(curve, |moments| ahead.reached().at(moments));
    Answer { years: curve.years(SHARES).map(|years| years.min(HORIZON)), levels: ahead.levels(5.0, SHARES) }
}

fn apart(one: f64, other: f64, least: f64) -> f64 {
    if one == other { 0.0 } else { (one - other).abs() / other.max(least) }
}

fn told(what: &str, pairs: &[Pair]) {
    for (of, place) in [("years", 0), ("levels", 1)] {
        let mut all: Vec<(f64, u64, f64, f64, f64)> = Vec::new();
        for pair in pairs {
            for at in 0..3 {
                let (a, b, least) = if place == 0 {
                    (pair.first.years[at], pair.second.years[at], 0.0)
                } else {
                    (pair.first.levels[at], pair.second.levels[at], 1.0)
                };
                all.push((apart(a, b, least), pair.number, SHARES[at], a, b));
            }
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let n = all.len();
        println!(
            "{what} {of}: median {:.2e}, 95 % {:.2e}, 99 % {:.2e}, most {:.2e}; above 1 %: {} of {n}",
            all[n / 2].0,
            all[n * 95 / 100].0,
            all[n * 99 / 100].0,
            all[n - 1].0,
            all.iter().filter(|x| x.0 > 0.01).count()
        );
        for x in all.iter().rev().take(12) {
            println!("  {x:?}");
        }
    }
}

#[test]
fn look() {
    let exact: u64 = std::env::var("EXACT").ok().and_then(|n| n.parse().ok()).unwrap_or(0);
    let mut sets: [(&str, Vec<Pair>); 5] = [
        ("kept+moments", vec![]),
        ("all+moments", vec![]),
        ("all+fine", vec![]),
        ("mixture", vec![]),
        ("strata", vec![]),
    ];
    for number in 0..std::env::var("N").ok().and_then(|n| n.parse().ok()).unwrap_or(200) {
        let history = pit(number);
        let engine = first(&history, AS_OF);
        let mut put =
            |place: usize, second: Answer| sets[place].1.push(Pair { number, first: engine, second });
        let all = Ahead::of(&history, After::Moments, Strata::OfTheMethod);
        put(1, second(&all, Some(&MOMENTS)));
        let fine = second(&all, None);
        put(2, fine);
        if number < exact {
            let t = std::time::Instant::now();
            let mixture = Ahead::of(&history, After::Mixture, Strata::OfTheMethod);
            sets[3].1.push(Pair {
                number,
                first: second(&all, Some(&MOMENTS)),
                second: second(&mixture, Some(&MOMENTS)),
            });
            println!("{number} {:?} {}", t.elapsed(), mixture.count());
            let strata = Ahead::of(&history, After::Moments, Strata::Even(40));
            sets[4].1.push(Pair { number, first: fine, second: second(&strata, None) });
        }
        sets[0].1.push(Pair {
            number,
            first: engine,
            second: second(&all.without_less_than(1e-3), Some(&MOMENTS)),
        });
    }
    for (what, pairs) in &sets {
        if !pairs.is_empty() {
            told(what, pairs);
        }
    }
}

//! A second, slow and plain engine for the absorption forecast, and how far the first one is from it.
//!
//! It was written from the description of the method (the rustdoc of `soaklife::trend::absorption`), and shares with the
//! engine only what both must be given: the input types (a `History` and what is in it) and the numbers of `PopulationPrior`.
//! Everything that computes is its own: days are counted by the calendar crate, the normal distribution is that of `statrs`,
//! weights are logarithms, no hypothesis is ever dropped, bounds are integrated numerically, the passage is followed in steps of a
//! hundredth of a year, and quantiles are bisected. A few judgements that are constants of the method, not of the prior (the
//! shifts of events, the strata of the onset), are written down again.
//!
//! The pits are drawn at random, always the same 200, and harsh: 1 to 20 readings with errors of up to 4 in, one in twenty a foot
//! or two off, one in ten in a vacant house, one in ten after rain, suspect or pumped ones; unknown ages and loads, four loads in a
//! life, events of every kind.
//!
//! `SECOND_ENGINE=all cargo nextest run --workspace --test second_engine --success-output=immediate` compares all pits also
//! with what takes minutes (kept mixtures, finer strata) and tells every figure; otherwise that takes every tenth pit.

mod second_engine {
    pub mod account;
    pub mod ahead;
    pub mod belief;
    pub mod hypotheses;
    pub mod pits;
}

use second_engine::ahead::{Ahead, Curve};
use second_engine::belief::After;
use second_engine::hypotheses::Strata;
use second_engine::pits::{AS_OF, pit};
use soaklife::History;
use soaklife::quantity::as_inches;
use soaklife::trend::absorption::{Absorption, Hypotheses};

const PITS: u64 = 200;
const SHARES: [f64; 3] = [0.1, 0.5, 0.9];
const HORIZON: f64 = 60.0;
/// Steps in which a passage is followed, years.
const A_HUNDREDTH: f64 = 0.01;
const A_QUARTER: f64 = 0.25;
/// Hypotheses of a smaller share than this of the best one's weight do not count in the engine.
const LEAST_SHARE: f64 = 1e-3;
/// The 10, 50 and 90 % points of the years to the inlet, 60 where it is farther, and of the level in five years, inches.
#[derive(Clone, Copy)]
struct Answer {
    years: [f64; 3],
    levels: [f64; 3],
}

fn engine(history: &History) -> Answer {
    let followed = Absorption::follow(history, AS_OF, &Hypotheses::default());
    let passage = followed.reaches(as_inches(history.pit().effective_depth())).unwrap();
    Answer {
        years: SHARES.map(|share| passage.years(share).unwrap_or(HORIZON)),
        levels: followed.levels_in(5.0, SHARES).unwrap(),
    }
}

/// The second engine's answer by a passage that it has followed.
fn answer(ahead: &Ahead, passage: &Curve) -> Answer {
    let years = passage.years(SHARES).map(|years| years.min(HORIZON));
    Answer { years, levels: ahead.levels(5.0, SHARES) }
}

/// With a passage in steps of a quarter of a year, where two answers of this engine are held against each other.
fn in_quarters(ahead: &Ahead) -> Answer {
    answer(ahead, &ahead.reached(A_QUARTER))
}

/// Two answers about one pit: what is tried, and what it is held against.
struct Pair {
    number: u64,
    tried: Answer,
    reference: Answer,
}

/// How far two numbers are apart, as a share of the second; levels below an inch, which no stick tells apart, as one of an inch.
#[derive(Clone, Copy)]
struct Apart {
    share: f64,
    number: u64,
    tried: f64,
    reference: f64,
}

impl Pair {
    /// Without those that both say lie beyond the horizon, or are there today: agreement that costs nothing.
    fn years(&self) -> impl Iterator<Item = Apart> {
        let said =
            |apart: &Apart| apart.tried != apart.reference || (apart.tried > 0.0 && apart.tried < HORIZON);
        self.apart(self.tried.years, self.reference.years, f64::MIN_POSITIVE).filter(said)
    }

    fn levels(&self) -> impl Iterator<Item = Apart> {
        self.apart(self.tried.levels, self.reference.levels, 1.0)
    }

    /// Levels as a share of the range from the 10 to the 90 % point.
    fn levels_in_ranges(&self) -> impl Iterator<Item = Apart> {
        let range = self.reference.levels[2] - self.reference.levels[0];
        self.levels().map(move |apart| Apart {
            share: (apart.tried - apart.reference).abs() / range.max(1.0),
            ..apart
        })
    }

    fn apart(&self, tried: [f64; 3], reference: [f64; 3], least: f64) -> impl Iterator<Item = Apart> {
        let number = self.number;
        tried.into_iter().zip(reference).map(move |(tried, reference)| Apart {
            share: (tried - reference).abs() / reference.max(least),
            number,
            tried,
            reference,
        })
    }
}

/// The differences from the least to the most, told.
fn sorted(what: &str, apart: impl Iterator<Item = Apart>) -> Vec<Apart> {
    let mut all: Vec<Apart> = apart.collect();
    all.sort_by(|one, next| one.share.total_cmp(&next.share));
    let above = all.iter().filter(|apart| apart.share > 0.01).count();
    let [median, most_of, nearly_all, most] = [0.5, 0.95, 0.99, 1.0].map(|share| quantile(&all, share));
    println!(
        "{what}: {} compared; median {median:.1e}, 95 % {most_of:.1e}, 99 % {nearly_all:.1e}, most {most:.1e}; {above} above 1 %",
        all.len()
    );
    for Apart { share, number, tried, reference } in all.iter().rev().take(3) {
        println!("    pit {number}: {tried:.4} against {reference:.4} ({:.2} %)", 100.0 * share);
    }
    all
}

fn quantile(sorted: &[Apart], share: f64) -> f64 {
    sorted[((sorted.len() - 1) as f64 * share).round() as usize].share
}

fn largest(sorted: &[Apart]) -> f64 {
    quantile(sorted, 1.0)
}

/// All pits, or every tenth where a comparison takes long and was not asked for.
fn some_pits() -> impl Iterator<Item = u64> {
    let step = if std::env::var("SECOND_ENGINE").is_ok_and(|which| which == "all") { 1 } else { 10 };
    (0..PITS).step_by(step)
}

/// The engine computes what the method says, to one per cent: levels and years against every hypothesis and a passage followed
/// in steps of a hundredth of a year.
///
/// With only the hypotheses that the engine keeps, levels agree to a ten-millionth; what is left of the years is the passage
/// between the engine's 56 moments.
#[test]
fn the_engine_computes_what_the_method_says() {
    let (mut same, mut kept) = (Vec::new(), Vec::new());
    for number in 0..PITS {
        let history = pit(number);
        let tried = engine(&history);
        let all = Ahead::of(&history, After::Moments, Strata::OfTheMethod);
        kept.push(Pair { number, tried, reference: answer(&all, &all.reached(A_HUNDREDTH)) });
        let counting = all.without_less_than(LEAST_SHARE);
        same.push(Pair { number, tried, reference: answer(&counting, &counting.reached(A_HUNDREDTH)) });
    }
    let levels = |pairs: &[Pair], what: &str| sorted(what, pairs.iter().flat_map(Pair::levels));
    let years = |pairs: &[Pair], what: &str| sorted(what, pairs.iter().flat_map(Pair::years));

    assert!(largest(&levels(&same, "levels, same hypotheses")) < 1e-7);
    assert!(largest(&years(&same, "years, same hypotheses")) < 0.01);
    assert!(largest(&levels(&kept, "levels, every hypothesis kept")) < 0.01);
    assert!(largest(&years(&kept, "years, every hypothesis kept")) < 0.01);
}

/// What the method gives up by taking the mixture that a reading leaves for one normal distribution.
///
/// That is no rounding: a bound, an empty house or a height a foot off leaves a lopsided mixture, and in a harsh record there are
/// several. The numbers of the prior were found with the one normal distribution in place, so that the kept mixture is the
/// same model computed exactly, not a better forecast. Kept twice as finely it moves by up to three per cent itself.
#[test]
fn one_normal_distribution_stands_for_a_mixture() {
    let (mut pairs, mut finer) = (Vec::new(), Vec::new());
    for number in some_pits() {
        let history = pit(number);
        let tried = in_quarters(&Ahead::of(&history, After::Moments, Strata::OfTheMethod));
        let mixture = in_quarters(&Ahead::of(&history, After::Mixture(1), Strata::OfTheMethod));
        pairs.push(Pair { number, tried, reference: mixture });
        if number % 40 == 30 {
            let reference = in_quarters(&Ahead::of(&history, After::Mixture(2), Strata::OfTheMethod));
            finer.push(Pair { number, tried: mixture, reference });
        }
    }
    let finer_levels = sorted("levels, mixtures kept twice as finely", finer.iter().flat_map(Pair::levels));
    let finer_years = sorted("years, mixtures kept twice as finely", finer.iter().flat_map(Pair::years));
    assert!(largest(&finer_levels) < 0.01 && largest(&finer_years) < 0.04);

    let levels = sorted("levels, mixtures kept", pairs.iter().flat_map(Pair::levels));
    let years = sorted("years, mixtures kept", pairs.iter().flat_map(Pair::years));
    let ranges = sorted("levels as shares of the range", pairs.iter().flat_map(Pair::levels_in_ranges));
    assert!(quantile(&levels, 0.5) < 0.005 && quantile(&levels, 0.95) < 0.05);
    assert!(quantile(&years, 0.5) < 0.04 && quantile(&years, 0.95) < 0.21);
    assert!(quantile(&ranges, 0.95) < 0.1);
}

/// What the method gives up by looking for an onset at four or five places: next to nothing, but for one pit in fifteen whose level
/// has risen late and fast, where the nearest place is not near enough.
#[test]
fn a_few_strata_stand_for_the_onset() {
    let mut pairs = Vec::new();
    for number in some_pits() {
        let history = pit(number);
        let tried = in_quarters(&Ahead::of(&history, After::Moments, Strata::OfTheMethod));
        let reference = in_quarters(&Ahead::of(&history, After::Moments, Strata::Even(40)));
        pairs.push(Pair { number, tried, reference });
    }
    let levels = sorted("levels, forty strata", pairs.iter().flat_map(Pair::levels));
    let years = sorted("years, forty strata", pairs.iter().flat_map(Pair::years));
    assert!(quantile(&levels, 0.95) < 0.01 && quantile(&years, 0.95) < 0.08);
}

//! Counts of failures: the Poisson-binomial distribution against references in many digits, and the refined
//! normal of very many pits against the exact counts.

use soaklife::fleet::{CommonFactor, CountDistribution, MOST_EXACT, Replacements};
use soaklife::numerics::lattice_normal::Cumulants;
use soaklife::numerics::poisson_binomial::PoissonBinomial;
use tests::{assert_close, assert_within, published_column, published_table};

/// Masses to 1e-12 where above 1e-200 and within 1e-15 elsewhere, cumulative chances to 1e-13: recomputed with
/// mpmath in exact arithmetic and by a discrete Fourier transform (`fixtures/published/statistics/README.md`).
fn agrees_with_the_reference(name: &str, entries: usize) {
    let chances = published_column(&format!("statistics/distributions/poisson_binomial_{name}_p.csv"), "p");
    let count = PoissonBinomial::of(chances.iter().copied()).unwrap();
    // The windows of a budget are narrower: within 1e-15 nonetheless.
    let narrow = PoissonBinomial::carrying(chances, 1e-20).unwrap();
    let rows = published_table(&format!("statistics/distributions/poisson_binomial_{name}.csv"));
    assert_eq!(rows.len(), entries);
    for row in rows {
        let (k, mass, at_most) = (row[0] as usize, row[1], row[2]);
        let what = format!("{name}, k = {k}");
        if mass > 1e-200 {
            assert_close(count.mass(k), mass, 1e-12, &what);
        } else {
            assert_within(count.mass(k), mass, 1e-15, &what);
        }
        assert_within(count.at_most(k), at_most, 1e-13, &what);
        assert_within(narrow.mass(k), mass, 1e-15, &what);
        assert_within(narrow.at_most(k), at_most, 1e-13, &what);
    }
}

#[test]
fn three_pits_by_hand() {
    agrees_with_the_reference("hand3", 4);
}

#[test]
fn certain_impossible_and_all_but_impossible() {
    agrees_with_the_reference("edge", 6);
}

#[test]
fn twenty_and_a_thousand() {
    agrees_with_the_reference("n20", 21);
    agrees_with_the_reference("n1000", 1001);
    agrees_with_the_reference("n1000_rare", 1001);
}

/// A thousand of the reference as pits of a fleet without a shared error.
#[test]
fn a_fleet_counts_as_the_reference_does() {
    let mut fleet = Replacements::new(1, CommonFactor::NONE);
    for chance in published_column("statistics/distributions/poisson_binomial_n1000_p.csv", "p") {
        fleet.add(&[chance]).unwrap();
    }
    let count = fleet.in_year(0);
    for row in published_table("statistics/distributions/poisson_binomial_n1000.csv") {
        assert_within(count.chance_of(row[0] as u64), row[1], 1e-14, &format!("k = {}", row[0]));
        assert_within(count.chance_of_at_most(row[0] as u64), row[2], 1e-13, &format!("k = {}", row[0]));
    }
}

/// Sixty pits under the shared error, against the plain double sum over a fine grid of the factor (constructed
/// here).
#[test]
fn the_shared_error_is_a_mixture() {
    let chances: Vec<f64> = (0..60).map(|pit| f64::from(pit) / 60.0).collect();
    let mut fleet = Replacements::new(1, CommonFactor::new(0.2).unwrap());
    chances.iter().for_each(|&chance| fleet.add(&[chance]).unwrap());
    let found = fleet.in_year(0);
    // The factor reaches 3.5 standard deviations to each side and no farther; the grid is the midpoint rule.
    const CELLS: i32 = 4_000;
    let grid: Vec<f64> =
        (0..CELLS).map(|cell| 7.0 * (f64::from(cell) + 0.5) / f64::from(CELLS) - 3.5).collect();
    let weight = |z: f64| (-0.5 * z * z).exp();
    let total: f64 = grid.iter().map(|&z| weight(z)).sum();
    let variance: f64 = grid.iter().map(|&z| weight(z) * z * z).sum::<f64>() / total;
    let mut mixed = vec![0.0; 61];
    for &z in &grid {
        let excess = 0.2 * z / variance.sqrt();
        let under = chances.iter().map(|p| p + excess * p.min(1.0 - p));
        let count = PoissonBinomial::of(under).unwrap();
        mixed.iter_mut().enumerate().for_each(|(k, sum)| *sum += weight(z) / total * count.mass(k));
    }
    let mut by_then = 0.0;
    for (k, mass) in mixed.iter().enumerate() {
        by_then += mass;
        // A budget needs whole counts at a few probabilities; a part in a thousand is what the few nodes leave.
        assert_within(found.chance_of_at_most(k as u64), by_then, 1e-3, &format!("k = {k}"));
    }
    let mean: f64 = mixed.iter().enumerate().map(|(k, mass)| k as f64 * mass).sum();
    let square: f64 = mixed.iter().enumerate().map(|(k, mass)| (k * k) as f64 * mass).sum();
    assert_within(found.expected(), mean, 1e-9, "mean");
    assert_close(found.standard_deviation(), (square - mean * mean).sqrt(), 1e-9, "spread");
}

/// The chances of the three years, each so many times those of a pit's own pace.
fn chances(pace: f64) -> [f64; 3] {
    [pace, (2.5 * pace).min(1.0), (6.0 * pace).min(1.0)]
}

/// Fleets one below and one above the limit of exact counts, of the same kind of pits: the quantiles that are
/// told differ by one at most, over four decades of chances, in each year and in all, with and without the
/// shared error.
#[test]
fn very_many_pits_are_counted_to_within_one() {
    for factor in [CommonFactor::NONE, CommonFactor::default(), CommonFactor::new(0.1).unwrap()] {
        for scale in [2e-6, 3e-5, 3e-4, 3e-3, 0.03, 0.3] {
            let mut exact = Replacements::new(3, factor);
            let mut refined = Replacements::new(3, factor);
            for pit in 0..MOST_EXACT {
                let even = (pit as f64 * 0.618_033_988_749_895).fract(); // spread evenly over 0–1
                let pit = chances(scale * even * even);
                exact.add(&pit).unwrap();
                refined.add(&pit).unwrap();
            }
            // A pit that cannot fail changes no count, but is one too many to stay exact.
            refined.add(&[0.0; 3]).unwrap();
            for place in 0..3 {
                within_one(&exact.in_year(place), &refined.in_year(place), &format!("{scale}, year {place}"));
                within_one(
                    &exact.by_end_of(place),
                    &refined.by_end_of(place),
                    &format!("{scale}, by {place}"),
                );
            }
        }
    }
}

#[track_caller]
fn within_one(exact: &CountDistribution, refined: &CountDistribution, what: &str) {
    assert!(exact.is_exact() && !refined.is_exact());
    assert_eq!(exact.expected(), refined.expected());
    for probability in [0.025, 0.1, 0.5, 0.9, 0.95, 0.975] {
        let [exact, refined] = [exact, refined].map(|count| count.quantile(probability).unwrap());
        assert!(exact.abs_diff(refined) <= 1, "{what}, {probability}: {refined} for {exact}");
    }
}

/// A hundred fair coins against their exact distribution: the first terms that the expansion leaves out are
/// λ₆/720·He₅φ and λ₄²/1152·He₇φ, with λ₄ = −0.02, λ₆ = 0.0016, |He₅φ| < 2.4 and |He₇φ| < 15: 1.1e-5 together.
#[test]
fn the_refined_normal_on_a_hundred_coins() {
    let coins = Cumulants { mean: 50.0, variance: 25.0, third: 0.0, fourth: -12.5 };
    let exact = PoissonBinomial::of(vec![0.5; 100]).unwrap();
    for k in 0..=100 {
        assert_within(coins.at_most(k as f64), exact.at_most(k), 1.1e-5, &format!("k = {k}"));
    }
}

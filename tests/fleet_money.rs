//! Money: interest factors against printed tables, worked examples, and what failures cost against a plain
//! convolution.

use jiff::civil::date;
use soaklife::fleet::{Budget, CommonFactor, CostModel, Outlays, Replacements, YearsAhead, sinking_fund};
use soaklife::numerics::compound_interest::Factors;
use soaklife::numerics::poisson_binomial::PoissonBinomial;
use tests::{assert_close, assert_within, published_rows};

/// Every row of the factor table: computed values within half their last digit, printed ones within half of
/// theirs. `fixtures/published/trade/60_economic_factors.csv`: two printed tables (0.25 and 35 % a period) and
/// the formulas.
#[test]
fn factor_tables() {
    let rows = published_rows("trade/60_economic_factors.csv");
    assert_eq!(rows.len(), 8);
    let mut printed = 0;
    for row in &rows {
        let factors = Factors::new(row[0].parse().unwrap(), row[1].parse().unwrap()).unwrap();
        let found = [
            factors.compound_amount,
            factors.present_worth,
            factors.sinking_fund,
            factors.series_compound_amount,
            factors.capital_recovery,
            factors.series_present_worth,
        ];
        // Computed columns: F/P, P/F, A/F, F/A, A/P, P/A; printed ones: F/P, P/F, A/F, F/A, A/P, P/A.
        for (column, told) in row[2..14].iter().enumerate().filter(|(_, told)| !told.is_empty()) {
            let decimals = told.split('.').nth(1).map_or(0, str::len) as i32;
            let half = 0.5 * 10f64.powi(-decimals) * (1.0 + 1e-9);
            assert_within(
                found[column % 6],
                told.parse().unwrap(),
                half,
                &format!("{row:?}, column {column}"),
            );
            printed += usize::from(column >= 6);
        }
    }
    assert_eq!(printed, 30, "five printed rows of six factors");
}

/// No interest and hardly any: the limits n, 1/n, and the first terms of the series in i, worked by hand.
#[test]
fn no_interest_and_hardly_any() {
    let none = Factors::new(0.0, 20.0).unwrap();
    assert_eq!((none.series_compound_amount, none.series_present_worth), (20.0, 20.0));
    assert_eq!((none.sinking_fund, none.capital_recovery, none.compound_amount), (0.05, 0.05, 1.0));
    for rate in [1e-300, 1e-15, 1e-9, -1e-9] {
        let tiny = Factors::new(rate, 20.0).unwrap();
        // F/A = n (1 + (n − 1) i/2 + …), P/A = n (1 − (n + 1) i/2 + …).
        assert_close(tiny.series_compound_amount, 20.0 * (1.0 + 9.5 * rate), 1e-14, "F/A");
        assert_close(tiny.series_present_worth, 20.0 * (1.0 - 10.5 * rate), 1e-14, "P/A");
    }
    assert!(Factors::new(0.5, 1e9).is_err() && Factors::new(f64::NAN, 1.0).is_err());
    assert!(Factors::new(0.02, 0.0).is_err());
}

/// 1250 in March 2018 rising 3.5 % a year is 1397.87 in June 2021; the examination's answer A is 1,398.
/// University of California, Merced, ENGR 155 final examination (2022).
#[test]
fn escalation_of_an_examination() {
    let costs = CostModel::new(0.035, 0.0, 0.0).unwrap();
    let cost = costs.cost_in(1_250.0, 3.25);
    assert_within(cost, 1_397.87, 0.01, "cost");
    assert_eq!(cost.round(), 1_398.0);
}

/// 10,000 rising 3 % a year for 12 years is 14,257.61; worth 11,242.03 today at 2 %; 1,063.04 a year pays for
/// it. Computed. 10,000 lies inside the 5,000–15,000 of a consumer page of the US EPA.
#[test]
fn one_pit_in_twelve_years() {
    let costs = CostModel::new(0.03, 0.02, 0.0).unwrap();
    let cost = costs.cost_in(10_000.0, 12.0);
    assert_within(cost, 14_257.61, 0.01, "cost");
    assert_within(cost * Factors::new(0.02, 12.0).unwrap().present_worth, 11_242.03, 0.01, "worth");
    assert_within(sinking_fund(10_000.0, &costs, 12.0).unwrap(), 1_063.04, 0.01, "a year");
    let without_interest = CostModel::new(0.0, 0.0, 0.0).unwrap();
    assert_eq!(sinking_fund(12_000.0, &without_interest, 12.0), Ok(1_000.0));
}

/// What surely falls due in the middle of the first of ten years is repaid by ten deposits in the middle of
/// each: A/P, one period earlier. Calendar years and years of 365.25 days differ by hours.
#[test]
fn the_level_reserve_is_capital_recovery() {
    let years = YearsAhead::new(date(2027, 1, 1), 9).unwrap();
    let mut budget = Budget::new(years, CommonFactor::NONE, CostModel::new(0.0, 0.05, 0.0).unwrap());
    budget.add(&[1.0; 10], 10_000.0, None).unwrap();
    let reserve = budget.whole().reserve();
    let recovery = Factors::new(0.05, 10.0).unwrap().capital_recovery;
    assert_close(reserve.level_of_expected(), 10_000.0 * recovery / 1.05, 2e-4, "A/P");
    assert_within(*reserve.expected_fund().last().unwrap(), 0.0, 1e-6, "nothing is left");
    assert!(reserve.expected_fund()[0] < -8_000.0, "and the fund is short until then");
}

const CELL: f64 = 250.0;

/// A lognormal cost on a lattice of cells, mean and spread as told: the plain way.
fn lattice_cost(mean: f64, variation: f64) -> Vec<f64> {
    let variance = (variation * variation).ln_1p();
    let centre = mean.ln() - 0.5 * variance;
    let at_most = |amount: f64| soaklife::numerics::normal::cdf((amount.ln() - centre) / variance.sqrt());
    (0..600)
        .map(|cell| {
            at_most((f64::from(cell) + 0.5) * CELL) - at_most(((f64::from(cell) - 0.5) * CELL).max(0.0))
        })
        .collect()
}

/// Thirty pits of three prices, chances from 1 to 60 %, each cost lognormal with a spread of 30 %: the money of
/// a year by convolving pit after pit over cells of 250, against count × lognormal. The stated approximation:
/// quantiles from 10 to 97.5 % are within 3 % of the true ones, or within a tenth of one cost.
#[test]
fn money_against_a_plain_convolution() {
    let prices = [9_000.0, 15_000.0, 24_000.0];
    for scale in [0.1, 0.4, 1.0] {
        let pits: Vec<(f64, f64)> =
            (0..30).map(|pit| (scale * (0.01 + 0.02 * f64::from(pit)), prices[pit as usize % 3])).collect();
        let mut money = vec![1.0];
        for &(chance, price) in &pits {
            let cost = lattice_cost(price, 0.3);
            let mut next = vec![0.0; 6_000];
            for (cell, mass) in money.iter().enumerate().filter(|(_, mass)| **mass > 1e-15) {
                next[cell] += mass * (1.0 - chance);
                for (more, share) in cost.iter().enumerate() {
                    if let Some(sum) = next.get_mut(cell + more) {
                        *sum += mass * chance * share;
                    }
                }
            }
            money = next;
        }
        assert_within(money.iter().sum::<f64>(), 1.0, 1e-4, "nothing is lost");

        let years = YearsAhead::new(date(2027, 1, 1), 1).unwrap();
        let mut fleet = Replacements::new(2, CommonFactor::NONE);
        let mut outlays = Outlays::new(&years, CostModel::new(0.0, 0.0, 0.3).unwrap());
        for &(chance, price) in &pits {
            fleet.add(&[chance, chance]).unwrap();
            outlays.add(&[chance, chance], price).unwrap();
        }
        let found = outlays.in_year(0, &fleet.in_year(0));
        let plain_mean: f64 = pits.iter().map(|(chance, price)| chance * price).sum();
        assert_close(found.mean(), plain_mean, 1e-12, "mean");
        for probability in [0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.975] {
            let mut sum = 0.0;
            let cell = money.iter().position(|mass| {
                sum += mass;
                sum >= probability
            });
            let plain = cell.unwrap() as f64 * CELL;
            let (error, bound) = ((found.quantile(probability) - plain).abs(), (0.03 * plain).max(1_500.0));
            assert!(error <= bound, "{scale}, {probability}: {} for {plain}", found.quantile(probability));
        }
    }
}

/// The present worth of all payments of ten years, by the double sum over pits and years without the shared
/// error, has the mean and variance of the reserve: payments of one pit exclude each other.
#[test]
fn present_worth_by_the_double_sum() {
    let years = YearsAhead::new(date(2027, 1, 1), 9).unwrap();
    let (rise, interest, spread) = (0.03, 0.05, 0.3);
    let mut budget =
        Budget::new(years.clone(), CommonFactor::NONE, CostModel::new(rise, interest, spread).unwrap());
    let (mut mean, mut variance) = (0.0, 0.0);
    for pit in 0..80 {
        let pace = 0.001 * f64::from(pit % 20 + 1);
        let chances: Vec<f64> = (1..=10).map(|year| (pace * f64::from(year)).min(1.0)).collect();
        budget.add(&chances, 15_000.0, None).unwrap();
        let (mut first, mut second, mut begin, mut before) = (0.0, 0.0, 0.0, 0.0);
        for (chance, end) in chances.iter().zip(years.ends()) {
            let paid = 15_000.0 * ((1.0 + rise) / (1.0 + interest)).powf(0.5 * (begin + end));
            first += (chance - before) * paid;
            second += (chance - before) * paid * paid * (1.0 + spread * spread);
            (begin, before) = (*end, *chance);
        }
        mean += first;
        variance += second - first * first;
    }
    let worth = budget.whole().reserve();
    assert_close(worth.present_worth().mean(), mean, 1e-12, "mean");
    // Σ F² w̄² for Σ (F w)²: the mean payment of all stands for that of each.
    assert_close(worth.present_worth().standard_deviation(), variance.sqrt(), 1e-3, "spread");
}

/// The counts behind the money of a year are the exact ones.
#[test]
fn no_failure_costs_nothing() {
    let mut fleet = Replacements::new(2, CommonFactor::NONE);
    let mut outlays =
        Outlays::new(&YearsAhead::new(date(2027, 1, 1), 1).unwrap(), CostModel::new(0.0, 0.0, 0.3).unwrap());
    for chance in [0.1, 0.2, 0.3] {
        fleet.add(&[chance, chance]).unwrap();
        outlays.add(&[chance, chance], 15_000.0).unwrap();
    }
    let none = PoissonBinomial::of([0.1, 0.2, 0.3]).unwrap().mass(0);
    assert_within(outlays.in_year(0, &fleet.in_year(0)).at_most(0.0), none, 1e-14, "0.9 × 0.8 × 0.7");
}

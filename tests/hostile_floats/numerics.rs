//! Any float into the statistics without a trade word.

use crate::{all_finite, finite, finite_words, wicked};
use proptest::prelude::*;
use soaklife::numerics::binomial::exact_interval;
use soaklife::numerics::branch_free;
use soaklife::numerics::compound_sum::CompoundSum;
use soaklife::numerics::golden_section::highest;
use soaklife::numerics::lattice_normal::Cumulants;
use soaklife::numerics::mann_kendall::MannKendall;
use soaklife::numerics::normal;
use soaklife::numerics::normal_mixture::{Component, NormalMixture};
use soaklife::numerics::poisson_binomial::PoissonBinomial;
use soaklife::numerics::quantile_score::{Quantile, QuantileForecast};
use soaklife::numerics::root::bracketed_root;
use soaklife::numerics::straight_line::StraightLine;
use soaklife::numerics::student_t::StudentT;
use soaklife::numerics::theil_sen::TheilSen;

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, ..ProptestConfig::default() })]

    #[test]
    fn distributions(a in wicked(), b in wicked(), c in wicked()) {
        if !a.is_nan() {
            all_finite("normal", [normal::density(a), normal::cdf(a), normal::upper_tail(a)]);
        }
        if a.is_finite() {
            finite("normal", branch_free::cdf(a));
        }
        all_finite("quantile", normal::quantile(a).ok());
        if let Ok(t) = StudentT::new(a) {
            all_finite("t", t.quantile(b).ok().filter(|_| b > 1e-3 && b < 0.999 && a > 0.1));
            if !c.is_nan() {
                all_finite("t", [t.density(c), t.cdf(c), t.upper_tail(c)]);
            }
            all_finite("t", t.two_sided_multiplier(b).ok().filter(|_| b < 0.999 && a > 0.1));
        }
        let mixture = NormalMixture::new([
            Component { weight: 1.0, mean: a, standard_deviation: b }, Component { weight: 0.5, mean: c, standard_deviation: 1.0 },
        ]);
        all_finite("mixture", mixture.quantile(0.3).into_iter().chain(mixture.quantile(a)));
        if let Ok(interval) = exact_interval(3, 10, a) {
            all_finite("binomial", [interval.lower, interval.upper]);
        }
        if let Ok(count) = PoissonBinomial::of([a, b, c]) {
            all_finite("masses", count.masses().iter().copied());
        }
        let sum = CompoundSum::new([(1.0, 0.5), (2.0, 0.5)], 1e4, 3e3);
        prop_assert!(a.is_nan() || (0.0..=1.0).contains(&sum.at_most(a)));
        if (0.0..=1.0).contains(&b) && b > 0.0 && b < 1.0 {
            finite("sum", sum.quantile(b));
        }
        let _ = Cumulants::of_power_sums([a, b, c, a]).at_most(b);
    }

    #[test]
    fn sums_and_scores(a in wicked(), b in wicked(), c in wicked(), d in wicked()) {
        let sum = CompoundSum::new([(a, b), (c, d)], a, b);
        // The variance of a sum holds fourth powers.
        if [a, b, c, d].iter().all(|number| number.abs() < 1e70) {
            all_finite("sum", [sum.mean(), sum.standard_deviation(), sum.quantile(0.3)]);
        }
        let _ = (sum.at_most(c), sum.quantile(d));
        let quantile = |probability, value| Quantile { probability, value };
        if let Ok(told) = QuantileForecast::new(vec![quantile(0.2, a), quantile(c.abs(), b)]) {
            let scores = [told.mean_pinball_loss(d), told.crps(d)];
            if [a, b, d].iter().all(|number| number.abs() < 1e100) {
                all_finite("score", scores);
            }
        }
        let _ = highest(|x| -(x - a).abs(), b, c, 30);
    }

    #[test]
    fn fits(raw in prop::collection::vec((wicked(), wicked(), wicked()), 2..9), value in wicked(), coverage in wicked()) {
        let (x, y): (Vec<f64>, Vec<f64>) = raw.iter().map(|&(x, y, _)| (x, y)).unzip();
        let weights: Vec<f64> = raw.iter().map(|&(.., weight)| weight).collect();
        for weights in [None, Some(weights.as_slice())] {
            let Ok(line) = StraightLine::fit(&x, &y, weights) else { continue };
            all_finite("line", [line.slope(), line.mean_at_centre(), line.residual_sd(), line.slope_standard_error(), line.centre()]);
            if let Ok(inverse) = line.inverse_of_mean(value, coverage) {
                finite_words(&format!("{inverse:?}"));
            }
        }
        if let Ok(test) = MannKendall::test(&x, &y) {
            all_finite("ranks", [test.variance(), test.z(), test.two_sided_p(), test.tau_b().unwrap_or_default()]);
        }
        if let Ok(sen) = TheilSen::fit(&x, &y) {
            all_finite("sen", [sen.slope(), sen.median_x(), sen.intercept()]);
            prop_assert!(value.is_nan() || (0.0..=1.0).contains(&sen.probability_slope_exceeds(value)));
        }
        let root = bracketed_root(|at| at - value, -coverage.abs(), coverage.abs(), 1e-9, 100);
        all_finite("root", root.map(|root| root.at));
    }
}

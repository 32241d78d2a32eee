//! Laws that hold for every fleet.

use jiff::civil::date;
use proptest::prelude::*;
use soaklife::fleet::{
    Budget, Candidate, CommonFactor, CostModel, CountDistribution, Replacements, Urgency, VisitList,
    YearsAhead,
};
use soaklife::numerics::compound_interest::Factors;

/// Chances of a pit by the end of three years, never falling.
fn pit() -> impl Strategy<Value = [f64; 3]> {
    prop::array::uniform3(prop_oneof![4 => 0.0..0.3, 1 => 0.0..=1.0, 1 => Just(0.0)]).prop_map(
        |mut chances| {
            chances.sort_by(f64::total_cmp);
            chances
        },
    )
}

fn fleet(pits: &[[f64; 3]], variation: f64) -> Replacements {
    let mut fleet = Replacements::new(3, CommonFactor::new(variation).unwrap());
    pits.iter().for_each(|pit| fleet.add(pit).unwrap());
    fleet
}

fn budget(pits: &[[f64; 3]], costs: CostModel) -> Budget {
    let mut budget =
        Budget::new(YearsAhead::new(date(2026, 6, 30), 2).unwrap(), CommonFactor::default(), costs);
    pits.iter().for_each(|pit| budget.add(pit, 15_000.0, None).unwrap());
    budget
}

proptest! {
    /// The mean of the distribution is the plain sum of the chances, with and without the shared error, and the
    /// years add up.
    #[test]
    fn counts_are_sums_of_chances(pits in prop::collection::vec(pit(), 1..60), variation in 0.0..0.25) {
        let fleet = fleet(&pits, variation);
        for place in 0..3 {
            let plain: f64 = pits.iter().map(|pit| pit[place]).sum();
            let count = fleet.by_end_of(place);
            prop_assert!((count.expected() - plain).abs() < 1e-12 * (1.0 + plain));
            let mean: f64 = (0..=pits.len() as u64).map(|k| k as f64 * count.chance_of(k)).sum();
            prop_assert!((mean - plain).abs() < 1e-10 * (1.0 + plain), "{mean} for {plain}");
            let square: f64 = (0..=pits.len() as u64).map(|k| (k * k) as f64 * count.chance_of(k)).sum();
            let sd = (square - mean * mean).max(0.0).sqrt();
            prop_assert!((sd - count.standard_deviation()).abs() < 1e-5, "{sd} for {}", count.standard_deviation());
        }
        let by_years: f64 = (0..3).map(|place| fleet.in_year(place).expected()).sum();
        prop_assert!((by_years - fleet.by_end_of(2).expected()).abs() < 1e-12 * (1.0 + by_years));
    }

    #[test]
    fn the_order_of_pits_does_not_matter(pits in prop::collection::vec(pit(), 1..150)) {
        let forth = fleet(&pits, 0.1);
        let back = fleet(&pits.iter().rev().copied().collect::<Vec<_>>(), 0.1);
        for place in 0..3 {
            for k in 0..=pits.len() as u64 {
                let [a, b] = [&forth, &back].map(|fleet| fleet.in_year(place).chance_of(k));
                prop_assert!((a - b).abs() < 1e-12, "{a} {b}");
            }
        }
    }

    /// A wider shared error never makes the counts surer: neither their spread nor the 80 % range narrows.
    #[test]
    fn a_wider_shared_error_never_narrows(pits in prop::collection::vec(pit(), 20..150), less in 0.0..0.2, more in 0.0..0.05) {
        let [narrow, wide] = [less, less + more].map(|variation| fleet(&pits, variation).by_end_of(2));
        prop_assert!(wide.standard_deviation() >= narrow.standard_deviation() - 1e-9);
        let width = |count: &CountDistribution| count.quantile(0.9).unwrap() - count.quantile(0.1).unwrap();
        prop_assert!(width(&wide) >= width(&narrow), "{} {}", width(&wide), width(&narrow));
    }

    #[test]
    fn a_surer_reserve_is_never_lower(pits in prop::collection::vec(pit(), 1..60), rise in 0.0..0.1, interest in 0.0..0.1, spread in 0.0..1.0) {
        let reserve = budget(&pits, CostModel::new(rise, interest, spread).unwrap()).whole().reserve();
        let levels = [0.05, 0.5, 0.8, 0.95, 0.99].map(|coverage| reserve.level(coverage).unwrap());
        prop_assert!(levels.windows(2).all(|pair| pair[0] <= pair[1] + 1e-6), "{levels:?}");
        prop_assert!(levels.iter().all(|level| level.is_finite() && *level >= 0.0));
        let left = reserve.expected_fund().last().unwrap().abs();
        prop_assert!(left < 1e-6 * (1.0 + reserve.present_worth().mean()), "{left}");
    }

    /// The factors at interest 0 are the limit of those near it: F/A = n (1 + (n − 1) i/2 + …), A/P likewise.
    #[test]
    fn no_interest_is_a_limit(periods in 0.1..80.0, rate in -1e-7..1e-7) {
        let [none, tiny] = [0.0, rate].map(|rate| Factors::new(rate, periods).unwrap());
        prop_assert!((tiny.series_compound_amount / none.series_compound_amount - 1.0).abs() <= (periods + 2.0) * rate.abs());
        prop_assert!((tiny.capital_recovery / none.capital_recovery - 1.0).abs() <= (periods + 2.0) * rate.abs());
        // A/P − A/F is the rate itself, exactly.
        prop_assert!((tiny.capital_recovery - tiny.sinking_fund - rate).abs() < 1e-14 / periods.min(1.0));
    }

    #[test]
    fn the_visit_list_is_the_same_in_any_order(chances in prop::collection::vec((0.0..1.0, 0.0..8.0), 0..80), capacity in 0usize..30) {
        let candidate = |(place, &(within_two_years, since)): (usize, &(f64, f64))| Candidate {
            id: format!("P{place:02}"), title: String::new(), years_since_reading: Some(since),
            urgency: Urgency::to_inlet([within_two_years; 3], [None; 3]),
        };
        let pits: Vec<Candidate> = chances.iter().enumerate().map(candidate).collect();
        let listed = |pits: &mut dyn Iterator<Item = &Candidate>| {
            let mut list = VisitList::new(capacity);
            pits.for_each(|pit| list.offer(pit.clone()));
            list.visits().into_iter().map(|(_, pit)| pit.id.clone()).collect::<Vec<_>>()
        };
        let forth = listed(&mut pits.iter());
        prop_assert_eq!(&forth, &listed(&mut pits.iter().rev()));
        prop_assert!(forth.len() == capacity.min(forth.len()) && forth.len() <= pits.len());
        let likeliest = pits.iter().map(|pit| pit.urgency.soon()).fold(0.0, f64::max);
        if capacity > 0 && likeliest >= 0.1 {
            let first = pits.iter().find(|pit| Some(&pit.id) == forth.first()).unwrap();
            prop_assert_eq!(first.urgency.soon(), likeliest);
        }
    }
}

/// Pits that are equal in all stay in the order in which they come, whatever they are called.
#[test]
fn equal_visits_stay_in_the_order_of_the_pits() {
    for (soon, since) in [(0.4, 1.0), (0.05, 1.0)] {
        let mut list = VisitList::new(2);
        for id in ["Z", "M", "A"] {
            let urgency = Urgency::to_inlet([soon; 3], [Some(3.0); 3]);
            list.offer(Candidate {
                id: id.into(),
                title: String::new(),
                years_since_reading: Some(since),
                urgency,
            });
        }
        let ids: Vec<&str> = list.visits().iter().map(|(_, pit)| pit.id.as_str()).collect();
        assert_eq!(ids, ["Z", "M"]);
    }
}

/// Hostile input is refused in words or answered with finite numbers, never a panic.
#[test]
fn nothing_that_is_no_number_comes_out() {
    let mut fleet = Replacements::new(2, CommonFactor::default());
    for wrong in [&[f64::NAN, 0.5][..], &[0.5, f64::INFINITY], &[-0.1, 0.5], &[0.5], &[0.5, 0.4]] {
        assert!(fleet.add(wrong).is_err(), "{wrong:?}");
    }
    assert_eq!(fleet.pits(), 0);
    let none = Replacements::new(0, CommonFactor::default());
    assert_eq!((none.in_year(0).expected(), none.by_end_of(7).quantile(0.9)), (0.0, Some(0)));
    for chances in [[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [f64::MIN_POSITIVE, 1e-300, 1.0 - 1e-16]] {
        let budget = budget(&[chances; 3], CostModel::new(-0.5, 0.99, 2.0).unwrap());
        for place in 0..4 {
            let year = budget.whole().year(place);
            for told in [
                year.count.expected,
                year.count.p975,
                year.money.expected,
                year.money.p975,
                year.money.standard_deviation,
            ] {
                assert!(told.is_finite(), "{chances:?}: {year:?}");
            }
        }
    }
}

//! What every answer must be, whatever was asked of whatever pit: finite, ordered, and in words without a number that is none.

use soaklife::forecast::Crossing;
use soaklife::quantity::{Units, as_inches};
use soaklife::trend::CrossingSet;
use soaklife::{Coverage, Forecast, wording};

/// Shares of probability that are asked for.
pub const SHARES: [f64; 7] = [0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975];

/// Finite numbers, none smaller than the one before it.
///
/// # Panics
/// If they are not.
#[track_caller]
pub fn assert_ordered(what: &str, numbers: &[f64]) {
    assert!(numbers.iter().all(|number| number.is_finite()), "{what}: {numbers:?}");
    let slack = 1e-9 * numbers.iter().fold(1.0f64, |most, number| most.max(number.abs()));
    assert!(numbers.windows(2).all(|pair| pair[0] <= pair[1] + slack), "{what}: {numbers:?}");
}

fn assert_set(set: CrossingSet) {
    match set {
        CrossingSet::Between { earliest, latest } => {
            assert!(earliest >= 0.0 && earliest <= latest && latest.is_finite(), "{set:?}");
        }
        // The one infinity there is: not even the early end lies within what is looked at.
        CrossingSet::NotBefore { earliest } => assert!(earliest >= 0.0, "{set:?}"),
        CrossingSet::Never | CrossingSet::Unbounded => {}
    }
}

/// Words hold no number that is none.
///
/// # Panics
/// If they do.
#[track_caller]
pub fn assert_words(text: &str) {
    let wrong = |word: &str| matches!(word, "NaN" | "inf" | "-inf" | "infinity");
    assert!(!text.split(|c: char| !c.is_alphanumeric() && c != '-').any(wrong), "{text}");
}

/// All that a forecast answers is finite, ordered, within its bounds, and can be said.
///
/// # Panics
/// If anything is not.
pub fn assert_sound(forecast: &Forecast) {
    for years in [0.0, 1e-9, 0.5, 5.0, 60.0] {
        let at = |share: f64| forecast.level_quantile(years, share).map(as_inches);
        assert_ordered("levels", &SHARES.iter().filter_map(|&share| at(share)).collect::<Vec<f64>>());
        assert_ordered("level", &[as_inches(forecast.level(years))]);
        let freeboard = forecast.freeboard_quantiles(years, SHARES).into_iter().flatten().map(as_inches);
        assert_ordered("freeboard", &freeboard.collect::<Vec<f64>>());
        for band in
            [forecast.level_band(years, Coverage::EIGHTY), forecast.reading_band(years, Coverage::NINETY)]
        {
            let band = band.map(|band| [band.lower, band.upper].map(as_inches));
            assert_ordered("band", band.as_ref().map_or(&[], |band| band.as_slice()));
        }
    }
    let chances = [0.0, 1e-9, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 1e9].map(|years| forecast.chance_by(years));
    assert_ordered("chances", &chances);
    assert!(chances.iter().all(|chance| (0.0..=1.0).contains(chance)), "{chances:?}");
    let years: Vec<f64> = forecast.years_to_inlet_at(SHARES).into_iter().flatten().collect();
    assert_ordered("years", &years);
    assert!(years.iter().all(|years| (0.0..=60.0).contains(years)), "{years:?}");
    let paces: Vec<f64> =
        SHARES.iter().filter_map(|&share| forecast.pace_quantile(share)).map(as_inches).collect();
    assert_ordered("paces", &paces);
    assert_ordered("pace", forecast.pace_per_year().map(as_inches).as_slice());
    assert_ordered("load ratio", forecast.load_ratio().as_slice());
    for coverage in [Coverage::EIGHTY, Coverage::NINETY_FIVE] {
        assert_set(forecast.crossing_set(coverage));
        match forecast.crossing(coverage) {
            Crossing::Expected { years, range } => {
                assert_ordered("expected", &[0.0, years, 60.0]);
                assert_set(range);
            }
            Crossing::NotWithinHorizon { range, .. } | Crossing::NotHeadingThere { range } => {
                assert_set(range)
            }
            _ => {}
        }
    }
    for taken in forecast.readings() {
        assert!(
            taken.verdict.weight().is_none_or(|weight| (0.0..=1.0 + 1e-9).contains(&weight)),
            "{taken:?}"
        );
    }
    if let Some(told) = forecast.explanation() {
        assert_ordered("pace", &told.pace_in());
        let shares = [told.temperaments().iter().sum::<f64>(), 1.0, told.share_of_readings() + 1.0];
        assert!((shares[0] - 1.0).abs() < 1e-9 && (1.0..=2.0).contains(&shares[2]), "{shares:?}");
        told.load_tests().iter().for_each(|said| assert_ordered("settles", &said.settles_in));
    }
    if let Some(check) = forecast.hand_check() {
        assert_ordered("hand check", &[as_inches(check.rise_per_year)]);
        assert_ordered("hand check", check.years().as_slice());
    }
    for units in [Units::Us, Units::Si] {
        assert_words(&wording::sentence::sentences(forecast, Coverage::EIGHTY, units));
        assert_words(&wording::sentence::so_far(forecast, units));
    }
}

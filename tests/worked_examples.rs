//! Worked examples printed elsewhere, each with its source.

use jiff::civil::date;
use soaklife::history::{HandCheck, History};
use soaklife::loading::measured_use::household_flow;
use soaklife::pit::{CrossSection, Pit};
use soaklife::quantity::{
    as_feet, as_gallons, as_gallons_per_day, as_inches, as_square_feet, feet, gallons, gallons_per_day,
    inches,
};
use soaklife::reading::Reading;
use soaklife::{Coverage, Crossing, Forecast, Method, Question};

fn round_pit(diameter_ft: f64, effective_depth_ft: f64) -> Pit {
    Pit::new(feet(2.0), feet(2.0 + effective_depth_ft))
        .unwrap()
        .with_cross_section(CrossSection::round(feet(diameter_ft)).unwrap())
}

/// Sidewall of a 5 ft pit 15 ft deep: 157 + 79 = 236 by adding table columns; exact 235.619.
/// EPA 625/1-80-012 (1980), p. 237, Table 7-6, note a.
#[test]
fn sidewall_by_adding_columns() {
    let area = as_square_feet(round_pit(5.0, 15.0).sidewall_area().unwrap());
    assert!((area - 236.0).abs() < 0.5);
    assert!((area - 235.619).abs() < 0.0005);
}

/// 5 persons × 75 gal/day = 375 gal/day; at 5/√125 gal/day/ft² and 3 ft² a foot, 279.51 ft of trench.
/// San Joaquin County (Calif.) Environmental Health, public record 501635, p. 22 (2002-08-12): prints 280 ft.
#[test]
fn trench_length_from_persons() {
    let flow_gpd = as_gallons_per_day(household_flow(5.0, 75.0).unwrap());
    assert!((flow_gpd - 375.0).abs() < 1e-9);
    let length_ft = flow_gpd / (5.0 / 125f64.sqrt()) / 3.0;
    assert!((length_ft - 279.51).abs() < 0.01);
}

/// A 42 in pit 25 ft deep filled with stone of porosity 0.33 holds 593.76 gal; the letter prints 594 gal.
/// Same record as above.
#[test]
fn volume_of_a_stone_filled_pit() {
    let pit = Pit::new(feet(0.0), feet(25.0))
        .unwrap()
        .with_cross_section(CrossSection::round(inches(42.0)).unwrap())
        .with_liquid_fraction(0.33)
        .unwrap();
    let held = as_gallons(pit.storage_between(feet(0.0), feet(25.0)).unwrap());
    assert!((held - 593.76).abs() < 0.05, "{held}");
    assert_eq!(held.round(), 594.0);
}

/// Freeboard at which a level counts as too high: 6 in, or half a day of design flow, whichever is more.
/// Rule: 310 CMR 15.303(1)(a)4, at 110 gal/day/bedroom × 3; the heights are computed from it.
#[test]
fn failure_level_by_two_criteria() {
    for (diameter_ft, height_in, governing_in) in
        [(4.0, 21.063, 21.063), (5.0, 13.480, 13.480), (6.0, 9.361, 9.361), (8.0, 5.266, 6.0)]
    {
        let pit = round_pit(diameter_ft, 10.0);
        let level = pit.effective_depth() - inches(height_in);
        let days = pit.days_of_flow_left(level, gallons_per_day(330.0)).unwrap();
        assert!((days - 0.5).abs() < 0.0001, "{diameter_ft} ft: {days} days");
        assert!((height_in.max(6.0) - governing_in).abs() < 0.0005);
    }
    let crossover = round_pit(7.4946, 10.0);
    let half_foot = as_gallons(crossover.storage_between(feet(1.0), feet(1.5)).unwrap());
    assert!((half_foot - 165.0).abs() < 0.005, "{half_foot}");
}

/// A design day of 400 gal raises a 6 ft pit by 1.8912 ft and a 5 ft pit by 2.7233 ft; a fall of 1.60 ft in 24 h
/// is 338.41 gal absorbed, 1.90 ft is 401.86 gal. Procedure: Penn State Extension, 25 Pa. Code 73.17; volumes
/// computed.
#[test]
fn hydraulic_load_test_volumes() {
    for (diameter_ft, rise_ft) in [(6.0, 1.8912), (5.0, 2.7233)] {
        let pit = round_pit(diameter_ft, 12.0);
        let area = pit.cross_section().unwrap().area();
        assert!((as_feet(gallons(400.0) / area) - rise_ft).abs() < 0.00005);
        assert!((as_gallons(pit.storage_between(feet(0.0), feet(rise_ft)).unwrap()) - 400.0).abs() < 0.02);
    }
    let pit = round_pit(6.0, 12.0);
    let absorbed =
        |from_ft: f64, to_ft: f64| as_gallons(pit.storage_between(feet(to_ft), feet(from_ft)).unwrap());
    assert!((absorbed(5.0, 3.4) - 338.41).abs() < 0.05);
    assert!((absorbed(5.0, 3.1) - 401.86).abs() < 0.05);
}

/// "Twelve inches left, three inches a year: four years." Common practice, no source.
#[test]
fn twelve_inches_at_three_a_year() {
    let pit = Pit::new(inches(20.0), inches(140.0)).unwrap();
    let depths = [44.0, 41.0, 38.0, 35.0, 32.0];
    let readings = (2022..)
        .zip(depths)
        .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 1), inches(depth)).unwrap());
    let history = History::new(pit).with_readings(readings);
    let forecast = Forecast::of(&history, &Question::new(date(2026, 5, 1)).by(Method::Line)).unwrap();

    let hand = forecast.hand_check().and_then(HandCheck::years).unwrap();
    assert!((hand - 4.0).abs() < 1e-9, "{hand}");
    assert!((as_inches(forecast.hand_check().unwrap().left) - 12.0).abs() < 1e-9);
    // The readings are not equally spaced to the day (a leap year lies between), so the line is a hair off 4.
    let Crossing::Expected { years, .. } = forecast.crossing(Coverage::EIGHTY) else {
        panic!("not expected")
    };
    assert!((years - 4.0).abs() < 0.002, "{years}");
}

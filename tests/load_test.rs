//! The hydraulic load test against worked examples, tables and an ODE solver from outside, and what must hold of any test.

use jiff::civil::{DateTime, date};
use proptest::prelude::*;
use soaklife::Coverage;
use soaklife::load_test::balance::Phase;
use soaklife::load_test::clogging::{days_to_fall, flow, level, level_after, resistance_days};
use soaklife::load_test::finding::{Finding, Untested};
use soaklife::load_test::intake::{Acceptance, Form};
use soaklife::load_test::offered::Yardstick;
use soaklife::load_test::rules::{Check, Figure, Judged, Outcome};
use soaklife::load_test::verdict::{Doubt, WhereItWent};
use soaklife::load_test::{Household, LoadTest, Look, Study};
use soaklife::pit::{CrossSection, Pit};
use soaklife::quantity::{
    as_feet, as_gallons, as_gallons_per_day, as_inches, as_square_feet, feet, gallons, gallons_per_day,
    inches, metres,
};
use tests::{assert_close, assert_within, published_rows, published_table};

fn round_pit(diameter_ft: f64, depth_ft: f64) -> Pit {
    Pit::new(feet(2.0), feet(2.0 + depth_ft))
        .unwrap()
        .with_cross_section(CrossSection::round(feet(diameter_ft)).unwrap())
}

fn at(hours: f64) -> DateTime {
    let begin = date(2026, 5, 4).at(9, 0, 0, 0);
    begin + jiff::SignedDuration::from_secs_f64(hours * 3600.0)
}

/// A look so many hours after the first, with water in gallons and the level in feet.
fn look(pit: &Pit, hours: f64, added: f64, level_ft: f64) -> Look {
    Look::at(at(hours)).with_added(gallons(added)).with_depth(pit.depth_at_level(feet(level_ft)))
}

fn of_design(flow_gpd: f64) -> Household {
    Household { design_flow: Some(gallons_per_day(flow_gpd)), actual_flow: None }
}

fn judged(study: &Study, check: Check) -> Judged {
    *study.rules.iter().find(|judged| judged.rule.check == check).unwrap()
}

/// A 42 in pit 25 ft deep filled with stone of porosity 0.33 holds 593.76 gal; the letter prints 594 gal. San Joaquin County
/// (Calif.) Environmental Health, public record 501635, p. 22 (2002-08-12).
#[test]
fn stone_takes_its_share_of_the_storage() {
    let pit = Pit::new(feet(0.0), feet(25.0))
        .unwrap()
        .with_cross_section(CrossSection::round(inches(42.0)).unwrap())
        .with_liquid_fraction(0.33)
        .unwrap();
    let test = LoadTest::new(vec![look(&pit, 0.0, 0.0, 0.0), look(&pit, 3.0, 700.0, 25.0)]).unwrap();
    let filling = test.study(&pit, &Household::default()).balance[0];
    assert_eq!(filling.phase, Phase::Filling);
    assert_within(as_gallons(filling.stored.unwrap().volume), 593.76, 0.05, "stored");
    assert_within(as_gallons(filling.absorbed.unwrap().volume), 700.0 - 593.76, 0.05, "absorbed");
}

/// Storage and wall per foot of depth: πD, πD²/4 and 231 in³ to the gallon, by inside diameter.
#[test]
fn storage_and_wall_per_foot_of_depth() {
    for row in published_table("trade/pit_volume_per_foot.csv") {
        let pit = round_pit(row[0], 10.0);
        let what = format!("{} ft", row[0]);
        let looks =
            vec![look(&pit, 0.0, 0.0, 1.0), look(&pit, 1.0, 2_000.0, 2.0), look(&pit, 25.0, 2_000.0, 1.0)];
        let study = LoadTest::new(looks).unwrap().study(&pit, &Household::default());
        let stored = study.balance[0].stored.unwrap().volume;
        assert_within(as_gallons(stored), row[3], 0.0005, &what);
        let acceptance = study.acceptance.unwrap();
        assert_within(as_gallons_per_day(acceptance.flow), row[3], 0.0005, &what);
        // The mean level is 1.5 ft.
        assert_within(as_square_feet(acceptance.wetted_area.unwrap()), 1.5 * row[1], 0.0001, &what);
    }
}

/// Room asked below the inlet: 6 in, or half a day of a design flow of 330 gal/day, whichever is more; they cross at a pit of
/// 7.4946 ft. Rule: 310 CMR 15.303(1)(a)4, at 110 gal/day/bedroom × 3; the heights are computed from it.
#[test]
fn level_rules_ask_for_the_published_heights() {
    let outcome = |diameter_ft: f64, room_in: f64, check: Check| {
        let pit = round_pit(diameter_ft, 10.0);
        let test = LoadTest::new(vec![look(&pit, 0.0, 0.0, 10.0 - room_in / 12.0)]).unwrap();
        judged(&test.study(&pit, &of_design(330.0)), check).outcome
    };
    for (diameter_ft, height_in) in [(4.0, 21.063), (5.0, 13.480), (6.0, 9.361), (8.0, 5.266)] {
        assert_eq!(
            outcome(diameter_ft, height_in + 0.0006, Check::HalfDay),
            Outcome::Met,
            "{diameter_ft} ft"
        );
        assert_eq!(
            outcome(diameter_ft, height_in - 0.0006, Check::HalfDay),
            Outcome::NotMet,
            "{diameter_ft} ft"
        );
    }
    assert_eq!(outcome(7.4946 + 0.005, 6.0 - 1e-9, Check::HalfDay), Outcome::Met);
    assert_eq!(outcome(7.4946 - 0.005, 6.0 - 1e-9, Check::HalfDay), Outcome::NotMet);
    assert_eq!(outcome(6.0, 6.001, Check::SixInches), Outcome::Met);
    assert_eq!(outcome(6.0, 5.999, Check::SixInches), Outcome::NotMet);
}

/// A design day of 400 gal raises a 6 ft pit by 1.8912 ft and a 5 ft pit by 2.7233 ft. From 5.00 ft the level falls in 24 h to
/// 3.40 ft: 338.41 gal, not enough; to 3.10 ft: 401.86 gal, enough. Procedure: Penn State Extension, 25 Pa. Code 73.17; volumes
/// computed.
#[test]
fn a_design_day_of_400_gallons() {
    for (diameter_ft, rise_ft) in [(6.0, 1.8912), (5.0, 2.7233)] {
        let pit = round_pit(diameter_ft, 12.0);
        let test = LoadTest::new(vec![look(&pit, 0.0, 0.0, 3.2), look(&pit, 2.0, 400.0, 5.0)]).unwrap();
        let rise = test.study(&pit, &of_design(400.0)).verdict.rise_if_kept.unwrap();
        assert_within(as_feet(rise), rise_ft, 0.00005, "rise");
    }
    let pit = round_pit(6.0, 12.0);
    let study = |next_day_ft: f64| {
        let looks =
            [look(&pit, 0.0, 0.0, 3.2), look(&pit, 2.0, 400.0, 5.0), look(&pit, 26.0, 400.0, next_day_ft)];
        LoadTest::new(looks.to_vec()).unwrap().study(&pit, &of_design(400.0))
    };
    for (next_day_ft, volume, outcome) in [(3.4, 338.41, Outcome::NotMet), (3.1, 401.86, Outcome::Met)] {
        let study = study(next_day_ft);
        let daily = study.daily.unwrap();
        assert_eq!(daily.form, Form::Fall);
        assert_within(as_gallons(daily.volume.volume), volume, 0.05, "a day's intake");
        let rule = judged(&study, Check::DesignDayTaken);
        assert_eq!(rule.outcome, outcome, "{next_day_ft} ft");
        let Some(Figure::Volume(limit)) = rule.limit else { panic!("{rule:?}") };
        assert_close(as_gallons(limit), 400.0, 1e-12, "limit");
    }
    assert_eq!(study(3.4).verdict.went, WhereItWent::StaysInPit);
    assert_eq!(study(3.1).verdict.went, WhereItWent::IntoTheSoil);
    // 1.86 gal of 400 are less than stick and meter can tell.
    assert!(judged(&study(3.1), Check::DesignDayTaken).within_error);
    assert!(!judged(&study(3.4), Check::DesignDayTaken).within_error);
}

/// Equilibrium of a clogged wall: D = 1.8288 m, Q = 0.567812 m³/d, ψ = 0.5 m; the levels by the equation of the clogged face of
/// Bouma (1975) integrated over the wall, computed with it outside this project.
#[test]
fn equilibrium_levels_of_a_clogged_wall() {
    let wall = feet(6.0) * std::f64::consts::PI;
    let inflow = gallons_per_day(150.0);
    let cases = [(5.0, 0.6128), (10.0, 0.9922), (20.0, 1.5502), (40.0, 2.3559), (80.0, 3.5078)];
    for (resistance, level_m) in cases {
        let stands = level(inflow, wall, resistance, metres(0.5));
        assert_within(stands.value, level_m, 0.0005, "level, m");
        assert_close(resistance_days(inflow, stands, wall, metres(0.5)), resistance, 1e-12, "resistance");
        assert_close(as_gallons_per_day(flow(stands, wall, resistance, metres(0.5))), 150.0, 1e-12, "flow");
    }
}

/// The sizing tables' form H = Q / (πD q): 150 gal/day at 1.2 gal/day/ft² wet a 6 ft pit to 6.6315 ft.
#[test]
fn constant_flux_wets_as_much_wall() {
    let level = feet(6.6315);
    let acceptance = Acceptance {
        flow: gallons_per_day(150.0),
        relative_standard_error: 0.0,
        mean_level: level,
        wetted_area: round_pit(6.0, 12.0).wetted_area(level),
        resistance_days: None,
    };
    // 0.001 ft of 6.6315.
    assert_close(acceptance.gallons_per_day_per_square_foot().unwrap(), 1.2, 1.5e-4, "rate");
}

/// A case of the ODE solver: numbers, hours and levels.
struct Solved {
    diameter_m: f64,
    resistance_days: f64,
    suction_m: f64,
    rate_per_day: f64,
    levels: Vec<(f64, f64)>,
}

fn solved() -> Vec<(String, Solved)> {
    let mut cases: Vec<(String, Solved)> = Vec::new();
    for row in published_rows("trade/pit_recession.csv") {
        let number = |place: usize| row[place].parse().unwrap_or(f64::NAN);
        if cases.last().is_none_or(|(case, _)| *case != row[0]) {
            let [diameter_m, resistance_days, suction_m, rate_per_day] = [1, 2, 3, 4].map(number);
            let levels = Vec::new();
            cases.push((
                row[0].clone(),
                Solved { diameter_m, resistance_days, suction_m, rate_per_day, levels },
            ));
        }
        cases.last_mut().unwrap().1.levels.push((number(5), number(6)));
    }
    cases
}

/// The closed form of the falling level against scipy's `solve_ivp` (`fixtures/published/trade/generate/pit_recession.py`), whose
/// two methods agree to 1e-9.
#[test]
fn the_falling_level_is_that_of_an_ode_solver() {
    let mut walls = 0;
    for (case, solved) in solved().into_iter().filter(|(case, _)| case.starts_with("wall")) {
        walls += 1;
        let rate = 4.0 / (solved.diameter_m * solved.resistance_days);
        let (start, suction) = (metres(solved.levels[0].1), metres(solved.suction_m));
        for (hours, level_m) in &solved.levels {
            let days = hours / 24.0;
            assert_close(level_after(start, rate, suction, days).value, *level_m, 1e-9, &case);
            if days > 0.0 {
                assert_close(days_to_fall(start, metres(*level_m), rate, suction), days, 1e-7, &case);
            }
        }
    }
    assert_eq!(walls, 5);
}

/// A test whose levels are those of the ODE solver, studied.
fn study_of(solved: &Solved) -> Study {
    let diameter = if solved.diameter_m.is_nan() { 1.8288 } else { solved.diameter_m };
    let pit = Pit::new(metres(1.0), metres(6.0))
        .unwrap()
        .with_cross_section(CrossSection::round(metres(diameter)).unwrap());
    let looks = solved.levels.iter().filter(|(hours, _)| *hours < 60.0);
    let looks =
        looks.map(|(hours, level)| Look::at(at(*hours)).with_depth(pit.depth_at_level(metres(*level))));
    LoadTest::new(looks.collect()).unwrap().study(&pit, &Household::default())
}

/// From levels without error the fit finds the rate they were made with.
#[test]
fn the_fit_finds_the_rate_of_a_fall() {
    for (case, solved) in solved() {
        let recession = study_of(&solved).recession.unwrap();
        assert_eq!(recession.levels(), 9, "{case}");
        if case.starts_with("head") {
            let (rate, _) = recession.rate_per_day().unwrap();
            assert_close(rate, solved.rate_per_day, 1e-7, &case);
            let half = recession.half_life_days(Coverage::EIGHTY).unwrap();
            assert_close(half.value, 2f64.ln() / solved.rate_per_day, 1e-7, &case);
        } else if solved.suction_m == 0.5 {
            // The suction that the fit assumes.
            let rate = 4.0 / (solved.diameter_m * solved.resistance_days);
            assert_close(recession.wall_rate().unwrap(), rate, 1e-7, &case);
        }
    }
}

/// The range of a level four days on covers the solver's, whichever of the two shapes it has: the fit saw two days. A wall with
/// another suction behind it than the fit assumes is a third shape, and is not claimed.
#[test]
fn ranges_cover_both_shapes() {
    let known = |solved: &Solved| solved.suction_m.is_nan() || solved.suction_m == 0.5;
    for (case, solved) in solved().into_iter().filter(|(_, solved)| known(solved)) {
        let level_m = solved.levels.last().unwrap().1;
        let range = study_of(&solved).recession.unwrap().level_after(4.0, Coverage::NINETY_FIVE).unwrap();
        let covered = (range.lower.value..=range.upper.value).contains(&level_m);
        assert!(covered, "{case}: {level_m} in {range:?}");
    }
}

/// Sixteen inches that halve in under three hours are a twentieth of an inch a day later. A stick that is off by a quarter of an inch
/// finds nothing or a film there, and not a level above the one at which the fall began. Three levels fitted by two numbers leave one
/// degree of freedom: t(0.90; 1) = 3.078 quarter inches, 0.77 in.
#[test]
fn the_range_of_a_level_near_the_bottom_is_the_sticks_own() {
    let pit = Pit::new(inches(42.0), inches(186.0)).unwrap();
    let at =
        |hour: i8, level: f64| Look::at(date(2026, 5, 5).at(hour, 0, 0, 0)).with_depth(inches(186.0 - level));
    let looks = vec![at(9, 16.0), at(11, 9.0), at(16, 3.0)];
    let study = LoadTest::new(looks).unwrap().study(&pit, &Household::default());
    let recession = study.recession.unwrap();
    for (days, highest_in) in [(0.0, 16.77), (1.0, 1.5), (30.0, 0.78), (1e9, 0.78)] {
        let level = recession.level_after(days, Coverage::EIGHTY).unwrap();
        assert!(level.lower.value >= 0.0 && level.lower <= level.value && level.value <= level.upper);
        assert!(as_inches(level.upper) < highest_in, "{days} days: {level:?}");
    }
}

/// Common practice, no source: liquid standing high at the tank while the pit stands low points at the pipe, both at the soil.
#[test]
fn high_at_the_tank_and_low_in_the_pit_points_at_the_pipe() {
    let pit = round_pit(6.0, 12.0);
    let study = |tank_in: f64, high_ft: f64, next_ft: f64| {
        let looks = vec![
            look(&pit, 0.0, 0.0, 4.0).with_tank_rise(inches(0.0)),
            look(&pit, 2.0, 400.0, high_ft).with_tank_rise(inches(tank_in)),
            look(&pit, 26.0, 400.0, next_ft).with_tank_rise(inches(tank_in / 2.0)),
        ];
        LoadTest::new(looks).unwrap().study(&pit, &of_design(400.0))
    };
    let held = study(9.0, 4.2, 4.1);
    assert_eq!(held.verdict.went, WhereItWent::HeldUpstream);
    assert_eq!(held.measured_acceptance(), None, "the soil was not tested");
    let both = study(4.0, 5.8, 5.6);
    assert_eq!(both.verdict.went, WhereItWent::StaysInPit);
    assert_eq!(study(0.5, 5.8, 4.0).verdict.went, WhereItWent::IntoTheSoil);
}

/// What the tank may hold is bounded by what was added and is not in the pit: 225 gal less 1.5 in of a 5 ft pit (18.4 gal)
/// stand 8 in high in a tank of 41.4 ft² at most.
#[test]
fn a_tank_of_unknown_size_has_bounds() {
    let pit = round_pit(5.0, 12.0);
    let looks = vec![
        look(&pit, 0.0, 0.0, 5.0).with_tank_rise(inches(0.0)),
        look(&pit, 1.0, 225.0, 5.125).with_tank_rise(inches(8.0)),
        look(&pit, 25.0, 225.0, 5.0).with_tank_rise(inches(1.5)),
    ];
    let study = LoadTest::new(looks.clone()).unwrap().study(&pit, &of_design(450.0));
    assert_within(as_square_feet(study.tank_area_at_most.unwrap()), 41.44, 0.01, "tank");
    let (least, most) = study.balance.last().unwrap().absorbed_between().unwrap();
    assert_within(as_gallons(least), 225.0 - 206.64 * 1.5 / 8.0, 0.01, "least");
    assert_within(as_gallons(most), 225.0, 1e-9, "most");
    // With its size known there is one number: 20 ft² by 8 in hold 99.74 gal.
    let known = LoadTest::new(looks).unwrap().with_tank_area(feet(4.0) * feet(5.0)).unwrap();
    let (least, most) = known.study(&pit, &of_design(450.0)).balance[0].absorbed_between().unwrap();
    assert_within(as_gallons(least), 225.0 - 18.36 - 99.74, 0.01, "absorbed");
    assert_eq!(least, most);
}

/// Without a diameter the two-day form still measures: the volume that brings the level back is what was taken.
#[test]
fn without_a_diameter_the_refill_still_measures() {
    let pit = Pit::new(feet(2.0), feet(14.0)).unwrap();
    let mut looks =
        vec![look(&pit, 0.0, 0.0, 3.0), look(&pit, 2.0, 450.0, 5.0), look(&pit, 26.0, 450.0, 3.2)];
    let short = LoadTest::new(looks.clone()).unwrap().study(&pit, &of_design(450.0));
    assert_eq!(short.verdict.went, WhereItWent::CannotTell(Doubt::DiameterUnknown));
    // 450 gal over 2 ft: no more than 30.08 ft², were none absorbed.
    assert_within(as_square_feet(short.area_at_most.unwrap()), 450.0 * 231.0 / 1728.0 / 2.0, 1e-9, "area");
    looks.push(look(&pit, 27.0, 450.0 + 470.0, 5.0));
    let study = LoadTest::new(looks).unwrap().study(&pit, &of_design(450.0));
    assert_eq!(study.verdict.went, WhereItWent::IntoTheSoil);
    let daily = study.daily.unwrap();
    assert_eq!((daily.form, as_gallons(daily.volume.volume).round()), (Form::Refilled, 470.0));
    assert_eq!(study.acceptance.unwrap().gallons_per_day_per_square_foot(), None);
}

/// A pit found dry next day has taken all it was given, however little of that its fall shows; its rate is that of the looks
/// before. 8 in of a 6 ft pit hold 141.0 gal, in 4 h.
#[test]
fn a_pit_that_runs_dry_took_all_of_it() {
    let pit = round_pit(6.0, 12.0);
    let inch = 1.0 / 12.0;
    let mut looks = vec![
        look(&pit, 0.0, 0.0, 0.0),
        look(&pit, 2.0, 450.0, 20.0 * inch),
        look(&pit, 6.0, 450.0, 12.0 * inch),
        look(&pit, 26.0, 450.0, 0.0),
    ];
    let study = LoadTest::new(looks.clone()).unwrap().study(&pit, &of_design(450.0));
    assert_eq!(study.verdict.went, WhereItWent::IntoTheSoil);
    assert!(study.rules.iter().all(|judged| judged.outcome == Outcome::Met), "{:?}", study.rules);
    assert_within(as_gallons(study.daily.unwrap().volume.volume), 450.0, 1e-9, "a day's intake");
    let flow = as_gallons_per_day(study.acceptance.unwrap().flow);
    assert_within(flow, 8.0 * 17.6256 * 6.0, 0.01, "rate while wet");
    looks.remove(2);
    let unseen = LoadTest::new(looks).unwrap().study(&pit, &of_design(600.0));
    assert_eq!(unseen.acceptance, None, "when it ran dry nobody saw");
    assert_eq!(
        judged(&unseen, Check::DesignDayTaken).outcome,
        Outcome::CannotTell,
        "too little was poured in"
    );
}

/// What a test cannot tell is said, each with its reason.
#[test]
fn a_test_that_does_not_tell_says_why() {
    let pit = round_pit(6.0, 12.0);
    let went = |looks: Vec<Look>, design: f64| {
        LoadTest::new(looks).unwrap().study(&pit, &of_design(design)).verdict.went
    };
    let doubt = |looks: Vec<Look>| match went(looks, 400.0) {
        WhereItWent::CannotTell(doubt) => doubt,
        other => panic!("{other:?}"),
    };
    let [before, after, next] =
        [look(&pit, 0.0, 0.0, 4.0), look(&pit, 1.0, 100.0, 4.4), look(&pit, 25.0, 100.0, 4.0)];
    assert_eq!(doubt(vec![before]), Doubt::TooFewLevels);
    assert_eq!(doubt(vec![before, look(&pit, 24.0, 0.0, 3.9)]), Doubt::NoWater);
    assert!(matches!(doubt(vec![before, after]), Doubt::TooShort { hours } if hours == 0.0));
    assert!(matches!(doubt(vec![before, look(&pit, 1.0, 400.0, 5.8), look(&pit, 4.0, 400.0, 5.2)]),
        Doubt::TooShort { hours } if (hours - 3.0).abs() < 1e-9));
    let little = doubt(vec![before, after, next]);
    assert!(
        matches!(little, Doubt::LittleWater { asked, .. } if as_gallons(asked).round() == 400.0),
        "{little:?}"
    );
    let risen = doubt(vec![before, after, look(&pit, 25.0, 100.0, 5.4)]);
    assert_eq!(risen, Doubt::WaterFromElsewhere);
    let slow = vec![before, look(&pit, 1.0, 400.0, 5.8), look(&pit, 25.0, 400.0, 5.2)];
    assert_eq!(went(slow.clone(), 400.0), WhereItWent::StaysInPit);
    let wet = LoadTest::new(slow.clone()).unwrap().in_rain().study(&pit, &of_design(400.0));
    assert_eq!(wet.verdict.went, WhereItWent::CannotTell(Doubt::Rain));
    let unsized_house = LoadTest::new(slow).unwrap().study(&pit, &Household::default());
    assert_eq!(unsized_house.verdict.went, WhereItWent::CannotTell(Doubt::DesignUnknown));
}

/// Half a design day of 400 gal raises the level to 4.9 ft, of which some is left next day: the rules that ask for the whole are not tested
/// of a lightly used house, whose rule asks for half; of a house in usual use, which would have left some of the whole as well, they are.
#[test]
fn half_the_flow_speaks_for_half_the_flow_only_where_half_is_asked() {
    let pit = round_pit(6.0, 12.0);
    let study = |used: f64, next_ft: f64| {
        let looks =
            vec![look(&pit, 0.0, 0.0, 4.0), look(&pit, 1.0, 200.0, 4.9), look(&pit, 25.0, 200.0, next_ft)];
        let used = Some(gallons_per_day(used));
        LoadTest::new(looks).unwrap().study(&pit, &Household { actual_flow: used, ..of_design(400.0) })
    };
    let of_the_whole = [Check::DesignDayTaken, Check::BackAtStart];
    let findings = |study: &Study| of_the_whole.map(|check| judged(study, check).finding);
    let light = study(100.0, 4.4);
    assert_eq!(findings(&light), [Finding::NotTested(Untested::HalfOffered); 2]);
    assert_eq!(judged(&light, Check::HalfWhenLight).finding, Finding::NotMet);
    let yardstick = light.verdict.yardstick.unwrap();
    assert!(matches!(yardstick, Yardstick::Offered { half_flow: true, .. }), "{yardstick:?}");
    assert_close(as_gallons(yardstick.volume()), 200.0, 1e-12, "offered");
    assert_eq!(findings(&study(300.0, 4.4)), [Finding::NotMet; 2]);
    // All of it taken says nothing of more.
    assert_eq!(findings(&study(300.0, 4.0)), [Finding::NotTested(Untested::LittleOffered); 2]);
}

/// Any pit, round, rectangular or of unknown plan.
fn any_pit() -> impl Strategy<Value = Pit> {
    let plan = prop_oneof![
        Just(None),
        (0.5..20.0f64).prop_map(|diameter| Some(CrossSection::round(feet(diameter)).unwrap())),
        (0.5..20.0f64, 0.5..20.0f64)
            .prop_map(|(length, width)| Some(CrossSection::rectangular(feet(length), feet(width)).unwrap())),
    ];
    (0.0..5.0f64, 0.01..20.0f64, plan, 0.05..=1.0f64).prop_map(|(inlet, depth, plan, fraction)| {
        let pit = Pit::new(feet(inlet), feet(inlet + depth)).unwrap().with_liquid_fraction(fraction).unwrap();
        plan.map_or(pit, |plan| pit.with_cross_section(plan))
    })
}

/// Looks of any kind, most of them possible.
fn any_looks() -> impl Strategy<Value = Vec<Look>> {
    let value = |range: std::ops::Range<f64>| prop_oneof![8 => range.prop_map(Some), 1 => Just(None), 1 => any::<f64>().prop_map(Some), 1 => Just(Some(0.0))];
    let step = prop_oneof![0.0..3.0f64, 20.0..30.0f64, 0.0..2000.0f64];
    let look = (step, value(0.0..500.0), value(0.0..25.0), value(-2.0..12.0));
    prop::collection::vec(look, 0..9).prop_map(|looks| {
        let (mut hours, mut total) = (0.0, 0.0);
        let looks = looks.into_iter().map(|(step, added, depth, tank)| {
            hours += step;
            total += added.unwrap_or(0.0);
            Look {
                time: at(hours),
                added: added.map(|_| gallons(total)),
                depth: depth.map(feet),
                tank_rise: tank.map(inches),
            }
        });
        looks.collect()
    })
}

fn any_household() -> impl Strategy<Value = Household> {
    let flow = || prop::option::of(prop_oneof![0.0..1000.0f64, any::<f64>()].prop_map(gallons_per_day));
    (flow(), flow()).prop_map(|(design_flow, actual_flow)| Household { design_flow, actual_flow })
}

proptest! {
    #[test]
    fn no_test_makes_it_panic_and_what_is_told_is_finite(
        pit in any_pit(), looks in any_looks(), household in any_household(),
    ) {
        let Ok(test) = LoadTest::new(looks) else { return Ok(()) };
        let study = test.study(&pit, &household);
        for row in &study.balance {
            prop_assert!(row.hours > 0.0 && row.added.value.is_finite());
            for measured in [row.stored, row.absorbed].into_iter().flatten() {
                prop_assert!(measured.volume.value.is_finite() && measured.standard_error.value >= 0.0);
            }
            if let Some((least, most)) = row.absorbed_between() {
                prop_assert!(least <= most);
            }
        }
        if let Some(measured) = study.measured_acceptance() {
            prop_assert!(measured.flow().value > 0.0 && measured.flow().value.is_finite());
            prop_assert!(measured.level().value > 0.0);
            prop_assert!((0.0..0.5).contains(&measured.relative_standard_error()));
        }
        if let Ok(recession) = &study.recession {
            for days in [0.0, 0.5, 1.0, 1e9] {
                if let Some(level) = recession.level_after(days, Coverage::EIGHTY) {
                    prop_assert!(level.lower <= level.value && level.value <= level.upper);
                }
            }
        }
        for judged in &study.rules {
            let known = judged.found.is_some() && judged.limit.is_some();
            prop_assert!(known || judged.outcome == Outcome::CannotTell, "{:?}", judged);
            prop_assert!(known || judged.finding.untested().is_some(), "{:?}", judged);
            // What may be said never contradicts the bare numbers.
            let contradicted = match judged.finding {
                Finding::Met => judged.outcome == Outcome::NotMet,
                Finding::NotMet => judged.outcome == Outcome::Met,
                _ => false,
            };
            prop_assert!(!contradicted, "{:?}", judged);
            prop_assert_eq!(judged.within_error, judged.finding == Finding::Borderline);
        }
    }

    /// Water is neither made nor lost: added = stored + absorbed in every phase, and the phases add up to the whole.
    #[test]
    fn the_balance_closes(
        rise_ft in 0.2..3.0f64, fall in 0.0..1.0f64, added in 50.0..900.0f64, refill in 10.0..900.0f64, diameter in 3.0..9.0f64,
    ) {
        let pit = round_pit(diameter, 12.0);
        let (high, low) = (4.0 + rise_ft, 4.0 + rise_ft - fall * rise_ft);
        let looks = vec![
            look(&pit, 0.0, 0.0, 4.0), look(&pit, 1.0, added, high), look(&pit, 25.0, added, low),
            look(&pit, 26.0, added + refill, high),
        ];
        let rows = LoadTest::new(looks).unwrap().study(&pit, &Household::default()).balance;
        prop_assert_eq!(rows.len(), 4);
        let gallons_of = |place: usize| {
            let row = rows[place];
            [row.added, row.stored.unwrap().volume, row.absorbed.unwrap().volume].map(as_gallons)
        };
        for place in 0..4 {
            let [added, stored, absorbed] = gallons_of(place);
            prop_assert!((added - stored - absorbed).abs() < 1e-9);
        }
        for part in 0..3 {
            let sum: f64 = (0..3).map(|place| gallons_of(place)[part]).sum();
            prop_assert!((sum - gallons_of(3)[part]).abs() < 1e-9);
        }
    }

    /// The deeper the level falls by next day, the more was taken, and a rule once met stays met.
    #[test]
    fn a_deeper_fall_is_a_larger_intake(low in 3.2..4.9f64, deeper in 0.01..0.5f64) {
        let pit = round_pit(6.0, 12.0);
        let study = |next: f64| {
            let looks = vec![look(&pit, 0.0, 0.0, 3.1), look(&pit, 2.0, 400.0, 5.0), look(&pit, 26.0, 400.0, next)];
            LoadTest::new(looks).unwrap().study(&pit, &of_design(400.0))
        };
        let (less, more) = (study(low), study(low - deeper));
        prop_assert!(less.daily.unwrap().volume.volume < more.daily.unwrap().volume.volume);
        let met = |study: &Study| judged(study, Check::DesignDayTaken).outcome == Outcome::Met;
        prop_assert!(!met(&less) || met(&more));
        prop_assert!(as_inches(less.acceptance.unwrap().mean_level) > as_inches(more.acceptance.unwrap().mean_level));
    }
}

//! Values as people say them, on the command line or in answer to a question, and why one cannot be taken.

use soaklife::Coverage;
use soaklife::fleet::CommonFactor;
use soaklife::quantity::{Length, VolumeRate, as_gallons_per_day, as_inches};
use soaklife_charts::Svg;
use soaklife_records::measure::{parse_flow, parse_length};

/// A depth below the rim: zero or more.
pub(crate) fn parse_depth(text: &str) -> Result<Length, String> {
    length(text, |inches| inches >= 0.0, "a depth counts downward from the rim and is zero or more")
}

/// An inside diameter: more than nothing.
pub(crate) fn parse_diameter(text: &str) -> Result<Length, String> {
    length(text, |inches| inches > 0.0, "a diameter is above zero; leave it out if it is not known")
}

/// A freeboard at which to act: zero or more.
pub(crate) fn parse_action_freeboard(text: &str) -> Result<Length, String> {
    length(text, |inches| inches >= 0.0, "an action freeboard is zero or more")
}

fn length(text: &str, can_be: impl Fn(f64) -> bool, rule: &str) -> Result<Length, String> {
    let length = parse_length(text).map_err(|error| error.to_string())?;
    if can_be(as_inches(length)) { Ok(length) } else { Err(rule.to_owned()) }
}

/// Bedrooms a system was sized for: above zero, because the design flow is divided by.
pub(crate) fn parse_bedrooms(text: &str) -> Result<f64, String> {
    number(
        text,
        |bedrooms| bedrooms > 0.0,
        "write a number above zero, as in 3; leave it out if it is not known",
    )
}

/// People in a house; nobody at all is possible.
pub(crate) fn parse_occupants(text: &str) -> Result<f64, String> {
    number(text, |people| people >= 0.0, "write a number, as in 4, or 0 for an empty house")
}

/// A metered flow: zero or more.
pub(crate) fn parse_metered_flow(text: &str) -> Result<VolumeRate, String> {
    let flow = parse_flow(text).map_err(|error| error.to_string())?;
    if as_gallons_per_day(flow) >= 0.0 { Ok(flow) } else { Err("a flow is zero or more".to_owned()) }
}

/// A reduction: percents, which must say that they are, so that 0.2 is not taken for a fifth of a percent.
pub(crate) fn parse_reduction(text: &str) -> Result<f64, String> {
    let rule = "write percents from 0 to 100, as in 20%";
    let percents = text.trim().strip_suffix('%').ok_or(rule)?;
    Ok(number(percents, |percents| (0.0..=100.0).contains(&percents), rule)? / 100.0)
}

/// How far ahead to look: whole years, so that "within 60 years" says what was asked.
pub(crate) fn parse_horizon(text: &str) -> Result<f64, String> {
    let whole = |years: f64| years.fract() == 0.0 && (1.0..=60.0).contains(&years);
    number(text, whole, "write whole years, at least 1 and at most 60 years ahead")
}

/// A coverage that whole percents can say: a range from a handful of readings is never sure.
pub(crate) fn parse_coverage(text: &str) -> Result<Coverage, String> {
    let rule = "write a share from 0.01 to 0.99, as in 0.8 for 80 %";
    let share = number(text, |share| (0.01..=0.99).contains(&share), rule)?;
    Coverage::new(share).map_err(|error| error.to_string())
}

/// Dots per inch of a picture.
pub(crate) fn parse_dpi(text: &str) -> Result<f64, String> {
    let rule = "write 20 to 1200 dots per inch; 300 is as fine as most printers";
    number(text, |dpi| Svg::RESOLUTIONS.contains(&dpi), rule)
}

/// A shared error of all chances, as a share of them.
pub(crate) fn parse_common_factor(text: &str) -> Result<CommonFactor, String> {
    let share = number(text, |_| true, "write a share from 0 to 0.25, as in 0.1 for 10 %")?;
    CommonFactor::new(share).map_err(|error| error.to_string())
}

/// A spread of one cost, as a share of it.
pub(crate) fn parse_cost_spread(text: &str) -> Result<f64, String> {
    let rule = "write a share from 0 to 2, as in 0.3 for 30 %";
    number(text, |spread| (0.0..=2.0).contains(&spread), rule)
}

fn number(text: &str, can_be: impl Fn(f64) -> bool, rule: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(number) if number.is_finite() && can_be(number) => Ok(number),
        _ => Err(rule.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_finite_and_possible() {
        assert_eq!((parse_bedrooms("3"), parse_occupants(" 0 ")), (Ok(3.0), Ok(0.0)));
        for wrong in ["", "three", "nan", "inf", "-3", "1e999"] {
            assert!(parse_bedrooms(wrong).is_err() && parse_occupants(wrong).is_err(), "{wrong:?}");
        }
        assert!(parse_bedrooms("0").is_err());
    }

    #[test]
    fn a_coverage_is_never_told_as_nothing_or_certain() {
        assert_eq!(parse_coverage("0.8"), Ok(Coverage::EIGHTY));
        for wrong in ["80", "0", "1", "0.999", "0.001", "nan"] {
            assert!(parse_coverage(wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn dots_per_inch_are_those_that_can_be_drawn() {
        assert_eq!((parse_dpi("20"), parse_dpi("1200")), (Ok(20.0), Ok(1200.0)));
        for wrong in ["0", "19", "1201", "nan", "300dpi"] {
            assert!(parse_dpi(wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn a_horizon_is_whole_years_up_to_sixty() {
        assert_eq!((parse_horizon("1"), parse_horizon("60")), (Ok(1.0), Ok(60.0)));
        for wrong in ["0", "61", "2.5", "-1", "nan"] {
            assert!(parse_horizon(wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn shares_are_no_percents() {
        assert_eq!(
            (parse_common_factor("0.04"), parse_cost_spread("0")),
            (Ok(CommonFactor::default()), Ok(0.0))
        );
        for wrong in ["10", "-0.1", "nan", "10%"] {
            assert!(parse_common_factor(wrong).is_err() && parse_cost_spread(wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn flows_have_a_unit_and_reductions_a_percent_sign() {
        let gallons = |text: &str| parse_metered_flow(text).map(|flow| as_gallons_per_day(flow).round());
        assert_eq!(
            [gallons("420gpd"), gallons("1590lpd"), gallons("1.6 m3d")],
            [Ok(420.0), Ok(420.0), Ok(423.0)]
        );
        assert!(gallons("420").is_err() && gallons("-1gpd").is_err() && gallons("6ft").is_err());
        assert_eq!([parse_reduction("20%"), parse_reduction("12.5 %")], [Ok(0.2), Ok(0.125)]);
        for wrong in ["20", "0.2", "-5%", "101%", "%", "nan%"] {
            assert!(parse_reduction(wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn lengths_have_a_direction() {
        assert!(parse_depth("0in").is_ok() && parse_depth("-3in").is_err());
        assert!(parse_diameter("6ft").is_ok() && parse_diameter("0in").is_err());
        assert!(parse_action_freeboard("-3in").is_err());
    }
}

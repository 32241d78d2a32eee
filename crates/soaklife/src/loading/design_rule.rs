//! Design rules: how codes turn bedrooms into gallons a day, as data with their sources.

use super::LoadingError;
use crate::quantity::{VolumeRate, gallons_per_day};
use crate::wording::with_noun;
use std::borrow::Cow;

/// A rule that turns bedrooms into a design flow.
///
/// # Formula
/// flow = max(minimum, base + per_bedroom × max(0, bedrooms − bedrooms_in_base)), all flows in US gal/day.
///
/// ```
/// use soaklife::loading::design_rule::DesignRule;
/// use soaklife::quantity::as_gallons_per_day;
///
/// let rule = DesignRule::named("two-per-bedroom-75").ok_or("no such rule")?;
/// assert!((as_gallons_per_day(rule.design_flow(3.0)?) - 450.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct DesignRule {
    key: Cow<'static, str>,
    description: Cow<'static, str>,
    base_gpd: f64,
    bedrooms_in_base: f64,
    per_bedroom_gpd: f64,
    minimum_gpd: f64,
    source: Cow<'static, str>,
}

/// The rule used unless a logbook names another.
///
/// ```
/// # use soaklife::loading::design_rule::{DEFAULT_DESIGN_RULE, DesignRule};
/// assert_eq!(DesignRule::default().key(), DEFAULT_DESIGN_RULE);
/// ```
pub const DEFAULT_DESIGN_RULE: &str = "two-per-bedroom-75";

/// A rule of so many gallons a bedroom, nothing else.
const fn per_bedroom(
    key: &'static str,
    description: &'static str,
    gpd: f64,
    source: &'static str,
) -> DesignRule {
    DesignRule {
        key: Cow::Borrowed(key),
        description: Cow::Borrowed(description),
        base_gpd: 0.0,
        bedrooms_in_base: 0.0,
        per_bedroom_gpd: gpd,
        minimum_gpd: 0.0,
        source: Cow::Borrowed(source),
    }
}

/// 2 persons per bedroom × 75 gal/person/day. Common practice, no source.
const TWO_PER_BEDROOM: DesignRule = per_bedroom(
    DEFAULT_DESIGN_RULE,
    "2 persons per bedroom at 75 gal/person/day: 150 gal/day/bedroom",
    150.0,
    "common practice, no source; New Jersey's pit tables (N.J.A.C. 7:9A-11.2) imply the same 150",
);

static DESIGN_RULES: [DesignRule; 10] = [
    TWO_PER_BEDROOM,
    DesignRule {
        key: Cow::Borrowed("pennsylvania"),
        description: Cow::Borrowed("400 gal/day up to 3 bedrooms, 100 gal/day for each further bedroom"),
        base_gpd: 400.0,
        bedrooms_in_base: 3.0,
        per_bedroom_gpd: 100.0,
        minimum_gpd: 400.0,
        source: Cow::Borrowed("25 Pa. Code 73.17(a)"),
    },
    per_bedroom("massachusetts", "110 gal/day/bedroom", 110.0, "310 CMR 15.203"),
    per_bedroom(
        "connecticut-use",
        "50 gal/person/day, 2 persons per bedroom (anticipated use, not the code's design flow)",
        100.0,
        "Connecticut Department of Public Health fact sheet on existing systems",
    ),
    per_bedroom("new-york-130", "130 gal/day/bedroom", 130.0, "Town of Queensbury (N.Y.) record 22875"),
    per_bedroom("new-jersey", "150 gal/day/bedroom, implied by the pit tables", 150.0, "N.J.A.C. 7:9A-11.2"),
    per_bedroom(
        "illinois",
        "200 gal/day/bedroom, implied by area × rate",
        200.0,
        "77 Ill. Adm. Code 905, Appendix A, Illustration H",
    ),
    per_bedroom("montana", "100 gal/day/bedroom, implied by rate × area", 100.0, "Circular DEQ-4, Table 8-1"),
    per_bedroom("maine", "90 gal/day/bedroom", 90.0, "trade column of 2008-03, medium confidence"),
    DesignRule {
        key: Cow::Borrowed("washington"),
        description: Cow::Borrowed("120 gal/day/bedroom, at least 240 gal/day"),
        base_gpd: 0.0,
        bedrooms_in_base: 0.0,
        per_bedroom_gpd: 120.0,
        minimum_gpd: 240.0,
        source: Cow::Borrowed("WAC 246-272A-0230, from memory"),
    },
];

impl Default for DesignRule {
    fn default() -> Self {
        TWO_PER_BEDROOM
    }
}

impl DesignRule {
    /// Every named rule.
    ///
    /// ```
    /// # use soaklife::loading::design_rule::DesignRule;
    /// assert!(DesignRule::all().iter().all(|rule| rule.design_flow(3.0).is_ok()));
    /// ```
    #[must_use]
    pub fn all() -> &'static [Self] {
        &DESIGN_RULES
    }

    /// The rule of that key, if there is one.
    ///
    /// ```
    /// # use soaklife::loading::design_rule::DesignRule;
    /// assert!(DesignRule::named("massachusetts").is_some() && DesignRule::named("nowhere").is_none());
    /// ```
    #[must_use]
    pub fn named(key: &str) -> Option<&'static Self> {
        DESIGN_RULES.iter().find(|rule| rule.key == key)
    }

    /// A rule of one's own: persons per bedroom × gallons per person per day.
    ///
    /// # Errors
    /// [`LoadingError::Persons`] unless both are above zero and finite.
    ///
    /// ```
    /// # use soaklife::loading::design_rule::DesignRule;
    /// # use soaklife::quantity::as_gallons_per_day;
    /// let own = DesignRule::per_person(2.0, 60.0)?;
    /// assert_eq!(as_gallons_per_day(own.design_flow(3.0)?).round(), 360.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn per_person(persons_per_bedroom: f64, gallons_per_person: f64) -> Result<Self, LoadingError> {
        for found in [persons_per_bedroom, gallons_per_person] {
            if !(found > 0.0 && found.is_finite()) {
                return Err(LoadingError::Persons { found });
            }
        }
        let per_bedroom_gpd = persons_per_bedroom * gallons_per_person;
        Ok(Self {
            key: Cow::Borrowed("per-person"),
            description: Cow::Owned(format!(
                "{} per bedroom at {gallons_per_person} gal/person/day",
                with_noun(&persons_per_bedroom.to_string(), "person")
            )),
            base_gpd: 0.0,
            bedrooms_in_base: 0.0,
            per_bedroom_gpd,
            minimum_gpd: 0.0,
            source: Cow::Borrowed("set in this logbook"),
        })
    }

    /// Design flow of a house with this many bedrooms.
    ///
    /// # Errors
    /// [`LoadingError::Bedrooms`] unless the number is above zero and the flow finite.
    ///
    /// ```
    /// # use soaklife::loading::design_rule::DesignRule;
    /// # use soaklife::quantity::as_gallons_per_day;
    /// # let pennsylvania = DesignRule::named("pennsylvania").ok_or("no such rule")?;
    /// // 25 Pa. Code 73.17(a): 400 gal/day up to three bedrooms, 500 for four.
    /// assert_eq!(as_gallons_per_day(pennsylvania.design_flow(4.0)?).round(), 500.0);
    /// assert!(pennsylvania.design_flow(0.0).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn design_flow(&self, bedrooms: f64) -> Result<VolumeRate, LoadingError> {
        let further = (bedrooms - self.bedrooms_in_base).max(0.0);
        let flow_gpd = (self.base_gpd + self.per_bedroom_gpd * further).max(self.minimum_gpd);
        if bedrooms > 0.0 && flow_gpd.is_finite() {
            Ok(gallons_per_day(flow_gpd))
        } else {
            Err(LoadingError::Bedrooms { found: bedrooms })
        }
    }

    /// The name by which a logbook asks for it.
    ///
    /// ```
    /// # use soaklife::loading::design_rule::DesignRule;
    /// # let pennsylvania = DesignRule::named("pennsylvania").ok_or("no such rule")?;
    /// assert_eq!(pennsylvania.key(), "pennsylvania");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// The rule in words.
    ///
    /// ```
    /// # use soaklife::loading::design_rule::DesignRule;
    /// # let pennsylvania = DesignRule::named("pennsylvania").ok_or("no such rule")?;
    /// assert!(pennsylvania.description().starts_with("400 gal/day up to 3 bedrooms"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn description(&self) -> &str {
        &self.description
    }

    /// Where it is printed.
    ///
    /// ```
    /// # use soaklife::loading::design_rule::DesignRule;
    /// # let pennsylvania = DesignRule::named("pennsylvania").ok_or("no such rule")?;
    /// assert_eq!(pennsylvania.source(), "25 Pa. Code 73.17(a)");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }
}

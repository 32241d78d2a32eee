//! The load test chart: levels, water added and the rise in the tank against the hours since the start.

mod course;
mod layout;
mod level;
mod panels;
mod words;

use crate::canvas::figure;
use crate::svg::{ChartError, Description, Svg, refuse_undrawable_depth};
use course::Course;
use layout::Layout;
use soaklife::Pit;
use soaklife::load_test::{LoadTest, Study};
use soaklife::quantity::Units;

/// The chart of one hydraulic load test.
///
/// Marks are looks of the stick, as depths below the rim in inches (feet over 25 ft) or centimetres (metres); the
/// heavy line is the fall as [fitted](soaklife::load_test::recession), its band the range in which a stick should find the
/// level with 80 % confidence. Below run the gallons or litres added so far and, if somebody watched it, the rise in the tank.
/// An inlet invert or a pit bottom too far from the levels to be drawn to the same scale is told in words at the edge.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::load_test::{Household, LoadTest, Look};
/// use soaklife::pit::{CrossSection, Pit};
/// use soaklife::quantity::{feet, gallons, inches};
/// use soaklife_charts::LoadTestChart;
///
/// let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
/// let look = |day, hour, added, depth| {
///     Look::at(date(2026, 5, day).at(hour, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
/// };
/// let looks = vec![look(5, 8, 0.0, 70.0), look(5, 10, 400.0, 48.0), look(5, 16, 400.0, 56.0), look(6, 10, 400.0, 70.0)];
/// let test = LoadTest::new(looks)?;
/// let study = test.study(&pit, &Household::default());
/// let svg = LoadTestChart::new(&test, &study, &pit).titled("12 Mill Race Lane").svg()?;
/// assert!(svg.as_str().contains("hours since 2026-05-05 08:00") && svg.as_str().contains("inlet invert"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/load-test.svg")]
#[derive(Debug, Clone)]
pub struct LoadTestChart<'a> {
    test: &'a LoadTest,
    study: &'a Study,
    pit: Pit,
    title: String,
    answer: Option<String>,
    rules: String,
    units: Units,
}

impl<'a> LoadTestChart<'a> {
    /// The chart of a test, of what was made of it, and of its pit.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::{Pit, quantity::inches};
    /// # use soaklife_charts::LoadTestChart;
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// let one = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(90.0))])?;
    /// let study = one.study(&pit, &Household::default());
    /// assert!(LoadTestChart::new(&one, &study, &pit).svg()?.as_str().contains("No fall is fitted"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(test: &'a LoadTest, study: &'a Study, pit: &Pit) -> Self {
        Self {
            test,
            study,
            pit: *pit,
            title: String::new(),
            answer: None,
            rules: String::new(),
            units: Units::Us,
        }
    }

    /// The same with a title, usually the name of the pit; what does not fit in a line is cut.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::{Pit, quantity::inches};
    /// # use soaklife_charts::LoadTestChart;
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// # let one = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(90.0))])?;
    /// # let study = one.study(&pit, &Household::default());
    /// let chart = LoadTestChart::new(&one, &study, &pit).titled("12 Mill Race Lane");
    /// assert!(chart.svg()?.as_str().contains("12 Mill Race Lane"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// The same with an answer of the caller's in place of the plain account of what was added and read.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::{Pit, quantity::inches};
    /// # use soaklife_charts::LoadTestChart;
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// # let one = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(90.0))])?;
    /// # let study = one.study(&pit, &Household::default());
    /// let chart = LoadTestChart::new(&one, &study, &pit).answering("The pit takes it.");
    /// assert!(chart.svg()?.as_str().contains("The pit takes it."));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn answering(self, answer: impl Into<String>) -> Self {
        Self { answer: Some(answer.into()), ..self }
    }

    /// The same with a line on the rules: which are met, borderline, not met or not tested.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::{Pit, quantity::inches};
    /// # use soaklife_charts::LoadTestChart;
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// # let one = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(90.0))])?;
    /// # let study = one.study(&pit, &Household::default());
    /// use soaklife::quantity::Units;
    /// use soaklife::wording::load_test::rules_in_short;
    /// let chart = LoadTestChart::new(&one, &study, &pit).judging(rules_in_short(&study, Units::Us));
    /// assert!(chart.svg()?.as_str().contains("Rules met: 6 in of room"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn judging(self, rules: impl Into<String>) -> Self {
        Self { rules: rules.into(), ..self }
    }

    /// The same in other units: inches and gallons, or centimetres and litres.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::{Pit, quantity::inches};
    /// # use soaklife_charts::LoadTestChart;
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// # let one = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(90.0))])?;
    /// # let study = one.study(&pit, &Household::default());
    /// use soaklife::quantity::Units;
    /// let chart = LoadTestChart::new(&one, &study, &pit).in_units(Units::Si);
    /// assert!(chart.svg()?.as_str().contains("below rim, cm"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_units(self, units: Units) -> Self {
        Self { units, ..self }
    }

    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError::Depth`] for a pit too shallow or too deep to draw, [`ChartError::Drawing`] if the drawing library
    /// refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::load_test::{Household, LoadTest, Look};
    /// # use soaklife::{Pit, quantity::inches};
    /// # use soaklife_charts::LoadTestChart;
    /// # let pit = Pit::new(inches(42.0), inches(186.0))?;
    /// # let one = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(90.0))])?;
    /// # let study = one.study(&pit, &Household::default());
    /// let chart = LoadTestChart::new(&one, &study, &pit);
    /// assert_eq!(chart.svg()?, chart.svg()?); // the same bytes every time
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn svg(&self) -> Result<Svg, ChartError> {
        refuse_undrawable_depth(&self.pit)?;
        let course = Course::of(self.test, self.study, &self.pit, self.units);
        let words = words::Words::of(self, &course);
        let layout = Layout::of(&course, words.room(), self.units);
        let about = Description {
            size: layout.size,
            title: words.heading(&self.title),
            description: words.description().to_owned(),
        };
        figure(about, |canvas| {
            level::draw(canvas, &layout, &course)?;
            panels::draw(canvas, &layout, &course)?;
            words.draw(canvas, &layout)
        })
    }
}

#[cfg(test)]
mod tests;

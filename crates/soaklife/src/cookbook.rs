//! Recipes: a question, the code that answers it, and the answer.
//!
//! | whose question | recipe |
//! | --- | --- |
//! | homeowner | [how long has it got](#how-long-has-it-got), [two people more](#what-if-two-more-people-move-in), [when to measure next](#when-to-measure-next) |
//! | service company | [budget](#what-will-it-cost-us), [learn](#what-do-our-own-pits-teach), [whom to see first](#whom-to-see-first) |
//! | inspector | [load test](#does-the-pit-take-its-water); the page for a report is on the front page of `soaklife-charts` |
//! | analyst | [a line with bands](#a-straight-line-with-its-bands), [mixed model](#a-line-for-every-pit), [backtest](#how-good-were-earlier-forecasts); from CSV files to a table: the front page of `soaklife-records` |
//!
//! Every recipe runs as a test, so what it asserts is what comes out. Lengths are [`quantity::inches`](crate::quantity::inches) here;
//! centimetres and metres do as well.
//!
//! At a pit: sewage gas kills without warning. Never enter or lean into a tank or pit, never work at an open one alone, no open
//! flame; keep off old covers and away from the edge; leave no lid unsecured. An answer here is an estimate, no warranty: local code and
//! licensed practitioners decide.
//!
//! # How long has it got?
//!
//! A pit, what the stick found, what the house uses; then the answer in words or as numbers.
//!
//! ```
//! use jiff::civil::date;
//! use soaklife::quantity::{Units, gallons_per_day, inches};
//! use soaklife::wording::sentence::sentences;
//! use soaklife::{Coverage, Forecast, History, LoadHistory, Pit, Question, Reading};
//!
//! let pit = Pit::new(inches(30.0), inches(210.0))?; // rim to inlet, rim to bottom
//! let read = [102.0, 98.5, 96.5, 92.0, 90.5, 86.0] // rim to liquid, every May
//!     .into_iter()
//!     .zip(2021..)
//!     .map(|(depth, year)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
//! let (design, actual) = (gallons_per_day(450.0), gallons_per_day(234.0));
//! let history = History::new(pit)
//!     .with_installed(date(2001, 6, 1))
//!     .with_readings(read.collect::<Result<Vec<_>, _>>()?)
//!     .with_load(LoadHistory::constant(design, actual)?);
//!
//! let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
//! assert_eq!(
//!     sentences(&forecast, Coverage::EIGHTY, Units::Us),
//!     "On 2026-05-10 the liquid stood 56 inches below the inlet. \
//!      The level rises 1.9 to 4.1 inches a year. \
//!      It reaches the inlet about 2049 (in 23 years), with 1 chance in 10 before 2038 (within 11 years). \
//!      The chance that it does not get there within 60 years is 21 %."
//! );
//! let years = forecast.years_to_inlet_at([0.1, 0.5, 0.9]); // none: beyond 60, or never
//! assert_eq!(years.map(|years| years.map(f64::round)), [Some(12.0), Some(23.0), None]);
//! assert_eq!((100.0 * forecast.chance_by(10.0)).round(), 5.0); // percent, within ten years
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # What if two more people move in?
//!
//! The record stays, the load to come is another. How far a level follows the flow is not known, so both ends stand in the answer;
//! [`whatif`](crate::whatif) says what is taken for granted.
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife::quantity::{gallons_per_day, inches};
//! # use soaklife::{Forecast, History, LoadHistory, Pit, Question, Reading};
//! use soaklife::whatif::{OtherUse, WhatIf};
//! # let pit = Pit::new(inches(30.0), inches(210.0))?;
//! # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
//! # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
//! # let history = History::new(pit)
//! #     .with_installed(date(2001, 6, 1))
//! #     .with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?)
//! #     .with_load(LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(234.0))?);
//!
//! // The pit and its readings as above: four people at 58.5 gal a day each, soon six.
//! let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
//! let six_people = WhatIf::of(OtherUse::household(6.0, 58.5)?).starting(date(2027, 6, 1));
//! let then = six_people.beside(&today, Some(gallons_per_day(450.0)))?;
//! let median = |forecast: &Forecast| forecast.years_to_inlet(0.5).map(f64::round);
//! assert_eq!((median(&today), median(then.forecast())), (Some(23.0), Some(8.0)));
//! // The truth lies between a level that stays and one that follows the flow in full.
//! assert_eq!(median(then.level_stays()), Some(18.0));
//! assert_eq!(median(then.level_follows()), Some(1.0));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # When to measure next?
//!
//! When a visit is worth its trouble: the readings it may find are weighed before it is made ([`forecast::NextReading`](crate::forecast::NextReading)).
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife::quantity::{gallons_per_day, inches};
//! # use soaklife::{History, LoadHistory, Pit, Question, Reading};
//! use soaklife::forecast::NextReading;
//! use soaklife::trend::absorption::Hypotheses;
//! use soaklife::wording::next_reading::next_reading;
//! # let pit = Pit::new(inches(30.0), inches(210.0))?;
//! # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
//! # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
//! # let history = History::new(pit)
//! #     .with_installed(date(2001, 6, 1))
//! #     .with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?)
//! #     .with_load(LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(234.0))?);
//!
//! let question = Question::new(date(2026, 6, 30));
//! let plan = NextReading::plan(&history, &question, &Hypotheses::default())
//!     .ok_or("it stands at its inlet")?;
//! assert_eq!(
//!     format!("Measure {}", next_reading(&plan, "the inlet")),
//!     "Measure by June 2028: no sooner visit should tell enough to be worth it, but one more reading \
//!      has a chance of 7 % to halve or double the median of the years. Sooner if drains run slow or \
//!      more people move in."
//! );
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # What will it cost us?
//!
//! A budget is fed pit by pit with the chance of having failed by the end of every calendar year; counts and money come out with their
//! ranges. `None` where a pit belongs to no group.
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife::quantity::inches;
//! # use soaklife::{Forecast, History, Pit, Question, Reading};
//! use soaklife::fleet::{Budget, CommonFactor, CostModel, Fleet, YearsAhead};
//!
//! let as_of = date(2026, 6, 30);
//! let years = YearsAhead::new(as_of, 5)?; // what is left of 2026, then five whole years
//! // Costs rise 3 % a year, money earns 2 %, one replacement may cost 30 % more or less.
//! let costs = CostModel::new(0.03, 0.02, 0.3)?;
//! let mut budget = Budget::new(years, CommonFactor::default(), costs);
//! for place in 0..40 {
//!     let pit = Pit::new(inches(30.0), inches(150.0))?;
//!     let left = 20.0 + f64::from(place); // inches of freeboard
//!     let last = Reading::at_depth(&pit, date(2026, 5, 1), inches(30.0 + left))?;
//!     let history = History::new(pit).with_installed(date(1996, 5, 1)).with_readings([last]);
//!     let forecast = Forecast::of(&history, &Question::new(as_of))?;
//!     let ends = budget.whole().years().ends().to_vec();
//!     let chances: Vec<f64> = ends.into_iter().map(|end| forecast.chance_by(end)).collect();
//!     let road = if place < 20 { "upper road" } else { "lower road" };
//!     budget.add(&chances, 15_000.0, Some(road))?; // dollars, today
//! }
//!
//! let all = budget.whole().by_end_of(5);
//! assert_eq!(all.calendar_year, 2031);
//! assert_eq!([all.count.p10, all.count.p50, all.count.p90], [5.0, 8.0, 11.0]); // pits
//! assert_eq!((all.money.expected / 1e3).round(), 128.0); // thousands, in prices of then
//! // To set aside each year: for what is expected, and to have enough with 95 % confidence.
//! let reserve = budget.whole().reserve();
//! assert_eq!((reserve.level_of_expected() / 1e3).round(), 23.0);
//! assert_eq!(reserve.level(0.95).map(|a_year| (a_year / 1e3).round()), Some(37.0));
//! let expected = |pits: &Fleet| pits.by_end_of(5).count.expected.round();
//! let by_road: Vec<_> = budget.groups().map(|(road, pits)| (road, expected(pits))).collect();
//! assert_eq!(by_road, [("lower road", 2.0), ("upper road", 6.0)]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Whom to see first?
//!
//! Pits are offered in any order; those that may fail within two years come first, then those where a reading tells most.
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife::quantity::inches;
//! # use soaklife::{Forecast, History, Pit, Question, Reading};
//! use soaklife::fleet::{Candidate, Urgency, VisitList, VisitReason};
//!
//! let as_of = date(2026, 6, 30);
//! let mut visits = VisitList::new(2); // two visits can be made
//! for (id, year, depth) in [("A", 2026, 33.0), ("B", 2020, 100.0), ("C", 2026, 110.0)] {
//!     let pit = Pit::new(inches(30.0), inches(150.0))?;
//!     let last = Reading::at_depth(&pit, date(year, 5, 1), inches(depth))?;
//!     let history = History::new(pit).with_installed(date(1996, 5, 1)).with_readings([last]);
//!     let forecast = Forecast::of(&history, &Question::new(as_of))?;
//!     visits.offer(Candidate {
//!         id: id.into(),
//!         title: String::new(),
//!         years_since_reading: forecast.latest().map(|last| -forecast.years_of(last)),
//!         urgency: Urgency::of(&forecast),
//!     });
//! }
//! let listed = visits.visits();
//! let listed: Vec<_> = listed.iter().map(|(reason, pit)| (&pit.id[..], *reason)).collect();
//! // C was read this year and has room.
//! assert_eq!(listed, [("A", VisitReason::MayFail), ("B", VisitReason::Reading)]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # What do our own pits teach?
//!
//! A fleet moves the prior that every pit starts from, and the more the larger it is; a few dozen teach nothing, and say so. Here 400 pits
//! that rise faster than is typical.
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife::quantity::inches;
//! # use soaklife::{Forecast, History, Pit, Question, Reading};
//! use soaklife::fleet::pooling::Experience;
//! use soaklife::prior::PopulationPrior;
//! use soaklife::trend::absorption::Hypotheses;
//!
//! let as_of = date(2026, 6, 30);
//! let pit = Pit::new(inches(30.0), inches(150.0))?;
//! let mut experience = Experience::new(PopulationPrior::default());
//! for place in 0..400 {
//!     let age = 4 + place % 6;
//!     let levels = (0..4).map(|back| {
//!         let years_in_use = age - back;
//!         let level = 12.0 * f64::from(years_in_use) + f64::from(place * 7 % 5) - 2.0;
//!         Reading::at_level(&pit, date(2026 - back as i16, 5, 1), inches(level.max(0.5)))
//!     });
//!     let readings = levels.collect::<Result<Vec<_>, _>>()?;
//!     let installed = date(2026 - age as i16, 5, 1);
//!     let history = History::new(pit).with_installed(installed).with_readings(readings);
//!     experience.add(&history, as_of);
//! }
//! let learnt = experience.learn();
//! // What was worth learning, by what it does for the other half of the fleet:
//! let taken = learnt.lessons().iter().filter(|(_, gain)| *gain > 3.0);
//! let taken: Vec<_> = taken.map(|(lesson, _)| lesson.in_words()).collect();
//! assert_eq!(taken, ["which courses pits take", "how fast they rise", "how restless they are"]);
//!
//! // A pit of theirs that nobody has read yet:
//! let unread = History::new(pit).with_installed(date(2018, 5, 1));
//! let question = Question::new(as_of);
//! let typical = Forecast::of(&unread, &question)?;
//! let experience = Hypotheses::new(learnt.prior().clone())?;
//! let theirs = Forecast::by_experience(&unread, &question, &experience)?;
//! let percent = |forecast: &Forecast| (100.0 * forecast.chance_by(10.0)).round();
//! assert_eq!((percent(&typical), percent(&theirs)), (3.0, 14.0));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Does the pit take its water?
//!
//! A load test written down hour by hour: where the water went, which published rules are met, and whether pipe or pit holds it.
//!
//! ```
//! use jiff::civil::date;
//! use soaklife::load_test::finding::Finding;
//! use soaklife::load_test::verdict::WhereItWent;
//! use soaklife::load_test::{Household, LoadTest, Look};
//! use soaklife::quantity::{as_gallons, feet, gallons, gallons_per_day, inches};
//! use soaklife::{CrossSection, Pit};
//!
//! let round = CrossSection::round(feet(6.0))?;
//! let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(round);
//! let look = |day, hour, added, depth| {
//!     let when = date(2026, 5, day).at(hour, 0, 0, 0);
//!     Look::at(when).with_added(gallons(added)).with_depth(inches(depth))
//! };
//! // 400 gal, a design day, raise the pit by 22.5 in; next morning it stands as before.
//! let looks = [(5, 8, 0.0, 120.0), (5, 10, 400.0, 97.5), (6, 10, 400.0, 120.5)];
//! let looks = looks.map(|(day, hour, added, depth)| look(day, hour, added, depth));
//! let test = LoadTest::new(looks.to_vec())?;
//! let design = Some(gallons_per_day(400.0));
//! let study = test.study(&pit, &Household { design_flow: design, actual_flow: None });
//! assert_eq!(study.verdict.went, WhereItWent::IntoTheSoil);
//! let daily = study.daily.as_ref().ok_or("no daily intake")?;
//! assert_eq!(as_gallons(daily.volume.volume).round(), 405.0); // gallons in a day
//! // Each rule names its source: `judged.rule.source`. Half an inch and 5 gal are less than stick and meter can tell.
//! let rules: Vec<_> = study.rules.iter().map(|judged| (judged.rule.key, judged.finding)).collect();
//! assert_eq!(rules[..2], ["design_day_taken", "back_at_start"].map(|name| (name, Finding::Borderline)));
//! assert_eq!(rules[2..], ["six_inches", "half_day"].map(|name| (name, Finding::Met)));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # A straight line with its bands
//!
//! Least squares against the calendar, as any statistics book has it: slope, confidence band of the level, prediction band of the next
//! reading, and Fieller's set of years. SciPy's quantile of Student's t and the formulas written out give the same digits.
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife::quantity::{as_inches, inches};
//! # use soaklife::{Coverage, Forecast, History, Pit, Question, Reading};
//! use soaklife::Method;
//! use soaklife::band::Band;
//! use soaklife::trend::CrossingSet;
//! use soaklife::trend::axis::Against;
//! # let pit = Pit::new(inches(30.0), inches(210.0))?;
//! # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
//! # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
//! # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
//!
//! let question = Question::new(date(2026, 6, 30)).by(Method::Line).against_axis(Against::Time);
//! let forecast = Forecast::of(&history, &question)?;
//! let slope = forecast.line().ok_or("no line")?.slope();
//! let level = forecast.level_band(5.0, Coverage::NINETY_FIVE).ok_or("no band")?;
//! let reading = forecast.reading_band(5.0, Coverage::NINETY_FIVE).ok_or("no band")?;
//! let tenths = |inches: f64| (inches * 10.0).round() / 10.0;
//! assert_eq!(tenths(slope), 3.1); // inches a year
//! let ends = |band: Band| [band.lower, band.upper].map(as_inches).map(tenths);
//! assert_eq!(ends(level), [135.6, 143.3]); // inches above the bottom, in five years
//! assert_eq!(ends(reading), [135.1, 143.8]);
//! let CrossingSet::Between { earliest, latest } = forecast.crossing_set(Coverage::NINETY_FIVE) else {
//!     return Err("an end is open".into());
//! };
//! assert_eq!([earliest, latest].map(tenths), [15.2, 22.0]); // years to the inlet
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # A line for every pit
//!
//! The linear mixed model: each pit's line leans towards that of the fleet the more, the less its own readings say. The numbers are
//! those of statsmodels' `MixedLM` (restricted likelihood).
//!
//! ```
//! use soaklife::fleet::mixed::{Criterion, MixedLines};
//!
//! // (years, inches above the bottom) of four pits; the last was read twice only.
//! let mut lines = MixedLines::new();
//! lines.add(&[(0.0, 41.0), (1.0, 43.5), (2.0, 46.0), (3.0, 50.0), (4.0, 52.5)])?;
//! lines.add(&[(0.0, 20.0), (1.0, 21.0), (2.0, 23.5), (3.0, 24.5), (4.0, 26.0)])?;
//! lines.add(&[(0.0, 60.0), (1.0, 62.0), (2.0, 65.5), (3.0, 67.0), (4.0, 70.5)])?;
//! lines.add(&[(3.0, 35.0), (4.0, 40.0)])?;
//! let fit = lines.fit(Criterion::RestrictedLikelihood)?;
//! let hundredths = |line: [f64; 2]| line.map(|number| (number * 100.0).round() / 100.0);
//! assert_eq!(hundredths(fit.fixed()), [35.52, 2.91]); // the fleet: inches, inches a year
//! // The last pit alone would rise 5 in a year.
//! assert_eq!(hundredths(fit.groups()[3].line), [21.74, 4.5]);
//! # Ok::<(), soaklife::fleet::mixed::MixedError>(())
//! ```
//!
//! # How good were earlier forecasts?
//!
//! Each forecast of the past is made again from what was known on its day, and compared with what later readings showed.
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife::quantity::{as_inches, inches};
//! # use soaklife::{History, Method, Pit, Reading};
//! use soaklife::backtest::Plan;
//!
//! let pit = Pit::new(inches(30.0), inches(210.0))?;
//! let read = [118.0, 116.5, 113.0, 111.0, 107.5, 106.0, 102.0, 98.5, 96.5, 92.0, 90.5, 86.0]
//!     .into_iter()
//!     .zip(2015..)
//!     .map(|(depth, year)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
//! let history = History::new(pit)
//!     .with_installed(date(2001, 6, 1))
//!     .with_readings(read.collect::<Result<Vec<_>, _>>()?);
//!
//! let plan = Plan::new(date(2026, 6, 30)).by([Method::Absorption, Method::Line]);
//! let backtest = plan.replay([&history]);
//! // Of each method, how it foretold the next reading:
//! let [absorption, line] = [0, 1].map(|method| &backtest.methods[method].levels[0]);
//! assert_eq!((absorption.answered, line.answered), (9, 9));
//! let tenths = |error: Option<_>| error.map(|error| (as_inches(error) * 10.0).round() / 10.0);
//! assert_eq!(tenths(absorption.error), Some(1.0)); // mean miss, inches
//! assert_eq!(tenths(line.error), Some(0.9));
//! // How often the 80 % range held what was found. Six of nine or fewer are luck once in four.
//! assert_eq!([absorption, line].map(|next| next.ranges[1].tally.held), [9, 6]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

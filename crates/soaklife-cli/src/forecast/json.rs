//! Everything about every pit, for other programs; the shape is published in `schema/forecast-1.json`.

use super::answer::{Answer, Asking};
use super::columns::{CHANCE_YEARS, FREEBOARD_YEARS, members, outlook_members};
use super::what_if::Told;
use serde_json::{Map, Value, json};
use soaklife::Coverage;
use soaklife::forecast::{Advice, Because, Crossing, Forecast, NextReading, Prospect};
use soaklife::history::{FoundAtInlet, HandCheck, ReadingUse, Verdict};
use soaklife::prior::Course;
use soaklife::quantity::{Length, Units, as_gallons_per_day, as_litres_per_day, inches};
use soaklife::reading::Observation;
use soaklife::trend::CrossingSet;
use soaklife::trend::absorption::{Explanation, LoadTestSaid};
use soaklife::whatif::Effect;
use soaklife_records::PitRecord;

/// The name and version of the shape; a change that breaks readers raises the number.
const SCHEMA: &str = "soaklife forecast 1";

/// What stands between the last pit and the end of the list.
pub(super) const END_OF_LIST: &str = "\n  ";

const COVERAGES: [Coverage; 4] = [Coverage::HALF, Coverage::EIGHTY, Coverage::NINETY, Coverage::NINETY_FIVE];

/// What stands before the pits, and after them.
pub(super) fn frame(asked: &Asking) -> (String, String) {
    let units = match asked.units() {
        Units::Us => "us",
        Units::Si => "si",
    };
    let as_of = Value::from(asked.as_of().to_string());
    let before = format!("{{\n  \"as_of\": {as_of},\n  \"pits\": [");
    let after =
        format!("],\n  \"schema\": {},\n  \"units\": {}\n}}\n", Value::from(SCHEMA), Value::from(units));
    (before, after)
}

/// A document of these pits, with when to measure each of them next.
pub(super) fn whole(asked: &Asking, answers: &[Answer<'_>]) -> String {
    let (before, after) = frame(asked);
    let end = if answers.is_empty() { "" } else { END_OF_LIST };
    let told = told(answers, |answer| {
        let mut pit = pit(answer, asked.units());
        pit.insert("next_reading".to_owned(), asked.next_reading(answer).map_or(Value::Null, next_reading));
        pit
    });
    format!("{before}{told}{end}{after}")
}

/// Pits as members of the list, with commas between them.
pub(super) fn pits(asked: &Asking, answers: &[Answer<'_>]) -> String {
    told(answers, |answer| pit(answer, asked.units()))
}

fn told(answers: &[Answer<'_>], pit: impl Fn(&Answer<'_>) -> Map<String, Value>) -> String {
    let mut told = String::new();
    for answer in answers {
        for line in format!("{:#}", Value::Object(pit(answer))).lines() {
            told.push_str("\n    ");
            told.push_str(line);
        }
        told.push(',');
    }
    told.pop();
    told
}

fn pit(answer: &Answer<'_>, units: Units) -> Map<String, Value> {
    let mut pit = members(answer, units);
    let record = answer.record;
    pit.insert(
        "design".to_owned(),
        record.and_then(PitRecord::design).map_or(
            Value::Null,
            |design| json!({ "flow_gpd": rounded(as_gallons_per_day(design.flow)), "rule": *design.rule }),
        ),
    );
    pit.insert("use".to_owned(), record.and_then(PitRecord::current_use).map_or(Value::Null, |current| {
        json!({ "flow_gpd": rounded(as_gallons_per_day(current.flow)), "basis": *current.basis })
    }));
    let forecast = answer.forecast.as_ref().ok();
    pit.insert("crossing".to_owned(), forecast.map_or(Value::Null, crossing));
    pit.insert("bands".to_owned(), forecast.map_or(json!([]), |forecast| bands(forecast, units)));
    pit.insert("readings".to_owned(), forecast.map_or(json!([]), |forecast| readings(forecast, units)));
    let check = forecast.and_then(Forecast::hand_check);
    pit.insert("hand_check".to_owned(), check.map_or(Value::Null, |check| hand_check(check, units)));
    let was = forecast.and_then(Forecast::found_at_inlet).and_then(was_at_inlet);
    pit.insert("was_at_inlet".to_owned(), was.map_or(Value::Null, Value::from));
    let told = forecast.and_then(Forecast::explanation);
    pit.insert("explanation".to_owned(), told.map_or(Value::Null, |told| explanation(&told, units)));
    if let Some(problem) = answer.problem_of_what_if() {
        pit.insert("what_if".to_owned(), json!({ "problem": problem }));
    }
    if let Some(told) = answer.told_what_if() {
        pit.insert("what_if".to_owned(), what_if(told, units));
    }
    pit
}

/// Another use beside today's forecast: the headline by the names of the table, and the ends between which it lies.
fn what_if(told: &Told, units: Units) -> Value {
    let alternative = &told.alternative;
    let [stays, follows] = told.ends();
    let [step_stays, step_follows] = alternative.steps();
    let end = |share_followed: f64, forecast: &Forecast, step: Length| {
        let [p10, p50, p90] = forecast.years_to_inlet_at([0.1, 0.5, 0.9]).map(|years| years.map(rounded));
        let chance = |years: f64| rounded(forecast.chance_by(years));
        json!({
            "share_followed": share_followed,
            "step": rounded(units.count(step)),
            "years_p10": p10, "years_p50": p50, "years_p90": p90,
            "chance_1y": chance(1.0), "chance_2y": chance(2.0), "chance_5y": chance(5.0), "chance_10y": chance(10.0),
        })
    };
    let mut members = outlook_members(alternative.forecast(), units);
    let further = json!({
        "problem": Value::Null,
        "use": told.what,
        "from": told.from.map(|date| date.to_string()),
        "until": told.until.map(|date| date.to_string()),
        "load_ratio_today": rounded(alternative.ratio_today()),
        "is_today_typical": alternative.is_today_typical(),
        "changes": alternative.effect() == Effect::Changes,
        "effect": alternative.effect().to_string(),
        "crossing": crossing(alternative.forecast()),
        "bands": bands(alternative.forecast(), units),
        "ends": [end(0.0, stays, step_stays), end(1.0, follows, step_follows)],
    });
    if let Value::Object(further) = further {
        members.extend(further);
    }
    Value::Object(members)
}

/// The day on which a pit that stands well below now was last found at its inlet.
fn was_at_inlet(found: FoundAtInlet) -> Option<String> {
    match found {
        FoundAtInlet::Left { was, .. } => Some(was.date().to_string()),
        _ => None,
    }
}

fn explanation(told: &Explanation, units: Units) -> Value {
    let weight = |&course: &Course| json!({ "course": course, "in_words": course.in_words(), "weight": rounded(told.weight_of(course)) });
    let [slow, median, fast] = told.pace_in().map(|pace| rounded(units.count(inches(pace))));
    json!({
        "courses": Course::ALL.iter().map(weight).collect::<Vec<_>>(),
        "temperaments": told.temperaments().map(rounded),
        "pace_per_year": { "p10": slow, "p50": median, "p90": fast },
        "share_of_readings": rounded(told.share_of_readings()),
        "load_tests": told.load_tests().iter().map(|said| load_test(said, units)).collect::<Vec<_>>(),
    })
}

fn load_test(said: &LoadTestSaid, units: Units) -> Value {
    let (taken, flow) = (&said.taken, said.taken.flow());
    let per_day = match units {
        Units::Us => as_gallons_per_day(flow),
        Units::Si => as_litres_per_day(flow),
    };
    let [low, median, high] = said.settles_in.map(|level_in| rounded(units.count(inches(level_in))));
    json!({
        "date": taken.date().to_string(),
        "level": rounded(units.count(taken.level())),
        "flow": rounded(per_day),
        "settles": { "p10": low, "p50": median, "p90": high },
    })
}

fn next_reading(plan: NextReading) -> Value {
    let (due, reason) = match plan.advice() {
        Advice::By { prospect, because } => (
            Some(prospect.date.to_string()),
            match because {
                Because::Narrows => "narrows",
                Because::MayTurn => "may_turn",
                Because::InletMayBeNear => "inlet_may_be_near",
                _ => "nothing_sooner",
            },
        ),
        _ => (None, "monthly"),
    };
    let range = |[early, late]: [f64; 2]| json!({ "p10": rounded(early), "p90": rounded(late) });
    let prospect = |prospect: &Prospect| {
        json!({
            "date": prospect.date.to_string(),
            "years": range(prospect.range),
            "narrowing": rounded(prospect.narrowing),
            "chance_of_turning": rounded(prospect.chance_of_turning),
        })
    };
    json!({
        "by": due,
        "reason": reason,
        "years": range(plan.range()),
        "prospects": plan.prospects().iter().map(prospect).collect::<Vec<_>>(),
    })
}

fn crossing(forecast: &Forecast) -> Value {
    let (kind, years) = match forecast.crossing(Coverage::EIGHTY) {
        Crossing::AlreadyAtInlet { .. } => ("already_at_inlet", Some(0.0)),
        Crossing::Expected { years, .. } => ("expected", Some(years)),
        Crossing::NotWithinHorizon { .. } => ("not_within_horizon", None),
        _ => ("not_heading_there", None),
    };
    let ranges: Vec<Value> = COVERAGES.iter().map(|&coverage| range(forecast, coverage)).collect();
    json!({ "kind": kind, "years": years.map(rounded), "ranges": ranges })
}

fn range(forecast: &Forecast, coverage: Coverage) -> Value {
    let (kind, earliest, latest) = match forecast.crossing_set(coverage) {
        CrossingSet::Between { earliest, latest } => ("between", Some(earliest), Some(latest)),
        CrossingSet::NotBefore { earliest } => ("not_before", Some(earliest), None),
        CrossingSet::Never => ("never", None, None),
        CrossingSet::Unbounded => ("unbounded", None, None),
    };
    json!({
        "coverage": coverage.value(),
        "kind": kind,
        "earliest_years": earliest.filter(|years| years.is_finite()).map(rounded),
        "latest_years": latest.map(rounded),
    })
}

/// Freeboard at each horizon with its confidence and prediction ranges, and the chance by then.
fn bands(forecast: &Forecast, units: Units) -> Value {
    let mut horizons: Vec<u8> = FREEBOARD_YEARS.into_iter().chain(CHANCE_YEARS).collect();
    horizons.sort_unstable();
    horizons.dedup();
    let band = |years: f64, coverage: Coverage| {
        let of = |band: Option<soaklife::band::Band>| {
            band.map(|band| {
                // A level high in the pit is a freeboard low.
                let lower = units.count(forecast.pit().freeboard(band.upper));
                let upper = units.count(forecast.pit().freeboard(band.lower));
                json!({ "lower": rounded(lower), "upper": rounded(upper) })
            })
        };
        json!({
            "coverage": coverage.value(),
            "confidence": of(forecast.level_band(years, coverage)),
            "prediction": of(forecast.reading_band(years, coverage)),
        })
    };
    let at = |&years: &u8| {
        let years = f64::from(years);
        let median = forecast.freeboard_quantile(years, 0.5);
        json!({
            "years": years,
            "date": forecast.date_in(years).map(|date| date.to_string()),
            "freeboard": median.map(|median| rounded(units.count(median))),
            "chance": rounded(forecast.chance_by(years)),
            "ranges": COVERAGES.iter().map(|&coverage| band(years, coverage)).collect::<Vec<_>>(),
        })
    };
    Value::from(horizons.iter().map(at).collect::<Vec<_>>())
}

fn readings(forecast: &Forecast, units: Units) -> Value {
    let pit = forecast.pit();
    let reading = |taken: &ReadingUse| {
        let found = match taken.reading.observation() {
            Observation::Dry => "dry",
            Observation::AtInlet => "at_inlet",
            _ => "liquid",
        };
        let freeboard = match taken.reading.observation() {
            Observation::Liquid { level } => Some(rounded(units.count(pit.freeboard(level)))),
            _ => None,
        };
        let weight = match taken.verdict {
            Verdict::Used { weight } => weight,
            Verdict::SetAside(_) => 0.0,
        };
        json!({
            "date": taken.reading.date().to_string(),
            "found": found,
            "freeboard": freeboard,
            "weight": weight,
            "verdict": taken.verdict.to_string(),
        })
    };
    Value::from(forecast.readings().iter().map(reading).collect::<Vec<_>>())
}

fn hand_check(check: &HandCheck, units: Units) -> Value {
    json!({
        "left": rounded(units.count(check.left)),
        "rise_per_year": rounded(units.count(check.rise_per_year)),
        "from": check.from.to_string(),
        "to": check.to.to_string(),
        "years": check.years().map(rounded),
    })
}

/// Four decimals: more than is known, and the same on every machine.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}

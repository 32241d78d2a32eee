//! Any logbook: every method answers every pit soundly or says why it does not.

use super::TODAY;
use super::bundle::Bundle;
use crate::sound::{assert_ordered, assert_sound, assert_words};
use soaklife::backtest::Plan;
use soaklife::fleet::pooling::Experience;
use soaklife::forecast::NextReading;
use soaklife::quantity::as_inches;
use soaklife::trend::absorption::Hypotheses;
use soaklife::trend::axis::Against;
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{Forecast, Method, Question};
use soaklife_records::{Logbook, PitRecord};

/// A pit, and its forecast or why there is none in words.
pub(super) type Answered<'l> = (&'l PitRecord, Result<Forecast, String>);

/// A pit with more readings is forecast but not replayed: each reading would be a forecast more.
const MOST_REPLAYED: usize = 8;

pub(super) fn check(bytes: &[u8]) {
    let folder = Bundle::of(bytes).written();
    let logbook = Logbook::read(folder.path(), TODAY, TODAY).expect("both required files are there");
    let experience = Hypotheses::new(logbook.prior()).expect("settings give a prior that can be used");
    for pit in logbook.pits() {
        check_methods(pit, &experience);
        check_next_reading(pit, &experience);
    }
    let histories = || logbook.pits().map(PitRecord::history);
    let few = histories().filter(|history| history.readings().len() <= MOST_REPLAYED);
    assert_words(&format!("{:?}", Plan::new(TODAY).by(Method::ALL).replay(few)));
    let mut learning = Experience::new(logbook.prior());
    histories().for_each(|history| learning.add(history, TODAY));
    let learnt = learning.learn();
    assert!(learnt.prior().clone().validated().is_ok());
    learnt.lessons().iter().for_each(|(_, gain)| assert_ordered("gain", &[0.0, *gain]));
}

/// Every pit by one of the methods, each in its turn.
pub(super) fn answered(logbook: &Logbook) -> Vec<Answered<'_>> {
    let experience = Hypotheses::new(logbook.prior()).expect("settings give a prior that can be used");
    let answer = |(pit, method): (_, Method)| {
        let pit: &PitRecord = pit;
        let question = Question::new(TODAY).by(method).down_to(pit.action_freeboard());
        let question = question.expect("a freeboard read is no negative one");
        let answer = Forecast::by_experience(pit.history(), &question, &experience);
        (pit, answer.map_err(|reason| reason.to_string()))
    };
    logbook.pits().zip(Method::ALL.into_iter().cycle()).map(answer).collect()
}

fn check_methods(pit: &PitRecord, experience: &Hypotheses) {
    for (method, against) in
        Method::ALL.into_iter().flat_map(|method| [(method, Against::Load), (method, Against::Time)])
    {
        let question = Question::new(TODAY).by(method).against_axis(against);
        let question = question.down_to(pit.action_freeboard()).expect("a freeboard read is no negative one");
        match Forecast::by_experience(pit.history(), &question, experience) {
            Ok(forecast) => {
                assert_sound(&forecast);
                check_another_use(pit, &forecast);
            }
            Err(reason) => assert_words(&reason.to_string()),
        }
    }
}

fn check_another_use(pit: &PitRecord, today: &Forecast) {
    let design = pit.design().map(|design| design.flow);
    for other in design.map(OtherUse::metered).into_iter().chain([OtherUse::vacant()]) {
        match WhatIf::of(other).beside(today, design) {
            Ok(then) => {
                assert_sound(then.forecast());
                then.steps().map(as_inches).iter().for_each(|step| assert_ordered("step", &[*step]));
            }
            Err(reason) => assert_words(&reason.to_string()),
        }
    }
}

fn check_next_reading(pit: &PitRecord, experience: &Hypotheses) {
    let Some(plan) = NextReading::plan(pit.history(), &Question::new(TODAY), experience) else { return };
    assert_ordered("range", &plan.range());
    for prospect in plan.prospects() {
        assert_ordered("range", &prospect.range);
        assert_ordered("chance", &[0.0, prospect.chance_of_turning, 1.0]);
    }
}

//! Simulated pits, as a valley holds them: ordinary ones and those in trouble, some chosen for where they were last read.

use super::records::{AS_OF, Case, is_liquid};
use soaklife::quantity::as_inches;
use tests::simulated_pits::{Population, Trouble, simulate, simulate_in_trouble};

const SEED: u64 = 20_260_630;
/// As many ordinary pits, and of those in each kind of trouble.
const ORDINARY: usize = 600;
const IN_EACH_TROUBLE: usize = 200;
/// Close to inlet or bottom, inches.
const CLOSE_IN: f64 = 3.0;

/// Every pit of the valley.
pub fn pits() -> Vec<Case> {
    let valley = Population::default();
    let in_trouble = |kind| simulate_in_trouble(&valley, kind, SEED, IN_EACH_TROUBLE);
    let ordinary = simulate(&valley, SEED, ORDINARY);
    let all = ordinary.into_iter().chain(Trouble::ALL.into_iter().flat_map(in_trouble));
    all.map(|pit| Case { history: pit.history, freeboard_in: 0.0 }).collect()
}

/// Those whose last reading finds the liquid close below the inlet, or close above the bottom.
pub fn pits_near_an_edge() -> Vec<Case> {
    let near = |case: &Case| {
        case.readings().iter().rfind(|reading| reading.date().middle() <= AS_OF).is_some_and(|last| {
            let level_in = as_inches(last.level(case.history.pit()));
            is_liquid(last) && (level_in < CLOSE_IN || level_in > case.depth_in() - CLOSE_IN)
        })
    };
    pits().into_iter().filter(near).collect()
}

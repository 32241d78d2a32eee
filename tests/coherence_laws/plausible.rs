//! Simulated pits, as a valley holds them: ordinary ones and those in trouble, some chosen for where they were last read.

use super::records::{AS_OF, Case, is_liquid};
use soaklife::quantity::as_inches;
use tests::simulated_pits::{Population, Trouble, simulate, simulate_in_trouble};

const SEED: u64 = 20_260_630;
/// As many ordinary pits, and a third of that in each kind of trouble.
const ORDINARY: usize = 600;
/// Few pits are about to reach an edge: they are looked for among so many times as many.
const TIMES_LOOKED_AT: usize = 6;
/// Close to inlet or bottom, inches.
const CLOSE_IN: f64 = 3.0;

/// Every pit of a valley.
pub fn pits() -> Vec<Case> {
    pits_of(ORDINARY)
}

fn pits_of(ordinary: usize) -> Vec<Case> {
    let valley = Population::default();
    let in_trouble = |kind| simulate_in_trouble(&valley, kind, SEED, ordinary / 3);
    let ordinary = simulate(&valley, SEED, ordinary);
    let all = ordinary.into_iter().chain(Trouble::ALL.into_iter().flat_map(in_trouble));
    all.map(|pit| Case { history: pit.history, freeboard_in: 0.0 }).collect()
}

/// Pits whose last reading finds the liquid close below the inlet, or close above the bottom.
pub fn pits_near_an_edge() -> Vec<Case> {
    let near = |case: &Case| {
        case.readings().iter().rfind(|reading| reading.date().middle() <= AS_OF).is_some_and(|last| {
            let level_in = as_inches(last.level(case.history.pit()));
            is_liquid(last) && (level_in < CLOSE_IN || level_in > case.depth_in() - CLOSE_IN)
        })
    };
    pits_of(TIMES_LOOKED_AT * ORDINARY).into_iter().filter(near).collect()
}

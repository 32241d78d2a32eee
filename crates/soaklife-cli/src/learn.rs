//! `soaklife learn`: the population prior that a company's own pits teach.

use crate::args::LearnArgs;
use crate::forecast::answer::{read, today};
use crate::output::{Failure, Outcome, Run, deliver, say};
use jiff::civil::Date;
use soaklife::fleet::pooling::{Experience, Learnt, part_of};
use soaklife::trend::absorption::Hypotheses;
use soaklife::wording::counted;
use soaklife_records::{Logbook, PitRecord, write_prior};

/// Parts a fleet is split into when each is judged by what the others teach.
const PARTS: u64 = 5;
/// Fewer pits than this hardly move a prior.
const FEW: usize = 100;

pub(crate) fn run(args: &LearnArgs) -> Run {
    let as_of = args.as_of.unwrap_or_else(today);
    let logbook = read(&args.folder, as_of)?;
    let is_taught_by =
        |pit: &PitRecord| args.leave_out.is_none_or(|(part, parts)| part_of(pit.id(), parts) + 1 != part);
    let experience = experience(&logbook, as_of, is_taught_by);
    let learnt = experience.learn();
    let heading = heading(&experience, &learnt, as_of, args.leave_out);
    let written = write_prior(learnt.prior(), &heading).map_err(Failure::Usage)?;
    deliver(written.as_bytes(), args.output.as_deref())?;
    if experience.pits() < FEW {
        say(&format!(
            "{} with readings teach little; typical experience stays as it is, or nearly so.",
            counted(experience.pits(), "pit")
        ));
    }
    Ok(if logbook.has_errors() { Outcome::DataProblems } else { Outcome::Done })
}

fn experience(logbook: &Logbook, as_of: Date, is_taught_by: impl Fn(&PitRecord) -> bool) -> Experience {
    let mut experience = Experience::new(logbook.prior());
    for pit in logbook.pits().filter(|&pit| is_taught_by(pit)) {
        experience.add(pit.history(), as_of);
    }
    experience
}

/// What the file says of itself.
fn heading(experience: &Experience, learnt: &Learnt, as_of: Date, left_out: Option<(u64, u64)>) -> String {
    let without =
        left_out.map_or(String::new(), |(part, parts)| format!(", part {part} of {parts} left out"));
    let mut lines = vec![
        format!("Population prior learnt from {} as of {as_of}{without}.", counted(experience.pits(), "pit")),
        "Gain: by how much what one half of the pits teaches raises the log-likelihood of the others' readings."
            .to_owned(),
    ];
    for &(lesson, gain) in learnt.lessons() {
        let taken = if gain > 0.0 {
            format!("gain {gain:.0}")
        } else {
            "not worth taking, left as typical".to_owned()
        };
        lines.push(format!("- {}: {taken}", lesson.in_words()));
    }
    lines.join("\n")
}

/// Priors learnt with one part of the pits left out, one for each part.
pub(crate) struct PartsLeftOut(Vec<Hypotheses>);

impl PartsLeftOut {
    /// What the pits of the other parts teach about this one.
    pub(crate) fn of(&self, pit_id: &str) -> &Hypotheses {
        let part = usize::try_from(part_of(pit_id, self.0.len() as u64)).unwrap_or_default();
        &self.0[part]
    }
}

/// Learns once for each part, all cores at work.
pub(crate) fn each_part_left_out(logbook: &Logbook, as_of: Date) -> Result<PartsLeftOut, Failure> {
    let without = |part: u64| experience(logbook, as_of, |pit| part_of(pit.id(), PARTS) != part).learn();
    let learnt: Vec<Learnt> = std::thread::scope(|scope| {
        let at_work: Vec<_> = (0..PARTS).map(|part| scope.spawn(move || without(part))).collect();
        at_work.into_iter().filter_map(|worker| worker.join().ok()).collect()
    });
    let priors = learnt.into_iter().map(|learnt| Hypotheses::new(learnt.prior().clone()));
    let priors: Result<Vec<_>, _> = priors.collect();
    priors.map(PartsLeftOut).map_err(|error| Failure::Usage(error.to_string()))
}

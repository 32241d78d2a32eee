//! `soaklife learn`: the population prior that a company's own pits teach, all of them and group by group.

use crate::args::LearnArgs;
use crate::every_pit;
use crate::forecast::answer::{open_fleet, today};
use crate::grouping::Grouping;
use crate::output::{Failure, Outcome, Run, cores, deliver, say};
use crate::typical::Typical;
use jiff::civil::Date;
use soaklife::fleet::pooling::{Experience, GroupedExperience, Learnt, Lesson, PreparedPit, part_of};
use soaklife::prior::PopulationPrior;
use soaklife::trend::absorption::Hypotheses;
use soaklife::wording::counted;
use soaklife_records::{Entry, Findings, Fleet, GroupPriors, PitRecord, PriorFile, Stretch};
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// Parts a fleet is split into when each is judged by what the others teach.
const PARTS: usize = 5;
/// Fewer pits than this hardly move a prior.
const FEW: usize = 100;
/// A group of fewer pits with readings is taken to be as the fleet.
const FEWEST_IN_GROUP: usize = 30;

pub(crate) fn run(args: &LearnArgs) -> Run {
    let as_of = args.as_of.unwrap_or_else(today);
    let fleet = open_fleet(&args.folder, as_of)?;
    let school = School::new(&fleet, as_of, args.threads.unwrap_or_else(cores), args.by.as_deref())?;
    let may_teach =
        |_: usize, id: &str| args.leave_out.is_none_or(|(part, parts)| part_of(id, parts) + 1 != part);
    let ([experience], found) = school.gather(may_teach)?;
    if let Some(taught) = school.learn(&[&experience]).pop() {
        let heading = taught.heading(as_of, args);
        let written = taught.priors(args.by.as_deref()).write(&heading).map_err(Failure::Usage)?;
        deliver(written.as_bytes(), args.output.as_deref())?;
    }
    let pits = experience.whole().pits();
    if pits < FEW {
        say(&format!(
            "{} with readings {} little; typical experience stays as it is, or nearly so.",
            counted(pits, "pit"),
            if pits == 1 { "teaches" } else { "teach" }
        ));
    }
    Ok(if found.errors() > 0 { Outcome::DataProblems } else { Outcome::Done })
}

/// What the pits of a logbook teach, and how it is found out.
struct School<'f> {
    fleet: &'f Fleet,
    as_of: Date,
    threads: NonZeroUsize,
    grouping: Option<Grouping>,
    /// What the logbook says is typical before its pits teach anything.
    prior: PopulationPrior,
}

/// A pit that can teach, under its identifier and in its group.
struct Pupil {
    id: String,
    group: Option<String>,
    pit: PreparedPit,
}

impl<'f> School<'f> {
    fn new(fleet: &'f Fleet, as_of: Date, threads: NonZeroUsize, by: Option<&str>) -> Result<Self, Failure> {
        let own = fleet.settings().prior().cloned().unwrap_or_default();
        let prior = fleet.at_own_load(own, threads).map_err(every_pit::failure)?;
        Ok(Self { fleet, as_of, threads, grouping: by.map(Grouping::new), prior })
    }

    /// Walks the logbook once; the pits that `may_teach` at a place are added to the experience there.
    fn gather<const N: usize>(
        &self,
        may_teach: impl Fn(usize, &str) -> bool,
    ) -> Result<([GroupedExperience; N], Findings), Failure> {
        let none = || [(); N].map(|()| GroupedExperience::new(self.prior.clone()));
        let take = |experience: &mut [GroupedExperience; N], pupils: Vec<Pupil>| {
            for pupil in pupils {
                let places = experience.iter_mut().enumerate();
                for (_, experience) in places.filter(|(place, _)| may_teach(*place, &pupil.id)) {
                    experience
                        .add_prepared(pupil.pit.clone(), pupil.group.as_deref())
                        .map_err(|error| Failure::Usage(error.to_string()))?;
                }
            }
            Ok(())
        };
        every_pit::walk(
            self.fleet,
            self.threads,
            |stretch| self.pupils(stretch),
            none(),
            |_| Ok(none()),
            take,
        )
    }

    fn pupils(&self, stretch: &Stretch) -> Result<Vec<Pupil>, Failure> {
        let mut pupils = Vec::with_capacity(stretch.entries().len());
        for entry in stretch.entries() {
            let Entry::Pit(record) = entry else { continue };
            let Some(pit) = PreparedPit::new(record.history(), self.as_of, &self.prior) else { continue };
            let group = self.grouping.as_ref().map(|grouping| grouping.group_of(record)).transpose()?;
            let group = group.map(|name| name.into_owned());
            pupils.push(Pupil { id: record.id().to_owned(), group, pit });
        }
        Ok(pupils)
    }

    /// What each fleet teaches, and then what each of its groups teaches beyond it.
    fn learn(&self, fleets: &[&GroupedExperience]) -> Vec<Taught> {
        let wholes = in_parallel(self.threads, fleets, |fleet| fleet.whole().learn());
        let groups: Vec<(&Learnt, &Experience)> = wholes
            .iter()
            .zip(fleets)
            .flat_map(|(whole, fleet)| fleet.groups().map(move |(_, group)| (whole, group)))
            .collect();
        let mut of_groups = in_parallel(self.threads, &groups, |(whole, group)| {
            (group.pits() >= FEWEST_IN_GROUP).then(|| group.learn_from(whole.prior()))
        })
        .into_iter();
        let taught = |(whole, fleet): (&Learnt, &&GroupedExperience)| Taught {
            pits: fleet.whole().pits(),
            whole: whole.clone(),
            groups: fleet
                .groups()
                .zip(&mut of_groups)
                .map(|((name, group), learnt)| TaughtGroup {
                    name: name.to_owned(),
                    pits: group.pits(),
                    learnt,
                })
                .collect(),
        };
        wholes.iter().zip(fleets).map(taught).collect()
    }
}

/// The work on each task, several at once, in the order of the tasks.
fn in_parallel<T: Sync, R: Send>(
    threads: NonZeroUsize,
    tasks: &[T],
    work: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    let (next, results) = (AtomicUsize::new(0), Mutex::new(Vec::with_capacity(tasks.len())));
    std::thread::scope(|scope| {
        for _ in 0..threads.get().min(tasks.len()) {
            scope.spawn(|| {
                loop {
                    let place = next.fetch_add(1, Ordering::Relaxed);
                    let Some(task) = tasks.get(place) else { return };
                    let result = work(task);
                    results.lock().unwrap_or_else(PoisonError::into_inner).push((place, result));
                }
            });
        }
    });
    let mut results = results.into_inner().unwrap_or_else(PoisonError::into_inner);
    results.sort_by_key(|(place, _)| *place);
    results.into_iter().map(|(_, result)| result).collect()
}

/// What a fleet has taught.
struct Taught {
    pits: usize,
    whole: Learnt,
    groups: Vec<TaughtGroup>,
}

/// What a group has taught beyond its fleet; nothing if it is too small.
struct TaughtGroup {
    name: String,
    pits: usize,
    learnt: Option<Learnt>,
}

impl Taught {
    /// The priors: a group that teaches nothing of its own is as the fleet.
    fn priors(self, by: Option<&str>) -> PriorFile {
        let own = |group: TaughtGroup| Some((group.name, group.learnt?.prior().clone()));
        let whole = self.whole.prior().clone();
        let differs = |(_, prior): &(String, PopulationPrior)| *prior != whole;
        let priors = self.groups.into_iter().filter_map(own).filter(differs).collect();
        let groups = by.map(|by| GroupPriors { by: by.trim().to_owned(), priors });
        PriorFile { whole, groups }
    }

    /// What the file says of itself.
    fn heading(&self, as_of: Date, args: &LearnArgs) -> String {
        let without = args
            .leave_out
            .map_or(String::new(), |(part, parts)| format!(", part {part} of {parts} left out"));
        let mut lines = vec![
            format!("Population prior learnt from {} as of {as_of}{without}.", counted(self.pits, "pit")),
            "Gain: by how much what one half of the pits teaches raises the log-likelihood of the others' readings."
                .to_owned(),
        ];
        for &(lesson, gain) in self.whole.lessons() {
            let taken = if gain > 0.0 {
                format!("gain {gain:.0}")
            } else {
                "not worth taking, left as typical".to_owned()
            };
            lines.push(format!("- {}: {taken}", lesson.in_words()));
        }
        if let Some(by) = &args.by {
            lines.push(format!(
                "Groups by {by:?}, each learnt on top of the fleet. A pit of any other group is as the fleet."
            ));
            lines.extend(self.groups.iter().map(TaughtGroup::in_words));
        }
        lines.join("\n")
    }
}

impl TaughtGroup {
    fn in_words(&self) -> String {
        let gains = |learnt: &Learnt| {
            let taken = learnt.lessons().iter().filter(|(_, gain)| *gain > 0.0);
            let told = |(lesson, gain): &(Lesson, f64)| format!("{}, gain {gain:.0}", lesson.in_words());
            taken.map(told).collect::<Vec<_>>().join("; ")
        };
        let taught = match self.learnt.as_ref().map(gains) {
            None => "too few to teach, as the fleet".to_owned(),
            Some(gains) if gains.is_empty() => "as the fleet".to_owned(),
            Some(gains) => gains,
        };
        format!("- {:?}, {}: {taught}", self.name, counted(self.pits, "pit"))
    }
}

/// What the fleet teaches with one part of the pits left out, one for each part.
pub(crate) struct PartsLeftOut(Vec<Typical>);

impl PartsLeftOut {
    /// What the pits of the other parts teach about this one.
    pub(crate) fn of(&self, pit: &PitRecord) -> &Hypotheses {
        let part = usize::try_from(part_of(pit.id(), self.0.len() as u64)).unwrap_or_default();
        self.0[part].of(pit).0
    }
}

/// Learns once for each part.
pub(crate) fn each_part_left_out(
    fleet: &Fleet,
    as_of: Date,
    threads: NonZeroUsize,
    by: Option<&str>,
) -> Result<PartsLeftOut, Failure> {
    let school = School::new(fleet, as_of, threads, by)?;
    let may_teach = |part: usize, id: &str| part_of(id, PARTS as u64) != part as u64;
    let (parts, _) = school.gather::<PARTS>(may_teach)?;
    let taught = school.learn(&parts.each_ref());
    let typical = taught.into_iter().map(|taught| Typical::new(taught.priors(by)));
    let typical: Result<Vec<_>, _> = typical.collect();
    typical.map(PartsLeftOut).map_err(|error| Failure::Usage(error.to_string()))
}

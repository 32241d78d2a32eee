//! `soaklife log`: one reading more, and what it changes.

use crate::args::{ConditionArg, LogArgs, QuestionArgs};
use crate::forecast::answer::{Asked, today, unknown};
use crate::forecast::text::one_line;
use crate::output::{Failure, Outcome, Run, deliver, say, wrapped};
use clap::Parser;
use soaklife::reading::Condition;
use soaklife_records::{AppendError, Found, NewReading, append_reading};

impl From<ConditionArg> for Condition {
    fn from(condition: ConditionArg) -> Self {
        match condition {
            ConditionArg::Normal => Self::Normal,
            ConditionArg::AfterRain => Self::AfterRain,
            ConditionArg::Vacant => Self::Vacant,
            ConditionArg::AfterPumping => Self::AfterPumping,
            ConditionArg::Suspect => Self::Suspect,
        }
    }
}

pub(crate) fn run(args: &LogArgs) -> Run {
    let found = match (args.depth_to_liquid, args.dry) {
        (Some(depth), _) => Found::Depth(depth),
        (None, true) => Found::Dry,
        (None, false) => Found::AtInlet,
    };
    let reading = NewReading {
        pit_id: args.pit.clone(),
        date: args.date,
        found,
        condition: args.condition.into(),
        note: args.note.clone(),
    };
    let before = Asked::open(&args.folder, &usual_question())?;
    if before.logbook().entry(&args.pit).is_none() {
        return Err(Failure::Usage(unknown(before.logbook(), &args.pit)));
    }
    let appended = append_reading(&args.folder, &reading, today()).map_err(failure)?;
    for warning in &appended.warnings {
        say(&warning.to_string());
    }
    tell_what_it_changes(args).map_err(|failure| match failure {
        // Or it would be logged a second time.
        Failure::ReadOrWrite(why) => Failure::ReadOrWrite(format!("The reading was added, but {why}")),
        other => other,
    })
}

fn tell_what_it_changes(args: &LogArgs) -> Run {
    let after = Asked::open(&args.folder, &usual_question())?;
    let answer = after.answer_of(&args.pit)?;
    let told = format!("Added. {}", one_line(&after, &answer));
    deliver(format!("{}\n", wrapped(&told, 100, 0)).as_bytes(), None)?;
    Ok(Outcome::Done)
}

/// A refused reading is a problem of the command, not of the logbook.
fn failure(error: AppendError) -> Failure {
    match error {
        AppendError::Refused { .. } | AppendError::Columns { .. } => {
            Failure::Usage(format!("Not added: {error}. Nothing was changed."))
        }
        error => Failure::ReadOrWrite(error.to_string()),
    }
}

/// What is asked unless something else is: the defaults of `soaklife forecast`.
fn usual_question() -> QuestionArgs {
    #[derive(Debug, Parser)]
    struct Defaults {
        #[command(flatten)]
        question: QuestionArgs,
    }
    Defaults::parse_from(["soaklife"]).question
}

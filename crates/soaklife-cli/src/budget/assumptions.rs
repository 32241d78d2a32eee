//! What a budget takes for granted, said in full wherever it answers.

use super::outlook::Outlook;
use super::walk::Walked;
use soaklife::fleet::MOST_EXACT;
use soaklife::wording::counted;
use soaklife::wording::coverage::percent;
use soaklife::wording::fleet::{amount, grouped};

pub(super) const CAUTION: &str = "Estimates from readings, no warranty and no substitute for an inspection: local code and licensed \
                                  practitioners decide what must be replaced, and when.";

pub(super) const SAFETY: &str = "At the pit: sewage gas kills without warning. Never enter or lean into a tank or pit, never work at an \
                                 open one alone, no open flame; keep every cover secured.";

/// Who reads: whoever types commands wants to know which option changes an assumption.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reader {
    AtTerminal,
    OfReport,
}

impl Reader {
    fn told_of(self, option: &str) -> String {
        if self == Self::AtTerminal { format!(", {option}") } else { String::new() }
    }
}

/// Every assumption, a sentence or two each.
pub(crate) fn assumptions(walked: &Walked, outlook: &Outlook, reader: Reader) -> Vec<String> {
    let mut told = vec![counting(walked), shared_error(walked, reader), prices(walked, reader)];
    told.push(format!(
        "Money set aside earns {} a year and is set aside evenly through each year, in proportion for the rest of this one.",
        rate(walked.costs.interest())
    ));
    if walked.by_experience > 0 {
        told.push(format!(
            "Nobody has measured {} of {} as they are now: the chances of such a pit are typical experience.",
            grouped(walked.by_experience as f64),
            counted(outlook.pits as usize, "pit")
        ));
    }
    if !outlook.is_exact {
        told.push(format!(
            "With more than {} pits the ends of the ranges are calculated from sums, within one pit of the exact ones.",
            grouped(MOST_EXACT as f64)
        ));
    }
    told
}

fn counting(walked: &Walked) -> String {
    let early = if walked.acted_on_early > 0 {
        format!(", or the action freeboard ({} of the pits)", grouped(walked.acted_on_early as f64))
    } else {
        String::new()
    };
    format!(
        "Counted are first failures: the liquid reaches the inlet{early}. A pit replaced once is not replaced again. A pit that \
         stands at its inlet today has failed and counts in the first year."
    )
}

fn shared_error(walked: &Walked, reader: Reader) -> String {
    match walked.factor.variation() {
        0.0 => {
            "Every pit errs on its own; an error that all share, as of the typical experience, is left out."
                .to_owned()
        }
        shared => format!(
            "All chances may be wrong together by {} of themselves (one standard deviation), beside the luck of each pit: \
             an assumption{}. It allows for pits that all fill somewhat faster or slower than typical, not for \
             loads misstated everywhere.",
            percent(shared),
            reader.told_of("--common-factor")
        ),
    }
}

fn prices(walked: &Walked, reader: Reader) -> String {
    let usual = amount(walked.usual_cost, &walked.currency);
    let own = match walked.own_cost {
        0 => format!("A replacement costs {usual} today"),
        own => format!(
            "A replacement costs {usual} today, or what the logbook says of the pit ({} of them)",
            grouped(own as f64)
        ),
    };
    let rise = match walked.costs.escalation() {
        0.0 => "does not rise".to_owned(),
        rise if rise < 0.0 => format!("falls {} a year", rate(-rise)),
        rise => format!("rises {} a year", rate(rise)),
    };
    format!(
        "{own}, {rise}, is paid in the middle of the year, and may come out {} dearer or cheaper (one standard deviation; an \
         assumption{}).",
        percent(walked.costs.spread()),
        reader.told_of("--cost-spread")
    )
}

/// A yearly rate, with a decimal where it has one: "2 %", "2.5 %".
fn rate(share: f64) -> String {
    let tenths = (share * 1000.0).round() + 0.0;
    if tenths % 10.0 == 0.0 { percent(share) } else { format!("{:.1} %", tenths / 10.0) }
}

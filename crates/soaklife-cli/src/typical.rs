//! What is typical of a pit before its readings: of all pits, or of its group where a file tells groups apart.

use crate::grouping::Grouping;
use crate::output::say;
use soaklife::prior::PriorError;
use soaklife::trend::absorption::Hypotheses;
use soaklife_records::{PitRecord, PriorFile};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Once;

/// Typical experience, laid out once for all pits and once a group.
#[derive(Debug)]
pub(crate) struct Typical {
    whole: Hypotheses,
    groups: Option<Groups>,
}

#[derive(Debug)]
struct Groups {
    grouping: Grouping,
    hypotheses: BTreeMap<String, Hypotheses>,
    /// Whether it has been said that the logbook lacks the column.
    is_lack_said: Once,
}

impl Typical {
    pub(crate) fn new(file: PriorFile) -> Result<Self, PriorError> {
        let whole = Hypotheses::new(file.whole)?;
        let Some(groups) = file.groups else { return Ok(Self { whole, groups: None }) };
        let laid_out = |(name, prior)| Ok((name, Hypotheses::new(prior)?));
        let hypotheses = groups.priors.into_iter().map(laid_out).collect::<Result<_, PriorError>>()?;
        let grouping = Grouping::new(&groups.by);
        Ok(Self { whole, groups: Some(Groups { grouping, hypotheses, is_lack_said: Once::new() }) })
    }

    /// What is typical of all pits.
    pub(crate) fn whole(&self) -> &Hypotheses {
        &self.whole
    }

    /// The column that says the group, if groups are told apart.
    pub(crate) fn column(&self) -> Option<&str> {
        self.groups.as_ref().map(|groups| groups.grouping.column())
    }

    /// What is typical of a pit like this, and the group it was learnt from, if not from all.
    pub(crate) fn of<'r>(&self, pit: &'r PitRecord) -> (&Hypotheses, Option<Cow<'r, str>>) {
        let Some(groups) = &self.groups else { return (&self.whole, None) };
        let Some(name) = groups.grouping.find(pit) else {
            groups.is_lack_said.call_once(|| {
                let lack = groups.grouping.unknown(pit);
                say(&format!(
                    "{lack}. Every pit is taken for one of the whole fleet that the prior was learnt from."
                ));
            });
            return (&self.whole, None);
        };
        match groups.hypotheses.get(name.as_ref()) {
            Some(hypotheses) => (hypotheses, Some(name)),
            None => (&self.whole, None),
        }
    }
}

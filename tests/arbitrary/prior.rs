//! Any text as a file of typical experience: refused in words, or a prior that is written down and read back the same.

use crate::sound::assert_words;
use soaklife::prior::PopulationPrior;
use soaklife::trend::absorption::Hypotheses;
use soaklife_records::PriorFile;

pub(super) fn check(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match PriorFile::read(text) {
        Ok(file) => {
            assert_usable(&file.whole);
            file.groups.iter().flat_map(|groups| groups.priors.values()).for_each(assert_usable);
            let written = file.write("Typical experience.").expect("what was read can be written");
            assert_eq!(PriorFile::read(&written).as_ref(), Ok(&file), "{written}");
        }
        Err(reason) => assert!(!reason.is_empty() && !reason.contains(char::is_control), "{reason:?}"),
    }
}

fn assert_usable(prior: &PopulationPrior) {
    if let Err(reason) = Hypotheses::new(prior.clone()) {
        assert_words(&reason.to_string());
        panic!("read and then refused: {reason}");
    }
}

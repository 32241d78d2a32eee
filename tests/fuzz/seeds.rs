//! Writes what every target of the fuzzer begins with into `tests/fuzz/corpus`, and the words of the tables beside it.

use std::error::Error;
use std::fs;
use std::path::Path;
use tests::arbitrary::{TARGETS, seeds, words};

fn main() -> Result<(), Box<dyn Error>> {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus");
    for target in TARGETS {
        let folder = corpus.join(target.name);
        fs::create_dir_all(&folder)?;
        let seeds = seeds(target.name);
        for (place, seed) in seeds.iter().enumerate() {
            fs::write(folder.join(format!("seed-{place:03}")), seed)?;
        }
        println!("{}: {} seeds", target.name, seeds.len());
    }
    let quoted = |word: &String| word.bytes().map(|byte| format!("\\x{byte:02x}")).collect::<String>();
    let lines: Vec<String> = words().iter().map(|word| format!("\"{}\"\n", quoted(word))).collect();
    fs::write(corpus.join("words.dict"), lines.concat())?;
    Ok(())
}

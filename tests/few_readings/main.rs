//! Writes a logbook of pits with two readings at most: `few_readings FOLDER PITS SEED`.

use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [folder, pits, seed] = args.as_slice() else { return Err("few_readings FOLDER PITS SEED".into()) };
    tests::few_readings::write(folder.as_ref(), pits.parse()?, seed.parse()?)?;
    Ok(())
}

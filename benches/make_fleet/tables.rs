//! The tables of an invented logbook, written pit by pit.

use super::life::{LAST_YEAR, Pit};
use super::mess::{Mess, Messing};
use super::random::Random;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

const BUFFER: usize = 1 << 20;
/// No reading in the last year is later than May, so that a logbook is one of the middle of that year.
const LAST_MONTH: u32 = 5;
const ROUTES: [&str; 8] =
    ["North Bench", "Mill Race", "Quarry Hill", "Lower Ford", "Orchard", "Station", "Far Pasture", "Ridge"];
const LABELS: [&str; 5] = [
    "{} Mill Race Lane",
    "\"{} Orchard Bench, rear\"",
    "\"{} \"\"The Old Dairy\"\"\"",
    "{} Quarry Road",
    "\"Lot {}, upper road\"",
];
const NOTES: [&str; 6] = [
    "port hard to find",
    "\"scum about 1 in, level below it\"",
    "\"owner says \"\"never any trouble\"\"\"",
    "\"dog, call ahead\"",
    "lid cracked",
    "\"read twice, second one kept\"",
];
const CONDITIONS: [(u32, &str); 4] = [(8, "after_rain"), (4, "vacant"), (1, "after_pumping"), (3, "suspect")];
const WORDS: [&str; 4] = ["about 90", "88 in", "\"7' 4\"\"\"", "full?"];

/// A pit whose rows are being invented: by which chance, and what goes wrong in them.
pub(crate) struct Invented<'a> {
    pub(crate) id: &'a str,
    pub(crate) pit: &'a Pit,
    pub(crate) random: &'a mut Random,
    pub(crate) messing: &'a mut Messing,
}

impl Invented<'_> {
    fn strikes(&mut self, mess: Mess) -> bool {
        self.messing.strikes(mess, self.random)
    }

    fn first_of<const N: usize>(&mut self, messes: [Mess; N]) -> Option<Mess> {
        self.messing.first_of(messes, self.random)
    }
}

/// The files being written, and how many rows of each.
pub(crate) struct Tables {
    pits: BufWriter<File>,
    readings: BufWriter<File>,
    occupancy: BufWriter<File>,
    events: BufWriter<File>,
    pub(crate) count_of_readings: u64,
}

impl Tables {
    /// Begins a logbook; one that is there already is left as it is.
    pub(crate) fn create(folder: &Path) -> io::Result<Self> {
        fs::create_dir_all(folder)?;
        let begin = |name: &str, header: &str| {
            let path = folder.join(name);
            let file = File::create_new(&path)
                .map_err(|error| io::Error::new(error.kind(), format!("{}: {error}", path.display())))?;
            let mut file = BufWriter::with_capacity(BUFFER, file);
            writeln!(file, "{header}")?;
            Ok::<_, io::Error>(file)
        };
        Ok(Self {
            pits: begin(
                "pits.csv",
                "pit_id,label,route,installed,diameter_ft,inlet_depth_in,bottom_depth_in,bedrooms,occupants,soil,replacement_cost",
            )?,
            readings: begin("readings.csv", "pit_id,date,depth_to_liquid_in,state,condition,note")?,
            occupancy: begin("occupancy.csv", "pit_id,from,occupants")?,
            events: begin("events.csv", "pit_id,date,event,note")?,
            count_of_readings: 0,
        })
    }

    pub(crate) fn finish(mut self) -> io::Result<()> {
        for file in [&mut self.pits, &mut self.readings, &mut self.occupancy, &mut self.events] {
            file.flush()?;
        }
        Ok(())
    }

    /// Writes all rows of a pit. Nothing more goes wrong with the rows of a pit that is lost, because `check` counts them without
    /// a look.
    pub(crate) fn write(&mut self, mut of: Invented<'_>) -> io::Result<()> {
        let is_lost = self.write_pit(&mut of)?;
        let mut nothing_wrong = Messing::new(true);
        let mut of = Invented { messing: if is_lost { &mut nothing_wrong } else { of.messing }, ..of };
        self.write_readings(&mut of)?;
        self.write_household(&mut of)?;
        self.write_events(&mut of)
    }

    fn write_pit(&mut self, of: &mut Invented<'_>) -> io::Result<bool> {
        let (id, pit) = (of.id, of.pit);
        let rows = &mut self.pits;
        write!(rows, "{id},")?;
        if of.random.one_in(3) {
            let label = LABELS[of.random.below(LABELS.len() as u32) as usize];
            rows.write_all(label.replacen("{}", &(1 + of.random.below(240)).to_string(), 1).as_bytes())?;
        }
        write!(rows, ",{},", ROUTES[of.random.below(ROUTES.len() as u32) as usize])?;
        let (month, day) = (1 + of.random.below(12), 1 + of.random.below(28));
        match of.first_of([Mess::InstalledUnknown, Mess::InstalledInYear]) {
            None => write!(rows, "{}-{month:02}-{day:02}", pit.built)?,
            Some(Mess::InstalledInYear) => write!(rows, "{}", pit.built)?,
            Some(_) => {}
        }
        let (inlet, bottom) = (pit.inlet_in, pit.bottom_in());
        let lost = of.first_of([Mess::WordForBottom, Mess::DepthsSwapped]);
        match lost {
            None => write!(rows, ",{},{inlet:.1},{bottom:.1},", pit.diameter_ft)?,
            Some(Mess::WordForBottom) => write!(rows, ",{},{inlet:.1},twelve feet,", pit.diameter_ft)?,
            Some(_) => write!(rows, ",{},{bottom:.1},{inlet:.1},", pit.diameter_ft)?,
        }
        if !of.strikes(Mess::BedroomsUnknown) {
            write!(rows, "{}", pit.bedrooms)?;
        }
        rows.write_all(b",")?;
        if !of.strikes(Mess::OccupantsUnknown) {
            write!(rows, "{}", pit.people)?;
        }
        // A word wrong in a row that is lost would be told as well.
        let soil_misspelt = lost.is_none() && of.strikes(Mess::SoilMisspelt);
        write!(rows, ",{},", if soil_misspelt { "lome" } else { pit.soil.word })?;
        if of.random.one_in(5) {
            write!(rows, "{}", 500 * (18 + of.random.below(50)))?;
        }
        rows.write_all(b"\n")?;
        Ok(lost.is_some())
    }

    fn write_readings(&mut self, of: &mut Invented<'_>) -> io::Result<()> {
        // Most pits have been visited for some 18 years or since they were built, a few were only begun with.
        let years = if of.random.one_in(20) { of.random.below(3) } else { 11 + of.random.below(15) };
        let first = LAST_YEAR + 1 - years;
        let gap =
            of.strikes(Mess::LongGap).then(|| first + 1 + of.random.below(years.saturating_sub(8).max(1)));
        let error_in = of.random.between(0.3, 0.9);
        for (year, level_in) in of.pit.levels_in() {
            let in_gap = gap.is_some_and(|gap| (gap..gap + 6).contains(&year));
            if year < first || in_gap || of.strikes(Mess::VisitMissed) {
                continue;
            }
            let months = if year == LAST_YEAR { LAST_MONTH - 3 } else { 7 };
            let day = Day { year, month: 4 + of.random.below(months), day: 1 + of.random.below(28) };
            let level_in = level_in + error_in * of.random.bell();
            self.write_reading(of, day, level_in)?;
        }
        Ok(())
    }

    fn write_reading(&mut self, of: &mut Invented<'_>, day: Day, level_in: f64) -> io::Result<()> {
        let (id, pit) = (of.id, of.pit);
        let rows = &mut self.readings;
        if of.strikes(Mess::BlankRow) {
            rows.write_all(b",,,,,\n")?;
        }
        let broken = of.first_of([
            Mess::BelowBottom,
            Mess::WordsForDepth,
            Mess::UnknownPit,
            Mess::CutShort,
            Mess::DateWithSlashes,
            Mess::CenturyTooLate,
        ]);
        let mut row = String::with_capacity(80);
        row += id;
        row += if broken == Some(Mess::UnknownPit) { "x," } else { "," };
        let date = match broken {
            Some(Mess::DateWithSlashes) => format!("{}/{}/{}", day.month, day.day, day.year),
            Some(Mess::CenturyTooLate) => format!("{}-{:02}-{:02}", day.year + 100, day.month, day.day),
            Some(_) => day.to_string(),
            None => match of.first_of([Mess::DateOfMonth, Mess::DateOfYear]) {
                Some(Mess::DateOfMonth) => format!("{}-{:02}", day.year, day.month),
                Some(_) => day.year.to_string(),
                None => day.to_string(),
            },
        };
        row += &date;
        let mut level_in = level_in;
        if broken.is_none() && of.strikes(Mess::Misread) {
            let wrong_by = f64::from(10 + of.random.below(41));
            level_in += if of.random.one_in(2) { wrong_by } else { -wrong_by };
        }
        let depth_in = ((pit.bottom_in() - level_in) * 2.0).round() / 2.0;
        match broken {
            Some(Mess::CutShort) => return writeln!(rows, "{row}"),
            Some(Mess::BelowBottom) => {
                row += &format!(",{:.1},", pit.bottom_in() + 5.0 + f64::from(of.random.below(40)));
            }
            Some(Mess::WordsForDepth) => {
                row += ",";
                row += WORDS[of.random.below(WORDS.len() as u32) as usize];
                row += ",";
            }
            _ if level_in < 0.5 => row += ",,dry",
            _ if depth_in <= pit.inlet_in => row += ",,at_inlet",
            _ => row += &format!(",{depth_in:.1},"),
        }
        row += ",";
        if of.strikes(Mess::Condition) {
            row += of.random.pick(&CONDITIONS, "");
        }
        row += ",";
        if of.random.one_in(20) {
            row += NOTES[of.random.below(NOTES.len() as u32) as usize];
        }
        row += "\n";
        rows.write_all(row.as_bytes())?;
        self.count_of_readings += 1;
        // Only full days are told of as the same.
        if broken.is_none() && date.len() > 7 && of.strikes(Mess::Twice) {
            rows.write_all(row.as_bytes())?;
            self.count_of_readings += 1;
        }
        Ok(())
    }

    fn write_household(&mut self, of: &mut Invented<'_>) -> io::Result<()> {
        let (id, pit) = (of.id, of.pit);
        let Some((before, until)) = pit.people_before else { return Ok(()) };
        let rows = &mut self.occupancy;
        writeln!(rows, "{id},{},{before}", pit.built + 1)?;
        write!(rows, "{id},{until}-01-01,")?;
        if !of.strikes(Mess::NobodyCounted) {
            write!(rows, "{}", pit.people)?;
        }
        writeln!(rows)
    }

    /// What was done in some autumn; by the next visit the pit is as full again as it was.
    fn write_events(&mut self, of: &mut Invented<'_>) -> io::Result<()> {
        let (id, pit) = (of.id, of.pit);
        if !of.random.one_in(12) || pit.built + 2 >= LAST_YEAR {
            return Ok(());
        }
        let year = pit.built + 1 + of.random.below(LAST_YEAR - pit.built - 1);
        let event = match of.strikes(Mess::UnknownEvent) {
            true => "jetted",
            false => of.random.pick(&[(4, "pumped_out"), (1, "pipe_repaired")], ""),
        };
        let note = if event == "pumped_out" { "\"1,400 gal, owner asked for it\"" } else { "" };
        writeln!(self.events, "{id},{year}-11-{:02},{event},{note}", 1 + of.random.below(28))
    }
}

#[derive(Clone, Copy)]
struct Day {
    year: u32,
    month: u32,
    day: u32,
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

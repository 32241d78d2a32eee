//! Logbooks for the checks: a sound one, one written as text with all its files, and one drawn from bytes.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use tempfile::TempDir;

/// Begins a file in a bundle that is written as text: `== readings.csv`.
pub(super) const MARK: &str = "== ";
/// So few that a check stays quick.
const MOST_PITS: u8 = 3;
const MOST_ROWS: usize = 150;
const FILES: [&str; 6] =
    ["pits.csv", "readings.csv", "occupancy.csv", "events.csv", "load_tests.csv", "logbook.toml"];

/// The files of a logbook.
pub(super) struct Bundle {
    files: BTreeMap<&'static str, Vec<u8>>,
}

impl Bundle {
    /// Two sound pits with a little of everything.
    pub(super) fn sound() -> Self {
        let pits = "pit_id,installed,inlet_depth_in,bottom_depth_in,diameter_ft,bedrooms,occupants\n\
                    N-1,1984,38,182,6,3,4\nN-2,1991,42,190,5,3,3\n";
        let readings = "pit_id,date,depth_to_liquid_in,state,condition,note\nN-1,2021-05-14,96,,,\nN-2,2022-05-14,,dry,,\n\
                        N-1,2023-05-16,91.5,,after_rain,\nN-1,2025-05-20,88,,,\nN-2,2025-05-20,150,,,\n";
        let occupancy = "pit_id,from,occupants,flow_gpd\nN-1,1984-06-01,2,\nN-1,2015-06-01,,210\n";
        let events = "pit_id,date,event,note\nN-1,2022-05-20,pumped_out,\n";
        let load_tests = "pit_id,time,added_gal,depth_to_liquid_in,tank_rise_in,note\nN-1,2025-06-13T09:20,0,88,0,\n\
                          N-1,2025-06-13T10:20,225,80,1.5,\nN-1,2025-06-14T09:20,225,87,0,\n";
        let files = [pits, readings, occupancy, events, load_tests, ""];
        Self { files: FILES.into_iter().zip(files.map(|text| text.as_bytes().to_vec())).collect() }
    }

    /// The same with other bytes in one file.
    pub(super) fn with(mut self, file: &str, bytes: &[u8]) -> Self {
        let file = FILES.into_iter().find(|known| *known == file).expect("a file of a logbook");
        self.files.insert(file, bytes.to_vec());
        self
    }

    /// Any bytes as a logbook: written out as text if they begin so, else drawn.
    pub(super) fn of(bytes: &[u8]) -> Self {
        if bytes.starts_with(MARK.as_bytes()) { Self::written_out(bytes) } else { Self::drawn(bytes) }
    }

    /// Each file below its name; one that is not named is that of the sound logbook.
    fn written_out(bytes: &[u8]) -> Self {
        let mut bundle = Self::sound();
        let mut file = None;
        for line in bytes.split_inclusive(|byte| *byte == b'\n').take(MOST_ROWS * 2) {
            let named = line.strip_prefix(MARK.as_bytes()).map(<[u8]>::trim_ascii);
            match named.and_then(|name| FILES.into_iter().find(|file| file.as_bytes() == name)) {
                Some(name) => {
                    bundle.files.insert(name, Vec::new());
                    file = Some(name);
                }
                None => {
                    if let Some(text) = file.and_then(|name| bundle.files.get_mut(name)) {
                        text.extend_from_slice(line);
                    }
                }
            }
        }
        bundle
    }

    /// Nearly every row can be used, so that what follows on a logbook is met and not only the reading of it.
    fn drawn(bytes: &[u8]) -> Self {
        let mut drawn = Drawn::from(bytes);
        let count = 1 + drawn.byte() % MOST_PITS;
        let [mut pits, mut readings, mut occupancy, mut events, mut load_tests] = HEADERS.map(str::to_owned);
        for pit in 1..=count {
            pits += &pit_row(pit, &mut drawn);
        }
        for _ in 0..MOST_ROWS {
            if drawn.is_empty() {
                break;
            }
            let (kind, pit) = (drawn.byte() % 16, 1 + drawn.byte() % count);
            match kind {
                0 => {
                    _ = writeln!(occupancy, "P-{pit},{},{},{}", drawn.date(), drawn.byte() % 9, drawn.flow())
                }
                1 => {
                    _ = writeln!(
                        events,
                        "P-{pit},{},{}",
                        drawn.date(),
                        drawn.one_of(&soaklife_records::schema::EVENTS)
                    )
                }
                2 | 3 => load_tests += &look_row(pit, &mut drawn),
                _ => readings += &reading_row(pit, &mut drawn),
            }
        }
        let files = [pits, readings, occupancy, events, load_tests, String::new()];
        Self { files: FILES.into_iter().zip(files.map(String::into_bytes)).collect() }
    }

    /// The logbook in a folder of its own, which goes with the value.
    pub(super) fn written(&self) -> TempDir {
        let folder = tempfile::tempdir().expect("a folder for the logbook");
        for (name, bytes) in &self.files {
            fs::write(folder.path().join(name), bytes).expect("a file of the logbook");
        }
        folder
    }
}

const HEADERS: [&str; 5] = [
    "pit_id,label,installed,inlet_depth_in,bottom_depth_in,diameter_in,liquid_fraction,bedrooms,occupants,soil,action_freeboard_in\n",
    "pit_id,date,depth_to_liquid_in,state,condition\n",
    "pit_id,from,occupants,flow_gpd\n",
    "pit_id,date,event\n",
    "pit_id,time,added_gal,depth_to_liquid_in,tank_rise_in\n",
];

fn pit_row(pit: u8, drawn: &mut Drawn<'_>) -> String {
    let label = drawn
        .one_of(&["", "4 Mill Race Lane", "<b> & \u{202e}\"\"x", "long name ", "\u{1f6b1}"])
        .repeat(1 + usize::from(drawn.byte() % 12));
    let (inlet, depth) = (drawn.number(0.0, 100.0), drawn.by_magnitude(0.5, 2000.0));
    format!(
        "P-{pit},\"{label}\",{},{inlet},{},{},{},{},{},{},{}\n",
        drawn.one_of(&["", "1960", "1984-05", "2025-12-31"]),
        inlet + depth,
        drawn.one_of(&["", "72", "0.5", "9999"]),
        drawn.one_of(&["", "0.35", "1"]),
        drawn.one_of(&["", "3", "1", "40"]),
        drawn.one_of(&["", "4", "0", "60"]),
        drawn.one_of(&soaklife_records::schema::SOILS),
        drawn.one_of(&["", "0", "12", "60"]),
    )
}

fn reading_row(pit: u8, drawn: &mut Drawn<'_>) -> String {
    let (date, how) = (drawn.date(), drawn.byte());
    let condition = if how & 8 == 0 { "" } else { drawn.one_of(&soaklife_records::schema::CONDITIONS) };
    match how % 8 {
        0 => format!("P-{pit},{date},,dry,{condition}\n"),
        1 => format!("P-{pit},{date},,at_inlet,{condition}\n"),
        2 => format!("P-{pit},{date},{},,{condition}\n", drawn.number(0.0, 2200.0)),
        _ => format!("P-{pit},{date},{},,{condition}\n", drawn.number(0.0, 250.0)),
    }
}

fn look_row(pit: u8, drawn: &mut Drawn<'_>) -> String {
    let (day, time) = (1 + drawn.byte() % 3, drawn.byte());
    let (added, depth) = (drawn.by_magnitude(0.1, 1e5), drawn.number(0.0, 250.0));
    let added = if time & 1 == 0 { "0".to_owned() } else { added.to_string() };
    format!("P-{pit},2026-05-0{day}T{:02}:{:02},{added},{depth},\n", time % 24, time % 60)
}

/// Bytes that values are drawn from; once they are used up, every byte is 0.
pub(super) struct Drawn<'b> {
    bytes: &'b [u8],
}

impl<'b> Drawn<'b> {
    pub(super) fn from(bytes: &'b [u8]) -> Self {
        Self { bytes }
    }

    fn is_empty(&self) -> bool {
        self.bytes.is_empty()
    }

    pub(super) fn byte(&mut self) -> u8 {
        let Some((first, others)) = self.bytes.split_first() else { return 0 };
        self.bytes = others;
        *first
    }

    /// From 0 to 1.
    fn share(&mut self) -> f64 {
        f64::from(u16::from_le_bytes([self.byte(), self.byte()])) / f64::from(u16::MAX)
    }

    pub(super) fn number(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }

    /// Every order of magnitude as likely as another.
    fn by_magnitude(&mut self, least: f64, most: f64) -> f64 {
        least * (most / least).powf(self.share())
    }

    pub(super) fn one_of<'t, T: ?Sized>(&mut self, choices: &'t [&'t T]) -> &'t T {
        choices[usize::from(self.byte()) % choices.len()]
    }

    /// A day, month or year of the last eighty years.
    fn date(&mut self) -> String {
        let (year, month, day) = (1947 + u16::from(self.byte() % 80), 1 + self.byte() % 12, self.byte() % 31);
        match day {
            0 => format!("{year}"),
            1 => format!("{year}-{month:02}"),
            day => format!("{year}-{month:02}-{:02}", day.min(28)),
        }
    }

    /// A flow in gallons a day, or none.
    fn flow(&mut self) -> String {
        if self.byte().is_multiple_of(2) { String::new() } else { self.by_magnitude(0.1, 1e5).to_string() }
    }
}

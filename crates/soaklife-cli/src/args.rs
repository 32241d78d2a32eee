//! The command line: every verb, its options and its examples.

use crate::picture::{Picture, USUAL_DPI};
use crate::said::{
    parse_action_freeboard, parse_bedrooms, parse_common_factor, parse_cost_spread, parse_coverage,
    parse_depth, parse_diameter, parse_dpi, parse_horizon, parse_metered_flow, parse_occupants,
    parse_reduction,
};
use clap::builder::{PathBufValueParser, TypedValueParser as _};
use clap::{ArgGroup, Args as ClapArgs, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use jiff::civil::Date;
use soaklife::Coverage;
use soaklife::date::PartialDate;
use soaklife::fleet::CommonFactor;
use soaklife::forecast::Method;
use soaklife::quantity::Units;
use soaklife::quantity::{Length, VolumeRate};
use soaklife::trend::axis::Against;
use soaklife_charts::Paper;
use soaklife_records::measure::parse_length;
use std::num::NonZeroUsize;
use std::path::PathBuf;

/// What can hurt someone, shown where the work at a pit is described.
pub(crate) const CAUTIONS: &str = "\
At the pit: sewage gas kills without warning. Never enter or lean into a tank or pit, never work at an open one alone, \
no open flame. Old pits and rotten covers collapse: keep off and away from the edge. Never leave a port open or a lid \
unsecured. Gloves; wash hands; keep the stick apart. Have buried utilities located before probing or digging. \
Local code and licensed practitioners decide.";

/// Heading of the options of a what-if.
const WHAT_IF: &str = "What if";

const EXIT_CODES: &str = "\
Exit codes: 0 ok · 1 data problems (the rest was done) · 2 the command could not be understood · 3 could not read or write";

/// How long a seepage pit will keep absorbing, and how sure that is.
#[derive(Debug, Parser)]
#[command(name = "soaklife", version, about, after_help = EXIT_CODES)]
pub(crate) struct Args {
    #[command(subcommand)]
    pub(crate) verb: Verb,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Verb {
    /// Begin a logbook with a first pit
    #[command(after_help = "\
Examples:
  soaklife init home
  soaklife init home --pit-id H-1 --inlet-depth 30in --bottom-depth 17ft6in --diameter 6ft --bedrooms 3 --occupants 4")]
    Init(InitArgs),
    /// Add one reading, said as people say it
    #[command(after_help = format!("\
Examples:
  soaklife log home H-1 --date 2026-05-14 --depth-to-liquid 41.5in
  soaklife log home H-1 --date 2026-05-14 --depth-to-liquid \"3ft 5.5in\" --condition after-rain --note \"two wet weeks\"
  soaklife log home H-1 --date 2026-05-14 --dry

{CAUTIONS}"))]
    Log(LogArgs),
    /// List every problem in a logbook, each with file, line and column
    #[command(after_help = "\
Examples:
  soaklife check home
  soaklife check fixtures/logbooks/alder-fork --as-of 2026-06-30")]
    Check(CheckArgs),
    /// Remaining freeboard and years to the inlet, with bands
    #[command(after_help = format!("\
Examples:
  soaklife forecast home H-1
  soaklife forecast home H-1 --chart h-1.svg
  soaklife forecast fixtures/logbooks/alder-fork --as-of 2026-06-30 --format csv -o forecast.csv
  soaklife forecast home H-1 --method rank --against time --coverage 0.9

What if another household moved in? Side by side with today's forecast, for the pits named:
  soaklife forecast home H-1 --occupants 6
  soaklife forecast home H-1 --sale --from 2027-06
  soaklife forecast home H-1 --flow 420gpd --reduce 20% --from 2027 --until 2029
  soaklife forecast home H-1 H-2 --vacant --until 2027-09 --format csv

{EXIT_CODES}"))]
    Forecast(ForecastArgs),
    /// What a hydraulic load test says: where the water went, what the soil takes, which rules are met
    #[command(after_help = format!("\
A test is rows of load_tests.csv: time, water added so far, depth to liquid and, worth its trouble, how far the tank has \
risen. Read both before any water runs, several times while it runs, when it stops, some hours later and a day later; best, \
pour back up to the first high level then and note the meter. A pause of three days begins another test.

Examples:
  soaklife loadtest fixtures/logbooks/alder-fork AF-12 --as-of 2026-06-30
  soaklife loadtest fixtures/logbooks/alder-fork AF-08 --date 2018-06-13
  soaklife loadtest fixtures/logbooks/alder-fork AF-13 --as-of 2026-06-30 --format json
  soaklife loadtest fixtures/logbooks/alder-fork AF-12 --as-of 2026-06-30 --chart af-12.svg

{CAUTIONS}
Stop pouring when the pit is full to its inlet or the tank nears its lid. Keep the hose out of the sewage, with an air gap
or a vacuum breaker at the tap.

{EXIT_CODES}"))]
    Loadtest(LoadTestArgs),
    /// Draw a figure of one pit, or all pits by urgency
    #[command(after_help = format!("\
Examples:
  soaklife chart home H-1 -o h-1.svg
  soaklife chart fixtures/logbooks/alder-fork AF-01 --as-of 2026-06-30 -o af-01.png --dpi 300
  soaklife chart home H-1 --occupants 6 --from 2027-06 -o six-people.pdf
  soaklife chart home H-1 --figure section -o section.svg
  soaklife chart home H-1 --figure line-check -o line-check.svg
  soaklife chart fixtures/logbooks/alder-fork --figure ladder --as-of 2026-06-30 -o ladder.pdf

{EXIT_CODES}"))]
    Chart(ChartArgs),
    /// A pit's page for an inspector's report; without a pit, the report of the whole fleet for the office
    #[command(after_help = format!("\
With a pit, one page: what a buyer, a lender or a health department asks of a forecast, and a fingerprint of the logbook it \
was made from. Without one, the fleet: how many pits are due and what they cost, as `budget` tells it, whom to see first, \
every pit on a ladder of years and as a small chart (the 1,000 most urgent of more), and pits without a forecast. Then \
--method, --against, --horizon, --coverage and --action-freeboard do not apply: a budget goes by the absorption method as far \
as it sees, and by each pit's own freeboard.

Examples:
  soaklife report home H-1 -o h-1.pdf
  soaklife report home H-1 -o h-1.html --paper a4 --units si
  soaklife report fixtures/logbooks/alder-fork AF-01 --as-of 2026-06-30 -o af-01.html
  soaklife report fixtures/logbooks/alder-fork --as-of 2026-06-30 -o alder-fork.pdf
  soaklife report pits --years 5 --visits 200 --paper a4 -o pits.html
  soaklife report fixtures/logbooks/alder-fork --each --as-of 2026-06-30 -o pages

{CAUTIONS}

{EXIT_CODES}"))]
    Report(ReportArgs),
    /// How earlier forecasts from this logbook would have done
    #[command(after_help = format!("\
Each forecast is made again from what was known on that day, and compared with what later readings showed.

Examples:
  soaklife backtest home
  soaklife backtest fixtures/logbooks/alder-fork --as-of 2026-06-30 --chart coverage.svg
  soaklife backtest home --methods line,rank --format csv -o backtest.csv

{EXIT_CODES}"))]
    Backtest(BacktestArgs),
    /// What this company's own pits teach about all of them, as a population prior
    #[command(after_help = format!("\
The file goes to `--prior` of forecast, budget and chart. It takes hundreds of pits to teach much; some 3 ms a pit.
With --by each group of pits (of a soil, a decade, a maker) teaches what sets it apart from the fleet, and the file says
for which groups; a pit of any other group is asked by what the whole fleet teaches.
To judge it honestly, learn from all parts of the pits but one and look at the forecasts of that one, or let
`backtest --learnt` do so.

Examples:
  soaklife learn valley -o valley-prior.toml
  soaklife forecast valley --prior valley-prior.toml
  soaklife learn valley --by soil -o valley-by-soil.toml
  soaklife backtest valley --learnt --by soil
  soaklife learn valley --leave-out 1/5 -o without-the-first-fifth.toml

{EXIT_CODES}"))]
    Learn(LearnArgs),
    /// What a fleet of pits will cost: replacements and money per year, what to set aside, whom to see first
    #[command(after_help = format!("\
Costs, their rise, interest and currency are those of [money] in logbook.toml, a pit's own cost its replacement_cost in pits.csv.

Examples:
  soaklife budget fixtures/logbooks/alder-fork --as-of 2026-06-30
  soaklife budget pits --years 5 --by soil --visits 200 --chart budget.svg
  soaklife budget pits --by decade --format csv -o budget.csv
  soaklife budget pits --visits 200 --visit-list visits.csv

{CAUTIONS}

{EXIT_CODES}"))]
    Budget(BudgetArgs),
    /// Write the Alder Fork logbook, an invented company with 24 pits, to try things on
    #[command(after_help = "\
Examples:
  soaklife demo alder-fork")]
    Demo(DemoArgs),
    /// Completions of every verb and option for a shell
    #[command(after_help = "\
Examples:
  soaklife completions bash -o ~/.local/share/bash-completion/completions/soaklife
  soaklife completions fish -o ~/.config/fish/completions/soaklife.fish
  soaklife completions zsh -o ~/.zfunc/_soaklife        (~/.zfunc must be in fpath)
  soaklife completions powershell >> $PROFILE")]
    Completions(CompletionsArgs),
    /// The manual page, with every verb and option
    #[command(after_help = "\
Examples:
  soaklife manual | man -l -
  soaklife manual -o ~/.local/share/man/man1/soaklife.1")]
    Manual(ManualArgs),
}

#[derive(Debug, ClapArgs)]
pub(crate) struct InitArgs {
    /// Folder for the new logbook
    pub(crate) folder: PathBuf,
    /// Identifier of the first pit
    #[arg(long, value_name = "ID")]
    pub(crate) pit_id: Option<String>,
    /// What people call it
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub(crate) label: String,
    /// Rim down to the inlet invert, as in 30in
    #[arg(long, value_name = "LENGTH", value_parser = parse_depth, allow_hyphen_values = true)]
    pub(crate) inlet_depth: Option<Length>,
    /// Rim down to the pit bottom, as in 17ft6in
    #[arg(long, value_name = "LENGTH", value_parser = parse_depth, allow_hyphen_values = true)]
    pub(crate) bottom_depth: Option<Length>,
    /// Inside diameter of a round pit, as in 6ft
    #[arg(long, value_name = "LENGTH", value_parser = parse_diameter, allow_hyphen_values = true)]
    pub(crate) diameter: Option<Length>,
    /// When it was put into service: 2009-06-14, 2009-06 or 2009
    #[arg(long, value_name = "DATE")]
    pub(crate) installed: Option<PartialDate>,
    /// Bedrooms the system was sized for
    #[arg(long, value_name = "NUMBER", value_parser = parse_bedrooms, allow_hyphen_values = true)]
    pub(crate) bedrooms: Option<f64>,
    /// People living in the house
    #[arg(long, value_name = "NUMBER", value_parser = parse_occupants, allow_hyphen_values = true)]
    pub(crate) occupants: Option<f64>,
    /// Units the logbook is kept in
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub(crate) units: UnitsArg,
}

#[derive(Debug, ClapArgs)]
#[command(group = ArgGroup::new("found").required(true).args(["depth_to_liquid", "dry", "at_inlet"]))]
pub(crate) struct LogArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Identifier of the pit
    pub(crate) pit: String,
    /// Day of the reading: 2026-05-14
    #[arg(long, value_name = "DATE")]
    pub(crate) date: PartialDate,
    /// Rim down to the liquid: 41.5in, 3ft 5.5in, 3'5.5", 105cm
    #[arg(long, value_name = "LENGTH", value_parser = parse_length)]
    pub(crate) depth_to_liquid: Option<Length>,
    /// No liquid stands in the pit
    #[arg(long)]
    pub(crate) dry: bool,
    /// The liquid stands at the inlet invert
    #[arg(long)]
    pub(crate) at_inlet: bool,
    /// In what condition the pit was
    #[arg(long, value_enum, default_value_t = ConditionArg::Normal)]
    pub(crate) condition: ConditionArg,
    /// Anything worth keeping
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub(crate) note: String,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct CheckArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Day of the forecast: what is dated later is counted [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct ForecastArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    /// Pits to forecast [default: all]
    pub(crate) pits: Vec<String>,
    #[command(flatten)]
    pub(crate) question: QuestionArgs,
    #[command(flatten)]
    pub(crate) what_if: WhatIfArgs,
    /// How to tell it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) picture: PictureArgs,
    /// Print the JSON Schema of `--format json` and do nothing else
    #[arg(long)]
    pub(crate) json_schema: bool,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct LoadTestArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    /// Identifier of the pit
    #[arg(required_unless_present = "json_schema")]
    pub(crate) pit: Option<String>,
    /// A day of the test [default: the last test]
    #[arg(long, value_name = "DATE")]
    pub(crate) date: Option<Date>,
    /// Tests that ended later do not count [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// Units of what is told [default: those of the logbook]
    #[arg(long, value_enum)]
    pub(crate) units: Option<UnitsArg>,
    /// How to tell it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) picture: PictureArgs,
    /// Print the JSON Schema of `--format json` and do nothing else
    #[arg(long)]
    pub(crate) json_schema: bool,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct ChartArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// The pit to draw; of ladder and small-multiples any number [default: all]
    pub(crate) pits: Vec<String>,
    /// What to draw
    #[arg(long, value_enum, default_value_t = FigureArg::Forecast)]
    pub(crate) figure: FigureArg,
    #[command(flatten)]
    pub(crate) question: QuestionArgs,
    #[command(flatten)]
    pub(crate) what_if: WhatIfArgs,
    /// The picture: its name ends in .svg, .png or .pdf
    #[arg(short, long, value_name = "FILE", value_parser = picture())]
    pub(crate) output: Picture,
    /// Dots per inch of a .png, 20 to 1200
    #[arg(long, value_name = "NUMBER", default_value_t = USUAL_DPI, value_parser = parse_dpi, allow_hyphen_values = true)]
    pub(crate) dpi: f64,
}

/// A figure of `chart`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum FigureArg {
    /// Readings, level and bands in the years ahead, and when the inlet is reached
    Forecast,
    /// The pit to scale with its level then and now
    Section,
    /// What a straight line through the readings leaves over, by date and against the normal distribution
    LineCheck,
    /// Years to the inlet of every pit, the soonest first
    Ladder,
    /// A small forecast of every pit, the soonest first
    SmallMultiples,
}

/// A picture beside what is told.
#[derive(Debug, ClapArgs)]
pub(crate) struct PictureArgs {
    /// Also draw it, to this .svg, .png or .pdf file
    #[arg(long, value_name = "FILE", value_parser = picture())]
    pub(crate) chart: Option<Picture>,
    /// Dots per inch of a .png, 20 to 1200
    #[arg(long, value_name = "NUMBER", default_value_t = USUAL_DPI, requires = "chart", value_parser = parse_dpi, allow_hyphen_values = true)]
    pub(crate) dpi: f64,
}

fn picture() -> impl clap::builder::TypedValueParser<Value = Picture> {
    PathBufValueParser::new().try_map(Picture::named)
}

#[derive(Debug, ClapArgs)]
#[command(group = ArgGroup::new("pages").args(["pit", "each"]))]
#[command(group = ArgGroup::new("of_one_pit").multiple(true).requires("pages")
    .args(["method", "against", "horizon", "coverage", "action_freeboard"]))]
#[command(group = ArgGroup::new("of_a_fleet").multiple(true).conflicts_with("pages")
    .args(["years", "visits", "common_factor", "cost_spread"]))]
#[command(group = ArgGroup::new("of_many_pits").multiple(true).conflicts_with("pit").args(["threads", "format"]))]
pub(crate) struct ReportArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Identifier of the pit [default: the report is about the whole fleet]
    pub(crate) pit: Option<String>,
    /// A page for every pit, into the folder that -o names
    #[arg(long)]
    pub(crate) each: bool,
    #[command(flatten)]
    pub(crate) question: QuestionArgs,
    /// The report: its name ends in .html or .pdf; with --each a folder, made if it is not there
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: PathBuf,
    /// The paper it is for; the page of one pit fills a sheet
    #[arg(long, value_enum, default_value_t = PaperArg::Letter)]
    pub(crate) paper: PaperArg,
    /// What the pages of --each are written as
    #[arg(long, value_enum, default_value_t = PageFormat::Pdf, requires = "each")]
    pub(crate) format: PageFormat,
    #[command(flatten, next_help_heading = "Without a pit")]
    pub(crate) planning: PlanningArgs,
}

/// What a page is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PageFormat {
    /// For paper and for files
    Pdf,
    /// For a browser, and for paper from there
    Html,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct BacktestArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    /// Pits to replay [default: all]
    pub(crate) pits: Vec<String>,
    /// Methods to replay, separated by commas [default: all]
    #[arg(long, value_enum, value_name = "METHOD", value_delimiter = ',')]
    pub(crate) methods: Vec<MethodArg>,
    /// Day of the backtest: what is dated later does not count at all [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// What the level is fitted against; time is taken where the load is not known
    #[arg(long, value_enum, default_value_t = AgainstArg::Load)]
    pub(crate) against: AgainstArg,
    /// Fewest readings known at a replay
    #[arg(long, value_name = "NUMBER", default_value_t = 3)]
    pub(crate) from_readings: usize,
    /// Replay each pit with what the other pits teach: five parts, each judged by the prior learnt from the other four
    #[arg(long)]
    pub(crate) learnt: bool,
    /// With --learnt, learn by group: soil, decade (of installation) or any further column of pits.csv
    #[arg(long, value_name = "COLUMN", requires = "learnt")]
    pub(crate) by: Option<String>,
    /// Units of what is told [default: those of the logbook]
    #[arg(long, value_enum)]
    pub(crate) units: Option<UnitsArg>,
    /// How to tell it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) picture: PictureArgs,
    /// Print the JSON Schema of `--format json` and do nothing else
    #[arg(long)]
    pub(crate) json_schema: bool,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct LearnArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Day of the lesson: what is dated later does not count [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// Learn by group as well: soil, decade (of installation) or any further column of pits.csv
    #[arg(long, value_name = "COLUMN")]
    pub(crate) by: Option<String>,
    /// Learn without one part of the pits, as in 2/5: the second of five
    #[arg(long, value_name = "PART/PARTS", value_parser = parse_part)]
    pub(crate) leave_out: Option<(u64, u64)>,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct BudgetArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) planning: PlanningArgs,
    /// Group by: soil, decade (of installation) or any further column of pits.csv
    #[arg(long, value_name = "COLUMN")]
    pub(crate) by: Option<String>,
    /// Also write the visits as a table, the most urgent first, to this .csv file
    #[arg(long, value_name = "FILE")]
    pub(crate) visit_list: Option<PathBuf>,
    /// A population prior to use instead of the logbook's, as a .toml file; it may tell groups of pits apart (learn --by)
    #[arg(long, value_name = "FILE")]
    pub(crate) prior: Option<PathBuf>,
    /// Day of the budget [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// How to tell it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) picture: PictureArgs,
    /// Print the JSON Schema of `--format json` and do nothing else
    #[arg(long)]
    pub(crate) json_schema: bool,
}

/// How far a budget looks and what it takes for granted.
#[derive(Debug, ClapArgs)]
pub(crate) struct PlanningArgs {
    /// Whole calendar years to look ahead, after what is left of this one, at most 50
    #[arg(long, value_name = "NUMBER", default_value_t = 10, value_parser = clap::value_parser!(u8).range(1..=50))]
    pub(crate) years: u8,
    /// Visits that can be made in a year
    #[arg(long, value_name = "NUMBER", default_value_t = 10, value_parser = clap::value_parser!(u32).range(0..=100_000))]
    pub(crate) visits: u32,
    /// Error that all chances may share, 0 to 0.25 of themselves
    #[arg(long, value_name = "SHARE", default_value = "0.04", value_parser = parse_common_factor)]
    pub(crate) common_factor: CommonFactor,
    /// How far one replacement may cost more or less than thought, 0 to 2 of itself (a standard deviation)
    #[arg(long, value_name = "SHARE", default_value = "0.3", value_parser = parse_cost_spread)]
    pub(crate) cost_spread: f64,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

/// What is asked of a forecast.
#[derive(Debug, Clone, ClapArgs)]
pub(crate) struct QuestionArgs {
    /// Day of the forecast [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// How the level is fitted
    #[arg(long, value_enum, default_value_t = MethodArg::Absorption)]
    pub(crate) method: MethodArg,
    /// A population prior to use instead of the logbook's, as a .toml file; it may tell groups of pits apart (learn --by)
    #[arg(long, value_name = "FILE")]
    pub(crate) prior: Option<PathBuf>,
    /// What a line or ranks are fitted against; time is taken where the load is not known
    #[arg(long, value_enum, default_value_t = AgainstArg::Load)]
    pub(crate) against: AgainstArg,
    /// How far ahead to look, whole years, at most 60
    #[arg(long, value_name = "YEARS", default_value = "60", value_parser = parse_horizon, allow_hyphen_values = true)]
    pub(crate) horizon: f64,
    /// How often the range told in words should hold, 0.01 to 0.99
    #[arg(long, value_name = "SHARE", default_value = "0.8", value_parser = parse_coverage)]
    pub(crate) coverage: Coverage,
    /// Freeboard at which to act, as in 6in [default: the pit's own, or that of logbook.toml]
    #[arg(long, value_name = "LENGTH", value_parser = parse_action_freeboard, allow_hyphen_values = true)]
    pub(crate) action_freeboard: Option<Length>,
    /// Units of what is told [default: those of the logbook]
    #[arg(long, value_enum)]
    pub(crate) units: Option<UnitsArg>,
}

/// Another use of the house, told beside today's forecast of the pits named.
#[derive(Debug, ClapArgs)]
#[command(group = ArgGroup::new("other_use").multiple(true).args(["occupants", "flow", "reduce", "vacant", "sale"]))]
pub(crate) struct WhatIfArgs {
    /// So many people live there
    #[arg(long, value_name = "NUMBER", help_heading = WHAT_IF, value_parser = parse_occupants, allow_hyphen_values = true, conflicts_with_all = ["flow", "vacant", "sale"])]
    pub(crate) occupants: Option<f64>,
    /// This much flows, as metered: 420gpd, 1590lpd or 1.6m3d
    #[arg(long, value_name = "FLOW", help_heading = WHAT_IF, value_parser = parse_metered_flow, allow_hyphen_values = true, conflicts_with_all = ["vacant", "sale"])]
    pub(crate) flow: Option<VolumeRate>,
    /// Fixtures use less, as in 20%: less than today, or than --occupants, --flow or --sale say
    #[arg(long, value_name = "PERCENT", help_heading = WHAT_IF, value_parser = parse_reduction, allow_hyphen_values = true, conflicts_with = "vacant")]
    pub(crate) reduce: Option<f64>,
    /// Nobody lives there
    #[arg(long, help_heading = WHAT_IF, conflicts_with = "sale")]
    pub(crate) vacant: bool,
    /// Sold to a full household: two persons a bedroom
    #[arg(long, help_heading = WHAT_IF)]
    pub(crate) sale: bool,
    /// From this day on: 2027-06-15, 2027-06 or 2027 [default: the day of the forecast]
    #[arg(long, value_name = "DATE", help_heading = WHAT_IF, requires = "other_use")]
    pub(crate) from: Option<PartialDate>,
    /// Until this day, when today's use returns [default: for good]
    #[arg(long, value_name = "DATE", help_heading = WHAT_IF, requires = "other_use")]
    pub(crate) until: Option<PartialDate>,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct DemoArgs {
    /// Folder to write it to; must not hold a logbook already
    pub(crate) folder: PathBuf,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct CompletionsArgs {
    /// The shell
    pub(crate) shell: Shell,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, ClapArgs)]
pub(crate) struct ManualArgs {
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
}

/// How an answer is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Words and a small table
    Text,
    /// A table: one row a pit, one a method and horizon, one a year, or one a phase of a test
    Csv,
    /// Everything, for other programs
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum MethodArg {
    /// Many simple hypotheses weighed by the readings; speaks from none at all
    Absorption,
    /// Least squares, with Student-t bands
    Line,
    /// Median of pairwise slopes; one wild reading does not move it
    Rank,
}

impl From<MethodArg> for Method {
    fn from(method: MethodArg) -> Self {
        match method {
            MethodArg::Absorption => Self::Absorption,
            MethodArg::Line => Self::Line,
            MethodArg::Rank => Self::Rank,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum AgainstArg {
    /// Cumulative load
    Load,
    /// Calendar time
    Time,
}

impl From<AgainstArg> for Against {
    fn from(against: AgainstArg) -> Self {
        match against {
            AgainstArg::Load => Self::Load,
            AgainstArg::Time => Self::Time,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum UnitsArg {
    /// Inches, feet, gallons
    Us,
    /// Centimetres, metres, litres
    Si,
}

impl From<UnitsArg> for Units {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Us => Self::Us,
            UnitsArg::Si => Self::Si,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperArg {
    /// 8.5 by 11 in
    Letter,
    /// 210 by 297 mm
    A4,
}

impl From<PaperArg> for Paper {
    fn from(paper: PaperArg) -> Self {
        match paper {
            PaperArg::Letter => Self::Letter,
            PaperArg::A4 => Self::A4,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ConditionArg {
    /// Days of normal use
    Normal,
    /// Rain enough to raise the level
    AfterRain,
    /// Nobody at home for days
    Vacant,
    /// Pumped out shortly before
    AfterPumping,
    /// You doubt it yourself
    Suspect,
}

/// `2/5`: a part, counted from 1, of so many.
fn parse_part(text: &str) -> Result<(u64, u64), String> {
    let numbers =
        text.split_once('/').and_then(|(part, parts)| Some((part.parse().ok()?, parts.parse().ok()?)));
    match numbers {
        Some((part, parts)) if (1..=parts).contains(&part) && parts >= 2 => Ok((part, parts)),
        _ => Err("a part of at least two, as in 2/5".to_owned()),
    }
}

//! The command line: every verb, its options and its examples.

mod figure;
mod forecast;
mod help;
mod load_test;
mod logbook;
mod many_pits;
mod telling;

pub(crate) use figure::{ChartArgs, FigureArg, PageFormat, ReportArgs};
pub(crate) use forecast::{AgainstArg, ForecastArgs, HouseholdArg, MethodArg, QuestionArgs, WhatIfArgs};
pub(crate) use help::{CompletionsArgs, ManualArgs};
pub(crate) use load_test::LoadTestArgs;
pub(crate) use logbook::{CheckArgs, ConditionArg, DemoArgs, InitArgs, LogArgs};
pub(crate) use many_pits::{BacktestArgs, BudgetArgs, LearnArgs, PlanningArgs};
pub(crate) use telling::{Format, TellingArgs, UnitsArg};

use clap::{Parser, Subcommand};

/// What can hurt someone, shown where the work at a pit is described.
pub(crate) const CAUTIONS: &str = "\
At the pit: sewage gas kills without warning. Never enter or lean into a tank or pit, never work at an open one alone, \
no open flame. Old pits and rotten covers collapse: keep off and away from the edge. Never leave a port open or a lid \
unsecured. Gloves; wash hands; keep the stick apart. Have buried utilities located before probing or digging. \
Local code and licensed practitioners decide.";

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

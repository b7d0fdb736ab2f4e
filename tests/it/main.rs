//! Integration tests. One line per module says what belongs there.
/// Dependencies point one way.
mod layering;
/// The tables of published numbers: complete, sourced, unchanged.
mod literature;
/// The worm model and its projection matrices against published and derived cases.
mod worm_cases;
/// Screening, drying, product figures, lifting, and conservation through grinder, screen and cure.
mod product_cases;
/// Printed cases of composition, mixing and recipes.
mod mix_cases;
/// Drums, starter and bran through their whole life.
mod drum_cases;
/// Fermentation against printed cases.
mod fermentation_cases;
/// Central values of the fermentation table.
mod fermentation_values;
/// Scenario files: the worked ones are read, every kind of bad file is reported with place, cause and remedy.
mod scenario_files;
/// The program as people and other programs use it: exit status, standard output, standard error.
mod cli;
/// First drafts by `start` check clean, run, keep their worms and sell castings.
mod drafts;
/// The worked sites and their variants, from file to closed balance.
mod scenarios;
/// The worm bed against printed cases, check values and tables; element conservation and order in the step.
mod bed_cases;
/// Draws: distributions, strata, correlations, streams.
mod result_schema;
mod sampler_cases;
/// The ensemble smoother against the closed form of a linear model.
mod smoother;
/// Sensitivity estimators against functions whose indices are known.
mod sensitivity_cases;
/// Floor, lifting, landfill, greenhouse gas and money against printed cases.
mod site_cases;
/// Bad and absurd input through the program: exit status, message, nothing half-written.
mod bad_input;
/// Ensembles of draws: threads, shards, partial work, failed draws, and their messages.
mod ensemble;
/// Molar masses, acidity, foods, steps, intervals and money against other libraries; the scripts are in `tests/reference`.
mod reference;
/// Every outside check gives the verdict on record, and `tests/verification.md` shows it.
mod verification;
/// Ranges after published trials: of these rates, used by draws, made again by their command.
mod narrowed;
/// Composition of ingredients drawn, fixed and narrowed; figures that some draws do not have.
mod composition_cases;
/// Which unknowns move the answer.
mod drivers;
/// Sizing: by hand, by brute force, on fresh draws; bad questions.
mod sizing;
/// Sites without drums, beds filled at the start, published batches as scenarios.
mod fresh_and_filled;
/// Logs of a site, wrong and right, against its plan.
mod logs;
/// Fits of logs: twins, noise, what cannot be reached, bad input.
mod fits;
/// A site that begins as it stands, written by hand.
mod standing;
/// A site that goes on from a saved state.
mod states;
/// Variants of a site on the same draws.
mod what_if;
/// Charts of the worked sites: conservation in the flow diagrams, units, names, the same bytes twice.
mod charts;
/// The workbook read back by another library.
mod workbook;
/// Rounds of the coming days: as the run has them, as calendar and next log; what to weigh; bad questions.
mod rounds;
/// What measurements would be worth: the closed form of a linear model, redundancy, cost.
mod worth;
/// Every warning, raised by a scenario.
mod warnings;
/// The settled year beside the first, and the verdict.
mod settled_year;
/// Beds that fail, one cause each, and places where worms live.
mod beds_fail;
/// What every answer must be; shared with the fuzz targets.
mod sound;
/// What holds for any legal scenario.
mod properties;
/// Full disks, closed pipes, kills, missing folders; the largest and the smallest sites.
mod faults;
/// The hand-over document: whole, alone, escaped, the same bytes twice, sentences in step with their numbers.
mod proposal;
/// The live page: its answers, whom it refuses, and the page in a real browser.
mod explore;

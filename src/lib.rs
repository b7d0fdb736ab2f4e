//! Mass-and-nutrient balance of a small site that ferments food scraps and feeds them to worm beds.
//!
//! The library is a tour in the order matter and numbers flow; the program ([`cli`]) is thin.
//!
//! 1. **What is booked.** Matter is a vector of [`Component`](matter::Component)s in kilograms, a [`Material`](matter::Material); gases and
//!    elements are vectors beside it. Water, dry matter, C:N and N-P-K are read off, never stored.
//! 2. **What is known.** Rates, ingredients and curves stand in the [`literature`], each an [`Uncertain`](quantity::Uncertain) number
//!    with evidence and source; an [`Ingredient`](process::ingredient::Ingredient) is an analysis from there split into components, with the pH it
//!    was printed with.
//! 3. **What turns into what.** A [`process`] knows no equipment: pH by one charge balance ([`process::acidity`]), reactions
//!    that balance themselves ([`process::reaction`]), souring ([`process::fermentation`]), decay ([`process::composting`]),
//!    worms by stages ([`process::worm`]), drying, screening, recipes, product quality.
//! 4. **Where it happens.** A [unit](mod@unit) holds matter and runs processes: [bran](unit::starter), [drums](unit::drum_store),
//!    [grinder](unit::grinder), [beds](unit::bed), [screen](unit::screen), [cure](unit::cure). Beds of a day do not touch, so
//!    several are worked on side by side, each in a [`lane`](matter::lane).
//! 5. **The site.** A [`Chain`](chain::Chain) wires the units together and takes a [`day`](chain::Chain::day) at a time. Every
//!    movement is booked in the [`Ledger`](trace::Ledger), which stops the run where a balance does not close; a
//!    [`Trace`](trace::Trace) is all that a run leaves behind.
//! 6. **What is chosen.** [`scenario::parse`] turns a file into a checked [`Plan`](scenario::Plan), [`scenario::assemble()`] a plan
//!    into a [`Site`](chain::Site) and its [`Models`](chain::Models).
//! 7. **What is not known** is drawn by [`monte_carlo`], together with what varies from day to day; nothing above it in the list of
//!    modules sees a distribution.
//! 8. **What is asked.** A [`study`] answers with plain figures and typed [`warning`]s: [`study::run`], [`study::check`](mod@study::check),
//!    [`study::mix`], [`study::uncertainty`], [`study::drivers`], [`study::sizing`], [`study::what_if`]; [`verification`] holds
//!    the model against what others have printed. A [`report`] shows answers as pages, charts, files and one document.
//!
//! A worked site from file to page:
//!
//! ```
//! use loamledger::{quantity::Units, report::pages::run::run_text, scenario, study};
//!
//! let text = include_str!("../scenarios/mountain_school.json");
//! let plan = scenario::parse("mountain_school.json", text)?;
//! let answer = study::run(&plan)?;
//! assert!(answer.balance.largest_relative_residual <= loamledger::trace::CLOSURE_TOLERANCE);
//! println!("{}", run_text(&answer, Units::Si));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Inside, all numbers are SI (kg, m2, m3, J, W, °C, days; shares 0 to 1); [`quantity`] reads and shows other units. The modules
//! below stand in layer order: each uses only what stands above it, and a test keeps it so.

pub mod quantity;
pub mod matter;
pub mod literature;
pub mod process;
pub mod unit;
pub mod warning;
pub mod trace;
pub mod chain;
pub mod scenario;
pub mod monte_carlo;
pub mod site_figures;
pub mod study;
pub mod verification;
pub mod report;
pub mod cli;

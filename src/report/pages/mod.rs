//! Pages of text for people, one for each question, made of the parts of a page and of [`table`](super::table)s.

pub mod compare;
pub mod density;
pub mod drivers;
pub mod facts;
pub mod fit;
pub mod log;
pub mod mix;
pub mod narrow;
pub(in crate::report) mod page;
pub mod plan;
pub mod rounds;
pub mod run;
pub mod sizing;
pub mod uncertainty;
pub(crate) mod verdict;
pub mod verification;
pub mod weigh;

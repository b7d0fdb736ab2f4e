//! The command `verify`: what others have printed beside what the model says.

use super::failure::Failure;
use super::{Output, results};
use crate::report::pages::verification::{summary_markdown, verification_text};
use crate::verification::{self, Verdict, VerificationAnswer};
use clap::Args;

/// Arguments of `verify`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct VerifyArguments {
    /// Print as JSON, with inputs, tolerances and reasons
    #[arg(long)]
    pub json: bool,
    /// Print a summary by area and every disagreement, as Markdown
    #[arg(long, conflicts_with = "json")]
    pub summary: bool,
}

/// Makes every outside check.
///
/// # Errors
/// [`Failure::Unverified`] when a check that should agree does not, or a known gap has moved: our fault.
pub fn verify(arguments: &VerifyArguments) -> Result<Output, Failure> {
    shown(&verification::verify()?, arguments)
}

fn shown(answer: &VerificationAnswer, arguments: &VerifyArguments) -> Result<Output, Failure> {
    let page = if arguments.summary { summary_markdown(answer) } else { verification_text(answer) };
    let output = results::output(answer, page, arguments.json, Ok(Vec::new()))?;
    let broken: Vec<&str> = answer.with(Verdict::Broken).map(|check| check.case.key).collect();
    if broken.is_empty() { Ok(output) } else { Err(Failure::Unverified { output, broken }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_check_that_breaks_is_shown_and_is_a_fault_of_the_program() {
        let mut answer = verification::verify_with(0).unwrap();
        answer.checks[3].verdict = Verdict::Broken;
        let failure = shown(&answer, &VerifyArguments { json: false, summary: false }).unwrap_err();
        assert_eq!(failure.status(), 3);
        assert!(failure.to_string().contains(answer.checks[3].case.key), "{failure}");
        assert!(failure.partial_output().is_some_and(|output| output.text.contains("BROKEN")));
    }
}

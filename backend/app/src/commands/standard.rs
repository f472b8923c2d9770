//! Commands that only compute: standard input to standard output, or a fault with its line and field and nothing on standard output.

use std::io::{Read, Write};
use std::process::ExitCode;

use critique::contract::InputError;
use critique::contract::read::{INPUT_MOST, Unknown, text};
use critique::{Critic, CriticError};

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub(super) enum ComputeError {
    /// The input is at fault.
    #[error("{0}")]
    Input(#[from] InputError),
    /// The lexicon or the weights of this program are.
    #[error(transparent)]
    Critic(#[from] CriticError),
    /// Standard input cannot be read.
    #[error("standard input cannot be read: {0}")]
    Read(#[source] std::io::Error),
    /// The answer has no form.
    #[error("the answer cannot be written: {0}")]
    Form(#[from] serde_json::Error),
}

/// What a script sees when its input is at fault.
const AT_FAULT: u8 = 2;

/// Reads everything, answers, writes everything. Nothing is written unless the whole answer stands; the fields that were
/// passed over are told on standard error.
pub(super) fn compute(
    answer: impl FnOnce(&Critic, &str) -> Result<(String, Unknown), ComputeError>,
) -> ExitCode {
    match answered(answer) {
        Ok((whole, unknown)) => {
            for line in unknown.to_string().lines() {
                eprintln!("refrain: {line}");
            }
            written(&whole)
        }
        Err(fault) => {
            eprintln!("refrain: {fault}");
            ExitCode::from(AT_FAULT)
        }
    }
}

fn answered(
    answer: impl FnOnce(&Critic, &str) -> Result<(String, Unknown), ComputeError>,
) -> Result<(String, Unknown), ComputeError> {
    let mut bytes = vec![];
    let most = u64::try_from(INPUT_MOST)
        .unwrap_or(u64::MAX)
        .saturating_add(1);
    std::io::stdin()
        .lock()
        .take(most)
        .read_to_end(&mut bytes)
        .map_err(ComputeError::Read)?;
    answer(&Critic::built_in()?, text(&bytes)?)
}

/// A reader that went away has had enough: that is no fault.
fn written(whole: &str) -> ExitCode {
    let mut out = std::io::stdout().lock();
    match out.write_all(whole.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            eprintln!("refrain: the answer cannot be written: {e}");
            ExitCode::FAILURE
        }
        _ => ExitCode::SUCCESS,
    }
}

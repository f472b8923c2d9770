//! The binary `refrain`, built with the tests.

use std::process::ExitCode;

fn main() -> ExitCode {
    app::commands::main()
}

//! The binary `refrain`.

use std::process::ExitCode;

fn main() -> ExitCode {
    app::commands::main()
}

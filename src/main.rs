//! The command `surebound`: arguments in, library call, text out, exit code.
//!
//! Everything else is in the library; see `surebound::cli`.

use std::process::ExitCode;

fn main() -> ExitCode {
    surebound::cli::main()
}

//! The command `surebound`: arguments in, library call, text out, exit code.
//!
//! Everything else is in the library; see `surebound::cli`.

fn main() {}

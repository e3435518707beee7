//! The verbs `completions` and `manual`: what a shell and `man` need, from the same definition as the help.

use super::{Cli, DONE, Failure, output};
use clap::CommandFactory;
use clap_complete::Shell;

const COMPLETIONS: &str = "Example:
  surebound completions bash > ~/.local/share/bash-completion/completions/surebound";

const MANUAL: &str = "Example:
  surebound manual > ~/.local/share/man/man1/surebound.1";

/// Print what lets a shell complete this command's words
#[derive(Debug, clap::Args)]
#[command(after_help = COMPLETIONS)]
pub(super) struct Completions {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

/// Print the manual page of this command and all its verbs, for `man`
#[derive(Debug, clap::Args)]
#[command(after_help = MANUAL)]
pub(super) struct Manual {}

/// Prints the completions and returns the exit code.
pub(super) fn completions(arguments: &Completions) -> Result<u8, Failure> {
    let mut bytes = Vec::new();
    clap_complete::generate(arguments.shell, &mut Cli::command(), "surebound", &mut bytes);
    output::write_bytes(&bytes)?;
    Ok(DONE)
}

/// Prints the manual page and returns the exit code.
pub(super) fn manual(_: &Manual) -> Result<u8, Failure> {
    let mut command = Cli::command();
    command.build();
    let mut bytes = Vec::new();
    let failed = |reason: std::io::Error| Failure::Machine(reason.to_string());
    clap_mangen::Man::new(command.clone()).render(&mut bytes).map_err(failed)?;
    for verb in command.get_subcommands().filter(|it| it.get_name() != "help") {
        let page = clap_mangen::Man::new(verb.clone());
        page.render_name_section(&mut bytes).map_err(failed)?;
        page.render_synopsis_section(&mut bytes).map_err(failed)?;
        page.render_options_section(&mut bytes).map_err(failed)?;
        page.render_extra_section(&mut bytes).map_err(failed)?;
    }
    output::write_bytes(&bytes)?;
    Ok(DONE)
}

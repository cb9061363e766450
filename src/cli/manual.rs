//! `man`: one page that holds every command, because only one file is installed.

use std::io;

use clap::{Command, CommandFactory as _};
use clap_mangen::Man;

use super::args::Cli;

/// The manual page, in roff.
pub fn page() -> io::Result<String> {
    let mut program = Cli::command();
    program.build();
    let man = Man::new(program.clone());
    let mut text = Vec::new();
    man.render_title(&mut text)?;
    man.render_name_section(&mut text)?;
    man.render_synopsis_section(&mut text)?;
    man.render_description_section(&mut text)?;
    man.render_options_section(&mut text)?;
    let mut page = String::from_utf8_lossy(&text).into_owned();
    for command in program.get_subcommands().filter(|c| c.get_name() != "help") {
        page.push_str(&section(command)?);
    }
    Ok(page)
}

/// One command with its options, under a heading of its own.
fn section(command: &Command) -> io::Result<String> {
    let mut text = Vec::new();
    Man::new(command.clone()).render_options_section(&mut text)?;
    let options = String::from_utf8_lossy(&text);
    // What the library puts before the section is said once at the head of the page.
    let options = options.split_once(".SH OPTIONS\n").map_or("", |(_, options)| options);
    let about = command.get_about().map(ToString::to_string).unwrap_or_default();
    Ok(format!(".SH DWELLHAND {}\n{about}\n{options}", command.get_name().to_uppercase()))
}

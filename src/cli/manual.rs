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
        page.push_str(&section(command, "")?);
        for question in command.get_subcommands().filter(|c| c.get_name() != "help") {
            page.push_str(&section(question, &format!("{} ", command.get_name()))?);
        }
    }
    Ok(page)
}

/// One command with its options, under a heading of its own; `of` is the command it belongs to.
fn section(command: &Command, of: &str) -> io::Result<String> {
    let mut text = Vec::new();
    Man::new(command.clone()).render_options_section(&mut text)?;
    let options = String::from_utf8_lossy(&text);
    // What the library puts before the section is said once at the head of the page.
    let options = options.split_once(".SH OPTIONS\n").map_or("", |(_, options)| options);
    let about = command.get_about().map(ToString::to_string).unwrap_or_default();
    let name = format!("{of}{}", command.get_name()).to_uppercase();
    Ok(format!(".SH DWELLHAND {name}\n{about}\n{options}"))
}

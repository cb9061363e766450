//! What the user typed for `drill`.

use std::path::PathBuf;

use clap::builder::{PossibleValuesParser, TypedValueParser as _};
use clap::{Args, ValueEnum as _};

use super::args::{CrewKind, Form, Looks, Role, speed};

/// Arguments of `drill`.
#[derive(Debug, Clone, Args)]
pub struct Drill {
    /// The drill: a name from the list, or a drill file; all drills are listed if none is named
    #[arg(value_name = "NAME")]
    pub name: Option<String>,
    /// Whose progress is kept, one to four letters; not kept if nobody says
    #[arg(long, value_name = "AB", value_parser = initials)]
    pub initials: Option<String>,
    /// How many times faster than the wall clock
    #[arg(long, value_name = "N", default_value_t = 20.0, value_parser = speed)]
    pub speed: f64,
    /// Watch a simulated crew instead of doing the moves
    #[arg(long, value_enum, requires = "name")]
    pub crew: Option<CrewKind>,
    /// Who sits at this terminal
    #[arg(long, value_enum, default_value_t)]
    pub role: Role,
    /// Without a screen, as fast as the machine allows, and print the debrief
    #[arg(long, requires = "crew")]
    pub at_once: bool,
    /// In which form the debrief is printed
    #[arg(long, default_value = "text", value_parser = of_pages(), requires = "at_once")]
    pub form: Form,
    /// Journal of the drill; one of its own in the state folder if none is named. One that exists is gone on with
    #[arg(long, value_name = "FILE", requires = "name")]
    pub shift: Option<PathBuf>,
    /// Print what somebody has practised
    #[arg(long, value_name = "AB", value_parser = initials, conflicts_with = "name")]
    pub progress: Option<String>,
    /// Ask what comes next at moments of a shift worth learning from: a journal, or the name of a drill
    #[arg(long, value_name = "JOURNAL|NAME", conflicts_with_all = ["name", "progress"])]
    pub quiz: Option<String>,
    /// The most questions
    #[arg(long, value_name = "N", default_value_t = 9, requires = "quiz")]
    pub questions: usize,
    /// Print list, progress or questions as JSON
    #[arg(long, conflicts_with = "name")]
    pub json: bool,
    #[command(flatten)]
    pub looks: Looks,
}

/// The forms of a page; nothing of a debrief is drawn.
fn of_pages() -> impl clap::builder::TypedValueParser<Value = Form> {
    let forms = Form::value_variants().iter().filter(|f| **f != Form::Svg);
    PossibleValuesParser::new(forms.filter_map(clap::ValueEnum::to_possible_value))
        .try_map(|name| Form::from_str(&name, false))
}

pub fn initials(text: &str) -> Result<String, String> {
    let fits = (1..=4).contains(&text.chars().count()) && text.chars().all(char::is_alphabetic);
    if fits { Ok(text.to_uppercase()) } else { Err("expected one to four letters".to_owned()) }
}

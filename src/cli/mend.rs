//! `mend`: makes a damaged journal usable again.

use super::args::Mend;
use super::run::rebuild;
use super::{Bad, Outcome, say};
use crate::journal::Journal;

pub fn mend(args: &Mend) -> Result<Outcome, Bad> {
    let done = Journal::mend(&args.shift, |header| rebuild(header).map(|(line, _)| line))?;
    let shift = args.shift.display();
    let Some(mended) = done else {
        return say(&format!("{shift}: nothing to mend\n"));
    };
    say(&format!(
        "{}\nAll of it is kept in {}\n{shift} goes on with its first {} lines; {} after them could not be vouched for.\n\
         What they said has to be said again: compare both, and the line.\n",
        mended.fault,
        mended.kept.display(),
        mended.good,
        mended.gone
    ))
}

//! What a dialog makes of a key, and what its answers lead to.

use super::keys::{SET_ASIDE, go, quit_question, read_lessons, say, selected};
use super::{App, Effect, Post, Reckon, Screen};
use crate::ids::{CarrierId, Seq};
use crate::shift::ledger::Entry;
use crate::shift::{AlarmAction, Claim, Command, Place};
use crate::tui::action::Action;
use crate::tui::changes::{self, Step};
use crate::tui::dialog::{
    Amount, Ask, Asks, Consequence, Dialog, Field, Item, List, Means, PageOf, Subject, Timed, is_timed,
    moved, since,
};
use crate::tui::entries::{self};
use crate::tui::pages::{self};
use crate::tui::tape::{self, Wish};
use crate::units::{Dur, Time};
use crate::view::{Board, Doubt, claims, step_um};

pub(super) fn in_dialog(
    app: &mut App,
    dialog: Dialog,
    action: Action,
    board: &Board,
    now: Time,
) -> Vec<Effect> {
    if action == Action::Back {
        let led_by_a_list = matches!(dialog, Dialog::List(_) | Dialog::Field(_) | Dialog::Amount(_));
        app.dialog = app.lists.pop().filter(|_| led_by_a_list).map(Dialog::List);
        return Vec::new();
    }
    match dialog {
        Dialog::Ask(ask) => match action {
            // What was pressed twice is no answer to what the first press was asked.
            Action::Next if matches!(ask.yes, Consequence::Say(_) | Consequence::SayAt(..)) => {
                app.dialog = Some(Dialog::Ask(ask));
                app.refuse("y if it was really done, n if not; Enter does not answer this.", now);
            }
            Action::Confirm | Action::Next => return consequence(app, ask.yes, board, now),
            // Ctrl-C twice leaves from anywhere.
            Action::Quit if ask.yes == Consequence::Quit => return vec![Effect::Quit],
            Action::Quit => app.dialog = Some(quit_question(app)),
            _ => app.dialog = Some(Dialog::Ask(ask)),
        },
        Dialog::Amount(mut amount) => {
            if action == Action::Confirm && amount.is_as_said() {
                app.done("It stays as it was said: no other time was given.", now);
                return Vec::new();
            }
            if action == Action::Confirm {
                return timed(app, &amount.subject, now - amount.ago, board, now);
            }
            amount.edit(action);
            app.dialog = Some(Dialog::Amount(amount));
        }
        Dialog::List(mut list) => {
            if action == Action::Confirm {
                let taken = list.passing().get(list.cursor).map(|i| (i.text.clone(), i.means.clone()));
                if let Some((text, means)) = taken {
                    let effects = take(app, &text, means, board, now);
                    app.lists.push(list);
                    return effects;
                }
            }
            list.edit(action);
            app.dialog = Some(Dialog::List(list));
        }
        Dialog::Field(mut field) => {
            if action == Action::Confirm {
                return typed(app, field, board, now);
            }
            field.edit(action);
            if field.asks == Asks::Reason {
                app.changes.reason.clone_from(&field.text);
            }
            app.dialog = Some(Dialog::Field(field));
        }
        Dialog::Help(scroll) => {
            app.dialog = Some(Dialog::Help(moved(scroll, action, crate::tui::screens::help::lines().len())));
        }
        Dialog::Tank(tank) if action == Action::Lessons => read_lessons(app, Some(tank)),
        Dialog::Page(page) if page.of == PageOf::Verdict && action == Action::Confirm => {
            return vec![Effect::Tape(Wish::Learn)];
        }
        Dialog::Page(page) if page.of == PageOf::Verdict && action == Action::Tape(Wish::Unlearn) => {
            return vec![Effect::Tape(Wish::Unlearn)];
        }
        Dialog::Page(mut page) => {
            page.scroll = moved(page.scroll, action, page.lines.len());
            app.dialog = Some(Dialog::Page(page));
        }
        Dialog::Answer(_, _) if action == Action::Confirm => {
            app.dialog = Some(Dialog::Field(reckon_field(app.reckoned.clone())));
        }
        Dialog::Answer(lines, scroll) => {
            let scroll = moved(scroll, action, lines.len());
            app.dialog = Some(Dialog::Answer(lines, scroll));
        }
        Dialog::Tank(tank) => {
            let ix = board.tanks.iter().position(|t| t.tank == tank).unwrap_or(0);
            let next = board.tanks.get(moved(ix, action, board.tanks.len())).map_or(tank, |t| t.tank);
            app.dialog = Some(Dialog::Tank(next));
        }
    }
    Vec::new()
}

pub(super) fn consequence(app: &mut App, yes: Consequence, board: &Board, now: Time) -> Vec<Effect> {
    match yes {
        Consequence::Quit => vec![Effect::Quit],
        Consequence::Say(said) => vec![say(board, said, now)],
        Consequence::SayAt(said, at) => vec![say(board, said, at)],
        Consequence::Retime(seq, at) => retime(app, seq, at, board, now),
        Consequence::Drop => {
            app.changes.clear();
            app.done("Dropped; nothing was changed.", now);
            Vec::new()
        }
        Consequence::Undo(seq) => match &board.last_said {
            Some(last) if last.seq == seq => {
                let done = format!("Taken back: {}", last.text);
                vec![Effect::Submit { command: Command::Undo { seq }, done }]
            }
            _ => {
                app.refuse("Something else was said meanwhile; nothing was taken back.", now);
                Vec::new()
            }
        },
    }
}

pub(super) fn timed(app: &mut App, subject: &Subject, at: Time, board: &Board, now: Time) -> Vec<Effect> {
    match subject.means {
        Timed::Say(said) => {
            let doubt = board.doubt(&app.line, said);
            or_ask(app, asked(doubt.as_ref(), at), &subject.text, Consequence::SayAt(said, at), board, now)
        }
        Timed::Retime(seq) => {
            let last = board.last_said.as_ref().filter(|l| l.seq == seq);
            let doubt = last.and_then(|l| l.doubt.as_ref());
            or_ask(app, asked(doubt, at), &subject.text, Consequence::Retime(seq, at), board, now)
        }
        Timed::Claim(carrier, claim) => {
            let text = format!("{} since {}", subject.text, board.clock_at(at));
            vec![correct(&text, carrier, since(claim, at))]
        }
        Timed::Entry => {
            app.entries.ago = now - at;
            let step = entries::begin(app, board);
            enter(app, step, board, now)
        }
    }
}

/// What is to be asked about something that is said to have been at `at`. What is refused anyway is not asked about first.
fn asked(doubt: Option<&Doubt>, at: Time) -> Option<String> {
    doubt.filter(|d| !d.rules_out(at))?.question(at)
}

/// Asks first what is in doubt; else does it.
pub(super) fn or_ask(
    app: &mut App,
    doubt: Option<String>,
    what: &str,
    yes: Consequence,
    board: &Board,
    now: Time,
) -> Vec<Effect> {
    let Some(question) = doubt else { return consequence(app, yes, board, now) };
    app.dialog = Some(Dialog::Ask(Ask {
        // A row of a list has its columns apart.
        title: format!("Done already: {}?", what.split_whitespace().collect::<Vec<_>>().join(" ")),
        lines: vec![question, "Was it really done then?".to_owned()],
        yes,
    }));
    Vec::new()
}

pub(super) fn retime(app: &mut App, seq: Seq, at: Time, board: &Board, now: Time) -> Vec<Effect> {
    if board.last_said.as_ref().is_some_and(|l| l.seq == seq) {
        let done = format!("Changed to {}", board.clock_at(at));
        return vec![Effect::Submit { command: Command::Retime { seq, at }, done }];
    }
    app.refuse("Something else was said meanwhile; nothing was changed.", now);
    Vec::new()
}

pub(super) fn reckon_field(text: String) -> Field {
    Field {
        title: "Work out".to_owned(),
        hint: "as behind `dwellhand calc`: anodise, power, bath, seal, class, rinse, drip, etch, strip, wet, convert; \
               nothing typed: the list; --help behind a word: what it takes"
            .to_owned(),
        text,
        wrong: None,
        asks: Asks::Reckon,
    }
}

/// What was typed last, or the film of the chosen carrier with its surface and current.
pub(super) fn reckon_text(app: &App, board: &Board) -> String {
    let chosen = selected(app, board).carrier.and_then(|c| app.book.carriers.get(c));
    let Some(spec) = chosen else { return app.reckoned.clone() };
    let recipe = &app.line.recipes[spec.recipe];
    let current = recipe.steps.iter().find_map(|s| s.current.zip(step_um(s, s.target)));
    let Some((current, um)) = current else { return app.reckoned.clone() };
    format!(
        "anodise --thickness {um:.1}um --density {}A/dm2 --area {}dm2 --volts {} --ramp {}",
        current.density,
        spec.area_dm2,
        current.volts,
        current.ramp.whole_secs()
    )
}

/// Goes on entering.
pub(super) fn enter(app: &mut App, step: entries::Step, board: &Board, now: Time) -> Vec<Effect> {
    match step {
        entries::Step::List(list) => app.dialog = Some(Dialog::List(list)),
        entries::Step::Field(field) => app.dialog = Some(Dialog::Field(field)),
        entries::Step::Late => {
            let text = "what is entered next".to_owned();
            let subject = Subject { text, means: Timed::Entry, ago: Dur::ZERO };
            app.dialog = Some(Dialog::Amount(Amount::of(subject, None)));
        }
        entries::Step::Enter(entry, done) => {
            let at = now - app.entries.ago;
            let late = if app.entries.ago > Dur::ZERO {
                format!(", for {}", board.clock_at(at))
            } else {
                String::new()
            };
            return vec![Effect::Submit {
                command: Command::Enter { entry, at },
                done: format!("{done}{late}"),
            }];
        }
        entries::Step::Rework(entry, done, change) => {
            let at = now - app.entries.ago;
            let operator = app.post != Post::Supervisor;
            let done =
                if operator { format!("{done}. Rework is for the supervisor to decide") } else { done };
            if !operator {
                app.changes.from = Some(app.screen);
                app.screen = Screen::Changes;
                go(app, Step::Propose(vec![change]), board, now);
            }
            return vec![Effect::Submit { command: Command::Enter { entry, at }, done }];
        }
        entries::Step::Note(text) => {
            let done = "Noted.".to_owned();
            return vec![Effect::Submit { command: Command::Note { text }, done }];
        }
        entries::Step::Nothing(words) => app.refuse(words, now),
    }
    Vec::new()
}

/// Takes what was typed, or says what is wrong with it.
pub(super) fn typed(app: &mut App, mut field: Field, board: &Board, now: Time) -> Vec<Effect> {
    if let Some(wrong) = field.is_too_long() {
        field.wrong = Some(wrong);
        app.dialog = Some(Dialog::Field(field));
        return Vec::new();
    }
    let wrong = match &field.asks {
        Asks::Figure(figure) => match figure.read(&field.text, app, board, now) {
            Ok(step) => {
                go(app, step, board, now);
                return Vec::new();
            }
            Err(wrong) => wrong,
        },
        Asks::Pin => return vec![Effect::Unlock(std::mem::take(&mut field.text))],
        Asks::Instant => match tape::instant(&field.text, board) {
            Ok(t) => return vec![Effect::Tape(Wish::To(t))],
            Err(wrong) => wrong,
        },
        Asks::Initials(sign) => {
            let initials = field.text.trim().to_owned();
            if (1..=8).contains(&initials.chars().count()) && initials.chars().all(char::is_alphanumeric) {
                let done = format!("Signed by {initials}: {}", pages::words(*sign));
                let command =
                    Command::Enter { entry: Entry::Signed { sign: *sign, initials }, at: board.now };
                return vec![Effect::Submit { command, done }];
            }
            "one to eight letters or figures".to_owned()
        }
        Asks::Reckon => match app.reckon {
            Some(Reckon(answer)) => {
                app.reckoned.clone_from(&field.text);
                app.dialog = Some(Dialog::Answer(answer(&field.text), 0));
                return Vec::new();
            }
            None => "no process arithmetic in this program".to_owned(),
        },
        Asks::Entry(asked) => match asked.read(&field.text, app, board) {
            Ok(step) => {
                let effects = enter(app, step, board, now);
                app.typed = Some(field).filter(|_| app.dialog.is_none() && !effects.is_empty());
                return effects;
            }
            Err(wrong) => wrong,
        },
        Asks::Reason if field.text.trim().is_empty() => "say why; a word will do".to_owned(),
        Asks::Reason => match app.changes.committing.take() {
            Some(grounds) => {
                let commands = app.changes.commands(field.text.trim());
                let done = match &app.changes.stack[..] {
                    [one] => format!("Committed: {}", one.words),
                    all => format!("Committed: {} changes", all.len()),
                };
                return vec![Effect::Commit { commands, grounds, done }];
            }
            None => "nothing is shown to commit; Esc, see before and after, then Enter".to_owned(),
        },
    };
    field.wrong = Some(wrong);
    app.dialog = Some(Dialog::Field(field));
    Vec::new()
}

pub(super) fn correct(text: &str, carrier: CarrierId, claim: crate::shift::Claim) -> Effect {
    Effect::Submit {
        command: Command::Correct { carrier, claim },
        done: format!("Said: {text}.   u takes it back"),
    }
}

pub(super) fn take(app: &mut App, text: &str, means: Means, board: &Board, now: Time) -> Vec<Effect> {
    match means {
        Means::Said(said) => {
            let subject = Subject { text: text.to_owned(), means: Timed::Say(said), ago: Dur::ZERO };
            app.dialog = Some(Dialog::Amount(Amount::of(subject, None)));
        }
        Means::Carrier(carrier) => {
            let Some(fact) = board.carrier(carrier) else { return Vec::new() };
            let items = claims(&app.line, board, fact, now)
                .into_iter()
                .map(|a| Item { text: a.text, means: Means::Claim(carrier, a.means) })
                .collect();
            app.dialog = Some(Dialog::List(List::of(format!("Where is {} now?", fact.name), items)));
        }
        Means::Claim(carrier, claim) => {
            let name = board.carrier(carrier).map_or("?", |c| c.name.as_str());
            let text = format!("{name} is {text}");
            if !is_timed(claim) {
                return vec![correct(&text, carrier, claim)];
            }
            // Saying that it is where it is must not start its clock anew.
            let ago = board.carrier(carrier).map_or(Dur::ZERO, |c| stood_for(c.place, claim, now));
            let subject = Subject { text, means: Timed::Claim(carrier, claim), ago };
            app.dialog = Some(Dialog::Amount(Amount::of(subject, None)));
        }
        Means::Hoist(hoist) => {
            let items = board
                .tanks
                .iter()
                .filter(|t| app.line.reaches(hoist, t.tank))
                .map(|t| Item {
                    text: format!("{} {}", t.name, t.label),
                    means: Means::HoistAt(hoist, t.tank),
                })
                .collect();
            app.dialog = Some(Dialog::List(List::of("Where does it stand?", items)));
        }
        Means::HoistAt(hoist, at) => {
            let done = format!("Said: the crane stands over {text}.   u takes it back");
            return vec![Effect::Submit { command: Command::CorrectHoist { hoist, at }, done }];
        }
        Means::Shelve(key, reason) => {
            let action = AlarmAction::Shelve { lasting: SET_ASIDE, reason: reason.to_owned() };
            let done = format!("Set aside for {SET_ASIDE}.");
            return vec![Effect::Submit { command: Command::Alarm { key, action }, done }];
        }
        Means::Tank(tank) => app.dialog = Some(Dialog::Tank(tank)),
        Means::TakeOver(how) => return vec![Effect::Tape(Wish::TakeOver(how))],
        Means::Sign(sign) => app.dialog = Some(Dialog::Field(pages::initials(sign))),
        Means::Enter(pick) => {
            let step = entries::follow(app, board, pick);
            return enter(app, step, board, now);
        }
        Means::Pick(pick) => {
            let step = changes::follow(app, board, pick, now);
            go(app, step, board, now);
        }
    }
    Vec::new()
}

/// How long a carrier has been where a claim says it is, if the program thinks so too, or thinks it in another tank for the
/// same: then the wrong tank was said when it was put down.
pub(super) fn stood_for(place: Place, claim: Claim, now: Time) -> Dur {
    match (place, claim) {
        (Place::InTank { tank, since, visit, .. }, Claim::InTank { tank: said, visit: claimed, .. })
            if tank == said || visit == claimed =>
        {
            Dur::from_secs((now - since).or_zero().whole_secs())
        }
        _ => Dur::ZERO,
    }
}

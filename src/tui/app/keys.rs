//! What a key makes of the app on each screen.

use std::sync::Arc;

use super::answers::{enter, in_dialog, reckon_field, reckon_text};
use super::{App, Effect, Pane, Post, Screen, home};
use crate::ids::TankId;
use crate::line::Role;
use crate::shift::{AlarmAction, AlarmLevel, Command, Place};
use crate::tui::action::Action;
use crate::tui::changes::{self, Grounds, Outlook, Selected, Step};
use crate::tui::choosing::{self};
use crate::tui::dialog::{
    Amount, Ask, Asks, Consequence, Dialog, Field, Item, List, Means, Subject, Timed, moved,
};
use crate::tui::entries::{self, Entries};
use crate::tui::keymap::{self, Context};
use crate::tui::pages::{self};
use crate::tui::tape::{self};
use crate::units::{Dur, Time};
use crate::view::{AlarmOf, AlarmRow, Board, Said, Wrong, lesson_of, lessons, lifts, lowers};

/// Nobody can read a call and answer it faster than this; a press that comes sooner was meant for the call before.
const JUST_CHANGED: Dur = Dur(700);

/// After a refusal or an answer the person reads first: an Enter meant for a dialog that did not open must not confirm a move.
pub(super) const READ_FIRST: Dur = Dur(2000);

/// Where something was entered after what is taken back.
const ENTRIES_STAY: &str = "What was entered or noted since stays: an entry is put right by a new one.";

/// How long an alarm is set aside.
pub(super) const SET_ASIDE: Dur = Dur::from_mins(10);

/// The reasons offered for setting an alarm aside.
const REASONS: [&str; 5] = [
    "known, being dealt with",
    "parts checked, still good",
    "waiting for a tank",
    "crane is stopped",
    "the entry is wrong, to be corrected",
];

/// What an action makes of the app, given what was on the screen when the key was pressed, and the instant of the press.
pub fn update(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    let before = app.dialog.is_none().then(|| app.message.clone());
    let effects = answered(app, action, board, now);
    // The keys of a dialog stand where an answer to something before it would.
    if before.is_some_and(|before| before == app.message) && app.dialog.is_some() {
        app.message = app.message.take().filter(|answer| answer.tone.is_bad());
    }
    effects
}

fn answered(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Repaint => return vec![Effect::Repaint],
        Action::Suspend => return vec![Effect::Suspend],
        Action::Tape(wish) => return tape::update(app, wish, board),
        Action::Elsewhere(c) => {
            if let Some(there) = keymap::live(c) {
                app.note(format!("{c} does nothing here. On the live screen (1): {}.", there.help), now);
            }
            return Vec::new();
        }
        _ => {}
    }
    if app.context() == Context::Choose {
        return choosing::act(app, action, board, now);
    }
    update_below(app, action, board, now)
}

/// The same where no move is to be chosen.
pub(in crate::tui) fn update_below(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    let Some(dialog) = app.dialog.take() else {
        if matches!(app.screen, Screen::Caution | Screen::Brief) {
            let effects = on_caution(app, action, now);
            app.settled = now + app.really(JUST_CHANGED);
            return effects;
        }
        if app.practising.over && action.speaks() && !app.desk.typing {
            let words = format!(
                "The {} is over; nothing is said any more. 0: the debrief, q: leave.",
                app.practising.kind()
            );
            app.refuse(words, now);
            return Vec::new();
        }
        return match app.screen {
            Screen::Live => on_live(app, action, board, now),
            Screen::Changes => on_changes(app, action, board, now),
            Screen::Pages => on_pages(app, action, board, now),
            Screen::Lessons | Screen::Reading => on_reading(app, action, board, now),
            _ => on_desk(app, action, board, now),
        };
    };
    let effects = in_dialog(app, dialog, action, board, now);
    if app.dialog.is_none() {
        app.lists.clear();
        // Another list asks once more after its last row, and this one does not: a second Enter is no answer to the call.
        let corrects = |e: &Effect| matches!(e, Effect::Submit { command: Command::Correct { .. }, .. });
        let wait = if effects.iter().any(corrects) { READ_FIRST } else { JUST_CHANGED };
        app.settled = now + app.really(wait);
    }
    effects
}

pub(super) fn on_caution(app: &mut App, action: Action, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm if app.screen == Screen::Caution && app.practising.brief.is_some() => {
            app.screen = Screen::Brief;
        }
        Action::Confirm => app.screen = home(app.post),
        Action::Crew if app.practising.offers_crew() => {
            app.screen = home(app.post);
            return vec![Effect::StartCrew];
        }
        Action::Crew if app.practising.brief.is_some() => {
            app.refuse("A crew is asked for before: --crew simulated.", now);
        }
        Action::Crew => app.refuse("A simulated crew works in practice only.", now),
        Action::Help => app.dialog = Some(Dialog::Help(0)),
        Action::Quit => app.dialog = Some(quit_question(app)),
        _ => {}
    }
    Vec::new()
}

pub(super) fn on_live(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    if app.practising.crewed && action.moves() {
        let text = format!("A {} crew works here and confirms its moves itself.", app.practising.crew);
        app.refuse(text, now);
        return Vec::new();
    }
    if action == Action::Confirm && app.post != Post::Watch {
        return confirm(app, board, now);
    }
    let before = app.message.take();
    let effects = speak(app, action, board, now);
    match &app.message {
        Some(message) if message.tone.is_bad() => app.settled = now + app.really(READ_FIRST),
        Some(_) => {}
        None => app.message = before,
    }
    effects
}

/// The supervisor's screens: keys for looking, and those that hold everywhere.
pub(super) fn on_desk(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm if app.screen == Screen::Board && app.desk.typing => app.desk.typing = false,
        Action::Confirm => {
            app.refuse("Nothing was said. 1 shows the call; what was done is said there.", now);
        }
        Action::Detail => match app.desk.tank(app.screen, board) {
            Some(tank) => app.dialog = Some(Dialog::Tank(tank)),
            None => app.refuse("Choose a row with a tank first.", now),
        },
        Action::Help => app.dialog = Some(help(app)),
        action if leads_away(action) => return on_live(app, action, board, now),
        action => app.desk.act(app.screen, action, board),
    }
    Vec::new()
}

/// What does on every screen what it does on the live one.
pub(super) fn leads_away(action: Action) -> bool {
    matches!(
        action,
        Action::Acknowledge
            | Action::Quit
            | Action::Pane(_)
            | Action::Propose
            | Action::Enter
            | Action::Reckon
            | Action::Lessons
            | Action::Debrief
    )
}

/// Cards and words, and pages about the shift.
pub(super) fn on_reading(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Back if app.screen == Screen::Lessons => {
            app.screen = app.lessons.from.take().unwrap_or(home(app.post));
        }
        Action::Back => app.screen = app.reading.from.take().unwrap_or(home(app.post)),
        Action::Help => app.dialog = Some(Dialog::Help(crate::tui::screens::help::line_of(app.context()))),
        action if leads_away(action) => return on_live(app, action, board, now),
        action if app.screen == Screen::Lessons => app.lessons.act(action, lessons(&app.line).len()),
        action => app.reading.act(action, app.desk.cells),
    }
    Vec::new()
}

/// Opens the cards and words, at what a tank holds if one is named.
pub(super) fn read_lessons(app: &mut App, tank: Option<TankId>) {
    let role = tank.map(|t| app.line.tanks[t].role);
    if let Some(Role::Bath(stage)) = role {
        app.lessons.show(lesson_of(app.line.stages[stage].kind));
    }
    if app.screen != Screen::Lessons {
        app.lessons.from = Some(app.screen);
        app.screen = Screen::Lessons;
    }
}

/// Changes: what is proposed is weighed, committed or dropped.
pub(super) fn on_changes(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm => commit(app, now),
        Action::Erase => match app.changes.remove() {
            Some(gone) => app.done(format!("No longer proposed: {}", gone.words), now),
            None => app.refuse("Nothing is proposed.", now),
        },
        Action::TakeBack => take_back(app, board, now),
        Action::Back if app.changes.stack.is_empty() => {
            app.screen = app.changes.from.take().unwrap_or(home(app.post));
        }
        Action::Back => {
            app.dialog = Some(Dialog::Ask(Ask {
                title: "Drop what is proposed?".to_owned(),
                lines: app.changes.stack.iter().map(|p| p.words.clone()).collect(),
                yes: Consequence::Drop,
            }));
        }
        Action::Help => app.dialog = Some(help(app)),
        action if leads_away(action) => return on_live(app, action, board, now),
        action => app.changes.act(action, board),
    }
    Vec::new()
}

/// Pages: read, turned, signed.
pub(super) fn on_pages(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    match action {
        Action::Confirm => {
            app.refuse("Nothing was said. 1 shows the call; what was done is said there.", now);
        }
        Action::Sign if app.post == Post::Watch => app.refuse("This screen only watches.", now),
        Action::Sign => app.dialog = Some(Dialog::List(pages::signs())),
        Action::Back => app.screen = home(app.post),
        Action::Help => app.dialog = Some(Dialog::Help(crate::tui::screens::help::line_of(app.context()))),
        action if leads_away(action) => return on_live(app, action, board, now),
        action => app.pages.act(action, app.desk.cells),
    }
    Vec::new()
}

/// Opens the changes; with nothing proposed yet, the first list at once.
pub(super) fn propose(app: &mut App, board: &Board, now: Time) {
    if app.post != Post::Supervisor {
        let words = "Changes need --role supervisor. s: say where things really are.";
        app.refuse(words, now);
        return;
    }
    if app.locked {
        app.ask_pin(None);
        return;
    }
    let here = app.screen == Screen::Changes;
    if !here {
        app.changes.selected = selected(app, board);
        app.changes.from = Some(app.screen);
        app.screen = Screen::Changes;
    }
    if here || app.changes.stack.is_empty() {
        let step = changes::begin(app, board);
        go(app, step, board, now);
    }
}

/// What is chosen on the screen that is shown.
pub(super) fn selected(app: &App, board: &Board) -> Selected {
    if app.screen != Screen::Live {
        return app.desk.selected(app.screen, board);
    }
    let chosen = app.row(app.pane);
    match app.pane {
        Pane::Line => {
            let row = chosen.and_then(|ix| board.tanks.get(ix));
            let carrier = row.and_then(|t| t.held.first()).map(|h| h.carrier);
            Selected { carrier, tank: row.map(|t| t.tank) }
        }
        Pane::Queue => {
            let queued = chosen.and_then(|ix| board.queue.get(ix.checked_sub(board.next.len())?));
            Selected { carrier: queued.map(|q| q.id), tank: None }
        }
        Pane::Alarms => {
            let carrier = match app.wrong(board) {
                Some(Wrong::Alarm(AlarmRow { of: AlarmOf::Load(key) | AlarmOf::Risk(_, key), .. })) => {
                    Some(key.carrier)
                }
                _ => None,
            };
            Selected { carrier, tank: None }
        }
        Pane::Log => Selected::default(),
    }
}

/// Goes on picking a change.
pub(super) fn go(app: &mut App, step: Step, board: &Board, now: Time) {
    let (line, book) = (Arc::clone(&app.line), Arc::clone(&app.book));
    match step {
        Step::List(list) => app.dialog = Some(Dialog::List(list)),
        Step::Field(field) => app.dialog = Some(Dialog::Field(field)),
        Step::Propose(commands) => {
            for command in commands {
                app.changes.propose(command, &line, &book, board);
            }
        }
        Step::Fill(commands) => {
            app.changes.clear();
            for command in commands {
                app.changes.propose(command, &line, &book, board);
            }
        }
        Step::Nothing(words) => app.refuse(words, now),
    }
}

pub(super) fn take_back(app: &mut App, board: &Board, now: Time) {
    app.changes.part = changes::Part::Standing;
    let row = app.changes.rows[changes::Part::Standing as usize];
    match board.changes.get(row) {
        Some(change) => {
            let command = Command::TakeBack { seq: change.seq };
            go(app, Step::Propose(vec![command]), board, now);
        }
        None => app.refuse("No change stands.", now),
    }
}

/// Asks why, if before and after have been seen, or what is so does not wait for them.
pub(super) fn commit(app: &mut App, now: Time) {
    match &app.changes.outlook {
        Outlook::Working | Outlook::Failed if app.changes.tells_facts() => ask_why(app, Grounds::Fact),
        Outlook::Nothing => app.refuse("Nothing is proposed. w: propose a change.", now),
        Outlook::Working => app.refuse("Before and after are not there yet; a moment.", now),
        Outlook::Failed => app.refuse("Before and after could not be worked out.", now),
        Outlook::Refused { why, .. } => {
            let words = format!("It cannot be done: {why}");
            app.refuse(words, now);
        }
        Outlook::Ready { known, .. } => {
            let grounds = Grounds::Seen(Arc::clone(known));
            ask_why(app, grounds);
        }
    }
}

pub(super) fn ask_why(app: &mut App, grounds: Grounds) {
    app.changes.committing = Some(grounds);
    app.dialog = Some(Dialog::Field(Field {
        title: "Why? Whoever comes next reads it".to_owned(),
        hint: app.changes.stack.iter().map(|p| p.words.as_str()).collect::<Vec<_>>().join("; "),
        text: app.changes.reason.clone(),
        wrong: None,
        asks: Asks::Reason,
    }));
}

pub(super) fn speak(app: &mut App, action: Action, board: &Board, now: Time) -> Vec<Effect> {
    if action.speaks() && app.post == Post::Watch {
        app.refuse("This screen only watches.", now);
        return Vec::new();
    }
    match action {
        Action::Undo => match &board.last_said {
            Some(last) => {
                app.dialog = Some(Dialog::Ask(Ask {
                    title: "Take back the last thing said?".to_owned(),
                    lines: [format!("{}  {}", last.clock, last.text), last.then.clone()]
                        .into_iter()
                        .chain(last.entered_since.then(|| ENTRIES_STAY.to_owned()))
                        .collect(),
                    yes: Consequence::Undo(last.seq),
                }));
            }
            None => app.refuse("There is nothing to take back.", now),
        },
        Action::Late => late(app, board, now),
        Action::Otherwise => {
            // A load on a hook can only have been put down; the picks of other hoists come after.
            let mut answers = lowers(&app.line, board);
            answers.extend(lifts(&app.line, board));
            let items = answers
                .into_iter()
                .map(|a| Item { text: a.text, means: Means::Said(a.means) })
                .collect::<Vec<_>>();
            if items.is_empty() {
                app.refuse("Nothing else can have been done. s: say where things are.", now);
            } else {
                app.dialog = Some(Dialog::List(List::of("What did you do?", items)));
            }
        }
        Action::Wrong => app.dialog = Some(wrong(board)),
        Action::Lessons => read_lessons(app, None),
        Action::Debrief => {
            if app.screen != Screen::Reading {
                app.reading.from = Some(app.screen);
                app.screen = Screen::Reading;
            }
            return vec![Effect::Debrief];
        }
        Action::Propose => propose(app, board, now),
        Action::Reckon => {
            let text = reckon_text(app, board);
            app.dialog = Some(Dialog::Field(reckon_field(text)));
        }
        Action::Enter => {
            app.entries = Entries { selected: selected(app, board), ago: Dur::ZERO };
            let step = entries::begin(app, board);
            return enter(app, step, board, now);
        }
        Action::Acknowledge => return acknowledge(app, board, now),
        Action::Shelve => return shelve(app, board, now),
        Action::Detail => {
            let chosen = app.row(Pane::Line).filter(|_| app.pane == Pane::Line);
            app.dialog = Some(match chosen.and_then(|ix| board.tanks.get(ix)) {
                Some(row) => Dialog::Tank(row.tank),
                None => tank_list(board),
            });
        }
        Action::Help => app.dialog = Some(help(app)),
        Action::Quit => app.dialog = Some(quit_question(app)),
        Action::Pane(n) => match Pane::ALL.get(usize::from(n)) {
            Some(pane) => (app.screen, app.pane) = (Screen::Live, *pane),
            None => app.screen = Screen::DESK[(usize::from(n) - Pane::ALL.len()) % Screen::DESK.len()],
        },
        Action::Next => app.pane = Pane::ALL[(app.pane as usize + 1) % Pane::ALL.len()],
        Action::Previous => app.pane = Pane::ALL[(app.pane as usize + 3) % Pane::ALL.len()],
        Action::Back => app.chosen[app.pane as usize] = None,
        Action::Up | Action::Down | Action::PageUp | Action::PageDown | Action::First | Action::Last => {
            let count = app.pane.rows(board);
            let slot = &mut app.chosen[app.pane as usize];
            // The first press shows where the cursor is.
            *slot = match *slot {
                _ if count == 0 => None,
                Some(ix) => Some(moved(ix, action, count)),
                None if action == Action::Last => Some(count - 1),
                None => Some(0),
            };
        }
        _ => {}
    }
    Vec::new()
}

/// Takes the call as done now.
///
/// 1. There must be a call.
/// 2. It must have stood long enough to be the one that was read.
/// 3. The press must not be the tail of an answer to a dialog, or meant for one that did not open.
/// 4. What can hardly be true, or does harm, is asked about.
pub(super) fn confirm(app: &mut App, board: &Board, now: Time) -> Vec<Effect> {
    let Some(call) = &board.call else {
        app.refuse("There is no call. x: say what you did.", now);
        return Vec::new();
    };
    if app.shown.is_some_and(|(said, since)| said == call.said && now - since < app.really(JUST_CHANGED)) {
        app.refuse("The call has just changed. Read it, then say it again.", now);
        return Vec::new();
    }
    if now < app.settled {
        app.refuse("Nothing was said: too soon after a list or an answer. Say it again if it is done.", now);
        return Vec::new();
    }
    if let Some(question) = &call.early {
        app.dialog = Some(Dialog::Ask(Ask {
            title: format!("Done already: {} {}?", call.verb.word(), call.carrier),
            lines: vec![question.clone(), "Was it really done just now?".to_owned()],
            yes: Consequence::Say(call.said),
        }));
        return Vec::new();
    }
    vec![say(board, call.said, now)]
}

pub(super) fn say(board: &Board, said: Said, at: Time) -> Effect {
    Effect::Submit {
        command: said.command(at),
        done: format!("{}.   u takes it back", said_words(board, said, at)),
    }
}

pub(super) fn said_words(board: &Board, said: Said, at: Time) -> String {
    let clock = board.clock_at(at);
    let tank = |id| board.tanks.iter().find(|t| t.tank == id).map_or("?", |t| t.name.as_str());
    match said {
        Said::Lift { carrier, from, .. } => {
            let name = board.carrier(carrier).map_or("?", |c| c.name.as_str());
            format!("Said: picked {name} from {} at {clock}", tank(from))
        }
        Said::Lower { hoist, to } => {
            let hook = board.hooks.iter().find(|h| h.hoist == hoist);
            let name = hook.and_then(|h| h.carrier.as_ref()).map_or("?", |(_, n)| n.as_str());
            format!("Said: placed {name} in {} at {clock}", tank(to))
        }
    }
}

pub(super) fn late(app: &mut App, board: &Board, now: Time) {
    let call = board.call.as_ref().map(|c| {
        let text = match c.said {
            Said::Lift { .. } => format!("picked {} from {}", c.carrier, c.from.words()),
            Said::Lower { .. } => format!("placed {} in {}", c.carrier, c.to.words()),
        };
        Subject { text, means: Timed::Say(c.said), ago: Dur::ZERO }
    });
    let last = board.last_said.as_ref().map(|l| Subject {
        text: format!("the last thing said: {} (said for {})", l.text, l.clock),
        means: Timed::Retime(l.seq),
        ago: Dur::from_secs((now - l.at).or_zero().whole_secs()),
    });
    match (call, last) {
        (Some(call), last) => app.dialog = Some(Dialog::Amount(Amount::of(call, last))),
        (None, Some(last)) => app.dialog = Some(Dialog::Amount(Amount::of(last, None))),
        (None, None) => app.refuse("There is nothing that could have been late.", now),
    }
}

pub(super) fn wrong(board: &Board) -> Dialog {
    let rank = |p: &Place| match p {
        Place::OnHook { .. } => 0,
        Place::InTank { .. } => 1,
        Place::Queued => 2,
        _ => 3,
    };
    let mut facts: Vec<_> = board.carriers.iter().collect();
    facts.sort_by_key(|f| (rank(&f.place), f.id));
    let mut items: Vec<Item> = facts
        .into_iter()
        .map(|f| Item { text: format!("{} is not {}", f.name, f.whereabouts), means: Means::Carrier(f.id) })
        .collect();
    items.extend(board.hooks.iter().filter(|h| h.carrier.is_none()).map(|h| Item {
        text: format!("crane {} does not stand over {}", h.name, h.at),
        means: Means::Hoist(h.hoist),
    }));
    Dialog::List(List::of("What is wrong?", items))
}

pub(super) fn tank_list(board: &Board) -> Dialog {
    let items = board
        .tanks
        .iter()
        .map(|t| {
            let who: Vec<&str> = t.held.iter().map(|h| h.name.as_str()).collect();
            Item { text: format!("{} {}   {}", t.name, t.label, who.join(" ")), means: Means::Tank(t.tank) }
        })
        .collect();
    Dialog::List(List::of("Which tank?", items))
}

/// The keys, from where they hold.
pub(super) fn help(app: &App) -> Dialog {
    let context = match app.context() {
        _ if app.tape.is_some() => Context::Replay,
        Context::Live => return Dialog::Help(0),
        context => context,
    };
    Dialog::Help(crate::tui::screens::help::line_of(context))
}

pub(super) fn quit_question(app: &App) -> Dialog {
    if app.tape.is_some() {
        let lines = vec!["The recording stays as it is.".to_owned()];
        return Dialog::Ask(Ask { title: "Leave the replay?".to_owned(), lines, yes: Consequence::Quit });
    }
    // Questions without a recording behind them: nothing runs.
    if app.choosing.is_some() {
        let lines = vec!["The answers given so far count.".to_owned()];
        return Dialog::Ask(Ask { title: "Leave the questions?".to_owned(), lines, yes: Consequence::Quit });
    }
    let then = match (app.practice, app.practising.over) {
        (_, true) => format!("The {} is over.", app.practising.kind()),
        (true, _) => format!("The {} stands still; run --shift goes on with it.", app.practising.kind()),
        _ => "The line goes on, the calls stop.".to_owned(),
    };
    Dialog::Ask(Ask {
        title: "Leave dwellhand?".to_owned(),
        lines: vec![then, "What was said stays said.".to_owned()],
        yes: Consequence::Quit,
    })
}

pub(super) fn acknowledge(app: &mut App, board: &Board, now: Time) -> Vec<Effect> {
    let seen = |alarm: &AlarmRow| Effect::Submit {
        command: match alarm.of {
            AlarmOf::Load(key) => Command::Alarm { key, action: AlarmAction::Acknowledge },
            AlarmOf::Stop(hoist) | AlarmOf::Risk(hoist, _) => Command::AcknowledgeStop { hoist },
        },
        done: format!("Seen: {}", alarm.text),
    };
    // What was only due and came to nothing is seen in one go.
    let harmless = |alarm: &AlarmRow| !alarm.active && alarm.unseen && alarm.level == AlarmLevel::Due;
    match app.alarm(board).map(|alarm| parent(alarm, board)) {
        Some(alarm) if harmless(alarm) => board.alarms.iter().filter(|a| harmless(a)).map(seen).collect(),
        Some(alarm) if alarm.unseen => vec![seen(alarm)],
        Some(_) => {
            app.note("That alarm was seen already.", now);
            Vec::new()
        }
        None => {
            app.note(no_alarm(app, board), now);
            Vec::new()
        }
    }
}

/// Why there is no alarm to say anything of.
fn no_alarm(app: &App, board: &Board) -> &'static str {
    match app.wrong(board) {
        Some(Wrong::Breach(_)) => "That row is what the plan cannot keep, and no alarm.",
        _ => "There is no alarm.",
    }
}

/// The alarm that a row stands for: a load at risk stands under that of its hoist.
pub(super) fn parent<'b>(row: &'b AlarmRow, board: &'b Board) -> &'b AlarmRow {
    let AlarmOf::Risk(hoist, _) = row.of else { return row };
    board.alarms.iter().find(|a| a.of == AlarmOf::Stop(hoist)).unwrap_or(row)
}

pub(super) fn shelve(app: &mut App, board: &Board, now: Time) -> Vec<Effect> {
    let first = || board.alarms.first().filter(|_| app.wrong(board).is_none());
    let Some(alarm) = app.alarm(board).or_else(first) else {
        app.note(no_alarm(app, board), now);
        return Vec::new();
    };
    let AlarmOf::Load(key) = alarm.of else {
        app.refuse("The alarm of a stopped crane is not set aside.", now);
        return Vec::new();
    };
    if alarm.is_shelved() {
        let command = Command::Alarm { key, action: AlarmAction::Unshelve };
        return vec![Effect::Submit { command, done: "The alarm is back.".to_owned() }];
    }
    if !alarm.active {
        app.refuse("What is over is not set aside; a says that it was seen.", now);
        return Vec::new();
    }
    if !alarm.may_shelve {
        app.refuse("An alarm that means scrap is not set aside.", now);
        return Vec::new();
    }
    let items = REASONS
        .iter()
        .map(|reason| Item { text: (*reason).to_owned(), means: Means::Shelve(key, reason) })
        .collect();
    let title = format!("Set aside for {} minutes, because ...", SET_ASIDE.whole_secs() / 60);
    app.dialog = Some(Dialog::List(List::of(title, items).about(alarm.text.clone())));
    Vec::new()
}

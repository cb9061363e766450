//! The supervisor's changes on screen: proposed, weighed before and after, committed or dropped, taken back; and what all
//! screens say of what was changed.

use std::sync::Arc;
use std::time::{Duration, Instant};

use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::ids::{CarrierId, HoistId, StepNo, TankId};
use dwellhand::line::{Role, StageKind};
use dwellhand::live::{Known, LiveShift};
use dwellhand::plan::Settings;
use dwellhand::shift::{Change, Command, Event, Place, StopCause, Who, Whose, Window, alarm, decide};
use dwellhand::tui::app::{App, Effect, Screen, update};
use dwellhand::tui::changes::{Outlook, keep_preview};
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::keymap::{self, Key};
use dwellhand::tui::pages::keep_page;
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Post, board_of, perform};
use dwellhand::units::{Dur, Time};
use dwellhand::view::{AlarmOf, Board, Mark, Preview, Sort, Standing, WayRow, log_of, sorted};
use dwellhand::whatif::weigh;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::lines::{Shape, varied};
use crate::scene::{self, Scene};

/// Longer than any preview takes here, even on a busy machine.
const LIMIT: Duration = Duration::from_secs(300);

fn key(name: &str) -> Key {
    match name {
        "Enter" => Key::Enter,
        "Esc" => Key::Esc,
        "Tab" => Key::Tab,
        "Down" => Key::Down,
        "Space" => Key::Char(' '),
        other => Key::Char(other.chars().next().unwrap()),
    }
}

/// A supervisor's terminal on a shift of one hoist and five carriers.
pub(crate) struct Desk {
    pub(crate) shift: LiveShift,
    clock: ManualClock,
    pub(crate) app: App,
}

impl Desk {
    fn new(post: Post) -> Self {
        let (line, book) = varied(5, Shape { steps: 8, carriers: 5, rinse: 4, hoists: 1 });
        let clock = ManualClock::default();
        let opening = Opening::parse("2026-11-25T06:00:00+01:00").unwrap();
        let line = Arc::new(line);
        let settings = Settings::default();
        let mut shift = LiveShift::in_memory(Arc::clone(&line), opening, Box::new(clock.clone()), settings);
        shift.submit(&Command::Open { book }, Who::Supervisor).unwrap();
        Self::on(shift, clock, post)
    }

    /// The same on another shift.
    pub(crate) fn on(shift: LiveShift, clock: ManualClock, post: Post) -> Self {
        let app = App::new(Arc::new(shift.line().clone()), post, false, false);
        Self { shift, clock, app }
    }

    pub(crate) fn board(&mut self) -> Board {
        self.app.learn(self.shift.line(), &self.shift.state().book);
        keep_preview(&mut self.app, &mut self.shift);
        let board = board_of(&mut self.shift);
        let told = (self.shift.line(), self.shift.history());
        keep_page(&mut self.app, told, &self.shift.opening(), &board);
        self.app.see(&board);
        board
    }

    /// Presses keys with a look at the screen before each.
    pub(crate) fn press(&mut self, keys: &str) {
        for name in keys.split_whitespace() {
            let board = self.board();
            if let Some(action) = keymap::action(self.app.context(), key(name)) {
                let now = self.shift.now();
                let effects = update(&mut self.app, action, &board, now);
                perform(&mut self.app, &mut self.shift, effects);
            }
        }
    }

    fn weighed(&mut self) -> Arc<Preview> {
        let until = Instant::now() + LIMIT;
        loop {
            self.board();
            match &self.app.changes.outlook {
                Outlook::Ready { preview, last: true, .. } => return Arc::clone(preview),
                other => assert!(Instant::now() < until, "{other:?}"),
            }
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    pub(crate) fn message(&self) -> &str {
        self.app.message.as_ref().map_or("", |m| m.text.as_str())
    }

    fn change(&mut self, change: Change) {
        self.shift.submit(&Command::Change { change, why: "to see".to_owned() }, Who::Supervisor).unwrap();
    }
}

const HOLD_THE_FIRST: &str = "w h o l d Enter Enter";

#[test]
fn a_change_is_weighed_committed_with_a_reason_and_taken_back() {
    let mut desk = Desk::new(Post::Supervisor);
    desk.press(HOLD_THE_FIRST);
    assert_eq!(desk.app.screen, Screen::Changes);
    assert_eq!(desk.app.changes.stack.len(), 1);
    desk.press("Enter");
    assert!(desk.app.dialog.is_none(), "nothing is committed that was not weighed: {:?}", desk.app.dialog);
    let preview = desk.weighed();
    assert!(preview.finishes.iter().any(|f| f.lost), "what is held is not finished: {preview:#?}");
    assert!(desk.shift.state().standing.held.is_empty(), "a preview changes nothing");

    desk.press("Enter Enter");
    assert!(matches!(&desk.app.dialog, Some(Dialog::Field(f)) if f.wrong.is_some()), "it asks why");
    desk.press("r a c k Enter");
    assert!(desk.app.dialog.is_none() && desk.app.changes.stack.is_empty());
    let held: Vec<CarrierId> = desk.shift.state().standing.held.keys().copied().collect();
    assert_eq!(held.len(), 1);
    let board = desk.board();
    assert_eq!(board.changes.len(), 1);
    assert_eq!((board.changes[0].why.as_str(), board.changes[0].who), ("rack", "sup"));
    assert_eq!(board.carrier(held[0]).unwrap().marks, [Mark::Held]);
    assert!(board.queue.iter().any(|q| q.id == held[0] && q.marks == [Mark::Held]));

    desk.press("t");
    desk.weighed();
    desk.press("Enter o k Enter");
    assert!(desk.shift.state().standing.held.is_empty());
    assert!(desk.board().changes.is_empty());
}

/// One step back is one list back, with what was typed there; and what was said before a dialog does not hide its keys.
#[test]
fn escape_goes_back_list_by_list() {
    let mut desk = Desk::new(Post::Supervisor);
    let title = |desk: &Desk| match &desk.app.dialog {
        Some(Dialog::List(list)) => (list.title.clone(), list.filter.clone()),
        other => panic!("{other:?}"),
    };
    let now = desk.shift.now();
    desk.app.done("Said before.", now);
    desk.press("w");
    assert_eq!(desk.message(), "");
    desk.press("h o l d");
    let first = title(&desk);
    desk.press("Enter");
    assert_ne!(title(&desk).0, first.0);
    desk.press("Esc");
    assert_eq!(title(&desk), first);
    desk.press("Esc");
    assert!(desk.app.dialog.is_none() && desk.app.changes.stack.is_empty());
    // Another way there does not lead back through the lists of this one.
    desk.press("w Esc");
    assert!(desk.app.dialog.is_none());
    desk.app.refuse("Read this first.", now);
    desk.press("w");
    assert_eq!(desk.message(), "Read this first.");
}

#[test]
fn what_is_dropped_changes_nothing_and_a_bare_escape_asks_first() {
    let mut desk = Desk::new(Post::Supervisor);
    let seq = desk.shift.state().seq;
    desk.press(HOLD_THE_FIRST);
    desk.press("Esc");
    assert!(matches!(desk.app.dialog, Some(Dialog::Ask(_))));
    desk.press("[ A y");
    assert!(desk.app.changes.stack.is_empty());
    desk.press("Esc");
    assert_eq!((desk.app.screen, desk.shift.state().seq), (Screen::Board, seq));
    assert_eq!(desk.app.changes.outlook, Outlook::Nothing);
    assert!(!desk.shift.is_previewing());
}

/// What is proposed without having been looked at, as when Enter comes before before and after are there.
fn proposed_blindly(desk: &mut Desk, change: Change) {
    let (line, book, board) = (Arc::clone(&desk.app.line), Arc::clone(&desk.app.book), desk.board());
    desk.app.screen = Screen::Changes;
    desk.app.changes.propose(Command::Change { change, why: String::new() }, &line, &book, &board);
    desk.app.changes.outlook = Outlook::Working;
    for k in ["Enter", "w", "h", "y", "Enter"] {
        let Some(action) = keymap::action(desk.app.context(), key(k)) else { continue };
        let effects = update(&mut desk.app, action, &board, board.now);
        perform(&mut desk.app, &mut desk.shift, effects);
    }
}

#[test]
fn what_is_so_is_told_before_its_consequences_are_known_and_a_choice_is_not() {
    let mut desk = Desk::new(Post::Supervisor);
    let hoist = HoistId(0);
    proposed_blindly(&mut desk, Change::StopHoist { hoist, cause: StopCause::Break, until: None });
    assert!(desk.message().contains("not there yet"), "{}", desk.message());
    assert!(desk.shift.state().standing.stopped.is_empty());
    desk.app.changes.clear();
    desk.app.dialog = None;
    proposed_blindly(&mut desk, Change::StopHoist { hoist, cause: StopCause::Fault, until: None });
    assert!(desk.shift.state().standing.stopped.contains_key(&hoist), "{}", desk.message());
}

/// Types the reason and presses Enter on a screen that is not looked at meanwhile.
fn commit_blindly(desk: &mut Desk, board: &Board) {
    let mut effects = Vec::new();
    for k in ["w", "h", "y", "Enter"] {
        let action = keymap::action(desk.app.context(), key(k)).unwrap();
        effects.extend(update(&mut desk.app, action, board, board.now));
    }
    assert!(matches!(&effects[..], [Effect::Commit { .. }]));
    perform(&mut desk.app, &mut desk.shift, effects);
}

#[test]
fn a_commit_that_another_change_outran_changes_nothing_and_is_weighed_anew() {
    let mut desk = Desk::new(Post::Supervisor);
    desk.press(HOLD_THE_FIRST);
    desk.weighed();
    desk.press("Enter");
    let board = desk.board();
    // Between the look at the screen and the last key somebody else changes something.
    desk.change(Change::SlowHoist { hoist: HoistId(0), percent: 80 });
    commit_blindly(&mut desk, &board);
    assert!(desk.message().contains("faster"), "{}", desk.message());
    assert!(desk.shift.state().standing.held.is_empty());
    assert_eq!((desk.app.changes.stack.len(), desk.app.changes.reason.as_str()), (1, "why"));
    desk.board();
    assert!(desk.message().contains("moved on"), "{}", desk.message());
}

#[test]
fn a_commit_while_the_line_goes_on_is_done_if_it_costs_no_more() {
    let mut desk = Desk::new(Post::Supervisor);
    desk.press("w h o l d Enter Down Enter");
    desk.weighed();
    desk.press("Enter");
    let board = desk.board();
    // The operator follows the call before the last key.
    let call = board.call.clone().unwrap();
    let at = desk.shift.calls()[0].set_out.max(desk.shift.now()) + Dur::from_secs(20);
    desk.clock.set(at);
    desk.shift.submit(&call.said.command(at), Who::Operator).unwrap();
    commit_blindly(&mut desk, &board);
    assert!(desk.message().contains("Committed"), "{}", desk.message());
    assert_eq!(desk.shift.state().standing.held.len(), 1);
    let picked = |e: &Event| matches!(e, Event::Lifted { .. });
    assert!(desk.shift.history().events().iter().any(|s| picked(&s.event)), "the pick is kept as well");
}

#[test]
fn what_is_shown_stays_while_the_line_goes_on_until_a_newer_one_is_there() {
    let mut desk = Desk::new(Post::Supervisor);
    desk.press("w h o l d Enter Down Enter");
    desk.weighed();
    let call = desk.board().call.unwrap();
    let at = Time::from_secs(60);
    desk.clock.set(at);
    desk.shift.submit(&call.said.command(at), Who::Operator).unwrap();
    let of = |desk: &Desk| desk.app.changes.known().map(|k| k.at);
    desk.board();
    assert!(of(&desk).is_some(), "{:?}", desk.app.changes.outlook);
    let until = Instant::now() + LIMIT;
    while of(&desk) != Some(at) {
        desk.board();
        assert!(of(&desk).is_some() && Instant::now() < until, "{:?}", desk.app.changes.outlook);
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn a_refused_change_says_which_and_why() {
    let mut desk = Desk::new(Post::Supervisor);
    desk.press(HOLD_THE_FIRST);
    let seq = desk.app.changes.stack[0].command.clone();
    let Command::Change { change: Change::Hold { carrier }, .. } = seq else { panic!("{seq:?}") };
    desk.change(Change::Hold { carrier });
    let until = Instant::now() + LIMIT;
    loop {
        desk.board();
        if let Outlook::Refused { which, why } = &desk.app.changes.outlook {
            assert!(*which == 0 && why.contains("held already"), "{why}");
            break;
        }
        assert!(Instant::now() < until);
        std::thread::sleep(Duration::from_millis(5));
    }
    desk.press("Enter");
    assert!(desk.message().contains("held already") && desk.app.dialog.is_none());
}

#[test]
fn why_a_tank_is_out_stands_with_the_change() {
    let mut desk = Desk::new(Post::Supervisor);
    desk.press("w o u t Space o f Enter Enter Enter");
    assert_eq!(desk.app.changes.stack.len(), 1, "{:?}", desk.app.dialog);
    desk.weighed();
    desk.press("Enter l e a k Enter");
    let board = desk.board();
    assert_eq!(board.changes.iter().map(|c| c.why.as_str()).collect::<Vec<_>>(), ["leak"]);
    let said = |e: &Event| matches!(e, Event::TankOut { .. } | Event::Noted { .. });
    let rows = log_of(desk.shift.line(), desk.shift.history(), &desk.shift.opening(), board.now, said);
    assert_eq!(rows.len(), 1, "no note beside it: {rows:?}");
    assert!(rows[0].text.ends_with("out of service (leak)"), "{rows:?}");
}

#[test]
fn changes_are_the_supervisors() {
    for (post, words) in [(Post::Operator, "--role supervisor"), (Post::Watch, "only watches")] {
        let mut desk = Desk::new(post);
        desk.press("w");
        assert!(desk.message().contains(words), "{}", desk.message());
        assert!(desk.app.screen != Screen::Changes && desk.app.dialog.is_none());
    }
}

#[test]
fn ways_out_come_first_and_fill_the_list() {
    let mut desk = Desk::new(Post::Supervisor);
    let stop = Change::SlowHoist { hoist: HoistId(0), percent: 50 };
    let hold = Change::Hold { carrier: CarrierId(1) };
    let commands = [stop, hold].map(|change| Command::Change { change, why: String::new() });
    desk.app.changes.ways = vec![WayRow {
        words: "slow down and hold".to_owned(),
        harm: None,
        by: Dur::ZERO,
        price: "12 min later".to_owned(),
        commands: commands.to_vec(),
    }];
    desk.press("w");
    let Some(Dialog::List(list)) = &desk.app.dialog else { panic!("{:?}", desk.app.dialog) };
    assert_eq!(list.items[0].text, "1. slow down and hold: keeps every window; 12 min later");
    // What was read is taken, also if other ways have been found since.
    desk.app.changes.ways.clear();
    desk.press("Enter");
    let stack: Vec<&Command> = desk.app.changes.stack.iter().map(|p| &p.command).collect();
    assert_eq!(stack, commands.iter().collect::<Vec<_>>());
}

/// What somebody types is most likely what no way out has: the row behind which all changes are stays.
#[test]
fn typing_among_the_ways_out_does_not_hide_everything_else() {
    let mut desk = Desk::new(Post::Supervisor);
    let change = Change::Hold { carrier: CarrierId(1) };
    desk.app.changes.ways = vec![WayRow {
        words: "hold one".to_owned(),
        harm: None,
        by: Dur::ZERO,
        price: "12 min later".to_owned(),
        commands: vec![Command::Change { change, why: String::new() }],
    }];
    let titles = |desk: &Desk| {
        let Some(Dialog::List(list)) = &desk.app.dialog else { panic!("{:?}", desk.app.dialog) };
        list.passing().iter().map(|i| i.text.clone()).collect::<Vec<_>>()
    };
    desk.press("w");
    assert!(titles(&desk).len() > 5 && titles(&desk)[0].starts_with("1. hold one"), "{:?}", titles(&desk));
    desk.press("h o l d");
    let found = titles(&desk);
    assert!(found[0].starts_with("hold a carrier") && found[1].starts_with("1. hold one"), "{found:?}");
    desk.press("Esc");
    desk.app.changes.ways[0].commands.clear();
    desk.press("w");
    assert!(!titles(&desk)[0].starts_with("1."), "changing nothing is no way: {:?}", titles(&desk));
}

#[test]
fn the_list_for_rework_says_who_is_not_on_it_and_why() {
    let (shift, clock) = crate::weigh::shift_after(60);
    let mut desk = Desk::on(shift, clock, Post::Supervisor);
    let (order, _) = desk.shift.state().book.orders.iter().last().unwrap();
    let all = desk.board().carriers.len();
    desk.change(Change::CancelOrder { order });
    desk.press("w r e w o r k Enter");
    let Some(Dialog::List(list)) = &desk.app.dialog else { panic!("{:?}", desk.app.dialog) };
    let left = all - list.items.len();
    assert!(left > 0 && list.about.starts_with(&format!("{left} not listed. ")), "{}", list.about);
    assert!(list.about.ends_with(": cancelled."), "{}", list.about);
}

#[test]
fn the_chosen_carrier_is_offered_first() {
    let mut desk = Desk::new(Post::Supervisor);
    desk.press("Tab Tab Down Down");
    let chosen = desk.board().queue[1].carrier.clone();
    desk.press("w h o l d Enter");
    let Some(Dialog::List(list)) = &desk.app.dialog else { panic!("{:?}", desk.app.dialog) };
    assert!(list.items[0].text.starts_with(&chosen), "{}", list.items[0].text);
}

/// What is offered for parking is what may be said, load by load and tank by tank.
#[test]
fn standby_that_is_offered_is_standby_that_is_accepted() {
    let (mut offered, mut kept_back) = (0, 0);
    for scene in [scene::calm(), scene::hanging(), scene::trouble(), scene::past_alarms()] {
        let standby = |t: &TankId| matches!(scene.line.tanks[*t].role, Role::Bath(s) if scene.line.stages[s].kind == StageKind::Standby);
        let all: Vec<Option<TankId>> =
            scene.line.tanks.ids().filter(standby).map(Some).chain([None]).collect();
        assert!(all.len() > 1);
        for fact in &scene.board().carriers {
            for tank in &all {
                let change = Change::Park { carrier: fact.id, tank: *tank };
                let park = Command::Change { change, why: "test".to_owned() };
                let said = decide(&scene.line, &scene.history, &park, scene.now);
                assert_eq!(fact.parks.contains(tank), said.is_ok(), "{} {tank:?}: {said:?}", fact.name);
                *(if said.is_ok() { &mut offered } else { &mut kept_back }) += 1;
            }
        }
    }
    assert!(offered > 10 && kept_back > 10, "{offered} {kept_back}");
}

#[test]
fn a_stopped_crane_takes_the_place_of_the_call() {
    let mut desk = Desk::new(Post::Operator);
    let call = desk.board().call.unwrap();
    let until = Some(Time::from_secs(1800));
    desk.change(Change::StopHoist { hoist: HoistId(0), cause: StopCause::Break, until });
    let board = desk.board();
    assert_eq!(board.call, None);
    assert_eq!(board.rest_head, ["STOPPED", "TILL 06:30"]);
    assert!(board.rest.contains("stopped until 06:30 (break)"), "{}", board.rest);
    assert!(board.rest.contains(&call.carrier), "what comes then is told: {}", board.rest);
    desk.change(Change::StopHoist { hoist: HoistId(0), cause: StopCause::Fault, until: None });
    assert!(desk.board().rest.contains("nobody knows until when"));
    desk.change(Change::RunHoist { hoist: HoistId(0) });
    assert!(desk.board().call.is_some());
}

/// On every page a load that hangs on a stopped crane is as late as the plan will put it down, not as it is by now.
#[test]
fn a_load_that_hangs_on_a_stopped_crane_is_as_late_as_the_plan_has_it() {
    let mut desk = Desk::new(Post::Operator);
    let air = |desk: &Desk| {
        let state = desk.shift.state();
        state.carriers.ids().find_map(|c| Some((c, alarm::lower_by(desk.shift.line(), state, c)?)))
    };
    let (carrier, by) = loop {
        let board = desk.board();
        let now = desk.shift.now() + Dur::from_secs(60);
        desk.clock.set(now);
        desk.shift.submit(&board.call.unwrap().said.command(now), Who::Operator).unwrap();
        if let Some(found) = air(&desk) {
            break found;
        }
    };
    let until = desk.shift.now() + Dur::from_mins(20);
    desk.change(Change::StopHoist { hoist: HoistId(0), cause: StopCause::Fault, until: Some(until) });
    let board = desk.board();
    let row = board.loads.iter().find(|l| l.id == carrier).unwrap();
    let slack = row.slack.unwrap();
    assert!(slack <= by - until, "{slack} after {}", until - by);
    assert_eq!(row.standing, Some(Standing::AtRisk));
    let sorted: Vec<CarrierId> = sorted(&board.loads, Sort::Slack, "").iter().map(|l| l.id).collect();
    assert_eq!(sorted[0], carrier);
    let place = board.next.iter().find(|n| n.carrier == row.carrier).unwrap();
    assert_eq!(place.slack, Some(slack));
    assert!(place.starts_in >= until - desk.shift.now(), "{} is before the crane runs", place.at);
}

#[test]
fn loads_at_risk_stand_under_the_alarm_of_their_crane() {
    let mut desk = Desk::new(Post::Operator);
    // The first carrier is brought into its first bath, then the crane stops for longer than any window.
    while !desk.shift.state().carriers.iter().any(|(_, c)| matches!(c.place, Place::InTank { .. })) {
        let board = desk.board();
        let now = desk.shift.now() + Dur::from_secs(120);
        desk.clock.set(now);
        desk.shift.submit(&board.call.unwrap().said.command(now), Who::Operator).unwrap();
    }
    let until = Some(desk.shift.now() + Dur::from_mins(300));
    desk.change(Change::StopHoist { hoist: HoistId(0), cause: StopCause::Fault, until });
    let now = desk.shift.now();
    desk.clock.set(now + Dur::from_secs(1));
    desk.shift.tick().unwrap();
    let board = desk.board();
    let of: Vec<AlarmOf> = board.alarms.iter().map(|a| a.of).collect();
    assert!(matches!(of[..2], [AlarmOf::Stop(_), AlarmOf::Risk(..)]), "{:#?}", board.alarms);
    assert_eq!(board.standing_alarms(), 1, "one alarm, however many loads");
    desk.press("2 Down Down a");
    let seen =
        |e: &Event| matches!(e, Event::StopAlarm { step: dwellhand::shift::StopStep::Acknowledged, .. });
    assert!(desk.shift.history().events().iter().any(|s| seen(&s.event)), "{}", desk.message());
}

#[test]
fn recipes_that_a_change_brings_are_known_to_the_dialogs() {
    let mut desk = Desk::new(Post::Operator);
    let carrier = CarrierId(0);
    let recipe = &desk.shift.line().recipes[desk.shift.state().book.carriers[carrier].recipe];
    let s = &recipe.steps[0];
    let window = Window { min: s.min, target: s.min, max: s.max };
    desk.change(Change::Dwell { whose: Whose::Carrier(carrier), step: StepNo(0), window });
    let known = desk.app.line.recipes.len();
    desk.press("s Enter");
    assert!(matches!(desk.app.dialog, Some(Dialog::List(_))));
    assert_eq!(desk.app.line.recipes.len(), known + 1);
}

pub(crate) fn text(buf: &Buffer) -> String {
    let row = |y| (0..buf.area.width).map(|x| buf[(x, y)].symbol()).collect::<String>();
    (0..buf.area.height).flat_map(|y| [row(y).trim_end().to_owned(), "\n".to_owned()]).collect()
}

/// The changes of a scene with two proposed ones, weighed, and two that stand.
fn changed() -> (Scene, App) {
    let mut scene = scene::calm();
    let tank = scene::named(&scene.line, "T17");
    let say = |change: Change, why: &str| Event::Changed { change, why: why.to_owned() };
    let hoist = HoistId(0);
    scene::push_now(&mut scene, Who::Supervisor, say(Change::Quarantine { tank }, "smells of chlorine"));
    scene::push_now(&mut scene, Who::Supervisor, say(Change::SlowHoist { hoist, percent: 80 }, "new rope"));
    scene::push_now(&mut scene, Who::Supervisor, say(Change::Hold { carrier: CarrierId(7) }, ""));
    let changes = [
        Change::Hold { carrier: CarrierId(2) },
        Change::StopHoist { hoist, cause: StopCause::Break, until: Some(scene.now + Dur::from_mins(20)) },
    ];
    let commands = changes.map(|change| Command::Change { change, why: String::new() });
    let (history, settings, now) = (&scene.history, Settings::default(), scene.now);
    let weighed = weigh(&scene.line, history, &commands, now, &settings, None).unwrap();
    let preview = Preview::of(&scene.line, &scene.opening, &weighed.before, &weighed.after, now);
    let known = Arc::new(Known { weighed, at: now, seen: history.state().seq });
    let line = Arc::new(history.state().line(&scene.line).clone());
    let mut app = App::new(line, Post::Supervisor, false, false);
    app.book = Arc::new(history.state().book.clone());
    app.screen = Screen::Changes;
    let board = scene.board();
    let (line, book) = (Arc::clone(&app.line), Arc::clone(&app.book));
    for command in commands {
        app.changes.propose(command, &line, &book, &board);
    }
    app.changes.outlook = Outlook::Ready { preview: Arc::new(preview), known, last: true };
    (scene, app)
}

fn screen(scene: &Scene, app: &App, size: (u16, u16), look: (Depth, GlyphSet)) -> String {
    let area = Rect::new(0, 0, size.0, size.1);
    let mut buf = Buffer::empty(area);
    paint(&mut buf, area, &scene.board(), app, &Look::new(look.0, look.1));
    text(&buf)
}

/// Why a change is refused is read whole, whatever the width.
#[test]
fn a_refusal_is_broken_and_not_cut() {
    let (scene, mut app) = changed();
    let why = "B07: its sheet allows no standby after this step; name a tank to park it all the same";
    app.changes.outlook = Outlook::Refused { which: 1, why: why.to_owned() };
    for width in 80..160 {
        let shown = screen(&scene, &app, (width, 40), (Depth::Many, GlyphSet::Full));
        let told: Vec<&str> = shown.split_whitespace().collect();
        let lost = why.split_whitespace().find(|word| !told.contains(word));
        assert_eq!(lost, None, "{width}\n{shown}");
    }
}

#[test]
fn the_changes_at_three_sizes_and_in_ascii() {
    let (scene, mut app) = changed();
    let full = (Depth::Many, GlyphSet::Full);
    for (w, h) in [(80, 24), (120, 40), (200, 60)] {
        insta::assert_snapshot!(format!("changes_{w}x{h}"), screen(&scene, &app, (w, h), full));
    }
    let ascii = screen(&scene, &app, (80, 24), (Depth::Mono, GlyphSet::Ascii));
    assert!(ascii.chars().all(|c| c == '\n' || (' '..='~').contains(&c)), "{ascii}");
    insta::assert_snapshot!("changes_ascii", ascii);
    let press = |app: &mut App, keys: &str| {
        for k in keys.split_whitespace() {
            let action = keymap::action(app.context(), key(k)).unwrap();
            update(app, action, &scene.board(), scene.now);
        }
    };
    press(&mut app, "Tab Tab");
    insta::assert_snapshot!("changes_standing", screen(&scene, &app, (80, 24), full));
    press(&mut app, "w");
    insta::assert_snapshot!("changes_list", screen(&scene, &app, (80, 24), full));
    press(&mut app, "Esc Enter");
    insta::assert_snapshot!("changes_why", screen(&scene, &app, (80, 24), full));
    for (name, shown) in [("live", Screen::Live), ("board", Screen::Board), ("tanks", Screen::Tanks)] {
        app.dialog = None;
        app.screen = shown;
        insta::assert_snapshot!(format!("changed_{name}"), screen(&scene, &app, (80, 24), full));
    }
}

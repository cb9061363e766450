//! Pages about a shift: the same figures in every form, and what they say against what happened.

use super::lines::{Shape, does, opened, varied};
use super::small::{self, ANODISE, CLEAN, LOAD, RINSE};
use dwellhand::civil::Opening;
use dwellhand::ids::{CarrierId, HoistId, OrderId, RecipeId, StageId};
use dwellhand::line::{Current, Limit, Line, Quantity};
use dwellhand::plan::{Settings, calls, plan, remaining};
use dwellhand::report::{self, Body, Figures, Page, Source, rates};
use dwellhand::shift::ledger::{Entry, Inspection, Reading, Shade};
use dwellhand::shift::{Carrier, Change, Command, History, Place, Who, alarm, decide};
use dwellhand::sim::{Crew, Pace};
use dwellhand::train::Debrief;
use dwellhand::units::{Dur, Time};
use dwellhand::verify::happened;
use dwellhand::view::{Board, Preview};
use dwellhand::whatif::weigh;

fn opening() -> Opening {
    Opening::at(chrono::DateTime::parse_from_rfc3339("2026-11-25T06:00:00+01:00").unwrap())
}

/// A shift on a small line, run to its end by a crew that is often distracted.
pub fn ran(seed: u64) -> (Line, History, Time) {
    let (line, book) = varied(seed, Shape { steps: 8, carriers: 6, rinse: 2, hoists: 1 });
    let mut history = opened(&line, book);
    let pace = Pace { distracted: 0.2, wrong_tank: 0.02, ..Pace::HUMAN };
    let mut crew = Crew::new(pace, seed);
    let mut now = Time::ZERO;
    let settings = Settings { effort: 2, ..Settings::default() };
    loop {
        let schedule = plan(&line, history.state(), now, &settings);
        let next = calls(&line, history.state(), &schedule, now, 4);
        does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some((press, command)) = crew.next(&line, history.state(), &next, now) else { break };
        now = now.max(press);
        if decide(&line, &history, &Command::Watch, now).is_ok_and(|e| !e.is_empty()) {
            does(&line, &mut history, &Command::Watch, now);
        }
        does(&line, &mut history, &command, now);
    }
    (line, history, now)
}

pub fn board(line: &Line, history: &History, now: Time) -> Board {
    let state = history.state();
    let plan = state.plan.as_ref().map(|p| remaining(state, p)).unwrap_or_default();
    let calls = calls(line, state, &plan, now, usize::MAX);
    Board::build(line, state, history, &calls, &[], &opening(), now)
}

/// The shift's report at an instant.
pub fn shift_of(line: &Line, history: &History, now: Time) -> Page {
    let (board, opening) = (board(line, history, now), opening());
    report::shift(&Source { line, history, board: &board, opening: &opening, now })
}

fn rows<'p>(page: &'p Page, title: &str) -> &'p [Vec<String>] {
    let part = page.parts.iter().find(|p| p.title == title).unwrap_or_else(|| panic!("no part {title}"));
    let Body::Table { rows, .. } = &part.body else { panic!("{title} is no table") };
    rows
}

/// Every immersion of a carrier is in its record, and a verdict other than "kept" stands where a window broke.
#[test]
fn a_record_has_every_step_and_its_verdict() {
    let mut broken = 0;
    for seed in 0..12 {
        let (line, history, now) = ran(seed);
        let board = board(&line, &history, now);
        let opening = opening();
        let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
        let breaches = happened(&line, history.state());
        for (id, carrier) in history.state().carriers.iter() {
            let page = report::record(&source, id);
            let steps = rows(&page, "Steps");
            assert_eq!(steps.len(), carrier.stays.len());
            let name = &history.state().book.carriers[id].name;
            let own = breaches.iter().filter(|b| b.carrier == *name).count();
            let well = |s: &&Vec<String>| {
                let verdict = s.last().unwrap();
                ["kept", "put back", "goes on in "].iter().any(|well| verdict.starts_with(well))
            };
            let marked = steps.len() - steps.iter().filter(well).count();
            assert_eq!(own > 0, marked > 0, "seed {seed} {name}: {steps:#?} {breaches:#?}");
            assert!(marked <= own, "seed {seed} {name}");
            broken += own;
        }
    }
    assert!(broken > 5, "the crew was too good to test anything: {broken}");
}

/// A load that is put back for the rest of its dwell: nobody who reads the record takes the first part for a whole one.
#[test]
fn a_record_says_what_was_put_back_and_adds_it_up() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let (hoist, t) = (HoistId(0), Time::from_secs);
    let again = (200, ANODISE, ANODISE);
    let moves = [(2, LOAD, CLEAN), (40, CLEAN, CLEAN), (110, CLEAN, RINSE), (140, RINSE, ANODISE), again];
    for (at, from, to) in moves {
        does(&line, &mut history, &Command::Lift { carrier: CarrierId(0), hoist, from, at: t(at) }, t(at));
        does(&line, &mut history, &Command::Lower { hoist, to, at: t(at + 15) }, t(at + 15));
    }
    let now = t(260);
    does(&line, &mut history, &Command::Lift { carrier: CarrierId(0), hoist, from: ANODISE, at: now }, now);
    let (board, opening) = (board(&line, &history, now), opening());
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let page = report::record(&source, CarrierId(0));
    let said: Vec<(&str, &str)> =
        rows(&page, "Steps").iter().map(|r| (r[4].as_str(), r.last().unwrap().as_str())).collect();
    assert_eq!(said[0], ("0:23", "put back"));
    assert_eq!(said[1], ("0:55", "kept, 1:18 in all"));
    assert_eq!(said[2].0, "0:15");
    // It is one dwell to the shift's report, too: one load is no lot.
    let shift = report::shift(&source);
    assert!(rows(&shift, "Dwell within a lot").is_empty(), "{shift:#?}");
    let waited = rows(&shift, "Waiting beyond the shortest dwell").iter();
    let stays: Vec<(&str, &str)> = waited.map(|r| (r[0].as_str(), r[1].as_str())).collect();
    assert!(stays.contains(&("in anodise", "1")), "{stays:?}");
}

/// While a load is in a tank again, its record says when it was put down and how long it hung, not when its dwell would have
/// begun if it had never been lifted.
#[test]
fn a_record_of_what_was_put_back_has_the_real_times() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let (hoist, t) = (HoistId(0), Time::from_secs);
    for (at, from, to) in [(2, LOAD, CLEAN), (40, CLEAN, CLEAN)] {
        does(&line, &mut history, &Command::Lift { carrier: CarrierId(0), hoist, from, at: t(at) }, t(at));
        does(&line, &mut history, &Command::Lower { hoist, to, at: t(at + 15) }, t(at + 15));
    }
    let air = |page: &Page| rows(page, "Steps")[0][7].clone();
    let record = |history: &History, now: Time| {
        let (board, opening) = (board(&line, history, now), opening());
        report::record(&Source { line: &line, history, board: &board, opening: &opening, now }, CarrierId(0))
    };
    let there = record(&history, t(60));
    assert!(there.text().contains("since 06:00:55"), "{}", there.text());
    // The second immersion goes on: it has its row all the same.
    let last = rows(&there, "Steps").last().unwrap().clone();
    assert_eq!((last[2].as_str(), last[3].as_str(), last[4].as_str()), ("06:00:55", "still in", "0:05"));
    does(&line, &mut history, &Command::Lift { carrier: CarrierId(0), hoist, from: CLEAN, at: t(90) }, t(90));
    assert_eq!(air(&there), air(&record(&history, t(91))));
    assert_ne!(air(&there), "0:00");
}

/// A tank under current goes out with a load in it, such as when a rectifier trips: nobody says whether current flowed, so its
/// record has the time, and the charge from what came without it to what came with it. By hand: 61.7 dm2 at 1.5 A/dm2, half of
/// a ramp of 4 s lost: 58 s of 60 make 89 A min; without 10 s between, the ramp begun anew, 46 s make 71. At 720 A min/ft2 for
/// a mil (`process.rs` has the source) 1.45 A min/dm2 make 0.475 um, 1.15 make 0.377.
#[test]
fn a_record_tells_that_a_tank_was_out_while_the_load_was_in_it() {
    let mut line = Line::clone(&small::line());
    let step = line.recipes[RecipeId(0)].steps.iter_mut().find(|s| s.stage == StageId(2)).unwrap();
    step.current = Some(Current { density: 1.5, volts: 15.0, ramp: Dur::from_secs(4) });
    let (least, most, quantity) = (Some(18.0), Some(22.0), Quantity::Temperature);
    line.tanks[ANODISE].limits.push(Limit { quantity, least, most, every: None, overdue_stops: false });
    let mut history = opened(&line, small::book());
    let (hoist, carrier, t) = (HoistId(0), CarrierId(0), Time::from_secs);
    let mut go = |at: i64, from, to| {
        does(&line, &mut history, &Command::Lift { carrier, hoist, from, at: t(at) }, t(at));
        does(&line, &mut history, &Command::Lower { hoist, to, at: t(at + 15) }, t(at + 15));
    };
    go(2, LOAD, CLEAN);
    go(40, CLEAN, RINSE);
    go(140, RINSE, ANODISE);
    let out = Command::TankOut { tank: ANODISE, until: None, why: "rectifier".to_owned() };
    let weighed = weigh(&line, &history, std::slice::from_ref(&out), t(165), &Settings::default(), None)
        .expect("it may go out");
    let preview = Preview::of(&line, &opening(), &weighed.before, &weighed.after, t(165));
    let told = |words: &str| preview.guesses.iter().any(|g| g.contains(words));
    assert!(told("B1 in ") && told("counts on as if current flowed"), "{:?}", preview.guesses);
    does(&line, &mut history, &out, t(165));
    does(&line, &mut history, &Command::TankBack { tank: ANODISE }, t(175));
    let reading = Reading { quantity, value: 30.0 };
    let hot = Command::Enter { entry: Entry::Bath { tank: ANODISE, reading }, at: t(180) };
    does(&line, &mut history, &hot, t(180));
    let now = t(215);
    does(&line, &mut history, &Command::Lift { carrier, hoist, from: ANODISE, at: now }, now);
    let (board, opening) = (board(&line, &history, now), opening());
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let page = report::record(&source, carrier);
    let last = rows(&page, "Steps").last().unwrap();
    assert_eq!(last[9], "71 to 89 (0.4 to 0.5 um)");
    assert_eq!(last[10], "30.0 C 06:03 OUT OF LIMITS, 18 to 22 C");
    assert_eq!(last[12], "kept, bath out of limits, tank out of service for 0:10 of it, from 06:02:45");
    let handover = report::handover(&source).text();
    for told in [
        "out of service from 06:02:45: for 0:10, until 06:02:55; with B1 in it",
        "from 06:02:35 to 06:03:35: bath out of limits",
    ] {
        assert!(handover.contains(told), "{handover}");
    }
}

/// Every second of waiting has one cause: by place and by cause it comes to the same.
#[test]
fn waiting_by_cause_is_all_the_waiting_there_is() {
    let mut causes = std::collections::BTreeSet::new();
    for seed in 0..8 {
        let (line, history, now) = ran(seed);
        let (board, opening) = (board(&line, &history, now), opening());
        let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
        let page = report::shift(&source);
        let sum = |title: &str, column: usize| {
            let secs = rows(&page, title).iter().map(|r| Dur::parse(&r[column]).unwrap().as_secs_f64());
            secs.sum::<f64>()
        };
        let (places, why) =
            ("Waiting beyond the shortest dwell", "What was in the way meanwhile, the first that holds");
        // Each cell is told in whole seconds.
        assert!((sum(places, 2) - sum(why, 1)).abs() < 10.0, "seed {seed}: {page:#?}");
        causes.extend(rows(&page, why).iter().map(|r| r[0].clone()));
    }
    assert!(causes.len() >= 2, "{causes:?}");
}

/// A load that waits two steps before a tank that is out waits for that tank, and not for a late call.
#[test]
fn waiting_before_a_tank_that_is_out_further_on_is_told_as_that() {
    for (ahead, cause) in [
        (false, "the crane was free: it was called later, or came later"),
        (true, "all tanks of a later step were out or in quarantine"),
    ] {
        let line = small::line();
        let mut history = opened(&line, small::book());
        let (hoist, t) = (HoistId(0), Time::from_secs);
        if ahead {
            let out = Command::TankOut { tank: small::ANODISE, until: None, why: "pump".to_owned() };
            does(&line, &mut history, &out, t(1));
        }
        for (at, from, to) in [(2, LOAD, CLEAN), (120, CLEAN, small::RINSE)] {
            does(
                &line,
                &mut history,
                &Command::Lift { carrier: CarrierId(0), hoist, from, at: t(at) },
                t(at),
            );
            does(&line, &mut history, &Command::Lower { hoist, to, at: t(at + 15) }, t(at + 15));
        }
        let now = t(140);
        let (board, opening) = (board(&line, &history, now), opening());
        let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
        let page = report::shift(&source);
        let told = rows(&page, "What was in the way meanwhile, the first that holds");
        let longest = told.iter().max_by_key(|r| Dur::parse(&r[1]).unwrap().0).unwrap();
        assert_eq!(longest[0], cause, "{told:?}");
    }
}

/// A tank that is out is one row however often somebody says for how long, and a quarantine is one, too.
#[test]
fn the_debrief_tells_each_tank_that_was_shut_once() {
    let line = small::line();
    let mut history = opened(&line, small::book());
    let t = Time::from_secs;
    let out = |until| Command::TankOut { tank: small::ANODISE, until, why: "pump".to_owned() };
    let change = |change| Command::Change { change, why: "smell".to_owned() };
    let tank = small::RINSE;
    for (at, command) in [
        (10, out(None)),
        (100, out(Some(t(600)))),
        (300, Command::TankBack { tank: small::ANODISE }),
        (310, change(Change::Quarantine { tank })),
        (400, change(Change::Free { tank })),
        (500, out(Some(t(520)))),
    ] {
        does(&line, &mut history, &command, t(at));
    }
    let now = t(700);
    let (board, opening) = (board(&line, &history, now), opening());
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let page = report::debrief(&source, &Debrief::of(&line, &history, now));
    let told: Vec<(String, String)> =
        rows(&page, "What it met with").iter().map(|r| (r[0].clone(), r[2].clone())).collect();
    let row = |at: &str, then: &str| (at.to_owned(), then.to_owned());
    assert_eq!(
        told,
        [
            row("06:00:10", "for 4:50, until 06:05:00"),
            row("06:05:10", "for 1:30, until 06:06:40"),
            row("06:08:20", "for 0:20, until 06:08:40"),
        ]
    );
}

/// A printed page: fits a narrow window, is not cut inside short parts, and no title breaks out of its style.
#[test]
fn a_page_to_print_carries_its_title_and_its_cautions() {
    let page = Page {
        title: "A \"b\" </style> \\ c".to_owned(),
        lead: Vec::new(),
        parts: Vec::new(),
        foot: "it is no interlock".to_owned(),
    };
    let html = page.html();
    assert_eq!(html.matches("</style>").count(), 1, "{html}");
    let style = &html[html.find("<style>").unwrap()..html.find("</style>").unwrap()];
    assert!(style.contains(r"A \22 b\22  \3c \2f style\3e  \5c  c"), "{style}");
    assert!(html.contains("name=\"viewport\"") && html.contains("it is no interlock"));
}

/// Finished, broken and raised as counted elsewhere; nothing is lost between the forms.
#[test]
fn a_shift_report_says_the_same_in_every_form() {
    let (line, history, now) = ran(4);
    let board = board(&line, &history, now);
    let opening = opening();
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let page = report::shift(&source);
    let finished = history.state().carriers.iter().filter(|(_, c)| matches!(c.place, Place::Finished { .. }));
    let by_order: usize =
        rows(&page, "Orders").iter().map(|r| r[2].split(' ').next().unwrap().parse::<usize>().unwrap()).sum();
    assert_eq!(by_order, finished.count());
    let by_harm: usize = rows(&page, "Windows broken, by harm")
        .iter()
        .flat_map(|r| &r[1..4])
        .map(|n| n.parse::<usize>().unwrap())
        .sum();
    assert_eq!(by_harm, happened(&line, history.state()).len());
    let (text, markdown, csv, json) = (page.text(), page.markdown(), page.csv(), page.json());
    for order in history.state().book.orders.iter().map(|(_, o)| &o.name) {
        for form in [&text, &markdown, &csv, &json.to_string()] {
            assert!(form.contains(order.as_str()), "{order} is not in {form}");
        }
    }
    assert_eq!(json["parts"].as_array().unwrap().len(), page.parts.len());
}

/// On a terminal of 80 cells every word of every page can be read.
#[test]
fn no_page_is_wider_than_the_terminal() {
    let (line, history, now) = ran(4);
    let (board, opening) = (board(&line, &history, now), opening());
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let debrief = report::debrief(&source, &Debrief::of(&line, &history, now));
    let pages = [report::shift(&source), report::handover(&source), report::start(&source), debrief];
    for page in pages {
        for wide in [40, 80, 120] {
            let text = page.text_within(wide);
            let longest = text.lines().max_by_key(|l| l.chars().count()).unwrap();
            assert!(longest.chars().count() <= wide, "{wide}: {longest}");
            let all = page.text();
            let is_word = |w: &&str| w.chars().all(char::is_alphanumeric);
            let lost: Vec<&str> =
                all.split_whitespace().filter(is_word).filter(|w| !text.contains(w)).collect();
            assert!(lost.is_empty(), "{wide}: {lost:?} of {text}");
        }
    }
}

#[test]
fn who_comes_next_is_told_of_baths_inspections_and_what_was_cancelled() {
    let (line, _) = crate::weigh::demo();
    let (mut shift, _) = crate::weigh::shift_after(240);
    let now = shift.now();
    let carriers = || shift.state().carriers.iter();
    let finished = |c: &Carrier| matches!(c.place, Place::Finished { .. });
    let (carrier, _) = carriers().find(|(_, c)| finished(c)).unwrap();
    let waits = |order: OrderId| {
        carriers().all(|(id, c)| shift.state().book.carriers[id].order != order || c.place == Place::Queued)
    };
    let order = shift.state().book.orders.ids().find(|o| waits(*o)).unwrap();
    let names = [&shift.state().book.carriers[carrier].name, &shift.state().book.orders[order].name];
    let [inspected, cancelled] = names.map(String::clone);
    let seen =
        Inspection { shade: Shade::Uneven, thickness_um: None, sealed: Some(false), marks: String::new() };
    let entry = Entry::Inspected { carrier, seen };
    shift.submit(&Command::Enter { entry, at: now }, Who::Operator).unwrap();
    let change = Change::CancelOrder { order };
    shift.submit(&Command::Change { change, why: "to see".to_owned() }, Who::Supervisor).unwrap();
    let (history, board, opening) = (shift.history(), board(&line, shift.history(), now), opening());
    let source = Source { line: &line, history, board: &board, opening: &opening, now };
    let handover = report::handover(&source).text();
    assert!(handover.contains("Anodise A: OVERDUE temperature"), "{handover}");
    assert!(handover.contains(&format!("{inspected}: uneven shade, SEAL FAILS")), "{handover}");
    let page = report::shift(&source);
    let row = rows(&page, "Orders").iter().find(|r| r[0] == cancelled).unwrap();
    assert_eq!(row.last().unwrap(), "cancelled");
}

/// RFC 4180 quoting; nothing that a spreadsheet would run, nothing that Markdown would take for a mark.
#[test]
fn names_cannot_break_out_of_a_form() {
    let (line, mut book) = varied(2, Shape { steps: 5, carriers: 2, rinse: 3, hoists: 1 });
    let (order, _) = book.orders.iter().next().unwrap();
    book.orders[order].label = "=cmd|' /C x'!A0, \"a\" <b> & | *c*".to_owned();
    let history = opened(&line, book);
    let board = board(&line, &history, Time::ZERO);
    let opening = opening();
    let source =
        Source { line: &line, history: &history, board: &board, opening: &opening, now: Time::from_secs(1) };
    let page = report::start(&source);
    let csv = page.csv();
    assert!(csv.contains("\"'=cmd|' /C x'!A0, \"\"a\"\" <b> & | *c*\""), "{csv}");
    assert!(page.markdown().contains(r"\<b\> & \| \*c\*"), "{}", page.markdown());
    let svg = report::svg(&source);
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
    assert!(!svg.contains("<b>"));
}

/// The picture has one way a carrier that moved, and one cross a broken window in a tank.
#[test]
fn the_picture_has_every_way_and_every_broken_window() {
    let (line, history, now) = ran(1);
    let board = board(&line, &history, now);
    let opening = opening();
    let source = Source { line: &line, history: &history, board: &board, opening: &opening, now };
    let svg = report::svg(&source);
    assert_eq!(svg.matches("fill=\"none\"").count(), history.state().carriers.len());
    assert_eq!(svg.matches("#b00020\" stroke-width").count(), happened(&line, history.state()).len());
}

/// Of an odd number of shifts none is counted on one side only, and the page says which it left out.
#[test]
fn a_trend_weighs_as_many_shifts_on_either_side() {
    let shift = |finished| Figures {
        journal: format!("shift-{finished}"),
        opened: "2026-11-25 06:00".to_owned(),
        hours: 8.0,
        finished,
        well: finished,
        broken: [0, 1, 0, 0],
        in_time: (1, 1),
        alarms: 0.1,
        loaded: 0.4,
        parts: [70, 7, 3, 2],
        late: 0,
    };
    let said = |finished: &[usize]| report::trend(&finished.iter().map(|n| shift(*n)).collect::<Vec<_>>());
    let three = said(&[10, 99, 20]).text();
    assert!(three.contains("carriers finished: 10.00 in the first, 20.00 in the second"), "{three}");
    assert!(three.contains("of 3 shifts the one in the middle is in neither half"), "{three}");
    let four = said(&[10, 12, 99, 1]).text();
    assert!(four.contains("carriers finished: 11.00 in the first, 50.00 in the second"), "{four}");
    assert!(!four.contains("neither"), "{four}");
    assert!(!said(&[10]).text().contains("in the first"));
    // Every figure has a column of its own.
    let json = said(&[10]).json();
    let row = &json["parts"][0]["rows"][0];
    let cell = |name: &str| row[name].as_str().map(str::to_owned);
    let parts = ["parts good", "to run again", "lost", "missing"].map(cell);
    assert_eq!(parts, ["70", "7", "3", "2"].map(|n| Some(n.to_owned())), "{json}");
}

/// EEMUA 191, from memory: below one alarm in ten minutes is acceptable, up to one in five minutes manageable.
#[test]
fn alarm_rates_are_counted_over_the_shift() {
    let (line, history, now) = ran(7);
    let r = rates(history.events(), now);
    let raised = history
        .events()
        .iter()
        .filter(|s| matches!(s.event, dwellhand::shift::Event::AlarmRaised { .. }))
        .count();
    assert_eq!(r.raised, raised);
    assert!(r.peak <= r.raised);
    let tens = (now - Time::ZERO).as_secs_f64() / Dur::from_mins(10).as_secs_f64();
    assert!((r.per_ten_minutes - raised as f64 / tens).abs() < 1e-9);
    let quiet = rates(&[], now);
    assert_eq!((quiet.raised, quiet.peak, quiet.verdict()), (0, 0, "acceptable"));
    assert!(alarm::changes(&line, history.state(), now).is_empty() || raised > 0);
}

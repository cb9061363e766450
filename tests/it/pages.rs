//! Start, handover and the shift so far on a screen: read to the end, made anew when something happens, signed.

use dwellhand::report::{Body, Page, Part};
use dwellhand::shift::Event;
use dwellhand::shift::ledger::{Entry, Sign};
use dwellhand::tui::app::Screen;
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Post};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::proposals::{Desk, text};
use crate::weigh::shift_after;

fn at_the_pages(post: Post) -> Desk {
    let (shift, clock) = shift_after(100);
    let mut desk = Desk::on(shift, clock, post);
    desk.press("8");
    desk
}

fn screen(desk: &mut Desk, (w, h): (u16, u16), glyphs: GlyphSet) -> String {
    desk.app.desk.cells = w;
    let board = desk.board();
    let area = Rect::new(0, 0, w, h);
    let mut buf = Buffer::empty(area);
    let depth = if glyphs == GlyphSet::Ascii { Depth::Mono } else { Depth::Many };
    paint(&mut buf, area, &board, &desk.app, &Look::new(depth, glyphs));
    text(&buf)
}

#[test]
fn each_page_says_what_it_is_for_at_two_sizes_and_in_ascii() {
    let mut desk = at_the_pages(Post::Supervisor);
    assert_eq!(desk.app.screen, Screen::Pages);
    let ascii = screen(&mut desk, (80, 24), GlyphSet::Ascii);
    assert!(ascii.chars().all(|c| c == '\n' || (' '..='~').contains(&c)), "{ascii}");
    let beside = |line: &str| {
        line.contains("On the line, the soonest deadline first") && line.contains("Changes and why")
    };
    assert!(
        screen(&mut desk, (200, 60), GlyphSet::Full).lines().any(beside),
        "two columns where there is room"
    );
    let firsts = ["On the line, the soonest deadline first", "", "Stations"];
    for first in firsts {
        for size in [(80, 24), (200, 60)] {
            let shown = screen(&mut desk, size, GlyphSet::Full);
            let page = desk.app.pages.page.clone().unwrap();
            assert!(shown.contains(&page.title), "{shown}");
            assert!(shown.contains(first), "{shown}");
        }
        desk.press("Tab");
    }
}

/// Everything on a page can be scrolled to on the smallest screen, but columns that it says it has no room for; on a large one
/// in two columns.
#[test]
fn every_row_of_every_page_can_be_seen() {
    for size in [(80, 24), (200, 60)] {
        every_row(size);
    }
}

fn every_row(size: (u16, u16)) {
    let mut desk = at_the_pages(Post::Watch);
    for _ in 0..3 {
        let mut seen = String::new();
        for _ in 0..300 {
            seen.push_str(&screen(&mut desk, size, GlyphSet::Full));
            let before = desk.app.pages.scroll;
            desk.press("Down");
            if desk.app.pages.scroll == before {
                break;
            }
        }
        let page = desk.app.pages.page.clone().unwrap();
        for part in &page.parts {
            assert!(seen.contains(&part.title), "{}", part.title);
            if let Body::Table { rows, .. } = &part.body {
                for row in rows {
                    assert!(seen.contains(&row[0]), "{}: {row:?}", part.title);
                    let last = row.last().unwrap();
                    assert!(seen.contains(last.as_str()), "{}: {row:?}", part.title);
                }
            }
        }
        assert!(seen.contains("govern."), "the caution at its foot: {seen}");
        desk.press("Tab");
    }
}

#[test]
fn a_shift_is_signed_with_initials_and_the_page_shows_it() {
    let mut desk = at_the_pages(Post::Supervisor);
    desk.press("s Down Enter Enter");
    assert!(
        matches!(&desk.app.dialog, Some(Dialog::Field(f)) if f.wrong.is_some()),
        "nobody signs with nothing"
    );
    desk.press("K M Enter");
    assert!(desk.message().contains("Signed by KM"), "{}", desk.message());
    let signed = |e: &Event| matches!(e, Event::Entered { entry: Entry::Signed { sign: Sign::HandsOver, initials } } if initials == "KM");
    assert!(desk.shift.history().events().iter().any(|s| signed(&s.event)));
    desk.board();
    let page = desk.app.pages.page.clone().unwrap();
    let hands = |page: &Page| {
        let part: &Part = page.parts.iter().find(|p| p.title == "Hands").unwrap();
        format!("{:?}", part.body)
    };
    assert!(hands(&page).contains("KM handed over"), "{}", hands(&page));
}

#[test]
fn who_only_watches_reads_but_does_not_sign() {
    let mut desk = at_the_pages(Post::Watch);
    desk.press("s");
    assert!(desk.app.dialog.is_none() && desk.message().contains("only watches"));
    desk.press("Enter");
    assert!(desk.message().contains("Nothing was said"));
    desk.press("Esc");
    assert_eq!(desk.app.screen, Screen::Live);
}

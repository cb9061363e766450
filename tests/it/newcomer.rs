//! A newcomer's path: the guides say only what works, the starter line runs, preferences are found, plain mode says
//! everything.

use std::path::Path;
use std::process::{Command as Process, Output, Stdio};
use std::time::Duration;

use dwellhand::files::{self, Source};
use dwellhand::ids::Id as _;
use dwellhand::tui::keymap::{Context, bindings};
use dwellhand::units::Dur;

const PROGRAM: &str = env!("CARGO_BIN_EXE_dwellhand");

/// Runs a line as a shell would, with nothing but the program on its path and nothing on its input.
fn shell(home: &Path, line: &str, vars: &[(&str, &str)]) -> Output {
    let folder = Path::new(PROGRAM).parent().unwrap();
    let path = format!("{}:/usr/bin:/bin", folder.display());
    let mut command = Process::new("sh");
    command.args(["-c", line]).current_dir(home).env_clear().env("PATH", path).env("TZ", "UTC");
    for name in ["HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME"] {
        command.env(name, home);
    }
    command.envs(vars.iter().copied());
    assert_cmd::Command::from_std(command).timeout(Duration::from_secs(120)).write_stdin("").output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// The commands of a guide: lines in blocks marked `sh`.
fn commands(page: &str) -> Vec<&str> {
    let mut inside = false;
    let mut found = Vec::new();
    for line in page.lines().map(str::trim) {
        match line {
            "```sh" => inside = true,
            "```" => inside = false,
            line if inside && !line.is_empty() => found.push(line),
            _ => {}
        }
    }
    found
}

#[test]
fn every_command_of_every_guide_works() {
    let list = text(&shell(Path::new("."), "dwellhand guide", &[]).stdout);
    let names: Vec<&str> = list.lines().filter_map(|l| l.split_whitespace().nth(2)).collect();
    assert_eq!(names, ["tutorial", "your-line", "two-terminals", "read-a-plan", "data-out"]);
    for name in names {
        let home = tempfile::tempdir().unwrap();
        let page = text(&shell(home.path(), &format!("dwellhand guide {name}"), &[]).stdout);
        assert!(
            page.lines().count() <= 80 && page.lines().all(|l| l.chars().count() <= 170),
            "{name} is a page"
        );
        let commands = commands(&page);
        assert!(commands.len() >= 4, "{name} has {} commands", commands.len());
        for line in commands {
            assert!(line.starts_with("dwellhand "), "{name}: {line}");
            let done = shell(home.path(), line, &[]);
            assert_eq!(
                done.status.code(),
                Some(0),
                "{name}: {line}\n{}{}",
                text(&done.stdout),
                text(&done.stderr)
            );
        }
    }
}

/// What a page shows as typed and answered: commands behind `$ ` in blocks marked `console`, each with the lines it answers.
/// Figures, and how many bars are named, count unless the block says `about`: they change with the planner.
struct Shown<'a> {
    command: &'a str,
    answer: Vec<&'a str>,
    about: bool,
}

fn shown(page: &str) -> Vec<Shown<'_>> {
    let (mut about, mut found): (Option<bool>, Vec<Shown<'_>>) = (None, Vec::new());
    for line in page.lines() {
        match (line, about) {
            ("```console", _) => about = Some(false),
            ("```console about", _) => about = Some(true),
            ("```", _) => about = None,
            (line, Some(about)) => match (line.strip_prefix("$ "), found.last_mut()) {
                (Some(command), _) => found.push(Shown { command, answer: Vec::new(), about }),
                (None, Some(last)) => last.answer.push(line),
                (None, None) => panic!("an answer before any command: {line}"),
            },
            _ => {}
        }
    }
    found
}

/// True if lines are as they are shown; `...` stands for any number of them.
fn answers(lines: &[String], shown: &[String]) -> bool {
    match shown.split_first() {
        None => lines.is_empty(),
        Some((first, rest)) if first == "..." => (0..=lines.len()).any(|n| answers(&lines[n..], rest)),
        Some((first, rest)) => lines.first() == Some(first) && answers(&lines[1..], rest),
    }
}

#[test]
fn what_the_readme_shows_is_what_the_program_answers() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let home = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink(root.join("demo-data"), home.path().join("demo-data")).unwrap();
    let all = shown(&readme);
    let mut finishes: Vec<String> = Vec::new();
    assert!(all.len() >= 10, "{} commands", all.len());
    for Shown { command, answer, about } in all {
        let done = shell(home.path(), &format!("{{ {command}\n}} 2>&1"), &[]);
        let out = text(&done.stdout);
        let plain = |line: &str| {
            let line = line.trim_end();
            if about {
                line.replace(|c: char| c.is_ascii_digit(), "").replace("B, ", "")
            } else {
                line.to_owned()
            }
        };
        let (got, wanted): (Vec<String>, Vec<String>) =
            (out.lines().map(plain).collect(), answer.into_iter().map(plain).collect());
        assert!(answers(&got, &wanted), "README.md: {command}\nanswers\n{out}");
        finishes.extend(out.lines().filter_map(|l| l.strip_prefix("finish ")).map(|t| t.trim().to_owned()));
    }
    // What a weaker supply costs, first without a cap and then with one: it is to cost something.
    assert!(finishes.len() == 2 && finishes[0] < finishes[1], "{finishes:?}");
}

#[test]
fn the_starter_line_is_sound_and_as_the_guide_measures_it() {
    let [line, recipes] = ["line.json", "recipes.json"].map(|name| {
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/starter").join(name))
            .unwrap()
    });
    let read = files::read_line(
        Source { name: "line.json", text: &line },
        Source { name: "recipes.json", text: &recipes },
    )
    .unwrap();
    assert!(read.warnings.is_empty(), "{:?}", read.warnings);
    let line = read.value;
    assert_eq!(line.tanks.len(), 11);
    // 1.2 m in 4.0 s, as on the watch; nearly the whole rail in the time that speed and acceleration give for it.
    let travel = |from: &str, to: &str| {
        let at = |name: &str| line.tanks.iter().find(|(_, t)| t.name == name).unwrap().0;
        line.empty_travel(dwellhand::ids::HoistId::at(0), at(from), at(to)).unwrap()
    };
    assert_eq!(travel("T01", "T02"), Dur::from_secs(4));
    // 12.8 - 1.5 = 11.3 m at 0.6 m/s, and 2 s more for gathering and losing speed.
    let far = travel("T01", "T10");
    assert!((far.as_secs_f64() - (11.3 / 0.6 + 2.0)).abs() < 0.002, "{far}");
}

#[test]
fn starter_files_are_never_written_over_others() {
    let home = tempfile::tempdir().unwrap();
    assert_eq!(shell(home.path(), "dwellhand init mine", &[]).status.code(), Some(0));
    let file = home.path().join("mine/line.json");
    std::fs::write(&file, "mine").unwrap();
    std::fs::remove_file(home.path().join("mine/orders.json")).unwrap();
    let again = shell(home.path(), "dwellhand init mine", &[]);
    assert_eq!(again.status.code(), Some(2));
    assert!(text(&again.stderr).contains("mine/line.json is there already; nothing was written"));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    assert!(!home.path().join("mine/orders.json").exists());
}

/// Flag before environment before file before default; the table says which it was.
#[test]
fn preferences_come_from_flag_environment_file_in_this_order() {
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir(home.path().join("dwellhand")).unwrap();
    let file = home.path().join("dwellhand/preferences.json");
    let settings = |line: &str, vars: &[(&str, &str)]| {
        let done = shell(home.path(), line, vars);
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
        let json: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
        let one = |name: &str| {
            let of = &json["settings"][name];
            format!("{} {}", of["value"].as_str().unwrap(), of["from"].as_str().unwrap())
        };
        [one("theme"), one("color"), one("bell")]
    };
    let json = "dwellhand preferences --json";
    assert_eq!(settings(json, &[]), ["auto default", "auto default", "no default"]);
    std::fs::write(
        &file,
        r#"{"format": "dwellhand-preferences/1", "theme": "light", "color": "16", "bell": true}"#,
    )
    .unwrap();
    assert_eq!(settings(json, &[]), ["light file", "16 file", "yes file"]);
    let vars = [("DWELLHAND_THEME", "dark"), ("DWELLHAND_BELL", "no")];
    assert_eq!(settings(json, &vars), ["dark environment", "16 file", "no environment"]);
    let flags = format!("{json} --color never --bell=no");
    assert_eq!(settings(&flags, &[]), ["light file", "never flag", "no flag"]);

    std::fs::write(&file, "{\"format\": \"dwellhand-preferences/1\",\n  \"theme\": \"blue\"}").unwrap();
    let bad = shell(home.path(), json, &[]);
    assert_eq!(bad.status.code(), Some(2));
    let err = text(&bad.stderr);
    assert!(err.contains("preferences.json:2:12") && err.contains("auto") && err.contains("light"), "{err}");
    // Screens do not open on settings that were not understood.
    assert_eq!(shell(home.path(), "dwellhand run --plain", &[]).status.code(), Some(2));
    let missing = shell(home.path(), "dwellhand preferences --preferences none.json", &[]);
    assert_eq!(missing.status.code(), Some(2));
}

#[test]
fn paths_follow_the_xdg_variables_and_not_empty_or_relative_ones() {
    let home = tempfile::tempdir().unwrap();
    let paths = |vars: &[(&str, &str)]| text(&shell(home.path(), "dwellhand paths", vars).stdout);
    let base = home.path().display();
    assert!(paths(&[]).contains(&format!("{base}/dwellhand/preferences.json")));
    for value in ["", "relative/folder"] {
        let said = paths(&[("XDG_CONFIG_HOME", value), ("XDG_STATE_HOME", value)]);
        assert!(said.contains(&format!("{base}/.config/dwellhand/preferences.json")), "{value:?}: {said}");
        assert!(said.contains(&format!("{base}/.local/state/dwellhand")), "{value:?}: {said}");
    }
}

#[test]
fn completions_and_the_manual_know_every_command_and_are_well_formed() {
    let home = tempfile::tempdir().unwrap();
    let help = text(&shell(home.path(), "dwellhand --help", &[]).stdout);
    let block = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let names: Vec<&str> = block
        .lines()
        .filter(|l| l.starts_with("  ") && !l.starts_with("   "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|n| *n != "help")
        .collect();
    assert!(names.len() > 15, "{names:?}");
    let manual = text(&shell(home.path(), "dwellhand man", &[]).stdout);
    for name in &names {
        assert!(
            manual.contains(&format!(".SH DWELLHAND {}", name.to_uppercase())),
            "{name} is not in the manual"
        );
    }
    for shell_name in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = text(&shell(home.path(), &format!("dwellhand completions {shell_name}"), &[]).stdout);
        for name in &names {
            assert!(script.contains(name), "{name} is not completed in {shell_name}");
        }
    }
    let checked = shell(
        home.path(),
        "dwellhand completions bash | sh -c 'command -v bash > /dev/null && bash -n || cat > /dev/null'",
        &[],
    );
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked.stderr));
}

#[test]
fn the_key_list_is_the_help() {
    let home = tempfile::tempdir().unwrap();
    let keys = text(&shell(home.path(), "dwellhand keys", &[]).stdout);
    for (line, _) in dwellhand::tui::screens::help::lines() {
        assert!(keys.contains(&line), "{line}");
    }
    assert!(keys.contains("late           it was done a while ago: late 2m"));
    let json: serde_json::Value =
        serde_json::from_slice(&shell(home.path(), "dwellhand keys --json", &[]).stdout).unwrap();
    let keys = Context::ALL.into_iter().map(|context| bindings(context).count()).sum();
    assert_eq!(json["keys"].as_array().map(Vec::len), Some(keys));
}

/// A whole conversation in plain lines. The words are typed ahead, so a press comes too soon now and then; what counts is
/// that every answer is one line and nothing steers the terminal.
#[test]
fn plain_mode_says_the_call_takes_words_and_ends_with_its_input() {
    let home = tempfile::tempdir().unwrap();
    let mut child = Process::new(PROGRAM)
        .args(["run", "--plain", "--shift", "x.jsonl"])
        .current_dir(home.path())
        .env_clear()
        .env("XDG_STATE_HOME", home.path())
        .env("XDG_CONFIG_HOME", home.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    let (send, said) = std::sync::mpsc::channel();
    let out = child.stdout.take().unwrap();
    std::thread::spawn(move || {
        for line in std::io::BufRead::lines(std::io::BufReader::new(out)) {
            if send.send(line.unwrap()).is_err() {
                break;
            }
        }
    });
    let mut heard: Vec<String> = Vec::new();
    let mut until = |words: &str| {
        loop {
            let line = said
                .recv_timeout(Duration::from_secs(30))
                .unwrap_or_else(|_| panic!("no {words:?} in {heard:#?}"));
            assert!(line.chars().all(|c| !c.is_control()), "{line:?}");
            heard.push(line);
            if heard.last().unwrap().contains(words) {
                return heard.last().unwrap().clone();
            }
        }
    };
    let mut type_in =
        |line: &str| std::io::Write::write_all(&mut input, format!("{line}\n").as_bytes()).unwrap();
    until("Others decide.");
    until("Enter: I have read it.");
    // Nothing is confirmed before the cautions are.
    type_in("late 2m");
    until("Enter first");
    type_in("");
    let call = until("CALL");
    assert!(call.contains("PICK B01 from West") && call.contains("its whole way is free"), "{call}");
    type_in("nonsense");
    until("nothing was said");
    type_in("late tomorrow");
    until("How long ago? Not tomorrow");
    std::thread::sleep(Duration::from_millis(1500));
    type_in("other");
    until("What did you do? Type a number");
    type_in("B02");
    let first = until("1 picked B02");
    assert!(first.starts_with("1 "), "{first}");
    type_in("1");
    until("How long ago? Enter: 00:00");
    type_in("0:05");
    until("Said: picked B02 from West");
    until("PLACE B02");
    type_in("line");
    until("T27 Dryer A: heats");
    type_in("undo");
    until("Type y or n.");
    type_in("perhaps");
    until("Type y or n.");
    type_in("y");
    until("Taken back: picked B02");
    type_in("quit");
    until("Leave dwellhand?");
    type_in("y");
    assert_eq!(child.wait().unwrap().code(), Some(0));

    // The input's end is an end too; so is a reader that has gone.
    let done = shell(home.path(), "dwellhand run --shift x.jsonl --plain < /dev/null", &[]);
    assert_eq!(done.status.code(), Some(0));
    assert!(!text(&done.stdout).contains('\u{1b}'));
    let watched = shell(home.path(), "dwellhand run --shift x.jsonl --role watch < /dev/null", &[]);
    assert!(text(&watched.stdout).contains("CALL PICK B0"), "{}", text(&watched.stdout));
}

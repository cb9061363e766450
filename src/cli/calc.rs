//! `calc`: process arithmetic, every figure with the rule it rests on.

use std::fmt::Write as _;

use clap::{CommandFactory as _, Parser as _};

use super::args::{Cli, Task};
use super::calc_args::{Calc, Question, SealKind};
use super::negative::tied;
use super::{Bad, Outcome, say, say_json};
use crate::process::basis::Basis;
use crate::process::quantity::{self, number};
use crate::process::unit::{Dim, Unit};
use crate::process::{Answer, Figure, Given, anodise, basis, bath, class, power, rack, rinse, seal};

pub fn calc(args: &Calc) -> Result<Outcome, Bad> {
    let Some(question) = &args.question else { return list(args.json) };
    let answer = answer(question)?;
    if args.json {
        say_json(&json(&answer))?;
    } else {
        say(&text(&answer))?;
    }
    Ok(if answer.no.is_empty() { Outcome::Fine } else { Outcome::No })
}

/// What was typed on a screen, as if it stood behind `dwellhand calc`: the answer, or what is wrong with it.
pub fn typed(line: &str) -> Vec<String> {
    let words = ["dwellhand", "calc"].into_iter().chain(line.split_whitespace()).map(Into::into);
    let answered = match Cli::try_parse_from(tied(words)) {
        Ok(Cli { task: Some(Task::Calc(Calc { question: Some(question), .. })), .. }) => {
            answer(&question).map_or_else(|Bad(why)| why, |answer| text(&answer))
        }
        Ok(_) => listed(|name, about| format!("{name:9} {about}")).unwrap_or_else(|Bad(why)| why),
        Err(wrong) => wrong.render().to_string(),
    };
    answered.trim_end().lines().map(str::to_owned).collect()
}

fn answer(question: &Question) -> Result<Answer, Bad> {
    Ok(match question {
        Question::Anodise(a) => anodise(&Given {
            thickness: a.thickness,
            density: a.density,
            time: a.time,
            charge: a.charge,
            area: a.area,
            volts: a.volts,
            ramp: a.ramp,
            max_amps: a.max_amps,
            cap: a.cap,
            efficiency: a.efficiency,
            oxide: a.oxide,
            constant: a.constant,
        })?,
        Question::Power(p) => power::power(&p.loads, p.efficiency, p.cap),
        Question::Bath(b) => {
            let from_area = b.area.zip(b.density).map(|(area, density)| power::current(area, density));
            let amps = b
                .amps
                .or(from_area)
                .ok_or_else(|| Bad("bath: --amps, or --area and --density".to_owned()))?;
            let contents = b.volume.map(|volume| {
                let usual = bath::Bath::usual(volume);
                bath::Bath {
                    density: b.solution.unwrap_or(usual.density),
                    heat_capacity: b.heat_capacity.unwrap_or(usual.heat_capacity),
                    ..usual
                }
            });
            bath::bath(amps, b.volts, b.time, contents)
        }
        Question::Seal(s) => {
            let kind = match s.kind {
                SealKind::HotWater => seal::Seal::HotWater,
                SealKind::MidTemperature => seal::Seal::MidTemperature,
                SealKind::Cold => seal::Seal::Cold,
            };
            seal::seal(s.thickness, kind, s.rate)
        }
        Question::Class(c) => {
            let from_weight = c.weight.map(|w| class::equivalent(w, c.film_density));
            let average = c.thickness.or(from_weight);
            let average = average.ok_or_else(|| Bad("class: --thickness or --weight".to_owned()))?;
            let film = class::Film { average, local: c.local, weight: c.weight };
            class::class(&film, c.class, c.thickness.is_none())?
        }
        Question::Rinse(r) => rinse::rinse(&rinse::Given {
            stages: r.stages,
            flow: r.flow,
            drag_out: r.dragout,
            dilution: r.dilution,
            bath: r.bath,
        })?,
        Question::Drip(d) => rinse::drip(d.start, d.end, d.rate, d.time),
        Question::Etch(e) => bath::etch(e.depth, e.area),
        Question::Strip(s) => rack::strip(s.thickness),
        Question::Wet(w) => rack::wet(w.height, w.lower, w.lift),
        Question::Convert(c) => convert(&c.words)?,
    })
}

/// Reads `15 um mil`, `15um in mil` and the like.
fn convert(words: &[String]) -> Result<Answer, Bad> {
    let words: Vec<&str> = words.iter().flat_map(|w| w.split_whitespace()).collect();
    let wrong = |why: &str| {
        Bad(format!("convert: {why}; expected a number, its unit and the unit wanted, such as 15 um mil"))
    };
    let (to, from) = words.split_last().ok_or_else(|| wrong("nothing"))?;
    let has_unit =
        |words: &[&str]| quantity::split(&words.concat()).is_some_and(|(_, unit)| !unit.is_empty());
    // "1 in mm" asks for inches; "1 um in mm" does not.
    let from = match from {
        [front @ .., "to" | "in"] if has_unit(front) => front,
        all => all,
    };
    let joined = from.concat();
    let (value, unit) = quantity::split(&joined).ok_or_else(|| wrong("no number"))?;
    let find = |name: &str| Unit::find(name).filter(|_| !name.is_empty());
    let from = find(unit).ok_or_else(|| wrong(&format!("no unit \"{}\" known", clean(unit))))?;
    let to = find(to).ok_or_else(|| wrong(&format!("no unit \"{}\" known", clean(to))))?;
    if from.dim != to.dim {
        let others = from.dim.names();
        return Err(wrong(&format!("{} is not measured in {}, but in {others}", from.name, to.name)));
    }
    let base = from.to_base(value);
    if from.dim == Dim::Temperature && base < -273.15 - 1e-9 {
        return Err(wrong(&format!("{} {} is below absolute zero", number(value), from.name)));
    }
    let mut answer = Answer::default();
    let what = format!("{} {} is", number(value), from.name);
    answer.figure("value", what, to.of_base(base), to.name, &basis::UNITS);
    Ok(answer)
}

fn clean(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(40).collect()
}

/// Figures in columns, then remarks, then what they rest on, by number.
fn text(answer: &Answer) -> String {
    let bases = answer.bases();
    let no = |basis: &Basis| bases.iter().position(|b| *b == basis).map_or(0, |n| n + 1);
    let wide = answer.figures.iter().map(|f| f.what.chars().count()).max().unwrap_or(0);
    let right = answer.figures.iter().map(|f| f.words().chars().count()).max().unwrap_or(0);
    let mut out = String::new();
    for f in &answer.figures {
        let also = if f.also.is_empty() { String::new() } else { format!("  {}", f.also) };
        let _ = writeln!(out, "{:wide$}  {:right$}{also}  [{}]", f.what, f.words(), no(f.basis));
    }
    for no in &answer.no {
        let _ = writeln!(out, "\nNo: {no}");
    }
    if !answer.remarks.is_empty() {
        let _ = writeln!(out, "\n{}", answer.remarks.join("\n"));
    }
    out.push('\n');
    for (n, b) in bases.iter().enumerate() {
        let _ = writeln!(out, "[{}] {}\n    {} ({})", n + 1, b.rule, b.source, b.standing.words());
    }
    out
}

fn json(answer: &Answer) -> serde_json::Value {
    let figure = |f: &Figure| {
        serde_json::json!({
            "key": f.key,
            "what": f.what,
            "value": f.value,
            "unit": f.unit,
            "also": (!f.also.is_empty()).then_some(&f.also),
            "rule": f.basis.rule,
            "source": f.basis.source,
            "standing": f.basis.standing.words(),
        })
    };
    serde_json::json!({
        "format": "dwellhand-calc/1",
        "figures": answer.figures.iter().map(figure).collect::<Vec<_>>(),
        "remarks": answer.remarks,
        "no": answer.no,
    })
}

/// What can be worked out, read off the command itself.
fn list(json: bool) -> Result<Outcome, Bad> {
    let program = Cli::command();
    let calc = program.find_subcommand("calc").ok_or_else(|| Bad("calc is not known".to_owned()))?;
    let about = |c: &clap::Command| c.get_about().map(ToString::to_string).unwrap_or_default();
    if json {
        let all =
            calc.get_subcommands().map(|c| serde_json::json!({ "name": c.get_name(), "about": about(c) }));
        return say_json(&serde_json::Value::Array(all.collect()));
    }
    say(&listed(|name, about| format!("dwellhand calc {name:9} {about}"))?)
}

fn listed(line: impl Fn(&str, &str) -> String) -> Result<String, Bad> {
    let program = Cli::command();
    let calc = program.find_subcommand("calc").ok_or_else(|| Bad("calc is not known".to_owned()))?;
    let about = |c: &clap::Command| c.get_about().map(ToString::to_string).unwrap_or_default();
    let mut out = String::new();
    for c in calc.get_subcommands() {
        let _ = writeln!(out, "{}", line(c.get_name(), &about(c)));
    }
    out.push_str(
        "\nQuantities carry their unit: 15um, 0.6mil, 1.5A/dm2, 12asf. Every figure says what it rests on. The shop's own\n\
         process sheet wins.\n",
    );
    Ok(out)
}

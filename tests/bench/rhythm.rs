//! How long the shortest cycle of the published instance takes to find and to prove, and that of the demo line.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use dwellhand::files::{self, Source};
use dwellhand::ids::{HoistId, RecipeId};
use dwellhand::line::Line;
use dwellhand::plan::rhythm::{Ask, rhythm};
use dwellhand::units::Dur;

fn line(line: &str, recipes: &str) -> Line {
    let source = |text| Source { name: "", text };
    files::read_line(source(line), source(recipes)).expect("the files are checked by the tests").value
}

fn rhythms(c: &mut Criterion) {
    let published = line(
        include_str!("../data/published/phillips-unger-line.json"),
        include_str!("../data/published/phillips-unger-recipes.json"),
    );
    let demo = line(include_str!("../../demo-data/line.json"), include_str!("../../demo-data/recipes.json"));
    let ask = |recipe| Ask {
        recipe: RecipeId(recipe),
        hoist: Some(HoistId(0)),
        reserve: Dur::ZERO,
        nodes: 2_000_000,
    };
    c.bench_function("rhythm/phillips-unger", |b| b.iter(|| rhythm(black_box(&published), &ask(0))));
    c.bench_function("rhythm/demo-black", |b| b.iter(|| rhythm(black_box(&demo), &ask(1))));
}

criterion_group!(benches, rhythms);
criterion_main!(benches);

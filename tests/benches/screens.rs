//! How fast each screen is, in dots a second: `cargo bench --bench screens`. To be read beside `tests/benches/pillow.py`, which
//! screens the same number of dots by the reference library.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use stripling::lengths::Resolution;
use stripling::pictures::screens::{Ask, REGISTRY};
use stripling::pictures::tone::Shares;

/// A soft picture with some grain, as wide as 80 mm paper.
fn shares(width: u32, height: u32) -> Shares {
    let grain = |x: u32, y: u32| (x.wrapping_mul(7919) ^ y.wrapping_mul(104_729)) % 13;
    let white = (0..height).flat_map(|y| (0..width).map(move |x| (((x + y) / 5 % 243) + grain(x, y)) as u8)).collect();
    Shares { width, height, white }
}

fn screens(criterion: &mut Criterion) {
    let shares = shares(576, 4000);
    let mut group = criterion.benchmark_group("screens");
    group.throughput(Throughput::Elements(u64::from(shares.width) * u64::from(shares.height)));
    group.sample_size(10);
    for method in REGISTRY {
        let ask = Ask { shares: &shares, fine: 1, resolution: Resolution::EIGHT, spread: 0 };
        group.bench_function(method.name, |bencher| bencher.iter(|| (method.run)(&ask)));
    }
    group.finish();
}

criterion_group!(benches, screens);
criterion_main!(benches);

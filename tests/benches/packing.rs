//! How many strips a second a packing bench can carry, each state durable before the bytes go: claim, send, settle, box.
//!
//! The printer is a pretend one that takes everything at once, so what is measured is the ledger. `cargo bench --bench packing` for a file;
//! with `--features postgres` also four benches on a PostgreSQL of this machine. Never asserted.

use std::path::Path;
use std::time::{Duration, Instant};

use stripling::packing::{Codes, Message, Plan, Roll, UnitCodes, Wishes, shift};
use stripling::send::destination::Progress;
use stripling::send::ledger::Opening;
use stripling::send::{Destination, Facts, Intent, Ledger, Making, Outcome, Stop, StripBytes, Trouble};

#[cfg(all(unix, feature = "postgres"))]
#[path = "../it/packing/server.rs"]
#[expect(dead_code, reason = "the tests ask more of it")]
mod server;

/// Takes every strip and says at once that it is printed.
struct Willing(String);

impl Destination for Willing {
    fn name(&self) -> &str {
        &self.0
    }

    fn ready(&mut self, _: &StripBytes, _: bool, _: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        Ok(())
    }

    fn send(&mut self, _: &str, _: &StripBytes, _: &mut dyn FnMut(Progress)) -> Outcome {
        Outcome::Printed
    }

    fn finish(&mut self) {}
}

/// Packs the units from `first` on, every `step`th: returns the time from the first scan to the last box.
fn pack(ledger: &Path, name: &str, units: usize, first: usize, step: usize) -> Duration {
    let making = Making { manual: "5f3a".into(), document: "HRN-QS".into(), ..Making::default() };
    let facts = Facts::alike("heron.md", "80mm", making, (1..=units).map(|unit| format!("HRN-{unit:05}")));
    let codes = facts.units.iter().map(|unit| UnitCodes::of(&unit.key, [format!("S-{}", unit.key)])).collect();
    let plan = Plan {
        facts,
        intent: Intent::Continue,
        codes: Codes::new(codes, ""),
        roll: Roll::default(),
        title: String::new(),
        bench: name.to_owned(),
        lease: Duration::from_secs(60),
        look: Duration::from_secs(1),
        stop: Stop::new(),
    };
    let wishes = Wishes::new();
    let tell = wishes.tell.clone();
    let mut ledger = Ledger::open_as(ledger, &Opening { bench: Some(name), lease: None }).expect("a ledger");
    let (mut next, mut began) = (first, Instant::now());
    let scan = |line: String| drop(tell.send(Message::Line(line)));
    let mut took = Duration::ZERO;
    let destinations: Vec<Box<dyn Destination>> = vec![Box::new(Willing(format!("tcp://{name}")))];
    let make = |_: &stripling::send::Job| Ok(StripBytes::whole(vec![0; 1000]));
    shift(&mut ledger, destinations, &plan, &make, wishes, &mut |screen, sounds| {
        if !sounds {
            return;
        }
        match screen.say.headline.as_str() {
            "SCAN A UNIT" => {
                began = Instant::now();
                scan(format!("HRN-{next:05}"));
            }
            "SCAN STRIP" => scan(format!("S-{}", screen.say.unit)),
            "IN THE BOX" | "ALL DONE" => {
                next += step;
                took = began.elapsed();
                if next > units { scan("/end".to_owned()) } else { scan(format!("HRN-{next:05}")) }
            }
            _ => {}
        }
    })
    .expect("a shift");
    took
}

fn tell(what: &str, strips: usize, took: Duration) {
    println!("{what}: {strips} strips in {:.2} s, {:.1} a second", took.as_secs_f32(), strips as f32 / took.as_secs_f32());
}

fn main() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder on a disk");
    let took = pack(&folder.path().join("run.db"), "one", 300, 1, 1);
    tell("one bench, a file", 300, took);
    #[cfg(all(unix, feature = "postgres"))]
    {
        let server = server::Server::start();
        let address = server.address(server.port);
        let ledger = Path::new(&address);
        let took = std::thread::scope(|scope| {
            let benches: Vec<_> =
                (1..=4).map(|first| scope.spawn(move || pack(ledger, &format!("bench-{first}"), 1200, first, 4))).collect();
            benches.into_iter().map(|bench| bench.join().expect("a bench")).max()
        });
        tell("four benches, PostgreSQL", 1200, took.unwrap_or_default());
    }
}

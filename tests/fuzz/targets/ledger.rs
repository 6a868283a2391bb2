//! Runs that are broken off in every way and taken up again, against a printer that remembers what really lies on the table.
//!
//! What must hold: a strip that the ledger calls printed came out whole exactly once, none is printed twice, none is lost, and the
//! next run is refused as long as nobody has looked at a strip of which it is not known.
#![no_main]

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use libfuzzer_sys::fuzz_target;
use stripling::send::destination::Progress;
use stripling::send::ledger;
use stripling::send::{
    Destination, Event, Facts, Halt, Intent, Job, Ledger, Located, Making, Order, Outcome, State, StripBytes, StripName, Trouble,
    Verdict, run,
};

/// Commands in one story; each opens the ledger's file anew.
const COMMANDS: usize = 12;

/// What lies on the table: whole strips by run and name.
type Table = BTreeMap<(u32, StripName), u32>;

/// The bytes that decide what happens; when they are used up nothing goes wrong any more.
struct Chance<'a>(std::slice::Iter<'a, u8>);

impl Chance<'_> {
    fn next(&mut self) -> Option<u8> {
        self.0.next().copied()
    }

    fn among(&mut self, count: u8) -> u8 {
        self.next().map_or(0, |byte| byte % count)
    }
}

/// What the printer and the person share.
struct World<'a> {
    chance: Chance<'a>,
    table: Table,
    /// Counts runs from 1.
    generation: u32,
    job: Option<StripName>,
}

type Shared<'a> = Arc<Mutex<World<'a>>>;

fn locked<'w, 'a>(world: &'w Shared<'a>) -> MutexGuard<'w, World<'a>> {
    world.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The program is killed: nothing of it runs any more.
struct Killed;

fn kill() -> ! {
    // Without the hook that ends a fuzzer at every panic.
    resume_unwind(Box::new(Killed))
}

struct Printer<'a>(Shared<'a>);

impl Destination for Printer<'_> {
    fn name(&self) -> &str {
        "tcp://printer"
    }

    fn ready(&mut self, _: &StripBytes, _: bool, progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        match locked(&self.0).chance.among(9) {
            7 => Err(Trouble::Mute { at: "printer".into() }),
            8 => {
                progress(Progress::PaperLow);
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn send(&mut self, _: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        let mut world = locked(&self.0);
        let fault = world.chance.among(12);
        let whole = matches!(fault, 0..=4 | 6 | 8 | 10);
        if whole {
            let name = world.job.clone().expect("a strip is announced before it is sent");
            let generation = world.generation;
            *world.table.entry((generation, name)).or_default() += 1;
        }
        drop(world);
        progress(Progress::Sent { bytes: strip.size() / 2 });
        let at = || "printer".to_owned();
        match fault {
            0..=4 => Outcome::Printed,
            5 | 6 => Outcome::Unknown { why: "the paper ended".into(), trouble: Some(Trouble::Closed { at: at() }) },
            7 | 8 => Outcome::Unknown { why: "it cannot tell".into(), trouble: None },
            9 => Outcome::Missing { trouble: Trouble::Stalled { at: at(), after: Duration::from_secs(1) } },
            _ => kill(),
        }
    }

    fn finish(&mut self) {}
}

/// What the writer asks for now: units come, go and change places, the manual changes.
fn facts(chance: &mut Chance) -> Facts {
    let mut units: Vec<String> = (0..=chance.among(4)).map(|number| format!("A{number}")).collect();
    if chance.among(5) == 4 {
        units.reverse();
    }
    if chance.among(9) == 8 {
        units.push("A0/2".into());
    }
    let changed = chance.among(7) == 6;
    let making = Making {
        manual: format!("digest {}", u8::from(changed)),
        document: "HB-1".into(),
        revision: u8::from(changed).to_string(),
        ..Making::default()
    };
    Facts { copies: 1 + u32::from(chance.among(5) == 4), ..Facts::alike("hut/heron.md", "80mm", making, units) }
}

fn names(found: Vec<Located>) -> Vec<StripName> {
    found.into_iter().map(|located| located.name).collect()
}

/// A person looks at every strip that is unknown and enters what lies there.
fn person(ledger: &mut Ledger, world: &Shared) {
    let mut unknown = names(ledger.unknown(&facts(&mut Chance([].iter())), false).expect("readable"));
    // The unit `A0/2` goes before the second copy of `A0`: whoever means the copy settles the unit first.
    unknown.sort_by_key(|name| std::cmp::Reverse(name.unit.len()));
    for name in unknown {
        let world = locked(world);
        let whole = world.table.get(&(world.generation, name.clone())).copied().unwrap_or(0);
        let verdict = if whole > 0 { Verdict::Printed } else { Verdict::Missing };
        drop(world);
        // One copy by its own name, so that one verdict never falls on two.
        let key = format!("{}/{}", name.unit, name.copy);
        assert_eq!(names(ledger.resolve(&key, verdict, None).expect("it is there")), [name]);
    }
}

/// One command: the ledger is opened, a run goes as far as it goes. Whether everything came out.
fn command(path: &Path, world: &Shared<'_>, facts: Facts, intent: Intent) -> bool {
    let mut ledger = Ledger::open(path).expect("nobody else has it");
    let open = ledger.unknown(&facts, false).expect("readable");
    let mut order = Order::new(facts);
    order.intent = intent;
    let mut make = |_: &Job| {
        let mut world = locked(world);
        if world.chance.among(31) == 30 { Err(()) } else { Ok(StripBytes::whole(vec![0; 64])) }
    };
    let mut tell = |event: Event<'_>| match event {
        Event::Began { .. } => {
            let mut world = locked(world);
            world.generation += u32::from(intent == Intent::NewRun || world.generation == 0);
        }
        Event::Strip { job, .. } => locked(world).job = Some(job.name.clone()),
        Event::Settled { job, state: State::Printed, .. } => {
            let world = locked(world);
            assert_eq!(world.table.get(&(world.generation, job.name.clone())), Some(&1), "{:?} is called printed", job.name);
        }
        _ => {}
    };
    // The printer borrows the bytes of this case; a destination of the program owns what it has.
    let mut printer = Printer(world.clone());
    let done = catch_unwind(AssertUnwindSafe(|| run(&mut ledger, &mut printer, &order, &mut make, &mut tell)));
    let whole = match done {
        Ok(Ok(report)) => report.left == 0 && report.unknown.is_empty(),
        Ok(Err(Halt::Ledger(ledger::Error::Unresolved(names)))) => {
            assert_eq!(names, open, "refused for other strips than are unknown");
            false
        }
        Ok(Err(Halt::Ledger(ledger::Error::ManualChanged { .. } | ledger::Error::Renamed { .. }))) => {
            assert_eq!(intent, Intent::Continue);
            false
        }
        Ok(Err(Halt::Ledger(error))) => panic!("{error}"),
        Ok(Err(Halt::Strip { .. })) => false,
        Err(killed) if killed.is::<Killed>() => false,
        Err(other) => resume_unwind(other),
    };
    drop(ledger);
    check(path, &locked(world));
    whole
}

/// The ledger against the table.
fn check(path: &Path, world: &World) {
    assert!(world.table.values().all(|&whole| whole <= 1), "a strip came out twice: {:?}", world.table);
    let summary = Ledger::open_existing(path).and_then(|ledger| ledger.summary()).expect("readable");
    assert_eq!(summary.runs.len(), world.generation as usize);
    for run in &summary.runs {
        for strip in &run.strips {
            let name = StripName { unit: strip.unit.clone(), copy: strip.copy };
            let whole = world.table.get(&(run.run as u32, name)).copied().unwrap_or(0);
            match strip.state {
                State::Printed => assert_eq!(whole, 1, "{} is called printed and is not there", strip.unit),
                State::Queued | State::Missing => {
                    assert_eq!(whole, 0, "{} is called {:?} and lies there", strip.unit, strip.state)
                }
                State::Unknown => {}
                State::Sending => panic!("a strip is under way in a file that was just opened"),
            }
        }
    }
}

fn story(bytes: &[u8]) {
    let folder = tempfile::Builder::new().prefix("ledger").tempdir_in(room()).expect("a folder");
    let path = folder.path().join("run.db");
    let world = World { chance: Chance(bytes.iter()), table: Table::new(), generation: 0, job: None };
    let world: Shared = Arc::new(Mutex::new(world));
    for _ in 0..COMMANDS {
        let (facts, intent, looks) = {
            let chance = &mut locked(&world).chance;
            let intent = [Intent::Continue, Intent::Continue, Intent::GoOn, Intent::Continue, Intent::NewRun];
            (facts(chance), intent[usize::from(chance.among(5))], chance.among(3) != 2)
        };
        command(&path, &world, facts, intent);
        if looks && path.exists() {
            person(&mut Ledger::open_existing(&path).expect("there"), &world);
        }
    }
    // Nothing goes wrong any more: a few commands later everything lies on the table, once.
    locked(&world).chance = Chance([].iter());
    let keys = ["A0", "A1", "A3"];
    let mut last = facts(&mut Chance([].iter()));
    let making = (*last.units[0].making).clone();
    last.units = Facts::alike("", "", making, keys.map(String::from)).units;
    person(&mut Ledger::open_existing(&path).expect("there"), &world);
    assert!(command(&path, &world, last.clone(), Intent::GoOn), "the run does not come to its end");
    let world = locked(&world);
    for unit in keys {
        let name = StripName { unit: unit.into(), copy: 1 };
        assert_eq!(world.table.get(&(world.generation, name)), Some(&1), "{unit} is lost");
    }
}

/// In memory where there is such a place: a ledger waits for the disk after every entry.
fn room() -> &'static Path {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() { memory } else { Path::new("/tmp") }
}

fuzz_target!(|bytes: &[u8]| story(bytes));

//! The desk: the strip beside the words, live in a browser on this machine.
//!
//! It listens on the loopback address only, serves the page that is built into the program and the strip that its [`Workshop`]
//! hands it, and passes on wishes: open this line, print this plan. It never serves a file of the disk, never asks anything of
//! another machine, and knows neither Markdown nor printers.

mod connections;
mod context;
mod editing;
mod editor;
mod guard;
mod live;
mod packing;
mod page;
mod printing;
mod proofing;
mod server;
mod tiles;
mod watcher;
mod workshop;

use std::net::{Ipv4Addr, TcpListener};
use std::sync::Arc;
use std::sync::atomic::AtomicU64;

use thiserror::Error;
use tokio::sync::Semaphore;

use context::{Context, MOST_PAGES};

pub use editor::Editor;
pub use workshop::{
    Beginning, Choices, Coloured, CopyFile, Difference, Ending, Estimate, Field, Form, Found, Hold, Host, Lacking, Looked,
    LookedPanel, Mend, NamedStrip, PackingBench, Plan, Proof, Sample, Shown, Step, Title, Trouble, Turned, UnitName, View, Way,
    Which, Wish, Workshop, Written,
};

/// Why there is no desk.
#[derive(Debug, Error)]
pub enum Error {
    #[error("port {port} on 127.0.0.1 cannot be used: {error}")]
    Port { port: u16, error: std::io::Error },
    #[error("changes of the manual's files cannot be watched for: {0}")]
    Watch(notify::Error),
    #[error("the system gives no thread: {0}")]
    Thread(std::io::Error),
    #[error("the system gives no random numbers: {0}")]
    Random(getrandom::Error),
}

impl Error {
    pub fn hint(&self) -> Option<String> {
        match self {
            Error::Port { .. } => Some("leave --port out, and a free one is taken".into()),
            Error::Watch(_) => Some("the system may limit how many folders are watched (fs.inotify.max_user_watches)".into()),
            Error::Thread(_) | Error::Random(_) => None,
        }
    }
}

/// How a desk is set up.
#[derive(Clone, Default)]
pub struct Setup {
    /// 0 takes a free one.
    pub port: u16,
    /// What opens a file at a line; without it the page names the place only.
    pub editor: Option<Editor>,
    /// What stands behind `/pack`; without it there is no such page.
    pub packing: Option<Arc<dyn PackingBench>>,
    /// The desk writes nothing into the manual, nor beside it.
    pub read_only: bool,
}

/// Hears of a new address.
type Tell = Box<dyn Fn(&str) + Send + Sync>;

/// A desk that listens, but answers nothing until [`Desk::serve`].
pub struct Desk {
    listener: TcpListener,
    context: Arc<Context>,
    tell: Option<Tell>,
}

impl Desk {
    /// Takes the port and begins to watch the files.
    ///
    /// # Errors
    /// When the port is taken or the system lacks what is needed.
    pub fn open(workshop: Arc<dyn Workshop>, setup: Setup) -> Result<Desk, Error> {
        let port = setup.port;
        let bound = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).and_then(|listener| {
            listener.set_nonblocking(true)?;
            let port = listener.local_addr()?.port();
            Ok((listener, port))
        });
        let (listener, port) = bound.map_err(|error| Error::Port { port, error })?;
        let context = Context {
            bench: proofing::Bench::new(workshop.clone())?,
            press: Arc::new(printing::Press::new(workshop.clone())),
            workshop,
            editor: setup.editor,
            packing: setup.packing,
            read_only: setup.read_only,
            tries: AtomicU64::new(0),
            port,
            entrance: tokio::sync::watch::Sender::new(secret().map_err(Error::Random)?),
            pass: secret().map_err(Error::Random)?,
            key: secret().map_err(Error::Random)?,
            session: secret().map_err(Error::Random)?,
            pages: Arc::new(Semaphore::new(MOST_PAGES)),
        };
        Ok(Desk { listener, context: Arc::new(context), tell: None })
    }

    /// Where the page is, for one browser to come in: whoever opens it first is let in, and then there is another.
    pub fn address(&self) -> String {
        entrance(self.context.port, &self.context.entrance.borrow())
    }

    /// Calls `tell` with the next address each time one was used, on the threads that answer.
    pub fn on_new_address(&mut self, tell: impl Fn(&str) + Send + Sync + 'static) {
        self.tell = Some(Box::new(tell));
    }

    /// What answers the requests, for a caller that keeps the door itself: what the guard admits is carried out, the rest is
    /// refused in words.
    pub fn router(&self) -> axum::Router {
        server::router(self.context.clone())
    }

    /// Answers on this thread until the process ends.
    ///
    /// # Errors
    /// When the system gives no threads to answer on.
    pub fn serve(self) -> Result<(), Error> {
        let runtime =
            tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().map_err(Error::Thread)?;
        runtime.block_on(async move {
            let port = self.context.port;
            let listener = tokio::net::TcpListener::from_std(self.listener).map_err(|error| Error::Port { port, error })?;
            if let Some(tell) = self.tell {
                let mut entrances = self.context.entrance.subscribe();
                tokio::spawn(async move {
                    while entrances.changed().await.is_ok() {
                        let address = entrance(port, &entrances.borrow_and_update());
                        tell(&address);
                    }
                });
            }
            connections::keep(listener, server::router(self.context)).await;
            Ok(())
        })
    }
}

fn entrance(port: u16, secret: &str) -> String {
    format!("http://127.0.0.1:{port}/?{}{secret}", guard::ENTRANCE)
}

/// 128 bits that nobody can guess, in hexadecimal.
fn secret() -> Result<String, getrandom::Error> {
    let mut bits = [0u8; 16];
    getrandom::fill(&mut bits)?;
    Ok(bits.iter().map(|byte| format!("{byte:02x}")).collect())
}

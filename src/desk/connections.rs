//! Connections: how many, how long they may stand about, and who makes room when the house is full.
//!
//! Requests are none of the door's business.

use std::collections::BTreeMap;
use std::io;
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll, ready};
use std::time::{Duration, Instant};

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Notify;

/// Connections at once. Below the 1024 open files that a process is commonly allowed.
pub const MOST_CONNECTIONS: usize = 400;
/// How long a connection may stand at the door without a word.
pub const SILENCE: Duration = Duration::from_secs(20);
/// How long a request's head may take from its first byte, and how long a connection is kept for a next one.
const HEAD: Duration = Duration::from_secs(10);
/// Largest head of a request, bytes.
const LARGEST_HEAD: usize = 16 * 1024;

/// One connection, as the others see it.
#[derive(Default)]
struct Seat {
    /// Milliseconds from the door's opening to the last byte that went either way.
    last: AtomicU64,
    /// Whether it has said anything.
    spoke: AtomicBool,
    leave: Notify,
}

struct Door {
    opened: Instant,
    seats: Mutex<BTreeMap<u64, Arc<Seat>>>,
}

impl Door {
    fn seats(&self) -> MutexGuard<'_, BTreeMap<u64, Arc<Seat>>> {
        self.seats.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A seat for a new connection. When all are taken, the one that has been quiet longest makes room, those first that never
    /// said a word.
    fn seat(&self, number: u64) -> Arc<Seat> {
        let mut seats = self.seats();
        if seats.len() >= MOST_CONNECTIONS {
            let quietest = seats
                .iter()
                .min_by_key(|(_, seat)| (seat.spoke.load(Ordering::Relaxed), seat.last.load(Ordering::Relaxed)))
                .map(|(number, _)| *number);
            if let Some(seat) = quietest.and_then(|number| seats.remove(&number)) {
                seat.leave.notify_one();
            }
        }
        let seat = Arc::new(Seat::default());
        self.touch(&seat);
        seats.insert(number, seat.clone());
        seat
    }

    fn touch(&self, seat: &Seat) {
        seat.last.store(self.opened.elapsed().as_millis() as u64, Ordering::Relaxed);
    }
}

/// Answers connections until the process ends. An error of one connection is that connection's end.
pub async fn keep(listener: TcpListener, router: Router) {
    let door = Arc::new(Door { opened: Instant::now(), seats: Mutex::default() });
    let mut number = 0u64;
    loop {
        match listener.accept().await {
            Ok((stream, from)) if from.ip().is_loopback() => {
                number += 1;
                let (door, router) = (door.clone(), router.clone());
                tokio::spawn(async move {
                    let seat = door.seat(number);
                    // How a connection ends is nobody's concern but its own.
                    let _ = attend(stream, &door, &seat, router).await;
                    door.seats().remove(&number);
                });
            }
            Ok(_) => {}
            // Out of file handles, or the connection is gone already: a moment later it may be well again.
            Err(_) => tokio::time::sleep(Duration::from_millis(50)).await,
        }
    }
}

async fn attend(stream: TcpStream, door: &Arc<Door>, seat: &Arc<Seat>, router: Router) -> io::Result<()> {
    stream.set_nodelay(true)?;
    let mut first = [0u8; 1];
    let spoke = tokio::select! {
        peeked = tokio::time::timeout(SILENCE, stream.peek(&mut first)) => peeked,
        () = seat.leave.notified() => {
            return dismiss(&stream, "503 Service Unavailable", "The desk has more connections than it can keep; this one was quiet.").await;
        }
    };
    match spoke {
        Err(_) => {
            let words = format!("The desk waited {} seconds for a request and hung up.", SILENCE.as_secs());
            return dismiss(&stream, "408 Request Timeout", &words).await;
        }
        Ok(Ok(0)) => return Ok(()),
        Ok(peeked) => peeked?,
    };
    seat.spoke.store(true, Ordering::Relaxed);
    let watched = Watched { stream, door: door.clone(), seat: seat.clone() };
    let service = TowerToHyperService::new(router);
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD).max_buf_size(LARGEST_HEAD);
    tokio::select! {
        served = http.serve_connection(TokioIo::new(watched), service) => served.map_err(io::Error::other),
        () = seat.leave.notified() => Ok(()),
    }
}

/// Says why, and hangs up. The words fit into the empty buffer of a connection that nothing was written to.
async fn dismiss(stream: &TcpStream, status: &str, words: &str) -> io::Result<()> {
    let length = words.len() + 1;
    let answer = format!(
        "HTTP/1.1 {status}\r\ncontent-type: text/plain; charset=utf-8\r\ncontent-length: {length}\r\nconnection: close\r\n\r\n{words}\n"
    );
    stream.try_write(answer.as_bytes()).map(drop)
}

/// A connection that notes when it last moved a byte.
struct Watched {
    stream: TcpStream,
    door: Arc<Door>,
    seat: Arc<Seat>,
}

impl AsyncRead for Watched {
    fn poll_read(mut self: Pin<&mut Self>, context: &mut Context<'_>, buffer: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        ready!(Pin::new(&mut self.stream).poll_read(context, buffer))?;
        self.door.touch(&self.seat);
        Poll::Ready(Ok(()))
    }
}

impl AsyncWrite for Watched {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let written = ready!(Pin::new(&mut self.stream).poll_write(context, bytes))?;
        self.door.touch(&self.seat);
        Poll::Ready(Ok(written))
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let written = ready!(Pin::new(&mut self.stream).poll_write_vectored(context, bytes))?;
        self.door.touch(&self.seat);
        Poll::Ready(Ok(written))
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}

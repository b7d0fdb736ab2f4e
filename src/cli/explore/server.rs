//! Connections: few at once, each for one request, none for long.

use super::routes::{Routes, respond};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::convert::Infallible;
use std::io;
use std::net::TcpListener;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::runtime::Builder;
use tokio::sync::Semaphore;
use tokio::time::{sleep, timeout};

/// Most connections at once; more are closed unheard. Our choice: a page with its charts needs some ten.
const CONNECTIONS: usize = 64;
/// Time in which the head of a request must have come. Our choice.
const HEAD_TIME: Duration = Duration::from_secs(5);
/// Most bytes of a head, and most headers. Our choice.
const HEAD: (usize, usize) = (16 << 10, 64);
/// Longest that a connection lives, its answer included. Our choice: draws of a large site take minutes.
const LONGEST: Duration = Duration::from_mins(10);
/// Time between two looks at whether to end.
const LOOK: Duration = Duration::from_millis(100);

/// Serves until the flag is raised.
///
/// # Errors
/// If the system does not let us listen.
pub(super) fn serve(listener: TcpListener, routes: &Arc<Routes>, stop: &AtomicBool) -> io::Result<()> {
    listener.set_nonblocking(true)?;
    let runtime = Builder::new_current_thread().enable_io().enable_time().build()?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let room = Arc::new(Semaphore::new(CONNECTIONS));
        while !stop.load(Ordering::Relaxed) {
            match timeout(LOOK, listener.accept()).await {
                Ok(Ok((stream, _))) => {
                    let Ok(place) = Arc::clone(&room).try_acquire_owned() else { continue };
                    let routes = Arc::clone(routes);
                    tokio::spawn(async move {
                        let _ = timeout(LONGEST, connection(stream, routes)).await;
                        drop(place);
                    });
                }
                // out of file handles or the like: it passes
                Ok(Err(_)) => sleep(LOOK).await,
                Err(_) => {}
            }
        }
        Ok(())
    })
}

/// Serves the one request of a connection; any stream of bytes will do, so that the fuzzer needs no socket.
pub(super) async fn connection(stream: impl AsyncRead + AsyncWrite + Unpin, routes: Arc<Routes>) {
    let service = service_fn(move |request| {
        let routes = Arc::clone(&routes);
        async move { Ok::<_, Infallible>(respond(routes, request).await) }
    });
    // a connection that breaks is no concern of the others
    let _ = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_TIME)
        .keep_alive(false)
        .max_buf_size(HEAD.0)
        .max_headers(HEAD.1)
        .serve_connection(TokioIo::new(stream), service)
        .await;
}

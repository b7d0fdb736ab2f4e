//! Any requests to the live page, in memory: each is answered or refused, none fails, and who lacks the secret learns nothing.
//!
//! Requests are parted by the byte 0x1e. One that begins with `g` or `p` passes the gate: `g` reads the path on its first line, `p` asks the
//! question on its first line with the rest as its body. Any other is sent as it is. `{secret}`, `{host}` and `{of}` are filled in.
#![no_main]

use desk::Desk;
use gate::Gate;
use libfuzzer_sys::fuzz_target;
use loamledger::study::explore::Base;
use loamledger::study::uncertainty::text_hash;
// what the modules below find at the root of the program
use loamledger::{quantity, report, scenario, study};
use routes::{Pace, Routes};
use std::sync::{Arc, LazyLock};
use std::time::Instant;
use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};
use tokio::runtime::{Builder, Runtime};

#[path = "../../src/cli/explore/desk.rs"]
mod desk;
#[path = "../../src/cli/explore/gate.rs"]
mod gate;
#[path = "../../src/cli/explore/line.rs"]
mod line;
#[path = "../../src/cli/explore/routes.rs"]
mod routes;
#[path = "../../src/cli/explore/server.rs"]
#[allow(dead_code, reason = "nothing listens here")]
mod server;

const PORT: u16 = 8080;

/// What lives as long as the program: the threads of a desk never end.
struct Served {
    gate: Gate,
    secret: String,
    of: String,
    desk: Arc<Desk>,
    runtime: Runtime,
}

static SERVED: LazyLock<Served> = LazyLock::new(|| {
    let base =
        Base::new("small_site.json", include_str!("small_site.json")).unwrap_or_else(|e| panic!("{e}"));
    let gate = Gate::new(PORT).expect("a secret");
    let address = gate.address();
    let secret = address.trim_end_matches('/').rsplit('/').next().expect("a path").to_owned();
    let of = text_hash(&base.text);
    let desk = Arc::new(Desk::new("small_site.json", base).expect("threads"));
    // time limits pass at once when nothing else is left to do
    let runtime = Builder::new_current_thread().enable_time().start_paused(true).build().expect("a runtime");
    Served { gate, secret, of, desk, runtime }
});

fuzz_target!(|bytes: &[u8]| {
    for part in bytes.split(|byte| *byte == 0x1e).take(6) {
        let request = SERVED.request(part);
        let reply = SERVED.runtime.block_on(SERVED.reply(&request));
        SERVED.judge(&request, &String::from_utf8_lossy(&reply));
    }
});

impl Served {
    fn request(&self, part: &[u8]) -> Vec<u8> {
        let Ok(text) = std::str::from_utf8(part) else { return part.to_vec() };
        let host = format!("127.0.0.1:{PORT}");
        let filled =
            text.replace("{secret}", &self.secret).replace("{host}", &host).replace("{of}", &self.of);
        let secret = &self.secret;
        if let Some(rest) = filled.strip_prefix('g') {
            let (path, headers) = rest.split_once('\n').unwrap_or((rest, ""));
            return format!("GET /{secret}/{path} HTTP/1.1\r\nHost: {host}\r\n{headers}\r\n\r\n")
                .into_bytes();
        }
        if let Some(rest) = filled.strip_prefix('p') {
            let (what, body) = rest.split_once('\n').unwrap_or((rest, ""));
            let own = format!("Host: {host}\r\nOrigin: http://{host}\r\nContent-Type: application/json\r\n");
            let length = body.len();
            return format!("POST /{secret}/{what} HTTP/1.1\r\n{own}Content-Length: {length}\r\n\r\n{body}")
                .into_bytes();
        }
        filled.into_bytes()
    }

    /// All that comes back until the connection is closed.
    async fn reply(&self, request: &[u8]) -> Vec<u8> {
        let routes =
            Routes { gate: self.gate.clone(), desk: Arc::clone(&self.desk), pace: Pace::new(Instant::now()) };
        let (mut ours, theirs) = duplex(1 << 20);
        let connection = tokio::spawn(server::connection(theirs, Arc::new(routes)));
        // it may answer and close before all is sent
        let _ = ours.write_all(request).await;
        let mut reply = Vec::new();
        let _ = ours.read_to_end(&mut reply).await;
        connection.await.expect("no request ends the server");
        reply
    }

    fn judge(&self, request: &[u8], reply: &str) {
        let asked = || String::from_utf8_lossy(request);
        let last = reply.rsplit("HTTP/1.1 100 Continue\r\n\r\n").next().unwrap_or_default();
        let (head, body) = last.split_once("\r\n\r\n").unwrap_or((last, ""));
        let status = head.split(' ').nth(1).unwrap_or_default();
        let known =
            ["", "200", "400", "403", "404", "405", "408", "409", "413", "415", "421", "422", "429", "431"];
        assert!(known.contains(&status), "{}\n{last}", asked());
        let lower = head.to_lowercase();
        assert!(!lower.contains("access-control"), "{head}");
        if status == "200" {
            let holds = request.windows(self.secret.len()).any(|part| part == self.secret.as_bytes());
            assert!(holds, "{}", asked());
            assert!(lower.contains("content-security-policy") && lower.contains("no-store"), "{head}");
            let is_json = lower.contains("content-type: application/json") && !body.is_empty();
            assert!(!is_json || serde_json::from_str::<serde_json::Value>(body).is_ok(), "{body}");
        } else {
            assert!(!last.contains(&self.secret) || asked().matches(&self.secret).count() > 1, "{last}");
        }
    }
}

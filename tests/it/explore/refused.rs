//! Requests that are refused or do no harm: strangers, other pages, floods, tricks. Each with the answer that is given.

use super::{Served, files, read, school};
use loamledger::scenario::varied;
use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

#[test]
fn whoever_lacks_the_secret_or_comes_from_elsewhere_gets_nothing() {
    let mut served = Served::of(&school(10));
    let (host, path) = (served.host.clone(), served.path.clone());
    let secret = path.trim_matches('/').to_owned();
    let port = host.split(':').nth(1).expect("a port").to_owned();
    let wrong = "0".repeat(secret.len());
    let own = format!("Host: {host}\r\n");
    let from = format!("{own}Origin: http://{host}\r\n");
    let json = "Content-Type: application/json\r\n";
    // start of the request, its headers, the answer
    let cases: Vec<(String, String, u16)> = vec![
        ("GET /".to_owned(), own.clone(), 404),
        (format!("GET /{secret}"), own.clone(), 404),
        (format!("GET /{wrong}/"), own.clone(), 404),
        (format!("GET /{}/", &secret[..31]), own.clone(), 404),
        (format!("POST /{wrong}/figures"), format!("{from}{json}"), 404),
        (format!("GET {path}"), String::new(), 421),
        (format!("GET {path}"), format!("Host: example.org:{port}\r\n"), 421),
        (format!("GET {path}"), "Host: 127.0.0.1\r\n".to_owned(), 421),
        (format!("GET {path}"), format!("{own}{own}"), 421),
        (format!("GET {path}"), format!("{own}Origin: http://example.org\r\n"), 403),
        (
            format!("GET {path}page.js"),
            format!("{own}Sec-Fetch-Mode: no-cors\r\nSec-Fetch-Site: cross-site\r\n"),
            403,
        ),
        (format!("POST {path}figures"), format!("{own}{json}Content-Length: 2\r\n"), 403),
        (format!("POST {path}figures"), format!("{own}{json}Origin: null\r\nContent-Length: 2\r\n"), 403),
        (
            format!("POST {path}figures"),
            format!("{own}{json}Origin: http://localhost:1\r\nContent-Length: 2\r\n"),
            403,
        ),
        (
            format!("POST {path}figures"),
            format!("{from}Content-Type: text/plain\r\nContent-Length: 2\r\n"),
            415,
        ),
        (format!("POST {path}figures"), format!("{from}Content-Length: 2\r\n"), 415),
        (format!("OPTIONS {path}figures"), format!("{from}Access-Control-Request-Method: POST\r\n"), 405),
        (format!("PUT {path}figures"), format!("{from}{json}Content-Length: 2\r\n"), 405),
    ];
    for (start, headers, wanted) in cases {
        let reply = served.raw(format!("{start} HTTP/1.1\r\n{headers}\r\n{{}}").as_bytes());
        assert_eq!(reply.status, wanted, "{start} with {headers}: {reply:?}");
        assert!(!reply.head.contains("access-control-allow"), "{start}: {}", reply.head);
        assert!(
            !reply.body.contains("Upper Fell") && !reply.body.contains(&secret),
            "{start}: {}",
            reply.body
        );
    }
    assert_eq!(served.get("").status, 200);
    assert!(served.lives());
    if cfg!(target_os = "linux") {
        // another loopback address of the machine stands for any other
        let elsewhere = TcpStream::connect(format!("127.0.0.2:{port}"));
        assert!(elsewhere.is_err(), "it listens on one address only");
    }
}

#[test]
fn tricks_with_paths_lead_nowhere() {
    let mut served = Served::of(&school(10));
    let secret = served.path.trim_matches('/').to_owned();
    for trick in [
        "../../etc/passwd",
        "%2e%2e/%2e%2e/etc/passwd",
        "..%2f..%2fetc%2fpasswd",
        "..\\..\\etc\\passwd",
        "chart/../../../etc/passwd",
        "chart/chart_stock%00.svg?of=x",
        "chart//etc/passwd?of=/etc/passwd",
        "rate/../page.js",
        "rate/ingredients",
        "choice/-1",
        "choice/99999999999999999999",
        "number/fed?of=../../x",
        "school.json",
        "./",
        "/",
        "page.js/",
        "?of=x/../../",
    ] {
        let reply = served.get(trick);
        let known = trick.starts_with('?');
        assert_eq!(reply.status, if known { 200 } else { 404 }, "{trick}: {reply:?}");
        assert!(!reply.body.contains("root:"), "{trick}");
    }
    let host = served.host.clone();
    for (start, wanted) in [
        (format!("GET http://example.org/{secret}/ HTTP/1.1\r\nHost: example.org\r\n\r\n"), 421),
        (format!("GET  /{secret}/ HTTP/1.1\r\nHost: {host}\r\n\r\n"), 400),
        (format!("GET /{secret}/ HTTP/9.9\r\nHost: {host}\r\n\r\n"), 400),
        ("\0\0\0\0\r\n\r\n".to_owned(), 400),
        (format!("CONNECT {host} HTTP/1.1\r\nHost: {host}\r\n\r\n"), 404),
    ] {
        let reply = served.raw(start.as_bytes());
        assert_eq!(reply.status, wanted, "{start}: {reply:?}");
    }
    assert!(served.lives() && files(served.folder.path()) == ["school.json"]);
}

#[test]
fn large_and_slow_requests_are_cut_off() {
    let mut served = Served::of(&school(10));
    let (host, path) = (served.host.clone(), served.path.clone());
    let head = format!(
        "POST {path}figures HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Type: application/json\r\n"
    );
    // 100 MB announced: refused before any of it is read
    let reply = served.raw(format!("{head}Content-Length: 100000000\r\n\r\n{{").as_bytes());
    assert_eq!(reply.status, 413, "{reply:?}");
    // 100 MB in pieces: cut off after the first few
    let mut stream = served.connect();
    stream.write_all(format!("{head}Transfer-Encoding: chunked\r\n\r\n").as_bytes()).expect("sent");
    let piece = format!("10000\r\n{}\r\n", " ".repeat(0x10000));
    let sent = (0..1600).take_while(|_| stream.write_all(piece.as_bytes()).is_ok()).count();
    let status = read(&mut stream).status;
    // the answer is lost where the system resets the connection under the pieces still on their way
    assert!(sent < 1600 && matches!(status, 413 | 0), "{sent} pieces, {status}");
    // heads that are too large
    let long = served
        .raw(format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nX: {}\r\n\r\n", "x".repeat(100_000)).as_bytes());
    assert!(matches!(long.status, 431 | 0), "{long:?}");
    let many = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\n{}\r\n", "X: y\r\n".repeat(500));
    let many = served.raw(many.as_bytes());
    assert!(matches!(many.status, 431 | 400 | 0), "{many:?}");
    // a body and a head that never end
    let (slow, endless) = thread::scope(|scope| {
        let body = scope.spawn(|| {
            let start = Instant::now();
            (served.raw(format!("{head}Content-Length: 50\r\n\r\n{{").as_bytes()), start.elapsed())
        });
        let head = scope.spawn(|| {
            let start = Instant::now();
            (served.raw(b"GET / HTTP/1.1\r\nHo"), start.elapsed())
        });
        (body.join().expect("it ends"), head.join().expect("it ends"))
    });
    assert_eq!(slow.0.status, 408, "{slow:?}");
    assert!(matches!(endless.0.status, 408 | 0), "{endless:?}");
    for time in [slow.1, endless.1] {
        assert!(time < Duration::from_secs(30), "{time:?}");
    }
    assert!(served.lives());
    assert!(served.memory().is_none_or(|mb| mb < 300), "{:?} MB", served.memory());
}

/// A thousand connections that say nothing, from a process of its own: this one shares its file handles with other tests.
struct Flood(Child);

impl Flood {
    fn of(host: &str) -> Self {
        let script = "ulimit -n 1100; for n in {1..1000}; do exec {handle}<>\"/dev/tcp/${1/:/\\/}\" || exit 1; done; echo open; read";
        let mut command = Command::new("bash");
        command.args(["-c", script, "flood", host]).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().expect("bash starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("a pipe")).read_line(&mut line).expect("it says so");
        assert_eq!(line, "open\n", "a thousand connections");
        Self(child)
    }

    fn end(&mut self) {
        // it ends with its standard input
        drop(self.0.stdin.take());
        self.0.wait().expect("it ends");
    }
}

#[test]
fn a_flood_of_connections_is_bounded_and_passes() {
    let mut served = Served::of(&school(10));
    let mut flood = Flood::of(&served.host);
    if let Ok(open) = std::fs::read_dir(format!("/proc/{}/fd", served.child.id())) {
        let open = open.count();
        assert!((64..100).contains(&open), "{open} handles");
    }
    assert!(served.memory().is_none_or(|mb| mb < 300), "{:?} MB", served.memory());
    flood.end();
    let start = Instant::now();
    while served.get("").status != 200 {
        assert!(start.elapsed() < Duration::from_secs(20), "it does not recover");
        thread::sleep(Duration::from_millis(100));
    }
    // a page that asks without end is slowed down
    let refused = (0..400).filter(|_| served.get("page.css").status == 429).count();
    assert!(refused > 0 || start.elapsed() > Duration::from_secs(2), "{refused}");
    assert!(served.lives());
    assert!(served.memory().is_none_or(|mb| mb < 300), "{:?} MB", served.memory());
}

#[test]
fn questions_that_make_no_sense_are_answered_with_what_is_wrong() {
    let mut served = Served::of(&school(10));
    let deep = format!("{}{}", "[".repeat(4000), "]".repeat(4000));
    for (body, wanted, words) in [
        ("", 400, "no question"),
        ("{", 400, "no question"),
        ("[]", 400, "no question"),
        (deep.as_str(), 400, "no question"),
        ("{\"tab\":\"t\",\"number\":-1,\"of\":\"x\",\"changes\":{}}", 400, "no question"),
        (
            "{\"tab\":\"t\",\"number\":1,\"of\":\"x\",\"changes\":{},\"file\":\"/etc/passwd\"}",
            400,
            "no question",
        ),
        ("{\"tab\":\"t\",\"number\":1,\"of\":\"0123456789abcdef\",\"changes\":{}}", 404, "not known"),
    ] {
        let reply = served.post("figures", body);
        assert!(reply.status == wanted && reply.body.contains(words), "{body}: {reply:?}");
    }
    for (changes, words) in [
        ("{\"drums.count\":1e308}", "allowed: 0 to 20000"),
        ("{\"drums.count\":2.5}", "drums.count"),
        ("{\"drums.count\":null}", "must be given"),
        ("{\"name\":\"x\"}", "no control"),
        ("{\"rates\":{\"a\":1}}", ""),
        ("{\"drums.volume\":\"7 bananas\"}", "allowed"),
        ("{\"stock.mass\":\"<img src=x>\"}", "allowed"),
    ] {
        let reply = served.post("figures", &served.question(1, changes));
        assert!(matches!(reply.status, 400 | 422) && reply.body.contains(words), "{changes}: {reply:?}");
    }
    let opened = served.post("open", "{\"name\":\"../../x.json\",\"text\":\"{ \\\"name\\\": 3 }\"}");
    assert!(opened.status == 422 && opened.body.contains("days: is missing"), "{opened:?}");
    assert!(served.lives() && files(served.folder.path()) == ["school.json"]);
}

#[test]
fn markup_in_a_scenario_stays_text() {
    let wild = "</title><script>alert(1)</script><img src=x onerror=alert(2)>\"'&";
    let json = serde_json::Value::String(wild.to_owned()).to_string();
    let mut text = school(10);
    for key in ["name", "place", "note", "streams[0].name", "beds[0].name"] {
        text = varied("school.json", &text, key, &json).unwrap_or_else(|e| panic!("{e}"));
    }
    let mut served = Served::of(&text);
    let page = served.get("");
    assert_eq!(page.status, 200);
    assert!(
        page.body.contains("&lt;script&gt;alert(1)&lt;/script&gt;") && !page.body.contains("<script>alert")
    );
    assert!(!page.body.contains("<img src=x") && page.head.contains("script-src 'self'"));
    let question = served.question(1, "{}");
    let moved: serde_json::Value =
        serde_json::from_str(&served.post("figures", &question).body).expect("JSON");
    // what the script puts in place as markup holds no text of the scenario
    let site = moved["site"]["si"].as_str().expect("markup");
    assert!(site.contains("<svg") && !site.contains("script") && !site.contains("onerror"), "{site}");
    let settled = served.post("settled", &question);
    assert_eq!(settled.status, 200);
    let of = moved["of"].as_str().expect("a name").to_owned();
    for path in [
        format!("number/fed?of={of}"),
        format!("rates?of={of}"),
        format!("choice/0?of={of}"),
        format!("chart/chart_stock?of={of}"),
    ] {
        let reply = served.get(&path);
        assert_eq!(reply.status, 200, "{path}");
        assert!(!reply.body.contains("<script") && !reply.body.contains("<img src=x"), "{path}");
    }
    assert!(served.lives());
}

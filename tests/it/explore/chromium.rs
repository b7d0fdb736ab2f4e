//! A real browser, driven over a pipe by its own protocol: JSON messages that end with a zero byte. Crates that drive it bring two
//! hundred others and second copies of half a dozen; the pipe needs none.

use serde_json::{Value, json};
use std::env;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// Longest that is waited for something on a page.
const PATIENCE: Duration = Duration::from_mins(2);

/// A running browser with a profile of its own.
pub(super) struct Chromium {
    child: Child,
    sent: ChildStdin,
    received: BufReader<ChildStdout>,
    last: u64,
    /// What pages wrote to the console, and what they did not catch.
    pub(super) complaints: Vec<String>,
    _profile: TempDir,
}

/// A page in a browser.
#[derive(Debug, Clone)]
pub(super) struct Tab(String);

impl Drop for Chromium {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The name under which the browser is installed. `None` if it is not, which is a failure in CI.
fn installed() -> Option<&'static str> {
    let found = ["chromium", "chromium-browser"].into_iter().find(|name| {
        let paths = env::var_os("PATH").unwrap_or_default();
        env::split_paths(&paths).any(|folder| folder.join(name).is_file())
    });
    assert!(found.is_some() || env::var_os("CI").is_none(), "chromium is not installed");
    found
}

impl Chromium {
    /// Starts one. `None` where none is installed.
    pub(super) fn start() -> Option<Self> {
        let profile = tempfile::tempdir().expect("a folder");
        let program = installed()?;
        let data = profile.path().display();
        // the browser reads messages from handle 3 and writes them to handle 4
        let script = format!(
            "exec {program} --headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking \
             --disable-component-update --disable-sync --user-data-dir='{data}' --remote-debugging-pipe \
             3<&0 4>&1 </dev/null >/dev/null 2>&1"
        );
        let mut command = Command::new("sh");
        command.args(["-c", &script]).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().expect("the browser starts");
        let (sent, received) = (child.stdin.take().expect("a pipe"), child.stdout.take().expect("a pipe"));
        Some(Self {
            child,
            sent,
            received: BufReader::new(received),
            last: 0,
            complaints: Vec::new(),
            _profile: profile,
        })
    }

    fn ask(&mut self, method: &str, parameters: &Value, tab: Option<&Tab>) -> Value {
        self.last += 1;
        let mut message = json!({ "id": self.last, "method": method, "params": parameters });
        if let Some(Tab(session)) = tab {
            message["sessionId"] = json!(session);
        }
        self.sent.write_all(format!("{message}\0").as_bytes()).expect("the browser listens");
        loop {
            let mut bytes = Vec::new();
            self.received.read_until(0, &mut bytes).expect("the browser answers");
            assert_eq!(bytes.pop(), Some(0), "the browser has gone");
            let mut answer: Value = serde_json::from_slice(&bytes).expect("JSON");
            if answer["id"] == self.last {
                assert!(answer["error"].is_null(), "{method}: {answer}");
                return answer["result"].take();
            }
            let event = answer["method"].as_str().unwrap_or_default();
            if matches!(event, "Runtime.consoleAPICalled" | "Runtime.exceptionThrown" | "Log.entryAdded") {
                self.complaints.push(answer.to_string());
            }
        }
    }

    /// Opens an address in a new page of this width.
    pub(super) fn open(&mut self, address: &str, width: u32, dark: bool) -> Tab {
        let target = self.ask("Target.createTarget", &json!({ "url": "about:blank" }), None);
        let attached = self.ask(
            "Target.attachToTarget",
            &json!({ "targetId": target["targetId"], "flatten": true }),
            None,
        );
        let tab = Tab(attached["sessionId"].as_str().expect("a session").to_owned());
        for domain in ["Page", "Runtime", "Log", "Accessibility"] {
            self.ask(&format!("{domain}.enable"), &json!({}), Some(&tab));
        }
        let size = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600 });
        self.ask("Emulation.setDeviceMetricsOverride", &size, Some(&tab));
        let scheme = json!({ "name": "prefers-color-scheme", "value": if dark { "dark" } else { "light" } });
        self.ask("Emulation.setEmulatedMedia", &json!({ "features": [scheme] }), Some(&tab));
        self.ask("Page.navigate", &json!({ "url": address }), Some(&tab));
        self.wait(&tab, "document.readyState === 'complete' && location.href !== 'about:blank'");
        tab
    }

    pub(super) fn reload(&mut self, tab: &Tab) {
        self.evaluate(tab, "window.old = true");
        self.ask("Page.reload", &json!({}), Some(tab));
        self.wait(tab, "!window.old && document.readyState === 'complete'");
    }

    /// The value of an expression on the page.
    pub(super) fn evaluate(&mut self, tab: &Tab, expression: &str) -> Value {
        let asked = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let mut answer = self.ask("Runtime.evaluate", &asked, Some(tab));
        assert!(answer["exceptionDetails"].is_null(), "{expression}: {answer}");
        answer["result"]["value"].take()
    }

    /// Waits until an expression holds.
    pub(super) fn wait(&mut self, tab: &Tab, expression: &str) {
        let start = Instant::now();
        while self.evaluate(tab, &format!("Boolean({expression})")) != json!(true) {
            assert!(start.elapsed() < PATIENCE, "waited for {expression}; {:?}", self.complaints);
            thread::sleep(Duration::from_millis(30));
        }
    }

    /// The text of an element.
    pub(super) fn text(&mut self, tab: &Tab, selector: &str) -> String {
        let found = self.evaluate(tab, &format!("document.querySelector({}).textContent", json!(selector)));
        found.as_str().expect("a text").to_owned()
    }

    /// Presses a key on whatever has the focus.
    pub(super) fn press(&mut self, tab: &Tab, key: &str) {
        let code = match key {
            "Tab" => 9,
            "Enter" => 13,
            "Escape" => 27,
            " " => 32,
            "Home" => 36,
            "ArrowLeft" => 37,
            "ArrowRight" => 39,
            _ => panic!("no code for {key}"),
        };
        let typed = if key == "Enter" {
            "\r"
        } else if key == " " {
            " "
        } else {
            ""
        };
        for kind in [if typed.is_empty() { "rawKeyDown" } else { "keyDown" }, "keyUp"] {
            let mut event = json!({ "type": kind, "key": key, "code": key, "windowsVirtualKeyCode": code });
            if kind == "keyDown" {
                event["text"] = json!(typed);
            }
            self.ask("Input.dispatchKeyEvent", &event, Some(tab));
        }
    }

    /// Role and name of every node that a screen reader speaks.
    pub(super) fn spoken(&mut self, tab: &Tab) -> Vec<(String, String)> {
        let tree = self.ask("Accessibility.getFullAXTree", &json!({}), Some(tab));
        let nodes = tree["nodes"].as_array().expect("nodes");
        let spoken = nodes.iter().filter(|node| node["ignored"] == json!(false));
        let text = |value: &Value| value["value"].as_str().unwrap_or_default().trim().to_owned();
        spoken.map(|node| (text(&node["role"]), text(&node["name"]))).collect()
    }
}

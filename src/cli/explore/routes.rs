//! From a request to a response: who may ask, what is asked, and the headers that keep the page to itself.

use super::desk::{Answer, Desk, NoAnswer, Opened, Question};
use super::gate::{Gate, Refusal};
use super::line::{Line, Ticket, held};
use crate::quantity::Units;
use crate::report::explore::{LARGEST_OPENED, PAGE_SCRIPT, PAGE_STYLE, details};
use http_body_util::{BodyExt, Full, LengthLimitError, Limited};
use hyper::body::{Body, Bytes, Incoming};
use hyper::header::{self, HeaderName, HeaderValue};
use hyper::{Method, Request, Response, StatusCode};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::sync::oneshot;
use tokio::time::timeout;

/// Largest body of a question, bytes. Our choice.
const LARGEST_QUESTION: usize = 16 << 10;
/// Time in which a body must have come. Our choice.
const BODY_TIME: Duration = Duration::from_secs(5);
/// Requests that may come at once. Our choice.
const BURST: f64 = 200.0;
/// Requests a second after that. Our choice: a slider held down makes some thirty.
const RATE: f64 = 100.0;

/// What the page may load: its own files alone.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// What a chart may load: the style and the fonts inside it.
const PICTURE_POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; font-src data:; frame-ancestors 'none'";

const HTML: &str = "text/html; charset=utf-8";
const JSON: &str = "application/json";

/// All that answers requests.
pub(super) struct Routes {
    pub(super) gate: Gate,
    pub(super) desk: Arc<Desk>,
    pub(super) pace: Pace,
}

/// What is sent: its kind, its policy and itself.
struct Content {
    kind: &'static str,
    policy: &'static str,
    text: String,
}

impl Content {
    fn html(text: String) -> Self {
        Self { kind: HTML, policy: POLICY, text }
    }

    fn json(text: String) -> Self {
        Self { kind: JSON, policy: POLICY, text }
    }
}

/// Why nothing is sent.
enum Refused {
    Gate(Refusal),
    NoAnswer(NoAnswer),
}

impl From<Refusal> for Refused {
    fn from(refusal: Refusal) -> Self {
        Self::Gate(refusal)
    }
}

impl From<NoAnswer> for Refused {
    fn from(why: NoAnswer) -> Self {
        Self::NoAnswer(why)
    }
}

/// Answers a request.
pub(super) async fn respond(routes: Arc<Routes>, request: Request<Incoming>) -> Response<Full<Bytes>> {
    match routes.content(request).await {
        Ok(content) => response(StatusCode::OK, content),
        Err(Refused::Gate((status, words))) => refusal(status, words),
        Err(Refused::NoAnswer(NoAnswer::Overtaken)) => {
            refusal(StatusCode::CONFLICT, "overtaken by a later question")
        }
        Err(Refused::NoAnswer(NoAnswer::Unknown)) => {
            refusal(StatusCode::NOT_FOUND, "this is not known here any more")
        }
        Err(Refused::NoAnswer(NoAnswer::Wrong(words))) => refusal(StatusCode::UNPROCESSABLE_ENTITY, &words),
    }
}

#[derive(Serialize)]
struct Problem<'a> {
    problem: &'a str,
}

fn refusal(status: StatusCode, words: &str) -> Response<Full<Bytes>> {
    let text = serde_json::to_string(&Problem { problem: words }).unwrap_or_default();
    response(status, Content::json(text))
}

fn response(status: StatusCode, content: Content) -> Response<Full<Bytes>> {
    let mut made = Response::new(Full::new(Bytes::from(content.text)));
    *made.status_mut() = status;
    let headers = made.headers_mut();
    let fixed = [
        (header::CONTENT_TYPE, content.kind),
        (header::CONTENT_SECURITY_POLICY, content.policy),
        (header::CACHE_CONTROL, "no-store"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    made
}

impl Routes {
    async fn content(&self, request: Request<Incoming>) -> Result<Content, Refused> {
        let (parts, body) = request.into_parts();
        let inside = self.gate.pass(&parts.method, parts.uri.path(), &parts.headers)?;
        if !self.pace.allows(Instant::now()) {
            return Err((StatusCode::TOO_MANY_REQUESTS, "too many requests at once").into());
        }
        if parts.method == Method::POST {
            return self.asked(inside, body).await.map(Content::json);
        }
        self.read(inside, &Query::of(parts.uri.query().unwrap_or_default())).await
    }

    /// A question.
    async fn asked(&self, what: &str, body: Incoming) -> Result<String, Refused> {
        let desk = Arc::clone(&self.desk);
        if what == "open" {
            // quotes and line breaks take two bytes each in JSON
            let opened: Opened = json_of(body, 2 * LARGEST_OPENED).await?;
            return worked(&self.desk.quick, move || desk.open(&opened)).await;
        }
        let kind: fn(&Desk, &Question, &Ticket) -> Answer = match what {
            "figures" => Desk::figures,
            "settled" => Desk::settled,
            "draws" => Desk::draws,
            "save" => |desk, question, _| desk.save(question),
            _ => return Err(NOTHING.into()),
        };
        let question: Question = json_of(body, LARGEST_QUESTION).await?;
        if !question.is_sensible() {
            return Err((StatusCode::BAD_REQUEST, "this is no question of the page").into());
        }
        let line = match what {
            "draws" => &self.desk.slow,
            "settled" => &self.desk.settling,
            _ => &self.desk.quick,
        };
        let entered = self.desk.lanes.enter(&question.tab, question.number);
        let Some((ticket, asker)) = entered else { return Err(NoAnswer::Overtaken.into()) };
        let answer = worked(line, move || kind(&desk, &question, &ticket)).await;
        // until here: if the page closes the connection, the work ends
        drop(asker);
        answer
    }

    /// A page, a part of it or a chart.
    async fn read(&self, what: &str, query: &Query<'_>) -> Result<Content, Refused> {
        let desk = Arc::clone(&self.desk);
        let (of, units) = (query.of.map(str::to_owned), query.units);
        let reading = &self.desk.reading;
        let html = |text: Result<String, Refused>| text.map(Content::html);
        match what.split_once('/') {
            None if what.is_empty() => html(worked(reading, move || Ok(desk.page(of.as_deref()))).await),
            None if what == "page.js" => Ok(Content {
                kind: "text/javascript; charset=utf-8",
                policy: POLICY,
                text: PAGE_SCRIPT.to_owned(),
            }),
            None if what == "page.css" => {
                Ok(Content { kind: "text/css; charset=utf-8", policy: POLICY, text: PAGE_STYLE.to_owned() })
            }
            None if what == "rates" => html(worked(reading, move || desk.rates(of.as_deref())).await),
            Some(("rate", key)) => details::rate(key).map(Content::html).ok_or_else(|| NOTHING.into()),
            Some(("choice", place)) => {
                let place: usize = place.parse().map_err(|_| NOTHING)?;
                html(worked(reading, move || desk.choice(place, of.as_deref(), units)).await)
            }
            Some(("number", name)) => {
                let (name, of) = (name.to_owned(), of.unwrap_or_default());
                html(worked(reading, move || desk.number(&name, &of, units)).await)
            }
            Some(("chart", name)) => {
                let (name, of) = (name.to_owned(), of.unwrap_or_default());
                let text = worked(reading, move || desk.chart(&name, &of, units)).await?;
                Ok(Content { kind: "image/svg+xml", policy: PICTURE_POLICY, text })
            }
            _ => Err(NOTHING.into()),
        }
    }
}

const NOTHING: Refusal = (StatusCode::NOT_FOUND, "nothing here");

/// Puts a job in line and waits for its answer.
async fn worked(line: &Line, job: impl FnOnce() -> Answer + Send + 'static) -> Result<String, Refused> {
    let (sender, receiver) = oneshot::channel();
    let added = line.add(move || {
        // whoever asked may have gone
        let _ = sender.send(job());
    });
    if !added {
        return Err((StatusCode::SERVICE_UNAVAILABLE, "too much work is waiting").into());
    }
    match receiver.await {
        Ok(answer) => Ok(answer?),
        Err(_) => {
            Err((StatusCode::INTERNAL_SERVER_ERROR, "this answer failed; that is a fault of the program")
                .into())
        }
    }
}

/// Reads a body as JSON, if it is small and comes in time.
async fn json_of<T: DeserializeOwned>(body: Incoming, largest: usize) -> Result<T, Refused> {
    const TOO_LARGE: Refusal = (StatusCode::PAYLOAD_TOO_LARGE, "this is too large");
    if body.size_hint().lower() > largest as u64 {
        return Err(TOO_LARGE.into());
    }
    let whole = timeout(BODY_TIME, Limited::new(body, largest).collect()).await;
    let whole = whole.map_err(|_| (StatusCode::REQUEST_TIMEOUT, "the question came too slowly"))?;
    let bytes = whole.map_err(|error| {
        if error.is::<LengthLimitError>() {
            TOO_LARGE
        } else {
            (StatusCode::BAD_REQUEST, "the question broke off")
        }
    })?;
    serde_json::from_slice(&bytes.to_bytes())
        .map_err(|_| (StatusCode::BAD_REQUEST, "this is no question of the page").into())
}

/// What stands behind the path.
struct Query<'a> {
    of: Option<&'a str>,
    units: Units,
}

impl<'a> Query<'a> {
    fn of(text: &'a str) -> Self {
        let value =
            |name: &str| text.split('&').filter_map(|part| part.split_once('=')).find(|part| part.0 == name);
        let units = if value("units").is_some_and(|part| part.1 == "us") { Units::Us } else { Units::Si };
        Self { of: value("of").map(|part| part.1), units }
    }
}

/// How many requests may come.
pub(super) struct Pace(Mutex<(f64, Instant)>);

impl Pace {
    pub(super) fn new(now: Instant) -> Self {
        Self(Mutex::new((BURST, now)))
    }

    fn allows(&self, now: Instant) -> bool {
        let mut left = held(&self.0);
        let spent = now.saturating_duration_since(left.1).as_secs_f64();
        *left = ((left.0 + spent * RATE).min(BURST), now);
        let allowed = left.0 >= 1.0;
        if allowed {
            left.0 -= 1.0;
        }
        allowed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn requests_beyond_the_pace_are_refused_until_time_has_passed() {
        let start = Instant::now();
        let pace = Pace::new(start);
        let allowed = (0..1000).filter(|_| pace.allows(start)).count();
        assert_eq!(allowed, 200);
        assert!(!pace.allows(start) && pace.allows(start + Duration::from_millis(11)));
        assert_eq!((0..1000).filter(|_| pace.allows(start + Duration::from_mins(1))).count(), 200);
    }

    #[test]
    fn a_query_is_read_and_what_is_unknown_left_out() {
        let query = Query::of("units=us&of=abc&x");
        assert_eq!((query.of, query.units), (Some("abc"), Units::Us));
        assert!(Query::of("").of.is_none() && Query::of("of").of.is_none());
    }
}

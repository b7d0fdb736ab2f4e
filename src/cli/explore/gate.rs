//! Who is let in: whoever holds the secret of the address, on this machine, from the page itself. All else is refused before its body is
//! read, and learns nothing.

use hyper::header::{CONTENT_TYPE, HOST, HeaderMap, HeaderName, ORIGIN};
use hyper::{Method, StatusCode};

/// Bytes of the secret: 128 bits.
const SECRET: usize = 16;

/// Why a request is refused: its status and a word to a person.
pub(super) type Refusal = (StatusCode, &'static str);

/// The gate of one run of the program.
#[derive(Debug, Clone)]
pub(super) struct Gate {
    secret: String,
    port: u16,
}

impl Gate {
    /// With a secret from the system's source of random numbers.
    ///
    /// # Errors
    /// If the system has none.
    pub(super) fn new(port: u16) -> Result<Self, getrandom::Error> {
        let mut bytes = [0_u8; SECRET];
        getrandom::fill(&mut bytes)?;
        Ok(Self { secret: format!("{:032x}", u128::from_be_bytes(bytes)), port })
    }

    /// Address of the page.
    pub(super) fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.port, self.secret)
    }

    /// The path behind the secret, where the request is let in.
    ///
    /// # Errors
    /// [`Refusal`].
    pub(super) fn pass<'a>(
        &self,
        method: &Method,
        path: &'a str,
        headers: &HeaderMap,
    ) -> Result<&'a str, Refusal> {
        let host = only(headers, &HOST);
        if !host.is_some_and(|host| self.names().any(|name| host == name)) {
            // a page elsewhere whose name was pointed at this machine
            return Err((StatusCode::MISDIRECTED_REQUEST, "this address is not served here"));
        }
        let inside = path.strip_prefix('/').and_then(|path| path.split_once('/'));
        let Some((_, rest)) = inside.filter(|(secret, _)| same(secret, &self.secret)) else {
            return Err((StatusCode::NOT_FOUND, "nothing here"));
        };
        let from = headers.get(ORIGIN);
        let own = |name: String| from.is_some_and(|from| from == format!("http://{name}").as_str());
        let from_elsewhere = from.is_some() && !self.names().any(own);
        let of = |name: &'static str| headers.get(HeaderName::from_static(name));
        // browsers say where a request comes from; one that opens a page may come from anywhere, as a link does
        let fetched = of("sec-fetch-mode").is_some_and(|mode| mode != "navigate");
        let fetched_elsewhere = fetched && of("sec-fetch-site").is_some_and(|site| site != "same-origin");
        if from_elsewhere || fetched_elsewhere {
            return Err((StatusCode::FORBIDDEN, "requests of other pages are refused"));
        }
        match *method {
            Method::POST if from.is_none() => {
                Err((StatusCode::FORBIDDEN, "a request for work must say that it comes from the page"))
            }
            // another kind could be sent by a form of another page
            Method::POST if only(headers, &CONTENT_TYPE) != Some("application/json") => {
                Err((StatusCode::UNSUPPORTED_MEDIA_TYPE, "JSON only"))
            }
            Method::GET | Method::POST => Ok(rest),
            _ => Err((StatusCode::METHOD_NOT_ALLOWED, "GET and POST only")),
        }
    }

    /// Names of this machine under which the page is served.
    fn names(&self) -> impl Iterator<Item = String> {
        let port = self.port;
        ["127.0.0.1", "localhost"].into_iter().map(move |name| format!("{name}:{port}"))
    }
}

/// The value of a header that is given once. `None` if it is missing, given twice or no plain text.
fn only<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let first = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(first)
}

/// Whether two texts are the same, in a time that does not tell how far they are.
fn same(given: &str, known: &str) -> bool {
    given.len() == known.len()
        && given.bytes().zip(known.bytes()).fold(0, |differs, (a, b)| differs | (a ^ b)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pass(method: &Method, path: &str, headers: &[(&'static str, &str)]) -> Result<String, u16> {
        let gate = Gate { secret: "5ec2e7".to_owned(), port: 4000 };
        let mut all = HeaderMap::new();
        for (name, value) in headers {
            all.append(HeaderName::from_static(name), value.parse().unwrap());
        }
        gate.pass(method, path, &all).map(str::to_owned).map_err(|(status, _)| status.as_u16())
    }

    const HERE: (&str, &str) = ("host", "127.0.0.1:4000");
    const OWN: (&str, &str) = ("origin", "http://127.0.0.1:4000");
    const JSON: (&str, &str) = ("content-type", "application/json");

    #[test]
    fn the_page_itself_is_let_in() {
        assert_eq!(pass(&Method::GET, "/5ec2e7/", &[HERE]), Ok(String::new()));
        assert_eq!(
            pass(&Method::GET, "/5ec2e7/rate/bed.x", &[("host", "localhost:4000")]),
            Ok("rate/bed.x".to_owned())
        );
        assert_eq!(pass(&Method::POST, "/5ec2e7/figures", &[HERE, OWN, JSON]), Ok("figures".to_owned()));
        let link = [HERE, ("sec-fetch-mode", "navigate"), ("sec-fetch-site", "cross-site")];
        assert_eq!(pass(&Method::GET, "/5ec2e7/", &link), Ok(String::new()));
    }

    #[test]
    fn others_are_refused() {
        let post = |headers: &[(&'static str, &str)]| pass(&Method::POST, "/5ec2e7/figures", headers);
        for path in
            ["/", "/5ec2e7", "/5ec2e8/", "/5ec2e/", "/5ec2e77/", "//5ec2e7/", "5ec2e7/", "/../5ec2e7/"]
        {
            assert_eq!(pass(&Method::GET, path, &[HERE]), Err(404), "{path}");
        }
        for host in ["example.org:4000", "127.0.0.1", "127.0.0.1:4001", "localhost.example.org:4000", ""] {
            assert_eq!(pass(&Method::GET, "/5ec2e7/", &[("host", host)]), Err(421), "{host}");
        }
        assert_eq!(pass(&Method::GET, "/5ec2e7/", &[]), Err(421));
        assert_eq!(pass(&Method::GET, "/5ec2e7/", &[HERE, HERE]), Err(421));
        for origin in ["null", "http://example.org", "https://127.0.0.1:4000", "http://127.0.0.1:4001"] {
            assert_eq!(post(&[HERE, JSON, ("origin", origin)]), Err(403), "{origin}");
        }
        assert_eq!(post(&[HERE, JSON]), Err(403));
        assert_eq!(post(&[HERE, OWN, ("content-type", "text/plain")]), Err(415));
        assert_eq!(post(&[HERE, OWN]), Err(415));
        assert_eq!(pass(&Method::DELETE, "/5ec2e7/", &[HERE]), Err(405));
        let fetched = [HERE, ("sec-fetch-mode", "no-cors"), ("sec-fetch-site", "same-site")];
        assert_eq!(pass(&Method::GET, "/5ec2e7/page.js", &fetched), Err(403));
    }

    #[test]
    fn secrets_are_long_and_differ() {
        let [one, other] = [(); 2].map(|()| Gate::new(1).unwrap());
        assert!(one.secret.len() == 32 && one.secret != other.secret);
        assert_eq!(one.address(), format!("http://127.0.0.1:1/{}/", one.secret));
    }
}

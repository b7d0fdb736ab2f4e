"use strict";
// The script of the live page. It asks the program for texts and puts them in place; it computes no figure.
(() => {
  const by = (id) => document.getElementById(id);
  const all = (what, under = document) => [...under.querySelectorAll(what)];
  const page = document.body.dataset;
  const turns = page.turns.split(" ").map(Number);
  const tab = [...crypto.getRandomValues(new Uint32Array(2))].map((n) => n.toString(36)).join("");
  const REST = 15; // ms without a move after which a choice rests
  const KEEP = 250; // ms without one after which the address keeps it

  // a side: what was moved in it, and the answers so far
  const side = (changes) => ({ changes, moved: null, settled: null, bands: null });
  let now = side({});
  let pin = null;
  let units = "si";
  let number = 0; // of the latest move; older work is overtaken
  let busy = false;
  let timer = 0;
  let work = null;

  async function ask(what, body, signal) {
    const sent = { method: "POST", signal, headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
    const reply = await fetch(what, sent);
    const answer = await reply.json();
    if (!reply.ok) throw Object.assign(new Error(answer.problem), { status: reply.status });
    return answer;
  }
  const question = (one, lane, more = {}) => ({ tab: lane, number, of: page.of, changes: one.changes, ...more });

  function report(error) {
    if (error.name === "AbortError" || error.status === 409) return;
    const gone = "The program does not answer. It may have ended: start it again and open the new address.";
    by("problem").textContent = error.status ? error.message : gone;
  }

  // a move: the best estimate at once, one request at a time, the latest last
  function move() {
    number += 1;
    clearTimeout(timer);
    if (work) work.abort();
    document.body.classList.add("moving", "settling");
    if (!busy) send();
  }

  async function send() {
    busy = true;
    const mine = number;
    let answered = false;
    try {
      const moved = await ask("figures", question(now, tab));
      now.moved = moved;
      now.settled = now.bands = null;
      answered = true;
      by("problem").textContent = "";
      showChoices(mine === number);
      showFigures();
    } catch (error) {
      report(error);
    }
    busy = false;
    if (mine !== number) return send();
    remember();
    if (answered) timer = setTimeout(rest, REST);
  }

  // once a choice rests: bands of the first draws; settled year and warnings while bands sharpen; then the same of the pinned variant
  async function rest() {
    work = new AbortController();
    const { signal } = work;
    const [first, ...later] = turns;
    try {
      for (const [one, lane] of [[now, tab], [pin, tab + "p"]]) {
        if (!one) continue;
        const draw = async (draws) => {
          if (one.bands && one.bands.turn >= draws) return;
          one.bands = { ...(await ask("draws", question(one, lane, { draws }), signal)), turn: draws };
          document.body.classList.remove("moving");
          showRest();
        };
        if (!one.moved) one.moved = await ask("figures", question(one, lane), signal);
        let failed = null; // draws that all failed; the best estimate may settle all the same
        await draw(first).catch((error) => {
          if (error.status !== 422) throw error;
          failed = error;
        });
        const settle = async () => {
          if (!one.settled) one.settled = await ask("settled", question(one, lane), signal);
          document.body.classList.remove("moving", "settling");
          showRest();
        };
        const sharpen = async () => {
          if (failed) throw failed;
          for (const draws of later) await draw(draws);
        };
        const done = await Promise.allSettled([settle(), sharpen()]);
        for (const { reason } of done) if (reason) throw reason;
      }
    } catch (error) {
      report(error);
    }
  }

  function again() {
    clearTimeout(timer);
    if (work) work.abort();
    if (!busy) timer = setTimeout(rest, REST);
  }

  // what is shown
  const put = (element, text) => {
    if (element.textContent !== text) element.textContent = text;
  };
  const item = (...texts) => {
    const li = document.createElement("li");
    texts.forEach(([name, text]) => {
      const span = document.createElement(name);
      span.textContent = text;
      li.append(span, " ");
    });
    return li;
  };
  // markup of the program that holds no text of a scenario
  const parsed = (markup) => new DOMParser().parseFromString(markup, "text/html");

  function showChoices(settle) {
    now.moved.choices.forEach(({ key, value, typed, said }, n) => {
      const box = all(".choice")[n];
      if (!box || box.dataset.key !== key) return;
      const [slider, text, given] = ["[type=range]", "[type=text]", "[type=checkbox]"].map((kind) => box.querySelector(kind));
      slider.setAttribute("aria-valuetext", said[units] || "not set");
      // what is under the hand stays as it is
      if (settle && slider !== document.activeElement && value !== null) slider.value = value;
      if (text !== document.activeElement) text.value = typed[units];
      slider.disabled = text.disabled = value === null;
      if (given) given.checked = value !== null;
      put(box.querySelector(".unit"), box.dataset[units].replace(/([a-z])([23])$/, (_, unit, power) => unit + (power === "2" ? "²" : "³")));
    });
  }

  const find = (list, name) => (list || []).find((one) => one.name === name);
  function showFigures() {
    if (!now.moved) return;
    showDraws(now);
    by("site").replaceChildren(...parsed(now.moved.site[units]).body.children);
    for (const row of all("#figures tr[data-name], #settled tr[data-name]")) {
      const later = row.closest("#settled") !== null;
      const marks = [now, pin].map((one, n) => {
        const cell = row.querySelector(n ? ".pinned" : ".now");
        if (!one) return {};
        const figure = find(later ? one.settled && one.settled.figures : one.moved && one.moved.figures, row.dataset.name);
        const band = later ? undefined : find(one.bands && one.bands.bands, row.dataset.name);
        put(cell.querySelector("a"), figure ? figure.text[units] : "…");
        put(cell.querySelector(".range"), band ? band.text[units] : "");
        return { value: figure ? figure.value : null, band };
      });
      strip(row.querySelector(".strip"), marks);
    }
    const glance = ["turned_away_share", "stock_end", "product_sold"].map((name) => {
      const words = { turned_away_share: "turned away", stock_end: "worms at the end", product_sold: "sold" }[name];
      return `${words} ${find(now.moved.figures, name).text[units]}`;
    });
    put(by("glance"), glance.join(" · "));
  }

  function showDraws({ bands }) {
    const failed = bands && bands.failed ? `, ${bands.failed} failed` : "";
    put(by("draws").querySelector(".count"), bands ? `${bands.made} of ${bands.most} draws${failed}` : "No draws yet.");
    by("draws").querySelector("progress").value = bands ? bands.made : 0;
  }

  // marks on one scale for both sides
  function strip(svg, marks) {
    const numbers = marks.flatMap(({ value, band }) => [value, band && band.low, band && band.high]).filter((n) => typeof n === "number");
    const [low, high] = [Math.min(0, ...numbers), Math.max(...numbers)];
    const at = (n) => (high > low ? (98 * (n - low)) / (high - low) : 0);
    const place = (name, from, to) => {
      const mark = svg.querySelector(name);
      mark.setAttribute("x", from === null ? 0 : at(from));
      mark.setAttribute("width", from === null ? 0 : Math.max(1.2, at(to) - at(from)));
    };
    marks.forEach(({ value = null, band }, n) => {
      place(n ? ".pinned-band" : ".band", band ? band.low : null, band ? band.high : null);
      place(n ? ".pinned-best" : ".best", value, value);
    });
  }

  function showRest() {
    showFigures();
    const { settled, bands } = now;
    if (!bands && !settled) return;
    by("chances").replaceChildren(...((bands && bands.chances) || []).map((one) => item(["strong", one.chance], ["span", one.text[units]])));
    if (bands && !bands.chances.length) by("chances").append(item(["span", "No failure happens in any draw."]));
    // the frame with the numbers need not wait for charts
    requestAnimationFrame(() => setTimeout(showCharts));
    if (!settled) return;
    put(by("verdict"), settled.verdict[units]);
    by("verdict").dataset.standing = settled.standing;
    put(by("year"), settled.year);
    by("warnings").replaceChildren(...settled.warnings.map((one) => item(["strong", one.severity], ["span", one.text[units]], ["small", one.hint])));
    if (!settled.warnings.length) by("warnings").append(item(["span", "None."]));
    const moved = Object.keys(now.changes).length > 0;
    put(by("how"), moved ? `Save this variant as ${settled.file}, then run:` : "The file is as it was opened:");
    put(by("command"), settled.command);
  }

  function showCharts() {
    const { settled, bands } = now;
    const drawn = bands || settled;
    if (!drawn) return;
    // charts are drawn by the first draws and by all, not between: that would keep the draws waiting
    const drawnBy = bands ? (bands.turn < turns.at(-1) ? turns[0] : bands.turn) : 0;
    for (const chart of drawn.charts) {
      const img = document.querySelector(`[data-chart=${chart.name}] img`);
      const address = `chart/${chart.name}?of=${drawn.of}&units=${units}&draws=${drawnBy}`;
      img.alt = chart.text[units];
      if (img.getAttribute("src") !== address) img.src = address;
      img.hidden = false;
    }
  }

  function showAll() {
    all(".pinned").forEach((cell) => (cell.hidden = !pin));
    by("unpin").hidden = by("swap").hidden = !pin;
    if (now.moved) showChoices(true);
    showRest();
  }

  // the address keeps what was moved, so that a reload does; once a slider rests, as browsers refuse many addresses in a row
  let keeping;
  function remember() {
    clearTimeout(keeping);
    keeping = setTimeout(keep, KEEP);
  }
  function keep() {
    const kept = JSON.stringify({ now: now.changes, pin: pin && pin.changes, units });
    history.replaceState(null, "", "#" + encodeURIComponent(kept));
  }
  addEventListener("pagehide", keep);
  function recall() {
    try {
      const kept = JSON.parse(decodeURIComponent(location.hash.slice(1)));
      now = side({ ...kept.now });
      pin = kept.pin ? side({ ...kept.pin }) : null;
      units = kept.units === "us" ? "us" : "si";
    } catch {
      // an address without them, or one that was cut
    }
  }

  // other changes in this side; figures stay in place until the new ones are there
  function change(changes) {
    now = { ...side(changes), moved: now.moved };
    move();
  }
  function set(box, value) {
    const { [box.dataset.other]: _, ...kept } = now.changes;
    change({ ...kept, [box.dataset.key]: value });
  }

  by("choices").addEventListener("submit", (event) => event.preventDefault());
  by("choices").addEventListener("input", ({ target }) => {
    const box = target.closest(".choice");
    if (target.type === "range") set(box, Number(target.value));
    if (target.type === "checkbox") set(box, target.checked ? Number(box.querySelector("[type=range]").value) : null);
  });
  by("choices").addEventListener("change", ({ target }) => {
    if (target.type !== "text") return;
    const box = target.closest(".choice");
    const text = target.value.trim();
    const plain = /^[-+]?[0-9.]+$/.test(text);
    if (plain && box.dataset.whole === "true") set(box, Number(text));
    else set(box, plain ? `${text} ${box.dataset[units]}`.trim() : text);
  });

  all("[name=units]").forEach((choice) =>
    choice.addEventListener("change", () => {
      units = choice.value;
      remember();
      showAll();
    }),
  );
  by("pin").addEventListener("click", () => {
    pin = { ...now };
    remember();
    showAll();
    again();
  });
  by("unpin").addEventListener("click", () => {
    pin = null;
    remember();
    showAll();
    by("pin").focus();
  });
  by("swap").addEventListener("click", () => {
    [now, pin] = [pin, now];
    showAll();
    move();
  });
  by("reset").addEventListener("click", () => {
    change({});
  });

  by("save").addEventListener("click", async () => {
    try {
      const saved = await ask("save", question(now, tab));
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob([saved.text], { type: "application/json" }));
      link.download = saved.file;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    } catch (error) {
      report(error);
    }
  });
  by("open").addEventListener("change", async ({ target }) => {
    const [file] = target.files;
    if (!file) return;
    try {
      if (file.size > Number(page.largest)) throw Object.assign(new Error("This file is too large for a scenario."), { status: 413 });
      const opened = await ask("open", { name: file.name, text: await file.text() });
      location.href = `?of=${opened.of}`;
    } catch (error) {
      report(error);
    }
    target.value = "";
  });
  by("copy").addEventListener("click", async () => {
    const command = by("command");
    try {
      await navigator.clipboard.writeText(command.textContent);
      put(by("copy"), "Copied");
    } catch {
      getSelection().selectAllChildren(command);
      put(by("copy"), "Selected: copy it with the keyboard");
    }
    setTimeout(() => put(by("copy"), "Copy the command"), 2000);
  });

  // what is behind a number, in a window over the page; a new tab shows the same
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.why");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    behind(link.href, link.closest("td.pinned") ? pin : now);
  });
  let looks = 0; // of the latest look behind a number; one that was closed is not opened again
  by("behind").addEventListener("close", () => (looks += 1));
  async function behind(href, one) {
    const mine = (looks += 1);
    const address = new URL(href);
    address.searchParams.set("units", units);
    if (one.moved) address.searchParams.set("of", one.moved.of);
    try {
      let reply = await fetch(address);
      if (reply.status === 404) {
        // the program keeps the last answers only
        await ask("settled", question(one, one === pin ? tab + "p" : tab));
        reply = await fetch(address);
      }
      const body = parsed(await reply.text()).querySelector("main");
      if (mine !== looks) return;
      if (!reply.ok || !body) throw Object.assign(new Error("Nothing more is known of this number."), { status: 404 });
      all("a[href]", body).forEach((link) => (link.href = new URL(link.getAttribute("href"), address)));
      const title = body.querySelector("h2");
      if (title) title.id = "behind-title";
      by("behind-body").replaceChildren(...body.children);
      if (!by("behind").open) by("behind").showModal();
      by("behind").scrollTop = 0;
      // the link that led here is gone
      by("behind").querySelector("button").focus();
    } catch (error) {
      report(error);
    }
  }

  recall();
  all("[name=units]").forEach((choice) => (choice.checked = choice.value === units));
  showAll();
  move();
})();
